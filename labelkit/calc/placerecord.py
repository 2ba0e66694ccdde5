"""Where one place of a job is: its stage, its pieces and what was found, derived from its events one by one."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, fields
from decimal import Decimal
from typing import Final, Literal, get_args

from labelkit.calc.endings import outdates
from labelkit.calc.newpieces import Grades, Lot, NewPieces, staged
from labelkit.calc.notepieces import renumbered
from labelkit.calc.pulling import Finding
from labelkit.calc.steps import Bin, Inside
from labelkit.model.acts import (
    Condemned,
    CountFound,
    Hold,
    Inspected,
    Installed,
    Joined,
    LeftClosed,
    LeftIn,
    Received,
    Released,
    Removed,
    Returned,
    Staged,
    TorqueSigned,
    Verified,
    Washed,
    rejects_new,
)
from labelkit.model.events import Event
from labelkit.model.readings import Reading

Stage = Literal[
    "in_unit",
    "left_in",
    "inside",
    "removed",
    "binned",
    "washed",
    "inspected",
    "staged",
    "joined",
    "installed",
    "verified",
]
"""`in_unit`: nobody recorded that it came out; `left_in`: left in, with what is inside it; `inside`: captured, it stays
in another part that came out; `removed`: out, not counted; `binned`: counted. Then washed, inspected, a new one staged,
joined on the bench, installed, verified."""

STAGES: Final[tuple[Stage, ...]] = get_args(Stage)
_RANK: Final = {stage: rank for rank, stage in enumerate(STAGES)}
OUT: Final = frozenset(("removed", "binned", "washed", "inspected", "staged", "joined"))
"""Stages in which it lies on the bench."""
_IN: Final = ("installed", "verified")


@dataclass(frozen=True, slots=True)
class PlaceRecord:
    """What the record says of one place.

    Attributes:
        item: the bin, or the part that stays inside another.
        stage: where it is.
        count: pieces that came out, None when nobody counted.
        placed: pieces that are in again; None: all, or no fixed count.
        lots: its new pieces by their size, mm; None: it has none, or nobody said which.
        grades: the sizes of a graded part; None: it is none.
        finding: what the inspection found; None: not judged as a whole.
        judged_by: the event that says so.
        holds: open ones.
        torque: its last signature as fully tightened, since it came out.
        closed: a sub-assembly that was not opened.
        events: all that count, in their order.
        since: number of the event with which it last came out; 0: never.
    """

    item: Bin | Inside
    stage: Stage
    count: int | None
    placed: int | None
    lots: Mapping[Decimal | None, Lot]
    grades: Grades | None
    finding: Finding | None
    judged_by: Event | None
    holds: tuple[Event, ...]
    torque: Event | None
    closed: bool
    events: tuple[Event, ...]
    since: int

    @property
    def expected(self) -> int | None:
        """Pieces it has; None: no fixed count."""
        return _expected(self.item)

    def lot(self, size: Decimal | None) -> Lot:
        """Return its new pieces of a size, mm; an empty lot where there are none."""
        return self.lots.get(size) or Lot()

    def wants(self, size: Decimal | None) -> bool:
        """Say whether new pieces of a size, mm, go in; not where another one was chosen."""
        return self.grades is None or self.grades.wants(size)

    @property
    def new(self) -> int:
        """Pieces of `placed` that are new."""
        return sum(lot.new for lot in self.lots.values())

    @property
    def new_again(self) -> int:
        """New pieces that were in when it last came out, and may go in again."""
        return sum(lot.out for lot in self.lots.values()) if self.is_apart else 0

    @property
    def staged(self) -> int | None:
        """New pieces that lie ready and go in, None: none does; 0: without a count."""
        return staged(self.lots, self.grades)

    @property
    def is_out(self) -> bool:
        """Whether some of it lies on the bench."""
        return self.stage in OUT

    @property
    def is_apart(self) -> bool:
        """Whether some of it lies on the bench, and not built into its group."""
        return self.is_out and self.stage != "joined"

    @property
    def stays_in(self) -> bool:
        """Whether it never came out, and was not meant to: it was left in, or stays inside another part."""
        return self.stage in ("left_in", "inside")

    @property
    def is_built_in(self) -> bool:
        """Whether all of it is in its group or in the unit again."""
        return self.stage in ("joined", "installed", "verified")

    @property
    def is_in(self) -> bool:
        """Whether all of it went in again."""
        return self.stage in _IN

    @property
    def is_condemned(self) -> bool:
        """Whether some of its old pieces, or all, are condemned or lost."""
        return self.finding is not None and self.finding.verdict != "ok"

    @property
    def is_gone(self) -> bool:
        """Whether all of its old pieces are."""
        return self.is_condemned and self.finding is not None and self.finding.pieces is None

    @property
    def is_lost(self) -> bool:
        """Whether some of its old pieces, or all, are lost, as was found last."""
        return self.finding is not None and self.finding.verdict == "lost"

    @property
    def is_all_lost(self) -> bool:
        """Whether all of its old pieces are lost, so that nothing of them is to be measured or looked at."""
        return self.is_gone and self.is_lost

    @property
    def is_missing(self) -> bool:
        """Whether it came out, and nothing of it lies there: all its old pieces are lost, and no new one lies ready."""
        return self.is_all_lost and self.is_apart and self.staged is None and not self.placed

    @property
    def is_held(self) -> bool:
        """Whether it is on hold and not in, so that nothing of it counts as ready."""
        return bool(self.holds) and not self.is_in

    @property
    def is_condemned_in(self) -> bool:
        """Whether what is in was condemned there, and so must come out."""
        last = self.last_of("installed")
        judged = self.judged_by is not None and last is not None and self.judged_by.number > last.number
        return self.is_condemned and judged and self.is_in

    @property
    def came_out(self) -> bool:
        """Whether it came out of the unit, wherever it is now."""
        return self.since > 0 and self.stage != "left_in"

    @property
    def is_uncounted(self) -> bool:
        """Whether it came out, nobody has counted it since, and it is not one piece, which is there or is not."""
        return self.came_out and self.count is None and self.expected != 1

    @property
    def name(self) -> str:
        """Step and name; a captured part has no step."""
        return self.item.full_name

    def last_of(self, *kinds: str) -> Event | None:
        """Return its last event of some kinds since it came out."""
        return next((e for e in reversed(self.events) if e.act.kind in kinds and e.number >= self.since), None)

    def renumbered(self) -> Iterator[tuple[int, str, str]]:
        """Yield with which events an order number of its new pieces was changed, the number before, and that since."""
        for event in self.events:
            if told := renumbered(event.act):
                yield event.number, told["was"], told["now"]

    def readings(self, check: int) -> tuple[Event, ...]:
        """Return the readings of one point, of all times."""
        return tuple(e for e in self.events if isinstance(e.act, Reading) and e.act.check == check)


def turned_on(item: Bin | Inside) -> Decimal | None:
    """Return by how many degrees its fasteners are turned on behind the torque; None where they are not."""
    fasten = item.part.fasten
    return fasten.angle.value if fasten and fasten.angle and fasten.angle.value else None


def _expected(item: Bin | Inside) -> int | None:
    return None if item.part.qty == "set" else item.part.qty


def place_record(
    item: Bin | Inside, events: Sequence[Event], *, left_in: bool, grades: Grades | None = None
) -> PlaceRecord:
    """Return a place as its events tell it.

    Args:
        item: the bin, or the part that stays inside another.
        events: all of the place that count, in their order.
        left_in: what it is inside was left in, or not opened.
        grades: the sizes of a graded part; None: it is none.
    """
    told = _Told(item, "in_unit" if isinstance(item, Bin) else "inside", NewPieces(grades))
    for event in events:
        told.tell(event)
    if left_in and told.stage in ("in_unit", "inside"):
        told.stage = "left_in"
    if told.is_staged():
        told.stage = "staged"
    kept = {each.name: getattr(told, each.name) for each in fields(PlaceRecord) if each.name != "events"}
    return PlaceRecord(**kept, events=tuple(events))


@dataclass
class _Told:
    """The fields of a place as its events have told them so far.

    Attributes:
        old: the old pieces that were in with new ones.
        apart: the stage that it had before it was built into its group.
        joined_new: what was built into it is new.
    """

    item: Bin | Inside
    stage: Stage
    pieces: NewPieces
    count: int | None = None
    placed: int | None = 0
    finding: Finding | None = None
    judged_by: Event | None = None
    holds: tuple[Event, ...] = ()
    torque: Event | None = None
    closed: bool = False
    since: int = 0
    old: int = 0
    apart: Stage = "removed"
    joined_new: bool = False

    @property
    def lots(self) -> Mapping[Decimal | None, Lot]:
        """The new pieces by their size."""
        return self.pieces.lots

    @property
    def grades(self) -> Grades | None:
        """The sizes of a graded part."""
        return self.pieces.grades

    def tell(self, event: Event) -> None:
        """Take up what an event of the place says."""
        if self.stage == "verified" and outdates(self.item.part, event.act):
            self.stage = "installed"
        match event.act:
            case Removed(count=count):
                self.pieces.take_out(once=self.item.part.one_time)
                self.stage = "removed" if count is None else "binned"
                self.since, self.count, self.placed, self.torque = event.number, count, 0, None
            case CountFound(count=count):
                self.count = count
                self._up("binned")
            case LeftIn():
                self.stage, self.since = "left_in", event.number
            case LeftClosed():
                self.closed = True
            case Washed():
                self._up("washed")
            case Inspected(new=True) | Condemned(new=True) if self.stage not in _IN:
                if rejects_new(event.act):
                    self._reject_new(event)
            case Inspected() | Condemned():
                self._judge(event)
            case Received():
                self.pieces.receive(event.number, event.act)
            case Returned():
                self.pieces.send_back(event.number, event.act)
            case Staged():
                self.pieces.stage(event.number, event.act)
            case Joined(new=new):
                self.apart = self.apart if self.stage == "joined" else self.stage
                self.joined_new = new
                self._up("joined")
            case Installed():
                self._install(event.number, event.act)
            case Verified() if self.stage == "installed":
                self.stage = "verified"
            case TorqueSigned(share=share, torque=torque, angle=angle) if share == 1:
                # A torque from which they are turned on is the beginning only; without a figure all is as wanted.
                if torque is None or angle is not None or turned_on(self.item) is None:
                    self.torque = event
            case Hold():
                self.holds = (*self.holds, event)
            case Released(of=number):
                self.holds = tuple(each for each in self.holds if each.number != number)

    def is_staged(self) -> bool:
        """Say whether a new part lies ready for what is out, and counted; old pieces that stay have their turn."""
        waits = self.stage in OUT and _RANK[self.stage] < _RANK["staged"]
        counted = self.stage != "removed" or _expected(self.item) is None
        return waits and counted and self.pieces.staged is not None and not self._some_stay()

    def _some_stay(self) -> bool:
        """Say whether some old pieces go in again beside new ones: some only were condemned, and not all are renewed.

        As many new ones as the place has leave no room for an old one, whatever renews them.
        """
        some = self.finding is not None and self.finding.pieces is not None
        part, whole = self.item.part, _expected(self.item)
        always = part.renew == "always" or part.one_time
        return some and not always and (whole is None or (self.pieces.staged or 0) < whole)

    def _up(self, stage: Stage) -> None:
        if self.stage in OUT and _RANK[stage] > _RANK[self.stage]:
            self.stage = stage

    def _reject_new(self, event: Event) -> None:
        """Take away new pieces that are not used; what was built into its group with them comes off it."""
        act = event.act
        self.pieces.reject(event.number, getattr(act, "pieces", None), getattr(act, "size", None))
        if self.stage == "joined" and (self.joined_new or self._some_stay()):
            self.stage = self.apart

    def _judge(self, event: Event) -> None:
        act, expected = event.act, _expected(self.item)
        known = self.finding if self.finding and self.finding.verdict != "ok" else None
        if isinstance(act, Condemned):
            self._condemn_new(act.pieces, act.size)
            pieces = act.pieces
            if pieces is not None and known:
                pieces = None if known.pieces is None else pieces + known.pieces
            whole = pieces is None or (expected is not None and pieces >= expected)
            found = Finding("lost" if act.lost else "condemned", None if whole else pieces)
        elif isinstance(act, Inspected) and act.verdict == "replace":
            self._condemn_new(None)
            found = Finding("condemned")
        elif isinstance(act, Inspected) and act.check is None and act.verdict in ("reuse", "repair"):
            found = known or Finding("ok")
        else:
            return
        self.finding, self.judged_by = found, event
        if found.pieces is None:
            self._up("inspected")

    def _condemn_new(self, pieces: int | None, size: Decimal | None = None) -> None:
        """Have the new pieces that were in used up when they are condemned; of some the old ones are meant first."""
        fresh = self.pieces.sum_of(lambda lot: lot.fresh)
        old = self.old if pieces is None else min(self.old, pieces)
        self.pieces.condemn(fresh if pieces is None else min(fresh, pieces - old), size)
        self.old -= old

    def _install(self, event: int, act: Installed) -> None:
        whole, before = _expected(self.item), self.placed or 0
        pieces = whole if act.pieces is None else act.pieces
        if whole is None or pieces is None:
            self.placed, self.stage = None, "installed"
            if act.new:  # so many as were laid ready, or else measured; one where nobody counted
                self.pieces.put_in(event, act, act.pieces or self.pieces.staged or len(act.sizes) or 1, anew=True)
            return
        self.placed = min(whole, before + pieces)
        if act.new:
            self.pieces.put_in(event, act, self.placed - before, anew=not before)
            self.old = whole - self.pieces.sum_of(lambda lot: lot.fresh)
        if self.placed == whole:
            self.stage = "installed"
