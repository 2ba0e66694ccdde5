"""Where a job is: the state of each place and of the whole, derived from the events of its record.

An event that was corrected does not count; everything else counts in the order of its number. A part is in the unit
until somebody has recorded that it came out; it moves on from stage to stage and starts again when it comes out again.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Callable, Collection, Hashable, Mapping, Sequence
from dataclasses import dataclass
from decimal import Decimal
from functools import cached_property
from itertools import chain

from labelkit.calc.arrivals import Arrivals, At, arrivals, by_size, count_of, lots_of, numbers_of, taken_for
from labelkit.calc.assembly import Placed
from labelkit.calc.deviations import deviations
from labelkit.calc.endings import corrections, signatures, signed_before, undone
from labelkit.calc.figures import millimetres
from labelkit.calc.fitrecord import FitRecord, fit_records, fitted
from labelkit.calc.keptin import to_come_out
from labelkit.calc.newpieces import Lot, graded
from labelkit.calc.oldandnew import kept_reading, old_reading
from labelkit.calc.placerecord import PlaceRecord, place_record
from labelkit.calc.pulling import Finding
from labelkit.calc.regrading import each_piece, reused, room_of
from labelkit.calc.renewal import Use, renewal
from labelkit.calc.steps import Bin, Teardown
from labelkit.errors import UsageError
from labelkit.model.act import Gated
from labelkit.model.acts import (
    Closed,
    Hold,
    OptionSeen,
    Ordered,
    Received,
    Released,
    Reopened,
    Returned,
    Verified,
    WashStarted,
)
from labelkit.model.events import Event
from labelkit.model.profile import Profile


@dataclass(frozen=True)
class Record:
    """A job as its events tell it.

    Attributes:
        profile: of the unit.
        teardown: its removal order under the job's options.
        order: its order of assembly.
        events: all of them, also those that were corrected.
        places: by ordinal, in removal order; captured parts last.
    """

    profile: Profile
    teardown: Teardown
    order: tuple[Placed, ...]
    events: tuple[Event, ...]
    places: Mapping[int, PlaceRecord]

    def at(self, ordinal: int) -> PlaceRecord:
        """Return a place; KeyError when the options leave none."""
        return self.places[ordinal]

    def of(self, *parts: str) -> list[PlaceRecord]:
        """Return the places of the bins of part ids, one for each copy; what has none is left out."""
        return [self.places[each.ordinal] for each in self.teardown.of(*parts)]

    def at_step(self, step: str) -> PlaceRecord:
        """Return the place of a step; KeyError when there is none."""
        return self.places[self.teardown.at(step).ordinal]

    @cached_property
    def corrected(self) -> Mapping[int, Event]:
        """Which event takes an earlier one back, by the number of that one."""
        return corrections(self.events)

    @cached_property
    def standing(self) -> tuple[Event, ...]:
        """All events that count."""
        return tuple(e for e in self.events if e.number not in self.corrected)

    @cached_property
    def strays(self) -> tuple[Event, ...]:
        """Events of places that the options leave out: an option was set otherwise when they were written."""
        return tuple(e for e in self.standing if e.place is not None and e.place not in self.places)

    @cached_property
    def holds(self) -> tuple[Event, ...]:
        """Open holds on the job itself."""
        released = {e.act.of for e in self.standing if isinstance(e.act, Released)}
        of_job = (e for e in self.standing if isinstance(e.act, Hold) and e.place is None)
        return tuple(e for e in of_job if e.number not in released)

    @cached_property
    def deviations(self) -> tuple[Event, ...]:
        """What is not as the profile wants it, and what was done although the gate refused; no end that was undone."""
        return self._deviations[False]

    @cached_property
    def past_deviations(self) -> tuple[Event, ...]:
        """The same of pieces that are not there any more: condemned, sent back or replaced since."""
        return self._deviations[True]

    @cached_property
    def _deviations(self) -> Mapping[bool, tuple[Event, ...]]:
        return deviations((e for e in self.standing if e.number not in self.undone), self.places)

    @cached_property
    def undone(self) -> Mapping[int, Event]:
        """Which event opened the job again after a signature, or after it was closed without one, by their numbers."""
        return undone(self.standing)

    @cached_property
    def options_seen(self) -> Mapping[str, Event]:
        """What was seen of each option, last."""
        return {e.act.option: e for e in self.standing if isinstance(e.act, OptionSeen)}

    @cached_property
    def last_verified(self) -> Event | None:
        """The last event that verified a part that still is."""
        still = {ordinal for ordinal, place in self.places.items() if place.stage == "verified"}
        return next((e for e in reversed(self.standing) if isinstance(e.act, Verified) and e.place in still), None)

    @cached_property
    def closed(self) -> Event | None:
        """The event that closed the job; None when it is open."""
        last = next((e for e in reversed(self.events) if isinstance(e.act, Closed | Reopened)), None)
        return last if last is not None and isinstance(last.act, Closed) else None

    @property
    def signed(self) -> Event | None:
        """The last of the signatures; None when there is none."""
        return next(reversed(self.signatures), None)

    @cached_property
    def signatures(self) -> tuple[Event, ...]:
        """The signatures, the last one of each person; none after something came out, or the job was reopened."""
        return signatures(self.standing)

    @cached_property
    def signed_before(self) -> Mapping[int, Event]:
        """What came first after a signature and says something of the unit, by the number of that."""
        return signed_before(self.standing)

    def ticked(self, who: str) -> frozenset[str]:
        """Return every caution that a person has ticked in this job, at what counts."""
        return self._ticked.get(who, frozenset())

    @cached_property
    def _ticked(self) -> Mapping[str, frozenset[str]]:
        found: dict[str, frozenset[str]] = {}
        for event in self.standing:
            if isinstance(event.act, Gated):
                found[event.who] = found.get(event.who, frozenset()).union(event.act.ticked)
        return found

    @cached_property
    def fits(self) -> Mapping[str, FitRecord]:
        """Readings of each fit, and what was chosen for it."""
        return fit_records(self.profile, self.teardown, self.places, self.standing)

    @cached_property
    def found(self) -> Mapping[int, Finding]:
        """What the inspection found, what came out and is used once only, and what was left in: for `needs.roll_up`."""
        found: dict[int, Finding] = {}
        for ordinal, each in self.places.items():
            if each.item.part.one_time and each.came_out and not each.is_gone:
                found[ordinal] = Finding("one_time")
            elif each.stage == "left_in" and not each.is_condemned:
                found[ordinal] = Finding("stays")
            elif each.finding is not None:
                found[ordinal] = each.finding
        return found

    @cached_property
    def into_washer(self) -> Mapping[int, int]:
        """With which event, by its number, each place last went into the washer, by ordinal."""
        starts = ((event.number, event.act.places) for event in self.standing if isinstance(event.act, WashStarted))
        return {ordinal: number for number, places in starts for ordinal in places}

    @cached_property
    def to_come_out(self) -> frozenset[int]:
        """What was left in, or stays inside another, and must come out all the same, by ordinal."""
        return to_come_out(self.teardown, self.order, self.places, self.uses)

    def is_done(self, ordinal: int) -> bool:
        """Say whether nothing of a place waits: it is in and verified, or stays where it is and may."""
        place = self.places[ordinal]
        return place.stage == "verified" or (place.stays_in and ordinal not in self.to_come_out)

    def is_thrown_away(self, ordinal: int) -> bool:
        """Say whether nothing of a place goes in again: all its pieces must be new."""
        whole = self.places[ordinal].expected
        pieces = [use.pieces for use in self.uses.get(ordinal, ())]
        return any(some is None or (whole is not None and some >= whole) for some in pieces)

    @cached_property
    def chosen(self) -> Mapping[int, tuple[Decimal, ...]]:
        """Sizes of graded parts that were chosen for their fits, also those that were in before, mm, by ordinal."""
        known = ((ordinal, each.grades.chosen) for ordinal, each in self.places.items() if each.grades)
        return {ordinal: chosen for ordinal, chosen in known if chosen}

    @cached_property
    def sizes(self) -> Mapping[int, tuple[Decimal, ...]]:
        """Sizes of graded parts that are chosen and are to be new, mm, by ordinal: old pieces may have some of them."""
        found: dict[int, tuple[Decimal, ...]] = {}
        for ordinal, sizes in self.chosen.items():
            left = list(self._each(ordinal) if ordinal in self.stays else sizes)
            for _place, size in self.stays.get(ordinal, ()):
                left.remove(size)
            if left:
                found[ordinal] = tuple(left)
        return found

    @cached_property
    def stays(self) -> Mapping[int, tuple[tuple[int, Decimal], ...]]:
        """Old graded pieces that go in where sizes were chosen: where each lies, and its size, mm, by ordinal.

        A place whose part is condemned or renewed with others is left out: it gets new ones in the very size.
        """
        renewed = {use.item.ordinal for use in self._uses({})} if self.chosen else set()
        wanted = {ordinal: self._each(ordinal) for ordinal in self.chosen if ordinal not in renewed}
        series = {ordinal: self.profile.series[self.places[ordinal].item.part.series or ""] for ordinal in wanted}
        room = {key: {size.mm: room_of(size, each.tol) for size in each.listed()} for key, each in series.items()}

        def kind(ordinal: int) -> Hashable:
            place = self.places[ordinal]
            part = place.item.part
            return (part.series, part.number, part.form) if place.came_out else ordinal

        return reused(
            wanted,
            {ordinal: self._old_sizes(self.places[ordinal]) for ordinal in wanted},
            same=lambda ordinal, size, read: abs(read - size) <= room[ordinal][size],
            kind=kind,
        )

    def _each(self, ordinal: int) -> tuple[Decimal, ...]:
        """Return the size that was chosen of each piece of a place; where one was, it is that of all of them."""
        sizes = self.chosen[ordinal]
        return sizes * (self.places[ordinal].expected or 1) if len(sizes) == 1 else sizes

    def _old_sizes(self, place: PlaceRecord) -> tuple[Decimal, ...]:
        """Return the sizes of the old pieces, mm: measured on the part, or else what was in when its fit was read."""
        if place.expected == 1 and (read := old_reading(place, "thickness")) is not None:
            return (millimetres(read.value, read.unit),)
        if place.expected != 1 and (read := kept_reading(place)) is not None:
            return tuple(sorted(millimetres(value, read.unit) for value in each_piece(read.values, place.expected)))
        return fitted(self.profile, self.fits, place.item.part.id, self.standing)

    @cached_property
    def uses(self) -> Mapping[int, tuple[Use, ...]]:
        """What must be new, by ordinal; empty while too many options are open to tell."""
        found: dict[int, tuple[Use, ...]] = {}
        for use in self._uses(self.sizes):
            found[use.item.ordinal] = (*found.get(use.item.ordinal, ()), use)
        return found

    def _uses(self, sizes: Mapping[int, tuple[Decimal, ...]]) -> tuple[Use, ...]:
        try:
            return renewal(self.profile, self.teardown, self.order, self.found, sizes).uses
        except UsageError:
            return ()

    @cached_property
    def received(self) -> Mapping[int, int]:
        """New pieces that came for a place and go in there, or are in, by ordinal."""
        return {ordinal: here for ordinal in self.places if (here := self.count_new(ordinal, lambda lot: lot.here))}

    @cached_property
    def new_at(self) -> Mapping[tuple[int, Decimal | None], int]:
        """New pieces that came for their place, by its ordinal and their size, as `arrivals.by_size` has it."""
        sizes = {ordinal: by_size(at, self.taken.get(ordinal, ())) for ordinal, at in self.places.items() if at.lots}
        return {(ordinal, size): pieces for ordinal, each in sizes.items() for size, pieces in each.items()}

    @cached_property
    def taken(self) -> Mapping[int, tuple[Decimal, ...]]:
        """What sizes new pieces are taken for of which nobody knows it, mm, by ordinal; see `arrivals.taken_for`."""
        places = ((place, self.uses.get(ordinal, ())) for ordinal, place in self.places.items() if place.grades)
        some = [(place, uses) for place, uses in places if place.lot(None).here and any(use.grade for use in uses)]
        until = max((each.event for place, _uses in some for each in place.lot(None).told), default=0)
        numbers = {use.number for _place, uses in some for use in uses if use.number}
        known = {number: self.arrivals_at(number, self._needing[number], until) for number in numbers}
        door = Counter({number: each.loose for number, each in known.items()})
        coming = Counter({number: each.coming(0) for number, each in known.items()})
        return {place.item.ordinal: taken_for(place, uses, door, coming) for place, uses in some}

    def lots(self, ordinal: int) -> list[Lot]:
        """Return the new pieces of a place that go in there: not those of other sizes than are wanted."""
        return lots_of(self.places[ordinal], self.uses.get(ordinal, ()))

    def count_new(self, ordinal: int, count: Callable[[Lot], int]) -> int:
        """Return what a count comes to over these, of each size no more than goes in."""
        return count_of(self.places[ordinal], self.uses.get(ordinal, ()), count, self.taken.get(ordinal, ()))

    @cached_property
    def arrivals(self) -> Mapping[str, Arrivals]:
        """New pieces of each number that was ordered or came, or that a place needs."""
        numbers = dict.fromkeys((*self._numbered, *self._needing))
        return {number: self.arrivals_at(number, self._needing.get(number, ())) for number in numbers}

    @cached_property
    def _needing(self) -> Mapping[str, list[Use]]:
        """The uses of each order number."""
        found: dict[str, list[Use]] = {}
        for use in chain.from_iterable(self.uses.values()):
            if use.number:
                found.setdefault(use.number, []).append(use)
        return found

    def arrivals_at(self, number: str | None, uses: Collection[Use], until: int | None = None) -> Arrivals:
        """Return the new pieces of a number and where they go; None: it is not recorded.

        `until`: as they were when an event was written, but for those of which nobody knows the size.
        """
        taken = self.taken if until is None else {}
        wanted: dict[int, list[Use]] = {ordinal: [] for ordinal in self._came_to.get(number or "", ())}
        for use in uses:
            wanted.setdefault(use.item.ordinal, []).append(use)
        at = [At.of(self.places[ordinal], number, some, taken.get(ordinal, ())) for ordinal, some in wanted.items()]
        told = (*self._numbered.get(number or "", ()), *(event for each in at for event in each.place.events))
        about = {event.number: event for event in told}
        return arrivals([about[each] for each in sorted(about) if until is None or each <= until], number, at)

    @cached_property
    def _came_to(self) -> Mapping[str, set[int]]:
        """The places to which new pieces of a number came, or may have, by the number."""
        found: dict[str, set[int]] = {}
        for ordinal, place in self.places.items():
            for number in numbers_of(place):
                found.setdefault(number, set()).add(ordinal)
        return found

    @cached_property
    def _numbered(self) -> Mapping[str, list[Event]]:
        """What was ordered, came and went back, by the order number it was written with."""
        found: dict[str, list[Event]] = {}
        for event in self.standing:
            if isinstance(event.act, Ordered | Received | Returned) and event.act.number:
                found.setdefault(event.act.number, []).append(event)
        return found

    def arrivals_of(self, number: str | None) -> Arrivals:
        """Return the new pieces of a number; none of a number that nobody knows."""
        return self.arrivals.get(number or "", Arrivals())

    def loose_for(self, ordinal: int) -> int:
        """Return how many pieces of the numbers that a place gets were counted at the door, and are at no place yet."""
        return sum(self.arrivals_of(number).loose for number in {use.number for use in self.uses.get(ordinal, ())})

    def has_new(self, ordinal: int) -> bool:
        """Say whether all new pieces that a place gets are here; also where it gets none."""
        return all(map(self.lies_for, self.uses.get(ordinal, ())))

    def lies_for(self, use: Use) -> bool:
        """Say whether the new pieces of a use are here; also where nobody can say how many.

        Whatever size is chosen later, some must come before.
        """
        if use.unsized:
            return self.received.get(use.item.ordinal, 0) >= (use.pieces or 1)
        if use.pieces is None:
            return True
        here = self.new_at.get((use.item.ordinal, use.grade), 0) + self.arrivals_of(use.number).loose
        return use.pieces <= here


def record_of(profile: Profile, teardown: Teardown, order: Sequence[Placed], events: Sequence[Event]) -> Record:
    """Return a job as its events tell it.

    Args:
        profile: of the unit.
        teardown: its removal order under the job's options.
        order: its order of assembly.
        events: of the job, in the order of their numbers.
    """
    told: dict[int | None, list[Event]] = {ordinal: [] for ordinal in teardown.items}
    void = corrections(events)
    standing = [event for event in events if event.number not in void]
    for event in standing:
        if event.place in told:
            told[event.place].append(event)
    grades = graded(profile, teardown, standing)
    places: dict[int, PlaceRecord] = {}
    stays: dict[str, bool] = {}
    for ordinal, each in teardown.items.items():
        above = stays.get(each.parent or "", False)
        place = places[ordinal] = place_record(each, told[ordinal], left_in=above, grades=grades.get(ordinal))
        if isinstance(each, Bin):
            stays[each.step] = place.closed or place.stage == "left_in"
    return Record(profile, teardown, tuple(order), tuple(events), places)
