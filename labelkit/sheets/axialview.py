"""One part on its axis: cut open above the axis, seen from outside below it.

The axis lies level on the page; the unit's up is at the left. Sections are drawn as the trade does: metal is hatched,
thin metal and rubber are black, linings are hatched crosswise; shafts, screws, pins, keys and balls are not cut
lengthwise (ISO 128-3, from memory).
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from functools import lru_cache
from itertools import pairwise
from typing import Final

from labelkit import forms
from labelkit.drawing.hatch import hatch
from labelkit.drawing.page import BLACK, WHITE, Command, Item, Path, Pen
from labelkit.forms import Section
from labelkit.model.form import Form

Point = tuple[float, float]

OUTLINE: Final = Pen(0.35)
EDGE: Final = Pen(0.18)
HATCH: Final = Pen(0.13)
_PITCH: Final = 1.3
# A cut thinner than this on paper is black: no hatching would show.
_THIN: Final = 1.1
_UNCUT: Final = frozenset(("shaft", "bolt", "nut", "plug", "pin", "key", "ball"))
# Edges of an outside view where its outline turns by more than this, degrees; less is a curve.
_TURN: Final = 20.0
# Lines that tell teeth are not drawn closer than this on paper, mm.
_CLOSE: Final = 0.55
_CHORD: Final = 0.01


@dataclass(frozen=True, slots=True)
class Extent:
    """What a part takes on the page at 1:1, mm: along the axis, and on either side of it."""

    length: float
    reach: float


def extent(form: Form) -> Extent:
    """Return the room of a part's view."""
    section = forms.section(form)
    boxes = [face.contour.box() for face in section.faces]
    return Extent(section.height, max(max(abs(box.left), abs(box.right)) for box in boxes))


def middle_reach(form: Form) -> float:
    """Return how far a part reaches above its axis at half its length, mm at 1:1: where a leader meets it."""
    section = forms.section(form)
    # A hair off the middle, where an edge may lie.
    return max(_radii(_edges(form), section.height / 2 + 1e-4), default=extent(form).reach)


@dataclass(frozen=True, slots=True)
class Axis:
    """Where a part is drawn.

    Attributes:
        x: left end of the part on the page, mm.
        y: of the axis.
        scale: of the drawing.
        flipped: the `way` end points down in the unit, to the right on the page.
        slope: of the hatching, degrees; neighbours have different ones.
    """

    x: float
    y: float
    scale: float
    flipped: bool
    slope: float

    def at(self, height: float, r: float, z: float) -> Point:
        """Return where a point of the section lies on the page, above the axis for positive `r`."""
        along = z if self.flipped else height - z
        return self.x + along * self.scale, self.y - r * self.scale


def axial_view(form: Form, axis: Axis) -> list[Item]:
    """Return a part on its axis."""
    section = forms.section(form)
    if not section.round:
        return [*_cut(section, axis, section.height)]
    items: list[Item] = []
    if form.kind in _UNCUT:
        items += _outside(form, axis, whole=True)
    else:
        items += _outside(form, axis, whole=False)
        items += _cut(section, axis, section.height)
    return items


def _cut(section: Section, axis: Axis, height: float) -> Iterator[Item]:
    """Yield the cut faces and the edges behind them."""
    for edge in section.lines:
        yield Path(_open([axis.at(height, r, z) for r, z in edge]), EDGE)
    for face in section.faces:
        points = [axis.at(height, r, z) for r, z in face.contour.polygon(_CHORD / axis.scale)]
        box = face.contour.box()
        thin = min(box.width, box.height) * axis.scale < _THIN
        if thin or face.material == "rubber":
            yield Path(_closed(points), EDGE, BLACK)
            continue
        yield Path(_closed(points), None, WHITE)
        slopes = (axis.slope, -axis.slope) if face.material == "lining" else (axis.slope,)
        for slope in slopes:
            if lines := hatch([points], _PITCH, slope):
                yield Path(lines, HATCH)
        yield Path(_closed(points), OUTLINE)


def _outside(form: Form, axis: Axis, *, whole: bool) -> Iterator[Item]:
    """Yield the view from outside, below the axis or on both sides of it."""
    outline = _silhouette(form)
    height = outline[0][0]
    below = [axis.at(height, -r, z) for z, r in outline]
    ends = [axis.at(height, 0.0, outline[-1][0]), axis.at(height, 0.0, outline[0][0])]
    if whole:
        ends = [axis.at(height, r, z) for z, r in reversed(outline)]
    yield Path(_closed([*below, *ends]), OUTLINE, WHITE)
    for z, r in _turns(outline):
        yield Path(_open([axis.at(height, r if whole else 0.0, z), axis.at(height, -r, z)]), EDGE)
    if form.kind == "gear":
        yield from _teeth(int(form.teeth), outline, axis, height)  # type: ignore[attr-defined]


def _teeth(count: int, outline: tuple[Point, ...], axis: Axis, height: float) -> Iterator[Item]:
    """Yield the edges of teeth as they are seen from the side."""
    tip = max(r for _, r in outline)
    ends = [z for z, r in outline if r > tip - 1e-6]
    before = math.inf
    for k in range(1, count // 2):
        r = tip * math.cos(k * 2 * math.pi / count)
        if r <= 0:
            return
        if (before - r) * axis.scale >= _CLOSE:
            yield Path(_open([axis.at(height, -r, min(ends)), axis.at(height, -r, max(ends))]), HATCH)
            before = r


@lru_cache(maxsize=1024)
def _silhouette(form: Form) -> tuple[Point, ...]:
    """Return the outline of a round part as it is seen from the side: (z, r) from its top down to 0."""
    edges = _edges(form)
    heights = sorted({round(z, 6) for edge in edges for _, z in edge}, reverse=True)
    outline: list[Point] = []
    for high, low in pairwise(heights):
        inside = high - (high - low) * 1e-6, low + (high - low) * 1e-6
        upper, lower = (max(_radii(edges, z), default=0.0) for z in inside)
        for point in ((high, upper), (low, lower)):
            if not outline or math.dist(point, outline[-1]) > 1e-4:
                outline.append(point)
    return tuple(outline)


@lru_cache(maxsize=1024)
def _edges(form: Form) -> tuple[tuple[Point, Point], ...]:
    """Return the edges of a part's cut faces as straight lines."""
    rings = [face.contour.polygon(_CHORD) for face in forms.section(form).faces]
    return tuple(pair for ring in rings for pair in pairwise([*ring, ring[0]]))


def _radii(edges: Iterable[tuple[Point, Point]], z: float) -> Iterator[float]:
    for (r1, z1), (r2, z2) in edges:
        if (z1 > z) != (z2 > z):
            yield r1 + (z - z1) / (z2 - z1) * (r2 - r1)


def _turns(outline: tuple[Point, ...]) -> Iterator[Point]:
    """Yield the places of an outline where an edge is seen, each with the smaller radius there."""
    seen: dict[float, float] = {}
    for before, here, after in zip(outline, outline[1:], outline[2:], strict=False):
        one = math.atan2(here[1] - before[1], here[0] - before[0])
        other = math.atan2(after[1] - here[1], after[0] - here[0])
        turn = abs(math.degrees(math.remainder(other - one, math.tau)))
        if turn > _TURN:
            seen[here[0]] = min(seen.get(here[0], math.inf), here[1])
    top, bottom = outline[0][0], outline[-1][0]
    yield from ((z, r) for z, r in seen.items() if bottom < z < top)


def _open(points: list[Point]) -> tuple[Command, ...]:
    (x, y), *rest = points
    return (("M", x, y), *(("L", a, b) for a, b in rest))


def _closed(points: list[Point]) -> tuple[Command, ...]:
    return (*_open(points), ("Z",))
