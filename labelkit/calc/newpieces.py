"""The new pieces of a place, those of each size for themselves: came, laid ready, in, sent back, used up.

A graded piece is of the size for which it came, whatever is chosen later: its measure says which of several that is,
and whether it is one that was chosen since. Pieces of other parts have no size. Common practice, no source.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator, Mapping
from contextlib import contextmanager
from dataclasses import dataclass, field, replace
from decimal import Decimal
from typing import Final

from labelkit.calc.figures import millimetres
from labelkit.calc.measured import one_for_each, thickness_read
from labelkit.calc.steps import Teardown
from labelkit.model.acts import Installed, Received, Returned, Staged
from labelkit.model.catalogue import order_number
from labelkit.model.events import Event
from labelkit.model.part import Part
from labelkit.model.profile import Profile, Series
from labelkit.model.readings import FitChosen
from labelkit.units import Quantity

REJECTED: Final = "rejected"
"""What it is called among the kinds of `Told` that new pieces are not used after all."""

_Part = tuple[Decimal | None, int, tuple[Quantity, ...]]


@dataclass(frozen=True, slots=True)
class Grades:
    """The sizes that a graded part comes in, and those that were chosen for its fit, one choice after the other.

    Attributes:
        profile: of the unit.
        part: the part.
        choices: the number of each event that chose, and the sizes, mm; none where the series lacks one of them.
    """

    profile: Profile
    part: Part
    choices: tuple[tuple[int, tuple[Decimal, ...]], ...]

    @property
    def series(self) -> Series:
        """The sizes that the part comes in."""
        return self.profile.series[self.part.series or ""]

    @property
    def chosen(self) -> tuple[Decimal, ...]:
        """The sizes that are chosen now, mm."""
        return self.choices[-1][1] if self.choices else ()

    @property
    def chosen_by(self) -> int:
        """The number of the event that chose them; 0: none did."""
        return self.choices[-1][0] if self.choices else 0

    def chosen_at(self, event: int) -> tuple[Decimal, ...]:
        """Return the sizes that were chosen when an event was written, mm."""
        return next((sizes for number, sizes in reversed(self.choices) if number < event), ())

    def nearest(self, read: Decimal, event: int) -> Decimal:
        """Return the size of a piece that an event brought, mm, by what it measures.

        It was taken for a size that was chosen then, so that it is one of these, or one that is chosen now.
        """
        then = self.chosen_at(event)
        known = (*then, *self.chosen) if then else self.series.thicknesses()
        return min(known, key=lambda size: abs(size - read))

    def wants(self, size: Decimal | None) -> bool:
        """Say whether a size goes in: one that is chosen, any where none is, or where nobody knows which it is."""
        return size is None or not self.chosen or size in self.chosen

    def listed(self, size: Decimal) -> Quantity | None:
        """Return a size, mm, as the series lists it; None: it has none such."""
        return next((each for each in self.series.listed() if each.mm == size), None)

    def number(self, size: Decimal) -> str | None:
        """Return the order number of a size, mm; None: it is not recorded."""
        return order_number(self.profile, self.part, self.listed(size))


def graded(profile: Profile, teardown: Teardown, events: Iterable[Event]) -> dict[int, Grades]:
    """Return the sizes of each graded part, by the ordinal of its place; a choice is of a part that is there once.

    Args:
        profile: of the unit.
        teardown: its removal order under the job's options.
        events: of the job, all that count, in their order.
    """
    choices: dict[str, list[tuple[int, tuple[Decimal, ...]]]] = {}
    for event in events:
        if isinstance(event.act, FitChosen) and (fit := profile.fits.get(event.act.fit)) and fit.set_by:
            sizes = tuple(millimetres(size, event.act.unit) for size in event.act.sizes)
            choices.setdefault(fit.set_by, []).append((event.number, sizes))
    found = {}
    for ordinal, item in teardown.items.items():
        if (series := profile.series.get(item.part.series or "")) is not None:
            told = choices.get(item.part.id, []) if len(teardown.of(item.part.id)) == 1 else []
            known = set(series.thicknesses()) if told else set()
            of_it = ((number, sizes if known.issuperset(sizes) else ()) for number, sizes in told)
            found[ordinal] = Grades(profile, item.part, tuple(of_it))
    return found


@dataclass
class Told:
    """What an event tells of new pieces of one size.

    Attributes:
        event: its number.
        kind: of its act, or that it rejects them.
        pieces: that it counts.
        brought: of these, that were not here before.
        read: how thick they are, a figure for each piece, or several of one; empty: it does not say.
    """

    event: int
    kind: str
    pieces: int
    brought: int = 0
    read: tuple[Quantity, ...] = ()


@dataclass
class Lot:
    """The new pieces of one size at a place.

    Attributes:
        came: that were received here, and neither sent back nor used up.
        staged: that lie ready, None: none does; 0: without a count.
        new: that are in.
        fresh: that went in, and are as good as new; they may lie there again.
        out: of these, that were in when the place last came out.
        used: that are out of use: they were in and are used once only, or they were condemned, or lost.
        told: what events tell of them, in their order.
    """

    came: int = 0
    staged: int | None = None
    new: int = 0
    fresh: int = 0
    out: int = 0
    used: int = 0
    told: list[Told] = field(default_factory=list)

    @property
    def here(self) -> int:
        """Pieces that came, lie ready, or are in: these are the same."""
        return max(self.came, self.ready)

    @property
    def ready(self) -> int:
        """Pieces that lie ready, or are in."""
        return max(self.staged or 0, self.new)

    @property
    def lying(self) -> int:
        """Pieces that came or were laid ready, and may go back."""
        return max(self.came, self.staged or 0)

    def measured(self) -> Iterator[tuple[int, tuple[Quantity, ...]]]:
        """Yield how many of the pieces that are here, or in, were measured together, and how thick they are.

        They are those that came last: others went back, or were used up.
        """
        for each, pieces in self.latest(
            self.here, lambda told: told.pieces if told.read or told.kind == "received" else 0
        ):
            if each.read:
                yield pieces, each.read

    def latest(self, pieces: int, count: Callable[[Told], int]) -> Iterator[tuple[Told, int]]:
        """Yield which events told of so many pieces, the last first, each with how many of these it told of.

        Args:
            pieces: of the lot that are meant.
            count: how many an event may have told of.
        """
        for each in reversed(self.told):
            of_it = min(count(each), pieces)
            pieces -= of_it
            if of_it > 0:
                yield each, of_it

    def counted(self, kind: str, since: int) -> int:
        """Return how many pieces the events of a kind count that were written after one."""
        return sum(each.pieces for each in self.told if each.kind == kind and each.event > since)

    def take_out(self, *, once: bool) -> None:
        """Take up that what is in came out: what lies ready besides stays, what may go in again is here."""
        if self.new:
            self.came = self.here
        self._take_ready(self.new)
        self.new, self.out = 0, self.new
        self._use_up(self.out if once else 0)

    def send_back(self, pieces: int) -> None:
        """Take away what went back: what was not laid ready first."""
        if self.staged:
            self._take_ready(pieces - max(self.came - self.staged, 0))
        self.came = max(self.came - pieces, 0)

    def reject(self, pieces: int | None) -> None:
        """Take away what is not used after all, None: all of it; first what lies ready, so that none is built in."""
        here = self.here
        left = 0 if pieces is None else max(here - pieces, 0)
        if pieces is None:
            self.staged = None
        else:
            self._take_ready(pieces)
        self.new, self.fresh, self.out = (min(each, left) for each in (self.new, self.fresh, self.out))
        self.came = left
        self.used += here - left

    def condemn(self, pieces: int) -> None:
        """Take away what was condemned; what is in is new no more."""
        if self.new:
            self._take_ready(pieces)
            self.new -= min(pieces, self.new)
        self._use_up(pieces)

    def be(self, other: Lot, pieces: int) -> None:
        """Have so many pieces be of the size of another lot: first those that do not lie ready."""
        pieces = max(pieces, 0)
        came = min(pieces, self.came)
        laid = max((self.staged or 0) - (self.came - came), 0)
        self.came, other.came = self.came - came, other.came + came
        if laid:
            self._take_ready(laid)
            other.staged = (other.staged or 0) + laid
        for each in self.told:
            gone = min(each.pieces, pieces)
            pieces -= gone
            if gone:
                other.told.append(replace(each, pieces=gone, brought=min(each.brought, gone)))
                each.pieces, each.brought = each.pieces - gone, max(each.brought - gone, 0)

    def _use_up(self, pieces: int) -> None:
        self.came, self.fresh, self.out = (max(each - pieces, 0) for each in (self.came, self.fresh, self.out))
        self.used += pieces

    def _take_ready(self, pieces: int) -> None:
        if self.staged is not None and pieces > 0:
            self.staged = self.staged - pieces if pieces < self.staged else None


def staged(lots: Mapping[Decimal | None, Lot], grades: Grades | None) -> int | None:
    """Return how many pieces lie ready that go in, of all sizes; None: none does; 0: without a count."""
    goes_in = (lot for size, lot in lots.items() if grades is None or grades.wants(size))
    ready = [lot.staged for lot in goes_in if lot.staged is not None]
    return sum(ready) if ready else None


class NewPieces:
    """The new pieces of one place as its events have told of them so far.

    Attributes:
        grades: the sizes of a graded part; None: it is none.
        lots: the pieces by their size, mm; None: it has none, or nobody said which it is.
    """

    def __init__(self, grades: Grades | None) -> None:
        self.grades = grades
        self.lots: dict[Decimal | None, Lot] = {}

    def sum_of(self, count: Callable[[Lot], int]) -> int:
        """Return what a count comes to over the pieces of all sizes."""
        return sum(map(count, self.lots.values()))

    @property
    def staged(self) -> int | None:
        """Pieces that lie ready, as `staged` counts them."""
        return staged(self.lots, self.grades)

    def receive(self, event: int, act: Received) -> None:
        """Take up that some came."""
        for size, pieces, read in self._parts(event, act.pieces, thickness_read(act), lambda _lot: 0):
            with self._telling(size, Told(event, act.kind, pieces, read=read)) as lot:
                lot.came += pieces

    def stage(self, event: int, act: Staged) -> None:
        """Take up that some lie ready."""

        def left(lot: Lot) -> int:
            return lot.came - (lot.staged or 0)

        read = thickness_read(act)
        for size, pieces, each in self._parts(event, act.pieces or len(read), read, left):
            self._find_out(size, pieces, left)
            with self._telling(size, Told(event, act.kind, pieces, read=each)) as lot:
                lot.staged = (lot.staged or 0) + (pieces if act.pieces else 0)

    def put_in(self, event: int, act: Installed, pieces: int, *, anew: bool) -> None:
        """Take up that so many went in; `anew`: no others are in."""

        def left(lot: Lot) -> int:
            return lot.here - lot.new

        parts = self._parts(event, pieces, tuple(Quantity(size, "mm") for size in act.sizes), left)
        if anew:  # those of other sizes that were in before lie beside it
            for lot in (self.lots[size] for size in self.lots.keys() - {size for size, *_rest in parts}):
                lot.new = lot.fresh = 0
        for size, count, _read in parts:
            self._find_out(size, count, left)
            with self._telling(size, Told(event, act.kind, count)) as lot:
                lot.new = count if anew else lot.new + count
                lot.fresh = max(lot.fresh, lot.new)

    def take_out(self, *, once: bool) -> None:
        """Take up that what is in came out; `once`: it is used up by that."""
        for lot in self.lots.values():
            lot.take_out(once=once)

    def send_back(self, event: int, act: Returned) -> None:
        """Take up that some that lay here went back: first of the number that did, then what nobody knows of."""
        left = act.counted
        for size, lot in sorted(
            self.lots.items(), key=lambda item: (not self._is_of(item[0], act.number), item[0] is not None)
        ):
            pieces = min(left, lot.lying)
            left -= pieces
            with self._telling(size, Told(event, act.kind, pieces)):
                lot.send_back(pieces)

    def reject(self, event: int, pieces: int | None, meant: Decimal | None = None) -> None:
        """Take up that so many are not used after all, None: all; first of the size meant, then of those that go in."""
        left, grades = pieces, self.grades
        for size, lot in sorted(
            self.lots.items(), key=lambda item: (item[0] != meant, grades is not None and not grades.wants(item[0]))
        ):
            gone = lot.here if left is None else min(left, lot.here)
            with self._telling(size, Told(event, REJECTED, gone)):
                lot.reject(None if left is None else gone)
            left = None if left is None else left - gone

    def condemn(self, pieces: int, meant: Decimal | None = None) -> None:
        """Take up that so many of those that are in, or were in last, were condemned; first of the size meant."""
        for _size, lot in sorted(self.lots.items(), key=lambda item: (item[0] != meant, not item[1].new)):
            gone = min(pieces, lot.fresh)
            pieces -= gone
            lot.condemn(gone)

    def _is_of(self, size: Decimal | None, number: str | None) -> bool:
        return self.grades is not None and size is not None and self.grades.number(size) == number

    @contextmanager
    def _telling(self, size: Decimal | None, told: Told) -> Iterator[Lot]:
        """Give the lot of a size to change it, and keep what an event told of it."""
        lot = self.lots.setdefault(size, Lot())
        before = lot.here
        yield lot
        told.brought = max(lot.here - before, 0)
        lot.told.append(told)

    def _parts(self, event: int, pieces: int, read: tuple[Quantity, ...], left: Callable[[Lot], int]) -> list[_Part]:
        """Return of which sizes the pieces of an event are, how many of each, and what these measure.

        Args:
            event: its number.
            pieces: that it counts.
            read: what they measure; empty: it does not say.
            left: how many pieces of a lot it may be about.
        """
        if self.grades is None:
            return [(None, pieces, read)]
        found: dict[Decimal | None, _Part] = {}

        def add(size: Decimal | None, more: int, figures: tuple[Quantity, ...] = ()) -> None:
            _size, before, known = found.get(size, (size, 0, ()))
            found[size] = (size, before + more, known + figures)

        each_read = [read] if pieces == 1 else [(one,) for one in one_for_each(read, pieces)]
        for figures in each_read if read else ():
            mean = sum((millimetres(each.value, each.unit) for each in figures), Decimal(0)) / len(figures)
            add(self.grades.nearest(mean, event), 1, figures)
        if read:
            return list(found.values())
        chosen = dict.fromkeys(self.grades.chosen_at(event))
        for size in (*chosen, None, *(() if chosen else [size for size in self.lots if size is not None])):
            known = min(pieces, left(self.lots[size])) if size in self.lots else 0
            if known > 0:
                add(size, known)
                pieces -= known
        if pieces or not found:
            add(next(iter(chosen)) if len(chosen) == 1 else None, pieces)
        return list(found.values())

    def _find_out(self, size: Decimal | None, pieces: int, left: Callable[[Lot], int]) -> None:
        """Take up of what size pieces are of which nobody said it before: more are told of than are known of it."""
        unknown = self.lots.get(None)
        if size is not None and unknown is not None:
            lot = self.lots.setdefault(size, Lot())
            unknown.be(lot, min(pieces - left(lot), left(unknown)))
