"""What was read of the old part of a place, before a new one came for it."""

from __future__ import annotations

from collections.abc import Callable

from labelkit.calc.placerecord import PlaceRecord
from labelkit.model.acts import Received
from labelkit.model.part import Check
from labelkit.model.readings import Reading


def old_reading(place: PlaceRecord, words: str) -> Reading | None:
    """Return the last reading of the old part at a point whose measure begins with some words; None without one."""
    return _old(place, lambda check: (check.measure or "").casefold().startswith(words))


def kept_reading(place: PlaceRecord) -> Reading | None:
    """Return the last reading of the old part that is kept for a fit; None without one."""
    return _old(place, lambda check: check.keep)


def _old(place: PlaceRecord, wanted: Callable[[Check], bool]) -> Reading | None:
    first = next((e.number for e in place.events if isinstance(e.act, Received)), None)
    points = place.item.part.check
    for event in reversed(place.events):
        act = event.act
        if not isinstance(act, Reading) or act.check is None or act.new:
            continue
        if first is not None and event.number > first:
            continue
        if act.check < len(points) and wanted(points[act.check]):
            return act
    return None
