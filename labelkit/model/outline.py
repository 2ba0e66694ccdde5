"""Whether an outline meets itself, exact, on the figures as they were typed; and whether its holes lie in it."""

from __future__ import annotations

import itertools
import math
from collections.abc import Sequence
from decimal import Decimal
from typing import Final

from labelkit.model.scalars import THINNEST_MM

# More than a contour drawn by hand or exported from a drawing has.
MOST_POINTS: Final = 2000
_MOST_HOLES: Final = 200

Point = tuple[Decimal, Decimal]
Line = tuple[Point, Point]


def crossing(points: Sequence[Point]) -> tuple[tuple[int, int], tuple[int, int]] | None:
    """Return two lines of a closed outline that meet where they should not, by the numbers of their points from 1.

    A point that stands twice in a row, or the first again as the last, is no line and no fault.

    Args:
        points: the corners, once round, in any direction.

    >>> bow_tie = [(Decimal(x), Decimal(y)) for x, y in ((0, 0), (2, 2), (2, 0), (0, 2))]
    >>> crossing(bow_tie)
    ((1, 2), (3, 4))
    """
    numbered = [(k, points[k]) for k in range(len(points)) if points[k] != points[k - 1]]
    sides = [(one[0] + 1, two[0] + 1, (one[1], two[1])) for one, two in itertools.pairwise(numbered)]
    if len(numbered) > 1:
        sides.append((numbered[-1][0] + 1, numbered[0][0] + 1, (numbered[-1][1], numbered[0][1])))
    # From left to right: a line is held against those only whose breadth it shares.
    near: list[int] = []
    for this in sorted(range(len(sides)), key=lambda k: min(x for x, _ in sides[k][2])):
        a, b, line = sides[this]
        left = min(x for x, _ in line)
        near = [k for k in near if max(x for x, _ in sides[k][2]) >= left]
        for other in near:
            c, d, its = sides[other]
            neighbours = abs(this - other) in (1, len(sides) - 1)
            if _folds(line, its) if neighbours else _meet(line, its):
                low, high = sorted(((this, (a, b)), (other, (c, d))))
                return low[1], high[1]
        near.append(this)
    return None


def misplaced(points: Sequence[Point], holes: Sequence[tuple[Decimal, Decimal, Decimal]]) -> str | None:
    """Say which round hole is not wholly inside an outline, or which two meet; None where all are right.

    Args:
        points: of the outline, mm.
        holes: x, y and diameter of each, mm.

    >>> square = [(Decimal(x), Decimal(y)) for x, y in ((0, 0), (9, 0), (9, 9), (0, 9))]
    >>> misplaced(square, [(Decimal(5), Decimal(5), Decimal(7))])
    >>> misplaced(square, [(Decimal(5), Decimal(5), Decimal(9))])
    'hole 1 does not lie wholly inside the outline'
    """
    if len(holes) > _MOST_HOLES:
        return f"has {len(holes)} holes; allowed: at most {_MOST_HOLES}"
    edges = list(zip(points, (*points[1:], points[0]), strict=True))
    for number, (x, y, size) in enumerate(holes):
        room = [_distance(edge, (x, y)) - float(size) / 2 for edge in edges]
        if min(room) < float(THINNEST_MM) or not _inside(edges, (x, y)):
            return f"hole {number + 1} does not lie wholly inside the outline"
        for other, (its_x, its_y, its_size) in enumerate(holes[:number]):
            if math.hypot(x - its_x, y - its_y) < float(size + its_size) / 2:
                return f"holes {other + 1} and {number + 1} meet"
    return None


def _inside(edges: Sequence[Line], point: Point) -> bool:
    """Say whether a point lies inside a closed outline, by the even-odd rule."""
    inside = False
    for one, two in edges:
        if (one[1] > point[1]) != (two[1] > point[1]) and (_turn(one, two, point) > 0) == (two[1] > one[1]):
            inside = not inside
    return inside


def _distance(edge: Line, point: Point) -> float:
    """Return how far a point is from an edge, mm."""
    (ax, ay), (bx, by) = edge
    dx, dy, px, py = map(float, (bx - ax, by - ay, point[0] - ax, point[1] - ay))
    share = (px * dx + py * dy) / ((dx * dx + dy * dy) or 1.0)
    share = min(1.0, max(0.0, share))
    return math.hypot(px - share * dx, py - share * dy)


def _folds(one: Line, two: Line) -> bool:
    """Say whether a line lies back on the one it shares a corner with."""
    corner, *more = set(one) & set(two)
    if more:
        return True
    (far,), (other,) = set(one) - {corner}, set(two) - {corner}
    return _turn(corner, far, other) == 0 and not _apart(far, corner, other)


def _meet(one: Line, two: Line) -> bool:
    """Say whether two lines have a point in common."""
    sides = _turn(*one, two[0]), _turn(*one, two[1]), _turn(*two, one[0]), _turn(*two, one[1])
    if sides[0] * sides[1] < 0 and sides[2] * sides[3] < 0:
        return True
    ends = ((one, two[0]), (one, two[1]), (two, one[0]), (two, one[1]))
    return any(side == 0 and _within(line, point) for side, (line, point) in zip(sides, ends, strict=True))


def _turn(a: Point, b: Point, c: Point) -> Decimal:
    """Return more than 0 when c lies left of the line from a to b, 0 when on it."""
    return (b[0] - a[0]) * (c[1] - a[1]) - (b[1] - a[1]) * (c[0] - a[0])


def _within(line: Line, point: Point) -> bool:
    """Say whether a point on a line's direction lies between its ends."""
    return all(min(a, b) <= p <= max(a, b) for a, b, p in zip(*line, point, strict=True))


def _apart(one: Point, corner: Point, two: Point) -> bool:
    """Say whether a straight corner goes on, instead of turning back on itself."""
    return (one[0] - corner[0]) * (two[0] - corner[0]) + (one[1] - corner[1]) * (two[1] - corner[1]) < 0
