"""What keeps a part in, and what of all that was left in, or stays inside another part, must come out all the same."""

from __future__ import annotations

from collections.abc import Container, Iterator, Mapping, Sequence

from labelkit.calc.assembly import Placed, partners
from labelkit.calc.placerecord import PlaceRecord
from labelkit.calc.steps import Bin, Inside, Teardown


def out_before(teardown: Teardown, item: Bin) -> Iterator[Bin]:
    """Yield what comes out before a bin, beside it.

    What comes out together with it is as far as it is, and of what may not be there nobody knows.
    """
    together = {item.part.id, item.part.out.together if item.part.out else None}
    beside = (each for each in teardown.bins if each.parent == item.parent and each.ordinal < item.ordinal)
    for each in beside:
        along = each.part.id in together or (each.part.out and each.part.out.together == item.part.id)
        if not (along or each.doubtful):
            yield each


def kept_in_by(teardown: Teardown, order: Sequence[Placed], item: Bin | Inside) -> tuple[Bin | Inside, ...]:
    """Return what keeps a part in where it is itself in, wherever that is now.

    Of what comes out before a bin: its screws, the ring that holds it, what lies on it; what sits on a body that is
    screwed, pressed or slipped in may come out on it. Of a part that stays inside another: what captures it, and what
    stays inside and goes in after it. Common practice, no source.
    """
    if isinstance(item, Bin):
        return tuple(other for other in out_before(teardown, item) if _bars(teardown, other, item))
    within = {each.item.ordinal: each for placed in order for each in placed.within}
    later = (each.item for each in within.values() if item.ordinal in each.after)
    return (*partners(teardown, item, item.behind), *later)


def _bars(teardown: Teardown, outer: Bin, inner: Bin) -> bool:
    under = outer.part.sits is not None and outer.part.sits.on == inner.part.id
    covered = under and (outer.part.fasten or (inner.part.held and inner.part.held.by in ("loose", "ring")))
    return bool(covered or inner.part.holder == outer.part.id) and inner in partners(teardown, outer, inner.part.id)


def to_come_out(
    teardown: Teardown, order: Sequence[Placed], places: Mapping[int, PlaceRecord], renewed: Container[int]
) -> frozenset[int]:
    """Return what stays in by the record though it is to be new, or keeps such a part in, by ordinal.

    Args:
        teardown: the removal order of a job.
        order: its order of assembly.
        places: where each part is, by ordinal.
        renewed: ordinals of what is to be new.
    """
    found: set[int] = set()
    waiting = [ordinal for ordinal, place in places.items() if place.stays_in and ordinal in renewed]
    while waiting:
        ordinal = waiting.pop()
        if ordinal not in found:
            found.add(ordinal)
            keepers = (each.ordinal for each in kept_in_by(teardown, order, places[ordinal].item))
            waiting += [keeper for keeper in keepers if places[keeper].stays_in]
    return frozenset(found)
