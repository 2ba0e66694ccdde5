"""The clearance of a shaft in its bushing.

Source: measure both at two directions and two heights, common practice; largest bore less smallest journal is the
largest clearance by definition.
"""

from __future__ import annotations

from collections.abc import Sequence
from decimal import Decimal
from typing import Final

from labelkit.calc.answers import Answer, Value, worst
from labelkit.calc.figures import common_unit, in_unit, read_together, told
from labelkit.calc.limits import Limits, judge
from labelkit.errors import UsageError
from labelkit.units import Quantity

_FEW: Final = 4  # two directions at two heights


def clearance(
    bores: Sequence[Quantity],
    journals: Sequence[Quantity],
    limits: Limits,
    *,
    resolution: Quantity | None = None,
    unit: str | None = None,
) -> Answer:
    """Judge the clearance between readings of a bore and of its journal.

    Args:
        bores: readings of the bore.
        journals: readings of the journal.
        limits: of the clearance; the high one is held against the largest, the low one against the smallest.
        resolution: what the difference of two readings tells; by default the last digits of both together.
        unit: of the values of the answer; by default that of the readings.

    Raises:
        UsageError: no readings, or not lengths.

    >>> mm = lambda text: Quantity(Decimal(text), "mm")
    >>> inch = Quantity(Decimal("0.0035"), "in")
    >>> clearance([mm("40.070")], [mm("39.980")], Limits(high=inch)).verdict
    'borderline'
    """
    if not bores or not journals:
        raise UsageError("bushing: readings of the bore and of the journal are needed, at least one of each")
    unit = common_unit((*bores, *journals), unit)
    wide, narrow = (pick(bores, key=_base) for pick in (max, min))
    thick, thin = (pick(journals, key=_base) for pick in (max, min))
    largest = Quantity(in_unit(wide, unit) - in_unit(thin, unit), unit)
    smallest = Quantity(in_unit(narrow, unit) - in_unit(thick, unit), unit)
    step = resolution or read_together(wide, thin)
    most = judge(largest, Limits(high=limits.high), resolution=step, fit="bushing")
    least = judge(smallest, Limits(low=limits.low), resolution=step, fit="bushing")
    values: dict[str, Value] = {
        "largest": most.values["reading"],
        "smallest": least.values["reading"],
        "unit": unit,
        "low": least.values["low"],
        "high": most.values["high"],
    }
    sums = [
        f"largest clearance = largest bore {told(wide.value, wide.unit)} - smallest journal "
        f"{told(thin.value, thin.unit)} = {told(largest.value, unit)}",
        f"smallest clearance = {told(narrow.value, narrow.unit)} - {told(thick.value, thick.unit)} "
        f"= {told(smallest.value, unit)}",
    ]
    notes: list[str] = []
    for judged, given in ((most, limits.high), (least, limits.low)):
        if given is not None:
            sums += judged.sums
            notes += judged.notes
    if not limits.given:
        notes += most.notes
    if smallest.base < 0:
        notes.append("the journal is larger than the bore somewhere: it is a press fit, or a reading is wrong")
    if len(bores) < _FEW or len(journals) < _FEW:
        notes.append("measure bore and journal in two directions at two heights: wear is seldom round")
    return Answer("bushing", worst(most.verdict, least.verdict), values, tuple(sums), tuple(notes))


def _base(quantity: Quantity) -> Decimal:
    return quantity.base
