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
from dataclasses import replace
from typing import Final

from labelkit import forms
from labelkit.drawing.hatch import hatch
from labelkit.drawing.page import BLACK, WHITE, Command, Item, Path, Pen, closed, opened
from labelkit.forms.geometry import Point, rectangle
from labelkit.forms.shapes import Face, Section, mm
from labelkit.model.form import Outline, Toothed
from labelkit.model.formbase import Form
from labelkit.sheets.axialframe import EDGE, HATCH, SLIM, Frame
from labelkit.sheets.axialoutside import outside, whole

PITCH_LINE: Final = Pen(0.13, dash=(3.0, 0.7, 0.7, 0.7))
# Faces that are not hatched.
_BARE: Final = ("rolling", "tooth", "pin")
# A cut thinner than this on paper is black: no hatching would show in it.
_THIN: Final = 0.8
_LIGHT: Final = 0.35
# Among its neighbours a part that is shorter than this on paper shows no edge behind its cut, mm.
_BEHIND: Final = 3.0
# Distance of hatching lines by how thick the cut is on paper, both mm; larger areas are hatched wider.
_PITCHES: Final = ((3.0, 1.0), (8.0, 1.4), (math.inf, 2.0))
# The mark on one side of a gear: half its breadth and its depth, mm.
_MARK: Final = (0.8, 1.1)


def axial_view(form: Form, frame: Frame) -> list[Item]:
    """Return a part on its axis."""
    section = forms.section(form)
    if section.round:
        if form.uncut:
            return [*whole(form, frame)]
        far = outside(form, section, frame) if frame.half != "cut" else ()
        return [*far, *(_cut(form, section, frame) if frame.half != "outside" else ())]
    if section.axial:
        return [*_cut(form, section, frame)]
    if isinstance(form, Outline):
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
    for face, ring, depth in zip(solid, rings, depths, strict=True):
        if depth < _THIN or face.material == "rubber":
            # A rolling element or a tooth stays white between thin black metal, as long as that shows.
            light = (face.role in _BARE and depth >= _LIGHT) or (frame.packed and face.material == "metal")
            yield Path(closed(ring), EDGE if light else SLIM, WHITE if light else BLACK)
            continue
        yield Path(closed(ring), None, WHITE)
        slopes = (frame.slope, -frame.slope) if face.material == "lining" else (frame.slope,)
        for slope in slopes if face.role not in _BARE else ():
            if lines := hatch([ring], pitch, slope, frame.seen):
                yield Path(lines, HATCH)
        yield Path(_rim(ring, frame), frame.pen)
    if isinstance(form, Toothed):
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
    if not isinstance(form, Toothed):
        return section.faces
    boxes = [face.contour.box() for face in section.faces]
    squared = [rectangle(box.left, box.bottom, box.right, box.top) for box in boxes]
    return [replace(face, contour=contour) for face, contour in zip(section.faces, squared, strict=True)]


def _tooth(
    form: Toothed, faces: Sequence[Face], depths: Sequence[float], frame: Frame, height: float
) -> Iterator[Item]:
    """Yield the pitch line, and the mark of the marked side where that is known."""
    pitch = mm(form.module) * form.teeth / 2
    yield Path(opened([frame.at(height, pitch, height), frame.at(height, pitch, 0.0)]), PITCH_LINE)
    body = [face.role for face in faces].index("body")
    half, deep = (size / frame.scale for size in _MARK)
    box = faces[body].contour.box()
    if frame.marked and depths[body] >= _THIN and box.width > 3 * half and height > 2 * deep:
        r = (box.left + box.right) / 2
        corners = [(r - half, height), (r + half, height), (r, height - deep)]
        yield Path(closed([frame.at(height, *corner) for corner in corners]), None, BLACK)


def _depth(ring: Sequence[Point]) -> float:
    """Return how thick a face is on average: twice its area over its girth."""
    pairs = [*zip(ring, [*ring[1:], ring[0]], strict=True)]
    area = abs(math.fsum(x1 * y2 - x2 * y1 for (x1, y1), (x2, y2) in pairs)) / 2
    return 2 * area / math.fsum(math.dist(a, b) for a, b in pairs)


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
    if frame.half != "cut":
        yield Path(opened([frame.at(height, r, z) for r, z in corners]), frame.around(height), WHITE)
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
