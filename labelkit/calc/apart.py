"""What the way apart still wants: the next part out, what is measured before and with it, what is out for the wash."""

from __future__ import annotations

from collections.abc import Sequence

from labelkit.calc.assembly import Placed, partners
from labelkit.calc.closing import closed_by, whole_of
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
    """Return what comes out before a bin and has not: beside it, and beside and with what it is inside.

    What comes out together with it is as far as it is, and of what may not be there nobody knows.
    """
    found: list[PlaceRecord] = []
    inner: Bin | None = item
    while inner is not None:
        together = {inner.part.id, inner.part.out.together if inner.part.out else None}
        found += [
            record.at(other.ordinal)
            for other in record.teardown.bins
            if other.parent == inner.parent and other.ordinal < inner.ordinal and not other.doubtful
            if record.at(other.ordinal).stage == "in_unit"
            if other.part.id not in together and not (other.part.out and other.part.out.together == inner.part.id)
        ]
        inner = record.teardown.at(inner.parent) if inner.parent else None
        if inner is not None and record.at(inner.ordinal).stage == "in_unit":
            found.append(record.at(inner.ordinal))
        elif inner is not None:
            break
    return tuple(sorted(found, key=lambda each: each.item.ordinal))


def lies_on(record: Record, item: Bin) -> tuple[PlaceRecord, ...]:
    """Return what keeps a bin in: of what comes out before it, its screws, the ring that holds it, what lies on it.

    What sits on a body that is screwed, pressed or slipped in may come out on it. Common practice, no source.
    """
    return tuple(
        each
        for each in ahead(record, item)
        if isinstance(each.item, Bin) and each.item.parent == item.parent and _bars(record, each.item, item)
    )


def _bars(record: Record, outer: Bin, inner: Bin) -> bool:
    under = outer.part.sits is not None and outer.part.sits.on == inner.part.id
    covered = under and (outer.part.fasten or (inner.part.held and inner.part.held.by in ("loose", "ring")))
    if not covered and inner.part.holder != outer.part.id:
        return False
    return inner in partners(record.teardown, outer, inner.part.id)


def measure_now(record: Record, ordinal: int) -> tuple[tuple[int, Check], ...]:
    """Return the points of a part that can be judged only while it comes apart, and have not been, by number."""
    place = record.at(ordinal)
    return tuple(
        (number, check)
        for number, check in enumerate(place.item.part.check)
        if check.at in ("removal", "apart") and not is_done(place, number, check)
    )


def before_wash(record: Record) -> tuple[PlaceRecord, ...]:
    """Return the parts that must be out and counted before the wash, and are not."""
    return tuple(
        place for place in record.places.values() if place.item.part.wash == "before" and not _is_bagged(place)
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


def _is_bagged(place: PlaceRecord) -> bool:
    if place.stage in ("in_unit", "removed"):
        return False
    short = place.is_uncounted or (place.count is not None and place.count < (place.expected or 0))
    return place.is_done or place.stage in ("installed", "staged") or not short or place.is_lost
