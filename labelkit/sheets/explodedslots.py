"""One part of an exploded view in its stretch of the axis: the room that it, its circle and its marks take on paper."""

from __future__ import annotations

from dataclasses import dataclass
from functools import cached_property, lru_cache
from typing import Final, Literal

from labelkit.calc.steps import Bin
from labelkit.drawing.page import Box
from labelkit.drawing.text import measure, size_for_cap
from labelkit.sheets import waywords
from labelkit.sheets.legible import em
from labelkit.sheets.silhouette import Extent, crest, landing

BALLOON: Final = 4.6  # radius, mm
_APART: Final = (1.2, 0.7)  # circles, with room and without
_BETWEEN: Final = (3.2, 1.8)  # parts
ARROW: Final = 3.2  # the centre line of a part off the axis, on either side
# A mark below a part: height of a row, of its capitals; between two marks.
ROW: Final = 3.5
CAP: Final = 2.0
SPACE: Final = 1.2
BRACKET: Final = 4.6  # with the steps that are opened, whose capitals are
OPENS: Final = 1.8
_UNDER: Final = 1.2  # between a part and its marks
# A part off the axis keeps this far from it.
_OFF: Final = 1.2
GAP: Final = 2.5

Stands = Literal["axis", "round", "above", "below"]


@dataclass(frozen=True, slots=True)
class Mark:
    """A mark below a part: words, words white on black, a clock dial, or the sign that something can hurt."""

    kind: Literal["words", "tag", "dial", "alert"]
    text: str = ""

    @property
    def width(self) -> float:
        """Its width on paper, mm."""
        return _mark_width(self.kind, self.text)


@lru_cache(maxsize=4096)
def _mark_width(kind: str, text: str) -> float:
    words = measure(text, "bold", em(CAP, "bold"))[0]
    return words + {"words": 0.0, "tag": 1.6, "dial": 3.8, "alert": 3.4}[kind]


@dataclass(frozen=True)
class Slot:
    """One part in its stretch of the axis.

    Attributes:
        bin: the part's.
        size: its view's extent at 1:1; of a part without a form, on paper.
        stands: on the axis, round it, or screwed in from the side, above or below the axis.
        hub: radius at 1:1 of the circle it stands on, or of what it is screwed into; None when not known.
        leftward: what it belongs to stands left of it.
        cut: heights between which a long part is left out.
        opens: the steps of its parts, shown again further on; empty for none.
        marks: what stands below it.
    """

    bin: Bin
    size: Extent
    stands: Stands = "axis"
    hub: float | None = None
    leftward: bool = False
    cut: tuple[float, float] = (0.0, 0.0)
    opens: str = ""
    marks: tuple[Mark, ...] = ()

    @property
    def standing(self) -> bool:
        """Whether its own axis runs up and down the page."""
        return self.stands in ("above", "below")

    @cached_property
    def flipped(self) -> bool:
        """Whether its `way` end is at the right."""
        return not self.standing and waywords.way(self.bin.part).opens == "down"

    def box(self, scale: float, reach: float) -> Box:
        """Return the box of its view on paper; x from its left end, y from the unit's axis.

        Args:
            scale: of the strip.
            reach: how far the parts of its row reach from its axis on paper.
        """
        scale = scale if self.bin.part.form else 1.0
        length, half = self.size.length * scale, self.size.reach * scale
        low, high = self.cut
        if high > low:
            length += GAP - (high - low) * scale
        if self.stands == "axis":
            return Box(0.0, -half, length, 2 * half)
        if self.stands == "round":
            least = half + _OFF
            line = min(max((self.hub or 0.0) * scale, least), max(reach - half, least))
            return Box(0.0, -line - half, length, 2 * half)
        wanted = reach - length if self.hub is None else self.hub * scale + _OFF
        inner = min(max(wanted, 2.0), max(reach - length, 2.0))
        return Box(0.0, inner if self.stands == "below" else -inner - length, 2 * half, length)

    def lands(self, scale: float) -> tuple[float, float, float]:
        """Return where its leader meets it on paper, from the left top corner of its box, and how thick it is there."""
        form = self.bin.part.form
        if form is None:
            return self.size.length / 2, 0.0, self.size.reach
        if self.standing:
            r = crest(form, top=self.stands == "above")
            return (self.size.reach + r) * scale, 0.0, self.size.length * scale
        low, high = self.cut
        long = high > low
        found = landing(form, high if long else None)
        along = (found.z if self.flipped else self.size.length - found.z) * scale
        if long and self.flipped:
            along += GAP - (high - low) * scale
        return along, (self.size.reach - found.r) * scale, found.depth * scale

    def sides(self, scale: float, *, tight: bool = False) -> tuple[float, float]:
        """Return how long its stretch is on paper left and right of its circle, which stands over the leader's end.

        Args:
            scale: of the strip.
            tight: everything as near to its neighbours as it may be.
        """
        width, at = self.box(scale, 0.0).width, self.lands(scale)[0]
        beside = ARROW if self.stands == "round" else _BETWEEN[tight] / 2
        least = max((balloon_width(self.bin.step_words) + _APART[tight]) / 2, self._widest / 2)
        return max(at + beside, least), max(width - at + beside, least)

    @cached_property
    def _widest(self) -> float:
        widths = [mark.width for mark in self.marks]
        if self.opens:
            widths.append(measure(self.opens, "regular", em(OPENS))[0])
        return max(widths) + SPACE if widths else 0.0

    def rows(self, width: float) -> list[list[Mark]]:
        """Return its marks in rows of this width."""
        rows: list[list[Mark]] = []
        taken = 0.0
        for mark in self.marks:
            if not rows or taken + SPACE + mark.width > width - SPACE + 1e-6:
                rows.append([])
                taken = -SPACE
            rows[-1].append(mark)
            taken += SPACE + mark.width
        return rows

    def foot(self, box: Box, width: float) -> tuple[float, float]:
        """Return top and bottom of what stands below it, from the axis down.

        Args:
            box: of its view, from the axis.
            width: what there is for it.
        """
        high = BRACKET * bool(self.opens) + ROW * len(self.rows(width))
        top = box.bottom + _UNDER
        if not high or (self.stands == "round" and top + high <= -_OFF):
            return top, top + high
        top = max(top, 1.0 + _UNDER)
        return top, top + high


def step_size(step: str) -> float:
    """Return the em of a step in its circle: 12 larger than 25.10.1."""
    return size_for_cap(3.6 if len(step) <= 2 else 2.8 if len(step) <= 4 else 2.2, "bold")


def balloon_width(step: str) -> float:
    """Return the width of the circle round a step; it is drawn out where the step is long."""
    return max(2 * BALLOON, measure(step, "bold", step_size(step))[0] + 2.2)
