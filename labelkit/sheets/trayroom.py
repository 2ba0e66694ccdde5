"""Where on a tray's place words may stand: beside the things in their cell, in a bore, or on a broad face."""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from itertools import pairwise
from typing import Final

from labelkit.calc.footprint import Footprint, box_of, encloses, enters, outline
from labelkit.calc.trays import Place
from labelkit.drawing.page import Box
from labelkit.forms.geometry import Contour, Point

Room = tuple[Box, bool]
"""A free box, and whether it lies on the part itself."""

# Words keep this far from outlines, flags and the edge of their cell, mm.
_CLEAR: Final = 1.4
_SMALLEST: Final = 3.0
_INSIDE: Final = 1.01 * _CLEAR  # so that what lies inside an outline is clear of it
_CORNERS: Final = 60  # more corners than this are those of a curve
_PIECES: Final = 3  # more pieces than this leave no room between them
# Half a width and half a height that a disc of radius 1 has room for.
_DISC: Final = ((0.84, 0.54), (0.7, 0.7), (0.54, 0.84))


def rooms(place: Place, tick: list[Point] | None = None) -> tuple[list[Room], list[Room]]:
    """Return free boxes for words, the best first, and whether each lies on the part itself.

    Those that no line inside the part crosses, and those across such lines: words there hide pieces of them.

    Args:
        place: where the things lie.
        tick: the wedge at their clock position.
    """
    clear: list[Room] = [(box, False) for box in sorted(_beside(place), key=_worth)[:3]]
    across: list[Room] = []
    plan = place.thing.plan if place.thing.lay != "cup" else None
    marks = [mark_points(mark, place.turned, place.at[0]) for mark in plan.marks] if plan else []
    for box in _on_the_part(place, tick):
        edges = box.x, box.y, box.right, box.bottom
        (across if any(enters(mark, edges) for mark in marks) else clear).append((box, True))
    return clear, across


def mark_points(mark: Contour | tuple[Point, ...], turned: float, at: Point) -> Sequence[Point]:
    """Return the corners of an edge or opening of a part that lies turned at a place."""
    if isinstance(mark, Contour):
        return outline(mark, turned, *at)
    c, s = math.cos(math.radians(turned)), math.sin(math.radians(turned))
    return [(at[0] + px * c - py * s, at[1] - px * s - py * c) for px, py in mark]


def _beside(place: Place) -> Iterator[Box]:
    """Yield the empty boxes of the cell."""
    cell = Box(*place.cell).inset(_CLEAR)
    boxes = [_grown(box_of(list(points))) for points in place.outlines]
    if len(boxes) > _PIECES:
        boxes = [
            (min(b[0] for b in boxes), min(b[1] for b in boxes), max(b[2] for b in boxes), max(b[3] for b in boxes))
        ]
    x, y, width, height = place.flag
    taken = [*boxes, _grown((x, y, x + width, y + height))]
    xs = sorted({cell.x, cell.right, *(edge for box in taken for edge in (box[0], box[2]))})
    ys = sorted({cell.y, cell.bottom, *(edge for box in taken for edge in (box[1], box[3]))})
    for left, right in _spans(xs, cell.x, cell.right):
        for top, bottom in _spans(ys, cell.y, cell.bottom):
            if not any(b[0] < right and b[2] > left and b[1] < bottom and b[3] > top for b in taken):
                yield Box(left, top, right - left, bottom - top)


def _spans(edges: Sequence[float], low: float, high: float) -> Iterator[tuple[float, float]]:
    inside = [edge for edge in edges if low <= edge <= high]
    for number, start in enumerate(inside):
        for end in inside[number + 1 :]:
            if end - start >= _SMALLEST:
                yield start, end


def _grown(box: tuple[float, float, float, float]) -> tuple[float, float, float, float]:
    return box[0] - _CLEAR, box[1] - _CLEAR, box[2] + _CLEAR, box[3] + _CLEAR


def _on_the_part(place: Place, tick: list[Point] | None) -> Iterator[Box]:
    """Yield boxes that lie wholly on the face of the part, or wholly in its bore, and free of flag and tick."""
    if len(place.at) > 1 or (place.bin.part.form is None and place.thing.lay != "cup"):
        return
    taken = [Box(*place.flag)]
    if tick:
        left, top, right, bottom = _grown(box_of(tick))
        taken.append(Box(left, top, right - left, bottom - top))
    outer, *others = place.outlines
    rings = [outer, *others, *place.holes]
    for box in _candidates(place):
        if box.width < _SMALLEST or box.height < _SMALLEST or any(map(box.overlaps, taken)):
            continue
        if any(enters(ring, _grown((box.x, box.y, box.right, box.bottom))) for ring in rings):
            continue
        if encloses(outer, (box.x + box.width / 2, box.y + box.height / 2)):
            yield box


def _candidates(place: Place) -> Iterator[Box]:
    x, y = place.at[0]
    thing = place.thing
    if thing.round:
        below = place.flag[1] + place.flag[3] - y
        inside = abs(place.flag[0] + place.flag[2] / 2 - x) < 1 and below < thing.bore
        if inside:
            yield from _in_a_ring(x, y, below, thing.bore)
        circles = [thing.bore, *_circles(thing), thing.round]
        for inner, outer in ((0.0, thing.round), (thing.bore, thing.round), (0.0, thing.bore), *pairwise(circles)):
            yield from _in_a_ring(x, y, inner, outer)
        return
    left, top, right, bottom = box_of(list(place.outlines[0]))
    for share in (0.92, 0.75, 0.6, 0.45, 0.3):
        width, height = (right - left) * share, (bottom - top) * share
        yield Box((left + right - width) / 2, (top + bottom - height) / 2, width, height)
    for y in (top, (top + bottom) / 2):
        yield Box(left + (right - left) * 0.08, y + (bottom - top) * 0.04, (right - left) * 0.84, (bottom - top) * 0.42)
    strip = (bottom - top) * 0.14
    for y in (top + strip * 0.8, bottom - strip * 1.8):
        yield Box(left + (right - left) * 0.25, y, (right - left) * 0.5, strip)
    # On the bodies of a stepped shaft, whichever way it lies.
    bodies = list(_bodies(place.outlines[0])) + [
        _turned(box) for box in _bodies([(y, x) for x, y in place.outlines[0]])
    ]
    x, y, width, height = place.flag
    yield from sorted(
        (box.inset(_INSIDE) for box in bodies),
        key=lambda box: (
            _worth(box),
            math.dist((x + width / 2, y + height / 2), (box.x + box.width / 2, box.y + box.height / 2)),
        ),
    )


def _circles(thing: Footprint) -> list[float]:
    """Return the radii of the circles on the face of a round thing, rising."""
    boxes = [mark.box() for mark in (thing.plan.marks if thing.plan else ()) if isinstance(mark, Contour)]
    around = {round(box.width / 2, 2) for box in boxes if abs(box.left + box.right) + abs(box.bottom + box.top) < 0.1}
    return sorted(each for each in around if thing.bore < each < thing.round)


def _bodies(points: Sequence[Point]) -> Iterator[Box]:
    """Yield the boxes about the middle line that lie in a polygon, between two of its corners each."""
    if len(points) > _CORNERS:
        return
    middle = (min(y for _, y in points) + max(y for _, y in points)) / 2
    corners = sorted({x for x, _ in points})
    for number, left in enumerate(corners):
        for right in corners[number + 1 :]:
            ys = [y for start, end in pairwise((*points, points[0])) for y in _within(start, end, left, right)]
            above, below = [y for y in ys if y < middle], [y for y in ys if y >= middle]
            if above and below and right - left > 2 * _INSIDE and min(below) - max(above) > 2 * _INSIDE:
                yield Box(left, max(above), right - left, min(below) - max(above))


def _within(start: Point, end: Point, left: float, right: float) -> Iterator[float]:
    """Yield the heights between which an edge runs inside a strip."""
    (x1, y1), (x2, y2) = sorted((start, end))
    low, high = max(x1, left), min(x2, right)
    if x2 > x1 and high > low:
        yield from (y1 + (y2 - y1) * (x - x1) / (x2 - x1) for x in (low, high))


def _turned(box: Box) -> Box:
    return Box(box.y, box.x, box.height, box.width)


def _worth(box: Box) -> float:
    """Return what a room is worth, the best first: more than a name needs is worth nothing."""
    return -min(box.width, 60.0) * min(box.height, 30.0)


def _in_a_ring(x: float, y: float, inner: float, outer: float) -> Iterator[Box]:
    """Yield boxes between two radii: about the middle, or below and above the inner one."""
    outer -= 2 * _CLEAR
    if inner == 0:
        for across, down in _DISC:
            yield Box(x - across * outer, y - down * outer, 2 * across * outer, 2 * down * outer)
        return
    top = inner + 1.5 * _CLEAR
    for share in (0.45, 0.7, 0.3, 0.85):
        bottom = top + (outer - top) * share
        if top < bottom < outer:
            half = math.sqrt(outer**2 - bottom**2)
            yield Box(x - half, y + top, 2 * half, bottom - top)
            yield Box(x - half, y - bottom, 2 * half, bottom - top)
