"""`labelkit new`: the first lines of a profile."""

from __future__ import annotations

from pathlib import Path
from typing import Final

import click

from labelkit.cli.newfile import given_header, header_options, write_new
from labelkit.cli.options import is_asked
from labelkit.errors import OutputError, UsageError
from labelkit.load.starting import header_fault, skeleton, start_profile

_NEEDED: Final = ("mark", "name", "up")
# What is asked, and what an empty answer means; None: there has to be one.
_QUESTIONS: Final[dict[str, tuple[str, str | None]]] = {
    "mark": ("Mark, printed on every label (2 to 8 of A-Z, 0-9, -)", None),
    "name": ("Name of the unit", None),
    "up": ('Which end is "up" in every field, as in: input side', None),
    "lengths": ("Lengths are in (mm or in)", "mm"),
    "clock_from": ("Clock positions are read from, as in: above (empty: not recorded)", ""),
}
_FIRST_PART: Final = "First part"


@click.command()
@click.argument("file", metavar="FILE", type=click.Path(path_type=Path))
@header_options
@click.option("--first-part", metavar="TEXT", help="Name of what comes out first.")
@click.option("--skeleton", "whole", is_flag=True, help="Ask nothing; write a skeleton with every field as a comment.")
def new(file: Path, first_part: str | None, whole: bool, **header: str | None) -> None:
    """Start a unit profile: a few questions on a terminal, options for those that are answered already.

    FILE is written once and never over another; without an ending it gets .yaml. What is not recorded yet stands in it
    as a comment.

    \b
    Example: labelkit new unit_profiles/kr2.yaml --mark KR2 --name "Two-stage reducer" --up "input side"
    """
    path = file if file.suffix or not file.name.strip(".") else file.with_suffix(".yaml")
    if path.exists():
        raise OutputError(f"{path}: is there already and is never overwritten; name another file")
    given = given_header(header)
    source = skeleton(given, first_part or "").encode() if whole else _answered(given, first_part)
    write_new(path, source)
    click.echo(f"{path}: written; labelkit check --hints {path} says what is open", err=True)


def _answered(given: dict[str, str], first_part: str | None) -> bytes:
    if not all(field in given for field in _NEEDED):
        if not is_asked():
            missing = ", ".join(f"--{field}" for field in _NEEDED if field not in given)
            raise UsageError(f"nobody is here to ask; give {missing}, or --skeleton")
        for field in _QUESTIONS:
            if field not in given and (answer := _asked(field)):
                given[field] = answer
        first_part = first_part or click.prompt("What comes out first", default=_FIRST_PART, err=True)
    return start_profile(given, first_part or _FIRST_PART)


def _asked(field: str) -> str:
    """Return the answer to a question, asked again while it cannot be written so."""
    question, default = _QUESTIONS[field]

    def read(text: str) -> str:
        if text.strip() and (fault := header_fault(field, text)):
            raise click.UsageError(fault)
        return text.strip()

    answer: str = click.prompt(question, default=default, value_proc=read, show_default=bool(default), err=True)
    return answer
