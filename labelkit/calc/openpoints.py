"""What is still open in a job: all that stops its signature."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from typing import Final, Literal

from labelkit.calc.endings import outdates
from labelkit.calc.facing import look_again, unsettled
from labelkit.calc.fitpoints import fit_points, to_choose_again
from labelkit.calc.fitsizes import unmeasured_for
from labelkit.calc.grades import chosen_words, other_size_in
from labelkit.calc.limits import Limits
from labelkit.calc.miscounts import count_question
from labelkit.calc.notepieces import hold_words
from labelkit.calc.oldandnew import still_counts
from labelkit.calc.passes import wanted_words
from labelkit.calc.placerecord import PlaceRecord
from labelkit.calc.record import Record
from labelkit.calc.steps import Inside
from labelkit.language import gettext as _
from labelkit.language import ngettext
from labelkit.model.act import Act
from labelkit.model.acts import Condemned, Deviation, Inspected, Installed, Removed, of_new, rejects_new
from labelkit.model.events import Event
from labelkit.model.part import Check
from labelkit.model.readings import Reading

Kind = Literal[
    "signed",
    "option",
    "stray",
    "hold",
    "seen",
    "not_out",
    "count",
    "not_empty",
    "missing",
    "still_in",
    "not_verified",
    "torque",
    "check",
    "at_end",
    "ask",
    "limit",
    "unmeasured",
    "unread",
    "fit",
    "choose",
]


_AS_FOUND: Final = ("before", "removal", "apart")


@dataclass(frozen=True, slots=True)
class Open:
    """One point that is open.

    Attributes:
        kind: of the point.
        text: a line for people.
        place: the ordinal of the place it is about; None: the job.
        fit: id of the fit it is about.
    """

    kind: Kind
    text: str
    place: int | None = None
    fit: str | None = None


def open_points(record: Record) -> tuple[Open, ...]:
    """Return everything that stops the signature: of the job, then of each place, then of the fits."""
    return (
        *_of_the_job(record),
        *(point for place in record.places.values() for point in place_points(record, place)),
        *(
            Open(_kind_of_fit(record, name), text, fit=name)
            for name in record.fits
            for text in fit_points(record, name)
        ),
    )


def against_signing(points: Iterable[Open]) -> tuple[Open, ...]:
    """Return which points stop a signature: not that something came after an older one."""
    return tuple(point for point in points if point.kind != "signed")


def _kind_of_fit(record: Record, name: str) -> Kind:
    if record.fits[name].after is None:
        return "unread"
    return "choose" if to_choose_again(record, name) else "fit"


def not_empty(record: Record) -> tuple[PlaceRecord, ...]:
    """Return the places of which something still lies on the bench."""
    return tuple(place for place in record.places.values() if place.is_out and not place.is_missing)


def _of_the_job(record: Record) -> Iterator[Open]:
    for group, choice in record.teardown.chosen.items():
        option, seen = record.profile.options[group], record.options_seen.get(group)
        if choice is None:
            told = _("{option} is still open: {tell}") if option.tell else _("{option} is still open")
            yield Open("option", told.format(option=option.name, tell=option.tell))
        elif seen is not None and getattr(seen.act, "choice", None) not in (None, choice):
            found = option.choices.get(str(getattr(seen.act, "choice", "")), _("something else"))
            told = _("{option}: {who} saw {found}, the job is set to {choice}").format(
                option=option.name, who=seen.who, found=found, choice=option.choices[choice]
            )
            yield Open("option", told)
    for stray in {event.place: event for event in record.strays}.values():
        told = _(
            "event {number} by {who} is of a part that the options leave out: "
            "correct it, and record it again at the right bin"
        )
        yield Open("stray", told.format(number=stray.number, who=stray.who))
    signed = {event.number: event.who for event in record.signatures}
    for number, later in record.signed_before.items():
        told = _("{who} signed before event {number} by {other}: look at that, and sign again")
        yield Open("signed", told.format(who=signed[number], number=later.number, other=later.who))
    for hold in record.holds:
        yield Open("hold", _("on hold by {who}: {why}").format(who=hold.who, why=hold_words(hold.act)))


def place_points(record: Record, place: PlaceRecord) -> Iterator[Open]:
    """Yield what is open about one place."""
    ordinal, name = place.item.ordinal, _name(record, place)
    for hold in place.holds:
        told = _("{part} is on hold by {who}: {why}")
        yield Open("hold", told.format(part=name, who=hold.who, why=hold_words(hold.act)), ordinal)
    if seen := unsettled(place):
        yield Open("seen", look_again(seen), ordinal)
    if place.stage == "in_unit":
        told = _("{part}: nobody recorded that it came out or was left in")
        yield Open("not_out", told.format(part=name), ordinal)
        return
    if counted := count_question(record, place):
        yield Open("count", counted, ordinal)
    if ordinal in record.to_come_out:
        told = _("{part}: the old one is still in, and is to be new: take it out")
        if ordinal not in record.uses:
            told = _("{part} is still in, and what it keeps in is to be new: take it out")
        yield Open("still_in", told.format(part=name), ordinal)
    elif place.is_missing:
        yield Open("missing", _("{part} is lost, and no new one is in").format(part=name), ordinal)
    elif place.is_out and isinstance(place.item, Inside):
        new = _("{part}: the new one is not in") if ordinal in record.uses else _("{part} is out, and not in again")
        yield Open("not_empty", new.format(part=name), ordinal)
    elif place.is_out:
        yield Open("not_empty", _left_text(place), ordinal)
    elif place.stage == "installed":
        yield Open("not_verified", _not_verified(place, name), ordinal)
    if unread := _unread(record, place):
        yield Open("unmeasured", unread, ordinal)
    if place.is_in and (torque := wanted_words(place)):
        told = _("{part}: the torque, {torque}, is not signed")
        yield Open("torque", told.format(part=name, torque=torque), ordinal)
    if place.is_condemned_in:
        told = _("{part} is in, and was condemned there: take it out")
        yield Open("limit", told.format(part=name), ordinal)
    if wrong := _of_another_size(record, place):
        yield Open("limit", wrong, ordinal)
    yield from _checks(place, name)


def _not_verified(place: PlaceRecord, name: str) -> str:
    """Return that nobody has verified a part as it is now: perhaps somebody did before it was tightened or measured."""
    before, since = place.last_of("verified"), place.last_of("installed")
    if before is None or (since and since.number > before.number):
        return _("{part} is in, but nobody has verified it").format(part=name)
    later = next(e for e in place.events if e.number > before.number and outdates(place.item.part, e.act))
    told = _("{part}: {who} verified it before event {number} by {other}: look at that, and verify it again")
    return told.format(part=name, who=before.who, number=later.number, other=later.who)


def next_to_inspect(record: Record, after: int | None = None) -> PlaceRecord | None:
    """Return the first place of which a point is to be inspected; None: there is none.

    Args:
        record: of the job.
        after: the ordinal of a place: those behind it come first, then those before it, and itself not at all.
    """
    places: Iterable[PlaceRecord] = record.places.values()
    if after is not None:
        others = (each for each in places if each.item.ordinal != after)
        places = sorted(others, key=lambda each: each.item.ordinal < after)
    return next((each for each in places if any(point.kind == "check" for point in place_points(record, each))), None)


def _name(record: Record, place: PlaceRecord) -> str:
    """Return step and name; of a captured part its name, and the step that it is inside."""
    step = record.teardown.step_holding(place.item) if isinstance(place.item, Inside) else ""
    inside = _("inside step {step}").format(step=step)
    return f"{place.name} ({inside})" if step else place.name


def asked_of(place: PlaceRecord) -> tuple[tuple[int | None, Event, str], ...]:
    """Return where somebody said `ask first` and nobody has judged since: number of the point, event, and the point.

    The number is None where the whole part is meant. That it is condemned, or an agreed deviation, answers all of
    them; that the whole part is good does not answer for a point. That the new one is condemned answers what was asked
    of that.
    """
    found: dict[int | None, Event] = {}
    for event in place.events:
        act = event.act
        if isinstance(act, Inspected):
            found.pop(act.check, None)
            if act.verdict == "ask":
                found[act.check] = event
        if rejects_new(act):
            found = {check: each for check, each in found.items() if not of_new(each.act)}
        elif isinstance(act, Condemned | Deviation | Removed) or _replaces(act):
            found.clear()
    checks = place.item.part.check
    points = {None: _("the whole part")} | {n: each.look or each.measure or "" for n, each in enumerate(checks)}
    return tuple((check, event, points.get(check, "")) for check, event in found.items())


def _replaces(act: Act) -> bool:
    return isinstance(act, Inspected) and act.verdict == "replace"


def unanswered(place: PlaceRecord) -> tuple[str, ...]:
    """Return the points to judge before a part goes in that nobody judged, nor put off to ask; none of a lost one."""
    if place.is_all_lost:
        return ()
    asked = {number for number, *_rest in asked_of(place)}
    return tuple(
        check.look or check.measure or ""
        for number, check in enumerate(place.item.part.check)
        if check.at != "assembled" and number not in asked and not is_done(place, number, check)
    )


def _left_text(place: PlaceRecord) -> str:
    """Return what of a bin lies on the bench: `19 Thrust race: 1 of 2 is in, 1 lies in the bin`."""
    whole = place.expected
    if whole is not None and place.placed:
        left = whole - place.placed
        told = ngettext(
            "{part}: {count} of {whole} is in, {left} not",
            "{part}: {count} of {whole} are in, {left} not",
            place.placed,
        )
        return told.format(part=place.name, count=place.placed, whole=whole, left=left)
    return _("{part}: the bin is not empty").format(part=place.name)


def _unread(record: Record, place: PlaceRecord) -> str:
    """Return that a graded piece lies ready, and nobody knows what it measures; empty where somebody does."""
    if place.staged is None or not (fits := unmeasured_for(record, place.item.ordinal)):
        return ""
    told = _("{part}: the new one lies ready and is not measured; {fits} needs its thickness")
    return told.format(part=place.name, fits=fits)


def _of_another_size(record: Record, place: PlaceRecord) -> str:
    """Return that another size is in than was chosen, which nobody agreed to; empty where none is."""
    if (found := other_size_in(record, place)) is None:
        return ""
    told = _("{part}: {size} mm is in, {chosen} was chosen for its fit; change it, or note a deviation")
    return told.format(part=place.name, size=found[1], chosen=chosen_words(record, place.item.ordinal))


def _checks(place: PlaceRecord, name: str) -> Iterator[Open]:
    """Yield the points of a part that nobody has judged, and those outside their limits that nobody has decided on."""
    part = place.item.part
    # What of it is old is to be judged, though some is new.
    renewed = place.is_condemned and place.new and (place.placed is None or place.new >= place.placed)
    asked = asked_of(place)
    for _number, event, what in asked:
        told = _("{part}: {who} wants somebody to be asked first: {what}")
        yield Open("ask", told.format(part=name, who=event.who, what=what), place.item.ordinal)
    for number, check in enumerate(part.check):
        at_end = check.at == "assembled"
        # What is used once only and came out is looked at for what it tells, and not for whether it is good.
        once = part.one_time and (place.new or (place.came_out and check.at not in _AS_FOUND))
        waived = not at_end and (place.stage == "left_in" or place.is_gone or renewed or once)
        what = check.look or check.measure or ""
        if any(number == point for point, *_rest in asked):
            continue
        # Who measured the new one all the same is to be heard.
        if waived and _last_reading(place, number, new=True) is None:
            continue
        if not waived and not is_done(place, number, check):
            told = _("{part}: not inspected yet: {points}").format(part=name, points=what)
            yield Open("at_end" if at_end else "check", told, place.item.ordinal)
        elif outside := outside_words(place, number, check, new=True if waived else None):
            told = _("{part}: {what}: {outside}; replace it, repair it, or note a deviation")
            yield Open("limit", told.format(part=name, what=what, outside=outside), place.item.ordinal)


def goes_in_again(place: PlaceRecord) -> bool:
    """Say whether the old part goes in again though nobody said so of the whole: it is in, or its points are good."""
    if place.stage in ("left_in", "installed", "verified"):
        return True
    looked_at = any(check.at != "assembled" for check in place.item.part.check)
    return (
        looked_at and place.stage != "in_unit" and all(point.kind == "at_end" for point in _checks(place, place.name))
    )


def is_done(place: PlaceRecord, number: int, check: Check) -> bool:
    """Say whether a point was looked at, or read as often as is wanted; one of the assembly since it last came out."""
    since = place.since if check.at == "assembled" else 0
    events = [e for e in place.events if e.number >= since and still_counts(place, e)]
    inspected = any(isinstance(e.act, Inspected) and e.act.check == number and e.act.verdict != "ask" for e in events)
    if check.look is not None:
        return inspected
    acts = [e.act for e in events if isinstance(e.act, Reading) and e.act.check == number]
    values = sum(len(act.values) for act in acts if isinstance(act, Reading))
    wanted = readings_wanted(place, check)
    return inspected or values >= wanted or (values > 0 and wanted == 1)


def readings_wanted(place: PlaceRecord, check: Check) -> int:
    """Return how many readings a point wants: nobody takes any of pieces that did not come out, or are condemned."""
    pieces, whole = check.each or 1, place.expected
    if whole:
        condemned = place.finding.pieces if place.finding and place.is_condemned else None
        # Of those that are lost it is known twice.
        gone = max(condemned or 0, whole - (whole if place.count is None else place.count))
        pieces = min(pieces, whole - gone) if gone else pieces
    return pieces * (check.readings or 1)


def _decides(place: PlaceRecord, event: Event, *, new: bool) -> bool:
    """Say whether an event decides on a reading that is outside its limits; that the part is good does not, by itself.

    Args:
        place: where it was read.
        event: that came after the reading.
        new: the reading is of the new part. Once that was in, the label of the bin means it, too.
    """
    act = event.act
    was_in = any(isinstance(e.act, Installed) and e.number < event.number for e in place.events)
    if isinstance(act, Deviation):
        return True
    if of_new(act) != new and not was_in:
        return False
    if isinstance(act, Inspected):
        return act.verdict != "reuse" or act.override is not None
    return new and isinstance(act, Condemned)


def _last_reading(place: PlaceRecord, number: int, *, new: bool | None = None) -> Event | None:
    return next((e for e in reversed(place.readings(number)) if new in (None, of_new(e.act))), None)


def outside_words(place: PlaceRecord, number: int, check: Check, *, new: bool | None = None) -> str:
    """Return which of the last readings of a point is outside its limits; empty when none is, or it was decided on.

    Args:
        place: where it was read.
        number: of the point.
        check: the point.
        new: whether the new part is meant, or the old one; None: whichever was read last.
    """
    last = _last_reading(place, number, new=new)
    if last is None or not isinstance(last.act, Reading):
        return ""
    # That the old part is condemned says nothing of the new one.
    decided = place.is_condemned and not last.act.new
    if decided or any(e.number > last.number and _decides(place, e, new=last.act.new) for e in place.events):
        return ""
    bad = [str(value) for value in last.act.values if not Limits(check.min, check.max).allow(value, last.act.unit)]
    if not bad and last.act.verdict != "out":
        return ""
    read = f"{', '.join(bad) or last.act.value} {last.act.unit}"
    if check.min and check.max:
        told = _("read {read}, allowed {low} to {high}")
    elif check.min:
        told = _("read {read}, allowed at least {low}")
    else:
        told = _("read {read}, allowed at most {high}") if check.max else _("read {read}, allowed less")
    return told.format(read=read, low=check.min, high=check.max)
