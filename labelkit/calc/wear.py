"""How much of the wear that a part is allowed is left, and the cone of a dished plate.

Source: the sum is the definition of the words; that `new` and the allowance come from the unit's own manual is common
practice, no source.
"""

from __future__ import annotations

from typing import Literal

from labelkit.calc.answers import Answer, Value
from labelkit.calc.figures import common_unit, in_unit, percent, read_together, told
from labelkit.calc.limits import Limits, judge
from labelkit.errors import UsageError
from labelkit.units import Quantity

Way = Literal["shrinks", "grows"]


def wear(
    measured: Quantity,
    new: Quantity,
    *,
    allowance: Quantity | None = None,
    limit: Quantity | None = None,
    way: Way | None = None,
    resolution: Quantity | None = None,
    unit: str | None = None,
) -> Answer:
    """Judge what a part has worn.

    Args:
        measured: what it measures now.
        new: what it measured new.
        allowance: how much it may lose or gain.
        limit: the last size that is allowed, instead of an allowance.
        way: `shrinks` as thickness and free length do, `grows` as bores and clearances; told by the limit where that
            is given, else `shrinks`.
        resolution: the step of the gauge, where the last digit does not say it.
        unit: of the values of the answer; by default that of the sizes.

    Raises:
        UsageError: both allowance and limit, a limit that is no wear, or another kind of figure.

    >>> from decimal import Decimal
    >>> mm = lambda text: Quantity(Decimal(text), "mm")
    >>> wear(mm("1.97"), mm("2.10"), allowance=mm("0.20")).values["left_percent"]
    Decimal('35')
    """
    if allowance is not None and limit is not None:
        raise UsageError("wear: an allowance and a limit; allowed: one of them")
    given = [each for each in (new, measured, allowance, limit) if each is not None]
    unit = common_unit(given, unit)
    if measured.base < 0:
        raise UsageError(f"wear: found {measured}; allowed: a size from 0")
    if allowance is None and limit is None:
        return judge(measured, Limits(), resolution=resolution, unit=unit, fit="wear")
    way = _way(new, limit, way)
    start, found = in_unit(new, unit), in_unit(measured, unit)
    sums: list[str] = []
    if allowance is not None:
        if allowance.base <= 0:
            raise UsageError(f"wear allowance: found {allowance}; allowed: more than 0")
        room = in_unit(allowance, unit)
        last = start - room if way == "shrinks" else start + room
        sign = "-" if way == "shrinks" else "+"
        sums.append(f"limit = new {told(start, unit)} {sign} allowance {told(room, unit)} = {told(last, unit)}")
        limit = Quantity(last, unit)
    else:
        last = in_unit(limit, unit) if limit else start
    limits = Limits(low=limit) if way == "shrinks" else Limits(high=limit)
    judged = judge(measured, limits, resolution=resolution, unit=unit, fit="wear")
    left = (found - last) / (start - last)
    sums += judged.sums[1:] if allowance is not None else judged.sums
    sums.append(
        f"left = ({told(found, unit)} - {told(last, unit)}) / ({told(start, unit)} - {told(last, unit)}) "
        f"= {percent(left)} %"
    )
    values: dict[str, Value] = {**judged.values, "new": start, "limit": last, "left_percent": percent(left), "way": way}
    notes = list(judged.notes)
    if left < 0:
        notes.append("more than the whole allowance is gone")
    if left > 1:
        notes.append("it measures better than new: is it the right part, clean, and measured at the worn place?")
    return Answer("wear", judged.verdict, values, tuple(sums), tuple(notes))


def _way(new: Quantity, limit: Quantity | None, way: Way | None) -> Way:
    if limit is None:
        return way or "shrinks"
    if limit.base == new.base:
        raise UsageError(f"wear limit: found {limit}, the size when new; allowed: the last size before it is replaced")
    told_by_limit: Way = "shrinks" if limit.base < new.base else "grows"
    if way not in (None, told_by_limit):
        raise UsageError(f"wear limit: found {limit} for a size of {new} that {way}; one of them is wrong")
    return told_by_limit


def cone(
    height: Quantity,
    thickness: Quantity,
    limit: Quantity | None = None,
    *,
    resolution: Quantity | None = None,
    unit: str | None = None,
) -> Answer:
    """Judge the cone of a plate: how high it stands on a flat table, less its thickness.

    Args:
        height: of the highest point over the table.
        thickness: of the plate, measured flat.
        limit: the most that is allowed; None: nothing is judged.
        resolution: what the difference of two readings tells; by default the last digits of both together.
        unit: of the values of the answer; by default that of the readings.

    Raises:
        UsageError: the plate is lower than it is thick, or another kind of figure.
    """
    unit = common_unit((height, thickness), unit)
    one, two = in_unit(height, unit), in_unit(thickness, unit)
    if one < two:
        raise UsageError(f"cone: the height {height} is below the thickness {thickness}; measure both again")
    step = resolution or read_together(height, thickness)
    judged = judge(Quantity(one - two, unit), Limits(high=limit), resolution=step, fit="cone")
    first = f"cone = height {told(one, unit)} - thickness {told(two, unit)} = {told(one - two, unit)}"
    return Answer("cone", judged.verdict, judged.values, (first, *judged.sums), judged.notes)
