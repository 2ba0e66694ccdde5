"""The gate: whether something may be done now, or what is missing and what is allowed instead, in one line.

A part may go in when everything that must be before it is in and verified, its option is settled, it is neither
condemned nor used up, nothing holds it, and the cautions were shown and ticked. What the gate refuses can be done all
the same with a reason and a name, and stays visible; cautions cannot be passed over, they are ticked.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

from labelkit.calc.allowed import Assembly
from labelkit.calc.apart import ends, held_by, still_readable
from labelkit.calc.cautions import cautions
from labelkit.calc.facing import look_again, otherwise_words
from labelkit.calc.fitpoints import unchosen
from labelkit.calc.miscounts import count_text, left_text, none_to_reject, too_many
from labelkit.calc.openpoints import Open, against_signing, open_points, unanswered
from labelkit.calc.record import Record
from labelkit.calc.refusals import refusals
from labelkit.calc.steps import Bin, options_told
from labelkit.calc.supply import pulled_words
from labelkit.calc.usedup import new_of_some
from labelkit.language import gettext as _
from labelkit.language import ngettext
from labelkit.model.act import Act, Gated
from labelkit.model.acts import (
    Closed,
    Correction,
    CountFound,
    Installed,
    Joined,
    Released,
    Removed,
    Reopened,
    SideSeen,
    Signature,
)
from labelkit.model.job import Job
from labelkit.model.profile import Profile, fit_words
from labelkit.model.readings import Reading


@dataclass(frozen=True, slots=True)
class Ruling:
    """What the gate says.

    Attributes:
        allowed: it may be written.
        refusal: in one line what is missing and what is allowed now; empty when nothing is.
        unticked: cautions that must be shown and ticked first, word for word.
        told: what to say though it is allowed.
        overridable: a reason and a name are enough to do it all the same.
        points: what is open, where a signature was asked for.
    """

    allowed: bool
    refusal: str = ""
    unticked: tuple[str, ...] = ()
    told: tuple[str, ...] = ()
    overridable: bool = True
    points: tuple[Open, ...] = ()

    @property
    def bare(self) -> str:
        """The refusal without the word that a page says larger."""
        return bare(self.refusal)


def judge(assembly: Assembly, act: Act, place: int | None, who: str) -> Ruling:
    """Say whether an act may be written now.

    Args:
        assembly: the order of assembly against the record, with everything that was written before.
        act: what somebody is about to record.
        place: the ordinal of its place; None: the job.
        who: does it; cautions of the whole unit are ticked once by each person.
    """
    record = assembly.record
    if closed := record.closed:
        if not isinstance(act, Reopened):
            told = _("job closed by {who}: nothing is recorded any more. Allowed now: reopen it, with a reason")
            return _hard(told.format(who=closed.who))
    elif isinstance(act, Reopened):
        return _hard(_("the job is open"))
    if place is not None and place not in record.places:
        told = _("the options of this job leave this bin out: {options}. Allowed now: look at the option again")
        return _hard(told.format(options=_options(record)))
    if wrong := _impossible(record, act, place):
        return _hard(wrong)
    if not isinstance(act, Gated):
        return Ruling(True, told=tuple(_told(assembly, act, place)))
    points = open_points(record) if isinstance(act, Signature | Closed) else ()
    if isinstance(act, Signature):
        points = against_signing(points)
    refusal = next(refusals(assembly, act, place, points), "")
    seen = set(act.ticked)
    own, general = cautions(record, act, place)
    unticked = tuple(text for text in own if text not in seen)
    unticked += tuple(text for text in general if text not in seen | record.ticked(who))
    allowed = not unticked and (not refusal or act.override is not None)
    return Ruling(allowed, refusal, unticked, tuple(_told(assembly, act, place)), points=points)


def bare(refusal: str) -> str:
    """Return a refusal without the word that a page says larger, as a sentence of its own."""
    told = refusal.removeprefix(_("NO: "))
    return told[:1].upper() + told[1:]


def right_job(scanned: Job, its: Profile, wanted: Job, own: Profile, part: str) -> Ruling:
    """Say whether a label belongs to the job that is worked on.

    Args:
        scanned: the job of the label.
        its: the profile of that job.
        wanted: the job that is worked on.
        own: its profile.
        part: id of the part on the label.
    """
    if scanned.number == wanted.number:
        return Ruling(True)
    if its.unit.mark != own.unit.mark:
        told = _(
            "NO: this label is of job {scanned}, this is job {wanted}: another kind of unit, {its} and not {own}. "
            "Allowed now: a label of job {wanted}"
        )
        return _hard(told.format(scanned=scanned.number, wanted=wanted.number, its=its.unit.mark, own=own.unit.mark))
    if its.unit.revision == own.unit.revision:
        told = _("NO: this label is of job {scanned}, this is job {wanted}. Allowed now: a label of job {wanted}")
        return _hard(told.format(scanned=scanned.number, wanted=wanted.number))
    theirs, ours = (next((p for _place, p in profile.walk() if p.id == part), None) for profile in (its, own))
    revision = _("it has profile revision {its}, this job has {own}")
    if ours is None:
        revision = _("it has profile revision {its}, this job has {own}, which has no such part")
    elif theirs is not None and (theirs.check, theirs.fasten) != (ours.check, ours.fasten):
        revision = _("it has profile revision {its}, this job has {own}: limits of this part have changed")
    told = _(
        "NO: this label is of job {scanned}, this is job {wanted}; {revision}. "
        "Allowed now: take the bin of job {wanted}; where this is its bin, print a new label"
    )
    revision = revision.format(its=its.unit.revision, own=own.unit.revision)
    return _hard(told.format(scanned=scanned.number, wanted=wanted.number, revision=revision))


def _hard(text: str) -> Ruling:
    return Ruling(False, text, overridable=False)


def _options(record: Record) -> str:
    return "; ".join(options_told(record.profile, record.teardown.chosen))


def _impossible(record: Record, act: Act, place: int | None) -> str:
    """Return why an act makes no sense whatever anybody says; empty when it does."""
    if isinstance(act, Correction):
        event = next((e for e in record.events if e.number == act.of), None)
        if event is None:
            told = _("there is no event {number} to correct; the last one is {last}")
            return told.format(number=act.of, last=len(record.events))
        if isinstance(event.act, Correction | Closed | Reopened):
            return _("event {number} is not corrected: record what is right now").format(number=act.of)
        if act.of in record.corrected:
            told = _("event {number} was corrected by {who} already")
            return told.format(number=act.of, who=record.corrected[act.of].who)
    if isinstance(act, Released):
        holds = record.at(place).holds if place is not None else record.holds
        if act.of not in {hold.number for hold in holds}:
            return _("event {number} is no open hold here").format(number=act.of)
    if isinstance(act, Reading):
        return _unread(record, act, place)
    at = None if place is None else record.at(place)
    return "" if at is None else none_to_reject(at, act) or too_many(record, at, act)


def _unread(record: Record, act: Reading, place: int | None) -> str:
    """Return why a reading does not count as one."""
    if act.fit is None:
        checks = record.at(place).item.part.check if place is not None else ()
        known = act.check is not None and act.check < len(checks)
        return "" if known else _("this part has no point {number}").format(number=act.check)
    fit = record.profile.fits.get(act.fit)
    if fit is None:
        told = _("there is no fit {fit}; allowed: {fits}")
        return told.format(fit=act.fit, fits=", ".join(record.profile.fits))
    if fit.state is not None and (act.state or "").casefold() != fit.state.casefold():
        given = _("read with {state}").format(state=act.state) if act.state else _("it is not said how it was read")
        told = _("{fit}: {given}; the profile wants it with {state}. Read it so; nothing is chosen before")
        return told.format(fit=fit_words(act.fit), given=given, state=fit.state)
    wrong = ""
    spread = max(act.values) - min(act.values)
    # Trials of a preload are each of another spacer.
    alike = fit.kind != "preload" or act.at != "apart"
    if fit.spread is not None and act.unit == fit.spread.unit and alike and spread > fit.spread.value:
        told = _("{fit}: the readings differ by {spread}, allowed {allowed}: they are not averaged")
        wrong = told.format(fit=fit_words(act.fit), spread=spread, allowed=fit.spread)
    elif fit.readings is not None and len(act.values) < fit.readings:
        told = _("{fit}: {count} of {wanted} readings")
        wrong = told.format(fit=fit_words(act.fit), count=len(act.values), wanted=fit.readings)
    if wrong and fit.seat:
        return _("{wrong}; seat it again: {steps}").format(wrong=wrong, steps=", ".join(fit.seat))
    return wrong


def _told(assembly: Assembly, act: Act, place: int | None) -> Iterator[str]:
    """Yield what to say although it may be done."""
    if place is None:
        return
    record = assembly.record
    at = record.at(place)
    part = at.item.part
    yield from pulled_words(record, place, act)
    if isinstance(act, Removed):
        if at.is_out and at.since:
            yield _("{part} was out already: event {number}").format(part=at.name, number=at.since)
        if part.out and part.out.look_under:
            yield _("Look under it: {what}").format(what=part.out.look_under)
        for captured in record.teardown.inside:
            if isinstance(at.item, Bin) and captured.parent == at.item.step:
                told = _("{part} stays inside, behind {behind}: feel it, do not look for it")
                behind = record.profile.names.get(captured.behind, captured.behind)
                yield told.format(part=captured.part.name, behind=behind)
        for name in still_readable(record):
            fit = record.profile.fits[name]
            if (
                at.item in held_by(record.teardown, record.order, fit)
                and isinstance(at.item, Bin)
                and ends(at.item, fit)
            ):
                told = _("{fit} was not read before the teardown; later it cannot be")
                yield told.format(fit=fit_words(name))
    if isinstance(act, SideSeen) and (seen := otherwise_words(at, act.up, act.clock)):
        yield look_again(seen)
    count = act.count if isinstance(act, Removed | CountFound) else None
    if count is not None and at.expected is not None and count != at.expected:
        yield count_text(record, at.item, count)
    if isinstance(act, Installed) and at.is_out and isinstance(at.item, Bin):
        if passed := assembly.passed(at):
            yield passed
        if not at.placed and (between := [each.name for each in assembly.parted_by(at.item.step)]):
            told = _("{part}: not all of it goes in before {others}: say how many do")
            yield told.format(part=at.name, others=", ".join(between))
    if isinstance(act, Installed) and (left := left_text(record, at, act)):
        yield left
    if isinstance(act, Joined) and (new := new_of_some(record, at)):
        told = ngettext("{part}: {count} new one belongs to it", "{part}: {count} new ones belong to it", new)
        yield told.format(part=at.name, count=new)
    if isinstance(act, Installed) and at.is_out:
        yield from (why for _fit, why in unchosen(record, place))
    old_goes_in = isinstance(act, Installed | Joined) and not act.new and not record.is_thrown_away(place)
    if old_goes_in and (points := unanswered(at)):
        yield _("{part}: not inspected yet: {points}").format(part=at.name, points="; ".join(points))
    if isinstance(act, Installed) and at.is_in:
        last = at.last_of("installed")
        told = _("{part} is in already, by {who}") if last else _("{part} is in already")
        yield told.format(part=at.name, who=last.who if last else "")
