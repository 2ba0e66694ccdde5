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
from labelkit.calc.openpoints import Open, before_teardown, count_text, open_points
from labelkit.calc.placerecord import PlaceRecord
from labelkit.calc.record import Record
from labelkit.calc.steps import Bin, condition
from labelkit.calc.washing import wash_refusals, washable
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
            return _hard(
                f"job closed by {closed.who}: nothing is recorded any more. Allowed now: reopen it, with a reason"
            )
    elif isinstance(act, Reopened):
        return _hard("the job is open")
    if place is not None and place not in record.places:
        return _hard(
            f"the options of this job leave this bin out: {_options(record)}. Allowed now: look at the option again"
        )
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
    told = f"NO: this label is of job {scanned.number}, this is job {wanted.number}"
    if its.unit.mark != own.unit.mark:
        return _hard(
            f"{told}: another kind of unit, {its.unit.mark} and not {own.unit.mark}. Allowed now: the label of this job"
        )
    if its.unit.revision != own.unit.revision:
        told += f"; it has profile revision {its.unit.revision}, this job has {own.unit.revision}"
        theirs, ours = (next((p for _, p in profile.walk() if p.id == part), None) for profile in (its, own))
        if ours is None:
            told += ", which has no such part"
        elif theirs is not None and (theirs.check, theirs.fasten) != (ours.check, ours.fasten):
            told += ": limits of this part have changed"
        return _hard(f"{told}. Allowed now: print a new label from this job")
    return _hard(f"{told}. Allowed now: the label of this job")


def _hard(text: str) -> Ruling:
    return Ruling(False, text, overridable=False)


def _options(record: Record) -> str:
    return ", ".join(f"{group} {choice or '?'}" for group, choice in record.teardown.chosen.items())


def _impossible(record: Record, act: Act, place: int | None) -> str:
    """Return why an act makes no sense whatever anybody says; empty when it does."""
    if isinstance(act, Correction):
        event = next((e for e in record.events if e.number == act.of), None)
        if event is None:
            return f"there is no event {act.of} to correct; the last one is {len(record.events)}"
        if isinstance(event.act, Correction | Closed | Reopened):
            return f"event {act.of}, {event.act.kind}, is not corrected: record what is right now"
        if act.of in record.corrected:
            return f"event {act.of} was corrected by {record.corrected[act.of].who} already"
    if isinstance(act, Released):
        holds = record.at(place).holds if place is not None else record.holds
        if act.of not in {hold.number for hold in holds}:
            return f"event {act.of} is no open hold here"
    if isinstance(act, Reading):
        return _unread(record, act, place)
    return ""


def _unread(record: Record, act: Reading, place: int | None) -> str:
    """Return why a reading does not count as one."""
    if act.fit is None:
        checks = record.at(place).item.part.check if place is not None else ()
        return "" if act.check is not None and act.check < len(checks) else f"this part has no point {act.check}"
    fit = record.profile.fits.get(act.fit)
    if fit is None:
        return f"there is no fit {act.fit}; allowed: {', '.join(record.profile.fits)}"
    if fit.state is not None and (act.state or "").casefold() != fit.state.casefold():
        given = f"read with {act.state}" if act.state else "it is not said how it was read"
        return f"{act.fit}: {given}; the profile wants it with {fit.state}. Read it so; nothing is chosen before"
    seat = f"; seat it again: {', '.join(fit.seat)}" if fit.seat else ""
    if fit.spread is not None and act.unit == fit.spread.unit:
        spread = max(act.values) - min(act.values)
        if spread > fit.spread.value:
            return f"{act.fit}: the readings differ by {spread}, allowed {fit.spread}: they are not averaged{seat}"
    if fit.readings is not None and len(act.values) < fit.readings:
        return f"{act.fit}: {len(act.values)} of {fit.readings} readings{seat}"
    return ""


def _refusals(record: Record, act: Gated, place: int | None, points: tuple[Open, ...]) -> Iterator[str]:
    """Yield what stands against an act, the weightiest first."""
    for hold in (*record.holds, *(record.at(place).holds if place is not None else ())):
        what = record.at(hold.place).name if hold.place is not None else "the job"
        yield (
            f"NO: {what} is on hold by {hold.who}: {getattr(hold.act, 'why', '')}. Allowed now: {_now(record, place)}"
        )
    if isinstance(act, WashStarted):
        yield from wash_refusals(record, act.places or tuple(washable(record)), all_of_it=True)
    elif isinstance(act, Signature | Closed):
        yield from _end(record, act, points)
    if place is None:
        return
    spot = record.at(place)
    if isinstance(act, Washed):
        yield from wash_refusals(record, (place,), all_of_it=False)
    elif isinstance(act, Joined | Installed):
        yield from _assembly(record, spot, act)
    elif isinstance(act, Verified):
        yield from _verified(record, spot)
    elif isinstance(act, TorqueSigned):
        yield from _torque(spot, act)


def _now(record: Record, without: int | None = None) -> str:
    sequence = Sequence(record)
    texts = [each.text for each in sequence.allowed() if each.place is None or each.place != without]
    return "; ".join(texts[:3]) + ("; ..." if len(texts) > 3 else "") if texts else "nothing"


def _assembly(record: Record, spot: PlaceRecord, act: Joined | Installed) -> Iterator[str]:
    item, part = spot.item, spot.item.part
    if not isinstance(item, Bin):
        return
    if item.doubtful:
        when = condition(record.profile, part)
        yield f"NO: {spot.name} is there only if {when}, which is open. Allowed now: choose the option"
    if not act.new:
        yield from _used_up(record, spot)
    if spot.stage == "in_unit":
        yield f"NO: nobody recorded that {spot.name} came out. Allowed now: record that, or that it was left in"
    sequence = Sequence(record)
    joining = isinstance(act, Joined)
    if joining and sequence.placed[item.step].group is None:
        yield f"NO: {spot.name} belongs to no group that is joined on the bench. Allowed now: {_now(record)}"
    if before := sequence.before(item.step, joining=joining):
        yield f"Not yet {spot.name}: {sequence.words(before)}"
    if isinstance(act, Installed) and part.series and not act.sizes:
        yield f"NO: {spot.name} is graded: say the size that goes in, not by its mark. Allowed now: measure it"


def _used_up(record: Record, spot: PlaceRecord) -> Iterator[str]:
    """Yield why the old part of a bin does not go in again."""
    uses = record.uses.get(spot.item.ordinal, ())
    wanted = max((use.pieces if use.pieces is not None else spot.expected or 1 for use in uses), default=0)
    if not wanted or spot.stage in ("installed", "verified"):
        return
    whole = spot.expected is None or wanted >= spot.expected
    ready = max(spot.staged or 0, spot.new)
    if not whole and ready >= wanted:
        return
    use = uses[0]
    part = spot.item.part
    why = {
        "always": "it is always renewed",
        "one_time": f"it was taken out with {', '.join(use.causes)}" if use.causes else "it is used once only",
        "lost": "it is lost",
        "size": f"another size was chosen, {use.size}",
        "with": f"it is renewed with {', '.join(use.causes)}",
        "pair": f"it is renewed as a pair with {', '.join(use.causes)}",
        "condemned": f"it was condemned by {spot.judged_by.who}" if spot.judged_by else "it was condemned",
    }[use.reason]
    if part.one_time and use.reason == "always":
        why = "it is used once only"
    new = f"{wanted} new" if whole else f"{wanted} of {spot.expected} new"
    supply = _supply(record, spot, use.number, wanted)
    yield f"NO: not the old {spot.name}: {why}; {new} needed, {supply}. Allowed now: scan the new part's label"


def _supply(record: Record, spot: PlaceRecord, number: str | None, wanted: int) -> str:
    here = record.received.get(spot.item.ordinal, 0) + (record.arrived.get(number, 0) if number else 0)
    if here:
        return f"{here} here" if here < wanted else "they are here"
    ordered = record.supplied.get(number, 0) if number else 0
    return f"{ordered} ordered, not here yet" if ordered else "not ordered yet"


def _verified(record: Record, spot: PlaceRecord) -> Iterator[str]:
    if spot.stage not in ("installed", "verified", "left_in"):
        yield f"NO: {spot.name} is not in. Allowed now: {Sequence(record).now_words()}"
    fasten = spot.item.part.fasten
    if fasten and fasten.torque and spot.torque is None and spot.stage == "installed":
        yield f"NO: {spot.name}: the torque, {fasten.torque}, is not signed. Allowed now: sign it"


def _torque(spot: PlaceRecord, act: TorqueSigned) -> Iterator[str]:
    fasten = spot.item.part.fasten
    if spot.stage not in ("installed", "verified"):
        yield f"NO: {spot.name} is not in. Allowed now: install it"
    if fasten is None or fasten.torque is None or act.torque is None:
        return
    try:
        signed = Quantity(act.torque, act.unit).newton_metres
    except (KeyError, ValueError):
        yield f'NO: {act.torque} "{act.unit}" is no torque. Allowed now: N·m, lbf·ft or lbf·in'
        return
    wanted = fasten.torque.newton_metres * act.share
    if abs(signed - wanted) > wanted * _TORQUE:
        off = (signed / wanted - 1) * 100
        yield (
            f"NO: {act.torque} {act.unit} is {signed:.1f} N·m, {abs(off):.0f} % {'over' if off > 0 else 'under'} "
            f"{wanted:.1f} N·m. Is the unit of the wrench right? Allowed now: tighten it again and sign that"
        )


def _end(record: Record, act: Signature | Closed, points: tuple[Open, ...]) -> Iterator[str]:
    if isinstance(act, Closed) and record.signed is not None:
        return
    if points:
        first = "; ".join(point.text for point in _weighty(points)[:_POINTS])
        more = f"; and {len(points) - _POINTS} more" if len(points) > _POINTS else ""
        yield f"NO: {len(points)} point{'s'[: len(points) != 1]} open: {first}{more}. Allowed now: {_now(record)}"
    elif isinstance(act, Closed):
        yield "NO: the job is not signed. Allowed now: sign it"


def _weighty(points: tuple[Open, ...]) -> list[Open]:
    """Return points with those first that mean a second teardown."""
    weight = {kind: place for place, kind in enumerate(("fit", "not_empty", "hold", "limit", "count", "torque"))}
    return sorted(points, key=lambda point: weight.get(point.kind, len(weight)))


def _told(record: Record, act: Act, place: int | None) -> Iterator[str]:
    """Yield what to say although it may be done."""
    if place is None:
        return
    spot = record.at(place)
    part = spot.item.part
    if isinstance(act, Removed):
        if spot.is_out and spot.since:
            yield f"{spot.name} was out already: event {spot.since}"
        if part.out and part.out.look_under:
            yield f"Look under it: {part.out.look_under}"
        for captured in record.teardown.inside:
            if isinstance(spot.item, Bin) and captured.parent == spot.item.step:
                yield f"{captured.part.name} stays inside, behind {captured.behind}: feel it, do not look for it"
        for name in before_teardown(record):
            yield f"{name.replace('-', ' ')} was not read before the teardown; later it cannot be"
    count = act.count if isinstance(act, Removed | CountFound) else None
    if count is not None and spot.expected is not None and count != spot.expected:
        yield count_text(record, spot.item, count)
    if isinstance(act, Installed) and spot.stage in ("installed", "verified"):
        last = spot.last_of("installed")
        yield f"{spot.name} is in already, by {last.who}" if last else f"{spot.name} is in already"
