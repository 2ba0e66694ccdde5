"""How a part was seen to sit, where its profile does not say: what the record knows stands on its card."""

from __future__ import annotations

import re
from typing import Any, Final

from labelkit.calc.placerecord import PlaceRecord
from labelkit.model.acts import SideSeen
from labelkit.model.events import Event
from labelkit.model.part import Part, Sits
from labelkit.model.scalars import Clock

# An hour as people write it, and what they saw there: `6`, `6:30 the notch`, `6 o'clock, notch`.
_HOUR: Final = re.compile(r"(1[0-2]|[1-9])(?::([0-5]\d))?(?:\s*(?:o'clock|uhr|h))?(?!\w)[\s,;:]*(.*)", re.IGNORECASE)


def last_seen(place: PlaceRecord | None) -> Event | None:
    """Return the event that says last how the part of a place was seen to sit; None without one."""
    events = place.events if place else ()
    return next((event for event in reversed(events) if isinstance(event.act, SideSeen)), None)


def as_seen(part: Part, place: PlaceRecord | None) -> Part:
    """Return a part with how it was seen to sit wherever its profile does not say; the part itself where it does."""
    seen = [event.act for event in place.events if isinstance(event.act, SideSeen)] if place else []
    # Each as it was seen last: one person may have told the face, another one the hour.
    up = next((act.up for act in reversed(seen) if act.up), None)
    clock = next((act.clock for act in reversed(seen) if act.clock), None)
    sits, found = part.sits or Sits(), dict[str, Any]()
    if up and sits.up is None and sits.opens is None:
        found["up"] = up
    if clock and sits.clock is None:
        hour = _HOUR.fullmatch(clock.strip())
        what = clock if hour is None else hour[3]
        if hour is not None:
            found["clock"] = Clock(int(hour[1]) % 12 * 60 + int(hour[2] or 0))
        if what and sits.feature is None:
            found["feature"] = what
    return part.model_copy(update={"sits": sits.model_copy(update=found)}) if found else part
