"""Figures as people type them into a form or an address: point or comma, with or without a unit, one or several.

A comma with three decimals may be a thousands mark. Who reads the page in a language that writes a decimal comma has a
keypad with nothing else, and so means that, of lengths and torques.
"""

from __future__ import annotations

import re
from decimal import Decimal
from typing import Final

from labelkit import units
from labelkit.calc.answers import beside
from labelkit.errors import UsageError
from labelkit.language import decimal_sign, spoken
from labelkit.language import gettext as _
from labelkit.units import Kind, Quantity, UnitError

_MOST: Final = 500
_SHOWN: Final = 20
# Blanks part readings, unless they stand inside one: `1 1/4`, `0.104 in`.
_BETWEEN: Final = re.compile(r"[;\n]|(?<=\d)\s+(?=[+-]?\d+(?:[.,]\d)?)(?!\d+/\d)")

# Three decimals, neither a list nor beside another mark.
_THREE: Final = re.compile(r"(?<![\d.,])(\d+),(\d{3})(?![\d.,])")
_OF_A_COMMA: Final = ("length", "torque")

_LIKE_DIGITS: Final = str.maketrans("oOlI", "0011")


def whole(text: str) -> int | None:
    """Return a whole number from a field or an address; None when it is none, or has over nine digits.

    >>> whole("12"), whole("-1"), whole("\u00b2"), whole("9" * 5000)
    (12, None, None, None)
    """
    return int(text) if text.isascii() and text.isdigit() and len(text) < 10 else None


def as_meant(text: str, kind: Kind) -> str:
    """Return figures with a point for a comma that may be a thousands mark, where who types it means decimals."""
    commas = kind in _OF_A_COMMA and decimal_sign(spoken()) == ","
    return _THREE.sub(r"\1.\2", text) if commas else text


def figures(text: str, unit: str) -> tuple[Quantity, ...]:
    """Return quantities that were typed, one or several with blanks, semicolons or line breaks between.

    Args:
        text: `1,10`, `3/32 in`, `0.48 0.50 0.49`; a comma is a decimal mark; a unit behind the last counts for all.
        unit: of bare numbers; what it measures the others must measure, too.

    Raises:
        UsageError: not figures, or a unit that is none.

    >>> [str(each) for each in figures("1,10 1.12", "mm")], [str(each) for each in figures("1 1/4 in", "mm")]
    (['1.10 mm', '1.12 mm'], ['1.25 in'])
    """
    if unit not in units.FACTORS:
        raise UsageError(_('"{unit}" is no unit').format(unit=unit[:_SHOWN]))
    pieces = [piece.strip() for piece in _BETWEEN.split(text.strip()) if piece.strip()]
    if len(pieces) > _MOST:
        raise UsageError(_("found {count} figures; allowed: up to {most}").format(count=len(pieces), most=_MOST))
    if not pieces:
        raise UsageError(
            _("nothing was typed; allowed: a figure in {unit}, as 1.10, or with its unit").format(unit=unit)
        )
    kind: Kind = units.FACTORS[unit][0]
    # The unit behind the last is that of the bare ones before it.
    last = _figure(pieces[-1], kind, unit)
    return (*(_figure(piece, kind, last.unit) for piece in pieces[:-1]), last)


def figure(text: str, unit: str) -> Quantity:
    """Return the one quantity that was typed; arguments and errors as for `figures`, and an error for several."""
    found = figures(text, unit)
    if len(found) > 1:
        raise UsageError(_("found {count} figures; allowed: one").format(count=len(found)))
    return found[0]


def figures_alike(text: str, unit: str) -> tuple[Quantity, ...]:
    """Return quantities that were typed in one unit; arguments and errors as for `figures`, and an error for two."""
    found = figures(text, unit)
    if len({each.unit for each in found}) > 1:
        wrong = _("found {unit} and {other}; write all of them in one unit")
        raise UsageError(wrong.format(unit=found[0].unit, other=found[-1].unit))
    return found


def mean(values: tuple[Quantity, ...]) -> Quantity:
    """Return the mean of some values, with as many decimals as they have, one more where that would change it."""
    unit, read = in_one_unit(values, values[0].unit)
    return Quantity(beside(sum(read, Decimal(0)) / len(read), *read), unit)


def in_one_unit(values: tuple[Quantity, ...], usual: str) -> tuple[str, tuple[Decimal, ...]]:
    """Return the unit that all values share, or the base unit of their kind, and the values in it, exact.

    Args:
        values: of one kind.
        usual: the unit where there is no value.
    """
    used = {each.unit for each in values}
    if len(used) == 1:
        return values[0].unit, tuple(each.value for each in values)
    if not used:
        return usual, ()
    return units.units_of(values[0].kind)[0], tuple(each.base for each in values)


def _figure(piece: str, kind: Kind, unit: str) -> Quantity:
    pointed = units.pointed(as_meant(piece, kind))
    try:
        return units.parse(pointed, kind, unit)
    except UnitError as error:
        # The message may name only the part of it that is wrong: "o" of 5.o1.
        told = str(error)
        for name in (piece, pointed):
            told = told.removeprefix(f'"{name}"')
        named = piece if len(piece) <= _SHOWN else f"{piece[:_SHOWN]}..."
        told = f'"{named}"{told}' if told != str(error) else f'"{named}": {told}'
        raise UsageError(told + _meant(piece, kind, unit)) from error


def _meant(piece: str, kind: Kind, unit: str) -> str:
    """Return what was probably meant: blanks between figures, digits that letters look like; empty where nothing is."""
    several = piece.split(",")
    if len(several) > 1 and all("." in each for each in several):
        return _('; did you mean "{figure}"?').format(figure=" ".join(several))
    likely = piece.translate(_LIKE_DIGITS)
    try:
        units.parse(units.pointed(as_meant(likely, kind)), kind, unit)
    except UnitError:
        return ""
    return _('; did you mean "{figure}"?').format(figure=likely)
