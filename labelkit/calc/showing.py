"""How lengths of a fit are shown: the unit, and as many decimals as the figures that went in.

Lengths are kept in mm, exact, and are compared as they are kept. What is shown is rounded half to even; limits are
rounded inward, so that no limit on the screen is looser than the one that is meant.

Source: an inch is 25.4 mm, exact (NIST SP 811, appendix B.8). 0.01 mm beside 0.001 in: common practice, no source.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from decimal import ROUND_HALF_EVEN, Decimal
from typing import Final, Literal

from labelkit.calc.answers import inward, places_of, shown, step_of
from labelkit.calc.figures import PLACES
from labelkit.units import FACTORS, Quantity

LengthUnit = Literal["mm", "in"]

_INCH: Final = FACTORS["in"][1]
# More tell nothing: a millionth of a millimetre is less than any gauge shows.
_MOST_PLACES: Final = 6
_STEPS: Final = tuple(map(step_of, range(2 * _MOST_PLACES)))


@dataclass(frozen=True, slots=True)
class Show:
    """How lengths are shown.

    Attributes:
        unit: `mm` or `in`.
        places: decimals.
    """

    unit: LengthUnit = "mm"
    places: int = 2

    @classmethod
    def of(cls, unit: LengthUnit, given: Iterable[Quantity]) -> Show:
        """Return how to show lengths that were worked out of some others: as finely as the finest of them.

        No finer than any figure is told, however many decimals a quotient was typed with. A figure of the other unit
        counts for what it resolves: a thousandth of an inch is shown as a hundredth of a mm.

        >>> Show.of("mm", [Quantity(Decimal("0.075"), "mm"), Quantity(Decimal("0.0005"), "in")]).places
        3
        """
        places, most = PLACES[unit]
        for each in given:
            own = places_of(each.value)
            places = max(places, own if each.unit == unit else own - 1 if unit == "mm" else own + 1)
        return cls(unit, min(places, most))

    def converted(self, mm: Decimal) -> Decimal:
        """Return a length in the unit, not rounded; an inch has no exact value for every mm."""
        return mm if self.unit == "mm" else mm / _INCH

    def value(self, mm: Decimal, finer: int = 0) -> Decimal:
        """Return a length as it is shown, with so many more decimals than usual; a zero has no sign.

        >>> Show("in", 3).value(Decimal("2.54"))
        Decimal('0.100')
        """
        # A sum in words holds forty figures; most have their decimals already, and are not rounded again.
        exact, step = mm if self.unit == "mm" else mm / _INCH, _STEPS[self.places + finer]
        return exact if exact.same_quantum(step) else exact.quantize(step, ROUND_HALF_EVEN) + 0

    def text(self, mm: Decimal, finer: int = 0) -> str:
        """Return a length as it is shown, with its unit."""
        return f"{self.value(mm, finer)!s} {self.unit}"  # without !s a Decimal takes six times as long

    def distance(self, mm: Decimal) -> str:
        """Return how far apart two lengths are that are not the same, with a decimal more where it would show as none.

        >>> Show("mm", 2).distance(Decimal("0.002")), Show("mm", 2).distance(Decimal("0.05"))
        ('0.002 mm', '0.05 mm')
        """
        finer = next((more for more in range(3) if self.value(mm, more)), 2)
        return self.text(mm, finer)

    def signed(self, mm: Decimal) -> str:
        """Return a difference as it is shown, with its sign and unit: `+1.00 mm`."""
        return f"{self.value(mm):+} {self.unit}"

    def size(self, mm: Decimal) -> Decimal:
        """Return a size that somebody made: as it is written in mm, in inches with all decimals where it has an end.

        >>> Show("mm", 2).size(Decimal("2.7178")), Show("in", 3).size(Decimal("2.7178"))
        (Decimal('2.7178'), Decimal('0.107'))
        """
        exact = self.converted(mm)
        if exact.same_quantum(_STEPS[self.places]) or (self.unit == "mm" and places_of(exact) <= self.places):
            return exact
        rounded = self.value(mm)
        if rounded == exact:
            return rounded
        fine = shown(exact, _MOST_PLACES).normalize()
        return fine if fine == exact else shown(exact, self.places + 1)

    def limits(self, low: Decimal, high: Decimal) -> tuple[Decimal, Decimal]:
        """Return limits as they are shown, never looser than they are; with more decimals where they would cross.

        >>> Show("mm", 2).limits(Decimal("0.1016"), Decimal("0.5588"))
        (Decimal('0.11'), Decimal('0.55'))
        """
        exact = self.converted(low), self.converted(high)
        for places in range(self.places, _MOST_PLACES + 1):
            inner = inward(*exact, places)
            if inner[0] is not None and inner[1] is not None and inner[0] <= inner[1]:
                return inner[0] + 0, inner[1] + 0
        return exact

    def apart(self, mm: Decimal, *limits: Decimal) -> str:
        """Return a length with its unit, with as many decimals as it takes to see on which side of limits it lies.

        >>> Show("mm", 2).apart(Decimal("0.6004"), Decimal("0.60"))
        '0.6004 mm'
        """
        for finer in range(_MOST_PLACES - self.places):
            seen = self.value(mm, finer)
            for limit in limits:
                other = self.converted(limit)
                if (seen > other) != (mm > limit) or (seen < other) != (mm < limit):
                    break
            else:
                return f"{seen!s} {self.unit}"
        return self.text(mm, _MOST_PLACES - self.places)


USUAL_SHOW: Final = Show()
