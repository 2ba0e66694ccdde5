"""From the torque that is wanted to the figure that is set on the wrench.

Source: TB 43-0218 (pages 4 and 6, read as excerpts): prevailing torque of a third or more is added, a wrench serves
best from 25 to 75 % of its range. An adapter in line with the wrench: set = wanted x L / (L + A), public manuals.
Oiled and plated threads in dry tables, 10 % tolerance where nothing else is said: TM 5-3805-291-23-2. Units: NIST
SP 811.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from decimal import Decimal
from typing import Final

from labelkit.calc.answers import Answer, Value, Verdict, worst
from labelkit.calc.figures import in_unit, is_kind, more_than_nothing, percent, significant
from labelkit.errors import UsageError, allowed_text
from labelkit.units import Quantity, units_of

UNITS: Final = units_of("torque")
DIGITS: Final = 3  # a wrench shows no more
# What is left of a value from a table for dry threads.
CONDITIONS: Final[Mapping[str, tuple[Decimal, str]]] = {
    "oiled": (Decimal("0.9"), "oiled threads, table for dry ones: less 10 %"),
    "plated": (Decimal("0.8"), "new plated threads, table for dry ones: less 20 %"),
}
_TOLERANCE: Final = Decimal("0.1")
_THIRD: Final = 3
_BEST: Final = (Decimal("0.25"), Decimal("0.75"))


@dataclass(frozen=True, slots=True)
class Wrench:
    """A torque wrench.

    Attributes:
        unit: of its scale.
        length: from the drive to the middle of the grip.
        adapter: from the drive to the screw, in line with the wrench.
        low: where its scale begins.
        high: where its scale ends; None: its range is not checked.
    """

    unit: str
    length: Quantity | None = None
    adapter: Quantity | None = None
    low: Quantity | None = None
    high: Quantity | None = None

    def __post_init__(self) -> None:
        if self.unit not in UNITS:
            raise UsageError(f'wrench: found "{self.unit}"; {allowed_text(self.unit, UNITS)}')
        if self.adapter is not None and self.length is None:
            raise UsageError("wrench: an adapter counts against the length of the wrench; give that as well")
        for name in ("length", "adapter"):
            if (value := getattr(self, name)) is not None:
                is_kind(f"wrench {name}", value, "length")
                more_than_nothing(f"wrench {name}", value.mm)
        for name in ("low", "high"):
            if (value := getattr(self, name)) is not None:
                is_kind(f"wrench range, {name} end", value, "torque")
        if self.high is not None and self.high.base <= (self.low.base if self.low else 0):
            raise UsageError(f"wrench range: {self.low or 0} to {self.high}; write the low end first")

    @property
    def factor(self) -> Decimal:
        """What the adapter makes of a setting: L / (L + A)."""
        if self.length is None or self.adapter is None:
            return Decimal(1)
        return self.length.mm / (self.length.mm + self.adapter.mm)


def in_three(torque: Quantity) -> dict[str, Decimal]:
    """Return a torque in N·m, lbf·ft and lbf·in: as typed in its own unit, with three digits in the others.

    >>> in_three(Quantity(Decimal(36), "lbf·ft"))
    {'N·m': Decimal('48.8'), 'lbf·ft': Decimal('36'), 'lbf·in': Decimal('432')}
    """
    is_kind("torque", torque, "torque")
    return {unit: torque.value if unit == torque.unit else _seen(in_unit(torque, unit)) for unit in UNITS}


def three_words(torque: Quantity) -> str:
    """Return a torque in all three units, its own first.

    >>> three_words(Quantity(Decimal(48), "N·m"))
    '48 N·m (35.4 lbf·ft, 425 lbf·in)'
    """
    shown = in_three(torque)
    others = ", ".join(f"{value:f} {unit}" for unit, value in shown.items() if unit != torque.unit)
    return f"{shown[torque.unit]:f} {torque.unit} ({others})"


def setting(
    wanted: Quantity,
    *,
    upto: Quantity | None = None,
    wrench: Wrench | None = None,
    prevailing: Quantity | None = None,
    condition: str | None = None,
    set_to: Quantity | None = None,
) -> Answer:
    """Tell what to set on the wrench.

    Args:
        wanted: the torque the unit's data state; the low end where they state a range.
        upto: the high end.
        wrench: its scale, lengths and range; None: a wrench in the unit of `wanted`, without an adapter.
        prevailing: what a self-locking nut needs to turn, measured one turn before it seats.
        condition: `oiled` or `plated` threads with a value from a table for dry ones; None: the value is used as it is.
        set_to: what somebody has set or is about to set; judged against the answer.

    Returns:
        `ok`; `borderline` where the wrench works outside 25 to 75 % of its range; `out` beyond its range, or where
        `set_to` is off by more than 10 %; `ask` where a prevailing torque is a third of one end of a range only.

    Raises:
        UsageError: a figure that is no torque, is 0 or less, or a range the wrong way round.

    >>> inch = lambda text: Quantity(Decimal(text), "in")
    >>> wrench = Wrench("lbf·ft", length=inch("12"), adapter=inch("4"))
    >>> setting(Quantity(Decimal(48), "N·m"), wrench=wrench).values["set"]
    Decimal('26.6')
    """
    ends = [wanted] if upto is None else [wanted, upto]
    for each in (*ends, *([set_to] if set_to else [])):
        is_kind("torque", each, "torque")
        more_than_nothing("torque", each.base)
    if upto is not None and upto.base < wanted.base:
        raise UsageError(f"torque: {wanted} to {upto}; write the low end first")
    wrench = wrench or Wrench(wanted.unit)
    sums = [" to ".join(three_words(each) for each in ends)]
    notes: list[str] = []
    steps = [in_unit(each, wanted.unit) for each in ends]
    verdict: Verdict = "ok"
    if condition is not None:
        steps = _reduced(steps, wanted.unit, condition, sums)
    if prevailing is not None:
        steps, added = _with_prevailing(steps, prevailing, wanted.unit, sums)
        verdict = "ask" if added is None else "ok"
        if added is None:
            notes.append(
                f"prevailing {prevailing} is a third of the low end but not of the high one: ask whether it is added"
            )
    final = [Quantity(step, wanted.unit) for step in steps]
    at_screw = [in_unit(each, wrench.unit) for each in final]
    scale = [each * wrench.factor for each in at_screw]
    if wrench.unit != wanted.unit:
        sums.append(f"on the wrench: {_ends(steps, wanted.unit)} = {_ends(at_screw, wrench.unit)}")
        notes.append(_misread(wanted, wrench.unit))
    if wrench.factor != 1:
        sums.append(
            f"set = {_ends(at_screw, wrench.unit)} x {wrench.length} "
            f"/ ({wrench.length} + {wrench.adapter}) = {_ends(scale, wrench.unit)}"
        )
        notes.append("the adapter stands in line with the wrench, the hand in the middle of the grip")
    values: dict[str, Value] = {
        "at_screw": {**in_three(final[0])},
        "set": _seen(scale[0]),
        "unit": wrench.unit,
    }
    if upto is not None:
        values["set_upto"] = _seen(scale[-1])
    verdict = worst(verdict, _range(scale, wrench, sums, notes))
    if set_to is not None:
        verdict = worst(verdict, _judged(set_to, wanted, wrench, (scale[0], scale[-1]), values, sums, notes))
    if condition is None:
        notes.append("dry or oiled is part of the value: oil on a thread that is meant dry strains it by a third more")
    return Answer("torque", verdict, values, tuple(sums), tuple(notes))


def _seen(value: Decimal) -> Decimal:
    return significant(value, DIGITS)


def _ends(values: list[Decimal], unit: str) -> str:
    return f"{' to '.join(f'{_seen(value):f}' for value in values)} {unit}"


def _reduced(steps: list[Decimal], unit: str, condition: str, sums: list[str]) -> list[Decimal]:
    if condition not in CONDITIONS:
        raise UsageError(f'condition: found "{condition}"; {allowed_text(condition, CONDITIONS)}')
    factor, words = CONDITIONS[condition]
    less = [step * factor for step in steps]
    sums.append(f"{words}: {_ends(steps, unit)} x {factor} = {_ends(less, unit)}")
    return less


def _with_prevailing(
    steps: list[Decimal], prevailing: Quantity, unit: str, sums: list[str]
) -> tuple[list[Decimal], bool | None]:
    """Return the values with the prevailing torque added where it counts; None: one end says yes, the other no."""
    is_kind("prevailing torque", prevailing, "torque")
    more = in_unit(prevailing, unit)
    if more < 0:
        raise UsageError(f"prevailing torque: found {prevailing}; allowed: from 0")
    counts = [more * _THIRD >= step for step in steps]
    if any(counts) and not all(counts):
        return steps, None
    if not counts[0]:
        sums.append(f"prevailing {prevailing} is less than a third of {_ends(steps, unit)}: not added")
        return steps, False
    total = [step + more for step in steps]
    sums.append(
        f"prevailing {prevailing} is a third or more: {_ends(steps, unit)} + {_seen(more):f} = {_ends(total, unit)}"
    )
    return total, True


def _misread(wanted: Quantity, scale: str) -> str:
    wrong = Quantity(wanted.value, scale)
    off = wrong.base / wanted.base - 1
    times = wrong.base / wanted.base
    share = (
        f"{percent(abs(off))} % {'over' if off > 0 else 'under'}" if times < 2 else f"{_seen(times):f} times as much"
    )
    return f"read as {scale}, {wanted.value:f} would be {_seen(in_unit(wrong, wanted.unit)):f} {wanted.unit}: {share}"


def _range(scale: list[Decimal], wrench: Wrench, sums: list[str], notes: list[str]) -> Verdict:
    if wrench.high is None:
        return "ok"
    top = in_unit(wrench.high, wrench.unit)
    bottom = in_unit(wrench.low, wrench.unit) if wrench.low else Decimal(0)
    best = [share * top for share in _BEST]
    sums.append(f"wrench to {wrench.high}: best from {_seen(best[0]):f} to {_seen(best[1]):f} {wrench.unit}")
    if scale[0] < bottom or scale[-1] > top:
        notes.insert(0, f"the wrench does not reach {_ends(scale, wrench.unit)}: take another")
        return "out"
    if scale[0] < best[0] or scale[-1] > best[1]:
        notes.insert(0, "outside the part of its range where the wrench serves best: take another if there is one")
        return "borderline"
    return "ok"


def _judged(
    set_to: Quantity,
    wanted: Quantity,
    wrench: Wrench,
    ends: tuple[Decimal, Decimal],
    values: dict[str, Value],
    sums: list[str],
    notes: list[str],
) -> Verdict:
    """Judge what is set, adapter and all."""
    at_wrench = in_unit(set_to, wrench.unit)
    low, high = ends
    nearest = min(max(at_wrench, low), high)
    off = at_wrench / nearest - 1
    at_screw = Quantity(at_wrench / wrench.factor, wrench.unit)
    sums.append(f"set to {set_to}: the screw gets {three_words(Quantity(_seen(at_screw.base), 'N·m'))}")
    values["off_percent"] = percent(off)
    if abs(off) <= _TOLERANCE:
        return "ok"
    way = "over" if off > 0 else "under"
    slip = f"; {set_to.value:f} is the figure in {wanted.unit}, the unit is wrong" if _slip(set_to, wanted) else ""
    notes.insert(0, f"{set_to} is {percent(abs(off))} % {way}{slip}")
    return "out"


def _slip(set_to: Quantity, wanted: Quantity) -> bool:
    return set_to.unit != wanted.unit and set_to.value == wanted.value
