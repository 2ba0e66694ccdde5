"""What the way apart still wants: the next part out, what is measured before and with it, what is out for the wash."""

from __future__ import annotations

from labelkit.calc.assembly import partners
from labelkit.calc.openpoints import is_done
from labelkit.calc.placerecord import PlaceRecord
from labelkit.calc.record import READ_TOGETHER, Record
from labelkit.calc.steps import Bin, Inside, Teardown
from labelkit.model.part import Check
from labelkit.model.profile import Fit


def next_out(record: Record) -> Bin | None:
    """Return the bin that comes out next, the first of which nothing is recorded; None: none is left."""
    for each in record.teardown.bins:
        if record.at(each.ordinal).stage == "in_unit":
            return each
    return None


def before_teardown(record: Record) -> tuple[str, ...]:
    """Return the fits that are read while the unit is together and have no reading of that time."""
    return tuple(
        name
        for name, fit in record.fits.items()
        if fit.before is None and record.profile.fits[name].kind in READ_TOGETHER
    )


def still_readable(record: Record) -> tuple[str, ...]:
    """Return those of them that can still be read: nothing that ends it has come out."""
    ends = {name: opened_by(record.teardown, record.profile.fits[name]) for name in before_teardown(record)}
    return tuple(name for name, end in ends.items() if end is None or record.at(end.ordinal).stage == "in_unit")


def opened_by(teardown: Teardown, fit: Fit) -> Bin | None:
    """Return what may not come out before a fit is read: its first part, or the whole that this comes out in.

    The screws of a cover may: tightened again they hold it as it was.
    """
    parts = [each for part in fit.parts for each in teardown.of(part)]
    first = min(parts, key=lambda each: teardown.places[each.step], default=None)
    while first and first.parent:
        first = teardown.at(first.parent)
    return first


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
