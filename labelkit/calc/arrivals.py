"""The new pieces of one number, each counted once: ordered, at the door, at their places, sent back.

What comes to a place was counted at the door before, or came straight to it from a parcel or from the shelf. Whoever
books it says which of the two where it can be both. What nobody said it of is taken to be from the shelf first, so that
nothing counts as delivered that may still be on its way. Common practice, no source.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass

from labelkit.model.acts import Installed, Ordered, Received, Removed, Returned, Staged
from labelkit.model.events import Event
from labelkit.model.part import Part


@dataclass(frozen=True, slots=True)
class Arrivals:
    """Pieces of one number.

    Attributes:
        ordered: that were ordered.
        door: that were counted at the door, for no place in particular.
        loose: of these, that are at no place yet.
        straight: that came to a place and were not counted at the door before.
        parcel: of these, that are of what was ordered: somebody said so, or they went back at once.
        shelf: of these, that were said to be from the shelf.
        returned: that went back, of all that came.
        used: that were in and came out again, and are used once only.
    """

    ordered: int = 0
    door: int = 0
    loose: int = 0
    straight: int = 0
    parcel: int = 0
    shelf: int = 0
    returned: int = 0
    used: int = 0

    @property
    def here(self) -> int:
        """Pieces that are here, or in."""
        return self.door + self.straight - self.returned - self.used

    @property
    def kept(self) -> int:
        """Pieces that were ordered, did not go back and are not used up: those from elsewhere are used up first."""
        used = max(self.used - (self.straight - self.parcel), 0)
        return max(self.ordered - self.returned - used, 0)


def arrivals(events: Iterable[Event], number: str | None, places: Mapping[int, Part]) -> Arrivals:
    """Return what events say of the pieces of one number.

    Args:
        events: all that count, in their order.
        number: the order number; None: not recorded, so that its pieces are only counted at their places.
        places: that get them: the part of each, by ordinal.
    """
    ordered = door = loose = straight = parcel = shelf = returned = 0
    at = {ordinal: _Place(part) for ordinal, part in places.items()}
    for event in events:
        act, here = event.act, event.place
        if isinstance(act, Ordered) and act.number == number:
            ordered += act.pieces
        elif isinstance(act, Received) and here is None and act.number == number and number:
            door, loose = door + act.pieces, loose + act.pieces
        elif isinstance(act, Returned):
            if act.number == number and (number or here in at):
                returned += act.pieces
                # What was not counted at its place lay at the door, or came and went in one.
                gone = act.pieces - act.counted
                fresh = max(gone - loose, 0)
                # What was on its way goes back before what lay on the shelf.
                parcel += min(fresh, max(ordered - door - parcel, 0))
                straight, loose = straight + fresh, max(loose - gone, 0)
        elif here is not None and here in at:
            more, source = at[here].more(act), getattr(act, "source", None)
            fresh = more if source == "shelf" else max(more - loose, 0)
            straight, loose = straight + fresh, loose - (more - fresh)
            parcel, shelf = parcel + fresh * (source == "order"), shelf + fresh * (source == "shelf")
    used = sum(each.used for each in at.values())
    return Arrivals(ordered, door, loose, straight, parcel, shelf, returned, used)


@dataclass(slots=True)
class _Place:
    """New pieces of one place: those received, laid ready and in are the same; `most`: the most any was."""

    part: Part
    came: int = 0
    staged: int = 0
    placed: int = 0
    most: int = 0
    used: int = 0

    def more(self, act: object) -> int:
        """Return how many pieces an act brings that were not there before."""
        if isinstance(act, Received):
            self.came += act.pieces
        elif isinstance(act, Staged):
            self.staged += act.pieces or 0
        elif isinstance(act, Installed) and act.new:
            self.placed += act.pieces or (0 if self.part.qty == "set" else self.part.qty)
        elif isinstance(act, Removed):
            # What is in comes out; what lies ready besides stays.
            self.staged = max(self.staged - self.placed, 0)
            if self.part.one_time:
                self.came, self.most = max(self.came - self.placed, 0), self.most - self.placed
                self.used += self.placed
            self.placed = 0
        found = max(self.came, self.staged, self.placed, self.most)
        more, self.most = found - self.most, found
        return more
