"""What was measured in a job of the parts that count in a fit: the plates as they go in, and the piece that was in.

Source of the rule that what goes in is measured: common practice, no source.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace
from decimal import Decimal
from typing import Final

from labelkit.calc.answers import beside
from labelkit.calc.newsizes import SIZE_WORDS, difference, old_size, one_for_each, plain, sizes_of, thicknesses
from labelkit.calc.placerecord import PlaceRecord
from labelkit.calc.record import Record
from labelkit.language import gettext as _
from labelkit.model.acts import Installed, Received, Returned
from labelkit.model.profile import Fit, fit_words
from labelkit.model.readings import FitChosen
from labelkit.units import FACTORS, Quantity

# A new piece that measures so much otherwise than when it came is another one, mm. Common practice, no source.
_NEAR: Final = Decimal("0.03")


def plate_sizes(record: Record, fit: Fit) -> dict[str, Quantity]:
    """Return the thickness of each plate of a stack as it goes in, by part; those that nobody measured are left out.

    It is the mean of what was read: of the new plates where all of them are new, of the old ones where they stay. Where
    only some are new nobody can say which old ones stay.

    Args:
        record: of the job.
        fit: a stack or a clearance.
    """
    found: dict[str, Quantity] = {}
    for part in record.profile.counted(fit):
        places = [record.at(each.ordinal) for each in record.teardown.of(part)]
        sizes = [size for size in map(_thickness, places) if size is not None]
        if sizes and len(sizes) == len(places) and part != fit.set_by:
            unit = sizes[0].unit
            mean = sum((size.mm for size in sizes), Decimal(0)) / len(sizes) / FACTORS[unit][1]
            found[part] = Quantity(plain(mean), unit)
    return found


def thicker_by(record: Record, fit: Fit) -> Decimal:
    """Return by how much the new parts that count in a fit are together thicker than the old ones, mm.

    Counted is what was measured when it came out and when it came in; what sets the fit is left out.
    """
    places = [record.at(b.ordinal) for part in record.profile.counted(fit) for b in record.teardown.of(part)]
    changes = [
        (new.mm - old.mm) * (place.expected or 0)
        for place in places
        if place.item.part.id != fit.set_by
        and (new := _thickness(place)) is not None
        and (old := old_size(place, SIZE_WORDS["t"])) is not None
    ]
    return sum(changes, Decimal(0))


def sizes_in(record: Record, name: str) -> tuple[Quantity, ...]:
    """Return the piece that sets a fit, as it was read when it came out; empty where nobody did, or one was chosen.

    Of one piece it is the mean; of a set it is every figure, as nobody can say which of them is the sum; of several
    pieces it is a figure for each, and nothing where there are more or fewer: their sum would be wrong.

    Args:
        record: of the job.
        name: of the fit.
    """
    fit = record.profile.fits[name]
    places = [record.at(each.ordinal) for each in record.teardown.of(fit.set_by or "")]
    act = places[0].kept_reading() if len(places) == 1 and record.fits[name].chosen is None else None
    if act is None or FACTORS.get(act.unit, ("",))[0] != "length":
        return ()
    if (pieces := places[0].expected) != 1:
        known = pieces in (None, len(act.values))
        return tuple(Quantity(value, act.unit) for value in act.values) if known else ()
    return (Quantity(beside(act.value, *act.values), act.unit),)


def unmeasured(place: PlaceRecord) -> int:
    """Return of how many new pieces that are here, and not in, nobody knows how thick they are."""
    if place.new:
        return 0
    back = sum(event.act.counted for event in place.events if isinstance(event.act, Returned))
    known = sum(pieces for pieces, _read in thicknesses(place.events))
    return max(max(place.came, place.staged or 0) - max(known - back, 0), 0)


def odd_sizes(record: Record, ordinal: int, found: tuple[Quantity, ...], *, new: bool) -> Iterator[str]:
    """Yield what is odd about graded pieces that go in: the series has none such, or the new ones measured otherwise.

    Args:
        record: of the job.
        ordinal: of the place.
        found: what the pieces measure.
        new: they are new.
    """
    for size in sizes_of(record, ordinal):
        if size.listed and (told := difference(replace(size, wanted=None), found)):
            yield told
    came = [each for _pieces, read in thicknesses(record.at(ordinal).events) for each in read] if new else []
    for each in found:
        read = min(came, key=lambda other: abs(other.mm - each.mm), default=each)
        if abs(read.mm - each.mm) > _NEAR:
            yield _("{size} goes in, the new one measured {read} when it came").format(size=each, read=read)


def set_with(record: Record, ordinal: int) -> str:
    """Return the fits, in words, that the graded piece of a place sets: they need to know how thick it is."""
    part = record.at(ordinal).item.part
    fits = record.profile.fits.items() if part.series else ()
    return ", ".join(fit_words(name) for name, fit in fits if fit.set_by == part.id)


def expected(record: Record, name: str) -> Quantity | None:
    """Return what a fit will be with the pieces that were chosen; None where nobody worked it out.

    New pieces that were measured since count as they measure, and not as their size is called.

    Args:
        record: of the job.
        name: of the fit.
    """
    fit, event = record.profile.fits[name], record.fits[name].chosen
    if event is None or not isinstance(event.act, FitChosen) or event.act.predicted is None:
        return None
    chosen, places = event.act, [record.at(each.ordinal) for each in record.teardown.of(fit.set_by or "")]
    predicted = Quantity(event.act.predicted, chosen.unit)
    read = _read_since(places[0], event.number) if len(places) == 1 else ()
    if not read or FACTORS.get(chosen.unit, ("",))[0] != "length":
        return predicted
    if len(chosen.sizes) == 1:
        read = (sum(read, Decimal(0)) / len(read),)
    if len(read) != len(chosen.sizes):
        return predicted
    thicker = plain(sum(read, Decimal(0)) / FACTORS[chosen.unit][1]) - sum(chosen.sizes, Decimal(0))
    value = predicted.value + (thicker if fit.thicker == "increases" else -thicker)
    return Quantity(beside(value, predicted.value), chosen.unit)


def _read_since(place: PlaceRecord, number: int) -> tuple[Decimal, ...]:
    """Return what the new pieces of a place measured since an event, mm: as they came, else as they went in."""
    later = [event for event in place.events if event.number > number]
    found: list[Decimal] = []
    for pieces, read in thicknesses(later):
        found += [each.mm for each in (one_for_each(read, pieces) if pieces > 1 else read)]
    went_in = [event.act.sizes for event in later if isinstance(event.act, Installed) and event.act.sizes]
    return tuple(found) or (went_in[-1] if went_in else ())


def _thickness(place: PlaceRecord) -> Quantity | None:
    pieces = sum(e.act.pieces for e in place.events if isinstance(e.act, Received)) or place.staged or 0
    if not pieces:
        return None if place.is_condemned else old_size(place, SIZE_WORDS["t"])
    if place.expected is None or pieces < place.expected:
        return None
    means = list(_means(place))
    if not means:
        return None
    unit = means[0][1].unit
    weight = sum(count for count, _ in means)
    total = sum((size.mm * count for count, size in means), Decimal(0))
    return Quantity(plain(total / weight / FACTORS[unit][1]), unit) if weight == pieces else None


def _means(place: PlaceRecord) -> Iterator[tuple[int, Quantity]]:
    """Yield new pieces and their mean thickness, as they were measured."""
    for pieces, read in thicknesses(place.events):
        mean = sum((each.mm for each in read), Decimal(0)) / len(read)
        yield pieces, Quantity(mean / FACTORS[read[0].unit][1], read[0].unit)
