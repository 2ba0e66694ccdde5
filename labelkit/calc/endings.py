"""How a job ends: who signed, and what a reopening took back, told from the events that count."""

from __future__ import annotations

from collections.abc import Iterable

from labelkit.model.acts import Closed, Removed, Reopened, Signature
from labelkit.model.events import Event


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
