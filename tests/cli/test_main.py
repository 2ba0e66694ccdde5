"""The list of commands, which is told without loading any of them."""

from __future__ import annotations

import importlib
import re
import subprocess
import sys
from collections.abc import Iterator

import click
import pytest
from click.testing import CliRunner

from labelkit.cli.main import COMMANDS, main


def test_each_command_is_listed_with_the_first_sentence_of_its_own_help() -> None:
    context = click.Context(main)

    loaded = {name: main.get_command(context, name) for name in COMMANDS}

    assert {name: words for name, (_, words) in COMMANDS.items()} == {
        name: " ".join((command.help or "").split("\n\n")[0].split()) for name, command in loaded.items() if command
    }


@pytest.mark.parametrize("group", ["fit", "job"])
def test_a_group_lists_its_commands_with_whole_sentences(group: str) -> None:
    said = CliRunner().invoke(main, [group, "--help"])

    assert said.exit_code == 0
    assert "..." not in said.output.partition("Commands:")[2]


def test_the_list_of_commands_loads_none_of_them(monkeypatch: pytest.MonkeyPatch) -> None:
    def refuse(name: str) -> None:
        raise AssertionError(name)

    monkeypatch.setattr(importlib, "import_module", refuse)

    said = CliRunner().invoke(main, ["--help"])

    assert said.exit_code == 0
    assert [] == [name for name in COMMANDS if f"\n  {name} " not in said.output]


@pytest.mark.parametrize("name", COMMANDS)
def test_the_help_of_a_command_has_an_example(name: str) -> None:
    """A newcomer can copy it."""
    said = CliRunner().invoke(main, [name, "--help"]).output

    assert re.search(rf"Example: labelkit {name}(?!\S)", said), "with or without arguments"


# A name is one that the shop gives, or finds in a list.
_NAMED = ("--paper", "--tray", "--printer", "--label-stock", "--sticker-stock", "--by", "--agreed")


def _values() -> Iterator[tuple[str, click.Option]]:
    """Yield every option that takes a value of no list, with its command."""

    def below(command: click.Command, name: str) -> Iterator[tuple[str, click.Option]]:
        for param in command.params:
            if isinstance(param, click.Option) and not (param.is_flag or isinstance(param.type, click.Choice)):
                yield f"{name} {param.opts[0]}", param
        if isinstance(command, click.Group):
            context = click.Context(command)
            for each in command.list_commands(context):
                if inside := command.get_command(context, each):
                    yield from below(inside, f"{name} {each}")

    yield from below(main, "labelkit")


def test_a_kind_of_value_is_called_the_same_in_every_help() -> None:
    """A number is N, a name NAME, a file FILE and a folder FOLDER; nothing is left to the words of a library."""
    wrong = []
    for name, option in _values():
        meta = option.metavar or ""
        if isinstance(option.type, (click.types.IntParamType, click.types.FloatParamType)):
            right = meta == "N"
        elif isinstance(option.type, click.Path):
            right = meta.startswith(("FILE", "FOLDER"))
        else:
            right = meta == "NAME" if name.split()[-1] in _NAMED else meta not in ("", "N")
        wrong += [] if right else [(name, meta)]

    assert [] == wrong


def test_the_reader_of_symbols_ends_in_silence() -> None:
    """Its library tells on stderr whatever of it is not collected as the interpreter ends."""
    words = "import sys, labelkit.proof.decode as _; from labelkit.cli.main import run; sys.argv[1:] = ['-h']; run()"
    done = subprocess.run([sys.executable, "-c", words], capture_output=True, text=True, check=True)

    assert (done.stderr, "kit" in done.stdout) == ("", True)
