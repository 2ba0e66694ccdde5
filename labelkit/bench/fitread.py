"""What was typed into the form of a fit, read into the figures of its sum."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass, replace
from decimal import Decimal
from typing import Any

from labelkit.bench.fitform import GASKETS, TIMES, WAVES, FitForm, Plate
from labelkit.bench.typed import figure, figures, in_one_unit, mean
from labelkit.calc.apart import unopened
from labelkit.calc.fitpoints import to_choose_again
from labelkit.calc.fitrecord import FitRecord
from labelkit.calc.fitsizes import expected, plate_sizes, sizes_in, thicker_by
from labelkit.calc.limits import Limits
from labelkit.calc.profilefit import given_of, shims
from labelkit.calc.record import Record
from labelkit.calc.verdicts import value_of
from labelkit.errors import UsageError
from labelkit.language import gettext as _
from labelkit.model.part import CheckTime
from labelkit.model.readings import FitChosen, Reading
from labelkit.units import Quantity, parse


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
    setters = record.teardown.of(fit.set_by) if fit.set_by else ()
    series = record.profile.series.get(setters[0].part.series or "") if setters else None
    together = shims(setters[0].part, series) if setters else 1
    measured: dict[str, str] = {}
    if kind == "stack":
        # The plates as they go in, new ones as they measured when they came.
        measured = {f"plate-{part}": str(size) for part, size in plate_sizes(record, fit).items()}
    elif at == "apart" and len(was_in := sizes_in(record, name)) <= together:
        measured = {f"fitted{number}": str(size) for number, size in enumerate(was_in, 1)}
    if "sum" not in typed:
        typed = measured | dict(typed)
    lie = setters[0].part.qty if setters and setters[0].part.qty != "set" else 0
    plates = tuple(_plates(record, said)) if kind == "stack" else ()
    form = FitForm(name, fit, at, kind, said, series, together, lie, plates, measured, typed)
    if form.was_sent:
        form = _read(form, expected(record, name), seen)
        form.given["renewed"] = f"{thicker_by(record, fit)} mm"
    return form


def _usual_time(record: Record, name: str) -> CheckTime:
    if to_choose_again(record, name):
        return "apart"
    if record.fits[name].chosen:
        return "assembled"
    if unopened(record, name):
        return "before"
    parts = record.of(*record.profile.fits[name].parts)
    is_in = bool(parts) and all(place.is_in for place in parts)
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
    values, fitted = _values(form, reads, given), _fitted(form, reads, given)
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
        given["before"] = f"{value_of(found, Limits())} {found.unit}"
    return replace(form, faults=faults, values=values, fitted=fitted, trials_read=trials, given=given)


def _values(form: FitForm, reads: _Fields, given: dict[str, Any]) -> tuple[Quantity, ...]:
    """Return what was read, the depths of a stack or the readings, and put it into what the sum takes."""
    if form.kind != "stack":
        values = reads.numbered("reading", form.readings, form.unit)
        given["reading"] = [str(each) for each in values]
        return values
    by_profile = tuple(parse(text, "length", form.unit) for text in form.said.get("depth", ()))
    values = reads.numbered("depth", form.depths, form.unit) or by_profile
    given["depth"] = [str(each) for each in values]
    given["depth_by_profile"] = values is by_profile
    if not values:
        reads.faults.setdefault("depth1", _("type the depth; the profile does not give it"))
    given["plate"] = [f"{p.id}={each}" for p in form.plates for each in reads.mean(f"plate-{p.id}", form.unit)]
    return values


def _fitted(form: FitForm, reads: _Fields, given: dict[str, Any]) -> tuple[Quantity, ...]:
    """Return the pieces that were in, and put them into what the sum takes."""
    if not form.pieces:
        return ()
    fitted = reads.numbered("fitted", form.pieces, form.unit)
    given["fitted"] = [str(each) for each in fitted]
    if fitted and 1 < form.lie != len(fitted):
        told = _("{count} pieces lie there, read: {read}; the sum takes one figure for each")
        reads.faults.setdefault(f"fitted{len(fitted) + 1}", told.format(count=form.lie, read=len(fitted)))
    if form.by_play:
        unit, sizes = in_one_unit(fitted, form.unit)
        given["play"] = given.pop("reading")
        given["fitted"] = str(Quantity(sum(sizes, Decimal(0)), unit)) if fitted else None
        if not fitted:
            reads.faults.setdefault("fitted1", _("how thick is the spacer that is in?"))
    return fitted


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
