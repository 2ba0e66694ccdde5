"""Lower bounds of trays: what no layout in removal order can beat, whether its parts stand in lines or not.

A bound knows of each part only its cell modes and its mass. It says how far a layout may be from the best one; it
never says that a layout exists.
"""

from __future__ import annotations

from collections.abc import Sequence
from fractions import Fraction
from itertools import product
from typing import Final

from labelkit.calc.packing import Floor, Item
from labelkit.errors import CapacityError

# Shares of a side for the stretching: six of each side make 36 areas, the first pair the plain area.
SHARES: Final = tuple(Fraction(1, part) for part in (2, 3, 4, 5, 6))


def stretched(side: int, whole: int, edge: int) -> int:
    """Return what a side counts for under dual-feasible stretching, in the same whole millimetres.

    A side longer than `whole - edge` counts as `whole`, one shorter than `edge` as nothing, any other as itself.
    Boxes that lie in one tray without overlap still have room in it, by area, when both of their sides are stretched:
    beside a side that counts as `whole` there is only room for those that count as nothing.

    Args:
        side: a cell's width or depth, from 0 to `whole`.
        whole: the tray's side.
        edge: from 0, which stretches nothing, to half of `whole`.

    Source: Fekete and Schepers, "A general framework for bounds for higher-dimensional orthogonal packing problems",
    Math. Methods Oper. Res. 60 (2004), from memory.

    >>> [stretched(side, 600, 200) for side in (199, 200, 400, 401)]
    [0, 200, 400, 600]
    """
    if side > whole - edge:
        return whole
    return 0 if side < edge else side


def tray_bound(items: Sequence[Item], floor: Floor) -> int:
    """Return the least number of trays of one kind that any split of the items into consecutive runs needs.

    Runs are taken as long as possible: a new tray is begun when the mass of the run, or one of 36 stretched areas of
    its cells, is too much for one. Each test that a run fails, every longer run fails too, so no split has fewer runs.
    Nothing to lay down needs no tray.

    Raises:
        CapacityError: an item fits such a tray in none of its modes, or is heavier than the tray may be.

    >>> square = Item(((310, 210),), mass=400)
    >>> tray_bound([square] * 6, Floor(600, 400, 10_000))
    6
    """
    room = floor.width * floor.depth
    edges = list(product(_edges(floor.width), _edges(floor.depth)))
    trays = mass = 0
    areas = [0] * len(edges)
    for number, item in enumerate(items):
        own = _least_areas(number, item, floor, edges)
        mass += item.mass
        areas = [area + more for area, more in zip(areas, own, strict=True)]
        if not trays or mass > floor.limit or max(areas) > room:
            trays, mass, areas = trays + 1, item.mass, own
    return trays


def depth_bound(items: Sequence[Item], width: int) -> float:
    """Return the least used depth of one endless tray of this width, in mm: the items' smallest cells over its width.

    Holds for every layout that keeps the cells as boxes, in removal order or not. Nothing needs no depth.

    Raises:
        CapacityError: an item is wider than the tray in all of its modes.

    >>> depth_bound([Item(((300, 100), (100, 250)))] * 4, 500)
    200.0
    """
    return sum(_smallest_area(number, item, width) for number, item in enumerate(items)) / width


def _edges(side: int) -> list[int]:
    return [0, *(int(side * share) for share in SHARES)]


def _least_areas(number: int, item: Item, floor: Floor, edges: Sequence[tuple[int, int]]) -> list[int]:
    """Return the item's smallest stretched area for each pair of edges."""
    modes = [(width, depth) for width, depth in item.modes if width <= floor.width and depth <= floor.depth]
    if not modes or item.mass > floor.limit:
        raise CapacityError(
            f"item {number}: cells {_text(item)} mm, {item.mass} g; "
            f"allowed in this tray: up to {floor.width} × {floor.depth} mm, {floor.limit} g"
        )
    return [
        min(stretched(width, floor.width, across) * stretched(depth, floor.depth, along) for width, depth in modes)
        for across, along in edges
    ]


def _smallest_area(number: int, item: Item, width: int) -> int:
    areas = [across * along for across, along in item.modes if across <= width]
    if not areas:
        raise CapacityError(f"item {number}: cells {_text(item)} mm; allowed in this tray: up to {width} mm wide")
    return min(areas)


def _text(item: Item) -> str:
    return ", ".join(f"{width} × {depth}" for width, depth in item.modes)
