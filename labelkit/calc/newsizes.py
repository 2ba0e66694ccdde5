"""The sizes of a new part beside those of the old one, and what they mean for the fits.

Which sizes are measured follows from the form of the part. What was measured is kept as one line of the event that the
part came (`2.35 mm thick` is `t 2.35 mm`), so that the thickness of new plates goes into the sum of their clearance.

Source of the rule that new parts are measured before they go in: common practice, no source.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from decimal import Decimal
from typing import Final

from labelkit.calc.answers import places_of, shown
from labelkit.calc.placerecord import PlaceRecord
from labelkit.calc.record import Record
from labelkit.errors import UsageError, allowed_text
from labelkit.language import gettext as _
from labelkit.language import noop
from labelkit.model.act import LONGEST_TEXT
from labelkit.model.acts import Received, Returned, Staged
from labelkit.model.events import Event
from labelkit.model.form import Shaft
from labelkit.model.part import Part
from labelkit.units import FACTORS, Quantity

SIZE_WORDS: Final[Mapping[str, str]] = {
    "t": noop("thickness"),
    "section": noop("section"),
    "teeth": noop("teeth"),
    "od": noop("outside diameter"),
    "d": noop("diameter"),
    "id": noop("inside diameter"),
    "w": noop("width"),
    "width": noop("width"),
    "length": noop("free length"),
    "l": noop("length"),
    "b": noop("width"),
    "h": noop("height"),
    "bore": noop("bore"),
    "wire": noop("wire"),
    "lugs": noop("lugs"),
    "planets": noop("planets"),
}
"""Sizes that are measured on a new part, in the order in which they tell parts apart, with their words."""
# What a form calls otherwise, and what nobody measures on it: a retaining ring is not as wide as its groove.
_OWN_WORDS: Final[Mapping[tuple[str, str], str]] = {
    ("snap_ring", "d"): "",
    ("wave_spring", "h"): noop("free height"),
    ("disc_spring", "h"): noop("free height"),
    ("bolt", "l"): noop("length under the head"),
    ("bolt", "d"): noop("thread diameter"),
    ("nut", "d"): noop("thread diameter"),
    ("carrier", "od"): noop("diameter over the planets"),
}
# How far a size may be from the profile's before it is asked about: a share of it, and mm at least. Own choice.
_THIN: Final = ("t", "section", "wire")
_SHARE: Final = {True: Decimal("0.02"), False: Decimal("0.005")}
_LEAST: Final = {True: Decimal("0.03"), False: Decimal("0.5")}
_MOST_PLACES: Final = 6  # of a mean, in the unit it was read in
# How a new part differs; the record keeps it in English (`sheets.keptnotes`).
_COUNT: Final = noop("{count} {things}, the profile has {wanted}")
_PROFILE: Final = noop("{name} {size}, the profile has {wanted}: {off} {word}")
_CHOSEN: Final = noop("{name} {size}, chosen was {wanted}: {off} {word}")
_UNLISTED: Final = noop("{name} {size}, the series has no such size: the nearest is {nearest}")
DIFFERENCES: Final = (_COUNT, _PROFILE, _CHOSEN, _UNLISTED)
Measured = Mapping[str, tuple[Quantity, ...] | int]
"""What was measured, by the name of the size; several figures where several pieces or places were read."""


@dataclass(frozen=True, slots=True)
class Size:
    """A size that is measured on a new part.

    Attributes:
        name: of the field of its form.
        words: for people.
        wanted: by the profile, or the size that was chosen of a graded part; None: nobody says.
        old: of the old part, as it was read before it was renewed; None: nobody did.
        listed: sizes that the series of a graded part has.
        stack: the sizes of several pieces that were chosen together and are not here yet.
    """

    name: str
    words: str
    wanted: Quantity | int | None
    old: Quantity | None = None
    listed: tuple[Quantity, ...] = ()
    stack: tuple[Quantity, ...] = ()

    @property
    def counted(self) -> bool:
        """Whether it is a number of something and no length."""
        return isinstance(self.wanted, int)

    @property
    def unit(self) -> str:
        """The unit of a bare figure."""
        return self.wanted.unit if isinstance(self.wanted, Quantity) else self.listed[0].unit if self.listed else "mm"

    def beside(self) -> str:
        """Return what a new one is held against: `profile 2.50 mm, old one 2.41 mm`."""
        told = []
        if self.listed:
            size = " + ".join(map(str, self.stack)) or self.wanted
            told.append(_("chosen {size}").format(size=size) if size is not None else _("not chosen yet"))
        elif self.wanted is not None:
            told.append(_("profile {size}").format(size=self.wanted))
        return ", ".join([*told, *([_("old one {size}").format(size=self.old)] if self.old else [])])


def sizes_of(record: Record, ordinal: int) -> tuple[Size, ...]:
    """Return the sizes that are measured on a new part of a place, those that tell most first."""
    place = record.at(ordinal)
    part = place.item.part
    kind = part.form.kind if part.form else ""
    # Some of the sizes that were chosen may lie there, and only the others come.
    chosen = record.sizes.get(ordinal) or record.chosen.get(ordinal, ())
    series = record.profile.series.get(part.series or "")
    found = []
    for name, words in SIZE_WORDS.items():
        value = _value(part, name)
        told = _OWN_WORDS.get((kind, name), words)
        graded = series is not None and name == "t"
        if not told or (value is None and not graded):
            continue
        old = _as_read(place, told)
        if series is not None and graded:
            listed = {each.mm: each for each in series.listed()}
            sizes = tuple(listed[mm] for mm in chosen if mm in listed)
            stack = _not_here(place, sizes) if len(sizes) > 1 else ()
            found.append(Size(name, told, next(iter(stack or sizes), None), old, series.listed(), stack))
        else:
            found.append(Size(name, told, value, old))
    return tuple(found)


def _not_here(place: PlaceRecord, chosen: Sequence[Quantity]) -> tuple[Quantity, ...]:
    """Return which of the sizes that were chosen together have not come yet; all of them after some went back."""
    left = list(chosen)
    for event in place.events:
        if isinstance(event.act, Returned):
            left = list(chosen)
        for pieces, read in thicknesses([event]):
            for each in one_for_each(read, pieces):
                nearest = min(left, key=lambda size: abs(size.mm - each.mm), default=None)
                if nearest is not None:
                    left.remove(nearest)
    return tuple(left) or tuple(chosen)


def thicknesses(events: Iterable[Event]) -> Iterator[tuple[int, tuple[Quantity, ...]]]:
    """Yield how many new pieces were measured, as they came or were laid ready, and how thick they are."""
    for act in (event.act for event in events):
        if isinstance(act, Received | Staged) and isinstance(read := measured_sizes(act.measured).get("t"), tuple):
            yield act.pieces or len(read), read


def one_for_each(read: tuple[Quantity, ...], pieces: int) -> tuple[Quantity, ...]:
    """Return a figure for each piece, where one was written for all of them, too."""
    return read if len(read) == pieces else read[:1] * pieces


def chosen_words(record: Record, ordinal: int) -> str:
    """Return the sizes that were chosen of a graded part for its fit, `5.05 mm`; empty where none was."""
    return " + ".join(_as_listed(record, ordinal, size) for size in record.chosen.get(ordinal, ()))


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
    grades = _grades(sizes, expected, series.thicknesses())
    return next((size for size, grade in zip(sizes, grades, strict=True) if grade is None), None)


def _grades(
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


def _value(part: Part, name: str) -> Quantity | int | None:
    form = part.form
    if form is None:
        return None
    if isinstance(form, Shaft) and name == "l":
        lengths = [length for _, length in form.steps]
        total = sum((length.mm for length in lengths), Decimal(0))
        return Quantity(plain(total / FACTORS[lengths[0].unit][1]), lengths[0].unit)
    value = getattr(form, name, None)
    return value if isinstance(value, Quantity | int) and not isinstance(value, bool) else None


def _as_read(place: PlaceRecord, words: str) -> Quantity | None:
    """Return a size of the old part with as many decimals as were read."""
    act, size = place.old_reading(words), old_size(place, words)
    return size and Quantity(shown(size.value, places_of(*act.values)), size.unit) if act else None


def old_size(place: PlaceRecord, words: str) -> Quantity | None:
    """Return a size of the old part: the mean of what was last read at a point of that name before a new one came."""
    act = place.old_reading(words)
    return Quantity(plain(act.value), act.unit) if act is not None and act.unit in FACTORS else None


def difference(size: Size, found: tuple[Quantity, ...] | int) -> str:
    """Return in words how a new part differs from what it should be; empty where it does not.

    A hint and no limit: a thickness may be 2 % off, or 0.03 mm, other lengths 0.5 %, or 0.5 mm; counts are exact. Of a
    graded part no other grade may be nearer.

    >>> friction = Size("t", "thickness", Quantity(Decimal("2.50"), "mm"))
    >>> difference(friction, (Quantity(Decimal("2.35"), "mm"),))
    'thickness 2.35 mm, the profile has 2.50 mm: 0.15 mm thinner'
    >>> difference(friction, (Quantity(Decimal("2.48"), "mm"),)), difference(Size("teeth", "teeth", 36), 35)
    ('', '35 teeth, the profile has 36')
    """
    if isinstance(found, int):
        said = _(_COUNT).format(count=found, things=_(size.words), wanted=size.wanted)
        return "" if found == size.wanted else said
    if size.wanted is None:
        return _unlisted(size, found)
    wanted = size.wanted
    if not isinstance(wanted, Quantity):
        return ""
    if size.stack:
        return next(filter(None, (_off(size, *pair) for pair in _paired(size, found))), "")
    return _off(size, max(found, key=lambda each: abs(each.mm - wanted.mm)), wanted)


def _paired(size: Size, found: Sequence[Quantity]) -> Iterator[tuple[Quantity, Quantity]]:
    """Yield each piece with the size of the stack that it is taken for: its own, else one that nothing else is."""
    left, own = list(size.stack), {wanted.mm: wanted for wanted in size.stack}
    grades = tuple(_grades((each.mm for each in found), (each.mm for each in left), (each.mm for each in size.listed)))
    for each, grade in zip(found, grades, strict=True):
        if grade is not None:
            left.remove(own[grade])
            yield each, own[grade]
    for each in (each for each, grade in zip(found, grades, strict=True) if grade is None):
        yield each, min(left or size.stack, key=lambda wanted: abs(wanted.mm - each.mm))


def _off(size: Size, worst: Quantity, wanted: Quantity) -> str:
    """Return in words how far a piece is off; empty where it is as near as it must be."""
    thin, off = size.name in _THIN, worst.mm - wanted.mm
    # Grades lie closer together than such a share: it is that which was chosen where no other is nearer.
    other = any(abs(each.mm - worst.mm) < abs(off) for each in size.listed)
    if not other and abs(off) <= max(wanted.mm * _SHARE[thin], _LEAST[thin]):
        return ""
    word = (_("thicker") if off > 0 else _("thinner")) if thin else (_("larger") if off > 0 else _("smaller"))
    shown = Quantity(plain(abs(off) / FACTORS[wanted.unit][1]), wanted.unit)
    told = _(_CHOSEN if size.listed else _PROFILE)
    return told.format(name=_(size.words), size=worst, wanted=wanted, off=shown, word=word)


def _unlisted(size: Size, found: Sequence[Quantity]) -> str:
    """Return that no size of the series comes near."""
    for each in found:
        nearest = min(size.listed, key=lambda listed: abs(listed.mm - each.mm), default=None)
        if nearest is not None and abs(nearest.mm - each.mm) > _LEAST[True]:
            return _(_UNLISTED).format(name=_(size.words), size=each, nearest=nearest)
    return ""


def measured_text(measured: Measured) -> str:
    """Return what was measured as the line that the record keeps.

    Raises:
        UsageError: it is longer than the record has room for.

    >>> mm = lambda *figures: tuple(Quantity(Decimal(figure), "mm") for figure in figures)
    >>> measured_text({"t": mm("2.35", "2.36"), "od": mm("132"), "teeth": 36})
    't 2.35 2.36 mm; od 132 mm; teeth 36'
    """
    told = []
    for name, found in measured.items():
        if isinstance(found, int):
            told.append(f"{name} {found}")
        elif found:
            alike = found[:1] if len({each.value for each in found}) == 1 else found
            told.append(f"{name} {' '.join(str(each.value) for each in alike)} {found[0].unit}")
    text = "; ".join(told)
    if len(text) > LONGEST_TEXT:
        wrong = _("this is more than the record has room for ({most} letters): write fewer figures")
        raise UsageError(wrong.format(most=LONGEST_TEXT))
    return text


def measured_sizes(text: str | None) -> dict[str, tuple[Quantity, ...] | int]:
    """Return what `measured_text` wrote; a line that somebody wrote in words says nothing.

    >>> measured_sizes("t 2.35 2.36 mm; teeth 36")["teeth"], measured_sizes("looks fine")
    (36, {})
    """
    found: dict[str, tuple[Quantity, ...] | int] = {}
    for piece in (text or "").split("; "):
        name, *figures = piece.split(" ")
        if name not in SIZE_WORDS or not figures:
            continue
        try:
            if len(figures) == 1:
                found[name] = int(figures[0])
            elif figures[-1] in FACTORS:
                values = [Decimal(figure) for figure in figures[:-1]]
                if all(value.is_finite() for value in values):
                    found[name] = tuple(Quantity(value, figures[-1]) for value in values)
        except (ArithmeticError, ValueError):
            continue
    return found


def measured_words(text: str, part: Part | None, beside: str = "") -> str:
    """Return what `measured_text` wrote with the words of its sizes; a line that somebody wrote in words as it is.

    Args:
        text: the line.
        part: whose sizes they are.
        beside: a note that stands beside it; a size whose figure it tells, with what is wrong, is left out.

    >>> measured_words("t 2.35 2.36 mm; teeth 36", None)
    'thickness 2.35 2.36 mm; teeth 36'
    >>> measured_words("t 2.35 mm; teeth 36", None, "thickness 2.35 mm, the profile has 2.50 mm: 0.15 mm thinner")
    'teeth 36'
    """
    if not measured_sizes(text):
        return text
    kind = part.form.kind if part and part.form else ""
    told = []
    for name, _gap, read in (each.partition(" ") for each in text.split("; ")):
        words = _(_OWN_WORDS.get((kind, name)) or SIZE_WORDS.get(name, name))
        # As `difference` begins: a length behind its name, a count before it.
        if not any(piece.startswith((f"{words} {read},", f"{read} {words},")) for piece in beside.split("; ")):
            told.append(f"{words} {read}")
    return "; ".join(told)


def size_named(sizes: Sequence[Size], name: str) -> Size:
    """Return a size by its name or its words.

    Raises:
        UsageError: the part has none of this name.
    """
    for each in sizes:
        if name.casefold() in (each.name, each.words):
            return each
    raise UsageError(f'"{name}" is no size of this part; {allowed_text(name, (each.words for each in sizes))}')


def plain(value: Decimal) -> Decimal:
    """Return a figure with no more decimals than tell anything, its own zeros kept."""
    exponent = value.as_tuple().exponent
    return value if isinstance(exponent, int) and exponent >= -_MOST_PLACES else round(value, _MOST_PLACES).normalize()
