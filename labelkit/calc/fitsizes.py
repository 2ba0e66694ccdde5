"""What was measured in a job of the parts that count in a fit: the plates as they go in, and the piece that was in.

Source of the rule that what goes in is measured: common practice, no source.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from dataclasses import replace
from decimal import Decimal
from typing import Final

from labelkit.calc.answers import beside
from labelkit.calc.measured import SIZE_WORDS, one_for_each, sized, thicknesses
from labelkit.calc.newsizes import difference, old_size, sizes_of
from labelkit.calc.oldandnew import came_here, kept_reading
from labelkit.calc.placerecord import PlaceRecord
from labelkit.calc.record import Record
from labelkit.calc.regrading import each_piece
from labelkit.calc.renewal import pieces_of
from labelkit.language import gettext as _
from labelkit.model.acts import Installed, Removed
from labelkit.model.events import Event
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
        places = record.of(part)
        sizes = [size for size in (_thickness(record, place) for place in places) if size is not None]
        if sizes and len(sizes) == len(places) and part != fit.set_by:
            mean = sum((size.mm for size in sizes), Decimal(0)) / len(sizes)
            found[part] = sized(mean, sizes[0].unit)
    return found


def thicker_by(record: Record, fit: Fit) -> Decimal:
    """Return by how much the new parts that count in a fit are together thicker than the old ones, mm.

    Counted is what was measured when it came out and when it came in; what sets the fit is left out.
    """
    changes = [
        (new.mm - old.mm) * (place.expected or 0)
        for place in record.of(*record.profile.counted(fit))
        if place.item.part.id != fit.set_by
        and (new := _thickness(record, place)) is not None
        and (old := old_size(place, SIZE_WORDS["t"])) is not None
    ]
    return sum(changes, Decimal(0))


def sizes_in(record: Record, name: str) -> tuple[Quantity, ...]:
    """Return the piece that sets a fit: as it was measured when it went in; before that, as it was when it came out.

    Of one piece that came out it is the mean; of several it is the mean of each, and nothing where some were not read
    as often: their sum would be wrong. Of a set it is every figure but the sum, and nothing where another number was
    counted. Nothing, too, where nobody measured what went in, or another size was chosen since.

    Args:
        record: of the job.
        name: of the fit.
    """
    fit = record.profile.fits[name]
    places = record.of(fit.set_by or "")
    if len(places) == 1 and (went_in := _went_in(record, name, places[0])):
        return went_in
    act = kept_reading(places[0]) if len(places) == 1 and record.fits[name].chosen is None else None
    if act is None or FACTORS.get(act.unit, ("",))[0] != "length":
        return ()
    each = each_piece(act.values, places[0].expected)
    known = places[0].expected is not None or places[0].count in (None, len(each))
    return tuple(Quantity(size, act.unit) for size in each) if known else ()


def _went_in(record: Record, name: str, place: PlaceRecord) -> tuple[Quantity, ...]:
    """Return what the pieces that are in, or were in last, measured as they went in.

    Empty before any, where some were not measured, and once others were chosen.
    """
    last: list[Event] = []
    before: list[Event] = []
    for event in place.events:
        if isinstance(event.act, Removed):
            last, before = [], last or before
        elif isinstance(event.act, Installed):
            last.append(event)
    put_in, chosen = last or before, record.fits[name].chosen
    sizes = [event.act.sizes for event in put_in if isinstance(event.act, Installed)]
    if not all(sizes) or (chosen is not None and any(event.number < chosen.number for event in put_in)):
        return ()
    read = [size for some in sizes for size in some]
    each = each_piece(read, 1) if place.expected == 1 else read
    return tuple(Quantity(size, "mm") for size in each)


def unmeasured(record: Record, ordinal: int) -> int:
    """Return of how many new pieces that go into a place, and are here and not in, nobody knows how thick they are."""
    lots = [] if record.at(ordinal).new else record.lots(ordinal)
    return sum(lot.here - sum(pieces for pieces, _read in lot.measured()) for lot in lots)


def as_measured(record: Record, ordinal: int) -> tuple[Quantity, ...]:
    """Return each of the new pieces that go into a place as it measured when it came; empty where some were not read.

    Of one piece it is every figure.
    """
    lots, wanted = record.lots(ordinal), pieces_of(record.uses.get(ordinal, ()))
    if record.at(ordinal).new or wanted != sum(lot.here for lot in lots) or unmeasured(record, ordinal):
        return ()
    known = (each for lot in lots for each in lot.measured())
    return tuple(size for pieces, read in known for size in (one_for_each(read, pieces) if wanted > 1 else read))


def unlisted_sizes(record: Record, ordinal: int, found: tuple[Quantity, ...]) -> Iterator[str]:
    """Yield that the series of a place has no piece that measures so, in words.

    Args:
        record: of the job.
        ordinal: of the place.
        found: what the pieces that go in measure.
    """
    for size in sizes_of(record, ordinal):
        if size.listed and (told := difference(replace(size, wanted=None), found)):
            yield told


def otherwise_than_they_came(record: Record, ordinal: int, found: tuple[Quantity, ...]) -> Iterator[str]:
    """Yield which new pieces measured otherwise when they came than now that they go in; arguments as above."""
    left, came = _unlike(found, _each_read(record.at(ordinal).events))
    # Old pieces that go in with them were measured before.
    old = [Quantity(size, "mm") for _place, size in record.stays.get(ordinal, ())]
    for each in _unlike(left, old)[0] if came else ():
        read = min(came, key=lambda other: abs(other.mm - each.mm))
        yield _("{size} goes in, the new one measured {read} when it came").format(size=each, read=read)


def _unlike(some: Iterable[Quantity], others: Iterable[Quantity]) -> tuple[list[Quantity], list[Quantity]]:
    """Return the lengths of both that have none of the other's beside them, each piece taken once."""
    left, rest = [], list(others)
    for each in some:
        near = [other for other in rest if abs(other.mm - each.mm) <= _NEAR]
        if near:
            rest.remove(min(near, key=lambda other: abs(other.mm - each.mm)))
        else:
            left.append(each)
    return left, rest


def set_with(record: Record, ordinal: int) -> str:
    """Return the fits, in words, that the graded piece of a place sets: they need to know how thick it is."""
    part = record.at(ordinal).item.part
    fits = record.profile.fits.items() if part.series else ()
    return ", ".join(fit_words(name) for name, fit in fits if fit.set_by == part.id)


def unmeasured_for(record: Record, ordinal: int) -> str:
    """Return the fits, in words, that need the thickness of new pieces which nobody measured; empty: none does."""
    return set_with(record, ordinal) if unmeasured(record, ordinal) else ""


def expected(record: Record, name: str) -> Quantity | None:
    """Return what a fit will be with the pieces that were chosen; None where nobody worked it out.

    New pieces that were measured since count as they measure (`measured_since`), and not as their size is called.

    Args:
        record: of the job.
        name: of the fit.
    """
    fit, event = record.profile.fits[name], record.fits[name].chosen
    if event is None or not isinstance(event.act, FitChosen) or event.act.predicted is None:
        return None
    predicted, chosen = event.act.predicted, event.act
    sizes = [each.value for each in measured_since(record, name)] or chosen.sizes
    thicker = sum(sizes, Decimal(0)) - sum(chosen.sizes, Decimal(0))
    value = predicted + (thicker if fit.thicker == "increases" else -thicker)
    return Quantity(beside(value, predicted), chosen.unit)


def measured_since(record: Record, name: str) -> tuple[Quantity, ...]:
    """Return how thick the new pieces are that came for a fit, or went in, since they were chosen: one for each chosen.

    In the unit of what was chosen; empty where some were not measured, and where they measure as they were chosen.

    Args:
        record: of the job.
        name: of the fit.
    """
    fit, event = record.profile.fits[name], record.fits[name].chosen
    places = record.of(fit.set_by or "")
    if event is None or not isinstance(event.act, FitChosen) or len(places) != 1:
        return ()
    chosen, read = event.act, _read_since(places[0], event.number)
    if not read or FACTORS.get(chosen.unit, ("",))[0] != "length":
        return ()
    if len(chosen.sizes) == 1:
        read = (sum(read, Decimal(0)) / len(read),)
    found = tuple(sized(each, chosen.unit) for each in read)
    unlike = sorted(each.value for each in found) != sorted(chosen.sizes)
    return found if unlike and len(found) == len(chosen.sizes) else ()


def _read_since(place: PlaceRecord, number: int) -> tuple[Decimal, ...]:
    """Return what the new pieces of a place measured since an event, mm: as they came, else as they went in."""
    came = (event for event in reversed([*came_here(place)]) if event.number > number)
    read = tuple(each.mm for each in _each_read(came))
    went_in = place.last_of("installed")
    if read or went_in is None or not isinstance(went_in.act, Installed) or went_in.number < number:
        return read
    return went_in.act.sizes


def _each_read(events: Iterable[Event]) -> Iterator[Quantity]:
    """Yield what each new piece measured as it came, or was laid ready; of one piece every figure."""
    for pieces, read in thicknesses(events):
        yield from one_for_each(read, pieces) if pieces > 1 else read


def _thickness(record: Record, place: PlaceRecord) -> Quantity | None:
    lots = record.lots(place.item.ordinal)
    pieces = sum(lot.here for lot in lots)
    if not pieces:
        return None if place.is_condemned else old_size(place, SIZE_WORDS["t"])
    if place.expected is None or pieces < place.expected:
        return None
    known = [each for lot in lots for each in lot.measured()]
    if sum(count for count, _read in known) != pieces:
        return None
    total = sum((sum((each.mm for each in read), Decimal(0)) * count / len(read) for count, read in known), Decimal(0))
    return sized(total / pieces, known[0][1][0].unit)
