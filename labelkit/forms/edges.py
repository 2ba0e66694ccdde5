"""Edges of cut faces as they are seen from one side, and where those of two parts face each other.

Coordinates are those of a section, mm: the place along the edge first, then the height towards the eye. Seen along the
axis these are r and z, seen from the side z and r.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from itertools import pairwise
from typing import Final

from labelkit.forms.geometry import Point

# From one place to a larger one: place, height, place, height.
Edge = tuple[float, float, float, float]
# A stretch from one place to a larger one, and the heights of two edges at both of its ends.
Stretch = tuple[float, float, tuple[float, float], tuple[float, float]]

# Places nearer to each other than this are one, mm.
_ONE: Final = 1e-9


def outermost(rings: Iterable[Sequence[Point]], *, top: bool) -> list[Edge]:
    """Return what is seen of closed polygons right of 0: straight pieces by ascending place, none where nothing is.

    Args:
        rings: their corners.
        top: seen from above, where heights are greatest; else from below.

    >>> outermost([[(-2, 0), (4, 0), (4, 3), (-2, 3)], [(1, 2), (2, 2), (2, 5), (1, 5)]], top=True)
    [(0.0, 3.0, 1, 3.0), (1, 5.0, 2, 5.0), (2, 3.0, 4, 3.0)]
    """
    edges = [edge for ring in rings for one in pairwise([*ring, ring[0]]) if (edge := _right(*sorted(one)))]
    places = sorted({place for edge in edges for place in (edge[0], edge[2])})
    number = {place: n for n, place in enumerate(places)}
    # Between two places no edge begins or ends: of those that run through there the one seen first.
    found: list[tuple[float, Edge] | None] = [None] * len(places)
    for edge in edges:
        for n in range(number[edge[0]], number[edge[2]]):
            height = _height(edge, (places[n] + places[n + 1]) / 2)
            best = found[n]
            if best is None or (height > best[0] if top else height < best[0]):
                found[n] = height, edge
    return [
        (left, _height(seen[1], left), right, _height(seen[1], right))
        for (left, right), seen in zip(pairwise(places), found, strict=False)
        if seen and right - left > _ONE
    ]


def _right(one: Point, other: Point) -> Edge | None:
    """Return what of an edge lies right of 0; None of one that is upright."""
    if other[0] <= _ONE or other[0] - one[0] <= _ONE:
        return None
    edge = (*one, *other)
    return edge if one[0] >= 0 else (0.0, _height(edge, 0.0), *other)


def _height(edge: Edge, place: float) -> float:
    """Return the height of an edge, or of its continuation."""
    x1, y1, x2, y2 = edge
    return y1 + (place - x1) * ((y2 - y1) / (x2 - x1))


def crossings(ring: Sequence[Point], height: float) -> Iterator[float]:
    """Yield where the edges of a closed polygon cross a height: their places, in the order of the edges.

    >>> list(crossings([(0, 0), (4, 0), (4, 3), (0, 3)], 1))
    [4.0, 0.0]
    """
    for (x1, y1), (x2, y2) in pairwise([*ring, ring[0]]):
        if (y1 > height) != (y2 > height):
            yield x1 + (height - y1) / (y2 - y1) * (x2 - x1)


def facing(edges: Sequence[Edge], others: Sequence[Edge]) -> Iterator[Stretch]:
    """Yield the stretches in which edges of two sides lie over each other, both by ascending place.

    >>> list(facing([(0, 1, 4, 1)], [(1, 5, 3, 7), (3, 0, 9, 0)]))
    [(1, 3, (1.0, 1.0), (5.0, 7.0)), (3, 4, (1.0, 1.0), (0.0, 0.0))]
    """
    i = j = 0
    while i < len(edges) and j < len(others):
        one, other = edges[i], others[j]
        left, right = max(one[0], other[0]), min(one[2], other[2])
        if left < right:
            yield left, right, _heights(one, left, right), _heights(other, left, right)
        if one[2] <= other[2]:
            i += 1
        else:
            j += 1


def _heights(edge: Edge, left: float, right: float) -> tuple[float, float]:
    return _height(edge, left), _height(edge, right)
