"""The sizes of a new part beside those of the old one, and what they mean for the fits.

Which sizes are measured follows from the form of the part.

Source of the rule that new parts are measured before they go in: common practice, no source.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from decimal import Decimal
from typing import Final

from labelkit.calc.answers import beside, places_of, shown
from labelkit.calc.grades import grades_of
from labelkit.calc.measured import (
    NOT_MEASURED,
    OTHER_COUNT,
    SIZE_WORDS,
    UNLIKE_CHOSEN,
    UNLIKE_PROFILE,
    UNLISTED,
    size_word,
    sized,
)
from labelkit.calc.oldandnew import old_reading
from labelkit.calc.placerecord import PlaceRecord
from labelkit.calc.record import Record
from labelkit.calc.slips import of_a_step
from labelkit.errors import UsageError, allowed_text
from labelkit.language import gettext as _
from labelkit.model.form import Shaft
from labelkit.model.part import Part
from labelkit.units import FACTORS, Quantity

# How far a size may be from the profile's before it is asked about: a share of it, and mm at least. Own choice.
_THIN: Final = ("t", "section", "wire")
_SHARE: Final = {True: Decimal("0.02"), False: Decimal("0.005")}
_LEAST: Final = {True: Decimal("0.03"), False: Decimal("0.5")}


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
    for name in SIZE_WORDS:
        value = _value(part, name)
        graded = series is not None and name == "t"
        if (kind, name) in NOT_MEASURED or (value is None and not graded):
            continue
        told = size_word(part.form, name)
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
    """Return which of the sizes that were chosen together have not come yet; all of them where none is missing."""
    here, left = Counter({size.mm: place.lot(size.mm).here for size in chosen}), []
    for size in chosen:
        here[size.mm] -= 1
        left += [size] if here[size.mm] < 0 else []
    return tuple(left) or tuple(chosen)


def _value(part: Part, name: str) -> Quantity | int | None:
    form = part.form
    if form is None:
        return None
    if isinstance(form, Shaft) and name == "l":
        lengths = [length for _, length in form.steps]
        total = sum((length.mm for length in lengths), Decimal(0))
        return sized(total, lengths[0].unit)
    value = getattr(form, name, None)
    return value if isinstance(value, Quantity | int) and not isinstance(value, bool) else None


def _as_read(place: PlaceRecord, words: str) -> Quantity | None:
    """Return a size of the old part with as many decimals as were read."""
    act = old_reading(place, words)
    known = act is not None and act.unit in FACTORS
    return Quantity(shown(act.value, places_of(*act.values)), act.unit) if act and known else None


def old_size(place: PlaceRecord, words: str) -> Quantity | None:
    """Return a size of the old part: the mean of what was last read at a point of that name before a new one came."""
    act = old_reading(place, words)
    return Quantity(beside(act.value, *act.values), act.unit) if act is not None and act.unit in FACTORS else None


def difference(size: Size, found: tuple[Quantity, ...] | int) -> str:
    """Return in words how a new part differs from what it should be; empty where it does not.

    A hint and no limit: a thickness may be 2 % off, or 0.03 mm, other lengths 0.5 %, or 0.5 mm; counts are exact. A
    graded part is as near as a fifth of the least step of its series, and nearer to no other grade.

    >>> friction = Size("t", "thickness", Quantity(Decimal("2.50"), "mm"))
    >>> difference(friction, (Quantity(Decimal("2.35"), "mm"),))
    'thickness 2.35 mm, the profile has 2.50 mm: 0.15 mm thinner'
    >>> difference(friction, (Quantity(Decimal("2.48"), "mm"),)), difference(Size("teeth", "teeth", 36), 35)
    ('', '35 teeth, the profile has 36')
    """
    if isinstance(found, int):
        said = _(OTHER_COUNT).format(count=found, things=_(size.words), wanted=size.wanted)
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
    sizes, expected, known = ((each.mm for each in some) for some in (found, left, size.listed))
    graded = list(zip(found, grades_of(sizes, expected, known), strict=True))
    for each, grade in graded:
        if grade is not None:
            left.remove(own[grade])
            yield each, own[grade]
    for each in (each for each, grade in graded if grade is None):
        yield each, min(left or size.stack, key=lambda wanted: abs(wanted.mm - each.mm))


def _off(size: Size, worst: Quantity, wanted: Quantity) -> str:
    """Return in words how far a piece is off; empty where it is as near as it must be."""
    thin, off = size.name in _THIN, worst.mm - wanted.mm
    allowed = _within(size, max(wanted.mm * _SHARE[thin], _LEAST[thin]))
    # Grades lie closer together than such a share: it is that which was chosen where no other is nearer.
    other = any(abs(each.mm - worst.mm) < abs(off) for each in size.listed)
    if not other and abs(off) <= allowed:
        return ""
    word = (_("thicker") if off > 0 else _("thinner")) if thin else (_("larger") if off > 0 else _("smaller"))
    told = _(UNLIKE_CHOSEN if size.listed else UNLIKE_PROFILE)
    by = sized(abs(off), wanted.unit)
    return told.format(name=_(size.words), size=worst, wanted=wanted, off=by, word=word)


def _unlisted(size: Size, found: Sequence[Quantity]) -> str:
    """Return that no size of the series comes near."""
    for each in found:
        nearest = min(size.listed, key=lambda listed: abs(listed.mm - each.mm), default=None)
        if nearest is not None and abs(nearest.mm - each.mm) > _within(size, _LEAST[True]):
            return _(UNLISTED).format(name=_(size.words), size=each, nearest=nearest)
    return ""


def _within(size: Size, most: Decimal) -> Decimal:
    """Return how far a piece may be from its size, mm: no more than `most`, less where its grades lie close."""
    step = of_a_step(each.mm for each in size.listed)
    return most if step is None else min(most, step)


def size_named(sizes: Sequence[Size], name: str) -> Size:
    """Return a size by its name or its words, in English or in the language that is spoken.

    Raises:
        UsageError: the part has none of this name.
    """
    for each in sizes:
        if name.casefold() in (each.name, each.words, _(each.words).casefold()):
            return each
    raise UsageError(f'"{name}" is no size of this part; {allowed_text(name, (_(each.words) for each in sizes))}')
