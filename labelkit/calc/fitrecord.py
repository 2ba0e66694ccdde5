"""What the record says of one fit: its readings, and which pieces were chosen for it, derived from the events."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass

from labelkit.calc.placerecord import PlaceRecord
from labelkit.calc.steps import Teardown
from labelkit.model.events import Event
from labelkit.model.profile import Fit
from labelkit.model.readings import FitChosen, Reading


@dataclass(frozen=True, slots=True)
class FitRecord:
    """Readings of one fit: before the teardown, after the assembly, and which pieces were chosen in between."""

    before: Event | None = None
    after: Event | None = None
    chosen: Event | None = None


def fit_record(
    name: str, fit: Fit, teardown: Teardown, places: Mapping[int, PlaceRecord], events: Iterable[Event]
) -> FitRecord:
    """Return a fit as the events tell it.

    One reading after the assembly counts until a part comes out again, or a size is chosen. A play or preload that is
    read while the unit is together ends with the cover, too, that takes a part of it along: joint and bearings are
    another pair when it is back. Its screws alone end nothing: tightened again they hold what was measured. A clearance
    inside a sub-assembly stays what it is when that is lifted out whole. Common practice, no source.

    Args:
        name: of the fit.
        fit: what the profile says of it.
        teardown: the removal order under the job's options.
        places: by ordinal.
        events: of the job, all that count, in their order.
    """
    bins = [*teardown.of(*fit.parts)]
    if fit.read.together:
        bins += [teardown.at(each.parent.partition(".")[0]) for each in bins if each.parent]
    mine = [e for e in events if isinstance(e.act, Reading | FitChosen) and e.act.fit == name]
    chosen = _last(e for e in mine if isinstance(e.act, FitChosen))
    since = max((places[each.ordinal].since for each in bins), default=0)
    since = max(since, chosen.number if chosen else 0)
    return FitRecord(
        _last(e for e in mine if isinstance(e.act, Reading) and e.act.at == "before"),
        _last(e for e in mine if isinstance(e.act, Reading) and e.act.at == "assembled" and e.number > since),
        chosen,
    )


def _last(events: Iterable[Event]) -> Event | None:
    return next(reversed(tuple(events)), None)
