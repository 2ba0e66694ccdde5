"""The new pieces of one number, each counted once: ordered, at the door, at their places, sent back.

What comes to a place was counted at the door before, or came straight to it from a parcel or from the shelf. Whoever
books it says which of the two where it can be both. What nobody said it of is taken to be from the shelf first, so that
nothing counts as delivered that may still be on its way. Common practice, no source.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Callable, Collection, Iterable, Sequence
from dataclasses import dataclass, replace
from decimal import Decimal

from labelkit.calc.newpieces import Lot
from labelkit.calc.placerecord import PlaceRecord
from labelkit.calc.renewal import Use
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
        spare: that lie at a place that gets none such: another size was chosen since, or it keeps the old ones.
    """

    ordered: int = 0
    parcel: int = 0
    shelf: int = 0
    unsaid: int = 0
    loose: int = 0
    returned: int = 0
    used: int = 0
    spare: int = 0

    @property
    def here(self) -> int:
        """Pieces that are here, or in."""
        return self.parcel + self.shelf + self.unsaid - self.returned - self.used

    def taken(self, shelf: int) -> int:
        """Return how many came from the shelf, whether they went back or not; `shelf`: that lay there at first."""
        return self.shelf + min(self.unsaid, max(shelf - self.shelf, 0))

    def came(self, shelf: int) -> int:
        """Return how many came from elsewhere, whether they went back or not."""
        return self.parcel + self.shelf + self.unsaid - self.taken(shelf)

    def coming(self, shelf: int) -> int:
        """Return how many were ordered and have not come."""
        return max(self.ordered - self.came(shelf), 0)

    def without(self, pieces: int) -> Arrivals:
        """Return the same but for so many pieces that came and are others: first those nobody said of from where."""
        left, came = pieces, []
        for some in (self.unsaid, self.parcel, self.shelf):
            came.append(some - min(some, left))
            left -= min(some, left)
        return replace(self, unsaid=came[0], parcel=came[1], shelf=came[2])

    @property
    def kept(self) -> int:
        """Pieces that were ordered, did not go back and are still of use; what is not was from elsewhere first."""
        gone = max(self.used + self.spare - self.shelf - self.unsaid, 0)
        return max(self.ordered - self.returned - gone, 0)


def lots_of(place: PlaceRecord, uses: Iterable[Use]) -> list[Lot]:
    """Return the new pieces of a place that may be of the sizes of some uses; all where these have no sizes."""
    sizes = {use.grade for use in uses if use.grade}
    return [lot for size, lot in place.lots.items() if not sizes or size is None or size in sizes]


def count_of(place: PlaceRecord, uses: Iterable[Use], count: Callable[[Lot], int]) -> int:
    """Return what a count comes to over the new pieces of a place that are of the sizes of some uses.

    Of each size no more count than these take; a piece of which nobody knows the size may be any that they lack. Where
    the uses have no sizes all pieces count.
    """
    wanted = Counter[Decimal]()
    for use in uses:
        if use.grade:
            wanted[use.grade] += use.pieces or 0
    if not wanted:
        return sum(map(count, place.lots.values()))
    known = sum(min(count(place.lot(size)), pieces) for size, pieces in wanted.items())
    return known + min(count(place.lot(None)), wanted.total() - known)


def numbers_of(place: PlaceRecord) -> set[str]:
    """Return the order numbers of the new pieces of a place, of those that are known."""
    part, grades = place.item.part, place.grades
    found = (part.number if grades is None else grades.number(size) if size else None for size in place.lots)
    return {each for each in found if each}


@dataclass(frozen=True, slots=True)
class At:
    """The new pieces of one number at a place.

    Attributes:
        place: the place.
        sizes: those that have the number, as keys of its lots.
        uses: what goes in there of the number; empty: nothing, or nothing any more.
    """

    place: PlaceRecord
    sizes: Collection[Decimal | None]
    uses: Sequence[Use]

    @classmethod
    def of(cls, place: PlaceRecord, number: str | None, uses: Sequence[Use]) -> At:
        """Return the pieces of a number; None: it is not recorded, and those are meant that the uses get."""
        grades = place.grades
        if grades is None or any(use.unsized for use in uses):
            return cls(place, place.lots.keys(), uses)
        numbered = {size for size in place.lots if number and size and grades.number(size) == number}
        return cls(place, numbered | {use.grade for use in uses if use.grade}, uses)

    @property
    def lots(self) -> list[Lot]:
        """Those of the number, and those of which nobody knows whether they are."""
        return [lot for size, lot in self.place.lots.items() if size is None or size in self.sizes]

    def sent_back(self, event: int) -> tuple[int, int]:
        """Return how many pieces of the number an event took away from here, and how many of other numbers."""
        mine = others = 0
        for size, lot in self.place.lots.items():
            pieces = sum(each.pieces for each in lot.told if each.event == event and each.kind == "returned")
            mine += pieces if size in self.sizes else 0
            others += pieces if size is not None and size not in self.sizes else 0
        return mine, others

    @property
    def others(self) -> int:
        """Of those of which nobody knows it, how many are more than the place lacks of the number."""
        lacks = ((use.pieces or 0) - self.place.lot(use.grade).here for use in self.uses if use.grade)
        unknown = 0 if None in self.sizes else self.place.lot(None).here
        return max(unknown - sum(max(pieces, 0) for pieces in lacks), 0)

    @property
    def spare(self) -> int:
        """How many of the number are of no size that goes in."""
        goes_in = {use.grade for use in self.uses}
        return sum(self.place.lot(size).here for size in self.sizes if not goes_in & {size, None})


def arrivals(events: Iterable[Event], number: str | None, at: Sequence[At]) -> Arrivals:
    """Return what events say of the pieces of one number.

    Args:
        events: all that count, in their order.
        number: the order number; None: not recorded, so that its pieces are only counted at their places.
        at: the places that get them, or got some.
    """
    ordered = loose = returned = 0
    came: dict[Source | None, int] = {"order": 0, "shelf": 0, None: 0}
    here = {each.place.item.ordinal: each for each in at}
    brought = Counter[int]()
    for told in (told for each in at for lot in each.lots for told in lot.told):
        brought[told.event] += told.brought
    for event in events:
        act = event.act
        if isinstance(act, Ordered) and act.number == number:
            ordered += act.pieces
        elif isinstance(act, Received) and event.place is None and act.number == number and number:
            came["order"] += act.pieces
            loose += act.pieces
        elif isinstance(act, Returned):
            named = act.number == number and (number or event.place in here)
            mine, others = here[event.place].sent_back(event.number) if event.place in here else (0, 0)
            returned += act.pieces - others if named else mine
            # What was not counted at its place lay at the door, or came and went in one.
            gone = act.pieces - act.counted if named else 0
            fresh = max(gone - loose, 0)
            # What was on its way goes back before what lay on the shelf.
            parcel = min(fresh, max(ordered - came["order"], 0))
            came["order"] += parcel
            came[None] += fresh - parcel
            loose = max(loose - gone, 0)
        elif more := brought[event.number]:
            source = getattr(act, "source", None)
            fresh = more if source == "shelf" else max(more - loose, 0)
            came[source] += fresh
            loose -= more - fresh
    found = Arrivals(
        ordered,
        came["order"],
        came["shelf"],
        came[None],
        loose,
        returned,
        used=sum(lot.used for each in at for lot in each.lots),
        spare=sum(each.spare for each in at),
    )
    return found.without(sum(each.others for each in at))
