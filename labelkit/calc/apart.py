"""What the way apart still wants: the next part out, what is measured before and with it, what is out for the wash."""

from __future__ import annotations

from collections.abc import Sequence

from labelkit.calc.assembly import Placed, partners
from labelkit.calc.closing import closed_by, whole_of
from labelkit.calc.keptin import kept_in_by, out_before
from labelkit.calc.openpoints import is_done
from labelkit.calc.placerecord import PlaceRecord
from labelkit.calc.record import Record
from labelkit.calc.steps import Bin, Inside, Teardown
from labelkit.model.part import Check
from labelkit.model.profile import Fit


def next_out(record: Record) -> Bin | None:
    """Return the bin that comes out next, the first of which nothing is recorded; None: none is left."""
    for each in record.teardown.bins:
        if record.at(each.ordinal).stage == "in_unit":
            return each
    return None


def still_readable(record: Record) -> dict[str, Bin]:
    """Return the fits that nobody read as found and that still can be, each with the part that ends it, still in.

    The plates of a stack are measured when they are out.
    """
    ends = {
        name: unopened(record, name)
        for name, fit in record.fits.items()
        if fit.before is None and record.profile.fits[name].read.found
    }
    return {name: end for name, end in ends.items() if end}


def readable_now(record: Record) -> dict[str, Bin]:
    """Return those of them that can be read now: a clearance waits until what ends it is the next to come out."""
    return {
        name: end
        for name, end in still_readable(record).items()
        if record.profile.fits[name].read.together or not ahead(record, end)
    }


def unopened(record: Record, name: str) -> Bin | None:
    """Return the first part that holds a fit as it was found and is still in; None: it can be read no more, or never.

    The screws of a cover end nothing yet: tightened again they hold it as it was.
    """
    fit = record.profile.fits[name]
    held = held_by(record.teardown, record.order, fit)
    out = [each for each in held if record.at(each.ordinal).stage not in ("in_unit", "left_in")]
    if any(ends(each, fit) for each in out):
        return None
    return next((each for each in held if record.at(each.ordinal).stage == "in_unit"), None)


def loosened(record: Record, name: str) -> tuple[PlaceRecord, ...]:
    """Return the screws that hold a fit as it was found and are out: with them tightened again it can still be read."""
    held = held_by(record.teardown, record.order, record.profile.fits[name])
    return tuple(record.at(each.ordinal) for each in held if record.at(each.ordinal).is_out)


def held_by(teardown: Teardown, order: Sequence[Placed], fit: Fit) -> tuple[Bin, ...]:
    """Return what holds a fit as it is, in removal order: read together, all that closes its chain; else its parts.

    Args:
        teardown: the removal order of a job.
        order: its order of assembly.
        fit: the fit.
    """
    closed = closed_by(teardown, order, fit) if fit.read.together else None
    parts = teardown.of(*fit.parts)
    held = {each.step: each for each in (*parts, *(teardown.at(step) for step in closed or ()))}
    if fit.read.together:
        held |= {whole.step: whole for each in parts if (whole := whole_of(teardown, each)) != each}
    return tuple(sorted(held.values(), key=lambda each: teardown.places[each.step]))


def ends(item: Bin, fit: Fit) -> bool:
    """Say whether a fit that a part holds cannot be read any more once it is out, whatever is tightened again."""
    return item.part.fasten is None or item.part.id in fit.parts


def ahead(record: Record, item: Bin) -> tuple[PlaceRecord, ...]:
    """Return what comes out before a bin and has not: beside it, and beside and with what it is inside."""
    found: list[PlaceRecord] = []
    inner: Bin | None = item
    while inner is not None:
        beside = (record.at(other.ordinal) for other in out_before(record.teardown, inner))
        found += [each for each in beside if each.stage == "in_unit"]
        inner = record.teardown.at(inner.parent) if inner.parent else None
        if inner is not None and record.at(inner.ordinal).stage == "in_unit":
            found.append(record.at(inner.ordinal))
        elif inner is not None:
            break
    return tuple(sorted(found, key=lambda each: each.item.ordinal))


def lies_on(record: Record, item: Bin | Inside) -> tuple[PlaceRecord, ...]:
    """Return what keeps a part in and is not out: its screws, the ring that holds it, what lies on or captures it."""
    keepers = (record.at(each.ordinal) for each in kept_in_by(record.teardown, record.order, item))
    return tuple(each for each in keepers if not each.is_apart)


def shut_in(record: Record, place: PlaceRecord) -> PlaceRecord | None:
    """Return the sub-assembly of a part that was built in since the part last came out; None: nothing shuts it in."""
    if place.item.parent is None:
        return None
    around = record.at_step(place.item.parent)
    last = around.last_of("joined", "installed") if around.is_built_in else None
    return around if last is not None and last.number > place.since else None


def first_out(record: Record, place: PlaceRecord) -> list[PlaceRecord]:
    """Return what comes out before something goes in at a place, in that order, the last the part that still is in it.

    What shuts it in; what captures a part that stays inside another, wherever that part is; of what stays in by the
    record all that keeps it in.
    """
    if not (place.is_apart or place.stays_in):
        return []
    if around := shut_in(record, place):
        return [around]
    found: dict[int, PlaceRecord] = {}
    if place.stays_in or isinstance(place.item, Inside):
        for keeper in lies_on(record, place.item):
            more = (*first_out(record, keeper), keeper)
            found |= {each.item.ordinal: each for each in more}
    if place.stays_in:
        found[place.item.ordinal] = place
    return list(found.values())


def measure_now(record: Record, ordinal: int) -> tuple[tuple[int, Check], ...]:
    """Return the points of a part that can be judged only while it comes apart, and have not been, by number."""
    place = record.at(ordinal)
    return tuple(
        (number, check)
        for number, check in enumerate(place.item.part.check)
        if check.at in ("removal", "apart") and not (place.is_all_lost or is_done(place, number, check))
    )


def before_wash(record: Record) -> tuple[PlaceRecord, ...]:
    """Return the parts that must be out and counted before the wash, and are not."""
    return tuple(
        place for place in record.places.values() if place.item.part.wash == "before" and not _is_bagged(record, place)
    )


def hosts(record: Record, item: Bin | Inside) -> frozenset[int]:
    """Return the places a small part may lie in: what it lies on or comes out with, and its sub-assembly."""
    found = set()
    part = item.part
    for name in (part.sits.on if part.sits else None, part.out.together if part.out else None):
        if name is not None and isinstance(item, Bin):
            found |= {other.ordinal for other in partners(record.teardown, item, name)}
    above = item.parent
    while above is not None:
        parent = record.teardown.at(above)
        found.add(parent.ordinal)
        above = parent.parent
    return frozenset(found)


def _is_bagged(record: Record, place: PlaceRecord) -> bool:
    if place.stage in ("in_unit", "removed"):
        return False
    short = place.is_uncounted or (place.count is not None and place.count < (place.expected or 0))
    done = record.is_done(place.item.ordinal) or place.stage in ("installed", "staged")
    return done or not short or place.is_lost
