"""Hatching: parallel lines inside closed polygons, as sections are drawn (ISO 128-3)."""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence

from labelkit.drawing.page import Command

Point = tuple[float, float]


def hatch(rings: Sequence[Sequence[Point]], pitch: float, degrees: float) -> tuple[Command, ...]:
    """Return the lines of a hatching, by the even-odd rule; all hatchings of one pitch and angle continue each other.

    Args:
        rings: closed polygons, mm.
        pitch: distance of the lines, mm.
        degrees: their direction, counter-clockwise on a page whose y points down.

    >>> hatch([[(0, 0), (4, 0), (4, 2), (0, 2)]], 1.0, 0.0)
    (('M', 0.0, 0.5), ('L', 4.0, 0.5), ('M', 0.0, 1.5), ('L', 4.0, 1.5))
    """
    c, s = math.cos(math.radians(degrees)), math.sin(math.radians(degrees))
    # Turned so that the lines lie level; half a pitch off zero, where edges of parts are wont to lie.
    turned = [[(x * c - y * s, x * s + y * c) for x, y in ring] for ring in rings]
    lines: list[Command] = []
    low = min((y for ring in turned for _, y in ring), default=0.0)
    high = max((y for ring in turned for _, y in ring), default=0.0)
    for k in range(math.ceil(low / pitch - 0.5), math.floor(high / pitch - 0.5) + 1):
        y = (k + 0.5) * pitch
        crossed = sorted(x for ring in turned for x in _crossings(ring, y))
        for x1, x2 in zip(crossed[::2], crossed[1::2], strict=False):
            lines.append(("M", x1 * c + y * s, y * c - x1 * s))
            lines.append(("L", x2 * c + y * s, y * c - x2 * s))
    return tuple(lines)


def _crossings(ring: Sequence[Point], y: float) -> Iterator[float]:
    for (x1, y1), (x2, y2) in zip(ring, [*ring[1:], ring[0]], strict=True):
        if (y1 > y) != (y2 > y):
            yield x1 + (y - y1) / (y2 - y1) * (x2 - x1)
