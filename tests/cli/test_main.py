"""The list of commands, which is told without loading any of them."""

from __future__ import annotations

import importlib
import re
import subprocess
import sys

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

    assert re.search(rf"Examples?: labelkit {name}(?!\S)", said), "with or without arguments"


def test_the_reader_of_symbols_ends_in_silence() -> None:
    """Its library tells on stderr whatever of it is not collected as the interpreter ends."""
    words = "import sys, labelkit.proof.decode as _; from labelkit.cli.main import run; sys.argv[1:] = ['-h']; run()"
    done = subprocess.run([sys.executable, "-c", words], capture_output=True, text=True, check=True)

    assert (done.stderr, "kit" in done.stdout) == ("", True)
