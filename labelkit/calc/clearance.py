"""Distances between closed polygons, which need not be convex: tens of gears of thousands of corners in milliseconds.

Boxes are compared first, then the edges whose boxes are near; points are complex numbers, x + iy, in mm. A polygon is
solid: one inside another overlaps it. For the check of trays, which shares no code with their packing.
"""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from typing import Final

import numpy as np
from numpy.typing import NDArray

Point = tuple[float, float]
Rect = tuple[float, float, float, float]
Floats = NDArray[np.float64]
Points = NDArray[np.complex128]
_Edges = tuple[Points, Points]  # starts and runs

# Things placed exactly at the demand must pass. Coordinates are sums and turns of sizes up to 1,000 mm in doubles,
# wrong by some 1e-12 mm; this is far above that, and far below the 0.01 mm that a plotter can draw.
SLACK: Final = 1e-6

# A kilometre: no tray is as large, and its square is no trouble to a double.
FARTHEST: Final = 1e6

# Pairs of edges looked at in one go: some ten arrays of this many numbers.
_AT_ONCE: Final = 200_000

# The distance of polygons that share area.
OVERLAP: Final = -math.inf


@dataclass(frozen=True, slots=True, eq=False)
class Ring:
    """A closed line.

    Attributes:
        name: what it is, for people.
        corners: x + iy.
        runs: from each corner to the next.
        box: left, top, right, bottom.
    """

    name: str
    corners: Points
    runs: Points
    box: Rect


def closed(name: str, polygon: Sequence[Point]) -> Ring | str:
    """Return a polygon's line, or the end of a sentence that says why it is none."""
    points = np.array(polygon, dtype=np.float64).reshape(-1, 2)
    if len(points) < 3:
        return f"has {len(points)} points, at least 3 are demanded"
    if not (np.abs(points) < FARTHEST).all():
        return "has a point that is nowhere in a tray: not a number, or a kilometre away"
    ring = line_through(name, points)
    area = abs(float(_cross(ring.corners - ring.corners[0], ring.runs).sum())) / 2
    return ring if area > SLACK * np.abs(ring.runs).sum() else "has no area"


def line_through(name: str, points: Floats) -> Ring:
    """Return the closed line from point to point, rows of x and y; two points make a straight line and back."""
    x, y = points.T
    corners = x + 1j * y
    box = float(x.min()), float(y.min()), float(x.max()), float(y.max())
    return Ring(name, corners, np.append(corners[1:], corners[0]) - corners, box)


def near_boxes(boxes: Sequence[Rect], demand: float) -> Iterator[tuple[int, int]]:
    """Yield the pairs of boxes that are nearer than the demand on both axes; where they overlap that is below 0."""
    rows = np.array(boxes).reshape(-1, 4)
    for i, box in enumerate(rows):
        later = rows[i + 1 :]
        between = np.maximum(later[:, :2] - box[2:], box[:2] - later[:, 2:])
        yield from ((i, i + 1 + int(k)) for k in np.flatnonzero((between < demand - SLACK).all(axis=1)))


def clear(one: Ring, other: Ring, demand: float) -> float:
    """Return the distance of two polygons, infinite when not below the demand, `OVERLAP` when they share area."""
    apart = _boxes_apart(one.box, other.box)
    if apart >= demand:
        return math.inf
    top, bottom = max(one.box[1], other.box[1]), min(one.box[3], other.box[3])
    # One level tells of most things that overlap, and of all that are one inside the other.
    if apart < -SLACK and _share_area(one, other, _levels(top, bottom, one.corners, other.corners)[:1]):
        return OVERLAP
    found = between(one, other, demand)
    if found > SLACK:
        return found
    levels = _levels(top, bottom, one.corners, other.corners, _all_crossings(one, other))
    return OVERLAP if _share_area(one, other, levels) else found


def _boxes_apart(one: Rect, other: Rect) -> float:
    """Return how far two boxes are apart on the axis where they are farther; below 0 where they overlap."""
    return max(other[0] - one[2], one[0] - other[2], other[1] - one[3], one[1] - other[3])


def between(one: Ring, other: Ring, within: float) -> float:
    """Return the distance of two lines, 0 where they cross, infinite when above `within` and the slack."""
    found, reach = math.inf, max(within, 2 * SLACK)
    for some, others in _edges_to_compare(one, other, reach):
        if len(_crossings(some, others)):
            return 0.0
        found = min(found, _to_edges(some[0], *others), _to_edges(others[0], *some))
    return found if found <= reach else math.inf


def _edges_to_compare(one: Ring, other: Ring, reach: float) -> Iterator[tuple[_Edges, _Edges]]:
    """Yield all pairs of edges that can be within reach of each other, as blocks of some against others."""
    if _boxes_apart(one.box, other.box) > reach:
        return
    starts, runs = _edges_near(one, other.box, reach)
    others = _edges_near(other, one.box, reach)
    count = len(others[0])
    rows = _AT_ONCE // count + 1 if count else 1
    for first in range(0, len(starts) if count else 0, rows):
        yield (starts[first : first + rows], runs[first : first + rows]), others


def _edges_near(ring: Ring, box: Rect, reach: float) -> _Edges:
    """Return the edges whose own boxes are near a box."""
    x, y = ring.corners.real, ring.corners.imag
    end_x, end_y = x + ring.runs.real, y + ring.runs.imag
    near = (np.minimum(x, end_x) <= box[2] + reach) & (np.maximum(x, end_x) >= box[0] - reach)
    near &= (np.minimum(y, end_y) <= box[3] + reach) & (np.maximum(y, end_y) >= box[1] - reach)
    return ring.corners[near], ring.runs[near]


def _to_edges(points: Points, starts: Points, runs: Points) -> float:
    """Return the least distance of any point to any edge."""
    way = points[:, None] - starts
    square = np.abs(runs) ** 2
    along = np.clip((way * runs.conj()).real / np.where(square > 0, square, 1), 0, 1)
    return float(np.abs(way - along * runs).min())


def _crossings(some: _Edges, others: _Edges) -> Points:
    """Return where some edges cross others; a touch at an end is no crossing."""
    (starts, runs), (their_starts, their_runs) = some, others
    way = their_starts - starts[:, None]
    turn = _cross(runs[:, None], their_runs)
    # How far the start of each edge is off the line of the other, times a length; its end is off by `turn` more.
    off, their_off = _cross(their_runs, way), _cross(runs[:, None], way)
    i, j = np.nonzero((off * (off + turn) < 0) & (their_off * (their_off + turn) < 0))
    where: Points = starts[i] - runs[i] * off[i, j] / turn[i, j]
    return where


def _cross(one: Points, other: Points) -> Floats:
    product: Floats = (one.conj() * other).imag
    return product


def _inside(point: np.complex128, ring: Ring) -> bool:
    """Say whether a point is inside a polygon; on its line either may come out."""
    left, top, right, bottom = ring.box
    if not (left <= point.real <= right and top <= point.imag <= bottom):
        return False
    return bool((_stretches(ring, float(point.imag)) > point.real).sum() % 2)


def within(one: Ring, other: Ring) -> bool:
    """Say whether one polygon lies wholly inside another; their lines may touch."""
    if between(one, other, SLACK) > SLACK:
        return _inside(one.corners[0], other)
    for y in _levels(one.box[1], one.box[3], one.corners, other.corners, _all_crossings(one, other)):
        starts, ends = _stretches(other, y).T
        for start, end in _stretches(one, y):
            if not ((starts <= start + SLACK) & (ends >= end - SLACK)).any():
                return False
    return True


def _share_area(one: Ring, other: Ring, levels: Sequence[float]) -> bool:
    """Say whether two polygons have a stretch of any of these level lines in common."""
    for y in levels:
        mine, its = _stretches(one, y)[:, None], _stretches(other, y)
        if (np.minimum(mine[..., 1], its[:, 1]) - np.maximum(mine[..., 0], its[:, 0]) > SLACK).any():
            return True
    return False


def _all_crossings(one: Ring, other: Ring) -> Points:
    return np.concatenate([one.corners[:0], *(_crossings(*block) for block in _edges_to_compare(one, other, SLACK))])


def _levels(top: float, bottom: float, *points: Points) -> list[float]:
    """Return the middle of every slab between the heights of these points in a range, of the thickest slab first.

    Between the corners of polygons and the places where they cross, all lines run straight and apart: each polygon is
    a row of trapezoids there, and what is true of their middles is true of them. Slabs thinner than the slack are
    left out.
    """
    heights = np.sort(np.clip(np.concatenate(points).imag, top, bottom))
    slabs = np.diff(heights)
    return [float(heights[i] + slabs[i] / 2) for i in np.argsort(-slabs, kind="stable") if slabs[i] > SLACK]


def _stretches(ring: Ring, y: float) -> Floats:
    """Return from where to where a level line runs inside a polygon, as rows."""
    height = ring.corners.imag
    over = np.flatnonzero((height > y) != (np.roll(height, -1) > y))
    starts, runs = ring.corners[over], ring.runs[over]
    return np.sort(starts.real + runs.real * (y - starts.imag) / runs.imag).reshape(-1, 2)


def meet(line: Ring, ring: Ring) -> bool:
    """Say whether a straight line touches a polygon or lies inside it."""
    if _boxes_apart(line.box, ring.box) > SLACK:
        return False
    return _inside(line.corners[0], ring) or between(line, ring, SLACK) <= SLACK
