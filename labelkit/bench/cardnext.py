"""What comes next with a part: the forms of its card, the first one first, and the others that make sense."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Final

from labelkit.bench.about import About
from labelkit.bench.cardforms import left_to_go_in
from labelkit.calc.apart import measure_now, next_out
from labelkit.calc.fitpoints import chosen_not_in
from labelkit.calc.fitsizes import set_with
from labelkit.calc.miscounts import count_question
from labelkit.calc.oldandnew import has_some_new
from labelkit.calc.openpoints import asked_of, place_points, unanswered
from labelkit.calc.passes import wanted_words
from labelkit.calc.placerecord import PlaceRecord
from labelkit.calc.record import Record
from labelkit.calc.refusals import unkept
from labelkit.calc.usedup import is_used_up, some_stay
from labelkit.calc.washing import gets_clean, is_dirty, is_in_washer
from labelkit.sheets.placewords import waits_words

_OUT_OTHERS: Final = ("count", "points", "washed", "installed", "left_closed", "side", "condemned")
_OTHERS: Final[Mapping[str, tuple[str, ...]]] = {
    "in_unit": ("left_in", "left_closed", "points"),
    "left_in": ("removed", "points", "side"),
    "inside": ("removed", "points", "condemned"),
    "installed": ("torque", "verified", "points", "side", "condemned", "removed"),
    "verified": ("torque", "points", "side", "condemned", "removed"),
}
# Stages at which a scan means that the part is about to go in, once all is out.
_READY: Final = ("inspected", "staged")
_LIES: Final = (*_READY, "joined")


def forms_of(about: About, *, goes_in: bool) -> tuple[str, ...]:
    """Return the names of the forms that come next, the first one first.

    Args:
        about: the place.
        goes_in: nothing stands against its going in.
    """
    if about.place.is_in:
        return _once_in(about)
    if about.new:
        return _new_piece(about, goes_in)
    if about.place.stage == "in_unit" or about.ordinal in about.record.to_come_out:
        return ("removed",)
    return () if about.place.stage == "left_in" else _old_piece(about, goes_in)


def _once_in(about: About) -> tuple[str, ...]:
    """Return the forms of what is in: what has a torque is verified once that is signed; what is wrong comes out.

    What was seen to sit otherwise is looked at again first, what nobody has counted, or not so many, is counted, and
    what is out of its limits is decided on.
    """
    record, place = about.record, about.place
    comes_out = (*about.assembly.outs(), *(chosen_not_in(record, fit) for fit in record.profile.fits))
    if place.is_condemned_in or place in comes_out:
        return ("removed",)
    kinds = {point.kind for point in place_points(record, place)}
    first = [form for kind, form in (("seen", "side"), ("count", "count"), ("limit", "points")) if kind in kinds]
    if place.stage == "installed":
        return (*first, "torque" if wanted_words(place) else "verified")
    judged = "limit" not in kinds and "at_end" in kinds and not unkept(record, place)
    return (*first, *(("points",) if judged else ()))


def _new_piece(about: About, goes_in: bool) -> tuple[str, ...]:
    """Return the forms of a new piece whose sticker was scanned.

    What has not come yet is received on its own page, which asks where it is from and what it measures.
    """
    record, place = about.record, about.place
    if left_to_go_in(about) == 0:
        return ()
    here = record.has_new(about.ordinal) and not set_with(record, about.ordinal)
    builds = goes_in and about.assembly.is_built(place)
    return ("staged",) * (place.staged is None and here) + ("joined",) * builds + ("installed",)


def _old_piece(about: About, goes_in: bool) -> tuple[str, ...]:
    """Return the forms of what came out: counted, cleaned, judged, put in; that first once parts go in by now.

    What is in the washer comes out of it first: it is marked clean.
    """
    record, place = about.record, about.place
    if is_in_washer(record, place):
        return ("washed",)
    builds = goes_in and about.assembly.is_built(place)
    uncounted = ["count"] if place.is_uncounted and count_question(record, place) else []
    forms = [*uncounted, *_before(record, place), *["installed"] * (place.stage in _LIES), *["joined"] * builds]
    dirty = gets_clean(record, place) and is_dirty(place)
    if goes_in and not (uncounted or dirty or unanswered(place)) and (builds or _goes_back(record)):
        # Nothing is left to do before.
        forms.insert(0, "joined" if builds else "installed")
    return tuple(name for name in dict.fromkeys(forms) if name != "installed" or not is_used_up(record, place))


def _before(record: Record, place: PlaceRecord) -> list[str]:
    """Return the forms of what is done with an old piece before it goes in; before the wash only what cannot wait."""
    to_judge, cleaned = bool(unanswered(place) or asked_of(place)), gets_clean(record, place)
    judged = ["points"] if to_judge else []
    match place.stage:
        case "inside":
            return judged
        case "removed":
            return ["count", *judged]
        case "binned" if not cleaned:
            return ["points"]
        case "binned" if measure_now(record, place.item.ordinal):
            return [*judged, "washed"]
        case "binned":
            return ["washed", *judged]
        case "washed":
            return ["points"]
        case "inspected" if cleaned and is_dirty(place) and not measure_now(record, place.item.ordinal):
            return ["washed", *judged]
        case "inspected":
            return judged
    return []


def more_of(about: About) -> tuple[str, ...]:
    """Return the names of the other forms that make sense."""
    place, part = about.place, about.place.item.part
    found = _OTHERS.get(place.stage, _OUT_OTHERS)
    if about.of_new:
        # By its sticker a new piece is condemned that is here, wherever the old part is.
        others = (name for name in found if name != "condemned")
        found = (*others, *(("condemned",) if has_some_new(place) else ()))
    senseless = {
        "left_closed": not part.parts or place.closed,
        "torque": part.fasten is None,
        "verified": place.stage == "verified",
        "installed": left_to_go_in(about) == 0,
    }
    if place.is_missing and not about.new:
        senseless |= dict.fromkeys(("points", "washed", "installed"), True)
    return (*(name for name in found if not senseless.get(name)), "hold", "deviation", "noted")


def going_together(record: Record) -> bool:
    """Say whether the unit is being put together: something went in again."""
    return any(place.since and place.stage in ("joined", "installed", "verified") for place in record.places.values())


def goes_in_now(record: Record, place: PlaceRecord) -> bool:
    """Say whether a scan means that a part is about to go in; old pieces that wait for new ones say so in words.

    What was built into its group waits there: that the group is not complete is no slip. Nothing goes in from the
    washer.
    """
    if place.stage == "joined" or is_in_washer(record, place) or not _goes_back(record):
        return False
    some_wait = some_stay(record, place) and bool(waits_words(record, place))
    ready = place.stage in _READY and not some_wait and not unanswered(place)
    return going_together(record) or ready


def _goes_back(record: Record) -> bool:
    """Say whether parts go in by now: something did again, or nothing is left to come out."""
    return going_together(record) or next_out(record) is None
