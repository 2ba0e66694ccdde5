"""The sizes of graded parts that were chosen for their fits: which they are, where they lie, whether others go in."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from dataclasses import replace
from decimal import Decimal

from labelkit.calc.placerecord import PlaceRecord
from labelkit.calc.record import Record
from labelkit.calc.regrading import room_of
from labelkit.calc.steps import Bin, Inside
from labelkit.language import gettext as _
from labelkit.model.acts import Deviation, Installed
from labelkit.model.catalogue import order_number
from labelkit.model.events import Event


def chosen_words(record: Record, ordinal: int) -> str:
    """Return the sizes that were chosen of a graded part for its fit, `5.05 mm`; empty where none was."""
    return " + ".join(_as_listed(record, ordinal, size) for size in record.chosen.get(ordinal, ()))


def as_chosen(record: Record, item: Bin | Inside) -> Bin | Inside:
    """Return a graded part in the size that was chosen for its fit; the item itself where none was, or several were.

    The form of a profile shows one size of the series, and a new piece is of the chosen one.
    """
    grades, form = record.at(item.ordinal).grades, item.part.form
    chosen = set(grades.chosen) if grades else set()
    if grades is None or len(chosen) != 1 or form is None or "t" not in type(form).model_fields:
        return item
    size = grades.listed(chosen.pop())
    return replace(item, part=item.part.model_copy(update={"form": form.model_copy(update={"t": size})}))


def lying_words(record: Record, ordinal: int) -> tuple[str, ...]:
    """Return which of the chosen sizes lie where, where they go in with new ones, or come from another place."""
    told = _("{size} lies at {place}")
    mixed = ordinal in record.sizes
    return tuple(
        told.format(size=_as_listed(record, ordinal, size), place=record.at(place).name)
        for place, size in record.stays.get(ordinal, ())
        if mixed or place != ordinal
    )


def _as_listed(record: Record, ordinal: int, size: Decimal) -> str:
    series = record.profile.series[record.at(ordinal).item.part.series or ""]
    return next(str(each) for each in series.listed() if each.mm == size)


def new_number(record: Record, ordinal: int) -> str:
    """Return the order number of what goes to a place new, by the size where one was chosen; empty while none is."""
    return ", ".join(dict.fromkeys(use.number for use in record.uses.get(ordinal, ()) if use.number))


def another_size(record: Record, ordinal: int, sizes: Sequence[Decimal]) -> Decimal | None:
    """Return a measured size that is another grade than those that were chosen for a fit; None: all are right.

    A piece is of the grade that it is nearest to, and each of several that were chosen together is there once. Where
    nothing was chosen every size is right.

    Args:
        record: of the job.
        ordinal: of the place of a graded part.
        sizes: of the pieces that go in, mm.
    """
    chosen = record.chosen.get(ordinal, ())
    series = record.profile.series.get(record.at(ordinal).item.part.series or "")
    if not chosen or series is None:
        return None
    # One piece may have been measured several times.
    expected = chosen if len(chosen) > 1 else chosen * len(sizes)
    grades = grades_of(sizes, expected, series.thicknesses())
    return next((size for size, grade in zip(sizes, grades, strict=True) if grade is None), None)


def numbers_in(record: Record, place: PlaceRecord) -> tuple[str, ...]:
    """Return the order numbers of the new graded pieces that are in, or here, each with its size: `G2B-1336 2.75 mm`.

    Of a piece that measures as no size of its series, or that nobody measured, none is known.
    """
    part, found = place.item.part, dict[str, None]()
    series = record.profile.series[part.series or ""]
    for mm in _new_sizes_in(record, place):
        size = min(series.listed(), key=lambda each: abs(each.mm - mm))
        number = order_number(record.profile, part, size)
        if number and abs(size.mm - mm) <= room_of(size, series.tol):
            found[f"{number} {size}"] = None
    return tuple(found)


def _new_sizes_in(record: Record, place: PlaceRecord) -> list[Decimal]:
    """Return what the new pieces that are in measured, mm: as they went in, else as they came."""
    since = (event.act for event in place.events if event.number >= place.since)
    sizes = [size for act in since if isinstance(act, Installed) and act.new for size in act.sizes]
    for _place, old in record.stays.get(place.item.ordinal, ()):
        if len(sizes) > place.new:  # old pieces of a stack went in by the same act
            sizes.remove(min(sizes, key=lambda size: abs(size - old)))
    return sizes or [each.mm for lot in place.lots.values() for _pieces, read in lot.measured() for each in read]


def other_size_in(record: Record, place: PlaceRecord) -> tuple[Event, Decimal] | None:
    """Return a piece that is in and is another grade than was chosen: with which event, and its size, mm; else None.

    None, too, where somebody agreed to it, knowing both: since it is in, and since the size was chosen.
    """
    event = place.last_of("installed") if place.is_in else None
    if event is None or not isinstance(event.act, Installed):
        return None
    size = another_size(record, place.item.ordinal, event.act.sizes)
    if size is None:
        return None
    chosen = place.grades.chosen_by if place.grades else 0
    overridden = event.act.override is not None and event.number > chosen
    since = max(event.number, chosen)
    agreed = overridden or any(isinstance(e.act, Deviation) and e.number > since for e in place.events)
    return None if agreed else (event, size)


def grades_of(
    sizes: Iterable[Decimal], expected: Iterable[Decimal], known: Iterable[Decimal]
) -> Iterator[Decimal | None]:
    """Yield of each size the grade that it is nearest to; None where that is not expected, or so many were before.

    Between two grades it is the one that is still expected. All in mm.
    """
    left, grades = list(expected), tuple(known)
    for size in sizes:
        grade = min(grades, key=lambda each: (abs(each - size), each not in left))
        if grade in left:
            left.remove(grade)
            yield grade
        else:
            yield None
