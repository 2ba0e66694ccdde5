"""A drawing that is larger than the paper, cut into sheets that overlap.

Frame of the drawing: mm, origin left top, y down.
"""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass
from itertools import pairwise
from typing import Final

# Sizes that fit but for rounding errors fit.
_NOISE: Final = 1e-6


@dataclass(frozen=True, slots=True)
class Tiling:
    """How a drawing is cut.

    Attributes:
        columns: left edges of the sheets' windows in the drawing, mm.
        rows: top edges.
        window: width and height of what one sheet shows.
        landscape: the sheets lie on their long side.
    """

    columns: tuple[float, ...]
    rows: tuple[float, ...]
    window: tuple[float, float]
    landscape: bool

    @property
    def sheets(self) -> int:
        """How many sheets it takes."""
        return len(self.columns) * len(self.rows)

    @property
    def column_seams(self) -> tuple[float, ...]:
        """The middle of the overlap of each column with the next one."""
        return _seams(self.columns, self.window[0])

    @property
    def row_seams(self) -> tuple[float, ...]:
        """The middle of the overlap of each row with the next one."""
        return _seams(self.rows, self.window[1])


def tile(size: tuple[float, float], windows: Mapping[bool, tuple[float, float]], overlap: float) -> Tiling:
    """Cut a drawing into the fewest sheets; upright ones when it makes no difference.

    Args:
        size: width and height of the drawing, mm.
        windows: what a sheet can show of it, by whether it lies on its long side.
        overlap: least overlap of neighbours; all of a row, and all of a column, get the same.
    """
    ways = [
        Tiling(_starts(size[0], window[0], overlap), _starts(size[1], window[1], overlap), window, lying)
        for lying, window in sorted(windows.items())
    ]
    return min(ways, key=lambda way: way.sheets)


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
