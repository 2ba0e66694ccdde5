"""One part on its axis as it is seen from outside: its far half, or all of it where it is not cut lengthwise."""

from __future__ import annotations

import math
from collections.abc import Iterator
from typing import Final

from labelkit import forms
from labelkit.drawing.page import WHITE, Item, Path, Pen, closed, opened
from labelkit.forms import standards
from labelkit.forms.geometry import Point
from labelkit.forms.shapes import Section, mm
from labelkit.model.form import Carrier, Gear, Shaft
from labelkit.model.formbase import Form
from labelkit.model.hardwareform import Bolt, Nut, Screw
from labelkit.model.ringform import SnapRing
from labelkit.sheets.axialframe import EDGE, HATCH, Frame
from labelkit.sheets.silhouette import silhouette, stand, turns

# Lines that tell teeth are not drawn closer than this on paper, mm.
_CLOSE: Final = 0.55
# A thread's root is this far inside its crest on paper at least, mm, and this part of the radius.
_ROOT: Final = (0.45, 0.15)


def outside(form: Form, section: Section, frame: Frame) -> Iterator[Item]:
    """Yield the view from outside on the far side of the axis."""
    height = section.height
    if isinstance(form, Carrier):
        yield from _planets(form, section, frame)
        return
    outline = silhouette(form)
    ends = [(0.0, outline[-1][0]), (0.0, outline[0][0])]
    edge = [(-r, z) for z, r in outline]
    yield Path(closed([frame.at(height, r, z) for r, z in [*edge, *ends]]), None, WHITE)
    yield Path(opened([frame.at(height, r, z) for r, z in [ends[1], *edge, ends[0]]]), frame.around(height))
    for z, r in turns(outline):
        yield Path(opened([frame.at(height, 0.0, z), frame.at(height, -r, z)]), EDGE)
    if isinstance(form, Gear):
        yield from _teeth(form.teeth, outline, frame, height)
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


def whole(form: Form, frame: Frame) -> Iterator[Item]:
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
    if isinstance(form, Shaft):
        for face in forms.section(form).faces[1:]:
            box = face.contour.box()
            yield box.left, box.bottom, box.top
    if isinstance(form, Screw):
        d, length = mm(form.d), mm(form.l)
        run = standards.thread_length(form.head, d, length) if isinstance(form, Bolt) else length
        least, share = _ROOT
        depth = min(max(share * d / 2, least / frame.scale), d / 4)
        yield d / 2 - depth, 0.0, min(run, _shank(form))


def _shank(form: Screw) -> float:
    """Return how long a screw is below its head: up to where its outline first widens, from its end."""
    outline = silhouette(form)
    d = mm(form.d) / 2
    return max((z for z, r in outline if r <= d + 1e-6), default=0.0)


def _flats(form: Form, outline: tuple[Point, ...]) -> Iterator[tuple[float, float, float]]:
    """Yield radius and ends of the edges of a hexagon, seen over its corners."""
    if not isinstance(form, Nut) and not (isinstance(form, Bolt) and form.head in ("hex", "flange")):
        return
    (top, corner), *rest = outline
    low = next((z for z, r in reversed(rest) if abs(r - corner) < 1e-6), top)
    if low < top and corner > mm(form.d) / 2 + 1e-6:
        yield corner / 2, low, top
