"""How a job ends, and what of its record is taken back: by a correction, or by who opened it again."""

from __future__ import annotations

from collections.abc import Iterable

from labelkit.model.acts import Closed, Correction, Removed, Reopened, Signature
from labelkit.model.events import Event


def corrections(events: Iterable[Event]) -> dict[int, Event]:
    """Return which event takes an earlier one back, by the number of that one; a correction is not taken back.

    Args:
        events: of a job, in their order.
    """
    found: dict[int, Event] = {}
    kept: set[int] = set()
    for event in events:
        if isinstance(event.act, Correction):
            if event.act.of in kept:
                found.setdefault(event.act.of, event)
        else:
            kept.add(event.number)
    return found


def signatures(standing: Iterable[Event]) -> tuple[Event, ...]:
    """Return the signatures, the last one of each person; none after something came out, or the job was reopened.

    Args:
        standing: the events of a job that count, in their order.
    """
    found: dict[str, Event] = {}
    for event in standing:
        if isinstance(event.act, Signature):
            found.pop(event.who, None)
            found[event.who] = event
        elif isinstance(event.act, Reopened | Removed):
            found.clear()
    return tuple(found.values())


def undone(standing: Iterable[Event]) -> dict[int, Event]:
    """Return which event opened a job again after a signature, or after it was closed without one, by their numbers.

    Args:
        standing: the events of the job that count, in their order.
    """
    found: dict[int, Event] = {}
    ends: list[int] = []
    for event in standing:
        if isinstance(event.act, Signature) or (isinstance(event.act, Closed) and event.act.override):
            ends.append(event.number)
        elif isinstance(event.act, Reopened):
            found |= dict.fromkeys(ends, event)
            ends = []
    return found
