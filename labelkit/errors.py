"""The one error family.

Everything that can go wrong for a reason outside the program is a `LabelkitError`. Commands catch it once, print
its text to stderr and end with its `exit_status`; the bench turns what it tells people into a page.

    LabelkitError          base
    ├── UsageError         the command was called wrongly (exit status 2)
    ├── InputError         a file cannot be read as what it should be
    │   └── InputErrors    a readable file has faults: all of them, each with its place
    ├── NotFoundError      a name, code or job is not there
    ├── CapacityError      something does not fit: a text its symbol, a symbol its label
    └── OutputError        a result cannot be written; what was there before is untouched
        └── StoreError     the store cannot be used just now
"""

from __future__ import annotations

import difflib
from collections.abc import Iterable
from dataclasses import dataclass


class LabelkitError(Exception):
    """Say in one text what is wrong, where, what is allowed and what was probably meant.

    Args:
        text: for who calls a command, in English.
        told: for people at the bench, in their language, who know neither files nor commands; empty: the same text.
    """

    exit_status = 1

    def __init__(self, text: str, *, told: str = "") -> None:
        super().__init__(text)
        self._told = told

    @property
    def told(self) -> str:
        """What people at the bench are told."""
        return self._told or str(self)

    def __str__(self) -> str:
        """Return the text; nothing that it quotes reaches a terminal as a control character."""
        return "\n".join(map(printable, super().__str__().split("\n")))


def printable(text: str) -> str:
    """Return a line in which nothing is a control character."""
    if text.isprintable():
        return text
    return "".join(letter if letter.isprintable() else f"<U+{ord(letter):04X}>" for letter in text)


class UsageError(LabelkitError):
    """Report a command or function that was called in a way it does not allow."""

    exit_status = 2


class InputError(LabelkitError):
    """Report a file that cannot be read as what it should be."""


class NotFoundError(LabelkitError):
    """Report a name, code or job that does not exist here."""


class CapacityError(LabelkitError):
    """Report something that does not fit where it has to go."""


class OutputError(LabelkitError):
    """Report a result that cannot be written; whatever was there before is untouched."""


class StoreError(OutputError):
    """Report a store that cannot be used just now: it does not answer, is held by another program, or is read-only."""


@dataclass(frozen=True, slots=True, order=True)
class Problem:
    """One fault of an input file.

    Attributes:
        file: name of the file as the user gave it.
        line: line number, from 1; 0 when the fault has no place.
        column: column number, from 1; 0 when the fault has no place.
        path: the field, as in `parts[3].sits.clock`; empty for the whole file.
        message: what was found, what is allowed and what was probably meant.
        template: the message before its values were filled in, to be said in another language; empty: it has none.
        values: what is filled in, each with the name of its place; a size by the form's own name.
    """

    file: str
    line: int
    column: int
    path: str
    message: str
    template: str = ""
    values: tuple[tuple[str, str], ...] = ()

    def __str__(self) -> str:
        place = f"{self.file}:{self.line}:{self.column}" if self.line else self.file
        return f"{place}: {self.path}: {self.message}" if self.path else f"{place}: {self.message}"


class InputErrors(InputError):
    """Report every fault of a file at once, in the order of their places."""

    def __init__(self, problems: Iterable[Problem]) -> None:
        self.problems = tuple(sorted(problems))
        super().__init__("\n".join(map(str, self.problems)))


def shortened(text: str, most: int = 60) -> str:
    """Return a text as a message quotes it: with more than `most` characters, its beginning and three points.

    >>> shortened("a text that is long", 10)
    'a text ...'
    """
    return text if len(text) <= most else f"{text[: most - 3]}..."


def nearest(given: str, allowed: Iterable[str]) -> str | None:
    """Return the allowed name that `given` most resembles, or None when nothing comes near.

    Upper and lower case are one: whoever writes A4 means a4.

    >>> nearest("cirlce", ["circle", "row", "two_rows"]), nearest("A4", ["a3", "a4"])
    ('circle', 'a4')
    >>> nearest("xyz", ["circle", "row"]) is None
    True
    """
    folded: dict[str, str] = {}
    for name in allowed:
        folded.setdefault(name.casefold(), name)
    matches = difflib.get_close_matches(given.casefold(), folded, n=1, cutoff=0.6)
    return folded[matches[0]] if matches else None


def allowed_text(given: str, allowed: Iterable[str], *, most: int = 14) -> str:
    """Return the tail of a message: what is allowed, and the nearest name to what was given.

    >>> allowed_text("cirlce", ["circle", "row"])
    'allowed: circle, row; did you mean circle?'
    """
    names = list(allowed)
    shown = ", ".join(names[:most]) + (f", ... ({len(names)} in all)" if len(names) > most else "")
    guess = nearest(given, names)
    return f"allowed: {shown or 'nothing'}" + (f"; did you mean {guess}?" if guess else "")
