"""The form of a fit: which fields it has, and what was typed into them as the figures of its sum."""

from __future__ import annotations

import re
from collections.abc import Callable, Mapping
from dataclasses import dataclass, field, replace
from decimal import Decimal
from typing import Any, Final

from labelkit.bench.typed import figure, figures, in_one_unit, mean
from labelkit.calc.answers import Answer, places_of, shown
from labelkit.calc.apart import unopened
from labelkit.calc.clutchplay import PLACES
from labelkit.calc.fitsizes import expected, plate_sizes, sizes_in, thicker_by
from labelkit.calc.fitsums import work_out
from labelkit.calc.profilefit import given_of, shims
from labelkit.calc.record import FitRecord, Record
from labelkit.errors import UsageError
from labelkit.language import gettext as _
from labelkit.language import noop
from labelkit.model.part import CheckTime
from labelkit.model.profile import Fit, Series
from labelkit.model.readings import FitChosen, Reading
from labelkit.units import Quantity, parse

TIMES: Final[tuple[tuple[CheckTime, str], ...]] = (
    ("before", noop("Before the teardown")),
    ("apart", noop("Dry fit, to choose")),
    ("assembled", noop("Fitted, read again")),
)
GASKETS: Final = (
    ("none", noop("None belongs here")),
    ("pressed", noop("In, pressed")),
    ("new", noop("In, new, not pressed")),
    ("out", noop("Left out")),
)
WAVES: Final = (("free", noop("Free")), ("flat", noop("Pressed flat")), ("none", noop("There is none")))
_TRIALS: Final = 2
_DEPTHS: Final = 3


@dataclass(frozen=True, slots=True)
class Plate:
    """A kind of plate of a stack: its id, name, how many, and its thickness by the profile."""

    id: str
    name: str
    count: int
    nominal: str


@dataclass(frozen=True)
class FitForm:
    """The form of a fit with what was typed into it.

    Attributes:
        name: id of the fit.
        fit: the fit.
        at: which time of the job the reading is of.
        kind: of the sum: that of the fit, and of a stack that is together its clearance.
        said: what the profile says, by the names of `labelkit fit`.
        series: the sizes that there are of what sets it; None: the profile does not say.
        together: how many of them may lie together.
        plates: of a stack.
        measured: what was measured of the parts in this job, by the field that it belongs into.
        typed: the fields as they were typed.
        faults: what is wrong with a field, by its name.
        values: what was read.
        fitted: the pieces that were in.
        trials_read: spacers and their torques, where two were tried.
        given: everything the sum takes.
        lie: how many pieces lie together where the old ones were; 0: any number.
    """

    name: str
    fit: Fit
    at: CheckTime
    kind: str
    said: Mapping[str, Any]
    series: Series | None = None
    together: int = 1
    plates: tuple[Plate, ...] = ()
    measured: Mapping[str, str] = field(default_factory=dict)
    typed: Mapping[str, str] = field(default_factory=dict)
    faults: dict[str, str] = field(default_factory=dict)
    values: tuple[Quantity, ...] = ()
    fitted: tuple[Quantity, ...] = ()
    trials_read: tuple[tuple[Quantity, Quantity], ...] = ()
    given: dict[str, Any] = field(default_factory=dict)
    lie: int = 0

    @staticmethod
    def id(name: str) -> str:
        """Return the id of a field, which no other form of the page has."""
        return f"read-{name}"

    @property
    def by_play(self) -> bool:
        """Whether a preload is set by the play with the spacer that is in: its target is a length."""
        return self.kind == "preload" and self.at == "apart" and self.fit.target[0].kind == "length"

    @property
    def torque(self) -> bool:
        """Whether it is read as a torque."""
        return self.kind == "preload" and not self.by_play

    @property
    def unit(self) -> str:
        """The unit of bare figures."""
        typed = self.typed.get("unit", "")
        if self.torque or typed not in ("mm", "in"):
            return str(self.said["unit"])
        return typed

    @property
    def readings(self) -> int:
        """How many fields for readings there are; 0 where a depth is read instead."""
        if self.kind == "stack":
            return 0
        return max(int(self.said.get("readings", 3)), PLACES if self.kind == "clearance" else 1)

    @property
    def depths(self) -> int:
        """How many fields for a depth there are."""
        return _DEPTHS if self.kind == "stack" else 0

    @property
    def pieces(self) -> int:
        """How many fields for the pieces that were in there are."""
        chooses = self.kind in ("end_play", "clearance") and self.at != "assembled" and "series" in self.said
        if self.by_play:
            return self.lie or 1
        return self.together if chooses else 0

    @property
    def trials(self) -> int:
        """How many fields for trials with a spacer there are."""
        return _TRIALS if self.torque and self.at == "apart" else 0

    @property
    def limits(self) -> bool:
        """Whether what is read has limits: what bearings are squeezed by shows as a torque, and has none as such."""
        return not self.torque or self.fit.target[0].kind != "length"

    @property
    def wave(self) -> bool:
        """Whether it must be said how the wave plate was."""
        return self.kind in ("clearance", "stack") and self.said.get("limit_state") != "none"

    @property
    def limit(self) -> bool:
        """Whether it must be said how the limit means the wave plate: the profile does not tell."""
        return self.wave and "limit_state" not in self.said

    @property
    def state(self) -> str:
        """The state that the profile wants it read in, to be ticked; empty where none, or where a wave plate asks."""
        return "" if self.wave else self.fit.state or ""

    @property
    def unanswered(self) -> dict[str, str]:
        """What was asked of the reading besides its figures and is not answered, by the field."""
        asked = {
            "seated": bool(self.fit.seat),
            "gasket": self.kind == "end_play",
            "cold": self.kind != "stack" and not self.torque,
        }
        found = {
            name: _("not answered yet; it is recorded so")
            for name, there in asked.items()
            if there and not self.typed.get(name)
        }
        if self.state and not self.typed.get("as_wanted"):
            told = _('"Read with: {state}": not answered yet, and without it nothing is recorded')
            found[""] = told.format(state=self.state)  # the tick is called by the state
        return found

    @property
    def was_sent(self) -> bool:
        """Whether somebody asked for the sum."""
        return "sum" in self.typed

    def answer(self) -> Answer | None:
        """Return the answer; None where nothing was asked for, or something that was typed is wrong."""
        if not self.was_sent or self.faults:
            return None
        try:
            return work_out(self.kind, self.given)
        except UsageError as error:
            self.faults[""] = _plain(str(error))
            return None


def fit_form(record: Record, name: str, options: Mapping[str, str | None], typed: Mapping[str, str]) -> FitForm:
    """Return the form of a fit with what was typed into it.

    Args:
        record: of the job.
        name: id of the fit.
        options: of the job.
        typed: field to text; empty before anything was.

    Raises:
        UsageError: the profile does not say enough for this fit.
    """
    fit, seen = record.profile.fits[name], record.fits[name]
    asked = typed.get("at", "")
    at = next((time for time, _ in TIMES if time == asked), _usual_time(record, name))
    kind = "clearance" if fit.kind == "stack" and at != "apart" else fit.kind
    chosen = seen.chosen.act if seen.chosen else None
    sizes = [Quantity(size, chosen.unit) for size in chosen.sizes] if isinstance(chosen, FitChosen) else []
    said = given_of(record.profile, fit, dict(options), sizes)
    if kind == "preload" and at != "apart" and fit.target[0].kind == "length":
        told = {name: value for name, value in said.items() if name in ("readings", "seat")}
        said = told | {"unit": record.profile.unit.torques}
    measured: dict[str, str] = {}
    if kind == "stack":
        # The plates as they go in, new ones as they measured when they came.
        measured = {f"plate-{part}": str(size) for part, size in plate_sizes(record, fit).items()}
    elif at == "apart" and (was_in := sizes_in(record, name)):
        measured = {"fitted1": ", ".join(map(str, was_in))}
    if "sum" not in typed:
        typed = {field: text for field, text in measured.items() if "," not in text} | dict(typed)
    setters = record.teardown.of(fit.set_by) if fit.set_by else ()
    series = record.profile.series.get(setters[0].part.series or "") if setters else None
    together = shims(setters[0].part, series) if setters else 1
    lie = setters[0].part.qty if setters and setters[0].part.qty != "set" else 0
    plates = tuple(_plates(record, said)) if kind == "stack" else ()
    form = FitForm(name, fit, at, kind, said, series, together, plates, measured, typed, lie=lie)
    if form.was_sent:
        form = _read(form, expected(record, name), seen)
        form.given["renewed"] = f"{thicker_by(record, fit)} mm"
    return form


def _usual_time(record: Record, name: str) -> CheckTime:
    if record.fits[name].chosen:
        return "assembled"
    if unopened(record, name):
        return "before"
    parts = [record.at(each.ordinal) for part in record.profile.fits[name].parts for each in record.teardown.of(part)]
    is_in = bool(parts) and all(place.stage in ("installed", "verified") for place in parts)
    return "assembled" if is_in else "apart"


def _plates(record: Record, said: Mapping[str, Any]) -> list[Plate]:
    found = []
    for text in said.get("nominal", ()):
        name, _, rest = text.partition("=")
        count, _, thickness = rest.partition("x")
        found.append(Plate(name, record.profile.names.get(name, name), int(count), thickness))
    return found


def _read(form: FitForm, predicted: Quantity | None, seen: FitRecord) -> FitForm:
    """Return a form with its fields read into what the sum takes."""
    faults: dict[str, str] = {}
    reads = _Fields(form.typed, faults)
    given: dict[str, Any] = {**form.said, "unit": form.unit}
    values: tuple[Quantity, ...] = ()
    fitted: tuple[Quantity, ...] = ()
    if form.kind == "stack":
        by_profile = tuple(parse(text, "length", form.unit) for text in form.said.get("depth", ()))
        values = reads.numbered("depth", form.depths, form.unit) or by_profile
        given["depth"] = [str(each) for each in values]
        given["depth_by_profile"] = values is by_profile
        if not values:
            faults.setdefault("depth1", _("type the depth; the profile does not give it"))
        given["plate"] = [f"{p.id}={each}" for p in form.plates for each in reads.mean(f"plate-{p.id}", form.unit)]
    else:
        values = reads.numbered("reading", form.readings, form.unit)
        given["reading"] = [str(each) for each in values]
    if form.pieces:
        fitted = reads.numbered("fitted", form.pieces, form.unit)
        given["fitted"] = [str(each) for each in fitted]
        if fitted and 1 < form.lie != len(fitted):
            told = _("{count} pieces lie there, read: {read}; the sum takes one figure for each")
            faults.setdefault(f"fitted{len(fitted) + 1}", told.format(count=form.lie, read=len(fitted)))
    if form.by_play:
        unit, sizes = in_one_unit(fitted, form.unit)
        given["play"] = given.pop("reading")
        given["fitted"] = str(Quantity(sum(sizes, Decimal(0)), unit)) if fitted else None
        if not fitted:
            faults.setdefault("fitted1", _("how thick is the spacer that is in?"))
    trials: tuple[tuple[Quantity, Quantity], ...] = ()
    if form.torque:
        trials = _trials(form, reads)
        given["trial"] = [f"{size}={torque}" for size, torque in trials]
        given["drag"] = next((str(each) for each in reads.one("drag", form.unit)), None)
    if trials and values:
        faults.setdefault("reading1", _("either readings of the spacer that is in, or two trials"))
    elif not values and not trials:
        faults.setdefault("reading1", _("type what was read"))
    values = values or tuple(torque for _, torque in trials)
    given |= _circumstances(form, reads)
    if form.at != "apart":
        # Together it is judged as it is; what was in is kept with the reading.
        for name in ("fitted", "series"):
            given.pop(name, None)
    if form.at == "assembled" and not form.torque and predicted is not None:
        given["predicted"] = str(predicted)
    found = seen.before.act if seen.before else None
    if form.at == "apart" and form.kind in ("end_play", "clearance") and isinstance(found, Reading):
        given["before"] = f"{shown(found.value, places_of(*found.values))} {found.unit}"
    return replace(form, faults=faults, values=values, fitted=fitted, trials_read=trials, given=given)


def _trials(form: FitForm, reads: _Fields) -> tuple[tuple[Quantity, Quantity], ...]:
    """Return the trials that were typed: spacer and torque."""
    found = []
    for number in range(1, form.trials + 1):
        size, torque = reads.one(f"size{number}", "mm"), reads.one(f"torque{number}", form.unit)
        if bool(size) != bool(torque):
            missing = f"size{number}" if torque else f"torque{number}"
            reads.faults.setdefault(missing, _("a trial is a spacer and its torque"))
        found += list(zip(size, torque, strict=False))
    if len(found) == 1:
        reads.faults.setdefault("size2", _("two trials with different spacers are needed"))
    return tuple(found)


def _circumstances(form: FitForm, reads: _Fields) -> dict[str, Any]:
    """Return how it was read: gasket, cold or warm, the state of the wave plate, what was left out."""
    typed = form.typed
    found: dict[str, Any] = {}
    if form.kind == "end_play":
        if gasket := dict(GASKETS).get(typed.get("gasket", "")):
            words = _(gasket)
            found["gasket"] = words[:1].lower() + words[1:]
        if added := reads.one("added", form.unit):
            found["added"] = str(added[0])
        if typed.get("gasket") == "out" and not added:
            reads.faults.setdefault("added", _("how thick is the gasket that was left out, when it is pressed?"))
        if typed.get("gasket") in ("none", "pressed", "new") and added:
            reads.faults.setdefault("added", _("only what was left out is added to the readings"))
    if form.kind in ("end_play", "clearance") and typed.get("cold") in ("yes", "no"):
        found["warm"] = typed["cold"] == "no"
    if form.wave:
        found["state"] = typed.get("state") if typed.get("state") in dict(WAVES) else None
    if form.limit:
        found["limit_state"] = typed.get("limit") if typed.get("limit") in dict(WAVES) else None
    return found


@dataclass(frozen=True)
class _Fields:
    """Reads figures from fields, and notes what is wrong with them."""

    typed: Mapping[str, str]
    faults: dict[str, str]

    def one(self, name: str, unit: str) -> tuple[Quantity, ...]:
        """Return the figure of a field; none where it is empty or wrong."""
        return self._read(name, lambda text: (figure(text, unit),))

    def mean(self, name: str, unit: str) -> tuple[Quantity, ...]:
        """Return the mean of the figures of a field; none where it is empty or wrong."""
        return self._read(name, lambda text: (mean(figures(text, unit)),))

    def _read(self, name: str, read: Callable[[str], tuple[Quantity, ...]]) -> tuple[Quantity, ...]:
        text = self.typed.get(name, "").strip()
        if not text:
            return ()
        try:
            return read(text)
        except UsageError as error:
            self.faults[name] = str(error)
            return ()

    def numbered(self, name: str, most: int, unit: str) -> tuple[Quantity, ...]:
        """Return the figures of the fields `name1` to `name<most>`."""

        def some(text: str) -> tuple[Quantity, ...]:
            return figures(text, unit)

        return tuple(each for number in range(1, most + 1) for each in self._read(f"{name}{number}", some))


# What the options of the command are called on the page.
_OPTIONS: Final = {
    "reading": noop("reading"),
    "fitted": noop("size that was in"),
    "series": noop("series"),
    "depth": noop("depth"),
    "plate": noop("plate"),
    "target": noop("target"),
    "aim": noop("aim"),
    "drag": noop("drag"),
    "trial": noop("trial"),
    "chain": noop("chain"),
}


def _plain(message: str) -> str:
    """Return a message of the command in the words of the page: `--reading "x"` is the reading x."""
    return re.sub(r"--([a-z-]+)", lambda found: _(_OPTIONS.get(found[1], found[1].replace("-", " "))), message)
