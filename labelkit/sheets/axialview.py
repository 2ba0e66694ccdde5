"""One part on its axis: cut open above the axis, seen from outside below it.

The axis lies level on the page, the unit's up at the left; a part screwed in from the side stands on its own axis, its
outer end away from the unit. Sections are drawn as the trade does: metal is hatched, thin metal and rubber are black,
linings are hatched crosswise; shafts, screws, pins, keys and rolling elements are not cut lengthwise (ISO 128-3).
Threads have a thin line at their root (ISO 6410-1), splines too (ISO 6413); teeth are not hatched, and a chain line
runs along their pitch surface (ISO 2203). These conventions are from memory.
"""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from typing import Final, Literal

from labelkit import forms
from labelkit.drawing.hatch import hatch
from labelkit.drawing.page import BLACK, WHITE, Command, Item, Path, Pen, closed, opened
from labelkit.forms import Face, Section, standards
from labelkit.forms.geometry import rectangle
from labelkit.forms.shapes import mm
from labelkit.model.form import Carrier, Form, SnapRing
from labelkit.sheets.silhouette import Point, silhouette, stand, turns

OUTLINE: Final = Pen(0.35)
SLIM: Final = Pen(0.25)
EDGE: Final = Pen(0.18)
HATCH: Final = Pen(0.13)
PITCH_LINE: Final = Pen(0.13, dash=(3.0, 0.7, 0.7, 0.7))
UNCUT: Final = frozenset(("shaft", "bolt", "nut", "plug", "pin", "ball"))
# Which face of a section is a rolling element, or the pin of a planet.
_ROLLING: Final = {
    "ball_bearing": -1,
    "roller_bearing": -1,
    "taper_cone": -1,
    "needle_cage": 0,
    "thrust_bearing": -1,
    "carrier": 1,
}
# A part that is shorter than this along its axis on paper has a slim outline, so that it does not grow.
_SLIM: Final = 1.0
# A cut thinner than this on paper is black: no hatching would show in it.
_THIN: Final = 0.8
_LIGHT: Final = 0.35
# Among its neighbours a part that is shorter than this on paper shows no edge behind its cut, mm.
_BEHIND: Final = 3.0
# Distance of hatching lines by how thick the cut is on paper, both mm; larger areas are hatched wider.
_PITCHES: Final = ((3.0, 1.0), (8.0, 1.4), (math.inf, 2.0))
# Lines that tell teeth are not drawn closer than this on paper, mm.
_CLOSE: Final = 0.55
# A thread's root is this far inside its crest on paper at least, mm, and this part of the radius.
_ROOT: Final = (0.45, 0.15)
# A chord leaves its arc by this much on paper at most, mm.
_CHORD: Final = 0.004
# The mark on one side of a gear: half its breadth and its depth, mm.
_MARK: Final = (0.8, 1.1)


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


def axial_view(form: Form, frame: Frame) -> list[Item]:
    """Return a part on its axis."""
    section = forms.section(form)
    if section.round:
        if form.kind in UNCUT:
            return [*_whole(form, frame)]
        outside = _outside(form, section, frame) if frame.half != "cut" else ()
        return [*outside, *(_cut(form, section, frame) if frame.half != "outside" else ())]
    if section.axial:
        return [*_cut(form, section, frame)]
    if form.kind == "outline":
        return [*_outline(form, section, frame)]
    return [*_box(section, frame)]


# --- what is cut -----------------------------------------------------------------------------------------------------


def _cut(form: Form, section: Section, frame: Frame) -> Iterator[Item]:
    """Yield the cut faces and the edges behind them."""
    height = section.height
    for edge in section.lines if not frame.packed or height * frame.scale >= _BEHIND else ():
        yield Path(opened([frame.at(height, r, z) for r, z in edge]), EDGE)
    solid = _solid(form, section)
    rings = [[frame.at(height, r, z) for r, z in face.contour.polygon(frame.chord / frame.scale)] for face in solid]
    depths = [_depth(ring) for ring in rings]
    pitch = next(pitch for limit, pitch in _PITCHES if max(depths) < limit)
    bare = _bare(form, solid)
    for number, (face, ring, depth) in enumerate(zip(solid, rings, depths, strict=True)):
        if depth < _THIN or face.material == "rubber":
            # A rolling element or a tooth stays white between thin black metal, as long as that shows.
            light = (number == bare and depth >= _LIGHT) or (frame.packed and face.material == "metal")
            yield Path(closed(ring), EDGE if light else SLIM, WHITE if light else BLACK)
            continue
        yield Path(closed(ring), None, WHITE)
        slopes = (frame.slope, -frame.slope) if face.material == "lining" else (frame.slope,)
        for slope in slopes if number != bare else ():
            if lines := hatch([ring], pitch, slope):
                yield Path(lines, HATCH)
        yield Path(_rim(ring, frame), frame.pen)
    if form.kind in ("gear", "ring_gear"):
        yield from _tooth(form, solid, depths, frame, height)


def _rim(ring: Sequence[Point], frame: Frame) -> tuple[Command, ...]:
    """Return the outline of a cut face without what lies on the axis, where a half section has only its centre line."""
    on_axis = [abs((y - frame.y) if frame.runs == "right" else (x - frame.x)) < 1e-6 for x, y in ring]
    for number in range(len(ring)):
        if on_axis[number - 1] and on_axis[number]:
            return opened([*ring[number:], *ring[:number]])
    return closed(ring)


def _solid(form: Form, section: Section) -> Sequence[Face]:
    """Return the cut faces; the notch that tells one side of a gear is drawn as a mark, not as missing metal."""
    if form.kind not in ("gear", "ring_gear"):
        return section.faces
    boxes = [face.contour.box() for face in section.faces]
    return [Face(rectangle(box.left, box.bottom, box.right, box.top)) for box in boxes]


def _bare(form: Form, faces: Sequence[Face]) -> int | None:
    """Return which face is not hatched, a rolling element or a tooth; None where all are."""
    if form.kind in ("gear", "ring_gear"):
        return _toothed(form, faces)
    number = _ROLLING.get(form.kind)
    return None if number is None else number % len(faces)


def _toothed(form: Form, faces: Sequence[Face]) -> int:
    """Return which face is a tooth: the outermost of a gear, the innermost of a ring gear."""
    middles = [face.contour.box().left for face in faces]
    return middles.index(max(middles) if form.kind == "gear" else min(middles))


def _tooth(form: Form, faces: Sequence[Face], depths: Sequence[float], frame: Frame, height: float) -> Iterator[Item]:
    """Yield the pitch line, and the mark of the marked side where that is known."""
    pitch = mm(form.module) * int(form.teeth) / 2  # type: ignore[attr-defined]
    yield Path(opened([frame.at(height, pitch, height), frame.at(height, pitch, 0.0)]), PITCH_LINE)
    if len(faces) < 2:
        return
    body = 1 - _toothed(form, faces)
    half, deep = (size / frame.scale for size in _MARK)
    box = faces[body].contour.box()
    if frame.marked and depths[body] >= _THIN and box.width > 3 * half and height > 2 * deep:
        r = (box.left + box.right) / 2
        corners = [(r - half, height), (r + half, height), (r, height - deep)]
        yield Path(closed([frame.at(height, *corner) for corner in corners]), None, BLACK)


def _depth(ring: Sequence[Point]) -> float:
    """Return how thick a face is on average: twice its area over its girth."""
    pairs = [*zip(ring, [*ring[1:], ring[0]], strict=True)]
    area = abs(sum(x1 * y2 - x2 * y1 for (x1, y1), (x2, y2) in pairs)) / 2
    return 2 * area / sum(math.dist(a, b) for a, b in pairs)


# --- what is seen from outside ---------------------------------------------------------------------------------------


def _outside(form: Form, section: Section, frame: Frame) -> Iterator[Item]:
    """Yield the view from outside on the far side of the axis."""
    height = section.height
    if isinstance(form, Carrier):
        yield from _planets(form, section, frame)
        return
    outline = silhouette(form)
    ends = [(0.0, outline[-1][0]), (0.0, outline[0][0])]
    edge = [(-r, z) for z, r in outline]
    pen = frame.pen if height * frame.scale >= _SLIM else SLIM
    yield Path(closed([frame.at(height, r, z) for r, z in [*edge, *ends]]), None, WHITE)
    yield Path(opened([frame.at(height, r, z) for r, z in [ends[1], *edge, ends[0]]]), pen)
    for z, r in turns(outline):
        yield Path(opened([frame.at(height, 0.0, z), frame.at(height, -r, z)]), EDGE)
    if form.kind == "gear":
        yield from _teeth(int(form.teeth), outline, frame, height)  # type: ignore[attr-defined]
    if isinstance(form, SnapRing):
        yield from _gap(form, section, frame)


def _teeth(count: int, outline: tuple[Point, ...], frame: Frame, height: float) -> Iterator[Item]:
    """Yield the edges of teeth as they are seen from the side."""
    tip = max(r for _, r in outline)
    before = math.inf
    for k in range(1, count // 2):
        r = tip * math.cos(k * math.tau / count)
        if r <= 0:
            return
        if (before - r) * frame.scale >= _CLOSE:
            yield Path(opened([frame.at(height, -r, 0.0), frame.at(height, -r, height)]), HATCH)
            before = r


def _gap(form: SnapRing, section: Section, frame: Frame) -> Iterator[Item]:
    """Yield the gap of a retaining ring, turned half way towards the reader; its width is that of the plan."""
    height, reach = section.height, section.reach
    contour = forms.plan(form).outer
    across = min((x for x, y, _ in contour.vertices if y > 0 and x > 0), default=0.0)
    middle, half = reach * math.sqrt(0.5), max(across, 0.5 / frame.scale) * math.sqrt(0.5)
    low, high = max(middle - half, 0.0), min(middle + half, reach)
    sides = [opened([frame.at(height, -r, 0.0), frame.at(height, -r, height)]) for r in (low, high)]
    corners = [(-low, 0.0), (-high, 0.0), (-high, height), (-low, height)]
    yield Path(closed([frame.at(height, r, z) for r, z in corners]), Pen(frame.pen.width * 1.2, WHITE), WHITE)
    yield from (Path(side, EDGE) for side in sides)


def _planets(form: Carrier, section: Section, frame: Frame) -> Iterator[Item]:
    """Yield a carrier's plate and those of its planets that are seen, the first planet on the side that is cut."""
    height, plate = section.height, section.faces[0].contour.box()
    pin = section.faces[1].contour.box()
    gears = [face.contour.box() for face in section.faces[2:]] or [pin]
    low, high, half = min(box.bottom for box in gears), max(box.top for box in gears), mm(form.planet_od) / 2
    # From the farthest from the reader to the nearest, who stands at 3 o'clock.
    for angle in sorted((math.tau * k / form.planets for k in range(form.planets)), key=math.sin):
        middle = stand(form) * math.cos(angle)
        for bottom, top, wide in ((plate.top, pin.top, pin.width / 2), (low, high, half)):
            left, right = middle - wide, min(middle + wide, 0.0)
            if left < right - 1e-6:
                yield from _below_axis(frame, height, (left, right, bottom, top))
    yield from _below_axis(frame, height, (-plate.right, 0.0, plate.bottom, plate.top))


def _below_axis(frame: Frame, height: float, sides: tuple[float, float, float, float]) -> Iterator[Item]:
    """Yield a rectangle seen from outside, open where it meets the axis; sides: two radii, two heights."""
    left, right, bottom, top = sides
    corners = [frame.at(height, r, z) for r, z in ((right, bottom), (left, bottom), (left, top), (right, top))]
    yield Path(closed(corners), None, WHITE)
    yield Path(opened(corners) if right > -1e-6 else closed(corners), frame.pen)


def _whole(form: Form, frame: Frame) -> Iterator[Item]:
    """Yield the view of a part that is not cut, on both sides of its axis; of a long one the ends alone."""
    outline = silhouette(form)
    height = outline[0][0]
    for piece in _pieces(outline, frame.cut):
        both = [*((r, z) for z, r in piece), *((-r, z) for z, r in reversed(piece))]
        yield Path(closed([frame.at(height, r, z) for r, z in both]), frame.pen, WHITE)
        for z, r in turns(piece):
            yield Path(opened([frame.at(height, r, z), frame.at(height, -r, z)]), EDGE)
    yield from _torn(outline, frame, height)
    for r, low, high in [*_roots(form, frame), *_flats(form, outline)]:
        for side in (r, -r):
            yield Path(opened([frame.at(height, side, low), frame.at(height, side, high)]), HATCH)


def _pieces(outline: tuple[Point, ...], cut: tuple[float, float]) -> list[tuple[Point, ...]]:
    low, high = cut
    if high <= low:
        return [outline]
    r = next(r for z, r in reversed(outline) if z >= high)
    upper, lower = [p for p in outline if p[0] > high], [p for p in outline if p[0] < low]
    return [(*upper, (high, r)), ((low, r), *lower)]


def _torn(outline: tuple[Point, ...], frame: Frame, height: float) -> Iterator[Item]:
    """Yield the two broken ends of a part that is too long to be drawn whole, a zigzag over each straight edge."""
    low, high = frame.cut
    if high <= low:
        return
    r = next(r for z, r in reversed(outline) if z >= high)
    tooth = min(0.6 / frame.scale, r / 2)
    for z in (low, high):
        ends = [
            (r + tooth, z),
            (tooth, z),
            (tooth / 2, z + tooth),
            (-tooth / 2, z - tooth),
            (-tooth, z),
            (-r - tooth, z),
        ]
        yield Path(opened([frame.at(height, a, b) for a, b in ends]), EDGE)


def _roots(form: Form, frame: Frame) -> Iterator[tuple[float, float, float]]:
    """Yield radius and ends of the thin lines at the root of threads and splines."""
    if form.kind == "shaft":
        for face in forms.section(form).faces[1:]:
            box = face.contour.box()
            yield box.left, box.bottom, box.top
    if form.kind in ("bolt", "plug"):
        d, length = mm(form.d), mm(form.l)  # type: ignore[attr-defined]
        head = form.head if form.kind == "bolt" else "plug"  # type: ignore[attr-defined]
        run = length if head == "plug" else standards.thread_length(head, d, length)
        least, share = _ROOT
        depth = min(max(share * d / 2, least / frame.scale), d / 4)
        yield d / 2 - depth, 0.0, min(run, _shank(form))


def _shank(form: Form) -> float:
    """Return how long a screw is below its head: up to where its outline first widens, from its end."""
    outline = silhouette(form)
    d = mm(form.d) / 2  # type: ignore[attr-defined]
    return max((z for z, r in outline if r <= d + 1e-6), default=0.0)


def _flats(form: Form, outline: tuple[Point, ...]) -> Iterator[tuple[float, float, float]]:
    """Yield radius and ends of the edges of a hexagon, seen over its corners."""
    hexagonal = form.kind == "nut" or (form.kind == "bolt" and form.head in ("hex", "flange"))  # type: ignore[attr-defined]
    if not hexagonal:
        return
    (top, corner), *rest = outline
    low = next((z for z, r in reversed(rest) if abs(r - corner) < 1e-6), top)
    if low < top and corner > mm(form.d) / 2 + 1e-6:  # type: ignore[attr-defined]
        yield corner / 2, low, top


def _outline(form: Form, section: Section, frame: Frame) -> Iterator[Item]:
    """Yield a part of free outline: cut above its middle, from outside below it, with its corners."""
    height = section.height
    upper = []
    for face in section.faces:
        box = face.contour.box()
        if box.right > 0:
            upper.append(Face(rectangle(max(box.left, 0.0), box.bottom, box.right, box.top), face.material))
    outer = forms.plan(form).outer
    left = outer.box().left
    corners = [(0.0, 0.0), (left, 0.0), (left, height), (0.0, height)]
    pen = frame.pen if height * frame.scale >= _SLIM else SLIM
    if frame.half != "cut":
        yield Path(opened([frame.at(height, r, z) for r, z in corners]), pen, WHITE)
        for x in sorted({x for x, _, _ in outer.vertices if left + 1e-6 < x < -1e-6}):
            yield Path(opened([frame.at(height, x, 0.0), frame.at(height, x, height)]), EDGE)
    if frame.half == "outside":
        return
    lines = tuple(((0.0, z), (outer.box().right, z)) for z in (0.0, height))
    yield from _cut(form, Section(tuple(upper), lines, round=False, axial=False), frame)


def _box(section: Section, frame: Frame) -> Iterator[Item]:
    """Yield something box-shaped from outside."""
    for face in section.faces:
        points = [frame.at(section.height, r, z) for r, z in face.contour.polygon(frame.chord / frame.scale)]
        yield Path(closed(points), frame.pen, WHITE)
