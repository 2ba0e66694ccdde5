"""Limits in two units: as the profile has them, and converted so that they are never looser."""

from __future__ import annotations

from decimal import Decimal
from typing import Final

from labelkit import units
from labelkit.calc.answers import inward, places_of
from labelkit.model.part import Check
from labelkit.model.profile import Fit
from labelkit.sheets import wording
from labelkit.units import Quantity

# What a shop that works in the other units reads on its gauges. Common practice, no source.
OTHER: Final = {
    "mm": "in",
    "cm": "in",
    "m": "in",
    "µm": "in",
    "in": "mm",
    "N·m": "lbf·in",
    "lbf·in": "N·m",
    "lbf·ft": "N·m",
    "N": "lbf",
    "kN": "lbf",
    "lbf": "N",
    "bar": "psi",
    "kPa": "psi",
    "psi": "bar",
    "kg": "lb",
    "g": "oz",
    "lb": "kg",
    "oz": "g",
    "l": "qt",
    "ml": "qt",
    "qt": "l",
}


def converted(low: Quantity | None, high: Quantity | None) -> tuple[Quantity | None, Quantity | None]:
    """Return limits in the other unit, the low one rounded up, the high one down; None where there is no other unit.

    They get as few decimals as their last digit can have without being coarser than the last one that was typed, and
    more where the low one would otherwise come to lie above the high one.

    >>> [str(each) for each in converted(Quantity(Decimal("0.004"), "in"), Quantity(Decimal("0.022"), "in"))]
    ['0.11 mm', '0.55 mm']
    """
    given = [each for each in (low, high) if each is not None]
    other = OTHER.get(given[0].unit) if given else None
    if other is None:
        return None, None
    factor = units.FACTORS[other][1]
    ends = [None if each is None else each.base / factor for each in (low, high)]
    typed = places_of(*(each.value for each in given))
    coarse = Decimal(1).scaleb(-typed) * units.FACTORS[given[0].unit][1] / factor
    places = max(0, -coarse.adjusted())
    while True:
        bottom, top = inward(ends[0], ends[1], places)
        if bottom is None or top is None or bottom <= top or places > units.MOST_DIGITS:
            break
        places += 1
    return (
        None if bottom is None else Quantity(bottom, other),
        None if top is None else Quantity(top, other),
    )


def check_limits(check: Check) -> tuple[str, str]:
    """Return the limits of a measurement in its own unit, and in the other one; the second empty where there is none.

    Where the profile gives no limits the first says so.
    """
    return wording.limit_words(check), wording.span_words(*converted(check.min, check.max))


def fit_limits(fit: Fit) -> tuple[str, str]:
    """Return the target of a fit in its own unit, and in the other one."""
    return wording.span_words(*fit.target), wording.span_words(*converted(*fit.target))


def aim_of(fit: Fit) -> Quantity:
    """Return the value that a fit is to have: the aim, or the middle or the end of the target that it names."""
    low, high = fit.target
    if isinstance(fit.aim, Quantity):
        return fit.aim
    if fit.aim in ("low", "high"):
        return low if fit.aim == "low" else high
    top = high.value if high.unit == low.unit else high.base / units.FACTORS[low.unit][1]
    middle = (low.value + top) / 2
    # The middle may need one decimal more than its ends; it never has fewer.
    return Quantity(middle.quantize(Decimal(1).scaleb(-places_of(middle, low.value, high.value))), low.unit)
