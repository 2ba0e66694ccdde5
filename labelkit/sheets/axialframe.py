"""Where and how one part is drawn on its axis: the frame from its section to the page, and the pens."""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Final, Literal

from labelkit.drawing.page import Box, Pen
from labelkit.forms.geometry import Point

OUTLINE: Final = Pen(0.35)
SLIM: Final = Pen(0.25)
EDGE: Final = Pen(0.18)
HATCH: Final = Pen(0.13)
# A part that is shorter than this along its axis on paper has a slim outline, so that it does not grow.
_SLIM: Final = 1.0
# A chord leaves its arc by this much on paper at most, mm.
_CHORD: Final = 0.004


@dataclass(frozen=True, slots=True)
class Frame:
    """Where a part is drawn.

    Attributes:
        x: of its left end on the page, of its axis for a part that stands, mm.
        y: of its axis, of its outer end for a part that stands, mm.
        scale: of the drawing.
        flipped: the `way` end is the right or the inner one.
        slope: of the hatching, degrees; neighbours have different ones.
        runs: which way its axis runs on the page, from its left or outer end.
        marked: which end is up is known, so that what tells it may be drawn.
        cut: heights between which a long part is left out, both 0 for none.
        gap: what stands there instead, mm on paper.
        half: what is drawn of a part that is cut: both sides of its axis, or one.
        packed: it stands among its neighbours: thin metal is white, so that plates are told apart, and of a short
            part no edge is seen behind the cut.
        chord: how far a chord of the cut may leave its arc on paper, mm.
        pen: of its outline.
        seen: what is not clipped away; None: all of it is seen.
    """

    x: float
    y: float
    scale: float
    flipped: bool = False
    slope: float = 45.0
    runs: Literal["right", "down", "up"] = "right"
    marked: bool = True
    cut: tuple[float, float] = (0.0, 0.0)
    gap: float = 0.0
    half: Literal["both", "cut", "outside"] = "both"
    packed: bool = False
    chord: float = _CHORD
    pen: Pen = OUTLINE
    seen: Box | None = None

    def at(self, height: float, r: float, z: float) -> Point:
        """Return where a point of the section lies on the page; positive `r` is the side that is cut."""
        along = (z if self.flipped else height - z) * self.scale
        low, high = self.cut
        if high > low:
            beyond = z > (low + high) / 2 if self.flipped else z < (low + high) / 2
            along += beyond * (self.gap - (high - low) * self.scale)
        across = r * self.scale
        if self.runs == "right":
            return self.x + along, self.y - across
        return self.x + across, self.y + (along if self.runs == "down" else -along)

    def around(self, height: float) -> Pen:
        """Return the pen of the outline of a part: slim where the part is so short that it would seem to grow."""
        drawn = math.dist(self.at(height, 0.0, 0.0), self.at(height, 0.0, height))
        return self.pen if drawn >= _SLIM else SLIM
