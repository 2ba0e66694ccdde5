"""Jobs for the trays: seeded synthetic part lists, families whose best layout is known, and hostile lists.

The synthetic lists imitate what comes off a unit: runs of 8 to 14 parts that belong together, of discs and rings
5-220 mm, shafts to 400 mm, plates and polygons to 300 mm, springs, pins and balls. All sizes and masses are invented.
"""

from __future__ import annotations

import math
import random
from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass
from typing import Final

from labelkit.calc.bands import NEVER, band_heights
from labelkit.calc.packing import Floor, Item
from labelkit.errors import CapacityError

STEEL: Final = 7.85e-3  # g/mm3, handbook value
GAP, FLAG, FLAG_GAP = 8.0, (30.0, 15.0), 2.0
TRAY: Final = Floor(600, 400, 10_000)

Size = tuple[float, float]
Modes = tuple[tuple[int, int], ...]


@dataclass(frozen=True, slots=True)
class Shape:
    """A part as it lies: its box in mm as drawn, and what the flag can use of it.

    Attributes:
        width, depth: the box round the outline.
        round: the outline is a disc.
        bore: diameter of an opening through the middle of a disc, 0 for none.
        turns: it may be turned by 90 degrees.
        mass: grams.
        group: its sub-assembly.
    """

    width: float
    depth: float
    mass: int = 100
    round: bool = False
    bore: float = 0.0
    turns: bool = True
    group: str = ""


def own_modes(shape: Shape, *, gap: float = GAP, flag: Size = FLAG, flag_gap: float = FLAG_GAP) -> Modes:
    """Return the cell modes of a shape with its flag right, below, tucked into the corner of a disc or in its bore."""
    wide, high = flag
    boxes = _tucked(shape, flag, flag_gap) if shape.round else []
    sizes = {(shape.width, shape.depth)} | ({(shape.depth, shape.width)} if shape.turns else set())
    for width, depth in sorted(sizes):
        boxes += [(width + flag_gap + wide, max(depth, high)), (max(width, wide), depth + flag_gap + high)]
    return unbeaten((_up(width + gap), _up(depth + gap)) for width, depth in boxes)


def unbeaten(boxes: Iterator[tuple[int, int]] | Sequence[tuple[int, int]]) -> Modes:
    """Return the boxes, narrowest first, that no other beats in both sides."""
    kept: list[tuple[int, int]] = []
    for box in sorted(set(boxes)):
        if not kept or box[1] < kept[-1][1]:
            kept.append(box)
    return tuple(kept)


def _tucked(shape: Shape, flag: Size, flag_gap: float) -> list[Size]:
    (wide, high), r = flag, shape.width / 2
    q, boxes = r + flag_gap, []
    if shape.bore >= math.hypot(wide, high) + 2 * flag_gap:
        boxes.append((2 * r, 2 * r))
    if r > high:
        boxes.append((max(2 * r, r + math.sqrt(q * q - (r - high) ** 2) + wide), 2 * r))
    if r > wide / 2:
        boxes.append((2 * r, max(2 * r, r + math.sqrt(q * q - max(r - wide, 0) ** 2) + high)))
    return boxes


def _up(size: float) -> int:
    return math.ceil(size - 1e-9)


def strip_depth(items: Sequence[Item], width: int, *, grade: int = 2, band: int = 400) -> int:
    """Return the depth that all items take in one endless tray of this width, bands at most `band` deep, mm.

    Raises:
        CapacityError: an item is wider.
    """
    heights = band_heights([item.modes for item in items], width, band, [grade])[grade]
    depths = [0.0]
    for end in range(1, len(items) + 1):
        ways = (
            (depths[end - count], int(heights[count][end - count])) for count in range(1, min(len(heights), end + 1))
        )
        depths.append(min((above + height for above, height in ways if height < NEVER), default=math.inf))
    if depths[-1] == math.inf:
        raise CapacityError(f"an item is wider than {width} mm or deeper than {band} mm")
    return int(depths[-1])


def items_of(shapes: Sequence[Shape], modes: Callable[[Shape], Modes] = own_modes) -> list[Item]:
    """Return the shapes as items to pack; `modes` may be the product's own function behind a small adapter."""
    return [Item(modes(shape), shape.mass, (shape.group,) if shape.group else ()) for shape in shapes]


def job(count: int, seed: int) -> list[Shape]:
    """Return a synthetic part list in removal order: the same seed gives the same list."""
    chance = random.Random(f"trays {count} {seed}")
    shapes: list[Shape] = []
    run = 0
    while len(shapes) < count:
        run += 1
        scale = chance.uniform(0.6, 1.0)
        makers = chance.choice(_RUNS)
        for _ in range(chance.randint(8, 14)):
            width, depth, bore, mass, is_round = chance.choice(makers)(chance, scale)
            grams = max(1, math.ceil(mass))
            turns = is_round or chance.random() < 0.85
            shapes.append(Shape(round(width, 2), round(depth, 2), grams, is_round, round(bore, 2), turns, f"run {run}"))
    return shapes[:count]


_Made = tuple[float, float, float, float, bool]


def _ring(chance: random.Random, scale: float) -> _Made:
    outer = min(220.0, max(5.0, scale * chance.triangular(20, 220, 90)))
    bore = outer * chance.uniform(0.35, 0.9)
    thick = chance.uniform(1.0, 0.24 * outer + 2)
    return outer, outer, bore, STEEL * math.pi / 4 * (outer**2 - bore**2) * thick, True


def _disc(chance: random.Random, scale: float) -> _Made:
    outer = scale * chance.triangular(5, 180, 50)
    thick = chance.uniform(1.0, 0.2 * outer + 2)
    return outer, outer, 0.0, STEEL * math.pi / 4 * outer**2 * thick, True


def _shaft(chance: random.Random, scale: float) -> _Made:
    length = scale * chance.triangular(60, 400, 180)
    thick = length * chance.uniform(0.07, 0.2)
    across = (length, thick) if chance.random() < 0.5 else (thick, length)
    return *across, 0.0, 0.75 * STEEL * math.pi / 4 * thick**2 * length, False


def _plate(chance: random.Random, scale: float) -> _Made:
    width, depth = (scale * chance.triangular(25, 300, 110) for _ in range(2))
    return width, depth, 0.0, 0.7 * STEEL * width * depth * chance.uniform(0.8, 12.0), False


def _spring(chance: random.Random, scale: float) -> _Made:
    thick, length = scale * chance.uniform(6, 40), scale * chance.uniform(15, 120)
    return length, thick, 0.0, 0.15 * STEEL * math.pi / 4 * thick**2 * length, False


def _pin(chance: random.Random, scale: float) -> _Made:
    thick, length = scale * chance.uniform(3, 20), scale * chance.uniform(12, 110)
    return length, thick, 0.0, STEEL * math.pi / 4 * thick**2 * length, False


def _ball(chance: random.Random, scale: float) -> _Made:
    outer = scale * chance.uniform(5, 30)
    return outer, outer, 0.0, STEEL * math.pi / 6 * outer**3, True


# What a run is made of: a geared shaft, a disc pack, a cover, small hardware.
_RUNS: Final = (
    (_ring, _ring, _ring, _disc, _shaft, _pin),
    (_ring, _ring, _ring, _ring, _disc, _spring),
    (_plate, _plate, _ring, _disc, _pin, _spring),
    (_pin, _ball, _spring, _disc, _ring, _plate),
)


# --- families whose best layout is known -----------------------------------------------------------------------------


@dataclass(frozen=True, slots=True)
class Family:
    """Items for one endless tray of a width, and the least depth that any layout of theirs can have."""

    items: tuple[Item, ...]
    width: int
    depth: int


def _cut(chance: random.Random, whole: int, pieces: int, least: int) -> list[int]:
    """Cut a length into pieces of at least `least`, all places of the cuts as likely as each other."""
    spare = whole - pieces * least
    marks = sorted(chance.randint(0, spare) for _ in range(pieces - 1))
    return [least + after - before for before, after in zip([0, *marks], [*marks, spare], strict=True)]


def perfect_lines(seed: int) -> Family:
    """K1: the widths of each line fill the tray and its depths are equal; nothing beats the area."""
    chance = random.Random(f"K1 {seed}")
    width, items, depth = chance.choice((300, 400, 530, 600)), [], 0
    for _ in range(chance.randint(3, 9)):
        high = chance.randint(10, 120)
        depth += high
        items += [Item(((wide, high),)) for wide in _cut(chance, width, chance.randint(1, 8), 8)]
    return Family(tuple(items), width, depth)


def pinned_lines(seed: int) -> Family:
    """K2: each line has one deepest part wider than half the tray; no two such parts have a common height."""
    chance = random.Random(f"K2 {seed}")
    width, items, depth = chance.choice((300, 400, 530, 600)), [], 0
    for _ in range(chance.randint(3, 9)):
        high = chance.randint(20, 120)
        depth += high
        pin = chance.randint(width // 2 + 1, width - 20)
        rest = _cut(chance, width - pin, chance.randint(1, 2), 8)
        line = [Item(((wide, chance.randint(5, high)),)) for wide in rest]
        line.insert(chance.randint(0, len(line)), Item(((pin, high),)))
        items += line
    return Family(tuple(items), width, depth)


def perfect_newspaper(seed: int) -> Family:
    """K3: bands of columns of full lines without any waste; every column has at least two lines."""
    chance = random.Random(f"K3 {seed}")
    width, items, depth = chance.choice((400, 530, 600)), [], 0
    for _ in range(chance.randint(1, 4)):
        high = chance.randint(60, 200)
        depth += high
        for column in _cut(chance, width, chance.randint(2, 4), 60):
            for deep in _cut(chance, high, chance.randint(2, 4), 9):
                items += [Item(((wide, deep),)) for wide in _cut(chance, column, chance.randint(1, 3), 11)]
    return Family(tuple(items), width, depth)


def greedy_trap(times: int = 10) -> Family:
    """K4: a thin part of each pair belongs to the line before; next-fit gets every pair wrong."""
    items = tuple(Item((box,)) for box in ((360, 5), (240, 100), (360, 100), (240, 5)))
    return Family(items * times, 600, 5 + 100 * times + 5 * (times - 1) + 5)


def perfect_trays(seed: int) -> tuple[tuple[Item, ...], Floor, int]:
    """K5: items that fill a number of trays of perfect lines without any waste; that number."""
    chance = random.Random(f"K5 {seed}")
    floor = Floor(chance.choice((400, 600)), chance.choice((300, 400)), 1_000_000)
    trays, items = chance.randint(2, 6), []
    for _ in range(trays):
        for high in _cut(chance, floor.depth, chance.randint(2, 5), 20):
            items += [Item(((wide, high),), 1) for wide in _cut(chance, floor.width, chance.randint(1, 6), 10)]
    return tuple(items), floor, trays


def heavy() -> tuple[tuple[Item, ...], Floor, int]:
    """K6: 50 parts of 1 kg in trays of 7.5 kg, seven in each."""
    return tuple(Item(((40, 40),), 1000) for _ in range(50)), Floor(600, 400, 7500), 8


def three_groups() -> tuple[tuple[Item, ...], Floor]:
    """K7: 12 squares in 3 groups, 6 to a tray: two trays with a split group, or three with none."""
    return tuple(Item(((200, 200),), 100, (f"group {k // 4}",)) for k in range(12)), TRAY


# --- hostile lists that fit, and the trays they need ------------------------------------------------------------------


def hostile() -> dict[str, tuple[list[Item], int]]:
    """Return lists that were made to go wrong, each with the trays of 600 × 400 mm and 10 kg it needs."""
    bare = {"gap": 0.0, "flag": (0.0, 0.0), "flag_gap": 0.0}
    alternating = [Shape(390, 390, 400, True), Shape(5, 5, 1, True)] * 20
    big_run = [Item(((158, 158),), 100, ("drum",)) for _ in range(30)]
    return {
        "nothing": ([], 0),
        "one part": (items_of([Shape(40, 30)]), 1),
        "disc that just fits": ([Item(own_modes(Shape(392, 392, round=True, bore=60)))], 1),
        "shaft with its flag below": (items_of([Shape(590, 20, turns=False)]), 1),
        "large disc and small ball by turns": (items_of(alternating), 20),
        "200 springs of half a millimetre": (items_of([Shape(0.5, 0.5, 1)] * 200), 1),
        "no gap and no flag": ([Item(own_modes(Shape(60, 40, turns=False), **bare))] * 100, 1),
        "gap larger than the parts": ([Item(own_modes(Shape(5, 5, 1, turns=False), gap=92, flag=(3, 3)))] * 20, 1),
        "sizes a hair off": ([Item(own_modes(Shape(size, 392))) for size in (19.999, 20.001)], 1),
        "a sub-assembly larger than a tray": (big_run, 5),
    }
