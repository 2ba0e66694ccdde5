"""The trays of a job: which part lies where, what stands on the floor and why.

Parts lie in removal order, so that the rebuilder reads a tray backwards. A sub-assembly that is opened altogether has
no place of its own: its parts have theirs.
"""

from __future__ import annotations

import math
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from decimal import ROUND_CEILING, Decimal
from functools import cached_property, partial
from typing import Final

from labelkit.calc import packing, traycheck
from labelkit.calc.cells import Mode, cell_modes
from labelkit.calc.footprint import Footprint, footprint, outline
from labelkit.calc.standing import Shelf, Standing, floor_of, reason
from labelkit.calc.steps import Bin, Chosen, Teardown
from labelkit.errors import CapacityError
from labelkit.forms.geometry import Point
from labelkit.model.laying import Laying, Spacing, TrayKind
from labelkit.model.part import Part

# A sub-assembly of which no more than this share is left when its parts are out is nothing but its parts.
_REMAINS: Final = Decimal("0.05")
# Most room added between two bands, mm: enough for fingers, too little to tear a nearly empty tray apart.
_SPREAD: Final = 12
# Whole units with all their parts below this, mm, are likely in the wrong unit.
_TINY: Final = 9.0
# Least gap, mm, at which there is room to keep the rules of columns out of line.
_LEAST_FOR_COLUMNS: Final = 4.0

Rect = tuple[float, float, float, float]


@dataclass(frozen=True)
class Place:
    """Where one bin's things lie on their tray, in the tray's frame: mm, origin left at the back, y to the front.

    Attributes:
        name: letter of the tray and number on it, as B7.
        bin: whose things.
        thing: what is laid down.
        turned: degrees counter-clockwise, as seen from above.
        at: where the plan's origin of each piece lies.
        flag: left, top, width and height of the flag with the step number.
        cell: likewise of all the room it takes, half of the gap included.
        mass: of all that lies here, kg; None when not recorded.
    """

    name: str
    bin: Bin
    thing: Footprint
    turned: float
    at: tuple[Point, ...]
    flag: Rect
    cell: Rect
    mass: Decimal | None

    @property
    def outlines(self) -> tuple[tuple[Point, ...], ...]:
        """The outline of each piece, a closed polygon."""
        return tuple(tuple(outline(self.thing.outer, self.turned, *at)) for at in self.at)

    @property
    def holes(self) -> tuple[tuple[Point, ...], ...]:
        """The openings that go right through, of all pieces."""
        return tuple(tuple(outline(hole, self.turned, *at)) for at in self.at for hole in self.thing.holes)

    @property
    def groups(self) -> tuple[str, ...]:
        """The sub-assemblies it belongs to, the outermost first."""
        return _groups(self.bin)

    @property
    def middle(self) -> Point:
        """The middle of its outlines' areas."""
        found = [_centroid(points) for points in self.outlines]
        return math.fsum(x for x, _ in found) / len(found), math.fsum(y for _, y in found) / len(found)


@dataclass(frozen=True, eq=False)
class LaidTray:
    """One tray with all that lies on it.

    Attributes:
        letter: A, B ... Z, AA ...
        stock: which kind of tray.
        grade: how it is read.
        places: in removal order.
        rules: printed lines, (x1, y1, x2, y2).
    """

    letter: str
    stock: TrayKind
    grade: int
    places: tuple[Place, ...]
    rules: tuple[Rect, ...]

    @property
    def mass(self) -> Decimal:
        """What is known to lie on it, kg."""
        return sum((place.mass for place in self.places if place.mass is not None), Decimal(0))

    @property
    def unweighed(self) -> tuple[str, ...]:
        """Steps whose mass is not recorded."""
        return tuple(place.bin.step for place in self.places if place.mass is None)

    @cached_property
    def centre(self) -> Point | None:
        """Centre of the recorded masses; None when nothing is recorded."""
        total = float(self.mass)
        if not total:
            return None
        moments = [(float(place.mass or 0), place.middle) for place in self.places]
        return math.fsum(m * x for m, (x, _) in moments) / total, math.fsum(m * y for m, (_, y) in moments) / total


@dataclass(frozen=True)
class TrayPlan:
    """All trays of a job.

    Attributes:
        laying: how they were laid out.
        trays: in removal order.
        floor: what goes on no tray.
        opened: step of a sub-assembly that is nothing but its parts, to the step of the first of them.
        warnings: what was noticed.
    """

    laying: Laying
    trays: tuple[LaidTray, ...]
    floor: tuple[Standing, ...]
    opened: Mapping[str, str]
    warnings: tuple[str, ...]

    @cached_property
    def places(self) -> Mapping[str, tuple[LaidTray, Place]]:
        """Tray and place by step; those of its first part for a sub-assembly that is opened altogether."""
        found = {place.bin.step: (tray, place) for tray in self.trays for place in tray.places}
        for step in reversed(list(self.opened)):
            first = self.opened[step]
            if first in found:
                found[step] = found[first]
        return found


def narrowed(plan: TrayPlan, teardown: Teardown) -> TrayPlan:
    """Return a plan without what is no longer there: a choice made later leaves a place empty and moves nothing.

    Args:
        plan: laid out when options were still open.
        teardown: what is there under the options now.
    """
    there = {each.step: each for each in teardown.bins}
    trays = []
    for tray in plan.trays:
        left = tuple(replace(place, bin=there[place.bin.step]) for place in tray.places if place.bin.step in there)
        if left:
            trays.append(replace(tray, places=left))
    floor = tuple(replace(each, bin=there[each.bin.step]) for each in plan.floor if each.bin.step in there)
    opened = {step: first for step, first in plan.opened.items() if step in there}
    return replace(plan, trays=tuple(trays), floor=floor, opened=opened)


def lay_out(teardown: Teardown, laying: Laying, shelf: Shelf = tuple) -> TrayPlan:
    """Lay out the trays of a job.

    Args:
        teardown: its parts in removal order.
        laying: trays and rules.
        shelf: gives the other trays there are, to say which of them would take what stands on the floor.

    Raises:
        CapacityError: the layout failed its own check; it must not be printed.
    """
    opened = dict(_opened(teardown))
    floors = [floor_of(tray) for tray in laying.trays]
    sizes = [(floor.width, floor.depth) for floor in floors]
    lying: list[tuple[Bin, Footprint, tuple[Mode, ...], Decimal | None]] = []
    items: list[packing.Item] = []
    standing: list[Standing] = []
    for each in teardown.bins:
        if each.step in opened:
            continue
        thing, mass = footprint(each.part), mass_on_tray(each.part, teardown.chosen)
        modes = cell_modes(thing, laying.spacing, sizes)
        item = packing.Item(tuple((mode.width, mode.depth) for mode in modes), _grams(mass), _groups(each))
        whole = _grams(_whole(each.part))
        if all(whole > floor.limit for floor in floors) or not any(packing.fits(item, floor) for floor in floors):
            say = partial(reason, each.part, thing, max(whole, item.mass), laying, shelf)
            standing.append(Standing(each, say))
        else:
            lying.append((each, thing, modes, mass))
            items.append(item)
    # Rules of neighbouring columns are kept out of line with each other, which takes some room.
    grade = laying.grade if laying.spacing.gap >= _LEAST_FOR_COLUMNS else min(laying.grade, 1)
    packed = packing.pack(items, floors, grade=grade, keep_whole=laying.keep_whole, spread=_SPREAD)
    trays = []
    for number, filled in enumerate(packed):
        letter = _letter(number)
        places = tuple(
            _place(f"{letter}{place}", *lying[cell.item], cell, laying.spacing)
            for place, cell in enumerate(filled.cells, 1)
        )
        kind = laying.trays[filled.floor]
        rules = [_to_the_wall(rule, floors[filled.floor], kind) for rule in filled.rules]
        straight = _out_of_line(rules, laying.spacing.gap / 4)
        trays.append(LaidTray(letter, kind, filled.grade, places, straight))
    for tray in trays:
        if faults := tray_faults(tray, laying.spacing):
            raise CapacityError(f"tray {tray.letter} failed its check and is not printed: {'; '.join(faults)}")
    return TrayPlan(laying, tuple(trays), tuple(standing), opened, tuple(_warnings(lying, trays)))


def _out_of_line(rules: Sequence[Rect], shift: float) -> tuple[Rect, ...]:
    """Return the rules of a tray with those that continue each other across an upright rule moved out of line.

    Left in line they would be read as one rule, and the columns they belong to as torn apart.

    Args:
        rules: (x1, y1, x2, y2).
        shift: how far a rule may move up or down without touching anything, mm.

    >>> _out_of_line([(0, 50, 80, 50), (80, 0, 80, 100), (80, 50, 200, 50)], 2)
    ((0, 48, 80, 48), (80, 0, 80, 100), (80, 52, 200, 52))
    """
    level = [(x1, x2, y1) for x1, y1, x2, y2 in rules if y1 == y2]
    ends, starts = {(x2, y) for _, x2, y in level}, {(x1, y) for x1, _, y in level}
    moved = []
    for x1, y1, x2, y2 in rules:
        if y1 == y2 and ((x1, y1) in ends or (x2, y1) in starts):
            # The first of them goes up, the next one down, and so on.
            before = sum(1 for a, _, y in level if y == y1 and a < x1)
            y1 = y2 = y1 + (shift if before % 2 else -shift)
        moved.append((x1, y1, x2, y2))
    return tuple(moved)


def tray_faults(tray: LaidTray, spacing: Spacing) -> list[str]:
    """Return what is wrong with a tray, found by code that knows nothing of how it was made."""
    laid = [
        traycheck.Laid(place.bin.step, place.outlines, place.holes, place.flag, _grams(place.mass))
        for place in tray.places
    ]
    width, depth = tray.stock.size_mm
    limit = floor_of(tray.stock).limit
    return traycheck.faults(
        laid, tray.rules, width=width, depth=depth, gap=spacing.gap, flag_gap=spacing.flag_gap, limit_g=limit
    )


def mass_on_tray(part: Part, chosen: Chosen) -> Decimal | None:
    """Return what lies at a part's own place, kg: all its pieces, without what is taken out of them later."""
    whole = _whole(part)
    if whole is None:
        return None
    inner = [_whole(each) or Decimal(0) for each in part.parts for _ in range(each.used) if _comes_out(each, chosen)]
    return max(whole - sum(inner, Decimal(0)), Decimal(0))


def nothing_but_parts(part: Part, chosen: Chosen) -> bool:
    """Say whether next to nothing of a sub-assembly is left when its parts are out, by its mass where it is known."""
    whole, left = _whole(part), mass_on_tray(part, chosen)
    return part.form is None if whole is None or left is None else left <= whole * _REMAINS


def _comes_out(part: Part, chosen: Chosen) -> bool:
    return not part.captured and part.matches(dict(chosen)) is not False


def _whole(part: Part) -> Decimal | None:
    if part.mass is None or part.qty == "set":
        return None
    return part.mass.kg * part.qty


def _opened(teardown: Teardown) -> Iterator[tuple[str, str]]:
    """Yield each sub-assembly that is nothing but its parts, with its first part."""
    parts: dict[str, str] = {}
    for each in teardown.bins:
        if each.parent is not None:
            parts.setdefault(each.parent, each.step)
    for each in teardown.bins:
        if each.step in parts and nothing_but_parts(each.part, teardown.chosen):
            yield each.step, parts[each.step]


def _groups(each: Bin) -> tuple[str, ...]:
    """Return the sub-assemblies a bin belongs to, the outermost first; a sub-assembly belongs to itself."""
    steps = each.step.split(".")
    inner = len(steps) if each.part.parts else len(steps) - 1
    return tuple(".".join(steps[:level]) for level in range(1, inner + 1))


def _to_the_wall(rule: packing.Rule, floor: packing.Floor, tray: TrayKind) -> Rect:
    """Return a rule that ends where the whole millimetres of a tray do, drawn on to the wall."""
    x1, y1, x2, y2 = rule
    width, depth = tray.size_mm
    return x1, y1, width if x2 == floor.width else x2, depth if y2 == floor.depth else y2


def _grams(mass: Decimal | None) -> int:
    """Return a mass in whole grams, rounded up; 0 when it is not recorded."""
    return int((mass or Decimal(0)).scaleb(3).to_integral_value(ROUND_CEILING))


def _letter(number: int) -> str:
    """Return A, B ... Z, AA, AB ... for 0, 1 ...

    >>> [_letter(number) for number in (0, 25, 26, 52)]
    ['A', 'Z', 'AA', 'BA']
    """
    letters = ""
    number += 1
    while number:
        number, digit = divmod(number - 1, 26)
        letters = chr(ord("A") + digit) + letters
    return letters


def _place(
    name: str,
    each: Bin,
    thing: Footprint,
    modes: Sequence[Mode],
    mass: Decimal | None,
    cell: packing.Cell,
    spacing: Spacing,
) -> Place:
    mode = modes[cell.mode]
    at = tuple((cell.x + x, cell.y + y) for x, y in mode.at)
    flag = (cell.x + mode.flag[0], cell.y + mode.flag[1], *spacing.flag)
    return Place(name, each, thing, mode.turned, at, flag, (cell.x, cell.y, mode.width, mode.depth), mass)


def _warnings(
    lying: Sequence[tuple[Bin, Footprint, tuple[Mode, ...], Decimal | None]], trays: Sequence[LaidTray]
) -> Iterator[str]:
    boxes = [thing.plan.outer.box() for _, thing, _, _ in lying if thing.plan]
    sizes = [max(box.width, box.height) for box in boxes]
    if sizes and max(sizes) < _TINY:
        yield f"the largest part is {max(sizes):g} mm: is the unit of length right?"
    for tray in trays:
        sets = [p.bin.step for p in tray.places if p.bin.part.qty == "set" and p.bin.part.mass is not None]
        if unknown := [step for step in tray.unweighed if step not in sets]:
            yield f"tray {tray.letter}: the mass of step {', '.join(unknown)} is not recorded"
        if uncounted := [step for step in tray.unweighed if step in sets]:
            yield f"tray {tray.letter}: how many of step {', '.join(uncounted)} there are is not recorded"


def _centroid(points: Sequence[Point]) -> Point:
    """Return the middle of a polygon's area, from its first moments."""
    area = mx = my = 0.0
    for (x1, y1), (x2, y2) in zip(points, [*points[1:], points[0]], strict=True):
        cross = x1 * y2 - x2 * y1
        area, mx, my = area + cross / 2, mx + (x1 + x2) * cross / 6, my + (y1 + y2) * cross / 6
    return mx / area, my / area
