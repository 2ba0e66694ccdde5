"""The new pieces of one number, each counted once: ordered, at the door, at their places, sent back.

What comes to a place was counted at the door before, or came straight to it from a parcel or from the shelf. Whoever
books it says which of the two where it can be both. What nobody said it of is taken to be from the shelf first, so that
nothing counts as delivered that may still be on its way. Common practice, no source.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable
from dataclasses import dataclass, replace
from decimal import Decimal

from labelkit.calc.measured import measured_here, one_for_each
from labelkit.calc.placerecord import PlaceRecord, told_of
from labelkit.calc.renewal import Use
from labelkit.calc.steps import Bin, Inside
from labelkit.model.acts import Ordered, Received, Returned, Source
from labelkit.model.events import Event


@dataclass(frozen=True, slots=True)
class Arrivals:
    """Pieces of one number.

    Attributes:
        ordered: that were ordered.
        parcel: that came of them: counted at the door, said to be of the order at a place, or sent back at once.
        shelf: that were said to be from the shelf.
        unsaid: that came to a place, and nobody said from where.
        loose: of those counted at the door, that are at no place yet.
        returned: that went back, of all that came.
        used: that were in and came out again, and are used once only or were condemned.
    """

    ordered: int = 0
    parcel: int = 0
    shelf: int = 0
    unsaid: int = 0
    loose: int = 0
    returned: int = 0
    used: int = 0

    @property
    def here(self) -> int:
        """Pieces that are here, or in."""
        return self.parcel + self.shelf + self.unsaid - self.returned - self.used

    def without(self, pieces: int) -> Arrivals:
        """Return the same but for so many pieces that came and are others: first those nobody said of from where."""
        left, came = pieces, []
        for some in (self.unsaid, self.parcel, self.shelf):
            came.append(some - min(some, left))
            left -= min(some, left)
        return replace(self, unsaid=came[0], parcel=came[1], shelf=came[2])

    @property
    def kept(self) -> int:
        """Pieces that were ordered, did not go back and are not used up: those from elsewhere are used up first."""
        used = max(self.used - self.shelf - self.unsaid, 0)
        return max(self.ordered - self.returned - used, 0)


def of_other_sizes(place: PlaceRecord, stack: Iterable[Use], uses: Iterable[Use]) -> int:
    """Return how many new pieces of a place are of other sizes than those of some uses.

    The pieces of a stack that was chosen come and lie together: each is of the size that it measures nearest to, what
    nobody measured may be of any.

    Args:
        place: where they lie.
        stack: all uses of the place.
        uses: those meant, of any place.
    """
    wanted = Counter[Decimal]()
    for use in stack:
        if use.size:
            wanted[use.size.mm] += use.pieces or 0
    own = {use.size.mm for use in uses if use.size and use.item.ordinal == place.item.ordinal}
    if own >= wanted.keys():
        return 0
    each = (size for pieces, read in measured_here(place) for size in one_for_each(read, pieces))
    known = Counter(min(wanted, key=lambda size: abs(size - read.mm)) for read in each)
    here, mine = max(place.came, place.staged or 0, place.new), sum(known[size] for size in own)
    unknown = max(here - known.total(), 0)
    return here - mine - min(unknown, max(sum(wanted[size] for size in own) - mine, 0))


def arrivals(events: Iterable[Event], number: str | None, items: Iterable[Bin | Inside]) -> Arrivals:
    """Return what events say of the pieces of one number.

    Args:
        events: all that count, in their order.
        number: the order number; None: not recorded, so that its pieces are only counted at their places.
        items: the places that get them.
    """
    ordered = loose = returned = 0
    came: dict[Source | None, int] = {"order": 0, "shelf": 0, None: 0}
    at = {item.ordinal: told_of(item) for item in items}
    for event in events:
        act, here = event.act, event.place
        before = after = 0
        if here is not None and here in at:
            before = at[here].here
            at[here].tell(event)
            after = at[here].here
        if isinstance(act, Ordered) and act.number == number:
            ordered += act.pieces
        elif isinstance(act, Received) and here is None and act.number == number and number:
            came["order"] += act.pieces
            loose += act.pieces
        elif isinstance(act, Returned):
            if act.number == number and (number or here in at):
                returned += act.pieces
                # What was not counted at its place lay at the door, or came and went in one.
                gone = act.pieces - act.counted
                fresh = max(gone - loose, 0)
                # What was on its way goes back before what lay on the shelf.
                parcel = min(fresh, max(ordered - came["order"], 0))
                came["order"] += parcel
                came[None] += fresh - parcel
                loose = max(loose - gone, 0)
        elif after > before:
            more, source = after - before, getattr(act, "source", None)
            fresh = more if source == "shelf" else max(more - loose, 0)
            came[source] += fresh
            loose -= more - fresh
    used = sum(each.used for each in at.values())
    return Arrivals(ordered, came["order"], came["shelf"], came[None], loose, returned, used)
