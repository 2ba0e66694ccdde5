"""What was measured on new parts: one line of the event that they came, and the words of their sizes.

`2.35 mm thick` is kept as `t 2.35 mm`, so that the thickness of new plates goes into the sum of their clearance.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping
from decimal import Decimal
from typing import Final

from labelkit.calc.notepieces import fields_of, pieces_of
from labelkit.errors import UsageError
from labelkit.language import gettext as _
from labelkit.language import noop
from labelkit.model.act import LONGEST_TEXT, Act
from labelkit.model.acts import Received, Staged
from labelkit.model.events import Event
from labelkit.model.formbase import Form
from labelkit.model.hardwareform import Bolt
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
OWN_WORDS: Final[Mapping[tuple[str, str], str]] = {
    ("snap_ring", "d"): noop("shaft or bore diameter"),
    ("wave_spring", "h"): noop("free height"),
    ("disc_spring", "h"): noop("free height"),
    **dict.fromkeys((("bolt", "l"), ("plug", "l")), noop("length under the head")),
    **dict.fromkeys((("bolt", "d"), ("nut", "d"), ("plug", "d")), noop("thread diameter")),
    ("carrier", "od"): noop("diameter over the planets"),
}
"""Sizes that a form calls otherwise, by the form and the size."""
NOT_MEASURED: Final = frozenset({("snap_ring", "d")})
"""Sizes that nobody measures on a new part: a retaining ring is not as wide as its groove."""
OTHER_COUNT: Final = noop("{count} {things}, the profile has {wanted}")
UNLIKE_PROFILE: Final = noop("{name} {size}, the profile has {wanted}: {off} {word}")
UNLIKE_CHOSEN: Final = noop("{name} {size}, chosen was {wanted}: {off} {word}")
UNLISTED: Final = noop("{name} {size}, the series has no such size: the nearest is {nearest}")
DIFFERENCES: Final = (OTHER_COUNT, UNLIKE_PROFILE, UNLIKE_CHOSEN, UNLISTED)
"""How a new part differs from what it should be, as the note beside its sizes keeps it: it was taken all the same."""
_WITH_HEAD: Final = noop("length with the head")
_MOST_PLACES: Final = 6  # of a mean, in the unit it was read in
Measured = Mapping[str, tuple[Quantity, ...] | int]
"""What was measured, by the name of the size; several figures where several pieces or places were read."""


def size_word(form: Form | None, name: str) -> str:
    """Return what a measured size of a form is called, in English.

    The length of a countersunk screw includes its head (ISO 10642).

    >>> size_word(None, "l"), size_word(Bolt.model_validate({"d": "8 mm", "l": "30 mm"}), "l")
    ('length', 'length under the head')
    """
    if isinstance(form, Bolt) and (name, form.head) == ("l", "countersunk"):
        return _WITH_HEAD
    return OWN_WORDS.get((form.kind if form else "", name), SIZE_WORDS[name])


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
    form, told = part.form if part else None, []
    for name, _gap, read in (each.partition(" ") for each in text.split("; ")):
        words = _(size_word(form, name)) if name in SIZE_WORDS else name
        # As `difference` begins: a length behind its name, a count before it.
        if not any(piece.startswith((f"{words} {read},", f"{read} {words},")) for piece in beside.split("; ")):
            told.append(f"{words} {read}")
    return "; ".join(told)


def differences(note: str | None) -> tuple[str, ...]:
    """Return what a note says of how a new part differs from what it should be, as it is kept, in English.

    >>> differences("outside diameter 141 mm, the profile has 140 mm: 1 mm larger; from the old supplier")
    ('outside diameter 141 mm, the profile has 140 mm: 1 mm larger',)
    """
    return tuple(each for each in pieces_of(note) if any(fields_of(each, template) for template in DIFFERENCES))


def thickness_read(act: Act) -> tuple[Quantity, ...]:
    """Return how thick the new pieces are that came or were laid ready; empty where it is another act, or says not."""
    read = measured_sizes(act.measured).get("t") if isinstance(act, Received | Staged) else None
    return read if isinstance(read, tuple) else ()


def thicknesses(events: Iterable[Event]) -> Iterator[tuple[int, tuple[Quantity, ...]]]:
    """Yield how many new pieces were measured, as they came or were laid ready, and how thick they are."""
    for act in (event.act for event in events):
        if read := thickness_read(act):
            yield getattr(act, "pieces", None) or len(read), read


def one_for_each(read: tuple[Quantity, ...], pieces: int) -> tuple[Quantity, ...]:
    """Return a figure for each piece, where one was written for all of them, too."""
    return read if len(read) == pieces else read[:1] * pieces


def sized(mm: Decimal, unit: str) -> Quantity:
    """Return a length, mm, as a size in its unit, with no more decimals than tell anything."""
    return Quantity(plain(mm / FACTORS[unit][1]), unit)


def plain(value: Decimal) -> Decimal:
    """Return a figure with no more decimals than tell anything, its own zeros kept."""
    exponent = value.as_tuple().exponent
    return value if isinstance(exponent, int) and exponent >= -_MOST_PLACES else round(value, _MOST_PLACES).normalize()
