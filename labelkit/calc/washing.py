"""Before the wash: what must be out of what is washed, what is cleaned by hand, and what is never cleaned."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Final

from labelkit.calc.apart import before_wash, hosts
from labelkit.calc.placerecord import PlaceRecord
from labelkit.calc.record import Record
from labelkit.calc.steps import Bin
from labelkit.calc.trays import nothing_but_parts
from labelkit.language import gettext as _
from labelkit.language import noop
from labelkit.model.acts import WashStarted

_NOT_CLEANED: Final = {"not_washed": noop("it is not washed")}
# What stays out of the washer: some of it is wiped, or cleaned in oil.
_STAYS_OUT: Final = {"no_solvent": noop("no solvent comes near it"), **_NOT_CLEANED}


def is_dirty(place: PlaceRecord) -> bool:
    """Say whether some of it lies on the bench to go in again, and nobody marked it clean since it came out.

    What is measured as it comes out may be judged good before the wash.
    """
    lies = place.stage in ("removed", "binned", "inspected")
    return lies and not place.is_gone and place.last_of("washed") is None


def ever_washed(record: Record, place: PlaceRecord) -> bool:
    """Say whether a place is ever washed.

    Nothing that is thrown away is: an old part that is kept as a sample is wiped at most. Common practice, no source.
    """
    return not (record.is_thrown_away(place.item.ordinal) or place.item.part.new_only)


def gets_clean(record: Record, place: PlaceRecord) -> bool:
    """Say whether a place is cleaned, in the washer or by hand: no sub-assembly of which nothing is left."""
    cleaned = place.item.part.wash not in _NOT_CLEANED and ever_washed(record, place)
    return cleaned and not _is_emptied(record, place)


def cleanable(record: Record) -> Iterator[int]:
    """Yield what is out and gets clean; nothing on hold, since the dirt may be what somebody is to look at."""
    for ordinal, place in record.places.items():
        if place.is_out and not place.holds and gets_clean(record, place):
            yield ordinal


def washable(record: Record) -> Iterator[int]:
    """Yield what goes into the washer where nobody says what does."""
    return (ordinal for ordinal in cleanable(record) if record.at(ordinal).item.part.wash not in _STAYS_OUT)


def is_washed(record: Record) -> bool:
    """Say whether nothing is left to do at the wash: nothing dirty lies on the bench, nothing must be out before it."""
    return not before_wash(record) and not any(is_dirty(record.at(ordinal)) for ordinal in cleanable(record))


def in_washer(record: Record) -> frozenset[int]:
    """Return what went into the washer since it came out of the unit, and nobody marked clean since."""
    return frozenset(
        ordinal
        for event in record.standing
        if isinstance(event.act, WashStarted)
        for ordinal in event.act.places
        if (place := record.places.get(ordinal)) and is_dirty(place) and event.number > place.since
    )


def _is_emptied(record: Record, place: PlaceRecord) -> bool:
    """Say whether a sub-assembly is nothing but its parts, and these are all out of it."""
    item = place.item
    if not isinstance(item, Bin) or place.closed or not nothing_but_parts(item.part, record.teardown.chosen):
        return False
    own = [record.at(each.ordinal) for each in record.teardown.bins if each.parent == item.step]
    return bool(own) and all(each.stage not in ("in_unit", "left_in") for each in own)


def wash_refusals(record: Record, places: tuple[int, ...], *, all_of_it: bool) -> Iterator[str]:
    """Yield why places are not washed, or not clean: a part that must be out before may lie in one of them.

    Args:
        record: of the job.
        places: that are washed, or marked clean.
        all_of_it: the washer is started: what must be out before may lie in anything that is about.
    """
    kept_out = _STAYS_OUT if all_of_it else _NOT_CLEANED
    for ordinal in places:
        place = record.places.get(ordinal)
        if place and (why := kept_out.get(place.item.part.wash or "")):
            told = _("NO: {part} does not go into the washer: {why}. Allowed now: the rest, without it")
            yield told.format(part=place.name, why=_(why))
    for small in before_wash(record):
        around = hosts(record, small.item)
        inside = around & set(places)
        about = {host for host in around if all_of_it and record.at(host).is_out}
        uncounted = small.is_out and small.count is None
        if around and not (inside or about or (all_of_it and uncounted)):
            continue
        where = next((record.at(host).name for host in sorted(inside | about)), "")
        if uncounted:
            told = _("{part} is out but not counted and bagged")
        elif small.count is not None and small.stage != "in_unit":
            told = _("{part} is not complete: {count} of {expected}")
        else:
            told = _("{part} is not out")
        state = told.format(part=small.name, count=small.count, expected=small.expected)
        if where:
            state = _("{state}; it may lie in {place}").format(state=state, place=where)
        refusal = _("NO: out before the wash: {state}. Allowed now: take it out, count it, then wash")
        yield refusal.format(state=state)
