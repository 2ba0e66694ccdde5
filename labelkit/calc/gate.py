"""The gate: whether something may be done now, or what is missing and what is allowed instead, in one line.

A part may go in when everything that must be before it is in and verified, its option is settled, it is neither
condemned nor used up, nothing holds it, and the cautions were shown and ticked. What the gate refuses can be done all
the same with a reason and a name, and stays visible; cautions cannot be passed over, they are ticked.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from decimal import Decimal
from typing import Final

from labelkit.calc.allowed import Sequence
from labelkit.calc.cautions import cautions
from labelkit.calc.newsizes import another_size, chosen_words
from labelkit.calc.openpoints import Open, count_text, open_points, opened_by, still_readable
from labelkit.calc.placerecord import PlaceRecord
from labelkit.calc.record import Record
from labelkit.calc.renewal import Use
from labelkit.calc.steps import Bin, condition
from labelkit.calc.supply import pulled_words
from labelkit.calc.washing import wash_refusals, washable
from labelkit.language import gettext as _
from labelkit.language import ngettext
from labelkit.model.acts import (
    Act,
    Closed,
    Correction,
    CountFound,
    Gated,
    Installed,
    Joined,
    Reading,
    Released,
    Removed,
    Reopened,
    Signature,
    TorqueSigned,
    Verified,
    Washed,
    WashStarted,
)
from labelkit.model.job import Job
from labelkit.model.profile import Profile
from labelkit.units import Quantity

# Signed and wanted torque may differ so much: what a wrench's scale can be set to. Common practice, no source.
_TORQUE: Final = Decimal("0.04")
_POINTS: Final = 4


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


def judge(record: Record, act: Act, place: int | None, who: str) -> Ruling:
    """Say whether an act may be written now.

    Args:
        record: of the job, with everything that was written before.
        act: what somebody is about to record.
        place: the ordinal of its place; None: the job.
        who: does it; cautions of the whole unit are ticked once by each person.
    """
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
        return Ruling(True, told=tuple(_told(record, act, place)))
    points = open_points(record) if isinstance(act, Signature | Closed) else ()
    refusal = next(_refusals(record, act, place, points), "")
    seen = set(act.ticked)
    own, general = cautions(record, act, place)
    unticked = tuple(text for text in own if text not in seen)
    unticked += tuple(text for text in general if text not in seen | record.ticked(who))
    allowed = not unticked and (not refusal or act.override is not None)
    return Ruling(allowed, refusal, unticked, tuple(_told(record, act, place)), points=points)


def bare(refusal: str) -> str:
    """Return a refusal without the word that a page says larger."""
    return refusal.removeprefix(_("NO: "))


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
            "Allowed now: the label of this job"
        )
        return _hard(told.format(scanned=scanned.number, wanted=wanted.number, its=its.unit.mark, own=own.unit.mark))
    if its.unit.revision == own.unit.revision:
        told = _("NO: this label is of job {scanned}, this is job {wanted}. Allowed now: the label of this job")
        return _hard(told.format(scanned=scanned.number, wanted=wanted.number))
    theirs, ours = (next((p for _place, p in profile.walk() if p.id == part), None) for profile in (its, own))
    revision = _("it has profile revision {its}, this job has {own}")
    if ours is None:
        revision = _("it has profile revision {its}, this job has {own}, which has no such part")
    elif theirs is not None and (theirs.check, theirs.fasten) != (ours.check, ours.fasten):
        revision = _("it has profile revision {its}, this job has {own}: limits of this part have changed")
    told = _(
        "NO: this label is of job {scanned}, this is job {wanted}; {revision}. "
        "Allowed now: print a new label from this job"
    )
    revision = revision.format(its=its.unit.revision, own=own.unit.revision)
    return _hard(told.format(scanned=scanned.number, wanted=wanted.number, revision=revision))


def _hard(text: str) -> Ruling:
    return Ruling(False, text, overridable=False)


def _options(record: Record) -> str:
    return ", ".join(f"{group} {choice or '?'}" for group, choice in record.teardown.chosen.items())


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
    return ""


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
        return told.format(fit=act.fit, given=given, state=fit.state)
    wrong = ""
    spread = max(act.values) - min(act.values)
    if fit.spread is not None and act.unit == fit.spread.unit and spread > fit.spread.value:
        told = _("{fit}: the readings differ by {spread}, allowed {allowed}: they are not averaged")
        wrong = told.format(fit=act.fit, spread=spread, allowed=fit.spread)
    elif fit.readings is not None and len(act.values) < fit.readings:
        wrong = _("{fit}: {count} of {wanted} readings").format(fit=act.fit, count=len(act.values), wanted=fit.readings)
    if wrong and fit.seat:
        return _("{wrong}; seat it again: {steps}").format(wrong=wrong, steps=", ".join(fit.seat))
    return wrong


def _refusals(record: Record, act: Gated, place: int | None, points: tuple[Open, ...]) -> Iterator[str]:
    """Yield what stands against an act, the weightiest first."""
    for hold in (*record.holds, *(record.at(place).holds if place is not None else ())):
        what = record.at(hold.place).name if hold.place is not None else _("the job")
        told = _("NO: {what} is on hold by {who}: {why}. Allowed now: {now}")
        why = getattr(hold.act, "why", "")
        yield told.format(what=what, who=hold.who, why=why, now=_now(record, place))
    if isinstance(act, WashStarted):
        yield from wash_refusals(record, act.places or tuple(washable(record)), all_of_it=True)
    elif isinstance(act, Signature | Closed):
        yield from _end(record, act, points)
    if place is None:
        return
    at = record.at(place)
    if isinstance(act, Washed):
        yield from wash_refusals(record, (place,), all_of_it=False)
    elif isinstance(act, Joined | Installed):
        yield from _assembly(record, at, act)
    elif isinstance(act, Verified):
        yield from _verified(record, at)
    elif isinstance(act, TorqueSigned):
        yield from _torque(at, act)


def _now(record: Record, without: int | None = None) -> str:
    sequence = Sequence(record)
    texts = [each.text for each in sequence.allowed() if each.place is None or each.place != without]
    return "; ".join(texts[:3]) + ("; ..." if len(texts) > 3 else "") if texts else _("nothing")


def _assembly(record: Record, at: PlaceRecord, act: Joined | Installed) -> Iterator[str]:
    item, part = at.item, at.item.part
    if not isinstance(item, Bin):
        return
    if item.doubtful:
        told = _("NO: {part} is there only if {condition}, which is open. Allowed now: choose the option")
        yield told.format(part=at.name, condition=condition(record.profile, part))
    if not act.new:
        yield from _used_up(record, at)
    if at.stage == "in_unit":
        told = _("NO: nobody recorded that {part} came out. Allowed now: record that, or that it was left in")
        yield told.format(part=at.name)
    sequence = Sequence(record)
    joining = isinstance(act, Joined)
    if joining and sequence.placed[item.step].group is None:
        told = _("NO: {part} belongs to no group that is joined on the bench. Allowed now: {now}")
        yield told.format(part=at.name, now=_now(record))
    if before := sequence.before(item.step, joining=joining):
        yield _("Not yet {part}: {first}").format(part=at.name, first=sequence.words(before))
    if isinstance(act, Installed) and part.series and not act.sizes:
        told = _("NO: {part} is graded: say the size that goes in, not by its mark. Allowed now: measure it")
        yield told.format(part=at.name)
    elif isinstance(act, Installed) and (size := another_size(record, item.ordinal, act.sizes)) is not None:
        told = _("NO: {part} of {size} mm: {chosen} was chosen for its fit. Allowed now: that size, or choose again")
        yield told.format(part=at.name, size=size, chosen=chosen_words(record, item.ordinal))


def _used_up(record: Record, at: PlaceRecord) -> Iterator[str]:
    """Yield why the old part of a bin does not go in again."""
    uses = record.uses.get(at.item.ordinal, ())
    wanted = max((use.pieces if use.pieces is not None else at.expected or 1 for use in uses), default=0)
    if not wanted or at.stage in ("installed", "verified"):
        return
    whole = at.expected is None or wanted >= at.expected
    ready = max(at.staged or 0, at.new)
    if not whole and ready >= wanted:
        return
    told = _("NO: not the old {part}: {why}; {new} needed, {supply}. Allowed now: scan the new part's label")
    new = ngettext("{count} new", "{count} new", wanted) if whole else _("{count} of {whole} new")
    yield told.format(
        part=at.name,
        why=_old_words(at, uses[0]),
        new=new.format(count=wanted, whole=at.expected),
        supply=_supply(record, at, uses[0].number, wanted),
    )


def _old_words(at: PlaceRecord, use: Use) -> str:
    """Return why the old part is not used again."""
    once = at.item.part.one_time and use.reason == "always"
    told = {
        "always": _("it is used once only") if once else _("it is always renewed"),
        "one_time": _("it was taken out with {causes}") if use.causes else _("it is used once only"),
        "lost": _("it is lost"),
        "size": _("another size was chosen, {size}"),
        "with": _("it is renewed with {causes}"),
        "pair": _("it is renewed as a pair with {causes}"),
        "condemned": _("it was condemned by {who}") if at.judged_by else _("it was condemned"),
    }[use.reason]
    who = at.judged_by.who if at.judged_by else ""
    return told.format(causes=", ".join(use.causes), size=use.size, who=who)


def _supply(record: Record, at: PlaceRecord, number: str | None, wanted: int) -> str:
    here = record.received.get(at.item.ordinal, 0) + (record.arrived.get(number, 0) if number else 0)
    if here:
        return _("{count} here").format(count=here) if here < wanted else _("they are here")
    ordered = record.supplied.get(number, 0) if number else 0
    told = ngettext("{count} ordered, not here yet", "{count} ordered, not here yet", ordered)
    return told.format(count=ordered) if ordered else _("not ordered yet")


def _verified(record: Record, at: PlaceRecord) -> Iterator[str]:
    if at.stage not in ("installed", "verified", "left_in"):
        told = _("NO: {part} is not in. Allowed now: {now}")
        yield told.format(part=at.name, now=Sequence(record).now_words())
    fasten = at.item.part.fasten
    if fasten and fasten.torque and at.torque is None and at.stage == "installed":
        told = _("NO: {part}: the torque, {torque}, is not signed. Allowed now: sign it")
        yield told.format(part=at.name, torque=fasten.torque)


def _torque(at: PlaceRecord, act: TorqueSigned) -> Iterator[str]:
    fasten = at.item.part.fasten
    if at.stage not in ("installed", "verified"):
        yield _("NO: {part} is not in. Allowed now: install it").format(part=at.name)
    if fasten is None or fasten.torque is None or act.torque is None:
        return
    try:
        signed = Quantity(act.torque, act.unit).newton_metres
    except (KeyError, ValueError):
        told = _('NO: {torque} "{unit}" is no torque. Allowed now: N·m, lbf·ft or lbf·in')
        yield told.format(torque=act.torque, unit=act.unit)
        return
    wanted = fasten.torque.newton_metres * act.share
    if abs(signed - wanted) > wanted * _TORQUE:
        off = (signed / wanted - 1) * 100
        # The same torque twice in one line helps nobody.
        given = _("{torque} is") if act.unit == "N·m" else _("{torque} is {signed} N·m,")
        given = given.format(torque=f"{act.torque} {act.unit}", signed=f"{signed:.1f}")
        over = _(
            "NO: {torque} {share} % over {wanted} N·m. Is the unit of the wrench right? "
            "Allowed now: tighten it again and sign that"
        )
        under = _(
            "NO: {torque} {share} % under {wanted} N·m. Is the unit of the wrench right? "
            "Allowed now: tighten it again and sign that"
        )
        yield (over if off > 0 else under).format(torque=given, share=f"{abs(off):.0f}", wanted=f"{wanted:.1f}")


def _end(record: Record, act: Signature | Closed, points: tuple[Open, ...]) -> Iterator[str]:
    if isinstance(act, Closed) and record.signed is not None:
        return
    if points:
        told = ngettext(
            "NO: {count} point open: {points}. Allowed now: {now}",
            "NO: {count} points open: {points}. Allowed now: {now}",
            len(points),
        )
        first = [point.text for point in _weighty(points)[:_POINTS]]
        if len(points) > _POINTS:
            first.append(_("and {count} more").format(count=len(points) - _POINTS))
        yield told.format(count=len(points), points="; ".join(first), now=_now(record))
    elif isinstance(act, Closed):
        yield _("NO: the job is not signed. Allowed now: sign it")


def _weighty(points: tuple[Open, ...]) -> list[Open]:
    """Return points with those first that mean a second teardown."""
    weight = {kind: place for place, kind in enumerate(("fit", "not_empty", "hold", "limit", "count", "torque"))}
    return sorted(points, key=lambda point: weight.get(point.kind, len(weight)))


def _told(record: Record, act: Act, place: int | None) -> Iterator[str]:
    """Yield what to say although it may be done."""
    if place is None:
        return
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
                yield told.format(part=captured.part.name, behind=captured.behind)
        for name in still_readable(record):
            if opened_by(record, name) != at.item:
                continue
            told = _("{fit} was not read before the teardown; later it cannot be")
            yield told.format(fit=name.replace("-", " "))
    count = act.count if isinstance(act, Removed | CountFound) else None
    if count is not None and at.expected is not None and count != at.expected:
        yield count_text(record, at.item, count)
    if isinstance(act, Installed) and at.stage in ("installed", "verified"):
        last = at.last_of("installed")
        told = _("{part} is in already, by {who}") if last else _("{part} is in already")
        yield told.format(part=at.name, who=last.who if last else "")
