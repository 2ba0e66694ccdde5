"""The report of a job: readings before and after, what was replaced and why, what deviates, who signed what.

It is made of the record alone, as tables of words; a page and a print show the same.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Callable, Iterable, Iterator
from dataclasses import dataclass, replace
from datetime import datetime
from typing import Final

from labelkit.calc.facing import otherwise, seen_last
from labelkit.calc.grades import numbers_in
from labelkit.calc.notepieces import hold_words
from labelkit.calc.oldandnew import old_replaced
from labelkit.calc.openpoints import open_points
from labelkit.calc.passes import passes_of, signings
from labelkit.calc.placerecord import PlaceRecord
from labelkit.calc.record import Record
from labelkit.calc.renewal import Use, pieces_of
from labelkit.calc.steps import options_told
from labelkit.language import gettext as _
from labelkit.language import ngettext, noop, pgettext
from labelkit.model.act import Gated
from labelkit.model.acts import (
    Condemned,
    Correction,
    Deviation,
    Hold,
    Inspected,
    Photo,
    Received,
    Released,
    Reopened,
    Returned,
    SideSeen,
    Signature,
    Staged,
    TorqueSigned,
    rejects_new,
)
from labelkit.model.events import Event
from labelkit.sheets import keptnotes, wording
from labelkit.sheets.actwords import act_words, event_words, in_short, verdict_words
from labelkit.sheets.jobview import JobView
from labelkit.sheets.picklist import reason_words
from labelkit.sheets.reportreadings import Readings, ReportTable, Teller, step_of
from labelkit.sheets.reportwords import (
    BREAK,
    marks_words,
    now_words,
    size_now_words,
    tightened_words,
    wanted_figure,
)
from labelkit.sheets.waywords import unrecorded

_NOT_SIGNED: Final = noop("NOT SIGNED")
OPEN_TITLE: Final = noop("What is open")
_STILL_THERE: Final = ("in_unit", "left_in", "inside")


@dataclass(frozen=True, slots=True)
class Report:
    """The report of a job.

    Attributes:
        facts: what stands at its head, each with its label.
        signature: who signed what and when, in lines; what it says where nobody did.
        signer: who did last; empty where nobody did.
        signed_when: when.
        tables: in the order in which they are read.
        points: what is open, also where it was signed all the same.
    """

    facts: tuple[tuple[str, str], ...]
    signature: tuple[str, ...]
    signer: str
    signed_when: str
    tables: tuple[ReportTable, ...]
    points: tuple[str, ...] = ()


def _local_time(moment: datetime) -> str:
    """Return a time as the clock on this computer's wall shows it, with its zone."""
    return f"{moment.astimezone():%Y-%m-%d %H:%M %Z}"


def job_report(view: JobView, record: Record, told: Callable[[datetime], str] = _local_time) -> Report:
    """Return the report of a job as its record stands.

    Args:
        view: the job.
        record: everything that was recorded.
        told: gives a time in words.
    """
    maker = _Maker(view, record, told)
    signature = record.signed
    points = open_points(record)
    tables = (
        Readings(view, record, told).table(),
        maker.looked(),
        maker.replaced(),
        maker.deviations(),
        *maker.past_deviations(),
        maker.holds(),
        maker.torques(),
        maker.corrections(),
    )
    return Report(
        tuple(maker.facts()),
        tuple(maker.signatures(len(points))),
        signature.who if signature else "",
        told(signature.when) if signature else "",
        tables,
        tuple(point.text for point in points),
    )


def _gone(place: PlaceRecord) -> Iterator[Event]:
    """Yield with what new pieces of a place went back, or were not used."""
    return (e for e in place.events if isinstance(e.act, Returned) or rejects_new(e.act))


class _Maker(Teller):
    def facts(self) -> Iterator[tuple[str, str]]:
        header, job, events = self.view.profile.unit, self.view.job, self.record.events
        yield _("Job"), str(job.number)
        revision = _("profile revision {revision}").format(revision=header.revision)
        yield _("Unit"), f"{header.name}, {header.mark}, {revision}"
        yield _("Serial"), job.serial or wording.not_recorded()
        options = options_told(self.view.profile, self.view.job.options)
        yield _("Options"), "; ".join(options) or pgettext("options", "none")
        if events:
            told = ngettext("{count} event, {first} to {last}", "{count} events, {first} to {last}", len(events))
            first, last = self.told(events[0].when), self.told(events[-1].when)
            yield _("Recorded"), told.format(count=len(events), first=first, last=last)
            yield pgettext("who did it", "By"), ", ".join(dict.fromkeys(event.who for event in events))
        if photos := Counter(self.where(e) for e in self.record.standing if isinstance(e.act, Photo)):
            told = _("{count} kept; by step: {steps}")
            steps = ", ".join(f"{where} ({count})" for where, count in photos.items())
            yield _("Photos"), told.format(count=photos.total(), steps=steps)
        if marks := marks_words(self.record):
            yield _("Marks"), marks
        if (closed := self.record.closed) is not None:
            yield _("Closed"), ", ".join(filter(None, (self.by(closed), keptnotes.said(closed.act.note))))

    def signatures(self, points: int) -> Iterator[str]:
        if not self.record.signatures:
            told = ngettext(
                "NOT SIGNED: {count} point is open, listed at the end",
                "NOT SIGNED: {count} points are open, listed at the end",
                points,
            )
            yield told.format(count=points) if points else _(_NOT_SIGNED)
        for event in self.record.signatures:
            if isinstance(event.act, Signature):
                yield from self._signature(event, event.act)

    def _signature(self, event: Event, act: Signature) -> Iterator[str]:
        yield keptnotes.signed(act.statement)
        if act.note:
            yield keptnotes.said(act.note)
        if act.override is not None:
            yield _('Signed although labelkit said: "{refusal}"').format(refusal=in_short(act.override.refusal))
        yield _("Signed: {who}").format(who=self.by(event))
        if later := self.record.signed_before.get(event.number):
            words = event_words(later, self.view.profile, self.view.teardown)
            yield _("Signed before event {number}: {words} ({who})").format(
                number=later.number, words=words, who=self.by(later)
            )

    def looked(self) -> ReportTable:
        heads = (_("STEP"), _("PART"), _("WHAT"), _("JUDGED"), _("BY"))
        widths = (17.0, 60.0, 0.0, 66.0, 50.0)
        rows = tuple(row for place in self.record.places.values() for row in self._looked(place))
        return ReportTable(_("Looked at, without a figure"), heads, widths, rows, _("Nothing was looked at."))

    def _looked(self, place: PlaceRecord) -> Iterator[tuple[str, ...]]:
        """Yield how a part was seen to sit, where its profile does not say or says otherwise, and its points of a look.

        Each as it was said last; how it was seen otherwise stays beside what was seen after it.
        """
        part = place.item.part
        if (seen := place.last_of("side_seen")) and any(unrecorded(part)):
            up, clock = seen_last(place)
            what = _("Which way it sat: not recorded in the profile")
            yield step_of(place), place.item.name, what, act_words(SideSeen(up=up, clock=clock), part), self.by(seen)
        yield from self._seen_otherwise(place)
        judged = {e.act.check: e for e in place.events if isinstance(e.act, Inspected)}
        for number, check in enumerate(place.item.part.check):
            event = judged.get(number)
            if event is None or not isinstance(event.act, Inspected) or place.readings(number):
                continue
            what, note = check.look or check.measure or "", keptnotes.said(event.act.note)
            verdict = verdict_words(place.item.part, number, event.act.verdict)
            if event.act.verdict == "reuse" and self._goes_out(place):
                verdict = _("OK")
            found = BREAK.join(filter(None, (verdict, note)))
            yield step_of(place), place.item.name, what, found, self.by(event)

    def _seen_otherwise(self, place: PlaceRecord) -> Iterator[tuple[str, ...]]:
        """Yield the looks at a part from the first one on that was otherwise than the profile says."""
        part, told = place.item.part, ""
        for event in place.events:
            if isinstance(event.act, SideSeen):
                says = otherwise(part, event.act.up, event.act.clock)[1]
                told = _("Which way it sat: the profile says {says}").format(says=says) if says else told
                if told:
                    yield step_of(place), place.item.name, told, act_words(event.act, part), self.by(event)

    def _goes_out(self, place: PlaceRecord) -> bool:
        """Say whether nothing of the old part goes in again, however good it was at a point."""
        return place.is_gone or self.record.is_thrown_away(place.item.ordinal)

    def replaced(self) -> ReportTable:
        heads = (_("STEP"), _("PART"), _("PIECES"), _("NUMBER"), _("WHY"), _("NOW"))
        widths = (17.0, 76.0, 18.0, 34.0, 0.0, 44.0)
        places = filter(self._is_new, self.record.places.values())
        rows = tuple(row for place in places for row in self._replaced(place))
        return ReportTable(_("What is replaced, and why"), heads, widths, rows, _("Nothing is replaced."))

    def _is_new(self, place: PlaceRecord) -> bool:
        still_there = place.stage in _STILL_THERE and place.item.ordinal not in self.record.to_come_out
        due = place.item.ordinal in self.record.uses and (any(_gone(place)) or not still_there)
        return old_replaced(place) != 0 or place.is_condemned or place.staged is not None or due

    def _replaced(self, place: PlaceRecord) -> Iterator[tuple[str, ...]]:
        """Yield what is new in a place, of a stack each size for itself."""
        uses = self.record.uses.get(place.item.ordinal, ())
        why = list(dict.fromkeys(map(reason_words, uses)))
        event = place.judged_by if place.is_condemned else None
        if event is not None and isinstance(event.act, Condemned | Inspected):
            said = event.act.why if isinstance(event.act, Condemned) else keptnotes.said(event.act.note)
            said = said or act_words(event.act, place.item.part)
            why = [each for each in why if each not in (_("condemned"), _("lost"))] + [f"{said} ({self.by(event)})"]
        why += [f"{act_words(e.act, place.item.part)} ({self.by(e)})" for e in _gone(place)]
        reason = BREAK.join(why) or _("reason {unknown}").format(unknown=wording.not_recorded())
        numbers = [*self._numbers(place, uses)]
        here = (size for size, lot in place.lots.items() if lot.new or (lot.here and size is not None))
        sizes = dict.fromkeys((*filter(None, (use.grade for use in uses)), *here))
        if place.grades is None or len(sizes) < 2:
            count = place.new or pieces_of(uses) or place.staged or old_replaced(place)
            told = BREAK.join(numbers) or wording.not_recorded()
            pieces = str(count) if count else _("as needed")
            yield step_of(place), place.item.name, pieces, told, reason, now_words(self.record, place)
            return
        for size in sizes:
            listed = str(place.grades.listed(size) or "") if size is not None else ""
            known = next((each for each in numbers if listed and each.endswith(f" {listed}")), "")
            lot = place.lot(size)
            count = lot.new or pieces_of(use for use in uses if use.grade == size) or lot.here
            told = known or " ".join(filter(None, (wording.not_recorded(), listed)))
            yield step_of(place), place.item.name, str(count), told, reason, size_now_words(self.record, place, size)

    def _numbers(self, place: PlaceRecord, uses: Iterable[Use]) -> Iterable[str]:
        """Return the order numbers of what is new in a place: of a graded part those of the sizes that are in.

        While none is in, and none was chosen, those that came.
        """
        part = place.item.part
        here = numbers_in(self.record, place) if part.series else ()
        if part.series and place.new:
            return here
        # A stack that was chosen has a number for each of its sizes.
        sized = (f"{use.number} {use.size}" if use.size else use.number for use in uses if use.number)
        return dict.fromkeys(sized) or here or filter(None, (part.number,))

    def deviations(self) -> ReportTable:
        heads = (_("EVENT"), _("STEP"), _("WHAT"), _("WHY"), _("AGREED BY"), _("RECORDED"))
        widths = (15.0, 17.0, 0.0, 70.0, 34.0, 44.0)
        rows = tuple(self._deviation(event) for event in self.record.deviations)
        return ReportTable(_("Deviations from the profile"), heads, widths, rows, _("None was recorded."))

    def past_deviations(self) -> Iterator[ReportTable]:
        """Yield the same of pieces that went out; nothing where none did."""
        if rows := tuple(self._deviation(event) for event in self.record.past_deviations):
            yield replace(self.deviations(), title=_("Deviations of pieces that went out since"), rows=rows)

    def _deviation(self, event: Event) -> tuple[str, ...]:
        act = event.act
        what, why, agreed = "", "", ""
        if isinstance(act, Deviation):
            what, why, agreed = act.what, act.reason, act.agreed
        elif isinstance(act, Gated) and act.override is not None:
            done = event_words(event, self.view.profile, self.view.teardown, override=False)
            what = done + BREAK + _("although: {refusal}").format(refusal=in_short(act.override.refusal))
            why, agreed = act.override.reason, act.override.agreed
        elif isinstance(act, Received | Staged):  # whoever received it said so, though it measures otherwise
            what = event_words(event, self.view.profile, self.view.teardown)
            why, agreed = _("It is the right part all the same"), event.who
        return str(event.number), self.where(event), what, why, agreed, self.by(event)

    def holds(self) -> ReportTable:
        heads = (_("EVENT"), _("STEP"), _("WHY IT WAS HELD"), _("BY"), _("RELEASED"))
        widths = (15.0, 17.0, 0.0, 50.0, 90.0)
        released = {e.act.of: e for e in self.record.standing if isinstance(e.act, Released)}
        rows = []
        for event in self.record.standing:
            if isinstance(event.act, Hold):
                end = released.get(event.number)
                why = end.act.why if end and isinstance(end.act, Released) else ""
                freed = f"{why}{BREAK}{self.by(end)}" if end else _("STILL HELD")
                rows.append((str(event.number), self.where(event), hold_words(event.act), self.by(event), freed))
        return ReportTable(_("Holds"), heads, widths, tuple(rows), _("Nothing was held."))

    def torques(self) -> ReportTable:
        heads = (_("STEP"), _("FASTENER"), _("WANTED"), _("SIGNED"), _("WRENCH"), _("BY"))
        widths = (17.0, 0.0, 50.0, 50.0, 40.0, 50.0)
        places = (place for place in self.record.places.values() if signings(place) or place.stage not in _STILL_THERE)
        rows = tuple(row for place in places for row in self._torques(place))
        return ReportTable(_("Torques"), heads, widths, rows, _("Nothing was tightened to a torque."))

    def _torques(self, place: PlaceRecord) -> Iterator[tuple[str, ...]]:
        """Yield the passes of a place, each with what was signed of it last, then what is none of its passes."""
        passes, done = passes_of(place), signings(place)
        for each in passes:
            of_it = [event for event, act in done if each.is_in(act)]
            yield self._torque(place, wanted_figure(place, each), of_it[-1] if of_it else None)
        for event, act in done:
            if not any(each.is_in(act) for each in passes):
                yield self._torque(place, wording.not_recorded(), event)

    def _torque(self, place: PlaceRecord, wanted: str, event: Event | None) -> tuple[str, ...]:
        if event is None or not isinstance(event.act, TorqueSigned):
            return step_of(place), place.item.name, wanted, _(_NOT_SIGNED), "", ""
        act = event.act
        oiled = {True: _("oiled"), False: _("dry"), None: ""}[act.oiled]
        with_what = BREAK.join(filter(None, (act.wrench, oiled)))
        return step_of(place), place.item.name, wanted, tightened_words(act), with_what, self.by(event)

    def corrections(self) -> ReportTable:
        heads = (_("EVENT"), _("WHAT IT SAID"), _("TAKEN BACK BY"), _("WHY"))
        widths = (15.0, 0.0, 50.0, 80.0)
        rows = []
        for number, event in sorted({**self.record.corrected, **self.record.undone}.items()):
            said = event_words(self.record.events[number - 1], self.view.profile, self.view.teardown)
            why = event.act.why if isinstance(event.act, Correction | Reopened) else ""
            rows.append((str(number), said, self.by(event), why))
        return ReportTable(_("What was taken back"), heads, widths, tuple(rows), _("Nothing was taken back."))
