"""Is a reading inside its limits? Compared unrounded; what the gauge cannot tell is called borderline.

Inside, and exactly at a limit, is `ok`; what the gauge cannot tell, as `readings.judged` says it, is `borderline`; else
it is `out`. Where no limit is given nothing is judged.

Source: limits are never made looser by rounding, ASME A112.18.1 annex A and public advice on dual dimensions (read as
excerpts); that one step of the gauge decides nothing is common practice, no source.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from decimal import Decimal
from typing import Final

from labelkit.calc.answers import Answer, Value, Verdict, inward, shown, worst
from labelkit.calc.figures import as_read, common_unit, digit, figure, in_unit, more_than_nothing, same_kind, told
from labelkit.calc.readings import judged
from labelkit.errors import UsageError, allowed_text
from labelkit.language import gettext as _
from labelkit.language import pgettext
from labelkit.units import FACTORS, Quantity, units_of

_FAR: Final = 15
# So many more decimals than were read tell on which side of a limit a mean lies, at most.
_FINER: Final = 4


@dataclass(frozen=True, slots=True)
class Limits:
    """The limits of a reading, each in the unit it was given in; None where there is none.

    Raises:
        UsageError: the low limit is above the high one, or they measure different things.
    """

    low: Quantity | None = None
    high: Quantity | None = None

    def __post_init__(self) -> None:
        if self.low and self.high:
            same_kind(self.low.unit, self.high)
            if self.low.base > self.high.base:
                raise UsageError(
                    f"limits: the low one {self.low} is above the high one {self.high}; write the low one first"
                )

    @property
    def given(self) -> bool:
        """Whether there is any limit."""
        return bool(self.low or self.high)

    def at(self, where: str) -> Quantity:
        """Return the low or high limit, or their middle.

        Raises:
            UsageError: another word, or a limit that is not given.

        >>> str(Limits(Quantity(Decimal("2.5"), "N·m"), Quantity(Decimal("4.0"), "N·m")).at("middle"))
        '3.25 N·m'
        """
        if where not in ("low", "middle", "high"):
            raise UsageError(f'aim: found "{where}"; {allowed_text(where, ("low", "middle", "high"))}, or a figure')
        if self.low is None or self.high is None:
            raise UsageError(f"aim: the {where} of what? Both limits are needed for it, or a figure")
        if where == "middle":
            unit = common_unit((self.low, self.high))
            return Quantity((in_unit(self.low, unit) + in_unit(self.high, unit)) / 2, unit)
        return self.low if where == "low" else self.high

    def beyond(self, value: Decimal) -> Decimal:
        """Return how far a value lies outside, in the base unit; 0 inside and at a limit."""
        under = self.low.base - value if self.low else Decimal(0)
        over = value - self.high.base if self.high else Decimal(0)
        return max(under, over, Decimal(0))

    def allow(self, value: Decimal, unit: str) -> bool:
        """Say whether a value is inside, both ends allowed, compared unrounded.

        A value in a unit that the limits cannot be compared with is outside of none: a person judges it.

        Args:
            value: in its unit, which may be none that is known.
            unit: its unit.
        """
        kinds = {limit.kind for limit in (self.low, self.high) if limit}
        if unit not in FACTORS or not kinds <= {FACTORS[unit][0]}:
            return True
        return not self.beyond(Quantity(value, unit).base)

    def places(self, value: Quantity, least: int) -> int:
        """Return how many decimals it takes to see on which side of the limits a value lies, `least` at least.

        >>> limits = Limits(high=Quantity(Decimal("4.0"), "N·m"))
        >>> [limits.places(Quantity(Decimal(torque), "N·m"), 1) for torque in ("4.367", "4.033", "4.0")]
        [1, 2, 1]
        """
        if value.unit not in FACTORS:
            return least
        of_its_kind = [each.base for each in (self.low, self.high) if each and each.kind == value.kind]

        def sides(base: Decimal) -> list[int]:
            return [(base > limit) - (base < limit) for limit in of_its_kind]

        tries = range(least, least + _FINER)
        apart = (n for n in tries if sides(Quantity(shown(value.value, n), value.unit).base) == sides(value.base))
        return next(apart, least + _FINER)

    def verdict(self, value: Decimal, step: Decimal) -> Verdict:
        """Judge a value.

        Args:
            value: in the base unit of the limits' kind, unrounded.
            step: the least difference that the gauge tells, in the same unit.
        """
        if not self.given:
            return "no_limit"
        far = step.scaleb(_FAR)  # a limit that is not there: at a mark of the gauge that nothing reaches
        low, high = self.low.base if self.low else -far, self.high.base if self.high else far
        return judged(value, low, high, step)

    def words(self) -> str:
        """Return the limits as they were given.

        >>> Limits(high=Quantity(Decimal("0.022"), "in")).words()
        'at most 0.022 in'
        """
        if self.low and self.high:
            return _("{low} to {high}").format(low=self.low, high=self.high)
        if self.low:
            return _("at least {size}").format(size=self.low)
        return _("at most {size}").format(size=self.high) if self.high else _("no limit given")

    def shown_in(self, unit: str, step: Decimal) -> tuple[Decimal | None, Decimal | None]:
        """Return the limits in a unit as they are shown: as given where it is theirs, else rounded inward.

        Args:
            unit: of the reading.
            step: of its gauge, in the base unit; the limits get the decimals of it.
        """
        places = max(0, -(step / FACTORS[unit][1]).adjusted())
        low, high = (None if each is None else in_unit(each, unit) for each in (self.low, self.high))
        rounded = inward(low, high, places)
        pairs = zip((self.low, self.high), rounded, strict=True)
        low, high = (given.value if given and given.unit == unit else value for given, value in pairs)
        return low, high


def judge(
    reading: Quantity,
    limits: Limits,
    *,
    resolution: Quantity | None = None,
    unit: str | None = None,
    fit: str = "limit",
    places: int | None = None,
) -> Answer:
    """Judge one reading.

    Args:
        reading: as typed; its last digit counts as the step of the gauge.
        limits: in their own units.
        resolution: the step of the gauge, where the last digit does not say it.
        unit: of the values of the answer; by default that of the reading.
        fit: the name of the answer.
        places: decimals of the sum; None: as few as its figures have.

    Raises:
        UsageError: the limits or the resolution measure something else than the reading.

    >>> judge(Quantity(Decimal("0.56"), "mm"), Limits(high=Quantity(Decimal("0.022"), "in"))).verdict
    'borderline'
    """
    same_kind(reading.unit, limits.low, limits.high, resolution)
    step = more_than_nothing("step of the gauge", resolution.base) if resolution else digit(reading)
    verdict = limits.verdict(reading.base, step)
    unit = unit or reading.unit
    low, high = limits.shown_in(unit, step)
    values: dict[str, Value] = {"reading": as_read(reading, unit), "unit": unit, "low": low, "high": high}
    sums = [_("limit: {limits}").format(limits=limits.words())]
    if not limits.given:
        shown = _("reading: {reading}").format(reading=reading)
        nothing = _("no limit given: the reading is shown, nothing is judged")
        return Answer(fit, verdict, values, (shown, *sums), (nothing,))
    sums += _distances(reading, limits, places)
    values["beyond"] = figure(limits.beyond(reading.base) / FACTORS[unit][1], unit)
    said = (_borderline(reading, limits, step),) if verdict == "borderline" else ()
    return Answer(fit, verdict, values, tuple(sums), said)


def _distances(reading: Quantity, limits: Limits, places: int | None) -> list[str]:
    """Return the differences to the limits, in the limit's own unit where the reading has it too."""
    lines = []
    for limit, upper in ((limits.low, False), (limits.high, True)):
        if limit is None:
            continue
        unit = common_unit((reading, limit))
        one, two = in_unit(reading, unit), in_unit(limit, unit)
        if limit.unit != reading.unit:
            other = told(in_unit(reading, limit.unit), limit.unit)
            lines.append(f"{reading} = {other}; {limit} = {told(two, unit)}")
        more, less = (one, two) if one >= two else (two, one)
        if one == two:
            way = _("{sum} = 0: exactly at the limit")
        elif upper:
            way = _("{sum} above the high limit, OUTSIDE") if one > two else _("{sum} below the high limit")
        else:
            way = _("{sum} above the low limit") if one > two else _("{sum} below the low limit, OUTSIDE")
        line = f"{told(more, unit, places=places)} - {told(less, unit, places=places)}"
        lines.append(way.format(sum=line if one == two else f"{line} = {told(more - less, unit, places=places)}"))
    return lines


def _borderline(reading: Quantity, limits: Limits, step: Decimal) -> str:
    unit = units_of(reading.kind)[0]
    nearest = min(abs(reading.base - each.base) for each in (limits.low, limits.high) if each)
    foreign = [each.unit for each in (limits.low, limits.high) if each and each.unit != reading.unit]
    if foreign:
        say = _(
            "the difference of {far} is less than the gauge tells ({step}): read it in {unit}, or take three readings"
        )
    else:
        say = _(
            "the difference of {far} is less than the gauge tells ({step}): "
            "read it with a finer gauge, or take three readings"
        )
    other = _("inches") if foreign[:1] == ["in"] else "".join(foreign[:1])
    return say.format(far=told(nearest, unit), step=told(step, unit), unit=other)


def judge_each(
    readings: Sequence[Quantity],
    limits: Limits,
    *,
    wanted: int | None = None,
    places: str | None = None,
    apiece: int | None = 1,
    resolution: Quantity | None = None,
    unit: str | None = None,
) -> Answer:
    """Judge the same thing at several places, as the side play of each planet; one that is out condemns the whole.

    Args:
        readings: in the order of the places, from 1; all of them are kept.
        limits: of each.
        wanted: how many places there are; fewer readings are not judged.
        places: what a place is called; None: a place.
        apiece: how many of them each of several pieces has; their readings follow one another. None: all are of one.
        resolution: the step of the gauge, where the last digits do not say it.
        unit: of the values of the answer; by default that of the readings.

    Raises:
        UsageError: no reading, more readings than places, or of another kind.
    """
    places = places or pgettext("where it is read", "place")
    if not readings:
        raise UsageError(_("no reading given; allowed: one for each {place}").format(place=places))
    if wanted is not None and len(readings) > wanted:
        over = _("{count} readings for {wanted} places; allowed: one for each {place}")
        raise UsageError(over.format(count=len(readings), wanted=wanted, place=places))
    unit = common_unit(readings, unit)
    answers = [judge(each, limits, resolution=resolution) for each in readings]
    values: dict[str, Value] = {
        "unit": unit,
        "min": min(as_read(each, unit) for each in readings),
        "max": max(as_read(each, unit) for each in readings),
        "readings": tuple(as_read(each, unit) for each in readings),
        "out": tuple(k for k, each in enumerate(answers, 1) if each.verdict == "out"),
        "borderline": tuple(k for k, each in enumerate(answers, 1) if each.verdict == "borderline"),
    }
    sums = [_("limit: {limits}").format(limits=limits.words())]
    names = [_place(places, k, apiece) for k in range(len(readings))]
    sums += [f"{names[k]}: {each}{_word(answers[k].verdict)}" for k, each in enumerate(readings)]
    verdict = worst(*(answer.verdict for answer in answers))
    notes: list[str] = []
    if wanted is not None and len(readings) < wanted and verdict != "out":
        verdict = "ask"
        few = _("{count} of {wanted} read: all {wanted} are needed")
        notes.append(few.format(count=len(readings), wanted=wanted))
    if verdict == "out" and apiece and max(len(readings), wanted or 1) > 1:
        out = _("one {place} out condemns the whole, unless its parts may be renewed singly")
        notes.append(out.format(place=places))
    notes += [f"{names[k]}: {answer.notes[0]}" for k, answer in enumerate(answers) if answer.verdict == "borderline"]
    return Answer("limit_each", verdict, values, tuple(sums), tuple(notes))


def _place(places: str, index: int, apiece: int | None) -> str:
    if apiece in (None, 1):
        return f"{places} {index + 1}"
    piece, place = divmod(index, apiece)
    return _("piece {number}").format(number=piece + 1) + f", {places} {place + 1}"


def _word(verdict: Verdict) -> str:
    words = {"ok": _("ok"), "borderline": _("borderline"), "out": pgettext("of limits", "OUT")}
    return f" {words[verdict]}" if verdict in words else ""


def backlash(
    lever_reading: Quantity,
    pitch_radius: Quantity,
    lever_radius: Quantity,
    limits: Limits,
    *,
    resolution: Quantity | None = None,
    unit: str | None = None,
) -> Answer:
    """Judge the play between teeth by a dial on a lever: reading x pitch radius / lever radius.

    Args:
        lever_reading: of the dial.
        pitch_radius: half the pitch diameter of the gear.
        lever_radius: from the axis to the dial.
        limits: of the play at the pitch circle.
        resolution: the step of the dial, where the last digit does not say it.
        unit: of the values of the answer; by default that of the reading.

    Raises:
        UsageError: not lengths, or a radius of 0 or less.

    Source: similar triangles; common practice, no source.

    >>> mm = lambda text: Quantity(Decimal(text), "mm")
    >>> backlash(mm("0.60"), mm("40"), mm("80"), Limits(high=mm("0.38"))).values["reading"]
    Decimal('0.300')
    """
    same_kind("mm", lever_reading, pitch_radius, lever_radius, resolution)
    share = more_than_nothing("pitch radius", pitch_radius.mm) / more_than_nothing("lever radius", lever_radius.mm)
    play = Quantity(lever_reading.value * share, lever_reading.unit)
    step = (resolution.base if resolution else digit(lever_reading)) * share
    answer = judge(play, limits, resolution=Quantity(step, "mm"), unit=unit, fit="backlash")
    line = f"backlash = {lever_reading} x {pitch_radius} / {lever_radius} = {told(play.value, play.unit)}"
    return Answer("backlash", answer.verdict, answer.values, (line, *answer.sums), answer.notes)
