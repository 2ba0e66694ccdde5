"""How the figures of a sum are written: exact where they are short, in their own unit, never with an exponent.

Square roots are those of the decimal module, which rounds them correctly.
"""

from __future__ import annotations

from collections.abc import Iterable
from decimal import Decimal
from typing import Final

from labelkit.calc.answers import places_of, shown
from labelkit.errors import UsageError
from labelkit.units import FACTORS, Kind, Quantity, UnitError, units_of

# Fewest and most decimals a figure is told with. Source: 0.01 mm and 0.001 in are common practice, no source;
# the other units by the size of what is read on their scales.
PLACES: Final[dict[str, tuple[int, int]]] = {
    "mm": (2, 4),
    "in": (3, 5),
    "N·m": (1, 3),
    "lbf·ft": (1, 3),
    "lbf·in": (0, 2),
    "N": (0, 1),
    "kN": (1, 2),
    "lbf": (1, 2),
}
_OTHER: Final = (1, 4)
_MOST_DIGITS: Final = 26  # two fewer than a Decimal has


def in_unit(quantity: Quantity, unit: str) -> Decimal:
    """Return a quantity's value in another unit of its kind, as typed where the unit is its own.

    Raises:
        UsageError: the unit measures something else.

    >>> in_unit(Quantity(Decimal("0.104"), "in"), "mm"), in_unit(Quantity(Decimal("0.30"), "mm"), "mm")
    (Decimal('2.6416'), Decimal('0.30'))
    """
    same_kind(unit, quantity)
    return quantity.value if quantity.unit == unit else quantity.base / FACTORS[unit][1]


def millimetres(value: Decimal, unit: str) -> Decimal:
    """Return a length in mm; as it is where the unit is none of length."""
    try:
        return Quantity(value, unit).mm
    except (UnitError, KeyError, ValueError):
        return value


def same_kind(unit: str, *quantities: Quantity | None) -> None:
    """Refuse quantities that do not measure what the unit does.

    Raises:
        UsageError: one of them measures something else.
    """
    kind = FACTORS[unit][0]
    for each in quantities:
        if each is not None and each.kind != kind:
            raise UsageError(f"{each} is a {each.kind}; allowed here: a {kind}, in {', '.join(units_of(kind))}")


def is_kind(what: str, quantity: Quantity, kind: Kind) -> None:
    """Refuse a quantity of another kind, and say which one it was.

    Raises:
        UsageError: it measures something else.
    """
    if quantity.kind != kind:
        raise UsageError(f"{what}: {quantity} is a {quantity.kind}; allowed: a {kind}, in {', '.join(units_of(kind))}")


def more_than_nothing(what: str, value: Decimal) -> Decimal:
    """Return a figure that must be above zero.

    Raises:
        UsageError: it is zero or less.
    """
    if value <= 0:
        raise UsageError(f"{what}: found {value:f}; allowed: more than 0")
    return value


def common_unit(quantities: Iterable[Quantity], wanted: str | None = None) -> str:
    """Return the wanted unit, else the one that quantities share, else the base unit of their kind.

    Raises:
        UsageError: they measure different things.

    >>> common_unit([Quantity(Decimal(1), "in"), Quantity(Decimal(2), "mm")])
    'mm'
    """
    found = list(quantities)
    unit = wanted or found[0].unit
    if wanted is None and any(each.unit != unit for each in found):
        unit = units_of(found[0].kind)[0]
    same_kind(unit, *found)
    return unit


def figure(value: Decimal, unit: str, *, places: int | None = None) -> Decimal:
    """Return a value as it is shown in its unit: exact where it is short, else rounded half to even.

    Args:
        value: the exact value.
        unit: decides how few and how many decimals there may be.
        places: shows just so many decimals.

    >>> figure(Decimal("0.0012"), "mm"), figure(Decimal("0.6"), "mm"), figure(Decimal(1) / 3, "in")
    (Decimal('0.0012'), Decimal('0.60'), Decimal('0.33333'))
    """
    if places is not None:
        return rounded(value, places) + 0  # a zero has no sign
    fewest, most = PLACES.get(unit, _OTHER)
    exact = places_of(value)
    if exact > most:
        exact = places_of(Decimal(f"{value:f}".rstrip("0")))
    return rounded(value, min(max(exact, fewest), most)) + 0


def told(value: Decimal, unit: str, *, places: int | None = None) -> str:
    """Return a value with its unit, as `figure` shows it.

    >>> told(Decimal("0.6"), "mm"), told(Decimal("12.3456"), "N·m", places=1)
    ('0.60 mm', '12.3 N·m')
    """
    return f"{figure(value, unit, places=places):f} {unit}"


def percent(share: Decimal) -> Decimal:
    """Return a share in whole per cent.

    >>> percent(Decimal("0.35"))
    Decimal('35')
    """
    return rounded(share * 100, 0)


def digit(quantity: Quantity) -> Decimal:
    """Return what the last digit of a typed quantity is worth, in the base unit of its kind.

    >>> digit(Quantity(Decimal("0.56"), "mm")), digit(Quantity(Decimal("0.022"), "in"))
    (Decimal('0.01'), Decimal('0.0254'))
    """
    return Decimal(1).scaleb(min(0, int(quantity.value.as_tuple().exponent))) * FACTORS[quantity.unit][1]


def rounded(value: Decimal, places: int) -> Decimal:
    """Return a value with so many decimals, half to even; one that no gauge ever shows, with three digits.

    >>> rounded(Decimal("0.125"), 2), rounded(Decimal("1.2345e30"), 2)
    (Decimal('0.12'), Decimal('1230000000000000000000000000000'))
    """
    return shown(value, places) if value.adjusted() + places < _MOST_DIGITS else significant(value, 3)


def significant(value: Decimal, digits: int) -> Decimal:
    """Return a value with so many significant digits, half to even, without an exponent.

    >>> significant(Decimal("35.4029"), 3), significant(Decimal("1234.5"), 3), significant(Decimal(0), 3)
    (Decimal('35.4'), Decimal('1230'), Decimal('0'))
    """
    if not value:
        return Decimal(0)
    return Decimal(f"{shown(value, digits - 1 - value.adjusted()):f}")


def read_together(*readings: Quantity) -> Quantity:
    """Return what a sum or difference of readings tells: the last digits of all of them together.

    >>> mm = lambda text: Quantity(Decimal(text), "mm")
    >>> str(read_together(mm("40.070"), mm("39.980")))
    '0.002 mm'
    """
    return Quantity(sum((digit(each) for each in readings), Decimal(0)), units_of(readings[0].kind)[0])


def as_read(reading: Quantity, unit: str | None = None) -> Decimal:
    """Return a reading's value as it was typed; one that comes out of a division is shortened.

    >>> as_read(Quantity(Decimal("0.5"), "mm")), as_read(Quantity(Decimal(1) / 3, "mm"))
    (Decimal('0.5'), Decimal('0.3333'))
    """
    if unit not in (None, reading.unit):
        return figure(in_unit(reading, unit or ""), unit or "")
    # A longer one was not read from a gauge in its unit, but is converted or divided.
    most = max(PLACES.get(reading.unit, _OTHER)[1], _OTHER[1])
    return reading.value if places_of(reading.value) <= most else figure(reading.value, reading.unit)
