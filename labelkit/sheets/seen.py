"""How a part was seen to sit, where its profile does not say: what the record knows stands on its card and in print."""

from __future__ import annotations

import re
from dataclasses import replace
from typing import Any, Final

from labelkit.calc.placerecord import PlaceRecord
from labelkit.calc.steps import Bin, Inside
from labelkit.model.acts import SideSeen
from labelkit.model.part import SeenSits, Sits
from labelkit.model.scalars import Clock
from labelkit.sheets.placewords import by_words

# An hour as people write it, and what they saw there: `6`, `6:30 notch`, `6 o'clock, notch`, `6 the notch`. `2 notches`
# is none: behind a bare figure stands nothing, a mark or an article.
_ENDS: Final = r"(?=\s*(?:[,;:]|$)|\s+(?:the|an?|der|die|das|eine?|el|l[ao]s?|una?)\s)"
_HOUR: Final = re.compile(
    rf"(1[0-2]|[1-9])(?::([0-5]\d)|\s*(?:o'clock|uhr|h)|{_ENDS})(?!\w)[\s,;:]*(.*)", re.IGNORECASE
)
# The other way round: `notch at 6`, `at 6`, as the language of whoever wrote it has it.
_WHAT_FIRST: Final = re.compile(
    r"(?:(.*\S)\s+)?(?:at|auf|um|a las?|en las)\s+(1[0-2]|[1-9])(?::([0-5]\d))?(?:\s*(?:o'clock|uhr|h|en punto))?",
    re.IGNORECASE,
)


def seen_last(place: PlaceRecord) -> tuple[str | None, str | None]:
    """Return which face was seen up, and what at which hour, each as it was told last; None where nobody did.

    One person may have told the face, another one the hour.
    """
    seen = [event.act for event in reversed(place.events) if isinstance(event.act, SideSeen)]
    return next((act.up for act in seen if act.up), None), next((act.clock for act in seen if act.clock), None)


def as_seen(place: PlaceRecord) -> Bin | Inside:
    """Return what is at a place with how it was seen to sit wherever its profile does not say; else the item itself."""
    up, clock = seen_last(place)
    sits, found = place.item.part.sits or Sits(), dict[str, Any]()
    if up and sits.up is None and sits.opens is None:
        found["up"] = up
    if clock and sits.clock is None:
        hour, minute, what = _hour(clock.strip())
        if hour:
            found["clock"] = Clock(int(hour) % 12 * 60 + int(minute or 0))
        if what and sits.feature is None:
            found["feature"] = what
    if not found:
        return place.item
    seen = place.last_of("side_seen")
    told = SeenSits.model_construct(**dict(sits) | found, saw=frozenset(found), by=by_words(seen) if seen else "")
    return replace(place.item, part=place.item.part.model_copy(update={"sits": told}))


def _hour(text: str) -> tuple[str, str, str]:
    """Return the hour and the minute of what somebody wrote of a clock position, and what is there; empty without."""
    if found := _HOUR.fullmatch(text):
        return found[1], found[2] or "", found[3]
    found = _WHAT_FIRST.fullmatch(text)
    return (found[2], found[3] or "", found[1] or "") if found else ("", "", text)
