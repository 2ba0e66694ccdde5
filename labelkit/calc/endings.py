"""How a job ends, and what of its record is taken back: by a correction, or by who opened it again."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from typing import Final

from labelkit.model.act import Act
from labelkit.model.acts import (
    Closed,
    Correction,
    Hold,
    Inspected,
    Noted,
    Ordered,
    Photo,
    Received,
    Released,
    Removed,
    Reopened,
    Returned,
    Signature,
    TorqueSigned,
)
from labelkit.model.events import Event
from labelkit.model.part import Part
from labelkit.model.readings import Reading

_BESIDE: Final = (Signature, Closed, Noted, Photo, Hold, Released, Ordered, Received, Returned)


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


def signed_before(standing: Sequence[Event]) -> dict[int, Event]:
    """Return what was recorded first after a signature and says something of the unit, by the number of that.

    Notes, photos, holds and what came of new parts say nothing of what was signed.

    Args:
        standing: the events of a job that count, in their order.
    """
    found = {}
    for signature in signatures(standing):
        later = (e for e in standing if e.number > signature.number and not isinstance(e.act, _BESIDE))
        for event in later:
            if not isinstance(event.act, Correction) or event.act.of < signature.number:
                found[signature.number] = event
                break
    return found


def outdates(part: Part, act: Act) -> bool:
    """Say whether an act is about what somebody looked at who had verified a part: it is to be verified again.

    What is judged when it is together is read after that.
    """
    if isinstance(act, Reading | Inspected):
        return act.check is not None and act.check < len(part.check) and part.check[act.check].at != "assembled"
    return isinstance(act, TorqueSigned)


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
