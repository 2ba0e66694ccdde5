"""What of a job is not as its profile wants it: of what is there, and of pieces that went out since."""

from __future__ import annotations

from collections.abc import Iterable, Mapping

from labelkit.calc.measured import differences
from labelkit.calc.oldandnew import came_here
from labelkit.calc.placerecord import PlaceRecord
from labelkit.model.act import Act, Gated
from labelkit.model.acts import Deviation, Installed, Received, Returned, Staged, condemns, of_new
from labelkit.model.events import Event


def deviations(standing: Iterable[Event], places: Mapping[int, PlaceRecord]) -> dict[bool, tuple[Event, ...]]:
    """Return the events that deviate: by True those of pieces that went out since, by False all others.

    That are deviations that were noted, what was done although the gate refused, and what came new and measures
    otherwise as long as it is here or in.

    Args:
        standing: the events of a job that count, in their order.
        places: of the job, by ordinal.
    """
    unlike = {e.number for place in places.values() for e in came_here(place) if differences(e.act.note)}
    found: dict[bool, list[Event]] = {True: [], False: []}
    for event in standing:
        overridden = isinstance(event.act, Gated) and event.act.override is not None
        if overridden or isinstance(event.act, Deviation) or event.number in unlike:
            place = places.get(-1 if event.place is None else event.place)
            found[place is not None and _went_out(place, event)].append(event)
    return {gone: tuple(events) for gone, events in found.items()}


def _went_out(place: PlaceRecord, event: Event) -> bool:
    """Say whether all pieces that an event is about were condemned, sent back or replaced since.

    Of some pieces of several nobody knows which they were.
    """
    before = [e.act for e in place.events if e.number <= event.number and isinstance(e.act, Installed)]
    was_in = bool(before) and before[-1].new
    new, gone = was_in or of_new(event.act) or isinstance(event.act, Received | Staged), False
    for act in (e.act for e in place.events if e.number > event.number):
        if not _is_whole(place, act):
            continue
        if isinstance(act, Installed):
            if new != act.new:
                gone = gone or act.new  # new ones replace old ones
            elif not new:
                gone = False  # what went in again did not go out
            was_in = was_in or act.new
        elif isinstance(act, Returned):
            gone = gone or new
        elif condemns(act):
            gone = gone or of_new(act) == new or (new and was_in)
    return gone


def _is_whole(place: PlaceRecord, act: Act) -> bool:
    pieces = getattr(act, "pieces", None)
    return pieces is None or (place.expected is not None and pieces >= place.expected)
