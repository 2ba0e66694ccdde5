"""Where one place of a job is: its stage, its pieces and what was found, derived from its events one by one."""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import Final, Literal, get_args

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
in another part; `removed`: out, not counted; `binned`: counted. Then washed, inspected, a new one staged, joined
on the bench, installed, verified."""

STAGES: Final[tuple[Stage, ...]] = get_args(Stage)
_RANK: Final = {stage: rank for rank, stage in enumerate(STAGES)}
OUT: Final = frozenset(("removed", "binned", "washed", "inspected", "staged", "joined"))
"""Stages in which it lies on the bench."""


@dataclass(frozen=True, slots=True)
class PlaceRecord:
    """What the record says of one place.

    Attributes:
        item: the bin, or the part that stays inside another.
        stage: where it is.
        count: pieces that came out, None when nobody counted.
        placed: pieces that are in again; None: all, or no fixed count.
        new: pieces of `placed` that are new.
        staged: new pieces that lie ready, None: none is; 0: without a count.
        finding: what the inspection found; None: not judged as a whole.
        judged_by: the event that says so.
        holds: open ones.
        torque: its last signature at the full torque, since it came out.
        closed: a sub-assembly that was not opened.
        events: all that count, in their order.
        since: number of the event with which it last came out; 0: never.
    """

    item: Bin | Inside
    stage: Stage = "in_unit"
    count: int | None = None
    placed: int | None = 0
    new: int = 0
    staged: int | None = None
    finding: Finding | None = None
    judged_by: Event | None = None
    holds: tuple[Event, ...] = ()
    torque: Event | None = None
    closed: bool = False
    events: tuple[Event, ...] = ()
    since: int = 0

    @property
    def expected(self) -> int | None:
        """Pieces it has; None: no fixed count."""
        return _expected(self.item)

    @property
    def is_out(self) -> bool:
        """Whether some of it lies on the bench."""
        return self.stage in OUT

    @property
    def came_out(self) -> bool:
        """Whether it came out of the unit, wherever it is now."""
        return self.since > 0 and self.stage != "left_in"

    @property
    def is_done(self) -> bool:
        """Whether nothing of it waits: verified, left in, or captured."""
        return self.stage in ("verified", "left_in", "inside")

    @property
    def came(self) -> int:
        """New pieces that were received here and not sent back."""
        came = sum(e.act.pieces for e in self.events if isinstance(e.act, Received))
        return max(came - sum(e.act.counted for e in self.events if isinstance(e.act, Returned)), 0)

    @property
    def name(self) -> str:
        """Step and name, as `22.1 Planet gear`; a captured part has no step."""
        return f"{self.item.step} {self.item.name}" if isinstance(self.item, Bin) else self.item.part.name

    def last_of(self, *kinds: str) -> Event | None:
        """Return its last event of some kinds since it came out."""
        return next((e for e in reversed(self.events) if e.act.kind in kinds and e.number >= self.since), None)

    def readings(self, check: int) -> tuple[Event, ...]:
        """Return the readings of one point, of all times."""
        return tuple(e for e in self.events if isinstance(e.act, Reading) and e.act.check == check)

    def old_reading(self, words: str) -> Reading | None:
        """Return the last reading of the old part at a point whose measure begins with some words; None without one."""
        first = next((e.number for e in self.events if isinstance(e.act, Received)), None)
        points = self.item.part.check
        for event in reversed(self.events):
            act = event.act
            if not isinstance(act, Reading) or act.check is None or (first is not None and event.number > first):
                continue
            if act.check < len(points) and (points[act.check].measure or "").casefold().startswith(words):
                return act
        return None


def _expected(item: Bin | Inside) -> int | None:
    return None if item.part.qty == "set" else item.part.qty


@dataclass(slots=True)
class Fold:
    """A place while its events are gone through, with `note` for each and `done` at the end."""

    item: Bin | Inside
    stage: Stage
    count: int | None = None
    placed: int | None = 0
    new: int = 0
    staged: int | None = None
    finding: Finding | None = None
    judged_by: Event | None = None
    holds: dict[int, Event] = field(default_factory=dict)
    torque: Event | None = None
    closed: bool = False
    events: list[Event] = field(default_factory=list)
    since: int = 0

    def _up(self, stage: Stage) -> None:
        if self.stage in OUT and _RANK[stage] > _RANK[self.stage]:
            self.stage = stage

    def note(self, event: Event) -> None:
        """Take the next event of the place."""
        self.events.append(event)
        match event.act:
            case Removed(count=count):
                self.stage, self.since = "removed" if count is None else "binned", event.number
                self.count, self.placed, self.new = count, 0, 0
                self.staged = self.torque = None
            case CountFound(count=count):
                self.count = count
                self._up("binned")
            case LeftIn():
                self.stage, self.since = "left_in", event.number
            case LeftClosed():
                self.closed = True
            case Washed():
                self._up("washed")
            case Inspected() | Condemned():
                self._judge(event)
            case Staged(pieces=pieces):
                self.staged = (self.staged or 0) + (pieces or 0)
                self._up("staged")
            case Joined():
                self._up("joined")
            case Installed():
                self._install(event.act)
            case Verified() if self.stage == "installed":
                self.stage = "verified"
            case TorqueSigned(share=share) if share == 1:
                self.torque = event
            case Hold():
                self.holds[event.number] = event
            case Released(of=number):
                self.holds.pop(number, None)

    def _judge(self, event: Event) -> None:
        act, before = event.act, self.finding
        if isinstance(act, Condemned):
            pieces = act.pieces
            if pieces is not None and before and before.verdict != "ok" and before.pieces is not None:
                pieces += before.pieces
            expected = _expected(self.item)
            whole = pieces is None or (expected is not None and pieces >= expected)
            self.finding = Finding("lost" if act.lost else "condemned", None if whole else pieces)
        elif isinstance(act, Inspected) and act.verdict == "replace":
            self.finding = Finding("condemned")
        elif isinstance(act, Inspected) and act.check is None and act.verdict in ("reuse", "repair"):
            self.finding = before if before and before.verdict != "ok" else Finding("ok")
            self._up("inspected")
        else:
            return
        self.judged_by = event
        if self.finding.verdict != "ok":
            self._up("inspected")

    def _install(self, act: Installed) -> None:
        whole = _expected(self.item)
        pieces = whole if act.pieces is None else act.pieces
        if whole is None or pieces is None:
            self.placed, self.stage = None, "installed"
            return
        before = self.placed or 0
        self.placed = min(whole, before + pieces)
        self.new += (self.placed - before) if act.new else 0
        if self.placed == whole:
            self.stage = "installed"

    def done(self, *, left_in: bool) -> PlaceRecord:
        """Return what came of it; `left_in`: what it is inside was left in, or not opened."""
        if left_in and self.stage == "in_unit":
            self.stage = "left_in"
        return PlaceRecord(
            self.item, self.stage, self.count, self.placed, self.new, self.staged, self.finding, self.judged_by,
            tuple(self.holds.values()), self.torque, self.closed, tuple(self.events), self.since,
        )  # fmt: skip
