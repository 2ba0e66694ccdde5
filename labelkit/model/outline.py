"""Whether an outline meets itself: exact, on the figures as they were typed."""

from __future__ import annotations

import itertools
from collections.abc import Sequence
from decimal import Decimal
from typing import Final

# More than a contour drawn by hand or exported from a drawing has.
MOST_POINTS: Final = 2000

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
