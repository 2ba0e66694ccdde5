"""Files that are written once and never over another, and the header that new profiles share."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from pathlib import Path
from typing import Any, Final

import click

from labelkit.errors import OutputError, UsageError
from labelkit.load.starting import header_fault

# Field of the header, option, and what it is.
_HEADER_OPTIONS: Final = (
    ("mark", "--mark", "Mark of the unit: 2 to 8 of A-Z, 0-9 and -, printed on every label."),
    ("name", "--name", "Name of the unit."),
    ("up", "--up", 'Which end "up" means, as in "input side".'),
    ("lengths", "--lengths", "Unit of bare lengths: mm or in."),
    ("clock_from", "--clock-from", 'From where clock positions are read, as in "above".'),
)


def header_options(command: Callable[..., Any]) -> Callable[..., Any]:
    """Give a command the options of a header; each is None where it was not given."""
    for name, option, words in reversed(_HEADER_OPTIONS):
        command = click.option(option, name, metavar="TEXT", help=words)(command)
    return command


def given_header(header: Mapping[str, str | None]) -> dict[str, str]:
    """Return the fields that were given.

    Raises:
        UsageError: one cannot be written so.
    """
    given = {field: text for field, text in header.items() if text is not None}
    for field, option, _ in _HEADER_OPTIONS:
        if field in given and (fault := header_fault(field, given[field])):
            raise UsageError(f"{option}: {fault}")
    return given


def check_ending(out: Path, ending: str, what: str) -> None:
    """Refuse an output that is called otherwise than what it is, or that is a folder.

    Raises:
        UsageError: with the name that was probably meant.
    """
    if out.suffix.lower() != ending:
        meant = f"; did you mean {out.with_suffix(ending)}?" if out.name.strip(".") else ""
        raise UsageError(f"--out {out}: {what} is a {ending}{meant}")


def write_new(path: Path, data: bytes) -> None:
    """Write a file that is not there yet, and its folder where only that is missing.

    Raises:
        OutputError: it is there, or cannot be written; nothing of it stays.
    """
    try:
        path.parent.mkdir(exist_ok=True)
        stream = path.open("xb")
    except FileExistsError as error:
        raise OutputError(f"{path}: is there already and is never overwritten; name another file") from error
    except FileNotFoundError as error:
        raise OutputError(f"{path}: there is no folder {path.parent.parent}; make it first") from error
    except OSError as error:
        raise OutputError(f"{path}: cannot be written: {error.strerror}") from error
    try:
        with stream:
            stream.write(data)
    except OSError as error:
        path.unlink(missing_ok=True)
        raise OutputError(f"{path}: cannot be written: {error.strerror}") from error
