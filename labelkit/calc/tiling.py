"""A drawing that is larger than the paper, cut into sheets that overlap.

Frame of the drawing: mm, origin left top, y down.
"""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from itertools import pairwise
from typing import Final

Rect = tuple[float, float, float, float]
Line = tuple[float, float, float, float]

# Sizes that fit but for rounding errors fit.
_NOISE: Final = 1e-6
# How far a seam keeps from a line that runs along it, and from the ends of an overlap, mm: a cut is to be seen, and
# scissors need some paper beside it. Common practice, no source.
_FROM_A_LINE: Final = 1.5
_FROM_THE_ENDS: Final = 3.5


@dataclass(frozen=True, slots=True)
class Tiling:
    """How a drawing is cut.

    Attributes:
        columns: left edges of the sheets' windows in the drawing, mm.
        rows: top edges.
        counts: sheets of each row, from the left: those behind the last thing of a row would be empty.
        window: width and height of what one sheet shows.
        landscape: the sheets lie on their long side.
        column_seams: where each column is cut to meet the next: the middle of their overlap, or beside a line there.
        row_seams: the same of the rows.
    """

    columns: tuple[float, ...]
    rows: tuple[float, ...]
    counts: tuple[int, ...]
    window: tuple[float, float]
    landscape: bool
    column_seams: tuple[float, ...]
    row_seams: tuple[float, ...]

    @property
    def sheets(self) -> int:
        """How many sheets it takes."""
        return sum(self.counts)

    def has(self, row: int, column: int) -> bool:
        """Say whether there is a sheet in this row and column."""
        return 0 <= row < len(self.rows) and 0 <= column < self.counts[row]


def tile(
    things: Sequence[Rect], windows: Mapping[bool, tuple[float, float]], overlap: float, lines: Sequence[Line] = ()
) -> Tiling:
    """Cut a drawing into the fewest sheets that show all things in it; upright ones when it makes no difference.

    Args:
        things: left, top, width and height of what must be shown, mm; at least one.
        windows: what a sheet can show of it, by whether it lies on its long side.
        overlap: least overlap of neighbours; all of a row, and all of a column, get the same.
        lines: from where to where straight lines of the drawing run, mm: no seam lies on one.
    """
    ways = [_tiling(things, window, overlap, lying, lines) for lying, window in sorted(windows.items())]
    return min(ways, key=lambda way: way.sheets)


def _tiling(
    things: Sequence[Rect], window: tuple[float, float], overlap: float, landscape: bool, lines: Sequence[Line]
) -> Tiling:
    columns = _starts(max(x + width for x, _, width, _ in things), window[0], overlap)
    rows = _starts(max(y + height for _, y, _, height in things), window[1], overlap)
    alone, either = [1] * len(rows), [0] * (len(rows) - 1)
    for x, y, width, height in things:
        count = _first_with(columns, window[0], x + width) + 1
        top = max(row for row, start in enumerate(rows) if start <= y + _NOISE)
        end = _first_with(rows, window[1], y + height)
        if end < top:  # where rows overlap so far, each of the two shows it whole
            either[end] = max(either[end], count)
        for row in range(top, end + 1):
            alone[row] = max(alone[row], count)
    column_seams = _seams(columns, window[0], [x1 for x1, _, x2, _ in lines if x1 == x2])
    row_seams = _seams(rows, window[1], [y1 for _, y1, _, y2 in lines if y1 == y2])
    return Tiling(columns, rows, _shared_out(alone, either), window, landscape, column_seams, row_seams)


def _shared_out(alone: list[int], either: list[int]) -> tuple[int, ...]:
    """Return the fewest sheets of each row.

    Args:
        alone: what each row needs in any case.
        either: what one row or the next one needs.
    """
    best: dict[int, tuple[int, ...]] = {0: ()}  # so far, by what is left to the row that comes
    for own, shared in zip(alone, (*either, 0), strict=True):
        ways: dict[int, tuple[int, ...]] = {}
        for left, counts in best.items():
            for here, later in ((shared, 0), (0, shared)):
                way = (*counts, max(own, left, here))
                ways[later] = min(ways.get(later, way), way, key=sum)
        best = ways
    return best[0]


def _first_with(starts: tuple[float, ...], window: float, end: float) -> int:
    """Return the first window that reaches as far as this end of a thing."""
    return next(number for number, start in enumerate(starts) if start + window >= end - _NOISE)


def _starts(length: float, window: float, overlap: float) -> tuple[float, ...]:
    """Return where windows begin that cover a length, the last ending at its end.

    >>> _starts(600.0, 196.0, 10.0)[1] - _starts(600.0, 196.0, 10.0)[0]
    134.66666666666666
    """
    if length <= window + _NOISE:
        return (0.0,)
    count = math.ceil((length - overlap) / (window - overlap) - _NOISE)
    return tuple(k * (length - window) / (count - 1) for k in range(count))


def _seams(starts: tuple[float, ...], window: float, lines: Sequence[float]) -> tuple[float, ...]:
    return tuple(_seam(after, before + window, lines) for before, after in pairwise(starts))


def _seam(start: float, end: float, lines: Sequence[float]) -> float:
    """Return where an overlap is cut: in its middle, or as near to that as the lines which run along it leave room.

    >>> _seam(100.0, 120.0, [60.0]), _seam(100.0, 120.0, [109.5, 112.0])
    (110.0, 108.0)
    """
    middle = (start + end) / 2
    beside = [line + way * _FROM_A_LINE for line in lines for way in (-1, 1)]
    free = [
        each
        for each in (middle, *beside)
        if abs(each - middle) <= (end - start) / 2 - _FROM_THE_ENDS + _NOISE
        and all(abs(each - line) >= _FROM_A_LINE - _NOISE for line in lines)
    ]
    return min(free, key=lambda each: abs(each - middle), default=middle)
