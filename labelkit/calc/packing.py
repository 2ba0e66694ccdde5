"""Trays filled in removal order: fewest trays, then fewest split sub-assemblies, simplest reading, least depth.

The layout is optimal, in that order, among all layouts of bands, columns and lines in order (`labelkit.calc.bands`)
with the given modes of the cells, whole millimetres, at most `MOST_IN_BAND` cells in a band and `MOST_IN_COLUMN` in a
column. Everything is whole numbers: mm rounded up, grams rounded up.
"""

from __future__ import annotations

from collections import deque
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from itertools import accumulate, pairwise
from typing import Final

import numpy as np
from numpy.typing import NDArray

from labelkit.calc.bands import GRADES, MOST_IN_BAND, NEVER, Bands, Field, Table, band_heights
from labelkit.errors import CapacityError

# A run's rank is its grade, its area and its kind of tray in one number: the cheapest is the least.
Runs = NDArray[np.int64]
# No run, or no way: more than any rank and any cost.
_NONE: Final = np.int64(1 << 62)
# More than the areas of all trays of a job, mm².
_AREA: Final = 1 << 46
# More than a job has sub-assemblies to split.
_TRAY: Final = 1 << 32


@dataclass(frozen=True, slots=True)
class Item:
    """What is laid down as one cell.

    Attributes:
        modes: (width, depth) of its cell, whole mm, the gap included.
        mass: grams.
        groups: the sub-assemblies it belongs to, the outermost first.
    """

    modes: tuple[tuple[int, int], ...]
    mass: int = 0
    groups: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class Floor:
    """One kind of tray: its inside, whole mm, and the most it may hold, grams."""

    width: int
    depth: int
    limit: int


@dataclass(frozen=True, slots=True)
class Cell:
    """Where an item lies: number of the item and of its mode, left top corner in the tray, mm, y down."""

    item: int
    mode: int
    x: int
    y: int


Rule = tuple[int, int, int, int]


@dataclass(frozen=True, slots=True)
class Packed:
    """One tray filled.

    Attributes:
        floor: which kind of tray.
        grade: how it is read: 0 lines, 1 lines with a closing block, 2 columns.
        depth: the least depth its bands take, without the room spread between them.
        cells: in order.
        rules: lines to print, (x1, y1, x2, y2).
    """

    floor: int
    grade: int
    depth: int
    cells: tuple[Cell, ...]
    rules: tuple[Rule, ...]


@dataclass(frozen=True, slots=True)
class _Run:
    """Items that fill one tray: the number of the first, how many, the kind of tray, its grade and depth."""

    first: int
    count: int
    floor: int
    grade: int
    depth: int


def pack(
    items: Sequence[Item], floors: Sequence[Floor], *, grade: int = 2, keep_whole: bool = True, spread: int = 0
) -> tuple[Packed, ...]:
    """Return the trays in order.

    Args:
        items: in removal order.
        floors: the kinds of tray there are, of each as many as it takes.
        grade: the highest grade wanted.
        keep_whole: split a sub-assembly only if it fits no empty tray by itself.
        spread: most room added between two bands of a tray that has it, mm.

    Raises:
        CapacityError: an item fits no kind of tray.
    """
    runs = _runs(items, floors, grade)
    for number in range(len(items)):
        if not _is_run(runs, number, 1):
            raise CapacityError(f"item {number} fits no tray")
    trays = _fewest(runs, _cuts(items, runs, keep_whole), floors)
    return tuple(_laid(items[run.first : run.first + run.count], run, floors[run.floor], spread) for run in trays)


def fits(item: Item, floor: Floor) -> bool:
    """Say whether an item fits an empty tray."""
    return item.mass <= floor.limit and any(w <= floor.width and d <= floor.depth for w, d in item.modes)


def _runs(items: Sequence[Item], floors: Sequence[Floor], highest: int) -> Runs:
    """Return the ranks of the cheapest runs that fill one tray: a row for each start, a column for 1, 2 ... items."""
    columns: list[Runs] = []
    mass = np.array([0, *accumulate(item.mass for item in items)], np.int64)
    for kind, floor in enumerate(floors):
        heights = band_heights([item.modes for item in items], floor.width, floor.depth, GRADES[: highest + 1])
        # Of the tables of depths by count only as many are kept as a band can have cells.
        depths = {grade: deque([np.zeros(len(items) + 1, np.int16)], MOST_IN_BAND) for grade in heights}
        for count in range(1, len(items) + 1):
            rows = len(items) - count + 1
            light = mass[count:] - mass[:-count] <= floor.limit
            ranks = np.full(rows, _NONE)
            for grade in heights:
                depth = _stacked(depths[grade], heights[grade], rows, floor.depth)
                depths[grade].append(depth)
                area = depth.astype(np.int64) * floor.width
                rank = (grade * _AREA + area) * len(floors) + kind
                np.minimum(ranks, np.where(light & (depth < NEVER), rank, _NONE), out=ranks)
            if (ranks == _NONE).all():
                break
            if len(columns) < count:
                columns.append(ranks)
            else:
                np.minimum(columns[count - 1], ranks, out=columns[count - 1])
    found = np.full((len(items) + 1, len(columns)), _NONE)
    for column, ranks in enumerate(columns):
        found[: len(ranks), column] = ranks
    return found


def _stacked(depths: Sequence[Table], heights: list[Table], rows: int, most: int) -> Table:
    """Return the least depth of one more cell than the last of `depths` has, by its first; `NEVER` beyond `most`."""
    best = np.full(rows, NEVER, np.int16)
    count = len(heights[0]) - rows
    for band in range(1, min(len(heights) - 1, count) + 1):
        above = depths[-band][:rows]
        np.minimum(best, above + heights[band][count - band : count - band + rows], out=best)
    best[best > most] = NEVER
    return best


def _is_run(runs: Runs, first: int, count: int) -> bool:
    """Say whether so many items from the first on fill one tray."""
    return count <= runs.shape[1] and bool(runs[first, count - 1] < _NONE)


def _cuts(items: Sequence[Item], runs: Runs, keep_whole: bool) -> list[int | None]:
    """Return for each place between items how many sub-assemblies a cut there splits; None where none is allowed."""
    shared = [0, *(_shared(one.groups, other.groups) for one, other in pairwise(items)), 0]
    cuts: list[int | None] = [*shared[: len(items)], 0]
    for level in range(1, max(shared, default=0) + 1) if keep_whole else ():
        first = 0
        for place in range(1, len(items) + 1):
            if place == len(items) or shared[place] < level:
                if _is_run(runs, first, place - first):
                    cuts[first + 1 : place] = [None] * (place - first - 1)
                first = place
    return cuts


def _shared(one: tuple[str, ...], other: tuple[str, ...]) -> int:
    """Return how many sub-assemblies, from the outermost, two neighbours have in common."""
    return next(
        (level for level, (a, b) in enumerate(zip(one, other, strict=False)) if a != b), min(len(one), len(other))
    )


def _fewest(runs: Runs, cuts: list[int | None], floors: Sequence[Floor]) -> list[_Run]:
    """Return the trays of the cheapest division, in order."""
    splits = np.array([_NONE if cut is None else cut for cut in cuts])
    # What the items before a place cost: trays and split sub-assemblies, then grades and areas; and the last tray's.
    halves, areas, firsts = (np.full(len(runs), _NONE) for _ in range(3))
    halves[0] = areas[0] = 0
    for start in range(len(runs) - 1):
        fitting = runs[start][runs[start] < _NONE]
        if halves[start] >= _NONE:
            continue
        to = slice(start + 1, start + 1 + len(fitting))
        half, area = halves[start] + _TRAY + splits[to], areas[start] + fitting // len(floors)
        better = (half < halves[to]) | ((half == halves[to]) & (area < areas[to]))
        halves[to], areas[to] = np.where(better, half, halves[to]), np.where(better, area, areas[to])
        firsts[to][better] = start
    trays: list[_Run] = []
    end = len(runs) - 1
    while end:
        first = int(firsts[end])
        rank, floor = divmod(int(runs[first, end - first - 1]), len(floors))
        grade, area = divmod(rank, _AREA)
        trays.append(_Run(first, end - first, floor, grade, area // floors[floor].width))
        end = first
    return trays[::-1]


def _laid(items: Sequence[Item], run: _Run, floor: Floor, spread: int) -> Packed:
    """Return one tray with the places of its cells, found by walking its tables back."""
    bands = Bands([item.modes for item in items], floor.width, floor.depth, run.grade)
    heights = bands.heights(run.grade)
    counts = list(_band_counts(heights, run.count))
    extra = min(spread, (floor.depth - run.depth) // max(len(counts) - 1, 1))
    cells: list[Cell] = []
    rules: list[Rule] = []
    start = top = 0
    for number, count in enumerate(counts):
        height = int(heights[count][start])
        above = top - extra // 2 if number else 0
        below = top + height + (extra - extra // 2 if number + 1 < len(counts) else 0)
        if number:
            rules.append((0, above, floor.width, above))
        for field in bands.cut(start, count, height, top, run.grade):
            cells += _cells(bands, field, run.first)
            rules += _rules(field, above, below)
        start, top = start + count, top + height + extra
    if (end := top - extra) < floor.depth:
        rules.append((0, end, floor.width, end))
    return Packed(run.floor, run.grade, run.depth, tuple(cells), tuple(rules))


def _band_counts(heights: list[Table], cells: int) -> Iterator[int]:
    """Yield how many cells each band of the shallowest layout has; the upper bands as full as they can be."""
    rest = [0] * (cells + 1)
    taken = [0] * cells
    for start in reversed(range(cells)):
        options = [
            (int(heights[count][start]) + rest[start + count], -count)
            for count in range(1, min(len(heights) - 1, cells - start) + 1)
        ]
        rest[start], minus = min(options)
        taken[start] = -minus
    start = 0
    while start < cells:
        yield taken[start]
        start += taken[start]


def _cells(bands: Bands, field: Field, first: int) -> Iterator[Cell]:
    for line in field.lines:
        x = line.x
        for number in range(line.first, line.first + line.count):
            mode = bands.mode(number, line.depth)
            yield Cell(first + number, mode, x, line.y)
            x += bands.cells[number][mode][0]


def _rules(field: Field, above: int, below: int) -> Iterator[Rule]:
    if field.x:
        yield (field.x, above, field.x, below)
    right = field.x + field.width
    for line in field.lines[1:]:
        yield (field.x, line.y, right, line.y)
