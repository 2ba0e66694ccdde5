"""A preload of tapered bearings as it was typed, by the names of the options of `labelkit fit preload`."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace
from decimal import Decimal
from typing import Any, Final, cast

from labelkit import units
from labelkit.calc import taper
from labelkit.calc.answers import Answer
from labelkit.calc.limits import Limits
from labelkit.calc.readings import SEATING, USUAL_SPREAD, Taking, take
from labelkit.calc.selective import Thicker, graded
from labelkit.calc.showing import Show
from labelkit.calc.typed import band, parts, quantity, several
from labelkit.errors import UsageError
from labelkit.language import gettext as _
from labelkit.units import Quantity

_WAYS = "either --reading (rolling torque), or --trial twice (two trials), or --fitted with --play (spacer by play)"
# What it is where nobody says anything.
USUAL: Final[Mapping[str, Any]] = {
    **dict.fromkeys(("reading", "trial"), ()),
    **dict.fromkeys(("radius", "drag", "spread", "target", "new", "used", "bearings", "series", "fitted", "play")),
    "squeeze": None,
    "aim": "middle",
    "thicker": None,
    "unit": "N·m",
    "lengths": "mm",
}


def preload(given: Mapping[str, Any]) -> Answer:
    """Return what the rolling torque of tapered bearings comes to, or the spacer that sets it.

    Raises:
        UsageError: something is missing or is not what it should be.
    """
    typed = _Typed({**USUAL, **given})
    ways = [name for name in ("reading", "trial", "fitted") if typed.given[name]]
    if len(ways) != 1:
        raise UsageError(f"preload: {_WAYS}")
    return {"reading": _torque, "trial": _trials, "fitted": _spacer}[ways[0]](typed)


class _Typed:
    """The figures as typed, read when they are asked for."""

    def __init__(self, given: dict[str, Any]) -> None:
        self.given = given
        try:
            unit = units.unit(given["unit"], None)
        except units.UnitError as error:
            raise UsageError(f"--unit: {error}") from error
        as_length = units.FACTORS[unit][0] == "length"
        self.torque = "N·m" if as_length else unit
        self.length = unit if as_length else given["lengths"]
        self.kind: units.Kind = "length" if as_length else "torque"

    def bare(self, kind: units.Kind) -> str:
        """Return the unit of a bare number."""
        return {"length": self.length, "force": "N"}.get(kind, self.torque)

    def one(self, name: str, kind: units.Kind) -> Quantity | None:
        """Return what was typed for an option; None where nothing was."""
        text = self.given[name]
        return quantity(f"--{name}", text, kind, self.bare(kind)) if text else None

    def limits(self, name: str) -> Limits:
        """Return the limits that were typed for an option; none where nothing was."""
        text = self.given[name]
        return Limits(*band(f"--{name}", text, self.kind, self.bare(self.kind))) if text else Limits()

    def aim(self) -> Quantity:
        """Return what is aimed at."""
        where = self.given["aim"]
        if where in ("low", "middle", "high"):
            if not self.given["target"]:
                raise UsageError("which preload is wanted? --target LOW:HIGH, or --aim with a figure")
            return self.limits("target").at(where)
        return quantity("--aim", where, self.kind, self.bare(self.kind))

    def series(self) -> tuple[Quantity, ...]:
        """Return the spacers there are; empty where nothing was said."""
        text = self.given["series"]
        if not text:
            return ()
        if ":" not in text:
            return parts("--series", text, "length", self.length)
        ends = [each.mm for each in parts("--series", text, "length", self.length, mark=":")]
        if len(ends) != 3:
            raise UsageError(f'--series "{text}": allowed: FROM:TO:STEP, as 5.20:5.40:0.05, or a list with commas')
        first, last, step = ends
        return tuple(Quantity(size, "mm") for size in graded(first, last, step))


def _torque(typed: _Typed) -> Answer:
    given = typed.given
    kind: units.Kind = "force" if given["radius"] else "torque"
    readings = [each for text in given["reading"] for each in several("--reading", text, kind, typed.bare(kind))]
    by_state = {name: typed.limits(name) for name in ("new", "used") if given[name]}
    return taper.rolling_torque(
        readings,
        by_state or typed.limits("target"),
        state=given["bearings"] if by_state else None,
        drag=typed.one("drag", "torque"),
        spread=typed.one("spread", "torque"),
        radius=typed.one("radius", "length"),
    )


def _trials(typed: _Typed) -> Answer:
    trials = [_trial(text, typed) for text in typed.given["trial"]]
    return taper.two_trials(
        trials,
        typed.aim(),
        limits=typed.limits("target"),
        thicker=typed.given["thicker"],
        drag=typed.one("drag", "torque"),
        series=typed.series(),
        unit=typed.length,
    )


def _trial(text: str, typed: _Typed) -> tuple[Quantity, Quantity]:
    size, mark, torque = text.partition("=")
    if not mark:
        raise UsageError(f'--trial "{text}": allowed: SIZE=TORQUE, as 5.30=1.1')
    return quantity("--trial", size, "length", typed.length), quantity("--trial", torque, "torque", typed.torque)


def _spacer(typed: _Typed) -> Answer:
    given = typed.given
    fitted, squeeze = typed.one("fitted", "length"), typed.one("squeeze", "length")
    if squeeze is None and typed.kind == "length":
        squeeze = typed.aim()
    texts = given["play"] or ()
    read = [
        each
        for text in ((texts,) if isinstance(texts, str) else texts)
        for each in several("--play", text, "length", typed.length)
    ]
    if fitted is None or not read or squeeze is None:
        raise UsageError("preload by play: --fitted, --play and --squeeze go together, each a length")
    play, sums, notes = read[0], tuple[str, ...](), tuple[str, ...]()
    if len(read) > 1:
        show = Show.of("in" if typed.length == "in" else "mm", read)
        taken = take([each.mm for each in read], _taking(typed), show)
        sums, notes = taken.sums, taken.notes
        if taken.refused:
            return Answer("preload_spacer", "refused", {"unit": typed.length}, sums, notes)
        mean = taken.mean / units.FACTORS[show.unit][1]
        finer = round(mean, show.places) != mean
        play = Quantity(round(mean, show.places + finer), show.unit)
    limits = typed.limits("target") if typed.kind == "length" else Limits()
    series, thicker = typed.series(), cast(Thicker, given["thicker"] or "reduces")
    inside = [each for each in series if not limits.beyond(_squeezed(fitted, each, play, thicker))]
    answer = taper.spacer_by_play(fitted, play, squeeze, thicker=thicker, series=inside or series, unit=typed.length)
    if series and not inside:
        nothing = _("no spacer of the series comes out at {limits}; the nearest is {size}")
        size = Quantity(answer.values["choice"][0], typed.length)  # type: ignore[index, arg-type]
        none = (nothing.format(limits=limits.words(), size=size),)
        answer = replace(answer, verdict="none", values={**answer.values, "choice": ()}, notes=none)
    return replace(answer, sums=(*sums, *answer.sums), notes=(*notes, *answer.notes))


def _taking(typed: _Typed) -> Taking:
    """Return how the readings of a play are taken: as the profile says, where it does."""
    spread = typed.one("spread", "length") if typed.kind == "length" else None
    seat = tuple(typed.given.get("seat", ())) or SEATING
    return Taking(spread=USUAL_SPREAD if spread is None else spread.mm, seat=seat)


def _squeezed(fitted: Quantity, size: Quantity, play: Quantity, thicker: Thicker) -> Decimal:
    """Return how much the bearings are squeezed with another spacer, mm; below 0 there is still play."""
    change = fitted.mm - size.mm
    return (change if thicker == "reduces" else -change) - play.mm
