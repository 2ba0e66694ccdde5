"""Tables of a worksheet: rows under a head, with boxes where the columns have them, broken where a page ends."""

from __future__ import annotations

import math
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass
from itertools import zip_longest
from typing import Final

from labelkit.drawing.page import Anchor, Box, Group, Item, line, moved, rectangle
from labelkit.drawing.text import line as text_line
from labelkit.drawing.text import wrap
from labelkit.sheets.legible import LEAST, em
from labelkit.sheets.worksheet import BOX_PEN, LEADING, RULE, THICK, TICK, WRITE, Strip
from labelkit.sheets.worksheetcells import Line, Piece

# Above and below what a row holds, and left and right of what a cell holds.
_PAD: Final = 0.9
_SIDE: Final = 0.8
_RIGHT: Final = 1.6
_ROW: Final = 8.0
# A row that is higher is parted, so that every page can hold it.
_MOST: Final = 110.0
_MANY: Final = 999


@dataclass(frozen=True, slots=True)
class Column:
    """A column of a table: what stands over it and its width, mm; 0 takes what is left.

    Attributes:
        box: what a row has in it without being told: a box for a `tick`, one for a `count`, or one to `write` in that
            is as high as the row.
    """

    title: str
    width: float
    box: str = ""


class Table:
    """Rows under a head, with boxes where the columns have them.

    Args:
        columns: from the left.
        width: of the whole, mm.
        name: of its rows, before their own.
        least: height of a row, mm: room for a pencil, where something may be written in it.
    """

    def __init__(self, columns: Sequence[Column], width: float, name: str, least: float = _ROW) -> None:
        rest = width - math.fsum(column.width for column in columns)
        self.columns = [(column, column.width or rest) for column in columns]
        self.width, self.name, self.least = width, name, least
        self.head = self._head()

    def _head(self) -> Strip:
        size, pitch = em(LEAST, "bold"), LEAST * LEADING
        told = [
            (
                *_over(column, x, width),
                wrap(column.title, width - _SIDE - _RIGHT * (not column.box), size, _MANY, "bold").lines,
            )
            for x, column, width in self._laid()
        ]
        most = max(len(lines) for *_, lines in told)
        items: list[Item] = []
        for x, anchor, lines in told:
            for number, words in enumerate(lines):
                base = 1.0 + (most - len(lines) + number) * pitch + LEAST
                items.append(text_line(words, x, base, size, "bold", anchor))
        height = 1.0 + most * pitch + 0.6
        items.append(line(0, height, self.width, height, THICK))
        return Strip(height, tuple(items), f"{self.name} head", kept=True)

    def _laid(self) -> Iterator[tuple[float, Column, float]]:
        x = 0.0
        for column, width in self.columns:
            yield x, column, width
            x += width

    def row(
        self,
        name: str,
        cells: Sequence[Sequence[Piece]],
        *,
        boxes: bool = True,
        rule: bool = True,
        kept: bool = False,
    ) -> Iterator[Strip]:
        """Yield a row, in several strips where it is higher than a page can hold.

        Args:
            name: of the row.
            cells: of the columns without a box, from the left.
            boxes: whether the columns with a box have one here.
            rule: whether a line parts it from the row above.
            kept: whether its last strip is not parted from what follows.
        """
        given = iter(cells)
        placed: list[tuple[float, list[Line]]] = []
        free: list[tuple[str, float, float]] = []
        for x, column, width in self._laid():
            if column.box:
                free.append((column.box, x, width))
            else:
                inner = width - _SIDE - _RIGHT
                placed.append((x + _SIDE, [each for piece in next(given) for each in piece.lines(inner)]))
        first = True
        while first or any(lines for _, lines in placed):
            items: list[Item] = [line(0, 0, self.width, 0, RULE)] if rule and first else []
            height = 0.0
            for x, lines in placed:
                y = _PAD
                while lines and (y == _PAD or y + lines[0].height <= _MOST):
                    each = lines.pop(0)
                    items.append(Group(each.items, "", None, moved(x, y)))
                    y += each.height
                height = max(height, y + _PAD)
            if first:
                height = max(height, WRITE[1] + 2 * _PAD if free and boxes else self.least)
            if boxes and first:
                items += [_free(kind, Box(x, 0, width, height)) for kind, x, width in free]
            more = any(lines for _, lines in placed)
            yield Strip(height, tuple(items), f"{self.name} {name}" if first else "", self.head, kept and not more)
            first = False

    def line_strip(self, *, thick: bool = False) -> Strip:
        """Return the line that closes the table, or a thick one that closes a group in it."""
        return Strip(0.6, (line(0, 0, self.width, 0, THICK if thick else RULE),), closing=True)


def _over(column: Column, x: float, width: float) -> tuple[float, Anchor]:
    """Return where the title of a column stands: in the middle over a small box, else where words and boxes begin."""
    return (x + width / 2, "middle") if column.box in ("tick", "count") else (x + _SIDE, "start")


def _free(kind: str, cell: Box) -> Item:
    if kind == "tick":
        box = Box(cell.x + (cell.width - TICK) / 2, cell.y + _PAD, TICK, TICK)
    elif kind == "count":
        box = Box(cell.x + (cell.width - WRITE[0]) / 2, cell.y + _PAD, *WRITE)
    else:
        box = cell.inset(_SIDE / 2, _PAD)
    return Group((rectangle(box, BOX_PEN),), kind)


def pieces_strip(pieces: Iterable[Piece], width: float, *, name: str = "", kept: bool = False) -> Iterator[Strip]:
    """Yield pieces below each other as wide as the page, a strip for each line."""
    lines = [each for piece in pieces for each in piece.lines(width)]
    for number, each in enumerate(lines):
        last = number == len(lines) - 1
        yield Strip(each.height, each.items, name if not number else "", None, kept and last)


def beside(left: Iterable[Strip], offset: float) -> Iterator[Strip]:
    """Yield strips two by two beside each other, the second of each pair moved right by an offset, mm."""
    every = list(left)
    for one, other in zip_longest(every[::2], every[1::2]):
        items: tuple[Item, ...] = (Group(one.items, one.name),)
        height = one.height
        if other:
            items = (*items, Group(other.items, other.name, None, moved(offset, 0)))
            height = max(height, other.height)
        head = one.head and doubled(one.head, offset)
        yield Strip(height, items, "", head, one.kept)


def doubled(head: Strip, offset: float) -> Strip:
    """Return the head of a table for two columns of it."""
    items = (Group(head.items), Group(head.items, "", None, moved(offset, 0)))
    return Strip(head.height, items, head.name, kept=True)
