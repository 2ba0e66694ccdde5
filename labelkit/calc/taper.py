"""Tapered bearings: preload by rolling torque, and the spacer that sets it.

Source: rolling torque = pull x radius, read while turning; a thinner spacer between the cones gives more preload; the
limits of new and used bearings differ (public manuals, read as excerpts). The line through two trials is geometry.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from decimal import Decimal

from labelkit.calc.answers import Answer, Value, places_of
from labelkit.calc.figures import (
    as_read,
    common_unit,
    digit,
    figure,
    in_unit,
    is_kind,
    more_than_nothing,
    rounded,
    told,
)
from labelkit.calc.limits import Limits, judge
from labelkit.calc.selective import Thicker
from labelkit.errors import UsageError, allowed_text
from labelkit.language import gettext as _
from labelkit.language import noop, pgettext
from labelkit.units import Quantity

_SETTLE = noop(
    "turn it some ten times first so that the rollers sit; read while it turns, never the pull that starts it"
)
_WHOLE = noop("the drag of the seal is not taken away: measure it alone first")
_MUST: Mapping[Thicker, str] = {
    "reduces": noop(
        "The thicker spacer must have given less preload; otherwise a trial is wrong: seat it and read again."
    ),
    "increases": noop(
        "The thicker spacer must have given more preload; otherwise a trial is wrong: seat it and read again."
    ),
}


def by_pull(pull: Quantity, radius: Quantity) -> tuple[Quantity, str]:
    """Return the torque of a pull on a wire round the cage or hub, and the line that tells it.

    Args:
        pull: on the wire, while it turns.
        radius: on which the wire lies.

    Raises:
        UsageError: not a force and a length, or a radius of 0 or less.

    >>> by_pull(Quantity(Decimal(12), "lbf"), Quantity(Decimal("1.75"), "in"))[1]
    '12 lbf x 1.75 in = 21.00 lbf·in = 2.37 N·m'
    """
    is_kind("pull", pull, "force")
    is_kind("radius", radius, "length")
    more_than_nothing("radius", radius.mm)
    if (pull.unit, radius.unit) == ("lbf", "in"):
        torque = Quantity(pull.value * radius.value, "lbf·in")
        return torque, f"{pull} x {radius} = {told(torque.value, 'lbf·in')} = {told(torque.base, 'N·m', places=2)}"
    torque = Quantity(pull.base * radius.mm / 1000, "N·m")
    return torque, f"{pull} x {radius} = {told(torque.value, 'N·m', places=2)}"


def rolling_torque(
    readings: Sequence[Quantity],
    limits: Limits | Mapping[str, Limits],
    *,
    state: str | None = None,
    drag: Quantity | None = None,
    spread: Quantity | None = None,
    radius: Quantity | None = None,
    resolution: Quantity | None = None,
) -> Answer:
    """Judge a preload by the torque that turns the bearings.

    Args:
        readings: of the torque, while it turns; with a radius, of the pull.
        limits: of the rolling torque; a mapping where they depend on the bearings, `{"new": ..., "used": ...}`.
        state: which of them the bearings are.
        drag: torque of the seal alone, measured before the nut is tight; taken away.
        spread: what the readings may differ by; None: by no more than the limits are apart, where both are given, since
            a mean of more says nothing. Common practice, no source.
        radius: on which the wire lies that is pulled.
        resolution: the step of the gauge, a torque, where the last digits of the readings do not say it.

    Returns:
        verdict `ask` where the limits depend on the bearings and nothing says what they are; `refused` where the
        readings lie too far apart.

    Raises:
        UsageError: no reading, figures of another kind, a drag above the whole, or a state without limits.
    """
    if not readings:
        raise UsageError(_("rolling torque: no reading; allowed: at least one, better three"))
    sums: list[str] = []
    step = resolution
    if radius is not None:
        step = resolution or by_pull(Quantity(max(digit(each) for each in readings), "N"), radius)[0]
        readings, sums = _pulled(readings, radius)
    for each in (*readings, *((drag,) if drag else ()), *((spread,) if spread else ())):
        is_kind("rolling torque", each, "torque")
    unit = common_unit(readings)
    found = [in_unit(each, unit) for each in readings]
    wanted = limits if isinstance(limits, Limits) else limits.get(state or "", Limits())
    spread = spread or _width(wanted, unit)
    apart, mean = max(found) - min(found), sum(found, Decimal(0)) / len(found)
    values: dict[str, Value] = {"unit": unit, "spread": figure(apart, unit)}
    if len(found) > 1:
        line = f"{told(max(found), unit)} - {told(min(found), unit)} = {told(apart, unit)}"
        sums.append(
            (_("spread = {sum}, at most {most}") if spread else _("spread = {sum}")).format(sum=line, most=spread)
        )
    if spread is not None and apart > in_unit(spread, unit):
        again = _("not averaged: the readings lie {apart} apart, over {most}; {settle}; three new readings")
        again = again.format(apart=told(apart, unit), most=spread, settle=_(_SETTLE))
        return Answer("preload", "refused", values, tuple(sums), (again,))
    net = _without_drag(Quantity(mean, unit), drag)
    # The mean says no more than the readings, but on which side of the limits it lies.
    own = (*found, *((drag.value,) if drag and drag.unit == unit else ()))
    places = wanted.places(net, places_of(*(figure(each, unit) for each in own)))
    whole = told(mean, unit, places=places)
    if len(found) > 1:
        line = f"({' + '.join(f'{each:f}' for each in found)}) {unit} / {len(found)} = {whole}"
        sums.append(_("mean = {sum}").format(sum=line))
    if drag is not None:
        line = f"{whole} - {drag} = {told(net.value, unit, places=places)}"
        sums.append(_("less the seal's own drag: {sum}").format(sum=line))
    values |= {"torque": figure(net.value, unit, places=places), "newton_metres": rounded(net.base, 2)}
    if not isinstance(limits, Limits):
        if state is None:
            return Answer("preload", "ask", values, tuple(sums), (_which(limits),))
        if state not in limits:
            raise UsageError(f'bearings: found "{state}"; {allowed_text(state, limits)}')
    judged = judge(net, wanted, resolution=step or _coarsest(readings), fit="preload", places=places)
    values |= {name: judged.values[name] for name in ("low", "high", "beyond") if name in judged.values}
    doubt = () if drag else (_(_WHOLE),)
    return Answer("preload", judged.verdict, values, (*sums, *judged.sums), (*judged.notes, _(_SETTLE), *doubt))


def _width(limits: Limits, unit: str) -> Quantity | None:
    """Return how far apart two limits are; None where there are not two."""
    if limits.low is None or limits.high is None:
        return None
    return Quantity(in_unit(limits.high, unit) - in_unit(limits.low, unit), unit)


def _without_drag(whole: Quantity, drag: Quantity | None) -> Quantity:
    """Return a torque less the drag of the seal, where somebody measured it."""
    if whole.base < 0:
        raise UsageError(f"rolling torque: found {told(whole.value, whole.unit)}; allowed: from 0")
    if drag is None:
        return whole
    net = Quantity(whole.value - in_unit(drag, whole.unit), whole.unit)
    if net.base < 0:
        high = _("the seal's drag {drag} is above the whole {whole}; measure both again")
        raise UsageError(high.format(drag=drag, whole=told(whole.value, whole.unit)))
    return net


def _pulled(pulls: Sequence[Quantity], radius: Quantity) -> tuple[list[Quantity], list[str]]:
    """Return the torques of some pulls on a wire, and the sums."""
    found = [by_pull(each, radius) for each in pulls]
    return [torque for torque, _ in found], [line for _, line in found]


def _which(limits: Mapping[str, Limits]) -> str:
    """Return the question what the bearings are, with the limits that depend on it."""
    names = {name: _state(name) for name in limits}
    asked = "; ".join(f"{names[name]}: {each.words()}" for name, each in limits.items())
    return _("are the bearings {states}? {limits}").format(states=_(" or ").join(names.values()), limits=asked)


def _state(name: str) -> str:
    """Return the state of bearings in words; another name than the two usual ones stays as it is."""
    usual = {"new": pgettext("of bearings", "new"), "used": pgettext("of bearings", "used")}
    return usual.get(name, name)


def _coarsest(readings: Sequence[Quantity]) -> Quantity:
    """Return the step of the gauge: what the last digit of the coarsest reading is worth."""
    return Quantity(max(digit(each) for each in readings), "N·m")


def spacer_by_play(
    fitted: Quantity,
    play: Quantity,
    preload: Quantity,
    *,
    thicker: Thicker = "reduces",
    series: Sequence[Quantity] = (),
    unit: str | None = None,
) -> Answer:
    """Tell the spacer that turns a play into a preload: it changes by both together.

    Args:
        fitted: thickness of the spacer that was in.
        play: measured with it.
        preload: how much the bearings shall be squeezed, as a length.
        thicker: what a thicker one does to the preload: `reduces` it, as a spacer between the cones does, or
            `increases` it, as a shim under one cup does.
        series: the spacers there are; the nearest is named, a tie goes to less preload.
        unit: of the values of the answer; by default that of the sizes.

    Raises:
        UsageError: figures of another kind, below 0, or a spacer that would be nothing.
    """
    unit = common_unit((fitted, play, preload, *series), unit)
    is_kind("spacer", fitted, "length")
    if play.base < 0 or preload.base < 0:
        below = _("play {play} and preload {preload} are given without a sign; allowed: from 0")
        raise UsageError(below.format(play=play, preload=preload))
    sign = 1 if thicker == "reduces" else -1
    old, change = in_unit(fitted, unit), in_unit(play, unit) + in_unit(preload, unit)
    new = more_than_nothing("new spacer", old - sign * change)
    word = "thinner" if sign > 0 else "thicker"
    thinner_by = _("change = play {play} + preload {preload} = {change} thinner")
    thicker_by = _("change = play {play} + preload {preload} = {change} thicker")
    sums = [
        (thinner_by if sign > 0 else thicker_by).format(
            play=told(in_unit(play, unit), unit), preload=told(in_unit(preload, unit), unit), change=told(change, unit)
        ),
        _("new spacer = {sum}").format(
            sum=f"{told(old, unit)} {'-' if sign > 0 else '+'} {told(change, unit)} = {told(new, unit)}"
        ),
    ]
    values: dict[str, Value] = {"wanted": figure(new, unit), "change": figure(change, unit), "way": word, "unit": unit}
    if series:
        best = min(series, key=lambda size: (abs(in_unit(size, unit) - new), -sign * in_unit(size, unit)))
        squeeze = sign * (old - in_unit(best, unit)) - in_unit(play, unit)
        values |= {"choice": (as_read(best, unit),), "predicted": figure(squeeze, unit)}
        result = _("nearest of the series: {size} -> {gives} preload")
        if squeeze < 0:
            result = _("nearest of the series: {size} -> {gives} play")
        sums.append(result.format(size=best, gives=told(abs(squeeze), unit)))
    return Answer("preload_spacer", "ok", values, tuple(sums), (_("fit it, then measure the rolling torque"),))


@dataclass(frozen=True, slots=True)
class _Line:
    """Rolling torque over the thickness of the spacer, as two trials tell it.

    Attributes:
        size: unit of thicknesses.
        unit: of torques.
        thicknesses: of the trials.
        torques: of the trials, without the seal.
    """

    size: str
    unit: str
    thicknesses: tuple[Decimal, Decimal]
    torques: tuple[Decimal, Decimal]

    @property
    def slope(self) -> Decimal:
        """Torque for one more of thickness; below zero where a thicker spacer takes preload away."""
        (thin, thick), (first, second) = self.thicknesses, self.torques
        return (second - first) / (thick - thin)

    def thickness(self, torque: Decimal) -> Decimal:
        """Return the thickness that gives a torque."""
        return self.thicknesses[0] + (torque - self.torques[0]) / self.slope

    def torque(self, spacer: Quantity) -> Quantity:
        """Return the torque that a spacer gives."""
        more = self.slope * (in_unit(spacer, self.size) - self.thicknesses[0])
        return Quantity(self.torques[0] + more, self.unit)


def _line(trials: Sequence[tuple[Quantity, Quantity]], size: str, unit: str, drag: Quantity | None) -> _Line:
    """Return the line through two trials, in a unit of thickness and one of torque.

    Raises:
        UsageError: the seal's drag is above a trial, or both trials are alike.
    """
    seal = in_unit(drag, unit) if drag else Decimal(0)
    one, two = ((in_unit(thickness, size), in_unit(torque, unit) - seal) for thickness, torque in trials)
    if one[1] < 0 or two[1] < 0:
        raise UsageError(_("the seal's drag {drag} is above a trial; measure it again").format(drag=drag))
    if one[0] == two[0] or one[1] == two[1]:
        raise UsageError(
            _("both trials have the same thickness or the same torque: they tell no line; make another trial")
        )
    return _Line(size, unit, (one[0], two[0]), (one[1], two[1]))


def must_show(thicker: Thicker) -> str:
    """Return what two trials must show where it is known which way a thicker spacer works."""
    return _(_MUST[thicker])


def two_trials(
    trials: Sequence[tuple[Quantity, Quantity]],
    wanted: Quantity,
    *,
    limits: Limits | None = None,
    thicker: Thicker | None = None,
    drag: Quantity | None = None,
    series: Sequence[Quantity] = (),
    unit: str | None = None,
) -> Answer:
    """Tell the spacer for a rolling torque from two trials: the line through both.

    Args:
        trials: two of (thickness, rolling torque).
        wanted: the rolling torque that is aimed at, without the seal.
        limits: of the rolling torque; a spacer is only chosen inside them.
        thicker: what a thicker one does to the preload; None: the trials tell.
        drag: of the seal alone; taken away from both trials.
        series: the spacers there are.
        unit: of the thickness that is answered; by default that of the trials.

    Returns:
        verdict `ok`; `none` where no spacer of the series comes out inside the limits.

    Raises:
        UsageError: not two trials, two that tell no line, or one that rises where it should fall.

    >>> mm, nm = (lambda text, unit=unit: Quantity(Decimal(text), unit) for unit in ("mm", "N·m"))
    >>> trials = [(mm("5.30"), nm("1.1")), (mm("5.25"), nm("3.4"))]
    >>> two_trials(trials, nm("3.25")).values["wanted"]
    Decimal('5.253')
    """
    if len(trials) != 2:
        number = _("{count} trials; allowed: two, each a thickness and its rolling torque")
        raise UsageError(number.format(count=len(trials)))
    (thick_1, torque_1), (thick_2, torque_2) = trials
    size = common_unit((thick_1, thick_2, *series), unit)
    unit = common_unit((torque_1, torque_2, wanted))
    is_kind("thickness", thick_1, "length")
    is_kind("rolling torque", torque_1, "torque")
    line = _line(trials, size, unit, drag)
    (t1, t2), (q1, q2) = line.thicknesses, line.torques
    aim = in_unit(wanted, unit)
    new = line.thickness(aim)
    less = _("less the seal's drag of {drag}: {first} and {second}")
    sums = [less.format(drag=drag, first=told(q1, unit), second=told(q2, unit))] if drag else []
    both = f"{told(t1, size)} -> {told(q1, unit)}, {told(t2, size)} -> {told(q2, unit)}"
    if thicker and (line.slope < 0) != (thicker == "reduces"):
        raise UsageError(f"{both}. {must_show(thicker)}")
    step = f"{told(t1, size)} {'+' if new >= t1 else '-'} {told(abs(new - t1), size, places=3)}"
    sums += [
        _("{trials}: {change} for each {size}").format(
            trials=both, change=told(abs(line.slope) / 100, unit), size=f"0.01 {size}"
        ),
        _("wanted {torque}: {sum}").format(torque=told(aim, unit), sum=f"{step} = {told(new, size, places=3)}"),
    ]
    values: dict[str, Value] = {"wanted": rounded(new, 3 if size == "mm" else 4), "unit": size, "torque_unit": unit}
    notes = [_("measure the rolling torque again with the spacer that is fitted"), *([] if drag else [_(_WHOLE)])]
    if not min(t1, t2) <= new <= max(t1, t2):
        further = _("the answer lies outside the two trials: a line drawn further is a guess, make another trial")
        notes.insert(0, further)
    if not series:
        return Answer("preload_trials", "ok", values, tuple(sums), tuple(notes))
    inside = [each for each in series if limits is None or not limits.beyond(line.torque(each).base)]
    best = min(inside or series, key=lambda each: (abs(in_unit(each, size) - new), line.torque(each).value))
    predicted, places = line.torque(best).value, places_of(aim) or 1
    values |= {"choice": (as_read(best, size),) if inside else (), "predicted_torque": rounded(predicted, places)}
    gives = told(predicted, unit, places=places)
    sums.append(_("nearest of the series: {result}").format(result=f"{best} -> {gives}"))
    if not inside and limits is not None:
        nothing = _("no spacer of the series comes out at {limits}; the nearest is {size}")
        notes.insert(0, nothing.format(limits=limits.words(), size=best))
    return Answer("preload_trials", "ok" if inside else "none", values, tuple(sums), tuple(notes))
