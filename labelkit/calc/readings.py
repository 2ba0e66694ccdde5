"""From several readings of one thing to a value: mean, spread, uncertainty, and what makes them worth nothing.

Readings that lie further apart than the spread allows are refused, never averaged: the part was not seated the same
way each time. Lengths are mm, exact decimals.

Source: arithmetic mean, experimental standard deviation and that of the mean: JCGM 100:2008, 4.2. Cosine of a lever
indicator: geometry. Spread of a dial, lost turns, three readings: common practice, no source.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from decimal import Decimal
from functools import cache
from typing import Final, Literal

from labelkit.calc.answers import Answer, Value, Verdict
from labelkit.calc.showing import USUAL_SHOW, Show
from labelkit.errors import UsageError
from labelkit.language import gettext as _
from labelkit.language import ngettext, noop

Gauge = Literal["straight", "lever", "face", "point"]
"""How the gauge stands: `straight` on the line of travel; a `lever` at an angle to the face; a plunger that leans and
reads on a flat `face`, or on a `point` that moves along its own line."""

# What the readings of a dial may differ by where nothing else is said.
USUAL_SPREAD: Final = Decimal("0.05")
_USUAL_READINGS: Final = 3
# One turn of the dials there are: 1 mm, 0.1 in, 0.05 in.
DIAL_TURNS: Final = (Decimal(1), Decimal("2.54"), Decimal("1.27"))
# Beyond it the length is off by over 1.5 %.
_WIDE_ANGLE: Final = Decimal(10)
_ZERO: Final = Decimal(0)
_STEEPEST: Final = Decimal(75)
_PI: Final = Decimal("3.141592653589793238462643383279502884")
# Growth of 100 mm warmed by 40 K: 11.5e-6 per K for steel, 23e-6 for light metal (both from memory).
_WARM: Final = noop(
    "measured warm: 100 mm of steel is 0.046 mm longer when 40 K warmer, light metal 0.092 mm; measure again when cold"
)
# Translated when they are said; a profile's own words have no translation and stay as they are.
SEATING: Final = (noop("turn the shaft"), noop("push"), noop("set to zero"), noop("pull"))


@dataclass(frozen=True, slots=True)
class Taking:
    """How readings were taken.

    Attributes:
        spread: what they may differ by, mm; None: they may differ, all are kept (places round a clutch).
        least: how many are wanted.
        gauge: how it stood.
        angle: of the gauge, degrees.
        added: what was not there when it was read, mm: a gasket that was left out.
        turns: one turn of the dials that it may have been, mm.
        expected: what it should be near, mm; None: nobody knows.
        gasket: its state, in words.
        warm: whether the unit was warm; None: not said.
        seat: how the part is seated before each, step by step.
    """

    spread: Decimal | None = USUAL_SPREAD
    least: int = _USUAL_READINGS
    gauge: Gauge = "straight"
    angle: Decimal = _ZERO
    added: Decimal = _ZERO
    turns: tuple[Decimal, ...] = DIAL_TURNS
    expected: Decimal | None = None
    gasket: str | None = None
    warm: bool | None = None
    seat: tuple[str, ...] = SEATING


USUAL_TAKING: Final = Taking()


@dataclass(frozen=True, slots=True)
class Taken:
    """What came of readings.

    Attributes:
        values: corrected, mm.
        mean: of all, not rounded, mm.
        spread: largest less smallest, mm.
        deviation: experimental standard deviation, mm; None of a single reading.
        uncertainty: that of the mean, mm; None of a single reading.
        refused: they lie too far apart for the mean to mean anything.
        sums: how it was worked out, line by line.
        notes: what is suspicious or to be done.
    """

    values: tuple[Decimal, ...]
    mean: Decimal
    spread: Decimal
    deviation: Decimal | None
    uncertainty: Decimal | None
    refused: bool
    sums: tuple[str, ...]
    notes: tuple[str, ...]

    def told(self, show: Show) -> dict[str, Value]:
        """Return its values as an answer tells them; no mean of what is refused."""
        return {
            "unit": show.unit,
            "readings": tuple(show.value(each) for each in self.values),
            "mean": None if self.refused else show.value(self.mean),
            "spread": show.value(self.spread),
            "s": None if self.deviation is None else show.value(self.deviation, 1),
            "u": None if self.uncertainty is None else show.value(self.uncertainty, 1),
        }


def take(read: Sequence[Decimal], how: Taking, show: Show, *, negative: bool = False) -> Taken:
    """Return what comes of readings.

    Args:
        read: as they stood on the gauge, mm.
        how: they were taken.
        show: how to tell the sum.
        negative: whether what is read can be below zero; a play cannot.

    Raises:
        UsageError: no readings, one below zero that cannot be, or an angle at which nothing can be read.
    """
    values, sums = _corrected(read, how, show)
    low, high = min(values), max(values)
    if not negative and low < 0:
        below = _(
            "reading {reading}: a play or clearance is never below zero; "
            "was the dial set to zero with the part pushed down? Read again, or swap the two depths"
        )
        raise UsageError(below.format(reading=show.text(low)))
    count = len(values)
    mean, spread, deviation, uncertainty = sum(values, _ZERO) / count, high - low, None, None
    refused = how.spread is not None and spread > how.spread
    notes = _about_taking(count, how)
    if count > 1:
        figures = " + ".join(str(show.value(each)) for each in values)
        told = _("spread = {sum}") if how.spread is None else _("spread = {sum}, at most {most}")
        sums.append(
            told.format(
                sum=f"{show.text(high)} - {show.text(low)} = {show.apart(spread, *_some(how.spread))}",
                most="" if how.spread is None else show.apart(how.spread),
            )
        )
        apart = [each - mean for each in values]
        deviation = (sum([each * each for each in apart], _ZERO) / (count - 1)).sqrt()
        uncertainty = deviation / _root(count)
        if not refused:
            sums.append(_("mean = {sum}").format(sum=f"({figures}) {show.unit} / {count} = {show.text(mean)}"))
            sums.append(f"s = {show.text(deviation, 1)}, u = s / √{count} = {show.text(uncertainty, 1)}")
    if refused:
        notes += (_refusal(values, how, show),)
    elif how.expected is not None and (turn := _lost_turn(mean - how.expected, how)):
        lost = _(
            "{mean} is {turn}, one turn of a dial, from the expected {expected}: "
            "was a turn lost? Read again and watch the small hand"
        )
        notes += (lost.format(mean=show.text(mean), turn=show.text(turn), expected=show.text(how.expected)),)
    return Taken(values, mean, spread, deviation, uncertainty, refused, tuple(sums), notes)


def readings(read: Sequence[Decimal], how: Taking = USUAL_TAKING, show: Show = USUAL_SHOW) -> Answer:
    """Return the mean, spread and uncertainty of readings, or that they are refused; errors as for `take`.

    >>> answer = readings([Decimal("1.08"), Decimal("1.10"), Decimal("1.12")])
    >>> answer.verdict, answer.values["mean"], answer.values["u"]
    ('ok', Decimal('1.10'), Decimal('0.012'))
    """
    taken = take(read, how, show, negative=True)
    return Answer("readings", "refused" if taken.refused else "ok", taken.told(show), taken.sums, taken.notes)


def judged(value: Decimal, low: Decimal, high: Decimal, resolution: Decimal) -> Verdict:
    """Return what a reading is against its limits: `ok` up to and at a limit, `borderline` where no gauge tells.

    A gauge cannot tell when the value is outside by less than it shows, or when the limit lies between two of its marks
    within half a mark of the value. Exactly at a limit nothing is to be told, wherever the limit lies.

    Args:
        value: not rounded, mm.
        low: limit, mm.
        high: limit, mm.
        resolution: the smallest step of the gauge, mm.

    >>> judged(Decimal("0.50"), Decimal("0.50"), Decimal("0.70"), Decimal("0.01"))
    'ok'
    """
    if value in (low, high):
        return "ok"
    for limit, outside in ((low, low - value), (high, value - high)):
        between_marks = bool(limit % resolution)
        if 0 < outside < resolution or (between_marks and abs(outside) < resolution / 2):
            return "borderline"
    return "ok" if low <= value <= high else "out"


def cosine(degrees: Decimal) -> Decimal:
    """Return the cosine of an angle by its series, to 26 decimals.

    Args:
        degrees: 0 to 90.

    >>> cosine(Decimal(60)).quantize(Decimal("1e-20"))
    Decimal('0.50000000000000000000')
    """
    square = (degrees * _PI / 180) ** 2
    term = total = Decimal(1)
    for k in range(1, 40, 2):
        term *= -square / (k * (k + 1))
        total += term
    return total


@cache
def _root(count: int) -> Decimal:
    return Decimal(count).sqrt()


def _corrected(read: Sequence[Decimal], how: Taking, show: Show) -> tuple[tuple[Decimal, ...], list[str]]:
    if not read:
        raise UsageError(_("no readings; allowed: at least one, better three, the part seated anew before each"))
    values, sums = tuple(read), list[str]()
    if how.angle and how.gauge != "straight":
        if not 0 <= how.angle <= _STEEPEST:
            steep = _("found a gauge at {degrees} degrees; allowed: 0 to {most}, best under 10")
            raise UsageError(steep.format(degrees=how.angle, most=_STEEPEST))
        factor = cosine(how.angle)
        mark, shown_factor = ("/", 1 / factor) if how.gauge == "point" else ("×", factor)
        for each in values:
            true = each * shown_factor
            line = f"{show.text(each)} {mark} cos {how.angle}° ({factor:.4f}) = {show.text(true)}"
            sums.append(_("true = {sum}").format(sum=line))
        values = tuple(each * shown_factor for each in values)
    if how.added:
        for each in values:
            line = f"{show.text(each)} + {show.text(how.added)} = {show.text(each + how.added)}"
            sums.append(_("with what was left out: {sum}").format(sum=line))
        values = tuple(each + how.added for each in values)
    return values, sums


def _about_taking(count: int, how: Taking) -> tuple[str, ...]:
    notes: list[str] = []
    if count < how.least:
        few = ngettext(
            "{count} reading has no spread: take {least}, the part seated anew before each",
            "{count} readings: take {least}, the part seated anew before each",
            count,
        )
        notes.append(few.format(count=count, least=how.least))
    if how.angle > _WIDE_ANGLE and how.gauge != "straight":
        lean = _("the gauge leans by {degrees}°: stay under 10°, where it is off by less than 1.5 %")
        notes.append(lean.format(degrees=how.angle))
    if how.gasket is not None:
        notes.append(_("gasket when it was read: {state}").format(state=how.gasket))
    if how.warm is not None:
        notes.append(_(_WARM) if how.warm else _("measured cold"))
    return tuple(notes)


def _refusal(values: Sequence[Decimal], how: Taking, show: Show) -> str:
    odd = max(values, key=lambda each: abs(each - sorted(values)[len(values) // 2]))
    others = [each for each in values if each != odd]
    turn = _lost_turn(odd - sum(others, _ZERO) / len(others), how) if others else None
    told = _(
        "not averaged: the readings lie {apart} apart, over {most}; "
        "seat the part again: {steps}; then {least} new readings"
    ).format(
        apart=show.apart(max(values) - min(values), *_some(how.spread)),
        most="" if how.spread is None else show.apart(how.spread),
        steps=", ".join(map(_, how.seat)),
        least=how.least,
    )
    if not turn:
        return told
    hint = _("{told}; {reading} is one turn of a dial from the others: was a turn lost?")
    return hint.format(told=told, reading=show.text(odd))


def _lost_turn(difference: Decimal, how: Taking) -> Decimal | None:
    """Return the turn of a dial that a difference is; None when it is none."""
    near = how.spread if how.spread is not None else USUAL_SPREAD
    return next((turn for turn in how.turns if abs(abs(difference) - turn) <= near), None)


def _some(limit: Decimal | None) -> tuple[Decimal, ...]:
    return () if limit is None else (limit,)
