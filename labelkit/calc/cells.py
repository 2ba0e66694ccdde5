"""Cells: the room of one bin on a tray, its outlines and its flag together, in every way they can lie.

A cell is the box of outlines and flag, grown by half the gap on all sides; cells may then touch each other and the
wall, and every clear distance is at least the gap. Sizes are rounded up to whole millimetres.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass, replace
from typing import Final

import numpy as np

from labelkit.calc.footprint import Footprint, box_of, encloses, enters, outline
from labelkit.forms.geometry import Point
from labelkit.model.laying import Spacing

# Steps in which a long part is turned until it fits, degrees.
_ANGLE_STEP: Final = 0.25
# Sizes that are whole but for rounding errors stay whole.
_NOISE: Final = 1e-6


@dataclass(frozen=True, slots=True)
class _Rows:
    """Pieces side by side in rows; where each lies is worked out when it is asked for, as most ways are not taken.

    Attributes:
        count: of pieces.
        columns: of them in a row.
        pitch: from one to the next, across and down.
        first: where the first one's origin lies, from the left top corner of all.
        shift: of all of them.
    """

    count: int
    columns: int
    pitch: Point
    first: Point
    shift: float = 0.0

    def points(self) -> tuple[Point, ...]:
        (across, down), (x, y), columns, shift = self.pitch, self.first, self.columns, self.shift
        return tuple((k % columns * across + x + shift, k // columns * down + y + shift) for k in range(self.count))


@dataclass(frozen=True, slots=True)
class Mode:
    """One way a bin's things lie in their cell.

    Attributes:
        width: of the cell, whole mm.
        depth: likewise.
        turned: degrees counter-clockwise, as seen from above.
        rows: its pieces.
        flag: left top corner of the flag, from the cell's, mm, y down.
    """

    width: int
    depth: int
    turned: float
    rows: _Rows
    flag: Point

    @property
    def at(self) -> tuple[Point, ...]:
        """Where the plan's origin of each piece lies, from the cell's left top corner, mm, y down."""
        return self.rows.points()


@dataclass(frozen=True, slots=True)
class _Block:
    """Pieces side by side in a box whose left top corner is the origin."""

    width: float
    depth: float
    turned: float
    rows: _Rows
    # width free at the right of the last row of pieces, and that row's top and depth
    free: tuple[float, float, float] | None = None


def cell_modes(thing: Footprint, spacing: Spacing, floors: Iterable[tuple[int, int]]) -> tuple[Mode, ...]:
    """Return the ways a bin's things may lie, none of them beaten in both width and depth.

    Args:
        thing: what is laid down.
        spacing: how close.
        floors: width and depth of the trays there are; a thing that fits one of them in no other way is turned by
            the angle that takes the least depth.
    """
    blocks = [block for turned in ((0.0, 90.0) if thing.turns else (0.0,)) for block in _blocks(thing, turned, spacing)]
    modes = [_mode(block, flag, spacing) for block in blocks for flag in _flags(thing, block, spacing)]
    for width, depth in floors:
        if thing.turns and thing.count == 1 and not any(m.width <= width and m.depth <= depth for m in modes):
            modes += _at_an_angle(thing, width, depth, spacing)
    return _unbeaten(modes)


def smallest_gap(thing: Footprint, spacing: Spacing, floor: tuple[int, int]) -> float | None:
    """Return the largest whole gap, less than `spacing.gap`, at which a thing fits a tray; None when no gap helps."""
    for gap in range(math.ceil(spacing.gap) - 1, -1, -1):
        closer = replace(spacing, gap=float(gap))
        if any(m.width <= floor[0] and m.depth <= floor[1] for m in cell_modes(thing, closer, [floor])):
            return float(gap)
    return None


def _unbeaten(modes: Sequence[Mode]) -> tuple[Mode, ...]:
    best: list[Mode] = []
    for mode in sorted(modes, key=lambda m: (m.width, m.depth)):
        if not best or mode.depth < best[-1].depth:
            best.append(mode)
    return tuple(best)


def _mode(block: _Block, flag: Point, spacing: Spacing) -> Mode:
    half = spacing.gap / 2
    right = max(block.width, flag[0] + spacing.flag[0])
    bottom = max(block.depth, flag[1] + spacing.flag[1])
    return Mode(
        width=math.ceil(right + spacing.gap - _NOISE),
        depth=math.ceil(bottom + spacing.gap - _NOISE),
        turned=block.turned,
        rows=replace(block.rows, shift=half),
        flag=(flag[0] + half, flag[1] + half),
    )


def _blocks(thing: Footprint, turned: float, spacing: Spacing) -> Iterator[_Block]:
    """Yield the pieces in every number of rows."""
    r = thing.round
    left, top, right, bottom = (-r, -r, r, r) if r else box_of(outline(thing.outer, turned, 0.0, 0.0))
    width, depth = right - left, bottom - top
    shown: set[int] = set()
    for rows in range(1, thing.count + 1):
        columns = math.ceil(thing.count / rows)
        if columns in shown:
            continue
        shown.add(columns)
        rows = math.ceil(thing.count / columns)
        across, down = width + spacing.gap, depth + spacing.gap
        lying = _Rows(thing.count, columns, (across, down), (-left, -top))
        last = thing.count - (rows - 1) * columns
        free = (last * across - spacing.gap, (rows - 1) * down, depth) if last < columns else None
        yield _Block(columns * across - spacing.gap, rows * down - spacing.gap, turned, lying, free)


def _flags(thing: Footprint, block: _Block, spacing: Spacing) -> Iterator[Point]:
    """Yield where the flag may be: right of the block, below it, or where the things themselves leave room."""
    (width, height), gap = spacing.flag, spacing.flag_gap
    if not width or not height:
        yield 0.0, 0.0
        return
    yield block.width + gap, 0.0
    yield 0.0, block.depth + gap
    if block.free:
        below = max(gap - spacing.gap, 0.0)  # the row above is one of its own, too
        if width + gap <= block.width - block.free[0] and below + height <= block.free[2]:
            yield block.free[0] + gap, block.free[1] + below
    if thing.count > 1:
        return
    if thing.round:
        yield from _beside_a_disc(thing, spacing)
    else:
        yield from _in_a_corner(thing, block, spacing)


def _beside_a_disc(thing: Footprint, spacing: Spacing) -> Iterator[Point]:
    """Yield the places tucked into the corner of a disc, and inside its bore."""
    r, (width, height), gap = thing.round, spacing.flag, spacing.flag_gap
    reach = r + gap
    if r > height:
        yield r + math.sqrt(reach**2 - (r - height) ** 2), 0.0
    if r > width / 2:
        yield 0.0, r + math.sqrt(reach**2 - max(r - width, 0.0) ** 2)
    if 2 * thing.bore >= math.hypot(width, height) + 2 * gap:
        yield r - width / 2, r - height / 2


def _in_a_corner(thing: Footprint, block: _Block, spacing: Spacing) -> Iterator[Point]:
    """Yield the corners of the box, and the middles of holes, that are free for the flag."""
    width, height = spacing.flag
    ((x0, y0),) = block.rows.points()
    points = outline(thing.outer, block.turned, x0, y0)
    if block.width >= width and block.depth >= height:
        for x, y in ((block.width - width, 0.0), (0.0, 0.0), (0.0, block.depth - height)):
            if not _touches(points, x, y, spacing) and not encloses(points, (x + width / 2, y + height / 2)):
                yield x, y
    for hole in thing.holes:
        rim = outline(hole, block.turned, x0, y0)
        left, top, right, bottom = box_of(rim)
        x, y = (left + right - width) / 2, (top + bottom - height) / 2
        if encloses(rim, (x + width / 2, y + height / 2)) and not _touches(rim, x, y, spacing):
            yield x, y


def _touches(points: list[Point], x: float, y: float, spacing: Spacing) -> bool:
    """Say whether an edge of a polygon comes into the flag's box at (x, y), grown by its distance."""
    gap = spacing.flag_gap - _NOISE
    left, top = x - gap, y - gap
    right, bottom = x + spacing.flag[0] + gap, y + spacing.flag[1] + gap
    return enters(points, (left, top, right, bottom))


def _at_an_angle(thing: Footprint, width: int, depth: int, spacing: Spacing) -> Iterator[Mode]:
    """Yield the shallowest way to lay a thing at an angle in a tray, with its flag in a free corner or outside."""
    points = np.array(outline(thing.outer, 0.0, 0.0, 0.0))
    turns = np.arange(_ANGLE_STEP, 90.0, _ANGLE_STEP)
    sin, cos = np.sin(np.radians(turns))[:, None], np.cos(np.radians(turns))[:, None]
    # y points down here, so that counter-clockwise is the other way round
    across, down = points[:, 0] * cos + points[:, 1] * sin, points[:, 1] * cos - points[:, 0] * sin
    left, top = across.min(axis=1), down.min(axis=1)
    wide, deep = across.max(axis=1) - left, down.max(axis=1) - top
    fitting = np.flatnonzero((wide + spacing.gap <= width) & (deep + spacing.gap <= depth))
    best: Mode | None = None
    for k in sorted(fitting.tolist(), key=lambda k: float(deep[k])):
        if best and math.ceil(deep[k] + spacing.gap - _NOISE) >= best.depth:
            break
        one = _Rows(1, 1, (0.0, 0.0), (-float(left[k]), -float(top[k])))
        block = _Block(float(wide[k]), float(deep[k]), float(turns[k]), one)
        for flag in _flags(thing, block, spacing):
            mode = _mode(block, flag, spacing)
            if mode.width <= width and mode.depth <= depth and (best is None or mode.depth < best.depth):
                best = mode
    if best:
        yield best
