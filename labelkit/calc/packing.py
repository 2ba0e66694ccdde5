"""Trays filled in removal order: fewest trays, then fewest split sub-assemblies, simplest reading, least depth.

The layout is optimal, in that order, among all layouts of bands, columns and lines in order (`labelkit.calc.bands`)
with the given modes of the cells, whole millimetres, at most `MOST_IN_BAND` cells in a band and `MOST_IN_COLUMN` in a
column. Everything is whole numbers: mm rounded up, grams rounded up.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from itertools import accumulate, pairwise
from typing import Final

import numpy as np

from labelkit.calc.bands import GRADES, NEVER, Bands, Field, Table, band_heights
from labelkit.errors import CapacityError


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


@dataclass(frozen=True, slots=True, order=True)
class _Run:
    """Items that fill one tray: cheapest first where runs are compared."""

    grade: int
    area: int
    floor: int
    depth: int
    count: int


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
    for number, fitting in enumerate(runs[:-1]):
        if not fitting:
            raise CapacityError(f"item {number} fits no tray")
    trays = _fewest(runs, _cuts(items, runs, keep_whole))
    return tuple(_laid(items[first : first + run.count], first, run, floors[run.floor], spread) for first, run in trays)


def fits(item: Item, floor: Floor) -> bool:
    """Say whether an item fits an empty tray."""
    return item.mass <= floor.limit and any(w <= floor.width and d <= floor.depth for w, d in item.modes)


def strip_depth(items: Sequence[Item], width: int, *, grade: int = 2, band: int = 400) -> int:
    """Return the depth that all items take in one endless tray of this width, bands at most `band` deep, mm.

    Raises:
        CapacityError: an item is wider.
    """
    heights = band_heights([item.modes for item in items], width, band, [grade])[grade]
    depths = _depths(heights)
    if depths[-1] >= _FAR:
        raise CapacityError(f"an item is wider than {width} mm or deeper than {band} mm")
    return depths[-1]


_FAR: Final = 1 << 40


def _depths(heights: list[Table]) -> list[int]:
    """Return the least depth of the first 0, 1, 2 ... cells by the heights of bands."""
    depths = [0]
    for end in range(1, len(heights[0])):
        bands = (
            (depths[end - count] + height if (height := int(heights[count][end - count])) < NEVER else _FAR)
            for count in range(1, min(len(heights) - 1, end) + 1)
        )
        depths.append(min(bands, default=_FAR))
    return depths


def _runs(items: Sequence[Item], floors: Sequence[Floor], highest: int) -> list[list[_Run]]:
    """Return for every start the cheapest runs of 1, 2, 3 ... items that fill one tray; none after the last item."""
    best: list[list[_Run]] = [[] for _ in range(len(items) + 1)]
    mass = np.array([0, *accumulate(item.mass for item in items)], np.int64)
    for kind, floor in enumerate(floors):
        heights = band_heights([item.modes for item in items], floor.width, floor.depth, GRADES[: highest + 1])
        depths = {grade: [np.zeros(len(items) + 1, np.int16)] for grade in heights}
        for count in range(1, len(items) + 1):
            rows = len(items) - count + 1
            light = mass[count:] - mass[:-count] <= floor.limit
            for grade in heights:
                depths[grade].append(_stacked(depths[grade], heights[grade], count, rows, floor.depth))
            found = False
            for start in np.flatnonzero(light & (depths[highest][count] < NEVER)).tolist():
                found = True
                for grade in GRADES:
                    depth = int(depths[grade][count][start])
                    if depth < NEVER:
                        break
                run = _Run(grade, depth * floor.width, kind, depth, count)
                if len(best[start]) < count:
                    best[start].append(run)
                else:
                    best[start][count - 1] = min(best[start][count - 1], run)
            if not found:
                break
    return best


def _stacked(depths: list[Table], heights: list[Table], count: int, rows: int, most: int) -> Table:
    """Return the least depth of `count` cells in bands, by their first cell; `NEVER` beyond `most`."""
    best = np.full(rows, NEVER, np.int16)
    for band in range(1, min(len(heights) - 1, count) + 1):
        above = depths[count - band][:rows]
        np.minimum(best, above + heights[band][count - band : count - band + rows], out=best)
    best[best > most] = NEVER
    return best


def _cuts(items: Sequence[Item], runs: list[list[_Run]], keep_whole: bool) -> list[int | None]:
    """Return for each place between items how many sub-assemblies a cut there splits; None where none is allowed."""
    shared = [0, *(_shared(one.groups, other.groups) for one, other in pairwise(items)), 0]
    cuts: list[int | None] = [*shared[: len(items)], 0]
    for level in range(1, max(shared, default=0) + 1) if keep_whole else ():
        first = 0
        for place in range(1, len(items) + 1):
            if place == len(items) or shared[place] < level:
                if len(runs[first]) >= place - first:
                    cuts[first + 1 : place] = [None] * (place - first - 1)
                first = place
    return cuts


def _shared(one: tuple[str, ...], other: tuple[str, ...]) -> int:
    """Return how many sub-assemblies, from the outermost, two neighbours have in common."""
    return next(
        (level for level, (a, b) in enumerate(zip(one, other, strict=False)) if a != b), min(len(one), len(other))
    )


def _fewest(runs: list[list[_Run]], cuts: list[int | None]) -> Iterator[tuple[int, _Run]]:
    """Yield the trays of the cheapest division: number of the first item and its run."""
    end = len(runs) - 1
    costs: list[tuple[int, int, int, int] | None] = [(0, 0, 0, 0)] + [None] * end
    last: list[_Run | None] = [None] * (end + 1)
    for start, fitting in enumerate(runs):
        cost = costs[start]
        if cost is None:
            continue
        for run in fitting:
            place = start + run.count
            if (split := cuts[place]) is None:
                continue
            new = (cost[0] + 1, cost[1] + split, cost[2] + run.grade, cost[3] + run.area)
            if (old := costs[place]) is None or new < old:
                costs[place], last[place] = new, run
    trays = []
    while (filled := last[end]) is not None:
        end -= filled.count
        trays.append((end, filled))
    yield from reversed(trays)


def _laid(items: Sequence[Item], first: int, run: _Run, floor: Floor, spread: int) -> Packed:
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
            cells += _cells(bands, field, first)
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
