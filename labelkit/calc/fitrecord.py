"""Where the fits of a job are: what was read of each and chosen for it, derived from the events of its record."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from decimal import Decimal

from labelkit.calc.figures import millimetres
from labelkit.calc.placerecord import PlaceRecord
from labelkit.calc.steps import Teardown
from labelkit.model.events import Event
from labelkit.model.profile import Profile
from labelkit.model.readings import FitChosen, Reading


@dataclass(frozen=True, slots=True)
class FitRecord:
    """Readings of one fit: before the teardown, after the assembly, and which pieces were chosen in between."""

    before: Event | None = None
    after: Event | None = None
    chosen: Event | None = None


def fit_records(
    profile: Profile, teardown: Teardown, places: Mapping[int, PlaceRecord], standing: Sequence[Event]
) -> dict[str, FitRecord]:
    """Return the record of each fit; a reading after the assembly counts until a part comes out, or a size is chosen.

    A play or preload that is read while the unit is together ends with the cover, too, that takes a part of it
    along: joint and bearings are another pair when it is back. Its screws alone end nothing: tightened again they
    hold what was measured. A clearance inside a sub-assembly stays what it is when that is lifted out whole.
    Common practice, no source.

    Args:
        profile: of the unit.
        teardown: its removal order under the job's options.
        places: of the job, by ordinal.
        standing: all events that count, in the order of their numbers.
    """
    found = {}
    for name, fit in profile.fits.items():
        bins = [*teardown.of(*fit.parts)]
        if fit.read.together:
            bins += [teardown.at(each.parent.partition(".")[0]) for each in bins if each.parent]
        out = max((places[each.ordinal].since for each in bins), default=0)
        mine = [e for e in standing if isinstance(e.act, Reading | FitChosen) and e.act.fit == name]
        chosen = _last(e for e in mine if isinstance(e.act, FitChosen))
        since = max(out, chosen.number if chosen else 0)
        found[name] = FitRecord(
            _last(e for e in mine if isinstance(e.act, Reading) and e.act.at == "before"),
            _last(e for e in mine if isinstance(e.act, Reading) and e.act.at == "assembled" and e.number > since),
            chosen,
        )
    return found


def fitted(
    profile: Profile, fits: Mapping[str, FitRecord], part: str, standing: Sequence[Event]
) -> tuple[Decimal, ...]:
    """Return the sizes, mm, of the pieces that were in when a fit they set was read, before others were chosen for it.

    As found where somebody said it then, else as in a trial; empty where nobody did.

    Args:
        profile: of the unit.
        fits: of the job.
        part: id of the part.
        standing: all events that count, in the order of their numbers.
    """
    found: dict[str, tuple[Decimal, ...]] = {}
    for name, fit in profile.fits.items():
        chosen = fits[name].chosen
        if fit.set_by != part or chosen is None:
            continue
        for event in standing:
            act = event.act
            # A reading after the choice has the new pieces in.
            if isinstance(act, Reading) and act.fit == name and act.fitted and event.number < chosen.number:
                found[act.at] = tuple(millimetres(size, act.unit) for size in act.fitted)
    return found.get("before") or found.get("apart", ())


def _last(events: Iterable[Event]) -> Event | None:
    return next(reversed(tuple(events)), None)
