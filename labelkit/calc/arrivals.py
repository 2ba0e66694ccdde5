"""The new pieces of one number, each counted once: ordered, at the door, at their places, sent back.

What comes to a place was counted at the door before, or came straight to it from a parcel or from the shelf. Whoever
books it says which of the two where it can be both. What nobody said it of is taken to be from the shelf first, so that
nothing counts as delivered that may still be on its way. Common practice, no source.
"""

from __future__ import annotations

import math
from collections import Counter
from collections.abc import Callable, Collection, Iterable, Iterator, Sequence
from dataclasses import dataclass
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
        former: that came to their places under a number that a later revision changed; of no other count.
        formerly: these numbers.
    """

    ordered: int = 0
    parcel: int = 0
    shelf: int = 0
    unsaid: int = 0
    loose: int = 0
    returned: int = 0
    used: int = 0
    spare: int = 0
    former: int = 0
    formerly: tuple[str, ...] = ()

    @property
    def here(self) -> int:
        """Pieces that are here, or in."""
        return self.parcel + self.shelf + self.unsaid + self.former - self.returned - self.used

    def taken(self, shelf: int) -> int:
        """Return how many came from the shelf, whether they went back or not; `shelf`: that lay there at first."""
        return self.shelf + min(self.unsaid, max(shelf - self.shelf, 0))

    def came(self, shelf: int) -> int:
        """Return how many came from elsewhere, whether they went back or not."""
        return self.parcel + self.shelf + self.unsaid - self.taken(shelf)

    def coming(self, shelf: int) -> int:
        """Return how many were ordered and have not come."""
        return max(self.ordered - self.came(shelf), 0)

    @property
    def kept(self) -> int:
        """Pieces that were ordered, did not go back and are still of use; what is not was from elsewhere first."""
        gone = max(self.used + self.spare - self.shelf - self.unsaid, 0)
        return max(self.ordered - self.returned - gone, 0)


def lots_of(place: PlaceRecord, uses: Iterable[Use]) -> list[Lot]:
    """Return the new pieces of a place that may be of the sizes of some uses; all where these have no sizes."""
    sizes = {use.grade for use in uses if use.grade}
    return [lot for size, lot in place.lots.items() if not sizes or size is None or size in sizes]


def pieces_by_size(uses: Iterable[Use]) -> Counter[Decimal]:
    """Return how many pieces some uses take of each size, mm; empty where they have no sizes."""
    wanted = Counter[Decimal]()
    for use in uses:
        if use.grade:
            wanted[use.grade] += use.pieces or 0
    return wanted


def count_of(place: PlaceRecord, uses: Iterable[Use], count: Callable[[Lot], int], taken: Sequence[Decimal]) -> int:
    """Return what a count comes to over the new pieces of a place that are of the sizes of some uses.

    Of each size no more count than these take. Where the uses have no sizes all pieces count.

    Args:
        place: the place.
        uses: of it.
        count: of the pieces of one size.
        taken: what sizes its pieces are taken for of which nobody knows it, as `taken_for` says.
    """
    wanted = pieces_by_size(uses)
    if not wanted:
        return sum(map(count, place.lots.values()))
    known = sum(min(count(place.lot(size)), pieces) for size, pieces in wanted.items())
    return known + sum(size in wanted for size in taken[: count(place.lot(None))])


def taken_for(place: PlaceRecord, uses: Sequence[Use], *known: Counter[str]) -> tuple[Decimal, ...]:
    """Return for what sizes, mm, the pieces are taken of which nobody knows the size, each for one that is missing.

    It is a size of which pieces are known that are not here yet, where there is one: an order of it that has not come
    stands for no other size. What is left of them is more than the place gets, and taken for none.

    Args:
        place: the place.
        uses: of it.
        known: pieces by number, the likelier ones first: counted at the door, on their way. What is taken is taken out.
    """
    graded = [(use.grade, use.number or "") for use in uses if use.grade]
    lacks = pieces_by_size(uses)
    lacks.subtract({size: place.lot(size).here for size in lacks})
    found: list[Decimal] = []
    for some in (*known, Counter({number: place.lot(None).here for _size, number in graded})):
        for size, number in graded:
            pieces = max(min(place.lot(None).here - len(found), lacks[size], some[number]), 0)
            found += [size] * pieces
            lacks[size] -= pieces
            some[number] -= pieces
    return tuple(found)


def numbers_by_size(place: PlaceRecord) -> dict[Decimal | None, str]:
    """Return the order numbers of the new pieces of a place by their size, mm, of those that are known."""
    part, grades = place.item.part, place.grades
    found = {size: part.number if grades is None else grades.number(size) if size else None for size in place.lots}
    return {size: number for size, number in found.items() if number}


def numbers_of(place: PlaceRecord) -> set[str]:
    """Return these numbers, and those under which some came before a later revision changed them."""
    return {*numbers_by_size(place).values(), *(was for _event, was, _now in place.renumbered())}


def by_size(place: PlaceRecord, taken: Sequence[Decimal]) -> Counter[Decimal | None]:
    """Return how many new pieces of each size, mm, are here, or in; None: of none, or taken for none.

    Args:
        place: the place.
        taken: what sizes its pieces are taken for of which nobody knows it, as `taken_for` says.
    """
    found = Counter[Decimal | None]({size: lot.here for size, lot in place.lots.items()})
    found.update(taken)
    found[None] -= len(taken)
    return found


@dataclass(frozen=True, slots=True)
class At:
    """The new pieces of one number at a place.

    Attributes:
        place: the place.
        sizes: those that have the number, as keys of its lots.
        uses: what goes in there of the number; empty: nothing, or nothing any more.
        taken: how many pieces of which nobody knows the size are taken for one of these.
        after, before: the events between which what came had the number; a revision changed it.
        formerly: the numbers that it had before.
    """

    place: PlaceRecord
    sizes: Collection[Decimal | None]
    uses: Sequence[Use]
    taken: int = 0
    after: int = 0
    before: float = math.inf
    formerly: tuple[str, ...] = ()

    @classmethod
    def of(cls, place: PlaceRecord, number: str | None, uses: Sequence[Use], taken: Iterable[Decimal]) -> At:
        """Return the pieces of a number; None: it is not recorded, and those are meant that the uses get.

        Args:
            place: the place.
            number: the number.
            uses: what goes in there of it.
            taken: what sizes its pieces are taken for of which nobody knows it, as `taken_for` says.
        """
        after, before, formerly, current = 0, math.inf, list[str](), number
        for event, was, now in place.renumbered():
            if now == number:
                after, formerly = event, [*formerly, was]
            if was == current:
                before, current = min(before, event), now
        changed = after, before, tuple(formerly)
        if place.grades is None or any(use.unsized for use in uses):
            return cls(place, place.lots.keys(), uses, 0, *changed)
        numbered = {size for size, known in numbers_by_size(place).items() if known == current}
        sizes = numbered | {use.grade for use in uses if use.grade}
        return cls(place, sizes, uses, sum(size in sizes for size in taken), *changed)

    @property
    def lots(self) -> list[Lot]:
        """Those of the number, and those of which nobody knows whether they are."""
        return [lot for size, lot in self.place.lots.items() if size is None or size in self.sizes]

    def brought(self, back: Collection[int]) -> Iterator[tuple[int, int]]:
        """Yield how many pieces of the number events brought here, by the number of the event.

        Of the pieces of which nobody knows the size it is those that are taken for it, went back as such or are used
        up, the last ones first.

        Args:
            back: the numbers of the events that sent pieces of the number back.
        """
        for size, lot in self.place.lots.items():
            left = sum(each.brought for each in lot.told)
            if size not in self.sizes:
                gone = sum(each.pieces for each in lot.told if each.kind == "returned" and each.event in back)
                left = min(left, self.taken + gone + lot.used) if size is None else 0
            for each, pieces in lot.latest(left, lambda told: told.brought):
                if self.after < each.event < self.before:
                    yield each.event, pieces

    @property
    def former(self) -> int:
        """How many pieces came under an earlier number, and did not go back under it."""
        told = (each for size in self.sizes for each in self.place.lot(size).told)
        came = sum(each.brought for each in told if each.event <= self.after)
        acts = (event.act for event in self.place.events)
        gone = sum(act.counted for act in acts if isinstance(act, Returned) and act.number in self.formerly)
        return max(came - gone, 0)

    def sent_back(self, event: int) -> tuple[int, int]:
        """Return how many pieces of the number an event took away from here, and how many of other numbers."""
        mine = others = 0
        for size, lot in self.place.lots.items():
            pieces = sum(each.pieces for each in lot.told if each.event == event and each.kind == "returned")
            mine += pieces if size in self.sizes else 0
            others += pieces if size is not None and size not in self.sizes else 0
        return mine, others

    @property
    def spare(self) -> int:
        """How many of the number are of no size that goes in."""
        goes_in = {use.grade for use in self.uses}
        return sum(self.place.lot(size).here for size in self.sizes if not goes_in & {size, None})


def arrivals(events: Collection[Event], number: str | None, at: Sequence[At]) -> Arrivals:
    """Return what events say of the pieces of one number.

    Args:
        events: all that count, in their order.
        number: the order number; None: not recorded, so that its pieces are only counted at their places.
        at: the places that get them, or got some.
    """
    ordered = loose = returned = 0
    came: dict[Source | None, int] = {"order": 0, "shelf": 0, None: 0}
    here = {each.place.item.ordinal: each for each in at}
    back = {e.number for e in events if isinstance(e.act, Returned) and e.act.number == number}
    brought = Counter[int]()
    for event_number, pieces in (told for each in at for told in each.brought(back)):
        brought[event_number] += pieces
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
            earlier = event.place in here and act.number in here[event.place].formerly
            returned += act.pieces - others if named else 0 if earlier else mine
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
    return Arrivals(
        ordered,
        came["order"],
        came["shelf"],
        came[None],
        loose,
        returned,
        used=sum(lot.used for each in at for lot in each.lots),
        spare=sum(each.spare for each in at),
        former=sum(each.former for each in at),
        formerly=tuple(dict.fromkeys(was for each in at if each.former for was in each.formerly)),
    )
