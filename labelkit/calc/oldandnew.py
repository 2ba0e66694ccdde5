"""What of the events of a place is about its old part, and what about new pieces that are not used."""

from __future__ import annotations

from collections import Counter
from collections.abc import Callable, Iterator

from labelkit.calc.newpieces import Lot, Told
from labelkit.calc.placerecord import PlaceRecord
from labelkit.model.acts import Condemned, Installed, Received, Removed, of_new, rejects_new
from labelkit.model.events import Event
from labelkit.model.part import Check
from labelkit.model.readings import Reading


def old_reading(place: PlaceRecord, words: str) -> Reading | None:
    """Return the last reading of the old part at a point whose measure begins with some words; None without one."""
    return _old(place, lambda check: (check.measure or "").casefold().startswith(words))


def kept_reading(place: PlaceRecord) -> Reading | None:
    """Return the last reading of the old part that is kept for a fit; None without one."""
    return _old(place, lambda check: check.keep)


def _old(place: PlaceRecord, wanted: Callable[[Check], bool]) -> Reading | None:
    first = next((e.number for e in place.events if isinstance(e.act, Received)), None)
    points = place.item.part.check
    for event in reversed(place.events):
        act = event.act
        if not isinstance(act, Reading) or act.check is None or act.new:
            continue
        if first is not None and event.number > first:
            continue
        if act.check < len(points) and wanted(points[act.check]):
            return act
    return None


def old_lost(place: PlaceRecord) -> int | None:
    """Return the old pieces that are lost, None: all of them; what is lost after new ones went in may be one of these.

    What is lost by its sticker is new.
    """
    found = 0
    for act in (event.act for event in place.events):
        if isinstance(act, Installed) and act.new:
            break
        if isinstance(act, Condemned) and act.lost and not act.new:
            if act.pieces is None:
                return None
            found += act.pieces
    return found


def old_replaced(place: PlaceRecord) -> int | None:
    """Return how many old pieces are out for good, since new ones lie ready or went in for them; None: nobody counted.

    They stay so when the new ones come out again, or go back, until old ones are in in their place.
    """
    if not (most := max(_most_in(place), place.staged or 0)) and place.staged is None:
        return 0
    if place.expected is None:
        return 0 if place.is_in and not place.new else most or None
    return min(most or place.expected, place.expected - (place.placed or 0) + place.new)


def _most_in(place: PlaceRecord) -> int:
    """Return how many new pieces were in at one time, at most."""
    outs = [event.number for event in place.events if isinstance(event.act, Removed)]
    told = (each for lot in place.lots.values() for each in lot.told if each.kind == "installed")
    times: Counter[int] = Counter()
    for each in told:
        times[sum(out < each.event for out in outs)] += each.pieces
    return max(times.values(), default=0)


def has_some_new(place: PlaceRecord) -> bool:
    """Say whether new pieces are here, or in; also where nobody counted those that lie ready."""
    return any(lot.here or lot.staged is not None for lot in place.lots.values())


def rejected(place: PlaceRecord) -> Event | None:
    """Return the event that last said of new pieces that they are not used; None: none did."""
    return next((e for e in reversed(place.events) if rejects_new(e.act)), None)


def still_counts(place: PlaceRecord, event: Event) -> bool:
    """Say whether what was looked at or measured is there: it is not of new pieces that were all rejected since."""
    if not of_new(event.act) or (gone := rejected(place)) is None:
        return True
    return gone.number < event.number or getattr(gone.act, "pieces", None) is not None


def came_here(place: PlaceRecord) -> Iterator[Event]:
    """Yield with which events the new pieces that are here, or in, came and were laid ready, the last first."""
    kinds = ("received", "staged")  # which tell of the same pieces
    numbers = {each.event for lot in place.lots.values() for kind in kinds for each in _latest(lot, kind)}
    return (event for event in reversed(place.events) if event.number in numbers)


def _latest(lot: Lot, kind: str) -> Iterator[Told]:
    """Yield what events of a kind told of the pieces of a lot that are here; without a count it is of all of them."""
    here = lot.here or int(lot.staged is not None)
    return (each for each, _pieces in lot.latest(here, lambda told: (told.pieces or here) * (told.kind == kind)))
