"""What a part leaves on a tray: its pieces laid out one by one, in one pile, or together in a cup or a box."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from functools import lru_cache
from typing import Final

from labelkit import forms
from labelkit.forms.geometry import Contour, Point, circle, rectangle
from labelkit.forms.shapes import Plan
from labelkit.model.formbase import Form, Lay
from labelkit.model.part import Part

# Cups of the trade's kind are as high as they are handy; diameters and height inside, mm. Common practice, no source.
CUPS: Final = (40.0, 60.0, 80.0, 100.0)
CUP_HEIGHT: Final = 45.0
# Room that loose pieces take beyond their own boxes. Common practice, no source.
_LOOSE: Final = 1.5
_LAYERS: Final = 3
# Where nothing says how large a part is, or how many there are, its cup is this one.
_PLAIN_CUP: Final = 60.0
# Of arcs, in outlines: a fifth of what a cut or a print is true to.
CHORD_ERROR: Final = 0.02


@dataclass(frozen=True, slots=True)
class Footprint:
    """What is laid on the tray for one bin, in the plan frame of one piece (mm, y up).

    Attributes:
        outer: the outline of one piece, of the pile, or of the cup.
        count: how many outlines there are.
        holes: openings right through.
        plan: the drawing of the piece; None where the part has no form.
        lay: how the pieces lie.
        round: radius where the outline is as good as a disc about the origin, else 0.
        bore: radius of the free round opening about the origin, else 0.
        turns: it may lie turned by a quarter or at an angle.
    """

    outer: Contour
    count: int
    holes: tuple[Contour, ...]
    plan: Plan | None
    lay: Lay
    round: float
    bore: float
    turns: bool


def lies(part: Part) -> Lay:
    """Return how the pieces of a part lie: as its profile says, else as pieces of its form usually do."""
    if part.lay is not None:
        return part.lay
    if part.form is None:
        return "cup"
    usual = part.form.several
    if part.qty == "set":
        return "cup" if usual == "each" else usual
    return usual if part.qty > 1 else "each"


def footprint(part: Part) -> Footprint:
    """Return what a part leaves on a tray."""
    if part.form is None:
        return _cup(_PLAIN_CUP, None)
    plan = _plan(part.form)
    lay = lies(part)
    if lay == "cup":
        return _container(plan, None if part.qty == "set" else part.qty)
    count = part.qty if lay == "each" and part.qty != "set" else 1
    radius = _disc(plan)
    bore = _opening(plan.holes) if radius else 0.0
    return Footprint(plan.outer, count, plan.holes, plan, lay, radius, bore, turns=not radius)


@lru_cache(maxsize=1024)
def _plan(form: Form) -> Plan:
    return forms.plan(form)


def _disc(plan: Plan) -> float:
    """Return the radius of an outline that fills the circle round it, else 0."""
    radius = plan.outer.reach()
    return 0.0 if plan.lies or plan.outer.area() < 0.8 * math.pi * radius**2 else radius


def _opening(holes: tuple[Contour, ...]) -> float:
    """Return the radius of the largest circle about the origin that lies in one of the holes, 0 where there is none."""
    for hole in holes:
        points = list(_polygon(hole))
        if encloses(points, (0.0, 0.0)):
            return min(_distance(*edge) for edge in zip(points, points[1:] + points[:1], strict=True))
    return 0.0


def encloses(points: Sequence[Point], point: Point) -> bool:
    """Say whether a point lies inside a closed polygon."""
    x, y = point
    inside = False
    x1, y1 = points[-1]
    for x2, y2 in points:
        if (y1 > y) != (y2 > y) and x < x1 + (y - y1) / (y2 - y1) * (x2 - x1):
            inside = not inside
        x1, y1 = x2, y2
    return inside


def _distance(start: Point, end: Point) -> float:
    """Return how far the origin is from a straight edge."""
    (x1, y1), (x2, y2) = start, end
    dx, dy = x2 - x1, y2 - y1
    share = -(x1 * dx + y1 * dy) / ((dx * dx + dy * dy) or 1.0)
    share = min(1.0, max(0.0, share))
    return math.hypot(x1 + share * dx, y1 + share * dy)


def _container(plan: Plan, count: int | None) -> Footprint:
    """Return the smallest cup that holds the pieces; else a box."""
    box = plan.outer.box()
    length, width = max(box.width, box.height), min(box.width, box.height)
    if count is None:
        fitting = [cup for cup in CUPS if cup >= max(_PLAIN_CUP, length)]
    else:
        volume = count * length * width * plan.height * _LOOSE
        fitting = [cup for cup in CUPS if cup >= length and math.pi / 4 * cup**2 * CUP_HEIGHT >= volume]
    if fitting:
        return _cup(fitting[0], plan)
    in_a_layer = math.ceil((count or 1) / _LAYERS)
    in_a_row = max(1, round(math.sqrt(in_a_layer * width / length)))  # as near to a square as the pieces allow
    x, y = in_a_row * length / 2 + 2.0, math.ceil(in_a_layer / in_a_row) * width / 2 + 2.0
    return Footprint(rectangle(-x, -y, x, y), 1, (), plan, "cup", 0.0, 0.0, turns=True)


def _cup(diameter: float, plan: Plan | None) -> Footprint:
    return Footprint(circle(diameter / 2), 1, (), plan, "cup", diameter / 2, 0.0, turns=False)


def outline(contour: Contour, turned: float, x: float, y: float) -> list[Point]:
    """Return a contour of the plan frame (y up) as a polygon in the tray's frame (y down).

    Args:
        contour: in the plan frame.
        turned: degrees counter-clockwise, as seen from above.
        x: where the plan's origin lies in the tray.
        y: likewise.
    """
    c, s = math.cos(math.radians(turned)), math.sin(math.radians(turned))
    return [(x + px * c - py * s, y - px * s - py * c) for px, py in _polygon(contour)]


@lru_cache(maxsize=1024)
def _polygon(contour: Contour) -> tuple[Point, ...]:
    return tuple(contour.polygon(CHORD_ERROR))


def box_of(points: list[Point]) -> tuple[float, float, float, float]:
    """Return left, top, right and bottom of points."""
    xs, ys = [x for x, _ in points], [y for _, y in points]
    return min(xs), min(ys), max(xs), max(ys)


def enters(points: Sequence[Point], box: tuple[float, float, float, float]) -> bool:
    """Say whether an edge of a polygon has a point inside a box of left, top, right and bottom."""
    left, top, right, bottom = box
    start = points[-1]
    for end in points:
        (x1, y1), (x2, y2) = start, end
        beside = (x1 <= left and x2 <= left) or (x1 >= right and x2 >= right)
        apart = beside or (y1 <= top and y2 <= top) or (y1 >= bottom and y2 >= bottom)  # as most edges are
        if not apart and _crosses(start, end, box):
            return True
        start = end
    return False


def _crosses(start: Point, end: Point, box: tuple[float, float, float, float]) -> bool:
    """Say whether a straight edge has a point inside a box (clipping by Liang and Barsky 1984)."""
    enter, leave = 0.0, 1.0
    for axis in (0, 1):
        step = end[axis] - start[axis]
        before, after = box[axis] - start[axis], box[axis + 2] - start[axis]
        if step == 0:
            if before >= 0 or after <= 0:
                return False
            continue
        one, other = sorted((before / step, after / step))
        enter, leave = max(enter, one), min(leave, other)
    return enter < leave
