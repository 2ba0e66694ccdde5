"""Where on a tray's place words may stand: beside the things in their cell, in a bore, or on a broad face."""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from typing import Final

from labelkit.calc.footprint import box_of, encloses, enters
from labelkit.calc.trays import Place
from labelkit.drawing.page import Box
from labelkit.forms.geometry import Point

# Words keep this far from outlines, flags and the edge of their cell, mm.
_CLEAR: Final = 1.4
_SMALLEST: Final = 3.0
_PIECES: Final = 3  # more pieces than this leave no room between them


def rooms(place: Place, tick: list[Point] | None = None) -> list[tuple[Box, bool]]:
    """Return free boxes for words, the best first, and whether each lies on the part itself.

    Args:
        place: where the things lie.
        tick: the wedge at their clock position.
    """
    beside = sorted(_beside(place), key=lambda box: -min(box.width, 60.0) * min(box.height, 30.0))
    return [(box, False) for box in beside[:3]] + [(box, True) for box in _on_the_part(place, tick)]


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
        for inner, outer in ((0.0, thing.round), (thing.bore, thing.round), (0.0, thing.bore)):
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


def _in_a_ring(x: float, y: float, inner: float, outer: float) -> Iterator[Box]:
    """Yield boxes between two radii: about the middle, or below the inner one."""
    outer -= 2 * _CLEAR
    if inner == 0:
        yield Box(x - 0.84 * outer, y - 0.54 * outer, 1.68 * outer, 1.08 * outer)
        return
    top = inner + 1.5 * _CLEAR
    for share in (0.45, 0.7):
        bottom = top + (outer - top) * share
        if top < bottom < outer:
            half = math.sqrt(outer**2 - bottom**2)
            yield Box(x - half, y + top, 2 * half, bottom - top)
