"""What goes in over a fit and hides it: afterwards it can be neither read nor set without taking that out again."""

from __future__ import annotations

from dataclasses import dataclass

from labelkit.calc.closing import closed_by
from labelkit.calc.record import Record
from labelkit.model.acts import Installed


@dataclass(frozen=True, slots=True)
class Cover:
    """What a fit lies under.

    Attributes:
        under: the steps that are in when it is read.
        over: those that go in over these, directly or over one another.
        hides: some of these are in by now.
    """

    under: frozenset[str]
    over: frozenset[str]
    hides: bool


def cover_of(record: Record, name: str) -> Cover:
    """Return what a fit is read with, and what goes in over that once all of it is in.

    What goes in over any of its own parts hides it; a play that is closed in place is hidden by what goes in over the
    last of what closes it. One that the profile does not tell to be closed is read last of all: nothing goes in over
    it. What was left in goes in over nothing, nor does what needs only that.

    Args:
        record: of the job.
        name: of the fit.
    """
    fit = record.profile.fits[name]
    own = frozenset(each.step for each in record.teardown.of(*fit.parts))
    closed = closed_by(record.teardown, record.order, fit) if fit.read.again == "closed" else own
    under = closed or own
    last = next((each.bin.step for each in reversed(record.order) if each.bin.step in under), None)
    if not closed or last is None:
        return Cover(under, frozenset(), hides=False)
    found = {last} if fit.read.again == "closed" else set(own)
    turns = [placed.bin.step for placed in record.order]
    for placed in record.order[turns.index(last) + 1 :]:
        step = placed.bin.step
        if record.at_step(step).stage != "left_in" and any(need.step in found for need in placed.needs):
            found.add(step)
            if placed.group is not None:  # its parts go in as one
                found.update(each.bin.step for each in record.order if each.group == placed.group)
    over = frozenset(found) - under
    return Cover(under, over, hides=any(record.at_step(step).is_in for step in over))


def hidden_all_the_same(record: Record, name: str, since: int) -> bool:
    """Say whether something is in over a fit that went in although the gate refused: somebody agreed to hide it.

    Args:
        record: of the job.
        name: of the fit.
        since: number of the event from which on the gate refused.
    """
    places = (record.at_step(step) for step in cover_of(record, name).over)
    events = (place.last_of("installed") for place in places if place.is_in)
    return any(e.number > since and isinstance(e.act, Installed) and e.act.override is not None for e in events if e)
