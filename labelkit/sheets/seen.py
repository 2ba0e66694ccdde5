"""How a part was seen to sit, where its profile does not say: what the record knows stands on its card and in print."""

from __future__ import annotations

from dataclasses import replace
from typing import Any

from labelkit.calc.clock import seen_at
from labelkit.calc.facing import seen_last
from labelkit.calc.placerecord import PlaceRecord
from labelkit.calc.steps import Bin, Inside
from labelkit.model.part import SeenSits, Sits
from labelkit.sheets.placewords import by_words


def as_seen(place: PlaceRecord) -> Bin | Inside:
    """Return what is at a place with how it was seen to sit wherever its profile does not say; else the item itself."""
    up, clock = seen_last(place)
    sits, found = place.item.part.sits or Sits(), dict[str, Any]()
    if up and sits.up is None and sits.opens is None:
        found["up"] = up
    if clock and sits.clock is None:
        hour, what = seen_at(clock)
        if hour:
            found["clock"] = hour
        if what and sits.feature is None:
            found["feature"] = what
    if not found:
        return place.item
    seen = place.last_of("side_seen")
    told = SeenSits.model_construct(**dict(sits) | found, saw=frozenset(found), by=by_words(seen) if seen else "")
    return replace(place.item, part=place.item.part.model_copy(update={"sits": told}))
