"""The picture of a tray: every part's outline where it lies, its flag, the rules that say how the tray is read.

Everything is drawn in the tray's frame: mm, origin left at the back, y to the front. The same drawing is printed at
1:1, where a part is laid on its outline, and reduced, as a map; what would be too small to read is left out then.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass, replace
from functools import lru_cache
from itertools import pairwise
from typing import Final

from labelkit.calc.footprint import outline
from labelkit.calc.trays import LaidTray, Place
from labelkit.drawing.hatch import hatch
from labelkit.drawing.page import BLACK, WHITE, Box, Group, Item, Path, Pen, closed, line, opened, rectangle
from labelkit.drawing.text import cap_height, fit_line, measure, size_for_cap, wrap
from labelkit.drawing.text import line as text_line
from labelkit.forms.geometry import Contour, Point
from labelkit.forms.shapes import Plan
from labelkit.language import gettext as _
from labelkit.language import spoken
from labelkit.model.scalars import Clock
from labelkit.sheets import waywords, wording
from labelkit.sheets.legible import LEAST
from labelkit.sheets.trayroom import Room, mark_points, rooms

_PATTERN_PITCH: Final = 5.0
# Heights of the capitals of names, mm, the largest that fits is taken.
_NAMES: Final = (4.0, 3.5, 3.0, 2.6, 2.2)
_SMALL: Final = (1.9, LEAST)  # at which words rather stand together than without their name
_LARGE: Final = _NAMES[:3]  # at which words rather lie across the lines of a part than stand smaller beside them
_MOST_LINES: Final = 3
_LEADING: Final = 1.55
# Least distance of the first thing of a line from its left edge for an arrow before it, mm.
_ARROW_ROOM: Final = 3.9


@dataclass(frozen=True, slots=True)
class Pens:
    """Lines of a drawing that is printed at a scale; widths are those of the print."""

    scale: float

    def of(self, full: float, least: float) -> Pen:
        """Return a pen `full` mm wide at 1:1, and never printed thinner than `least`."""
        return Pen(max(full * self.scale, least) / self.scale)

    @property
    def outline(self) -> Pen:
        """What a part is laid on."""
        return self.of(0.6, 0.3)

    @property
    def unknown(self) -> Pen:
        """What stands for a part that nobody measured: dashed, as all that is not known."""
        return replace(self.outline, dash=(1.2 / self.scale, 0.8 / self.scale))

    @property
    def edge(self) -> Pen:
        """Openings and edges of a part."""
        return self.of(0.25, 0.12)

    @property
    def rule(self) -> Pen:
        """What cuts the tray into fields."""
        return self.of(1.0, 0.5)

    @property
    def pattern(self) -> Pen:
        """The ground of a sub-assembly."""
        return self.of(0.12, 0.08)


def tray_drawing(tray: LaidTray, scale: float = 1.0) -> tuple[Group, ...]:
    """Return the picture of a tray in layers, from the ground up.

    Args:
        tray: what lies where.
        scale: at which it will be printed; 1 is true to size.
    """
    return _tray_drawing(tray, scale, spoken())


@lru_cache(maxsize=64)
def _tray_drawing(tray: LaidTray, scale: float, _language: str) -> tuple[Group, ...]:
    pens = Pens(scale)
    width, depth = tray.stock.size_mm
    wall = Box(0, 0, width, depth)
    return (
        Group(tuple(_grounds(tray, pens)), "ground"),
        Group(tuple(line(x1, y1, x2, y2, pens.rule) for x1, y1, x2, y2 in tray.rules), "rules"),
        *(Group(tuple(_place(place, pens)), f"place {place.bin.step}", Box(*place.cell)) for place in tray.places),
        Group((*_arrows(tray), *_balance(tray)), "reading"),
        Group((rectangle(wall, pens.of(0.5, 0.4)),), "wall", wall),
    )


def _place(place: Place, pens: Pens) -> Iterator[Item]:
    tick = _tick(place)
    words, covers = _name(place, tick) if pens.scale == 1 else ([], False)
    for number, at in enumerate(place.at):
        name = f"outline {place.bin.step}" if number == 0 else f"outline {place.bin.step} {number + 1}"
        yield Group(tuple(_piece(place, at, pens, sample=not covers)), name)
    if tick:
        yield Path(closed(tick), None, BLACK)
    yield from _flag(place, pens)
    yield from words


def _piece(place: Place, at: Point, pens: Pens, *, sample: bool) -> Iterator[Item]:
    thing, plan = place.thing, place.thing.plan
    around = closed(outline(thing.outer, place.turned, *at))
    holes = tuple(command for hole in thing.holes for command in closed(outline(hole, place.turned, *at)))
    yield Path(around + holes, None, WHITE)
    yield Path(around, pens.outline if place.bin.part.form else pens.unknown)
    if holes:
        yield Path(holes, pens.edge)
    if thing.lay == "cup":
        yield Path(closed(_inner(thing.outer, place.turned, at)), pens.edge)
        if plan is not None and sample:
            yield from _sample(place, plan, at, pens)
    elif plan is not None:
        for mark in plan.marks:
            drawn = closed if isinstance(mark, Contour) else opened
            yield Path(drawn(mark_points(mark, place.turned, at)), pens.edge)


def _inner(outer: Contour, turned: float, at: Point) -> list[Point]:
    """Return the inside of a cup's wall."""
    box = outer.box()
    across, down = 1 - 3 / box.width, 1 - 3 / box.height
    return [(at[0] + (x - at[0]) * across, at[1] + (y - at[1]) * down) for x, y in outline(outer, turned, *at)]


def _sample(place: Place, plan: Plan, at: Point, pens: Pens) -> Iterator[Item]:
    """Yield one of the pieces in a cup, so that one sees what belongs there."""
    box, room = plan.outer.box(), place.thing.outer.box()
    if max(box.width, box.height) > max(room.width, room.height) - 3:
        return
    turned = place.turned + (0 if (box.width >= box.height) == (room.width >= room.height) else 90)
    moved = plan.outer.moved(-(box.left + box.right) / 2, -(box.bottom + box.top) / 2)
    yield Path(closed(outline(moved, turned, *at)), pens.edge)


def _tick(place: Place) -> list[Point] | None:
    """Return a wedge at the clock position of a part that lies as it sits, as seen from its end."""
    sits, plan = place.bin.part.sits, place.thing.plan
    if sits is None or not isinstance(sits.clock, Clock) or plan is None or plan.lies or place.thing.lay == "cup":
        return None
    (x, y), points = place.at[0], place.outlines[0]
    angle = math.radians(sits.clock.degrees - place.turned)
    dx, dy = math.sin(angle), -math.cos(angle)
    reach = max(_crossings(points, (x, y), (dx, dy)), default=0.0)
    size = min(6.0, reach * 0.4)
    tip, foot = reach - 0.6, reach - 0.6 - size
    half = size * 0.45
    return [
        (x + dx * tip, y + dy * tip),
        (x + dx * foot - dy * half, y + dy * foot + dx * half),
        (x + dx * foot + dy * half, y + dy * foot - dx * half),
    ]


def _crossings(points: tuple[Point, ...], start: Point, way: Point) -> Iterator[float]:
    """Yield how far along a ray it crosses the edges of a polygon."""
    for (x1, y1), (x2, y2) in pairwise((*points, points[0])):
        ex, ey = x2 - x1, y2 - y1
        across = way[0] * ey - way[1] * ex
        if abs(across) < 1e-12:
            continue
        along = ((x1 - start[0]) * ey - (y1 - start[1]) * ex) / across
        share = ((x1 - start[0]) * way[1] - (y1 - start[1]) * way[0]) / across
        if along > 0 and 0 <= share <= 1:
            yield along


def _flag(place: Place, pens: Pens) -> Iterator[Item]:
    x, y, width, height = place.flag
    if not width or not height:
        return
    box = Box(x, y, width, height)
    yield rectangle(box, pens.outline, WHITE)
    inner = box.inset(height * 0.11)
    small = inner.height * 0.24
    shown = small * pens.scale >= LEAST
    room = inner.height - (small * 1.35 if shown else 0.0)
    yield from _step(place.bin.step_words, Box(inner.x, inner.y, inner.width, room), pens.scale)
    if not shown:
        return
    size, base = size_for_cap(small), inner.bottom
    yield text_line(place.name, inner.x, base, size)
    part = place.bin.part
    count = "" if part.qty == 1 else wording.quantity_words(part)
    yield text_line(count, inner.right, base, size_for_cap(small, "bold"), "bold", "end")
    # A step that an open option decides has its question mark with it.
    if len(doubts(place)) > place.bin.doubtful:
        taken = measure(place.name, "regular", size)[0], measure(count, "bold", size)[0]
        middle = inner.x + taken[0] + (inner.width - sum(taken)) / 2
        yield text_line("?", middle, base, size_for_cap(small, "bold"), "bold", "middle")


def _step(step: str, room: Box, scale: float) -> Iterator[Item]:
    """Yield a step number as large as it can be; on two lines where one would be too small to read in print."""
    head, dot, tail = step.rpartition(".")
    for lines in ([step], [head, dot + tail]):
        height = room.height / (len(lines) + 0.15 * (len(lines) - 1))
        sizes = (size_for_cap(height, "bold"), size_for_cap(0.5, "bold"))
        size = min(fit_line(words, room.width, sizes, "bold").size for words in lines)
        cap = size * cap_height("bold")
        if cap * scale >= LEAST or not head:
            break
    base = room.y + (room.height - len(lines) * cap * 1.15 + cap * 0.15) / 2 + cap
    for number, words in enumerate(lines):
        x = room.x + room.width / 2
        yield text_line(words, x, base + number * cap * 1.15, size, "bold", "middle")


def doubts(place: Place) -> tuple[str, ...]:
    """Return what is not known of the part on a place, for the flag's question mark and the list."""
    part = place.bin.part
    up, clock = waywords.unrecorded(part)
    missing = ((_("way up"), up), (_("clock"), clock), (_("size"), part.form is None))
    what = ", ".join(words for words, unknown in missing if unknown)
    found = _("{what} NOT RECORDED").format(what=what) if what else "", _("option open") if place.bin.doubtful else ""
    return tuple(filter(None, found))


def place_words(place: Place) -> str:
    """Return how the things of a place lie, in words; empty where it is one piece that shows it."""
    part, thing = place.bin.part, place.thing
    if thing.lay == "stack" and part.qty != 1:
        return _("PILE") if part.qty == "set" else _("PILE OF {count}").format(count=part.qty)
    if thing.lay != "cup" or (part.form is None and part.qty == 1):
        return ""
    if thing.round:
        return _("CUP") if part.qty == "set" else _("CUP OF {count}").format(count=part.qty)
    return _("BOX") if part.qty == "set" else _("BOX OF {count}").format(count=part.qty)


def _name(place: Place, tick: list[Point] | None) -> tuple[list[Item], bool]:
    """Return the short name, how many and which way up, where the place has room, and whether they cover the part.

    Together where they fit together, be it smaller; else each where it fits, the way up first: who lays a part down by
    its outline takes silence for "either way". Beside several pieces, and rather than without the name, all of it
    stands together in the smallest letters: apart it might be read as of one piece each.
    """
    part = place.bin.part
    name, pile, face = wording.short_name(part), place_words(place), waywords.printed_way(part)
    clear, across = rooms(place, tick)
    free = [*clear, *across]
    said = [[each for each in words if each] for words in ([pile, face], [face])]
    for words in said:
        for caps, where in ((_LARGE, clear), (_LARGE, across), (_NAMES, free)):
            if found := _set(where, caps, name, words):
                return found.items, found.on_part
    apart: list[tuple[str, list[str]]] = [("", [face]), (name, [])]
    if waywords.way(part).known == "free":
        apart.reverse()
    set_apart = _apart(free, _NAMES, apart)
    if len(set_apart) < len(apart) or len(place.at) > 1:
        together = (_set(free, _SMALL, name, words) for words in said)
        if found := next(filter(None, together), None):
            return found.items, found.on_part
        set_apart = _apart(free, (*_NAMES, *_SMALL), apart)
    return [item for each in set_apart for item in each.items], any(each.on_part for each in set_apart)


@dataclass(frozen=True, slots=True)
class _Words:
    """Words in their room: on what box, and whether that is on the part."""

    items: list[Item]
    box: Box
    on_part: bool


def _apart(free: Sequence[Room], caps: Sequence[float], said: Iterable[tuple[str, list[str]]]) -> list[_Words]:
    """Set names, each with words below it, in rooms of their own; those that none has room for are left away."""
    set_words: list[_Words] = []
    for name, below in said:
        left = [room for room in free if not any(room[0].overlaps(each.box) for each in set_words)]
        if found := _set(left, caps, name, below):
            set_words.append(found)
    return set_words


def _set(free: Sequence[Room], caps: Sequence[float], name: str, below: Sequence[str]) -> _Words | None:
    """Set a name and words below it as large as any of the rooms allows; None where none has room for all of it."""
    for cap in caps:
        small = max(cap * 0.72, LEAST)
        least = (cap * bool(name) + small * len(below)) * _LEADING
        for room, on_part in (each for each in free if each[0].height >= least):
            rows = []
            for words, size, face in ((name, cap, "bold"), *((each, small, "regular") for each in below)):
                found = wrap(words, room.width, size_for_cap(size, face), _MOST_LINES, face)
                if found.shortened:
                    break
                rows += [(each, size, face) for each in found.lines]
            else:
                if math.fsum(size for _words, size, _face in rows) * _LEADING <= room.height:
                    return _in_room(room, on_part, rows)
    return None


def _in_room(room: Box, on_part: bool, rows: Sequence[tuple[str, float, str]]) -> _Words:
    """Set rows of words, their capitals and faces, on a white ground: in the middle of a part, or beside it."""
    height = math.fsum(size for _words, size, _face in rows) * _LEADING
    widest = max(measure(words, face, size_for_cap(size, face))[0] for words, size, face in rows)
    middle = room.x + room.width / 2
    top = room.y + (room.height - height) / 2 if on_part else room.y
    left = middle - widest / 2 if on_part else room.x
    ground = Box(left - 0.7, top, widest + 1.4, height)
    items: list[Item] = [rectangle(ground, None, WHITE)]
    y = top
    for words, size, face in rows:
        base, em = y + size * (1 + _LEADING) / 2, size_for_cap(size, face)
        items.append(text_line(words, middle if on_part else room.x, base, em, face, "middle" if on_part else "start"))
        y += size * _LEADING
    return _Words(items, ground, on_part)


def lines(tray: LaidTray) -> list[list[Place]]:
    """Return the places line by line, as they are read."""
    found: list[list[Place]] = []
    for place in tray.places:
        before = found[-1][-1].cell if found else None
        if before and before[1] == place.cell[1] and before[0] + before[2] == place.cell[0]:
            found[-1].append(place)
        else:
            found.append([place])
    return found


def _arrows(tray: LaidTray) -> Iterator[Item]:
    """Yield a small arrow where a line begins: there the reader goes on."""
    for first, *_others in lines(tray):
        x, y, *_size = first.cell
        room = min([first.flag[0], *(px for points in first.outlines for px, _ in points)]) - x
        if room >= _ARROW_ROOM:
            yield Path(closed([(x + 0.8, y + 7), (x + 3.4, y + 10), (x + 0.8, y + 13)]), None, BLACK)


def _balance(tray: LaidTray) -> Iterator[Item]:
    """Yield a wedge at each wall, in line with the centre of mass."""
    if tray.centre is None:
        return
    (x, y), (width, depth) = tray.centre, tray.stock.size_mm
    for edge, way in ((0.0, 1.0), (depth, -1.0)):
        yield Path(closed([(x, edge + 3 * way), (x - 1.5, edge), (x + 1.5, edge)]), None, BLACK)
    for edge, way in ((0.0, 1.0), (width, -1.0)):
        yield Path(closed([(edge + 3 * way, y), (edge, y - 1.5), (edge, y + 1.5)]), None, BLACK)


def shared_grounds(tray: LaidTray) -> dict[str, int]:
    """Return the sub-assemblies with several places on a tray, each with the number of its pattern."""
    inner = [place.groups[-1] if place.groups else "" for place in tray.places]
    several = [group for group in dict.fromkeys(inner) if group and inner.count(group) > 1]
    return {group: number for number, group in enumerate(several)}


def _grounds(tray: LaidTray, pens: Pens) -> Iterator[Item]:
    """Yield the patterns on which the parts of each sub-assembly lie."""
    numbers = shared_grounds(tray)
    for line_of in lines(tray):
        depth = max(place.cell[3] for place in line_of)
        for place in line_of:
            group = place.groups[-1] if place.groups else ""
            if group in numbers:
                x, y, width, _ = place.cell
                # In a column the next line may begin before the deepest thing of this one ends.
                rules = [y1 for x1, y1, x2, y2 in tray.rules if y1 == y2 > y and x1 < x + width and x2 > x]
                yield pattern(Box(x, y, width, min([y + depth, *rules]) - y), numbers[group], pens.pattern)


def pattern(box: Box, number: int, pen: Pen) -> Path:
    """Return the pattern of this number over a box; neighbouring boxes of one pattern join without a seam."""
    angles = ((45.0,), (-45.0,), (0.0,), (45.0, -45.0))[number % 4]
    pitch = _PATTERN_PITCH if number % 8 < 4 else _PATTERN_PITCH / 2
    corners = ((box.x, box.y), (box.right, box.y), (box.right, box.bottom), (box.x, box.bottom))
    return Path(tuple(command for degrees in angles for command in hatch([corners], pitch, degrees)), pen)
