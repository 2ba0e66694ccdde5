"""The check of a laid-out tray before anything prints; it shares no code with the packing that it judges.

Frame: the tray's inside, mm, origin left top corner, y down. Distances are true ones between polygons, which need not
be convex; a polygon counts as solid, so that one inside another overlaps it.

The reader of the printed rules cuts the tray at every rule that runs the full width of its field, else at every one
that runs the full height, again in each field that comes of it, and reads a field without rules from left to right.
The reader sees ink: rules that meet in one line are one rule.
"""

from __future__ import annotations

import itertools
import math
from collections.abc import Collection, Iterator, Sequence
from dataclasses import dataclass
from typing import NamedTuple

import numpy as np

from labelkit.calc import clearance
from labelkit.calc.clearance import FARTHEST, OVERLAP, SLACK, Point, Rect, Ring


@dataclass(frozen=True, slots=True)
class Laid:
    """One place of a tray.

    Attributes:
        step: its step number, as the flag shows it.
        outlines: closed polygons, one for each thing that lies there; they may turn either way.
        holes: openings right through an outline; the flag may lie in one.
        flag: x, y, width, height; a width and height of 0 mean that there is none.
        mass_g: of all that lies there, grams.
    """

    step: str
    outlines: tuple[tuple[Point, ...], ...]
    holes: tuple[tuple[Point, ...], ...]
    flag: Rect
    mass_g: int


def faults(
    laid: Sequence[Laid],
    rules: Sequence[Rect],
    *,
    width: float,
    depth: float,
    gap: float,
    flag_gap: float,
    limit_g: int,
) -> list[str]:
    """Return one sentence for each fault of a tray, which may be printed when there is none.

    Demanded are: outlines and flags `gap` apart and half of it from the wall; a flag `flag_gap` from its own outlines,
    or that far inside one of their holes; no rule that touches anything or parts a place; a reader of the rules who
    always comes to the next step; no more than `limit_g`. With a gap of 0 things and rules may touch.
    The reader is sent through the tray only when every shape and rule is one and no field leaves a choice.

    Args:
        laid: in removal order.
        rules: x1, y1, x2, y2 each, mm.
        width: of the tray inside, mm.
        depth: likewise.
        gap: mm, 0 allowed.
        flag_gap: mm, 0 allowed.
        limit_g: grams.
    """
    given = {"width": width, "depth": depth, "gap": gap, "distance of flags": flag_gap}
    wrong = [f"the {name} is {v} mm, allowed is 0 to 1,000,000" for name, v in given.items() if not 0 <= v < FARTHEST]
    if wrong:
        return wrong
    places = [_place(each, wrong) for each in laid]
    printed = _joined(rules, width, depth, wrong)
    sound = not wrong
    touched = _touched(places, printed) if gap > 0 else []
    wrong += _at_the_wall(places, width, depth, gap / 2)
    wrong += _too_near(places, gap)
    wrong += [sentence for place in places for sentence in _flag_faults(place, flag_gap)]
    wrong += [f"{rule.text} touches step {place.step}" for place, rule in touched]
    if sound:
        wrong += _reading_faults(places, _read(places, printed, width, depth), set(touched))
    total = sum(each.mass_g for each in laid)
    if total > limit_g:
        most = max(laid, key=lambda each: each.mass_g)
        told = f"the heaviest is step {most.step} with {most.mass_g:,} g"
        wrong.append(f"the tray holds {total:,} g, at most {limit_g:,} g is allowed; {told}")
    return wrong


def reading_order(laid: Sequence[Laid], rules: Sequence[Rect], width: float, depth: float) -> list[int]:
    """Return the places, as indices into `laid`, in the order in which a reader of the printed rules meets them.

    What `faults` judges by; tests of layouts hold it against other readers of the same rules. Shapes and rules that are
    none are not seen, nor is a place that has nothing else.

    >>> square = ((4.0, 4.0), (24.0, 4.0), (24.0, 24.0), (4.0, 24.0))
    >>> below = tuple((x, y + 50) for x, y in square)
    >>> right = tuple((x + 50, y) for x, y in square)
    >>> laid = [Laid(str(n), (each,), (), (0, 0, 0, 0), 1) for n, each in enumerate([square, below, right])]
    >>> reading_order(laid, [(50, 0, 50, 100), (0, 40, 50, 40)], 100, 100)
    [0, 1, 2]
    """
    unheard: list[str] = []
    places = [_place(each, unheard) for each in laid]
    number = {place: i for i, place in enumerate(places)}
    return [number[place] for place in _read(places, _joined(rules, width, depth, unheard), width, depth).order]


# --- what is given ---------------------------------------------------------------------------------------------------


@dataclass(frozen=True, slots=True, eq=False)
class _Place:
    """A place with those of its shapes that are any.

    Attributes:
        shown: its outlines, and its flag last.
        box: round all that is shown; all 0 when nothing is.
    """

    step: str
    outlines: Sequence[Ring]
    holes: Sequence[Ring]
    flag: Ring | None
    shown: Sequence[Ring]
    box: Rect


class _Rule(NamedTuple):
    """A printed rule: axis 1 is one across, at a y, from x to x; axis 0 one down, at an x, from y to y."""

    axis: int
    at: float
    start: float
    end: float

    @property
    def ends(self) -> Rect:
        return (self.start, self.at, self.end, self.at) if self.axis else (self.at, self.start, self.at, self.end)

    @property
    def text(self) -> str:
        return f"the rule {_from_to(self.ends)}"


def _place(laid: Laid, wrong: list[str]) -> _Place:
    """Return a place; what is wrong with its shapes goes to `wrong`."""
    if not laid.outlines:
        wrong.append(f"step {laid.step} has no outline")
    if laid.mass_g < 0:
        wrong.append(f"step {laid.step}: the mass is {laid.mass_g} g, below 0")
    x, y, w, h = laid.flag
    flags: tuple[tuple[Point, ...], ...] = ()
    if w < 0 or h < 0:
        wrong.append(f"step {laid.step}: the flag is {w} x {h} mm, below 0")
    elif (w, h) != (0, 0):
        flags = (((x, y), (x + w, y), (x + w, y + h), (x, y + h)),)
    found: dict[str, list[Ring]] = {"outline": [], "hole": [], "flag": []}
    for kind, polygons in zip(found, (laid.outlines, laid.holes, flags), strict=True):
        for number, polygon in enumerate(polygons, start=1):
            name = f"{kind} {number}" if len(polygons) > 1 else kind
            ring = clearance.closed(name, polygon)
            if isinstance(ring, Ring):
                found[kind].append(ring)
            else:
                wrong.append(f"step {laid.step}: the {name} {ring}")
    shown = [*found["outline"], *found["flag"]]
    left, top, right, bottom = zip(*(ring.box for ring in shown), strict=True) if shown else ((0.0,),) * 4
    box = min(left), min(top), max(right), max(bottom)
    return _Place(laid.step, found["outline"], found["hole"], next(iter(found["flag"]), None), shown, box)


def _joined(rules: Sequence[Rect], width: float, depth: float, wrong: list[str]) -> list[_Rule]:
    """Return the rules as a reader sees them, those that meet in one line as one; what is none goes to `wrong`."""
    straight = []
    for x1, y1, x2, y2 in rules:
        level, upright = abs(y2 - y1) <= SLACK, abs(x2 - x1) <= SLACK
        ends = ((x1, width), (x2, width), (y1, depth), (y2, depth))
        if level == upright:
            wrong.append(f"the rule {_from_to((x1, y1, x2, y2))} is neither level nor upright")
        elif not all(-SLACK <= value <= most + SLACK for value, most in ends):
            wrong.append(f"the rule {_from_to((x1, y1, x2, y2))} leaves the tray of {_mm(width)} x {_mm(depth)} mm")
        elif level:
            straight.append(_Rule(1, y1, min(x1, x2), max(x1, x2)))
        else:
            straight.append(_Rule(0, x1, min(y1, y2), max(y1, y2)))
    runs: list[_Rule] = []
    for rule in sorted(straight, key=lambda each: each.start):
        line = (k for k, run in enumerate(runs) if run.axis == rule.axis and abs(run.at - rule.at) <= SLACK)
        met = next((k for k in line if rule.start <= runs[k].end + SLACK), None)
        if met is None:
            runs.append(rule)
        else:
            runs[met] = runs[met]._replace(end=max(rule.end, runs[met].end))
    return runs


def _from_to(ends: Rect) -> str:
    x1, y1, x2, y2 = map(_mm, ends)
    return f"from ({x1}, {y1}) to ({x2}, {y2})"


def _mm(value: float) -> str:
    """Return a length as fine as the slack, so that what is too near never reads as the demand itself."""
    return f"{value:.6f}".rstrip("0").rstrip(".")


# --- what is too near ------------------------------------------------------------------------------------------------


def _at_the_wall(places: Sequence[_Place], width: float, depth: float, demand: float) -> Iterator[str]:
    for place in places:
        for ring in place.shown:
            left, top, right, bottom = ring.box
            clear = {"left": left, "top": top, "right": width - right, "bottom": depth - bottom}
            for wall, found in clear.items():
                if found < demand - SLACK:
                    told = f"{_mm(found)} mm from" if found >= 0 else f"{_mm(-found)} mm beyond"
                    told = f"step {place.step}: the {ring.name} is {told} the {wall} wall"
                    yield f"{told}, at least {_mm(demand)} mm is demanded"


def _too_near(places: Sequence[_Place], demand: float) -> Iterator[str]:
    """Yield one sentence for two places, or outlines of one place, that are too near: where they are nearest."""
    owned = [(number, ring) for number, place in enumerate(places) for ring in place.shown]
    worst: dict[tuple[int, int], tuple[float, str]] = {}
    for i, j in clearance.near_boxes([ring.box for _, ring in owned], demand):
        (first, one), (second, other) = owned[i], owned[j]
        if first == second and other is places[first].flag:
            continue
        found = clearance.clear(one, other, demand)
        if found < demand - SLACK and found < worst.get((first, second), (math.inf, ""))[0]:
            told = "overlap" if found == OVERLAP else f"are {_mm(found)} mm apart"
            worst[first, second] = found, f"{one.name} and {other.name} {told}, at least {_mm(demand)} mm is demanded"
    for (first, second), (_, told) in sorted(worst.items()):
        step, other_step = places[first].step, places[second].step
        yield f"step {step}: {told}" if first == second else f"steps {step} and {other_step}: {told}"


def _flag_faults(place: _Place, demand: float) -> Iterator[str]:
    flag = place.flag
    if flag is None:
        return
    for outline in place.outlines:
        found, what = clearance.clear(flag, outline, demand), outline.name
        if found == OVERLAP:
            around = [hole for hole in place.holes if clearance.within(flag, hole) and clearance.within(hole, outline)]
            found = max((clearance.between(flag, hole, demand) for hole in around), default=OVERLAP)
            what = "edge of its hole"
        if found < demand - SLACK:
            told = f"lies on the {outline.name}" if found == OVERLAP else f"is {_mm(found)} mm from the {what}"
            yield f"step {place.step}: the flag {told}, at least {_mm(demand)} mm is demanded"


def _touched(places: Sequence[_Place], rules: Sequence[_Rule]) -> list[tuple[_Place, _Rule]]:
    """Return the places that a rule touches, with that rule."""
    lines = [(rule, clearance.line_through("rule", np.array(rule.ends).reshape(2, 2))) for rule in rules]
    return [
        (place, rule)
        for place in places
        for rule, line in lines
        if any(clearance.meet(line, ring) for ring in place.shown)
    ]


# --- the reader of the rules -----------------------------------------------------------------------------------------


class _Reading(NamedTuple):
    """What the reader finds: the places of each field without rules, and what is wrong with the rules.

    Attributes:
        fields: in the order of reading.
        parted: places with something on both sides of a rule.
        idle: rules that end inside a field, with the first such field: left, top, right, bottom.
    """

    fields: list[list[_Place]]
    parted: list[tuple[_Place, _Rule]]
    idle: dict[_Rule, Rect]

    @property
    def order(self) -> list[_Place]:
        return list(itertools.chain.from_iterable(self.fields))


def _read(places: Sequence[_Place], rules: Sequence[_Rule], width: float, depth: float) -> _Reading:
    reading = _Reading([], [], {})
    waiting = [((0.0, 0.0, width, depth), [place for place in places if place.shown])]
    while waiting:
        area, members = waiting.pop()
        inside = [rule for rule in rules if _reaches_into(rule, area)]
        full = [rule for rule in inside if _cuts(rule, area)]
        axis = max((rule.axis for rule in full), default=None)
        if axis is None:
            reading.fields.append(sorted(members, key=lambda place: place.box[:2]))
            reading.idle.update((rule, area) for rule in inside if rule not in reading.idle)
            continue
        cuts = sorted(rule for rule in full if rule.axis == axis)
        for place, cut in itertools.product(members, cuts):
            if place.box[axis] < cut.at - SLACK and place.box[axis + 2] > cut.at + SLACK:
                reading.parted.append((place, cut))
        bounds = [area[axis], *(cut.at for cut in cuts), area[axis + 2]]
        parts: list[list[_Place]] = [[] for _ in bounds[1:]]
        for place in members:
            middle = (place.box[axis] + place.box[axis + 2]) / 2
            parts[sum(cut.at < middle for cut in cuts)].append(place)
        for (start, end), part in reversed(list(zip(itertools.pairwise(bounds), parts, strict=True))):
            piece = (area[0], start, area[2], end) if axis else (start, area[1], end, area[3])
            waiting.append((piece, part))
    return reading


def _reaches_into(rule: _Rule, area: Rect) -> bool:
    """Say whether some of a rule is inside a field, not only along its edge."""
    length = min(rule.end, area[3 - rule.axis]) - max(rule.start, area[1 - rule.axis])
    return area[rule.axis] + SLACK < rule.at < area[rule.axis + 2] - SLACK and length > SLACK


def _cuts(rule: _Rule, area: Rect) -> bool:
    """Say whether a rule that reaches into a field runs from edge to edge of it."""
    return rule.start <= area[1 - rule.axis] + SLACK and rule.end >= area[3 - rule.axis] - SLACK


def _reading_faults(
    places: Sequence[_Place], reading: _Reading, touched: Collection[tuple[_Place, _Rule]]
) -> Iterator[str]:
    """Yield what leaves a reader in doubt; when nothing does, where the reader goes wrong."""
    parted = [each for each in reading.parted if each not in touched]
    for rule, area in reading.idle.items():
        yield f"{rule.text} is neither the full width nor the full height of its field {_from_to(area)}"
    for place, rule in parted:
        yield f"{rule.text} parts step {place.step}, which has something on both sides of it"
    if reading.idle or parted:
        return
    stacked = [pair for pair in map(_one_above_other, reading.fields) if pair]
    for one, other in stacked:
        yield f"steps {one.step} and {other.step} lie one above the other and no rule is between them"
    after = dict(itertools.pairwise(reading.order))
    for place, wanted in itertools.pairwise(places if not stacked else ()):
        if after.get(place) is not wanted:
            led = f"step {after[place].step}" if place in after else "the end of the tray"
            yield f"after step {place.step} the rules lead to {led}, not to step {wanted.step}"


def _one_above_other(members: Sequence[_Place]) -> tuple[_Place, _Place] | None:
    """Return the first two that share a stretch of their field's width and no height."""
    for one, other in itertools.combinations(members, 2):
        across = min(one.box[2], other.box[2]) - max(one.box[0], other.box[0])
        if across > SLACK and min(one.box[3], other.box[3]) - max(one.box[1], other.box[1]) <= SLACK:
            return one, other
    return None
