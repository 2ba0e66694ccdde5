"""Rows of a label: which of them fit, in which variant, and how they share the height.

A row comes in variants, from the smallest to the fullest. They are granted by rank while there is room, so that what
matters most is there first and grows first; what is left of the height then makes all rows a little larger.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from enum import IntEnum, auto
from typing import Final

from labelkit.drawing.page import Box, Item

_SLACK: Final = 1e-6
# Further lines come only where the gaps can be this much wider: a label that is full is not read.
_AIR: Final = 1.7


class Rank(IntEnum):
    """How soon a variant is granted: first what every label has, as small as can be read; then what makes it larger."""

    STEP = auto()
    CODE = auto()
    LOUD = auto()
    NAME = auto()
    WAY = auto()
    WHOSE = auto()
    LOUD_SHORT = auto()
    LOUD_WHOLE = auto()
    NAME_NEAR = auto()
    WAY_NEAR = auto()
    LOUD_NEAR = auto()
    STEP_LARGE = auto()
    NAME_ARM = auto()
    LOUD_ARM = auto()
    WAY_ARM = auto()
    DRAWN = auto()
    NAME_LARGE = auto()
    DRAWN_LARGE = auto()
    LOUD_LARGE = auto()
    FURTHER = auto()  # and all after it


@dataclass(frozen=True, slots=True)
class Variant:
    """One way to draw a row.

    Attributes:
        rank: how soon it is granted: the lowest first.
        least, most: the height it can use, mm.
        draw: draws it in the box it gets.
        width: the least width that it can be drawn in, mm; a variant that must be there whatever its width says 0.
        full: up to which width more room makes it larger, mm; 0 for one that gains nothing.
        ample: the height it takes of what else would be air, once all rows have their most, mm.
    """

    rank: int
    least: float
    most: float
    draw: Callable[[Box], list[Item]]
    width: float = 0.0
    full: float = 0.0
    ample: float = 0.0


Row = tuple[Variant, ...]
Room = Callable[[float, float], Box]


def fitting(rows: Sequence[Row], top: float, height: float, gap: float, room: Room) -> list[Variant]:
    """Return the variant of each row that fits, in their order; a row without a variant that fits is left out.

    Args:
        rows: from the top, each from its smallest variant to its fullest.
        top: where the first row begins.
        height: of all rows with the gaps between them, mm.
        gap: between two rows, mm.
        room: gives the box of a row by its top and height: symbols may narrow it.
    """

    def fits(variants: list[Variant]) -> bool:
        boxes = standing(variants, top, gap, room)
        roomy = all(each.width <= box.width + _SLACK for each, box in zip(variants, boxes, strict=True))
        return roomy and boxes[-1].bottom - top <= height + _SLACK

    chosen: dict[int, Variant] = {}
    offers = [(variant.rank, place, variant) for place, row in enumerate(rows) for variant in row]
    for _rank, place, variant in sorted(offers, key=lambda offer: offer[:2]):
        if place in chosen or variant is rows[place][0]:
            trial = {**chosen, place: variant}
            if fits([trial[key] for key in sorted(trial)]):
                chosen = trial
    return [chosen[place] for place in sorted(chosen)]


def standing(rows: Sequence[Variant], top: float, gap: float, room: Room) -> list[Box]:
    """Return the box that each row has where all are as small as they may be; arguments as for `fitting`."""
    between = gap * _AIR if any(each.rank >= Rank.FURTHER for each in rows) else gap
    boxes = []
    for each in rows:
        boxes.append(room(top, each.least))
        top += each.least + between
    return boxes


def placed(
    kept: Sequence[Variant], top: float, height: float, gap: float, room: Room, edges: Sequence[float]
) -> list[Item]:
    """Draw rows below each other so that they fill the height: some air first, then growth, the rest is air.

    A row that would be larger in more width goes below the symbol beside it, as far as there is air for that.

    Args:
        kept: what `fitting` returned for the same `top`, `height`, `gap` and `room`.
        top: where the first row begins.
        height: of all rows with the gaps between them, mm.
        gap: between two rows, mm.
        room: gives the box of a row by its top and height.
        edges: where rows may be wider below, mm.
    """
    between = len(kept) - 1
    spare = max(0.0, height - math.fsum(variant.least for variant in kept) - gap * between)
    air = min(spare, gap * 1.2 * between)
    heights = [variant.least for variant in kept]
    for wanted in ([variant.most for variant in kept], [max(variant.most, variant.ample) for variant in kept]):
        growth = math.fsum(wanted) - math.fsum(heights)
        share = min(1.0, (spare - air) / growth) if growth > 0 else 0.0
        heights = [tall + (most - tall) * share for tall, most in zip(heights, wanted, strict=True)]
        spare -= growth * share
    air = spare
    items: list[Item] = []
    for place, (variant, tall) in enumerate(zip(kept, heights, strict=True)):
        if place:
            even = top + air / (between - place + 1)
            last = top + air + tall
            start = _widened(variant, even, last, tall, room, edges)
            tall = min(tall, last - start)
            air, top = last - start - tall, start
        items += variant.draw(room(top, tall))
        top += tall + gap
    return items


def _widened(variant: Variant, top: float, last: float, tall: float, room: Room, edges: Sequence[float]) -> float:
    """Return where a row begins that ends at `last` at the latest: at `top`, or at an edge below which it is larger."""

    def used(start: float) -> float:
        return min(variant.full, room(start, min(tall, last - start)).width)

    below = (edge for edge in sorted(edges) if top < edge <= last - variant.least and used(edge) > used(top))
    return next(below, top)
