"""Where the new parts of a job are: to be ordered, on their way, here, ready at their place, in.

Pieces of one number go to the step that needs them first, as in `calc.needs`. What came is counted at the door, by
number, or at its place: pieces at a place are taken to be of those that were counted at the door, and pieces beyond
what was ordered to be from the shelf. Common practice, no source.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from functools import cached_property
from typing import Final, Literal

from labelkit.calc.needs import Line, Needs, Way, roll_up
from labelkit.calc.pulling import Finding, Found
from labelkit.calc.record import Record
from labelkit.calc.renewal import Use, pieces_of, renewal
from labelkit.calc.shortage import Shortage, shortage
from labelkit.errors import UsageError
from labelkit.language import gettext as _
from labelkit.model.act import Act
from labelkit.model.acts import Condemned, Inspected
from labelkit.model.catalogue import NO_CATALOGUE, Catalogue

State = Literal["in", "ready", "here", "coming", "short", "size", "as_needed"]
"""`in`: it went in; `ready`: it lies ready at its place; `here`: it came, or is on the shelf; `coming`: ordered;
`short`: to be ordered; `size`: its size is chosen first; `as_needed`: the profile has no fixed count."""

DONE: Final = ("in", "ready")


@dataclass(frozen=True, slots=True)
class Progress:
    """One number of the order, and how far it is.

    Attributes:
        line: of the order, less what is ordered or here.
        need: pieces, the most under any choice of the open options.
        ordered: pieces that were ordered, less those that were sent back.
        came: pieces that came, less those that were sent back.
        ready: pieces that lie ready at their places, or are in.
        returned: pieces that were sent back.
        to_order: ways with pieces that are still to be ordered.
    """

    line: Line
    need: int
    ordered: int
    came: int
    ready: int
    returned: int
    to_order: tuple[Way, ...]

    @property
    def coming(self) -> int:
        """Pieces that were ordered and have not come."""
        return max(self.ordered - self.came, 0)

    @property
    def buy(self) -> int:
        """Pieces to order now, in whole packs: the most under any choice of the open options."""
        return max((way.packs or 0 for way in self.to_order), default=0) * self.line.pack


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

    def _progress_of(self, line: Line) -> Progress:
        ordinals = {use.item.ordinal for use in line.uses}
        return Progress(
            line=line,
            need=max((way.need for way in line.ways), default=0),
            ordered=self.record.supplied.get(line.number or "", 0),
            came=_came(self.record, line),
            ready=sum(min(self.pieces_ready(each), self.pieces_wanted(each)) for each in ordinals),
            returned=self.record.returned.get(line.number or "", (0, 0))[0],
            to_order=tuple(way for way in line.ways if way.short and way.packs),
        )

    @cached_property
    def _wanted(self) -> Mapping[int, int]:
        found: dict[int, list[Use]] = {}
        for line in self.needs.lines:
            for use in line.uses:
                found.setdefault(use.item.ordinal, []).append(use)
        return {ordinal: pieces_of(uses) for ordinal, uses in found.items()}

    def pieces_wanted(self, ordinal: int) -> int:
        """Return how many new pieces a place gets; 0 when it gets none, or there is no fixed count."""
        return self._wanted.get(ordinal, 0)

    def pieces_ready(self, ordinal: int) -> int:
        """Return how many new pieces lie ready at a place, or are in; staged without a count: all that it gets."""
        place = self.record.at(ordinal)
        staged = self.pieces_wanted(ordinal) if place.staged == 0 else place.staged or 0
        return max(staged, place.new)

    def state(self, use: Use) -> State:
        """Return where the pieces of one use are."""
        ordinal = use.item.ordinal
        place, wanted = self.record.at(ordinal), self.pieces_wanted(ordinal)
        if place.new and place.new >= wanted:
            return "in"
        if place.staged is not None and self.pieces_ready(ordinal) >= wanted:
            return "ready"
        if use.unsized:
            return "size"
        if use.pieces is None:
            return "as_needed"
        if any(each.use is use for each in self.later.missing):
            return "short"
        return "coming" if any(each.use is use for each in self.now.missing) else "here"


def supply(record: Record, catalogue: Catalogue = NO_CATALOGUE, found: Found | None = None) -> Supply:
    """Return where the new parts of a job are.

    Args:
        record: of the job: what was condemned, chosen, ordered, received and staged.
        catalogue: of the parts counter; without one nothing is on the shelf.
        found: verdicts that the record does not hold, or holds otherwise, by ordinal.

    Raises:
        UsageError: as for `calc.needs.roll_up`.
    """

    def rolled(supplied: Mapping[str, int]) -> Needs:
        return roll_up(
            record.profile,
            record.teardown,
            record.order,
            found={**record.found, **(found or {})},
            sizes=record.sizes,
            catalogue=catalogue,
            supplied=supplied,
        )

    plain = rolled({})
    supplied, here, coming = {}, {}, {}
    for line in plain.lines:
        number = line.number
        if number is None:
            continue
        ordered, came, door = record.supplied.get(number, 0), _came(record, line), record.arrived.get(number, 0)
        placed = sum(record.received.get(each, 0) for each in {use.item.ordinal for use in line.uses})
        from_shelf = max(placed - max(ordered, door), 0)
        # What went back and was never ordered was from the shelf, which has it no more.
        gone = min(record.returned.get(number, (0, 0))[1], line.shelf)
        shelf = line.shelf - gone
        supplied[number] = max(ordered, came - shelf) - gone
        here[number] = max(door - placed, 0) + max(shelf - from_shelf, 0)
        coming[number] = max(ordered - came, 0)
    needs = rolled(supplied)
    later = {number: pieces + coming[number] for number, pieces in here.items()}
    return Supply(
        record,
        needs,
        shortage(needs, record.order, here, record.received),
        shortage(needs, record.order, later, record.received),
    )


def pulled_words(record: Record, ordinal: int, act: Act) -> Iterator[str]:
    """Yield what must be new besides when a place is condemned, lost or to be replaced; nothing for other acts.

    Args:
        record: of the job before that.
        ordinal: of the place.
        act: what is said of it.
    """
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


def _came(record: Record, line: Line) -> int:
    """Return how many pieces of a line came: those counted at the door, or more where more are at their places."""
    door = record.arrived.get(line.number or "", 0)
    places = 0
    for ordinal in {use.item.ordinal for use in line.uses}:
        place = record.at(ordinal)
        places += max(place.came, place.staged or 0)
    return max(door, places)
