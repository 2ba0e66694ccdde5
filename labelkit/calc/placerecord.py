"""Where one place of a job is: its stage, its pieces and what was found, derived from its events one by one."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from decimal import Decimal
from typing import Any, Final, Literal, get_args

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
from labelkit.model.part import Check
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
        came: new pieces that were received here, and neither sent back nor used up.
        staged: new pieces that lie ready, None: none is; 0: without a count.
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
    count: int | None = None
    placed: int | None = 0
    new: int = 0
    came: int = 0
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
    def is_condemned(self) -> bool:
        """Whether some of its old pieces, or all, are condemned or lost."""
        return self.finding is not None and self.finding.verdict != "ok"

    @property
    def is_gone(self) -> bool:
        """Whether all of its old pieces are."""
        return self.is_condemned and self.finding is not None and self.finding.pieces is None

    @property
    def came_out(self) -> bool:
        """Whether it came out of the unit, wherever it is now."""
        return self.since > 0 and self.stage != "left_in"

    @property
    def is_done(self) -> bool:
        """Whether nothing of it waits: verified, left in, or captured."""
        return self.stage in ("verified", "left_in", "inside")

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
        return self._old(lambda check: (check.measure or "").casefold().startswith(words))

    def kept_reading(self) -> Reading | None:
        """Return the last reading of the old part that is kept for a fit; None without one."""
        return self._old(lambda check: check.keep)

    def _old(self, wanted: Callable[[Check], bool]) -> Reading | None:
        first = next((e.number for e in self.events if isinstance(e.act, Received)), None)
        points = self.item.part.check
        for event in reversed(self.events):
            act = event.act
            if not isinstance(act, Reading) or act.check is None or (first is not None and event.number > first):
                continue
            if act.check < len(points) and wanted(points[act.check]):
                return act
        return None


def turned_on(item: Bin | Inside) -> Decimal | None:
    """Return by how many degrees its fasteners are turned on behind the torque; None where they are not."""
    fasten = item.part.fasten
    return fasten.angle.value if fasten and fasten.angle and fasten.angle.value else None


def _expected(item: Bin | Inside) -> int | None:
    return None if item.part.qty == "set" else item.part.qty


def place_record(item: Bin | Inside, events: Sequence[Event], *, left_in: bool) -> PlaceRecord:
    """Return a place as its events tell it.

    Args:
        item: the bin, or the part that stays inside another.
        events: all of the place that count, in their order.
        left_in: what it is inside was left in, or not opened.
    """
    told: _Told = {"stage": "in_unit" if isinstance(item, Bin) else "inside"}
    for event in events:
        _tell(told, item, event)
    if left_in and told["stage"] == "in_unit":
        told["stage"] = "left_in"
    if _is_staged(told, item):
        told["stage"] = "staged"
    return PlaceRecord(item, events=tuple(events), **told)


# The fields of a place that its events have told so far; the others are as they begin.
_Told = dict[str, Any]


def _tell(told: _Told, item: Bin | Inside, event: Event) -> None:
    match event.act:
        case Removed(count=count):
            _keep_new(told, item)
            told |= {"stage": "removed" if count is None else "binned", "since": event.number, "count": count}
            told |= {"placed": 0, "new": 0, "torque": None}
        case CountFound(count=count):
            told["count"] = count
            _up(told, "binned")
        case LeftIn():
            told |= {"stage": "left_in", "since": event.number}
        case LeftClosed():
            told["closed"] = True
        case Washed():
            _up(told, "washed")
        case Inspected() | Condemned():
            _judge(told, item, event)
        case Received(pieces=pieces):
            told["came"] = told.get("came", 0) + pieces
        case Returned(counted=pieces):
            _send_back(told, pieces)
        case Staged(pieces=pieces):
            told["staged"] = (told.get("staged") or 0) + (pieces or 0)
        case Joined():
            _up(told, "joined")
        case Installed():
            _install(told, item, event.act)
        case Verified() if told["stage"] == "installed":
            told["stage"] = "verified"
        case TorqueSigned(share=share, torque=torque, angle=angle) if share == 1:
            # A torque from which they are turned on is the beginning only; without a figure all is as wanted.
            if torque is None or angle is not None or turned_on(item) is None:
                told["torque"] = event
        case Hold():
            told["holds"] = (*told.get("holds", ()), event)
        case Released(of=number):
            told["holds"] = tuple(each for each in told.get("holds", ()) if each.number != number)


def _up(told: _Told, stage: Stage) -> None:
    if told["stage"] in OUT and _RANK[stage] > _RANK[told["stage"]]:
        told["stage"] = stage


def _keep_new(told: _Told, item: Bin | Inside) -> None:
    """Take away the new pieces that come out again: what lies ready besides stays, what is used once is used up."""
    fresh, staged = told.get("new", 0), told.get("staged")
    if fresh and staged is not None:
        told["staged"] = staged - fresh if fresh < staged else None
    if item.part.one_time:
        told["came"] = max(told.get("came", 0) - fresh, 0)


def _is_staged(told: _Told, item: Bin | Inside) -> bool:
    """Say whether a new part lies ready for a place that is out, and counted; old pieces that stay have their turn."""
    waits = told["stage"] in OUT and _RANK[told["stage"]] < _RANK["staged"]
    counted = told["stage"] != "removed" or _expected(item) is None
    found = told.get("finding")
    return waits and counted and told.get("staged") is not None and (found is None or found.pieces is None)


def _send_back(told: _Told, pieces: int) -> None:
    """Take away what went back: what was not laid ready first."""
    came, staged = told.get("came", 0), told.get("staged")
    told["came"] = max(came - pieces, 0)
    if staged and (gone := pieces - max(came - staged, 0)) > 0:
        told["staged"] = staged - gone if gone < staged else None


def _judge(told: _Told, item: Bin | Inside, event: Event) -> None:
    act, before = event.act, told.get("finding")
    if isinstance(act, Condemned):
        pieces = act.pieces
        if pieces is not None and before and before.verdict != "ok" and before.pieces is not None:
            pieces += before.pieces
        expected = _expected(item)
        whole = pieces is None or (expected is not None and pieces >= expected)
        found = Finding("lost" if act.lost else "condemned", None if whole else pieces)
    elif isinstance(act, Inspected) and act.verdict == "replace":
        found = Finding("condemned")
    elif isinstance(act, Inspected) and act.check is None and act.verdict in ("reuse", "repair"):
        found = before if before and before.verdict != "ok" else Finding("ok")
    else:
        return
    told |= {"finding": found, "judged_by": event}
    if found.pieces is None:
        _up(told, "inspected")


def _install(told: _Told, item: Bin | Inside, act: Installed) -> None:
    whole = _expected(item)
    pieces = whole if act.pieces is None else act.pieces
    if whole is None or pieces is None:
        told |= {"placed": None, "stage": "installed"}
        if act.new:  # so many as were laid ready, or else measured; one where nobody counted
            told["new"] = act.pieces or told.get("staged") or len(act.sizes) or 1
        return
    before = told.get("placed") or 0
    told["placed"] = placed = min(whole, before + pieces)
    if act.new:
        told["new"] = told.get("new", 0) + placed - before
    if placed == whole:
        told["stage"] = "installed"
