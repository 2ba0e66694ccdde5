"""Where the new parts of a job are: to be ordered, on their way, here, ready at their place, in.

Pieces of one number go to the step that needs them first, as in `calc.needs`; `calc.arrivals` says which came.
"""

from __future__ import annotations

from collections.abc import Collection, Iterator, Mapping
from dataclasses import dataclass
from functools import cached_property
from typing import Final, Literal

from labelkit.calc.arrivals import Arrivals, count_of, lots_of
from labelkit.calc.miscounts import not_there
from labelkit.calc.needs import Line, Needs, Way, roll_up
from labelkit.calc.openpoints import goes_in_again
from labelkit.calc.pulling import Finding, Found
from labelkit.calc.record import Record
from labelkit.calc.renewal import Use, pieces_of, renewal
from labelkit.calc.shortage import Shortage, shortage
from labelkit.errors import UsageError
from labelkit.language import gettext as _
from labelkit.model.act import Act
from labelkit.model.acts import Condemned, Inspected, rejects_new
from labelkit.model.catalogue import NO_CATALOGUE, Catalogue
from labelkit.units import Quantity

State = Literal["in", "ready", "held", "here", "coming", "short", "size", "as_needed"]
"""`in`: it went in; `ready`: it lies ready at its place; `held`: it does, and the place is on hold; `here`: it came, or
is on the shelf; `coming`: ordered; `short`: to be ordered; `size`: its size is chosen first; `as_needed`: the profile
has no fixed count."""

DONE: Final = ("in", "ready")


@dataclass(frozen=True, slots=True)
class Progress:
    """One number of the order, and how far it is.

    Attributes:
        line: of the order, less what is ordered or here.
        arrivals: which of its pieces were ordered, came and went back.
        ready: pieces that lie ready at their places and are not on hold, or are in.
    """

    line: Line
    arrivals: Arrivals
    ready: int

    @property
    def need(self) -> int:
        """Pieces, the most under any choice of the open options."""
        return max((way.need for way in self.line.ways), default=0)

    @property
    def to_order(self) -> tuple[Way, ...]:
        """Ways with pieces that are still to be ordered."""
        return tuple(way for way in self.line.ways if way.short and way.packs)

    @property
    def taken(self) -> int:
        """Pieces that came from the shelf, whether they went back or not."""
        return self.arrivals.taken(self.line.shelf)

    @property
    def came(self) -> int:
        """Pieces that came from elsewhere, whether they went back or not."""
        return self.arrivals.came(self.line.shelf)

    @property
    def shelf(self) -> int:
        """Pieces that are still on the shelf."""
        return max(self.line.shelf - self.taken, 0)

    @property
    def coming(self) -> int:
        """Pieces that were ordered and have not come."""
        return self.arrivals.coming(self.line.shelf)

    @property
    def is_over(self) -> bool:
        """Whether all that is needed lies ready or is in, and no more than the rest of a pack is on its way."""
        return self.ready >= self.need and self.coming < self.line.pack

    @property
    def supplied(self) -> int:
        """Pieces more than the shelf had, here or coming; below 0 where some of the shelf is gone, or is of no use."""
        gone = self.arrivals.returned + self.arrivals.used + self.arrivals.spare
        return self.came + self.arrivals.former + self.coming - gone + max(self.taken - self.line.shelf, 0)

    @property
    def buy(self) -> int:
        """Pieces to order now, in whole packs: the most under any choice of the open options."""
        return max((way.packs or 0 for way in self.to_order), default=0) * self.line.pack


@dataclass(frozen=True, slots=True)
class Awaited:
    """The new pieces of one place that are here, and those that still come.

    Attributes:
        wanted: that the place gets; 0: none, or there is no fixed count.
        came: that came for it, or are in.
        laid: of these, that lie ready, or are in.
        loose: of its numbers, that were counted at the door and are at no place.
        coming: of its numbers, that are on their way.
        shelf: of its numbers, that are on the shelf.
        held: it is on hold.
    """

    wanted: int = 0
    came: int = 0
    laid: int = 0
    loose: int = 0
    coming: int = 0
    shelf: int = 0
    held: bool = False

    @property
    def left(self) -> int:
        """Pieces that did not come to their place yet."""
        return max(self.wanted - self.came, 0)

    @property
    def bag(self) -> int:
        """Of these, that were counted at the door."""
        return min(self.left, self.loose)

    @property
    def on_way(self) -> int:
        """Of the others, that are on their way."""
        return min(self.left - self.bag, self.coming)

    @property
    def nowhere(self) -> int:
        """Of these, that are neither."""
        return self.left - self.bag - self.on_way

    @property
    def to_lay(self) -> int:
        """Pieces that came and are still to be laid ready."""
        return max(self.came - self.laid, 0)


@dataclass(frozen=True)
class Supply:
    """The new parts of a job as far as its record goes.

    Attributes:
        record: of the job.
        needs: everything that must be new; its packs are those still to be ordered.
        now: what is not here, and what that stops.
        later: what is not even on its way.
    """

    record: Record
    needs: Needs
    now: Shortage
    later: Shortage

    @cached_property
    def progress(self) -> tuple[Progress, ...]:
        """Every number, in the order of assembly."""
        return tuple(self._progress_of(line) for line in self.needs.lines)

    @cached_property
    def besides(self) -> Mapping[str, Arrivals]:
        """Numbers of no line of which pieces are on their way, or were counted at the door and are at no place."""
        listed = {line.number for line in self.needs.lines}
        others = ((number, each) for number, each in self.record.arrivals.items() if number not in listed)
        return {number: each for number, each in others if each.loose or each.coming(0)}

    def _progress_of(self, line: Line) -> Progress:
        ready = 0
        for ordinal in {use.item.ordinal for use in line.uses}:
            mine = [use for use in line.uses if use.item.ordinal == ordinal]
            ready += min(self._ready(ordinal, mine, held=False), pieces_of(mine))
        return Progress(line, _arrivals(self.record, line), ready)

    def used(self, use: Use) -> int:
        """Return how many new pieces of a use are out of use; of a stack those of its size.

        What nobody knows the size of counts for the first size.
        """
        ordinal = use.item.ordinal
        place, first = self.record.at(ordinal), self._wanted[ordinal][0] is use
        return sum(lot.used for lot in (lots_of(place, [use]) if first else [place.lot(use.grade)]))

    def sizes_here(self, use: Use) -> tuple[Quantity, ...]:
        """Return the sizes of what is here for a use whose size is not chosen, each once, where all were measured."""
        place = self.record.at(use.item.ordinal)
        if not use.unsized or place.grades is None or place.lot(None).here:
            return ()
        listed = (place.grades.listed(size) for size, lot in place.lots.items() if size is not None and lot.here)
        return tuple(filter(None, listed))

    @cached_property
    def _wanted(self) -> Mapping[int, list[Use]]:
        found: dict[int, list[Use]] = {}
        for line in self.needs.lines:
            for use in line.uses:
                found.setdefault(use.item.ordinal, []).append(use)
        return found

    def pieces_wanted(self, ordinal: int) -> int:
        """Return how many new pieces a place gets; 0 when it gets none, or there is no fixed count."""
        return pieces_of(self._wanted.get(ordinal, ()))

    def _ready(self, ordinal: int, uses: Collection[Use], *, held: bool) -> int:
        """Return how many pieces lie ready, or are in; laid ready without a count: all that go in.

        `held`: also those that are on hold.
        """
        place = self.record.at(ordinal)
        if place.is_held and not held:
            return self._in(ordinal, uses)
        uncounted = pieces_of(uses) if place.staged == 0 else 0
        return max(uncounted, count_of(place, uses, lambda lot: lot.ready, self.record.taken.get(ordinal, ())))

    def _in(self, ordinal: int, uses: Collection[Use]) -> int:
        return count_of(self.record.at(ordinal), uses, lambda lot: lot.new, self.record.taken.get(ordinal, ()))

    def pieces_here(self, use: Use) -> int:
        """Return how many pieces of a use came for its place, or are ready or in; of a stack those of its size.

        While no size is chosen those of all sizes count.
        """
        ordinal = use.item.ordinal
        return self.record.received.get(ordinal, 0) if use.unsized else self.record.new_at.get((ordinal, use.grade), 0)

    def is_here(self, use: Use) -> bool:
        """Say whether all pieces of a use are at their place, in, or counted at the door: none is to be fetched."""
        state = self.state(use)
        at_place = use.pieces is not None and not use.unsized and self.pieces_here(use) >= use.pieces
        return at_place or state in (*DONE, "held") or (state == "here" and self.record.lies_for(use))

    def awaited(self, ordinal: int) -> Awaited:
        """Return how far the new pieces of a place are."""
        mine = [each for each in self.progress if any(use.item.ordinal == ordinal for use in each.line.uses)]
        return Awaited(
            wanted=self.pieces_wanted(ordinal),
            came=self.record.received.get(ordinal, 0),
            laid=self._ready(ordinal, self._wanted.get(ordinal, ()), held=True),
            loose=self.record.loose_for(ordinal),
            coming=sum(each.coming for each in mine),
            shelf=sum(each.shelf for each in mine),
            held=self.record.at(ordinal).is_held,
        )

    def state(self, use: Use) -> State:
        """Return where the pieces of one use are; of a stack those of its size, of any while none is chosen."""
        ordinal, wanted = use.item.ordinal, use.pieces or 0
        place, new = self.record.at(ordinal), self._in(ordinal, [use])
        if new and new >= wanted:
            return "in"
        if place.staged is not None and self._ready(ordinal, [use], held=True) >= wanted:
            return "held" if place.is_held else "ready"
        if use.unsized and id(use) in self._not_here:
            return "size"
        if use.pieces is None and not use.unsized:
            return "as_needed"
        if id(use) in self._short:
            return "short"
        return "coming" if id(use) in self._not_here else "here"

    @cached_property
    def _short(self) -> frozenset[int]:
        """The uses that lack something also when all is here that is on its way, by identity: the order holds them."""
        return frozenset(id(each.use) for each in self.later.missing if each.is_short)

    @cached_property
    def _not_here(self) -> frozenset[int]:
        """The uses that lack something now, likewise."""
        return frozenset(id(each.use) for each in self.now.missing if each.is_short)


def supply(record: Record, catalogue: Catalogue = NO_CATALOGUE, found: Found | None = None) -> Supply:
    """Return where the new parts of a job are.

    Args:
        record: of the job: what was condemned, chosen, ordered, received and staged.
        catalogue: of the parts counter; without one nothing is on the shelf.
        found: verdicts that the record does not hold, or holds otherwise, by ordinal.

    Raises:
        UsageError: as for `calc.needs.roll_up`.
    """

    good = {ordinal: Finding("ok") for ordinal, place in record.places.items() if goes_in_again(place)}

    def known(line: Line) -> Progress:
        return Progress(line, _arrivals(record, line), 0)

    needs = roll_up(
        record.profile,
        record.teardown,
        record.order,
        found={**good, **record.found, **(found or {})},
        sizes=record.sizes,
        catalogue=catalogue,
        supplied=lambda line: known(line).supplied,
    )
    numbered = {line.number: known(line) for line in needs.lines if line.number is not None}
    here = {number: each.arrivals.loose + each.shelf for number, each in numbered.items()}
    later = {number: pieces + numbered[number].coming for number, pieces in here.items()}
    placed = {ordinal for ordinal, place in record.places.items() if place.is_in or record.is_done(ordinal)}
    joined = {ordinal for ordinal, place in record.places.items() if place.stage == "joined"}
    incomplete = {ordinal for ordinal, place in record.places.items() if not_there(record, place)}
    held = {ordinal for ordinal, place in record.places.items() if place.is_held}
    at_places = record.new_at, placed, joined, incomplete, held
    return Supply(
        record, needs, shortage(needs, record.order, here, *at_places), shortage(needs, record.order, later, *at_places)
    )


def pulled_words(record: Record, ordinal: int, act: Act) -> Iterator[str]:
    """Yield what must be new besides when a place is condemned, lost or to be replaced; nothing for other acts.

    Args:
        record: of the job before that.
        ordinal: of the place.
        act: what is said of it.
    """
    if rejects_new(act) and not record.at(ordinal).is_in:
        return  # another new one comes in its place
    if isinstance(act, Condemned):
        finding = Finding("lost" if act.lost else "condemned", act.pieces)
    elif isinstance(act, Inspected) and act.verdict == "replace":
        finding = Finding("condemned")
    else:
        return
    found = {**record.found, ordinal: finding}
    try:
        uses = renewal(record.profile, record.teardown, record.order, found, record.sizes).uses
    except UsageError:  # so many options are open, or more are condemned than there are
        return
    known = {ordinal, *record.uses}
    more = dict.fromkeys(record.at(use.item.ordinal).name for use in uses if use.item.ordinal not in known)
    if more:
        yield _("With it are renewed: {parts}").format(parts=", ".join(more))


def _arrivals(record: Record, line: Line) -> Arrivals:
    return record.arrivals_at(line.number, line.uses)
