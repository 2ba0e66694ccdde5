"""Independent answers about trays: exhaustive enumeration, a plain line breaker, the naive way, and what a layout is.

Nothing here shares code or method with `labelkit.calc.packing`; the enumeration is slow and means to be.
"""

from __future__ import annotations

import random
from bisect import bisect_left
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from functools import lru_cache
from itertools import pairwise, product

from labelkit.calc.packing import Floor, Item, Packed
from labelkit.calc.traycheck import Laid, reading_order

Answer = tuple[int, int, int, int]  # trays, split sub-assemblies, sum of grades, sum of used areas in mm2


# --- exhaustive enumeration of small lists ---------------------------------------------------------------------------


class Enumeration:
    """Every split of a short list into trays, and every layout of every tray.

    A tray is bands from top to bottom, a band is columns, a column is lines, a line is items side by side, each in any
    of its modes. A band in which no column has a second line is of grade 0; one whose last column alone has further
    lines is of grade 1; any other is of grade 2. A tray has the grade of its worst band.
    """

    def __init__(self, items: Sequence[Item]) -> None:
        self.items = tuple(items)
        self._bands = lru_cache(maxsize=None)(self._all_bands)

    def best(self, floors: Sequence[Floor], *, grade: int, keep_whole: bool) -> Answer | None:
        """Return the least answer in lexicographic order, None when no split fits."""
        count, answers = len(self.items), []
        if not count:
            return 0, 0, 0, 0
        for cuts in product((False, True), repeat=count - 1):
            edges = [0, *(k + 1 for k, cut in enumerate(cuts) if cut), count]
            inner = edges[1:-1]
            if keep_whole and any(self._torn(edge, floors, grade) for edge in inner):
                continue
            runs = [self.run(a, b, floors, grade) for a, b in pairwise(edges)]
            if all(run is not None for run in runs):
                grades, areas = (sum(run[k] for run in runs if run) for k in (0, 1))
                answers.append((len(runs), sum(len(self._shared(edge)) for edge in inner), grades, areas))
        return min(answers, default=None)

    def run(self, first: int, end: int, floors: Sequence[Floor], grade: int) -> tuple[int, int] | None:
        """Return the least (grade, used area) of a run of items in one tray, None when it fits no kind."""
        found = []
        mass = sum(item.mass for item in self.items[first:end])
        for floor in floors:
            depths = self.depths(first, end, floor.width)
            found += [
                (level, depth * floor.width)
                for level, depth in enumerate(depths[: grade + 1])
                if depth is not None and depth <= floor.depth and mass <= floor.limit
            ]
        return min(found, default=None)

    def depths(self, first: int, end: int, width: int) -> list[int | None]:
        """Return the least depth of a run of items over all splits into bands, for each grade."""
        least: list[int | None] = [None, None, None]
        for cuts in product((False, True), repeat=end - first - 1):
            edges = [first, *(first + k + 1 for k, cut in enumerate(cuts) if cut), end]
            bands = [self._bands(a, b, width) for a, b in pairwise(edges)]
            for grade in range(3):
                heights = [band[grade] for band in bands]
                if None not in heights:
                    least[grade] = _less(least[grade], sum(height or 0 for height in heights))
        return least

    def _all_bands(self, first: int, end: int, width: int) -> tuple[int | None, ...]:
        """Return the least height of one band of items, for each grade, over all columns, lines and modes."""
        least: list[int | None] = [None, None, None]
        for marks in product("|/ ", repeat=end - first - 1):  # a new column, a new line, side by side
            columns: list[list[list[int]]] = [[[first]]]
            for mark, item in zip(marks, range(first + 1, end), strict=True):
                if mark == "|":
                    columns.append([[item]])
                elif mark == "/":
                    columns[-1].append([item])
                else:
                    columns[-1][-1].append(item)
            lines = [len(column) for column in columns]
            grade = 0 if max(lines) == 1 else 1 if max(lines[:-1], default=1) == 1 else 2
            height = self._least_height(columns, first, end, width)
            for level in range(grade, 3):
                least[level] = _less(least[level], height)
        return tuple(least)

    def _least_height(self, columns: list[list[list[int]]], first: int, end: int, width: int) -> int | None:
        least: int | None = None
        for choice in product(*(self.items[k].modes for k in range(first, end))):
            across = sum(max(sum(choice[k - first][0] for k in line) for line in column) for column in columns)
            if across <= width:
                high = max(sum(max(choice[k - first][1] for k in line) for line in column) for column in columns)
                least = _less(least, high)
        return least

    def _shared(self, edge: int) -> list[tuple[str, ...]]:
        """Return the sub-assemblies, outermost first, that items on both sides of an edge belong to."""
        before, after = self.items[edge - 1].groups, self.items[edge].groups
        shared = []
        for level in range(1, min(len(before), len(after)) + 1):
            if before[:level] != after[:level]:
                break
            shared.append(before[:level])
        return shared

    def _torn(self, edge: int, floors: Sequence[Floor], grade: int) -> bool:
        """Say whether a cut here parts a sub-assembly that one tray could hold."""
        for prefix in self._shared(edge):
            first, end = edge - 1, edge
            while first > 0 and self.items[first - 1].groups[: len(prefix)] == prefix:
                first -= 1
            while end < len(self.items) and self.items[end].groups[: len(prefix)] == prefix:
                end += 1
            if self.run(first, end, floors, grade) is not None:
                return True
        return False


@dataclass(frozen=True, slots=True)
class Case:
    """A short list to be packed, and how."""

    items: tuple[Item, ...]
    floors: tuple[Floor, ...]
    grade: int
    keep_whole: bool


def short_case(seed: int) -> Case:
    """Return a list of 3 to 6 parts in trays in which a few of them fit; every third has two kinds of tray.

    Large and small parts are mixed so that columns often decide; every fourth list has pairs of sub-assemblies of
    which one and a half are as heavy as a tray may be, so that the answer turns on keeping them whole.
    """
    chance, pairs = random.Random(f"short {seed}"), seed % 4 == 0
    floors = tuple(
        Floor(chance.randint(60, 100), chance.randint(60, 80), 100 if pairs else chance.choice((50, 90, 1000)))
        for _ in range(1 + (seed % 3 == 0))
    )
    groups, place, stay = (("a",), ("a", "b"), ("c",), (), ("d",), ("d", "e")), chance.randrange(6), chance.random()
    items = []
    for number in range(6 if pairs else chance.choice((3, 4, 4, 5, 5, 6))):
        least, most = (8, 30) if pairs else chance.choice(((8, 30), (8, 30), (30, 60)))
        modes = {(chance.randint(least, most), chance.randint(least, most)) for _ in range(chance.randint(1, 3))}
        kept = [mode for mode in modes if not any(o != mode and o[0] <= mode[0] and o[1] <= mode[1] for o in modes)]
        items.append(Item(tuple(sorted(kept)), 30 if pairs else chance.randint(0, 40), groups[place % 6]))
        place += number % 2 == 1 if pairs else chance.random() > stay
    return Case(tuple(items), floors, chance.choice((0, 1, 2, 2)), chance.random() < 0.6)


def _less(one: int | None, other: int | None) -> int | None:
    return min((each for each in (one, other) if each is not None), default=None)


# --- a plain line breaker, and the naive way -------------------------------------------------------------------------


def line_depth(items: Sequence[Item], width: int, *, band: int = 400, most: int = 40) -> int:
    """Return the least depth of lines in one endless tray, by the textbook recurrence over the last line."""
    least = [0] + [0] * len(items)
    for end in range(1, len(items) + 1):
        found = []
        for start in range(end - 1, max(0, end - most) - 1, -1):
            height = line_height(items[start:end], width)
            if height is None or height > band:
                break
            found.append(least[start] + height)
        least[end] = min(found)
    return least[-1]


def line_height(items: Sequence[Item], width: int) -> int | None:
    """Return the least depth that one of the modes has at which the items stand side by side, None if at none."""
    heights = sorted({depth for item in items for _, depth in item.modes})

    def stand(height: int) -> bool:
        across = [min((w for w, depth in item.modes if depth <= height), default=width + 1) for item in items]
        return sum(across) <= width

    place = bisect_left(heights, True, key=stand)
    return heights[place] if place < len(heights) else None


def fixed_boxes(items: Sequence[Item], floor: Floor) -> list[tuple[int, int]]:
    """Return one box for each item as someone without the modes takes it: the least deep one that fits the tray."""
    return [
        min((mode for mode in item.modes if mode[0] <= floor.width and mode[1] <= floor.depth), key=lambda m: m[::-1])
        for item in items
    ]


def next_fit(boxes: Sequence[tuple[int, int]], masses: Sequence[int], floor: Floor) -> tuple[int, int]:
    """Return trays and strip depth of the naive way: a part that does not fit the line begins the next one."""
    trays = top = strip = across = high = mass = 0
    for (width, depth), grams in zip(boxes, masses, strict=True):
        if not trays or mass + grams > floor.limit:
            trays, top, across, high, mass, strip = trays + 1, 0, 0, 0, 0, strip + high
        if across + width > floor.width:
            top, across, strip, high = top + high, 0, strip + high, 0
        if top + max(high, depth) > floor.depth:
            trays, top, across, mass, strip, high = trays + 1, 0, 0, 0, strip + high, 0
        across, high, mass = across + width, max(high, depth), mass + grams
    return trays, strip + high


# --- what a layout is ------------------------------------------------------------------------------------------------


@dataclass(frozen=True, slots=True)
class Box:
    """A cell as it lies: left, top, right and bottom edge."""

    left: int
    top: int
    right: int
    bottom: int


def boxes_of(packed: Packed, items: Sequence[Item]) -> list[Box]:
    """Return the cells of a tray as boxes, in its own order."""
    found = []
    for cell in packed.cells:
        width, depth = items[cell.item].modes[cell.mode]
        found.append(Box(cell.x, cell.y, cell.x + width, cell.y + depth))
    return found


def overlaps(boxes: Sequence[Box]) -> int:
    """Count the pairs of boxes that have an area in common."""
    ordered = sorted(boxes, key=lambda box: box.left)
    count = 0
    for place, one in enumerate(ordered):
        for other in ordered[place + 1 :]:
            if other.left >= one.right:
                break
            count += one.top < other.bottom and other.top < one.bottom
    return count


def crossings(boxes: Sequence[Box], rules: Sequence[tuple[int, int, int, int]]) -> int:
    """Count the pairs of a printed rule and a box that it runs through."""
    return sum(
        max(box.left, min(x1, x2)) < min(box.right, max(x1, x2)) and box.top < y1 < box.bottom
        if y1 == y2
        else max(box.top, min(y1, y2)) < min(box.bottom, max(y1, y2)) and box.left < x1 < box.right
        for x1, y1, x2, y2 in rules
        for box in boxes
    )


def answer(trays: Sequence[Packed], items: Sequence[Item], floors: Sequence[Floor]) -> Answer:
    """Return what a packing claims to have reached, in the order of its aims."""
    everything = Enumeration(items)
    edges = [tray.cells[0].item for tray in trays[1:]]
    return (
        len(trays),
        sum(len(everything._shared(edge)) for edge in edges),
        sum(tray.grade for tray in trays),
        sum(tray.depth * floors[tray.floor].width for tray in trays),
    )


def wrong_successors(order: Sequence[int]) -> int:
    """Count the items whose successor in a reading order is not the next item; 0 is what a sheet must have."""
    place = {item: k for k, item in enumerate(order)}
    return sum(place[item + 1] != place[item] + 1 for item in range(len(order) - 1))


def read(tray: Packed, items: Sequence[Item], floor: Floor) -> list[int]:
    """Return the places of a tray in the order in which a reader of its printed rules meets them."""
    laid = []
    for box in boxes_of(tray, items):
        corners = ((box.left, box.top), (box.right, box.top), (box.right, box.bottom), (box.left, box.bottom))
        laid.append(Laid("", (corners,), (), (0, 0, 0, 0), 0))
    return reading_order(laid, tray.rules, floor.width, floor.depth)


def faults(trays: Sequence[Packed], items: Sequence[Item], floors: Sequence[Floor]) -> Iterator[str]:
    """Yield what is wrong with a packing, a sentence each: nothing for one that may be printed."""
    laid = [cell.item for tray in trays for cell in tray.cells]
    if laid != list(range(len(items))):
        yield f"items in the order {laid}"
    for name, tray in enumerate(trays):
        floor, boxes = floors[tray.floor], boxes_of(tray, items)
        if overlaps(boxes):
            yield f"tray {name}: {overlaps(boxes)} overlaps"
        if crossings(boxes, tray.rules):
            yield f"tray {name}: a rule runs through a cell"
        deepest = max(box.bottom for box in boxes)
        if deepest != tray.depth:
            yield f"tray {name}: claims a depth of {tray.depth}, reaches {deepest}"
        if any(box.left < 0 or box.top < 0 or box.right > floor.width or box.bottom > floor.depth for box in boxes):
            yield f"tray {name}: a cell stands out"
        if any(not (0 <= x <= floor.width and 0 <= y <= floor.depth) for rule in tray.rules for x, y in _ends(rule)):
            yield f"tray {name}: a rule stands out"
        if sum(items[cell.item].mass for cell in tray.cells) > floor.limit:
            yield f"tray {name}: too heavy"
        if wrong_successors(read(tray, items, floor)):
            yield f"tray {name}: reads {read(tray, items, floor)}"
        if grade_of(tray, floor.width) != tray.grade:
            yield f"tray {name}: claims grade {tray.grade}, its rules make it {grade_of(tray, floor.width)}"


def grade_of(tray: Packed, width: int) -> int:
    """Return the reading grade that the printed rules of a tray make: of its worst band."""
    across = sorted(y1 for x1, y1, x2, y2 in tray.rules if y1 == y2 and (x1, x2) == (0, width))
    inner = [rule for rule in tray.rules if rule[1] != rule[3] or (rule[0], rule[2]) != (0, width)]
    worst = 0
    for top, bottom in zip([0, *across], [*across, tray.depth], strict=True):
        band = [rule for rule in inner if top <= rule[1] and rule[3] <= bottom]
        columns = [x1 for x1, _, x2, _ in band if x1 == x2]
        lines = [x1 for x1, y1, _, y2 in band if y1 == y2]
        if len(columns) > 1 or any(x < min(columns, default=0) for x in lines):
            worst = 2
        elif lines:
            worst = max(worst, 1)
    return worst


def _ends(rule: tuple[int, int, int, int]) -> tuple[tuple[int, int], tuple[int, int]]:
    return rule[:2], rule[2:]
