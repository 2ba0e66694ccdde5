"""The new pieces of one number, each counted once: ordered, at the door, at their places, sent back.

What comes to a place was counted at the door before, or came straight to it from a parcel or from the shelf. Nobody
says which of the two: it is taken to be from the shelf first, so that nothing counts as delivered that may still be on
its way. Common practice, no source.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass

from labelkit.model.acts import Installed, Ordered, Received, Removed, Returned, Staged
from labelkit.model.events import Event


@dataclass(frozen=True, slots=True)
class Arrivals:
    """Pieces of one number.

    Attributes:
        ordered: that were ordered.
        door: that were counted at the door, for no place in particular.
        loose: of these, that are at no place yet.
        straight: that came to a place and were not counted at the door before.
        returned: that went back, of all that came.
    """

    ordered: int = 0
    door: int = 0
    loose: int = 0
    straight: int = 0
    returned: int = 0

    @property
    def here(self) -> int:
        """Pieces that are here, or in."""
        return self.door + self.straight - self.returned

    @property
    def kept(self) -> int:
        """Pieces that were ordered and did not go back."""
        return max(self.ordered - self.returned, 0)


def arrivals(events: Iterable[Event], number: str | None, places: Mapping[int, int | None]) -> Arrivals:
    """Return what events say of the pieces of one number.

    Args:
        events: all that count, in their order.
        number: the order number; None: not recorded, so that its pieces are only counted at their places.
        places: that get them: the pieces that each has, None: no fixed count, by ordinal.
    """
    ordered = door = loose = straight = returned = 0
    at = {ordinal: _Place() for ordinal in places}
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
                straight += max(gone - loose, 0)
                loose = max(loose - gone, 0)
        elif here is not None and here in at:
            more = at[here].more(act, places[here])
            straight += max(more - loose, 0)
            loose = max(loose - more, 0)
    return Arrivals(ordered, door, loose, straight, returned)


@dataclass(slots=True)
class _Place:
    """New pieces of one place: those received, laid ready and in are the same; `most`: the most any was."""

    came: int = 0
    staged: int = 0
    placed: int = 0
    most: int = 0

    def more(self, act: object, whole: int | None) -> int:
        """Return how many pieces an act brings that were not there before; `whole`: how many the place has."""
        if isinstance(act, Received):
            self.came += act.pieces
        elif isinstance(act, Staged):
            self.staged += act.pieces or 0
        elif isinstance(act, Installed) and act.new:
            self.placed += act.pieces or whole or 0
        elif isinstance(act, Removed):
            self.staged = self.placed = 0
        found = max(self.came, self.staged, self.placed, self.most)
        more, self.most = found - self.most, found
        return more
