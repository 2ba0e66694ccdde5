"""What people type for a figure of a sum, read: quantities, numbers, limits and lists of them.

A decimal comma is read where it can be no thousands mark. Every message begins with the name of what was typed for.
"""

from __future__ import annotations

from collections.abc import Sequence
from decimal import Decimal

from labelkit import units
from labelkit.errors import UsageError
from labelkit.units import Quantity, UnitError


def quantity(option: str, text: str, kind: units.Kind, unit: str) -> Quantity:
    """Return a quantity that was typed for an option.

    Args:
        option: its name, for the message: `--fitted`.
        text: as typed: `2.60`, `0.104 in`, `3/32 in`, `1,10`.
        kind: what it measures.
        unit: of a bare number.

    Raises:
        UsageError: it is none.
    """
    try:
        return units.parse(units.pointed(text), kind, unit)
    except UnitError as error:
        raise UsageError(f"{option}: {error}") from error


def maybe(option: str, text: str | None, kind: units.Kind, unit: str) -> Quantity | None:
    """Return the quantity of an option that may be left out: None then; arguments and errors as for `quantity`."""
    return None if text is None else quantity(option, text, kind, unit)


def length(option: str, text: str, unit: str) -> Decimal:
    """Return a length that was typed for an option, mm, exact; errors as for `quantity`."""
    return quantity(option, text, "length", unit).mm


def number(option: str, text: str) -> Decimal:
    """Return a plain number that was typed for an option.

    Raises:
        UsageError: it is none.
    """
    try:
        return units.number(units.pointed(text))
    except UnitError as error:
        raise UsageError(f"{option}: {error}") from error


def band(option: str, text: str, kind: units.Kind, unit: str) -> tuple[Quantity, Quantity]:
    """Return limits that were typed as LOW:HIGH; a unit behind the last is that of a bare first, too.

    Arguments as for `quantity`.

    Raises:
        UsageError: not two quantities, or the low one is not below the high one.
    """
    ends = parts(option, text, kind, unit, mark=":")
    if len(ends) != 2:
        count = "one value" if len(ends) == 1 else f"{len(ends)} values"
        raise UsageError(f'{option} "{text}": found {count}; allowed: LOW:HIGH, as 0.40:0.60')
    low, high = ends
    if low.base >= high.base:
        meant = "" if low.base == high.base else f"; did you mean {_bare(text)[1]}:{_bare(text)[0]}?"
        raise UsageError(f'{option} "{text}": the low end {low} is not below the high end {high}{meant}')
    return low, high


def parts(option: str, text: str, kind: units.Kind, unit: str, *, mark: str = ",") -> tuple[Quantity, ...]:
    """Return quantities that were typed as a list; a unit behind the last is that of bare ones before.

    Args:
        option: its name, for the message.
        text: as typed.
        kind: what they measure.
        unit: of bare numbers.
        mark: what stands between them.

    Raises:
        UsageError: the list is empty, or something in it is no quantity.
    """
    pieces = [piece.strip() for piece in text.split(mark)]
    if not any(pieces):
        raise UsageError(f'{option} "{text}": is empty; allowed: one or more, as 2.60{mark}2.75')
    last = quantity(option, pieces[-1], kind, unit)
    return (*(quantity(option, piece, kind, last.unit) for piece in pieces[:-1]), last)


def several(option: str, text: str, kind: units.Kind, unit: str) -> tuple[Quantity, ...]:
    """Return the quantities of an option that may be repeated: one, or a list as `1.08,1.10,1.12`.

    A comma between two numbers that each have a point stands between readings; any other is a decimal comma.
    Arguments as for `quantity`.

    Raises:
        UsageError: what was typed is no quantity.
    """
    pieces = text.split(",")
    if len(pieces) > 1 and all("." in piece for piece in pieces):
        return parts(option, text, kind, unit)
    return (quantity(option, text, kind, unit),)


def _bare(text: str) -> Sequence[str]:
    return [piece.strip() for piece in text.split(":")]
