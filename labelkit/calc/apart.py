"""What the way apart still wants: the next part out, what is measured before and with it, what is out for the wash."""

from __future__ import annotations

from labelkit.calc.assembly import partners
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
    """Return the part that ends the reading of a fit as it was found, while it is in; None: it is out, or none does."""
    end = opened_by(record.teardown, record.profile.fits[name])
    return end if end and record.at(end.ordinal).stage == "in_unit" else None


def opened_by(teardown: Teardown, fit: Fit) -> Bin | None:
    """Return what may not come out before a fit is read: its first part; read together, the whole it comes out in.

    The screws of a cover may: tightened again they hold it as it was.
    """
    parts = [each for part in fit.parts for each in teardown.of(part)]
    first = min(parts, key=lambda each: teardown.places[each.step], default=None)
    while first and first.parent and fit.read.together:
        first = teardown.at(first.parent)
    return first


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
    lost = place.finding is not None and place.finding.verdict == "lost"
    short = place.expected is not None and place.count is not None and place.count < place.expected
    return place.is_done or place.stage in ("installed", "staged") or not short or lost
