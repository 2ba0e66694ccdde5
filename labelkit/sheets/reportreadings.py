"""The readings of the report: each fit and each point with what was read before and after, chosen and judged.

A table of the report is made of the record alone, as words; a page and a print show the same.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator
from dataclasses import dataclass
from datetime import datetime

from labelkit.calc.fitpoints import fit_points
from labelkit.calc.fitsizes import expected
from labelkit.calc.limits import Limits
from labelkit.calc.placerecord import PlaceRecord
from labelkit.calc.record import Record
from labelkit.calc.steps import Bin
from labelkit.calc.verdicts import VERDICT_WORDS
from labelkit.language import gettext as _
from labelkit.model.acts import Installed
from labelkit.model.events import Event
from labelkit.model.profile import Fit, fit_words
from labelkit.model.readings import FitChosen, Reading
from labelkit.sheets import keptnotes, wording
from labelkit.sheets.actwords import place_of
from labelkit.sheets.fitsheet import has_fit
from labelkit.sheets.jobview import JobView
from labelkit.sheets.reportwords import BREAK, NOT_READ, judged_words, read_words
from labelkit.sheets.worksheetlimits import check_limits, fit_limits


@dataclass(frozen=True, slots=True)
class ReportTable:
    """One table of the report.

    Attributes:
        title: above it.
        heads: of its columns.
        widths: of its columns on paper, mm; 0 takes what is left.
        rows: a text for each column; lines of a text stand below each other.
        empty: what is said where there is no row.
    """

    title: str
    heads: tuple[str, ...]
    widths: tuple[float, ...]
    rows: tuple[tuple[str, ...], ...]
    empty: str


@dataclass(frozen=True)
class Teller:
    """A job to be told in tables: the job, everything that was recorded, and how a time is put in words."""

    view: JobView
    record: Record
    told: Callable[[datetime], str]

    def where(self, event: Event) -> str:
        """Return the step that an event is about."""
        if event.place is None:
            return _("job")
        place = self.record.places.get(event.place)
        found = place_of(self.view.teardown, event.place)
        return step_of(place) if place is not None else found[0] if found else str(event.place)

    def by(self, event: Event) -> str:
        """Return who did what, and when."""
        return f"{event.who}, {self.told(event.when)}"


def step_of(place: PlaceRecord) -> str:
    """Return the step of a place as the report has it."""
    return place.item.step if isinstance(place.item, Bin) else _("inside")


class Readings(Teller):
    """The readings of a job."""

    def table(self) -> ReportTable:
        """Return the table of them."""
        heads = (_("STEP"), _("WHAT"), _("LIMITS"), _("BEFORE"), _("CHOSEN"), _("AFTER"), _("JUDGED"))
        widths = (17.0, 53.0, 36.0, 0.0, 36.0, 50.0, 34.0)
        rows = (*self._fits(), *self._checks())
        return ReportTable(_("Readings before and after"), heads, widths, rows, _("Nothing was read."))

    def _fits(self) -> Iterator[tuple[str, ...]]:
        for name, fit in self.view.profile.fits.items():
            if not has_fit(self.view, fit):
                continue
            mine = (e for e in self.record.standing if isinstance(e.act, Reading) and e.act.fit == name)
            before, after = _before_and_after(mine)
            seen = self.record.fits[name]
            chosen = self._chosen(name, seen.chosen) if seen.chosen else ""
            went_in = "".join(self._went_in(fit))
            wrong = fit_points(self.record, name)
            last = after[-1].act if after else None
            judged = _(VERDICT_WORDS[last.verdict]) if isinstance(last, Reading) and last.verdict else ""
            yield (
                _("FIT"),
                f"{fit_words(name)}{BREAK}{_(wording.FIT_KINDS[fit.kind])}",
                BREAK.join(filter(None, fit_limits(fit))),
                BREAK.join(filter(None, (self._not_found(name, fit), self._read(before, Limits(*fit.target))))),
                BREAK.join(filter(None, (chosen, went_in))),
                self._read(after, Limits(*fit.target)),
                BREAK.join(filter(None, (judged, *wrong))) or _(NOT_READ),
            )

    def _not_found(self, name: str, fit: Fit) -> str:
        """Return that a fit was not read as it was found, where it could have been; empty as long as it can be."""
        out = any(place.came_out for place in self.record.of(*fit.parts))
        missing = fit.read.found and out and self.record.fits[name].before is None
        return _("not read as it was found") if missing else ""

    def _went_in(self, fit: Fit) -> Iterator[str]:
        """Yield the measured sizes of what sets a fit, as it went in."""
        for place in self.record.of(fit.set_by or ""):
            event = place.last_of("installed")
            if event is not None and isinstance(event.act, Installed) and event.act.sizes:
                sizes = " + ".join(f"{size} mm" for size in event.act.sizes)
                yield _("put in {sizes}").format(sizes=sizes)

    def _chosen(self, name: str, event: Event) -> str:
        """Return what was chosen, and what the fit is with it: as the pieces that are in measure."""
        if not isinstance(event.act, FitChosen):
            return ""
        sizes = " + ".join(f"{size} {event.act.unit}" for size in event.act.sizes)
        size = expected(self.record, name)
        predicted = _("predicted {size}").format(size=size) if size is not None else ""
        note = keptnotes.said(event.act.note)
        return BREAK.join(filter(None, (sizes, predicted, note, self.by(event))))

    def _checks(self) -> Iterator[tuple[str, ...]]:
        for place in self.record.places.values():
            for number, check in enumerate(place.item.part.check):
                events = place.readings(number)
                if not events and not (check.keep and check.measure):
                    continue
                limits = Limits(check.min, check.max)
                # A part that is one piece may have a point at each of several that are built into it.
                single = place.expected == 1 and (check.each or 1) == 1
                before, after = (self._read(some, limits, single=single) for some in _before_and_after(events))
                yield (
                    step_of(place),
                    f"{place.item.name}{BREAK}{check.measure or check.look or ''}",
                    BREAK.join(filter(None, check_limits(check))),
                    before,
                    "",
                    after,
                    judged_words(place, number, check),
                )

    def _read(self, events: list[Event], limits: Limits, *, single: bool = True) -> str:
        """Return readings, each with how and by whom it was read.

        Args:
            events: of the readings.
            limits: of what was read.
            single: all figures are of one piece; several pieces may differ, and have no mean.
        """
        lines: list[str] = []
        for event in events:
            act = event.act
            if isinstance(act, Reading):
                mean = single and len(act.values) > 1 and not keptnotes.are_trials(act.note)
                when = _("dry fit") if act.fit else _(wording.CHECK_AT[act.at])
                at = "" if act.at in ("before", "assembled") else f"{when}: "
                stack = " + ".join(f"{size} {act.unit}" for size in act.fitted)
                fitted = _("with {pieces}").format(pieces=stack) if act.fitted else ""
                cold = {True: _("cold"), False: _("WARM"), None: ""}[act.cold]
                state, note = map(keptnotes.said, (act.state, act.note))
                # What the last one came to stands in a column of its own.
                out = _(VERDICT_WORDS["out"]) if act.verdict == "out" and event is not events[-1] else ""
                new = _("new") if act.new else ""
                how = ", ".join(filter(None, (new, out, fitted, state, cold, act.tool, note)))
                lines += filter(None, (at + read_words(act, limits, mean=mean), how, self.by(event)))
        return BREAK.join(lines)


def _before_and_after(events: Iterable[Event]) -> tuple[list[Event], list[Event]]:
    """Return the readings from before the unit was together again, and those from after."""
    found: tuple[list[Event], list[Event]] = [], []
    for event in events:
        if isinstance(event.act, Reading):
            found[event.act.at == "assembled"].append(event)
    return found
