"""Rows of an exploded view on sheets, side by side and below each other, in the order in which they are read."""

from __future__ import annotations

from collections import deque
from collections.abc import Sequence
from dataclasses import dataclass, replace
from typing import Final

from labelkit.drawing.page import Box
from labelkit.sheets.explodedrows import Row

_BESIDE: Final = 7.0  # between rows side by side
_BELOW: Final = 4.0  # between rows
# Lines are drawn apart to fill a sheet, and rows side by side, by this much at most.
_APART: Final = 12.0
_ASIDE: Final = 30.0


@dataclass(frozen=True)
class Placed:
    """A row at its place on a sheet, its left top corner; and which line of the sheet it stands in."""

    row: Row
    x: float
    y: float
    line: int


Sheet = tuple[Placed, ...]


@dataclass(frozen=True)
class Inner:
    """A row of something that is opened, whether it is all of it, and the row of the unit from which that is opened."""

    row: Row
    whole: bool
    after: int


class _Line:
    """Rows side by side, and below each other where a taller one leaves room."""

    def __init__(self, x: float, y: float, row: Row) -> None:
        self.top, self.bottom = y, y + row.height
        self._left, self._right, self._low = x, x + row.width, self.bottom

    def place(self, row: Row, room: Box) -> tuple[float, float] | None:
        """Place one more; None where there is no room."""
        y = self._low + _BELOW
        if self._left + row.width <= room.right and y + row.height <= self.bottom + 1e-6:
            self._right, self._low = max(self._right, self._left + row.width), y + row.height
            return self._left, y
        x = self._right + _BESIDE
        if x + row.width > room.right or self.top + row.height > room.bottom:
            return None
        self._left, self._right, self._low = x, x + row.width, self.top + row.height
        self.bottom = max(self.bottom, self._low)
        return x, self.top


class Packing:
    """Rows on sheets, line by line; each sheet is filled with what comes next of the unit or of what is opened."""

    def __init__(self, room: Box) -> None:
        self._room = room
        self._sheets: list[list[Placed]] = [[]]
        self._line: _Line | None = None
        self._number = 0

    def run(self, main: Sequence[Row], inner: Sequence[Inner], *, first: bool) -> list[Sheet]:
        """Place all rows; `first`: those of the unit before what is opened, else that behind the row it belongs to."""
        unit, opened = deque(main), deque(inner)
        while unit or opened:
            shown = len(main) - len(unit)
            queues = [queue for queue in ((unit, opened) if first else (opened, unit)) if queue]
            ready = [q for q in queues if q is unit or opened[0].after < shown]
            found = next((queue for queue in ready if self._place(queue[0], new_sheet=False)), None)
            if found is None:
                found = ready[0]
                self._place(found[0], new_sheet=True)
            found.popleft()
        return [tuple(sheet) for sheet in self._sheets]

    def _place(self, each: Row | Inner, *, new_sheet: bool) -> bool:
        """Place a row, on a new sheet or where it still fits on this one; False where it does not."""
        row = each.row if isinstance(each, Inner) else each
        before = self._sheets[-1][-1].row if self._sheets[-1] and not new_sheet else None
        follows = before is not None and before.strip is row.strip
        if row.titled is follows:
            row = replace(row, titled=not follows)
        at = None
        if isinstance(each, Inner) and each.whole and self._line and not new_sheet:
            at = self._line.place(row, self._room)
        if at is None:
            y = self._line.bottom + _BELOW if self._line and not new_sheet else self._room.y
            if not new_sheet and self._sheets[-1] and y + row.height > self._room.bottom:
                return False
            if new_sheet and self._sheets[-1]:
                self._sheets.append([])
            self._line, at = _Line(self._room.x, y, row), (self._room.x, y)
            self._number += 1
        self._sheets[-1].append(Placed(row, *at, self._number))
        return True


def spread(sheet: Sheet, room: Box) -> Sheet:
    """Return a sheet with its lines drawn apart, and what stands side by side in a line, so that they fill it."""
    first, last = sheet[0].line, sheet[-1].line
    spare = room.bottom - max(placed.y + placed.row.height for placed in sheet)
    down = min(spare / max(last - first, 1), _APART)
    apart: list[Placed] = []
    for number in range(first, last + 1):
        line = [placed for placed in sheet if placed.line == number]
        columns = sorted({placed.x for placed in line})
        spare = room.right - max(placed.x + placed.row.width for placed in line)
        right = min(spare / max(len(columns) - 1, 1), _ASIDE)
        apart += [
            replace(each, x=each.x + right * columns.index(each.x), y=each.y + down * (number - first)) for each in line
        ]
    return tuple(apart)
