"""How heavy a lift may be: the revised NIOSH lifting equation, in its metric form.

The equation is for two hands, standing, a stable load and a smooth lift. It does not apply to lifts with one hand, of
more than eight hours, seated or kneeling, in a space that is too small to move freely, of unstable loads, while
carrying, pushing or pulling, with wheelbarrows or shovels, faster than about 0.75 m/s, on slippery floors (friction
below 0.4), or outside 19 to 26 °C and 35 to 50 % humidity. What it gives is advice; local rules come first.

Nothing is rounded here; the manual rounds every multiplier to two decimals and its results to one.

Source: T. R. Waters, V. Putz-Anderson, A. Garg, Applications Manual for the Revised NIOSH Lifting Equation, DHHS
(NIOSH) publication 94-110 (1994, revised 9/2021), public domain; page numbers below are those of the revision.
"""

from __future__ import annotations

import math
from bisect import bisect_right
from dataclasses import dataclass, replace
from decimal import ROUND_CEILING, ROUND_FLOOR, Decimal
from typing import Final, Literal

from labelkit.errors import UsageError, allowed_text
from labelkit.language import gettext as _
from labelkit.language import noop

Coupling = Literal["good", "fair", "poor"]

DEFERRAL: Final = noop("Advice for trained people who lift with two hands, standing; local rules come first.")

# Lifts a minute; then the multiplier for up to 1, 2 and 8 hours, each with the hands below and above the knuckles.
# Source: table 5, p. 15; between rows linear, p. 7.
_FREQUENCY: Final = (
    (0.2, 1.00, 1.00, 0.95, 0.95, 0.85, 0.85),
    (0.5, 0.97, 0.97, 0.92, 0.92, 0.81, 0.81),
    (1.0, 0.94, 0.94, 0.88, 0.88, 0.75, 0.75),
    (2.0, 0.91, 0.91, 0.84, 0.84, 0.65, 0.65),
    (3.0, 0.88, 0.88, 0.79, 0.79, 0.55, 0.55),
    (4.0, 0.84, 0.84, 0.72, 0.72, 0.45, 0.45),
    (5.0, 0.80, 0.80, 0.60, 0.60, 0.35, 0.35),
    (6.0, 0.75, 0.75, 0.50, 0.50, 0.27, 0.27),
    (7.0, 0.70, 0.70, 0.42, 0.42, 0.22, 0.22),
    (8.0, 0.60, 0.60, 0.35, 0.35, 0.18, 0.18),
    (9.0, 0.52, 0.52, 0.30, 0.30, 0.00, 0.15),
    (10.0, 0.45, 0.45, 0.26, 0.26, 0.00, 0.13),
    (11.0, 0.41, 0.41, 0.00, 0.23, 0.00, 0.00),
    (12.0, 0.37, 0.37, 0.00, 0.21, 0.00, 0.00),
    (13.0, 0.00, 0.34, 0.00, 0.00, 0.00, 0.00),
    (14.0, 0.00, 0.31, 0.00, 0.00, 0.00, 0.00),
    (15.0, 0.00, 0.28, 0.00, 0.00, 0.00, 0.00),
)
_HOURS: Final = (1.0, 2.0, 8.0)
# Hands below and above the knuckles. Source: table 7, p. 18.
_COUPLING: Final[dict[Coupling, tuple[float, float]]] = {
    "good": (1.00, 1.00),
    "fair": (0.95, 1.00),
    "poor": (0.90, 0.90),
}
_MOST_TURNED: Final = 135.0  # degrees. Source: p. 14
# Above this index many think nearly all workers are at risk. Source: p. 20
_FAR_OVER: Final = 3.0


@dataclass(frozen=True, slots=True)
class Equation:
    """The figures of one of the two forms; neither is a conversion of the other. Source: pp. 7 to 14.

    Attributes:
        load: the load constant, kg or lb.
        nearest: horizontal distance below which this one counts, and the numerator of its multiplier, cm or in.
        farthest: horizontal distance beyond which nothing may be lifted.
        knuckles: height of the knuckles, where hands lift best.
        per_height: loss for each cm or in above or below the knuckles.
        highest: height above which nothing may be lifted.
        travel: numerator of the distance multiplier.
        shortest: distance below which this one counts.
        longest: distance beyond which nothing may be lifted.
        body: from the ankles to the front of the body, hands at `low` and higher; container estimate, p. 8.
        body_low: the same with the hands lower.
        low: that height.
    """

    load: float
    nearest: float
    farthest: float
    knuckles: float
    per_height: float
    highest: float
    travel: float
    shortest: float
    longest: float
    body: float
    body_low: float
    low: float

    def horizontal(self, distance: float) -> float:
        """Return HM of the hands' distance from the ankles."""
        reach = max(_length("horizontal distance", distance), self.nearest)
        return 0.0 if reach > self.farthest else self.nearest / reach

    def vertical(self, height: float) -> float:
        """Return VM of the hands' height over the floor."""
        above = _length("height of the hands", height)
        return 0.0 if above > self.highest else 1 - self.per_height * abs(above - self.knuckles)

    def distance(self, travel: float) -> float:
        """Return DM of the distance between the heights of start and end."""
        far = max(_length("travel", travel), self.shortest)
        return 0.0 if far > self.longest else 0.82 + self.travel / far

    def coupling(self, grip: Coupling, height: float) -> float:
        """Return CM of a grip at the hands' height over the floor; UsageError where there is no such grip."""
        if grip not in _COUPLING:
            raise UsageError(f'grip: found "{grip}"; {allowed_text(grip, _COUPLING)}')
        return _COUPLING[grip][self._above(height)]

    def frequency(self, per_minute: float, hours: float, start: float) -> float:
        """Return FM.

        Args:
            per_minute: lifts a minute; below 0.2 counts as 0.2. Beyond the last row with a figure it is 0.
            hours: how long the lifting goes on, up to 8.
            start: height of the hands where the lift begins, also when its end is judged.

        Raises:
            UsageError: over 8 hours, or a figure that cannot be.
        """
        rate = _length("lifts per minute", per_minute)
        if not 0 <= hours <= _HOURS[-1]:
            raise UsageError(f"hours of lifting: found {hours:g}; allowed: 0 to 8, beyond that the equation is silent")
        kind = next(place for place, most in enumerate(_HOURS) if hours <= most)
        rows = [(row[0], row[1 + 2 * kind + self._above(start)]) for row in _FREQUENCY]
        rows = [row for row in rows if row[1] > 0]
        after = bisect_right(rows, (rate, math.inf))
        if after == 0:
            return rows[0][1]
        (low, first), (high, second) = rows[after - 1], rows[min(after, len(rows) - 1)]
        if rate == low:
            return first
        return 0.0 if low == high else first + (second - first) * (rate - low) / (high - low)

    def container(self, width: float, height: float) -> float:
        """Return the horizontal distance for a container held to the body.

        Args:
            width: of the container away from the body, cm or in.
            height: of the hands over the floor.
        """
        body = self.body if _length("height of the hands", height) >= self.low else self.body_low
        return max(body + _length("width of the container", width) / 2, self.nearest)

    def _above(self, height: float) -> bool:
        return _length("height of the hands", height) >= self.knuckles


METRIC: Final = Equation(23.0, 25, 63, 75, 0.003, 175, 4.5, 25, 175, 20, 25, 25)


def asymmetry(degrees: float) -> float:
    """Return AM of the angle by which the load stands beside the front of the body."""
    turned = _length("angle of asymmetry", degrees)
    return 0.0 if turned > _MOST_TURNED else 1 - 0.0032 * turned


@dataclass(frozen=True, slots=True)
class Lift:
    """A lift, metric; the defaults are a shop's: from a bench to another of nearly that height, now and then.

    Source of the defaults: common practice, no source. A bench is 90 cm high, a trolley or shelf beside it within
    25 cm of that; a tray is lifted a few times an hour; its edge is a fair grip.

    Attributes:
        horizontal_cm: of the hands from the middle between the ankles.
        vertical_cm: of the hands over the floor.
        travel_cm: between the heights of start and end.
        asymmetry_deg: how far the load stands to the side.
        per_minute: lifts a minute.
        hours: how long the lifting goes on.
        coupling: the grip.
        start_cm: height of the hands where the lift begins, when its end is judged; None: the lift begins here.
    """

    horizontal_cm: float = 25.0
    vertical_cm: float = 90.0
    travel_cm: float = 25.0
    asymmetry_deg: float = 0.0
    per_minute: float = 0.2
    hours: float = 1.0
    coupling: Coupling = "fair"
    start_cm: float | None = None

    @property
    def limit_kg(self) -> float:
        """The recommended weight limit: LC x HM x VM x DM x AM x FM x CM; 0 where nothing may be lifted so."""
        start = self.vertical_cm if self.start_cm is None else self.start_cm
        return (
            METRIC.load
            * METRIC.horizontal(self.horizontal_cm)
            * METRIC.vertical(self.vertical_cm)
            * METRIC.distance(self.travel_cm)
            * asymmetry(self.asymmetry_deg)
            * METRIC.frequency(self.per_minute, self.hours, start)
            * METRIC.coupling(self.coupling, self.vertical_cm)
        )


_SHOP_LIFT: Final = Lift()


def lifting_index(load: float, limit: float) -> float:
    """Return the load against the limit, both in one unit; infinite for any load where the limit is 0.

    >>> lifting_index(20, 16), lifting_index(1, 0), lifting_index(0, 0)
    (1.25, inf, 0.0)
    """
    if _length("load", load) == 0:
        return 0.0
    return load / limit if _length("weight limit", limit) else math.inf


def advice(mass_kg: float, depth_mm: float) -> str:
    """Return what is said of a loaded tray, or a part, that is held to the body and lifted by its edges.

    The limit is rounded down and the index up.

    Args:
        mass_kg: all of it, the tray itself included.
        depth_mm: of the tray from front to back, of a part away from the body.

    Raises:
        UsageError: a figure that cannot be.
    """
    reach = METRIC.container(_length("depth", depth_mm) / 10, _SHOP_LIFT.vertical_cm)
    limit = replace(_SHOP_LIFT, horizontal_cm=reach).limit_kg
    index = lifting_index(mass_kg, limit)
    mass = f"{_tenths(mass_kg, ROUND_CEILING)} kg"
    if not limit:
        return f"{mass}: " + _("nothing should be lifted by hand in this way; use a hoist.")
    figures = _("recommended limit {limit} kg, lifting index {index}").format(
        limit=_tenths(limit, ROUND_FLOOR), index=_tenths(index, ROUND_CEILING)
    )
    if index <= 1:
        said = _("one person may lift this; {figures}.")
    elif index <= _FAR_OVER:
        said = _("lift with help; {figures}.")
    else:
        said = _("do not lift by hand, use a hoist; {figures}.")
    return f"{mass}: {said.format(figures=figures)}"


def _tenths(value: float, way: str) -> Decimal:
    # What floats add behind the ninth decimal is no reason to round up.
    return Decimal(repr(round(value, 9))).quantize(Decimal("0.1"), rounding=way)


def _length(what: str, value: float) -> float:
    """Refuse what is no figure or below zero: it would come out as advice."""
    if not (math.isfinite(value) and value >= 0):
        raise UsageError(f"{what}: found {value:g}; allowed: a figure from 0")
    return value
