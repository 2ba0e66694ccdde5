"""Before the wash: what must be out of what is washed, what is cleaned by hand, and what is never cleaned."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass
from typing import Final

from labelkit.calc.apart import before_wash, hosts
from labelkit.calc.placerecord import PlaceRecord
from labelkit.calc.record import Record
from labelkit.calc.steps import Bin, Inside
from labelkit.calc.trays import nothing_but_parts
from labelkit.language import gettext as _
from labelkit.language import noop
from labelkit.model.part import Part, Wash

_NOT_CLEANED: Final = {"not_washed": noop("it is not washed")}
# What stays out of the washer: some of it is wiped, or cleaned in oil.
_STAYS_OUT: Final = {"no_solvent": noop("no solvent comes near it"), **_NOT_CLEANED}
# How what stays inside a part bids that to be cleaned: round what is not washed at all it is wiped without solvent.
_BIDS: Final[Mapping[str | None, Wash]] = {"wipe": "wipe", "no_solvent": "no_solvent", "not_washed": "no_solvent"}


@dataclass(frozen=True, slots=True)
class Treatment:
    """How a part is washed: its class, and what stays inside it where that makes it stricter than its own.

    Common practice, no source: what a bearing in a housing cannot stand the housing is spared, too.
    """

    wash: Wash | None
    because: tuple[Part, ...] = ()


def treatment(part: Part, inside: Iterable[Part]) -> Treatment:
    """Return how a part is washed together with what stays inside it."""
    bids = [(bid, each) for each in inside if (bid := _BIDS.get(each.wash))]
    strictest = max((bid for bid, _each in bids), key=_strict, default=None)
    if _strict(strictest) <= _strict(part.wash):
        return Treatment(part.wash)
    return Treatment(strictest, tuple(each for bid, each in bids if bid == strictest))


def _strict(wash: Wash | None) -> int:
    """Return how strict a class is: washed in a basket or not known, 0."""
    return {"wipe": 1, "no_solvent": 2, "not_washed": 3, "before": 3}.get(wash or "", 0)


def treated(record: Record, place: PlaceRecord) -> Treatment:
    """Return how a part is washed as it is now."""
    return treatment(place.item.part, (each.item.part for each in carried(record, place)))


def carried(record: Record, place: PlaceRecord) -> Iterator[PlaceRecord]:
    """Yield what is inside a part and goes along into the washer; nothing that is to be thrown away.

    What is inside a part that is still in the unit comes out of it in its turn.
    """
    return _inside(record, place.item, out=place.is_out)


def _inside(record: Record, around: Bin | Inside, *, out: bool) -> Iterator[PlaceRecord]:
    if not isinstance(around, Bin):
        return
    for ordinal, each in record.places.items():
        item = each.item
        step = record.teardown.step_holding(item) if isinstance(item, Inside) else item.parent
        in_turn = each.stage == "in_unit" and not out
        if step == around.step and not (in_turn or each.is_apart or record.is_thrown_away(ordinal)):
            yield each
            yield from _inside(record, item, out=out)


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
    return (ordinal for ordinal in cleanable(record) if treated(record, record.at(ordinal)).wash not in _STAYS_OUT)


def is_washed(record: Record) -> bool:
    """Say whether nothing is left to do at the wash: nothing dirty lies on the bench, nothing must be out before it."""
    return not before_wash(record) and not any(is_dirty(record.at(ordinal)) for ordinal in cleanable(record))


def in_washer(record: Record) -> frozenset[int]:
    """Return what is in the washer."""
    return frozenset(ordinal for ordinal, place in record.places.items() if is_in_washer(record, place))


def is_in_washer(record: Record, place: PlaceRecord) -> bool:
    """Say whether a part went into the washer since it came out of the unit, and nobody marked it clean since."""
    return is_dirty(place) and record.into_washer.get(place.item.ordinal, 0) > place.since


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
        how = treated(record, place) if place else Treatment(None)
        if place and (why := kept_out.get(how.wash or "")):
            why = _("no solvent comes near what stays inside it, {parts}") if how.because else _(why)
            told = _("NO: {part} does not go into the washer: {why}. Allowed now: the rest, without it")
            parts = ", ".join(each.name for each in how.because)
            yield told.format(part=place.name, why=why.format(parts=parts))
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
