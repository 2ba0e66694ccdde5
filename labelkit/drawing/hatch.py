"""Hatching: parallel lines inside closed polygons, as sections are drawn (ISO 128-3)."""

from __future__ import annotations

import math
from collections.abc import Sequence
from itertools import pairwise

from labelkit.drawing.page import Box, Command

Point = tuple[float, float]


def hatch(
    rings: Sequence[Sequence[Point]], pitch: float, degrees: float, seen: Box | None = None
) -> tuple[Command, ...]:
    """Return the lines of a hatching, by the even-odd rule; all hatchings of one pitch and angle continue each other.

    Args:
        rings: closed polygons, mm.
        pitch: distance of the lines, mm.
        degrees: their direction, counter-clockwise on a page whose y points down.
        seen: lines that do not come near it are left out; None: all are drawn.

    >>> hatch([[(0, 0), (4, 0), (4, 2), (0, 2)]], 1.0, 0.0)
    (('M', 0.0, 0.5), ('L', 4.0, 0.5), ('M', 0.0, 1.5), ('L', 4.0, 1.5))
    """
    c, s = math.cos(math.radians(degrees)), math.sin(math.radians(degrees))
    # Turned so that the lines lie level; half a pitch off zero, where edges of parts are wont to lie.
    turned = [[(x * c - y * s, x * s + y * c) for x, y in ring] for ring in rings]
    first, last = -math.inf, math.inf
    if seen is not None:
        corners = [x * s + y * c for x in (seen.x, seen.right) for y in (seen.y, seen.bottom)]
        first, last = min(corners), max(corners)
    # Each edge meets the lines between its ends: those lines are gone through once an edge, not all edges once a line.
    found: dict[int, list[float]] = {}
    for ring in turned:
        for (x1, y1), (x2, y2) in pairwise([*ring, *ring[:1]]):
            low, high = max(min(y1, y2), first), min(max(y1, y2), last)
            for k in range(math.ceil(low / pitch - 0.5), math.ceil(high / pitch - 0.5)):
                found.setdefault(k, []).append(x1 + ((k + 0.5) * pitch - y1) / (y2 - y1) * (x2 - x1))
    lines: list[Command] = []
    for k, crossed in sorted(found.items()):
        y = (k + 0.5) * pitch
        crossed.sort()
        for x1, x2 in zip(crossed[::2], crossed[1::2], strict=False):
            lines.append(("M", x1 * c + y * s, y * c - x1 * s))
            lines.append(("L", x2 * c + y * s, y * c - x2 * s))
    return tuple(lines)
