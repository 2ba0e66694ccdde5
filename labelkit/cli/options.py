"""Options that several commands share: what they say, read once."""

from __future__ import annotations

import os
import re
import sys
from collections.abc import Callable, Iterable, Sequence
from typing import Final, TypeVar

import click

from labelkit.errors import NotFoundError, UsageError, allowed_text
from labelkit.language import LANGUAGES
from labelkit.load.stock import find_stock
from labelkit.model.act import LONGEST_NAME, LONGEST_TEXT
from labelkit.model.job import DEFAULT_STOCKS, Job
from labelkit.model.laying import DEFAULT_LAYING, Laying, Spacing, TrayKind
from labelkit.model.media import Paper
from labelkit.model.printer import Factors
from labelkit.units import UnitError, parse

F = TypeVar("F", bound=Callable[..., object])

DEFAULT_PAPER: Final = DEFAULT_STOCKS.paper
LABEL_STOCK: Final = "Label sheets or roll, by name or file."
_LANGUAGE_VARIABLE: Final = "LABELKIT_LANGUAGE"
_LANGUAGE: Final = click.Choice(tuple(LANGUAGES))
# Wider is no flag and no gap: a figure beyond is a slip.
_WIDEST: Final = 200.0


def language_option(command: F) -> F:
    """Add `--language` to a command; what it then shows and prints is said in that language."""
    help_text = f"Language of what is made and shown; {_LANGUAGE_VARIABLE} changes it.  [default: en]"
    return click.option("--language", type=_LANGUAGE, default=usual_language, help=help_text)(command)


def job_language_option(command: F) -> F:
    """Add `--language` to a command that prints of a job: None where the job says, or else `usual_language`."""
    help_text = f"Language of what is printed.  [default: that of the job, {_LANGUAGE_VARIABLE}, en]"
    return click.option("--language", type=_LANGUAGE, help=help_text)(command)


def started_sheet_options(command: F) -> F:
    """Add `--first-label` and `--first-sticker`: of a sheet of which some are used up already."""
    for what in ("sticker", "label"):
        help_text = f"First free {what} of a started sheet."
        command = click.option(f"--first-{what}", metavar="N", type=int, default=1, show_default=True, help=help_text)(
            command
        )
    return command


def usual_language() -> str:
    """Return the language of who names none.

    Raises:
        UsageError: the shop's own is none that there is.
    """
    code = os.environ.get(_LANGUAGE_VARIABLE) or "en"
    if code not in LANGUAGES:
        raise UsageError(f'{_LANGUAGE_VARIABLE} "{code}": {allowed_text(code, LANGUAGES)}')
    return code


def language_of(job: Job) -> str:
    """Return the language that a job is printed in where nobody names another: as before, or as usual."""
    return job.language or usual_language()


def is_asked() -> bool:
    """Say whether somebody sits at a terminal who can be asked."""
    return sys.stdin is not None and sys.stdin.isatty()


def a_name(_context: click.Context, option: click.Parameter, text: str | None) -> str | None:
    """Return the name of a person that an option gives, as the record keeps it: a callback of click.

    Raises:
        UsageError: no name that the record takes.
    """
    name = " ".join((text or "").split())
    if text is None or (name and len(name) <= LONGEST_NAME and name.isprintable()):
        return name or None
    raise UsageError(f'{option.opts[0]} "{text[:40]}": allowed: a name of 1 to {LONGEST_NAME} letters, for the record')


def a_reason(_context: click.Context, option: click.Parameter, text: str | None) -> str | None:
    """Return the words that an option gives for the record: a callback of click.

    Raises:
        UsageError: no words, or too many.
    """
    if text is None or 0 < len(text.strip()) <= LONGEST_TEXT:
        return text
    raise UsageError(
        f'{option.opts[0]} "{text[:40]}": allowed: 1 to {LONGEST_TEXT} letters that say why, for the record'
    )


def counted(count: int, one: str, more: str = "") -> str:
    """Return a count with its noun: `1 fault`, `2 faults`, `3 entries`."""
    return f"{count} {one if count == 1 else more or f'{one}s'}"


def names_of(option: str, text: str | None, allowed: Sequence[str]) -> frozenset[str]:
    """Return the names of a text like `A,B`; all that are allowed when there is none.

    Raises:
        UsageError: a name that is not allowed, or none at all.
    """
    if text is None:
        return frozenset(allowed)
    names = [name for name in map(str.strip, text.split(",")) if name]
    if not names:
        raise UsageError(f'{option} "{text}" names no document; {allowed_text(text, allowed)}')
    for name in names:
        if name not in allowed:
            raise UsageError(f"{option} {name}: there is no such document; {allowed_text(name, allowed)}")
    return frozenset(names)


def option_pairs(options: tuple[str, ...]) -> dict[str, str]:
    """Return the choices of `--option GROUP=CHOICE`, by group.

    Raises:
        UsageError: not written so, or two choices for one group.
    """
    chosen: dict[str, str] = {}
    for text in options:
        group, equals, choice = text.partition("=")
        if not equals or not group or not choice:
            raise UsageError(f'--option {text}: write it as GROUP=CHOICE, as in "output=splined"')
        if (before := chosen.setdefault(group, choice)) != choice:
            raise UsageError(f"--option {group}={before} and --option {text}: a group has one choice; name one of them")
    return chosen


def laying_of(trays: Iterable[str], gap: str | None, flag: str | None, grade: int | None) -> Laying | None:
    """Return how trays are to be laid out; None when nothing was said of it.

    Args:
        trays: names of stock.
        gap: a length.
        flag: two lengths, as 30x15.
        grade: the highest reading grade.

    Raises:
        UsageError: a length that is none.
        NotFoundError: no such tray.
    """
    kinds = tuple(TrayKind.of(find_stock(name, ("tray",))) for name in trays)
    if not kinds and gap is None and flag is None and grade is None:
        return None
    usual = DEFAULT_LAYING
    return Laying(
        trays=kinds or usual.trays,
        spacing=Spacing(
            gap=usual.spacing.gap if gap is None else _length("--gap", gap),
            flag=usual.spacing.flag if flag is None else _flag(flag),
            flag_gap=usual.spacing.flag_gap,
        ),
        grade=usual.grade if grade is None else grade,
    )


def factors_of(printer: str | None, paper: Paper) -> tuple[Factors | None, Factors | None]:
    """Return what makes a printer's prints true, upright and on the long side; None where it was not measured.

    Raises:
        NotFoundError: no such printer, or it was measured on this paper in neither way.
    """
    if printer is None:
        return Factors(), Factors()
    from labelkit.store.printers import find_factors  # its models load only where a printer is named

    found: list[Factors | None] = []
    for landscape in (False, True):
        try:
            found.append(find_factors(printer, paper.name, landscape))
        except NotFoundError:
            if landscape and found == [None]:
                raise
            found.append(None)
    return found[0], found[1]


def _flag(text: str) -> tuple[float, float]:
    sides = re.fullmatch(r"\s*([^x×]+)[x×]([^x×]+)", text)
    if sides is None:
        raise UsageError(f'--flag "{text}": allowed: width x height in mm, as 30x15')
    width, height = _length("--flag", sides[1]), _length("--flag", sides[2])
    if bool(width) != bool(height):
        raise UsageError(f'--flag "{text}": a flag of no area; allowed: both sides above 0, or 0x0 for no flags')
    return width, height


def _length(option: str, text: str) -> float:
    try:
        length = float(parse(text.strip(), "length", "mm").mm)
    except UnitError as error:
        raise UsageError(f"{option}: {error}; allowed: a length in mm, as 8") from error
    if not 0 <= length <= _WIDEST:
        raise UsageError(f"{option}: found {length:g} mm; allowed: 0 to {_WIDEST:g} mm")
    return length
