"""The rows of an exploded view: the axis of the unit and of each sub-assembly, broken where a sheet is too narrow."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from functools import cached_property
from typing import Final

from labelkit.calc.steps import Bin
from labelkit.drawing.page import Box
from labelkit.drawing.text import measure
from labelkit.language import gettext as _
from labelkit.sheets.explodedslots import BALLOON, CAP, OPENS, Slot
from labelkit.sheets.legible import em

LEAD: Final = 7.5  # left of the first part: which way is up
TAIL: Final = 3.0
TITLE: Final = 8.0
_LEADER: Final = 4.0  # at least
NAME: Final = 2.4  # capitals of a title
CONTINUED: Final = 22.0  # what a title takes more where its axis goes on
BAR_GAP: Final = 3.0  # between a scale and its bar
_BAR: Final = 24.0  # the longest bar
_SEEN: Final = 6.0  # a part with a side as long as this is recognised


Sides = tuple[float, float]


@dataclass(frozen=True)
class Strip:
    """The parts of the unit, or of one sub-assembly, in removal order; `holder`: the sub-assembly's bin."""

    title: str
    holder: Bin | None
    slots: tuple[Slot, ...]
    scale: float
    named: str

    @cached_property
    def sides(self) -> tuple[Sides, ...]:
        """Of each part the length of its stretch of the axis on paper, left and right of its circle."""
        return tuple(slot.sides(self.scale) for slot in self.slots)

    @cached_property
    def tight(self) -> tuple[Sides, ...]:
        """The same, everything as near to its neighbours as it may be."""
        return tuple(slot.sides(self.scale, tight=True) for slot in self.slots)

    @cached_property
    def stretches(self) -> tuple[float, ...]:
        """Lengths of the stretches on paper."""
        return tuple(map(sum, self.sides))

    @cached_property
    def drawn(self) -> bool:
        """Whether a part of it has a form, so that there is something to scale."""
        return any(slot.bin.part.form for slot in self.slots)

    @property
    def words(self) -> str:
        """What stands below its title: its scale."""
        return self.named if self.drawn else _("not to scale")

    @property
    def head(self) -> float:
        """The width of its scale with the bar on paper."""
        bar = bar_length(self.scale)
        words = measure(self.words, "bold", em(CAP, "bold"))[0] + measure(bar_words(bar), "regular", em(OPENS))[0]
        return words + bar * self.scale + 1.5 * BAR_GAP

    @cached_property
    def seen(self) -> float:
        """Which part of its parts is large enough on paper to be recognised, 0 to 1."""
        sides = [max(box.width, box.height) for slot in self.slots for box in [slot.box(self.scale, 0.0)]]
        return sum(side >= _SEEN for side in sides) / len(sides)

    @cached_property
    def tallest(self) -> float:
        """How tall its tallest part is on paper."""
        return max((slot.box(self.scale, 0.0).height for slot in self.slots if slot.bin.part.form), default=0.0)


@dataclass(frozen=True)
class Row:
    """A piece of a strip's axis, as it stands on a sheet.

    Attributes:
        strip: the strip.
        first: its first part.
        sides: lengths of the stretches of its parts left and right of their circles, as they are here.
        titled: it has a title.
    """

    strip: Strip
    first: int
    sides: tuple[Sides, ...]
    titled: bool = True

    @property
    def slots(self) -> tuple[Slot, ...]:
        """Its parts."""
        return self.strip.slots[self.first : self.first + len(self.sides)]

    @property
    def went_on(self) -> bool:
        """Whether its axis comes from another row."""
        return self.first > 0

    @property
    def goes_on(self) -> bool:
        """Whether its axis goes on in another row."""
        return self.first + len(self.sides) < len(self.strip.slots)

    @property
    def title(self) -> str:
        """What its title says."""
        return _("{title}, continued").format(title=self.strip.title) if self.went_on else self.strip.title

    @cached_property
    def reach(self) -> float:
        """How far its parts on the axis reach from it on paper."""
        return max((-self._box(slot, 0.0).y for slot in self.slots if slot.stands == "axis"), default=0.0)

    def box(self, slot: Slot) -> Box:
        """Return the box of a part's view; x from its left end, y from the axis."""
        return self._box(slot, self.reach)

    def _box(self, slot: Slot, reach: float) -> Box:
        return slot.box(self.strip.scale, reach)

    @cached_property
    def above(self) -> float:
        """How far its parts reach above the axis."""
        return max(0.0, *(-self.box(slot).y for slot in self.slots))

    @cached_property
    def below(self) -> float:
        """How far its parts and their marks reach below the axis."""
        pairs = [*zip(self.slots, self.sides, strict=True)]
        feet = [slot.foot(self.box(slot), 2 * min(sides))[1] for slot, sides in pairs]
        return max(0.0, *(self.box(slot).bottom for slot in self.slots), *feet)

    @property
    def axis(self) -> float:
        """How far below its top the axis lies."""
        return TITLE * self.titled + 2 * BALLOON + _LEADER + self.above

    @property
    def height(self) -> float:
        """Its height on paper."""
        return self.axis + self.below

    @property
    def length(self) -> float:
        """The length of its axis."""
        return LEAD + math.fsum(map(sum, self.sides)) + TAIL

    @cached_property
    def width(self) -> float:
        """Its width on paper, its title included."""
        title = max(measure(self.title, "bold", em(NAME, "bold"))[0], self.strip.head)
        return max(self.length, title * self.titled)


def bar_length(scale: float) -> float:
    """Return what the bar beside a scale measures, mm: the longest round length that is short enough on paper."""
    lengths = (k * 10.0**power for power in range(-1, 6) for k in (1, 2, 5))
    return max(length for length in lengths if length * scale <= _BAR)


def bar_words(length: float) -> str:
    """Return what stands beside a bar of this length."""
    return f"{length:g} mm"


def broken(strip: Strip, width: float) -> list[Row]:
    """Return a strip in as few rows as it needs, about equally long, and drawn out to the width of the sheet."""
    room = width - LEAD - TAIL
    sides = strip.sides
    if len(_counts(sides, room)) > len(_counts(strip.tight, room)):
        sides = strip.tight
    counts = _counts(sides, room)
    if len(counts) > 1:
        low, high = max(map(sum, sides)), room
        for _ in range(12):
            middle = (low + high) / 2
            low, high = (low, middle) if len(_counts(sides, middle)) == len(counts) else (middle, high)
        counts = _counts(sides, high)
    rows, first = [], 0
    for count in counts:
        here = sides[first : first + count]
        more = (room - math.fsum(map(sum, here))) / count / 2 if len(counts) > 1 else 0.0
        rows.append(Row(strip, first, tuple((left + more, right + more) for left, right in here)))
        first += count
    return rows


def _counts(sides: Sequence[Sides], room: float) -> list[int]:
    """Return how many parts each row takes when every row takes as many as it holds."""
    counts, taken = [0], 0.0
    for stretch in map(sum, sides):
        if counts[-1] and taken + stretch > room + 1e-6:
            counts.append(0)
            taken = 0.0
        counts[-1] += 1
        taken += stretch
    return counts
