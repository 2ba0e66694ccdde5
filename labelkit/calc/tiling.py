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

# Sizes that fit but for rounding errors fit.
_NOISE: Final = 1e-6


@dataclass(frozen=True, slots=True)
class Tiling:
    """How a drawing is cut.

    Attributes:
        columns: left edges of the sheets' windows in the drawing, mm.
        rows: top edges.
        counts: sheets of each row, from the left: those behind the last thing of a row would be empty.
        window: width and height of what one sheet shows.
        landscape: the sheets lie on their long side.
    """

    columns: tuple[float, ...]
    rows: tuple[float, ...]
    counts: tuple[int, ...]
    window: tuple[float, float]
    landscape: bool

    @property
    def sheets(self) -> int:
        """How many sheets it takes."""
        return sum(self.counts)

    def has(self, row: int, column: int) -> bool:
        """Say whether there is a sheet in this row and column."""
        return 0 <= row < len(self.rows) and 0 <= column < self.counts[row]

    @property
    def column_seams(self) -> tuple[float, ...]:
        """The middle of the overlap of each column with the next one."""
        return _seams(self.columns, self.window[0])

    @property
    def row_seams(self) -> tuple[float, ...]:
        """The middle of the overlap of each row with the next one."""
        return _seams(self.rows, self.window[1])


def tile(things: Sequence[Rect], windows: Mapping[bool, tuple[float, float]], overlap: float) -> Tiling:
    """Cut a drawing into the fewest sheets that show all things in it; upright ones when it makes no difference.

    Args:
        things: left, top, width and height of what must be shown, mm; at least one.
        windows: what a sheet can show of it, by whether it lies on its long side.
        overlap: least overlap of neighbours; all of a row, and all of a column, get the same.
    """
    ways = [_tiling(things, window, overlap, lying) for lying, window in sorted(windows.items())]
    return min(ways, key=lambda way: way.sheets)


def _tiling(things: Sequence[Rect], window: tuple[float, float], overlap: float, landscape: bool) -> Tiling:
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
    return Tiling(columns, rows, _shared_out(alone, either), window, landscape)


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


def _seams(starts: tuple[float, ...], window: float) -> tuple[float, ...]:
    return tuple((before + window + after) / 2 for before, after in pairwise(starts))
