"""Bands of a tray: exact tables of what a band, a column and a line need, and the way back from them to places.

A tray is read as a page is: bands from top to bottom, cut by printed rules into fields from left to right; a field is
one line of cells, or a column of several lines. Three grades of layout, each containing the one before: 0, a band is
one line; 1, its last field may be a column; 2, any of its fields may be.

Every table is an exact minimum over its last cut, for whole millimetres: widths never grow with the height allowed,
so that keeping the least width for every height loses nothing. Table number `c` of a list has a row for every start
`i` from which `c` cells follow, and a column for every height (or width) allowed.

The parts of the method are known: shelves filled in a given order (Baker & Schwarz 1983), lines broken by dynamic
programming (Knuth & Plass 1981), shape functions of slicing layouts (Stockmeyer 1983).
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from functools import cached_property
from typing import Final

import numpy as np
from numpy.typing import NDArray

MOST_IN_BAND: Final = 40
MOST_IN_COLUMN: Final = 12
GRADES: Final = (0, 1, 2)
# More than any tray is wide or deep, and small enough for the sum of two in 16 bits.
NEVER: Final = 16_000
# Starts whose tables are held at a time.
_CHUNK: Final = 256

Modes = Sequence[tuple[int, int]]
Table = NDArray[np.int16]


@dataclass(frozen=True, slots=True)
class Line:
    """Cells side by side: the first one's number, how many, and where the line begins and how deep it is, mm."""

    first: int
    count: int
    x: int
    y: int
    depth: int


@dataclass(frozen=True, slots=True)
class Field:
    """A part of a band between two upright rules: its lines, its left edge, its width to the next rule or wall, mm."""

    lines: tuple[Line, ...]
    x: int
    width: int


class Bands:
    """The tables of a run of cells in a tray of one size.

    Args:
        cells: the modes of each cell, (width, depth) in whole mm.
        width: of the tray.
        depth: greatest depth of a band.
        grade: highest grade wanted.
    """

    def __init__(self, cells: Sequence[Modes], width: int, depth: int, grade: int) -> None:
        self.cells, self.width, self.depth, self.grade = cells, width, depth, grade

    @cached_property
    def line(self) -> list[Table]:
        """Least width of one line by the depth allowed."""
        narrow = np.full((len(self.cells), self.depth + 1), NEVER, np.int16)
        for row, modes in zip(narrow, self.cells, strict=True):
            for width, depth in modes:
                np.minimum(row[depth:], min(width, NEVER), out=row[depth:])
        tables = [np.zeros((len(self.cells) + 1, self.depth + 1), np.int16)]
        for count in range(1, min(MOST_IN_BAND, len(self.cells)) + 1):
            tables.append(np.minimum(tables[-1][:-1] + narrow[count - 1 :], NEVER))
        return tables

    @cached_property
    def line_depth(self) -> list[Table]:
        """Least depth of one line by the width allowed."""
        return [_least(table, self.width) for table in self.line[: MOST_IN_COLUMN + 1]]

    @cached_property
    def block(self) -> list[Table]:
        """Least depth of a column of lines by the width allowed."""
        tables = [np.zeros((len(self.cells) + 1, self.width + 1), np.int16)]
        for count in range(1, len(self.line_depth)):
            tables.append(_cheapest(self.line_depth, tables, count))
        return tables

    @cached_property
    def column(self) -> list[Table]:
        """Least width of a column of lines by the depth allowed."""
        return [_least(table, self.depth) for table in self.block]

    @cached_property
    def fields(self) -> list[Table]:
        """Least width of a band of grade 2 by the depth allowed; as many tables as some band has cells."""
        tables = [self.line[0]]
        for count in range(1, len(self.line)):
            table = _cheapest(self.column, tables, count)
            if (table > self.width).all():
                break
            tables.append(table)
        return tables

    @cached_property
    def closing(self) -> list[Table]:
        """Least width of a band of grade 1 by the depth allowed."""
        tables = [self.line[0]]
        for count in range(1, len(self.line)):
            best = self.line[count]
            for block in range(1, min(MOST_IN_COLUMN, count) + 1):
                last = self.column[block][count - block :]
                best = np.minimum(best, self.line[count - block][: len(best)] + last)
            tables.append(best)
        return tables

    def heights(self, grade: int) -> list[Table]:
        """Return the least depth of a band of each number of cells, from 0, by its first cell; or `NEVER`."""
        found = []
        for table in self.fields if grade == 2 else self.closing if grade else self.line:
            least = (table > self.width).sum(axis=1, dtype=np.int16)
            least[least > self.depth] = NEVER
            if (least == NEVER).all():
                break
            found.append(least)
        return found

    def cut(self, first: int, count: int, depth: int, top: int, grade: int) -> tuple[Field, ...]:
        """Return the fields of a band: plain lines as long as they can be, then as few columns as there can be.

        Args:
            first: number of its first cell.
            count: how many.
            depth: of the band, at least what `heights` says.
            top: where it begins, mm.
            grade: of the band.
        """
        fields: list[Field] = []
        plain, x, start, end = 0, 0, first, first + count
        while start < end:
            taken = self._next_column(start, end, depth, self.width - x, grade)
            if taken == 1:
                x += int(self.column[1][start, depth])
                plain, start = plain + 1, start + 1
                continue
            if plain:
                fields.append(self._plain(start - plain, plain, x, top, depth))
                plain = 0
            width = int(self.column[taken][start, depth])
            fields.append(Field(self._lines(start, taken, width, x, top), x, width))
            x, start = x + width, start + taken
        if plain:
            fields.append(self._plain(end - plain, plain, x, top, depth))
        fields[-1] = replace(fields[-1], width=self.width - fields[-1].x)
        return tuple(fields)

    def _next_column(self, start: int, end: int, depth: int, room: int, grade: int) -> int:
        """Return how many cells the next column takes; 1 is a cell of a plain line."""
        left = end - start
        if self.line[left][start, depth] <= room:
            return 1
        if grade == 1:
            closed = int(self.column[1][start, depth]) + int(self.closing[left - 1][start + 1, depth])
            return 1 if closed <= room else left
        wanted: list[int] = [1, *range(min(MOST_IN_COLUMN, left), 1, -1)]
        return next(taken for taken in wanted if self._room_after(start, left, taken, depth) <= room)

    def _room_after(self, start: int, left: int, taken: int, depth: int) -> int:
        """Return the width of what is left of a band when a column takes that many of its cells."""
        return int(self.column[taken][start, depth]) + int(self.fields[left - taken][start + taken, depth])

    def _plain(self, first: int, count: int, right: int, top: int, depth: int) -> Field:
        width = int(self.line[count][first, depth])
        return Field((Line(first, count, right - width, top, depth),), right - width, width)

    def _lines(self, first: int, count: int, width: int, x: int, top: int) -> tuple[Line, ...]:
        """Return the lines of a column: each as long as the least depth of the whole allows."""
        lines = []
        while count:
            whole = int(self.block[count][first, width])
            for taken in range(count, 0, -1):
                depth = int(self.line_depth[taken][first, width])
                if depth + int(self.block[count - taken][first + taken, width]) == whole:
                    break
            lines.append(Line(first, taken, x, top, depth))
            first, count, top = first + taken, count - taken, top + depth
        return tuple(lines)

    def mode(self, cell: int, depth: int) -> int:
        """Return the number of a cell's narrowest mode that is no deeper than `depth`."""
        modes = self.cells[cell]
        _, number = min((mode, number) for number, mode in enumerate(modes) if mode[1] <= depth)
        return number


def band_heights(cells: Sequence[Modes], width: int, depth: int, grades: Sequence[int]) -> dict[int, list[Table]]:
    """Return `Bands.heights` of each grade for any number of cells, in bounded memory; arguments as for `Bands`."""
    parts: dict[int, list[list[Table]]] = {grade: [] for grade in grades}
    for start in range(0, len(cells), _CHUNK):
        local = Bands(cells[start : start + _CHUNK + MOST_IN_BAND], width, depth, max(grades))
        for grade in grades:
            parts[grade].append([table[:_CHUNK] for table in local.heights(grade)])
    return {grade: _joined(chunks, len(cells)) for grade, chunks in parts.items()}


def _joined(chunks: list[list[Table]], cells: int) -> list[Table]:
    """Put the tables of several chunks one below the other; a chunk without a table never has such a band."""
    tables = []
    for count in range(1, max((len(chunk) for chunk in chunks), default=0)):
        rows = [
            chunk[count]
            if count < len(chunk)
            else np.full(min(_CHUNK, max(cells - start * _CHUNK - count + 1, 0)), NEVER)
            for start, chunk in enumerate(chunks)
        ]
        tables.append(np.concatenate(rows).astype(np.int16)[: cells - count + 1])
    return [np.zeros(cells + 1, np.int16), *tables]


def _cheapest(first: list[Table], rest: list[Table], count: int) -> Table:
    """Return the least sum of `first[taken]` at a start and `rest[count - taken]` after it, over all `taken`."""
    rows = len(first[0]) - count
    best = np.full((rows, first[0].shape[1]), NEVER, np.int16)
    for taken in range(1, min(len(first) - 1, count) + 1):
        if count - taken < len(rest):
            np.minimum(best, first[taken][:rows] + rest[count - taken][taken : taken + rows], out=best)
    return best


def _least(table: Table, most: int) -> Table:
    """Turn a table about: for every value from 0 to `most`, the least column whose entry is no larger.

    Entries of a row never grow from left to right, so that the answer is how many of them are larger.
    """
    rows, columns = table.shape
    values = np.minimum(table, most + 1) + np.arange(rows, dtype=np.int64)[:, None] * (most + 2)
    counts = np.bincount(values.ravel(), minlength=rows * (most + 2)).reshape(rows, most + 2)[:, : most + 1]
    least: Table = (columns - counts.cumsum(axis=1)).astype(np.int16)
    least[least == columns] = NEVER
    return least
