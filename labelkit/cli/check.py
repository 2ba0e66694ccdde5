"""`labelkit check` and `labelkit schema`."""

from __future__ import annotations

import json
import time
from collections.abc import Sequence
from dataclasses import dataclass, replace
from pathlib import Path
from typing import Final

import click

from labelkit import datafiles
from labelkit.cli.options import counted
from labelkit.cli.watching import PAUSE, saves
from labelkit.errors import InputErrors, LabelkitError, Problem
from labelkit.load.profile import read_profile
from labelkit.load.schema import SCHEMAS
from labelkit.load.stock import held_in, load_stock
from labelkit.load.textfile import shown_path
from labelkit.load.yamltree import read_file
from labelkit.sheets.hints import Hint, hints
from labelkit.sheets.letters import letter_problems

_NO_NAME: Final = '""'
_TAKEN: Final = "; it was checked as a unit profile, which has unit: and parts:, a file of stock has stock:"


@dataclass(frozen=True, slots=True)
class _Answer:
    """What was found in one file: faults, hints (None: nobody looked for any), and the answer in a few words."""

    words: str
    faults: Sequence[Problem] = ()
    hints: Sequence[Hint] | None = None


@click.command()
@click.argument("files", nargs=-1, required=True, metavar="PROFILE...")
@click.option(
    "--hints",
    "with_hints",
    is_flag=True,
    help="Say also what is not recorded, would print badly, or does not fit together.",
)
@click.option("--watch", is_flag=True, help="Check again whenever a file is saved, until Ctrl-C.")
@click.option("--json", "as_json", is_flag=True, help="Print the faults as JSON.")
def check(files: tuple[str, ...], with_hints: bool, watch: bool, as_json: bool) -> None:
    """Check unit profiles; print every fault with its line and column, and an answer for each profile.

    PROFILE is a name (planetary-reducer) or a path to a YAML file; a file of stock (layouts/papers.yaml) is checked
    as stock. Hints are no faults: they go to standard output and change no exit status. Each says why it matters, what
    to write, and in brackets of which kind it is.

    \b
    Example: labelkit check unit_profiles/planetary-reducer.yaml --hints --watch
    """
    if watch and as_json:
        raise click.UsageError("--watch answers again and again; --json is one answer. Use one of them.")
    answers = []
    for name in files:
        answer = _checked(name)
        answers.append(answer)
        if not as_json:
            _print(name or _NO_NAME, answer, with_hints)
    if as_json:
        told = [_data(problem) for answer in answers for problem in answer.faults]
        if with_hints:
            found = [hint for answer in answers for hint in answer.hints or ()]
            told += [_data(hint.problem) | {"hint": True, "kind": hint.kind} for hint in found]
        click.echo(json.dumps(told, indent=2, ensure_ascii=False))
    if watch:
        _watch(files, answers, with_hints)
    elif any(answer.faults for answer in answers):
        raise click.exceptions.Exit(1)


def _data(problem: Problem) -> dict[str, object]:
    """Return a fault for programs: where, and what; the template is for other languages."""
    return {name: getattr(problem, name) for name in ("file", "line", "column", "path", "message")}


def _watch(files: tuple[str, ...], answers: Sequence[_Answer], with_hints: bool) -> None:
    """Check again what was saved, until somebody interrupts; the exit status is that of the last look."""
    last = dict(zip(files, answers, strict=True))
    click.echo("watching; Ctrl-C ends", err=True)
    try:
        for changed in saves(files, _found, _pause):
            click.echo()
            for name in changed:
                last[name] = _checked(name)
                _print(name or _NO_NAME, last[name], with_hints)
    except KeyboardInterrupt:
        click.echo()
    if any(answer.faults for answer in last.values()):
        raise click.exceptions.Exit(1)


def _pause() -> None:
    time.sleep(PAUSE)


def _found(name: str) -> Path | None:
    try:
        return datafiles.find("unit_profiles", name)
    except LabelkitError:
        return None


def _print(name: str, answer: _Answer, with_hints: bool) -> None:
    for problem in answer.faults:
        click.echo(str(problem), err=True)
    hints_told = answer.hints if with_hints else None
    for hint in hints_told or ():
        click.echo(str(hint))
    and_hints = "" if hints_told is None else f", {counted(len(hints_told), 'hint')}"
    click.echo(f"{name}: {answer.words}{and_hints}")


def _checked(name: str) -> _Answer:
    taken = ""
    try:
        path = datafiles.find("unit_profiles", name)
        held = held_in(path)
        taken = "" if held else _TAKEN
        return _checked_stock(path) if held == "stock" else _checked_profile(path)
    except InputErrors as error:
        return _refused(error.problems, taken)
    except LabelkitError as error:
        return _refused([Problem(name or _NO_NAME, 0, 0, "", _without_name(str(error), name))])


def _checked_stock(path: Path) -> _Answer:
    return _Answer(f"fine, {counted(len(load_stock(path)), 'stock')}")


def _checked_profile(path: Path) -> _Answer:
    shown = shown_path(path)
    loaded, problems = read_profile(read_file(path, shown), shown, path.parent)
    problems = sorted(problems + [replace(problem, file=shown) for problem in letter_problems(loaded)])
    if problems:
        return _refused(problems)
    entries = sum(1 for _ in loaded.profile.walk())
    found = [Hint(replace(hint.problem, file=shown), hint.kind) for hint in hints(loaded)]
    return _Answer(f"fine, {counted(entries, 'entry', 'entries')}", hints=found)


def _refused(problems: Sequence[Problem], taken: str = "") -> _Answer:
    return _Answer(counted(len(problems), "fault") + taken, problems)


def _without_name(message: str, name: str) -> str:
    """Return a message without the file's name at its start, which it may give in a shorter way."""
    shown, colon, rest = message.partition(": ")
    return rest if colon and Path(shown).name == Path(name).name else message


@click.command()
@click.argument("kind", type=click.Choice(sorted(SCHEMAS)), default="profile")
def schema(kind: str) -> None:
    """Print the JSON Schema of a kind of file, for editors.

    \b
    Example: labelkit schema profile > profile.schema.json
    """
    click.echo(json.dumps(SCHEMAS[kind](), indent=2, ensure_ascii=False))
