"""Small drawings of how a part sits: its section the right way up on what it lies on, and the clock dial.

They come from the forms, so that a drawing on a label shows the part itself. Thin parts are drawn thicker and tall
parts shorter than they are: these drawings show direction, not size.
"""

from __future__ import annotations

import math
from typing import Final

from labelkit import forms
from labelkit.drawing.page import BLACK, WHITE, Box, Command, Group, Item, Path, Pen, line
from labelkit.drawing.text import line as text_line
from labelkit.drawing.text import size_for_cap
from labelkit.forms.geometry import Contour
from labelkit.model.part import Part
from labelkit.model.scalars import Clock
from labelkit.sheets import wording

# Height over width of a drawing, at least and at most; beyond it the height is stretched or pressed.
FLATTEST: Final = 0.26
TALLEST: Final = 1.5
# A quarter of a circle as one cubic curve is true to 0.03 % with handles of this length.
_QUARTER_HANDLE: Final = 4 / 3 * math.tan(math.pi / 8)


def orientation(part: Part, box: Box) -> Group:
    """Return the part's section as it sits, on a thick line for what it lies on; NOT RECORDED is a question mark.

    Args:
        part: the part.
        box: where to draw it, mm.
    """
    way = wording.way(part)
    if part.form is None or way.known == "missing" or (forms.direction(part.form) and not _settled(part)):
        return Group(tuple(_question(box)), "orientation", box)
    pen = Pen(max(0.18, box.height * 0.02))
    ground = Pen(max(0.35, box.height * 0.05))
    floor = box.bottom - ground.width / 2
    room = Box(box.x + box.width * 0.06, box.y, box.width * 0.88, box.height - ground.width - box.height * 0.05)
    items: list[Item] = [line(box.x, floor, box.right, floor, ground)]
    items += _section(part, room, pen, upside_down=way.opens == "down")
    return Group(tuple(items), "orientation", box)


def _settled(part: Part) -> bool:
    return part.sits is not None and (part.sits.opens is not None or part.sits.up == "free")


def _section(part: Part, room: Box, pen: Pen, *, upside_down: bool) -> list[Item]:
    assert part.form is not None  # noqa: S101 - the caller has looked
    section = forms.section(part.form)
    halves = [(face.contour, face.material) for face in section.faces]
    if section.round:
        halves += [(contour.mirrored_x(), material) for contour, material in halves]
    boxes = [contour.box() for contour, _ in halves]
    left, right = min(b.left for b in boxes), max(b.right for b in boxes)
    low, high = min(b.bottom for b in boxes), max(b.top for b in boxes)
    width, height = right - left, high - low
    drawn = min(max(height / width, FLATTEST), TALLEST)
    across = min(room.width / width, room.height / (width * drawn))
    upright = across * width * drawn / height
    origin_x = room.x + room.width / 2 - (left + right) / 2 * across

    def place(x: float, z: float) -> tuple[float, float]:
        from_floor = (high - z) if upside_down else (z - low)
        return origin_x + x * across, room.bottom - from_floor * upright

    items: list[Item] = []
    for edge in section.lines:
        points = [place(x, z) for x, z in edge]
        items.append(Path(_open(points), Pen(pen.width)))
        if section.round:
            items.append(Path(_open([place(-x, z) for x, z in edge]), Pen(pen.width)))
    for contour, material in halves:
        d = _closed([place(x, z) for x, z in contour.polygon(0.02 * max(width, height))])
        items.append(Path(d, pen, WHITE if material == "lining" else BLACK))
    return items


def _open(points: list[tuple[float, float]]) -> tuple[Command, ...]:
    (x, y), *rest = points
    return (("M", x, y), *(("L", a, b) for a, b in rest))


def _closed(points: list[tuple[float, float]]) -> tuple[Command, ...]:
    return (*_open(points), ("Z",))


def contour_path(contour: Contour, *, x: float, y: float, scale: float) -> tuple[Command, ...]:
    """Return a contour of the plan or section frame (y up) as path commands on a page (y down), arcs as curves.

    Args:
        contour: the contour, mm.
        x: where its origin goes, mm.
        y: where its origin goes, mm.
        scale: mm on the page for one mm of the part.
    """
    commands: list[Command] = []
    for edge in contour.edges():
        if not commands:
            commands.append(("M", x + edge.start[0] * scale, y - edge.start[1] * scale))
        if not edge.bulge:
            commands.append(("L", x + edge.end[0] * scale, y - edge.end[1] * scale))
            continue
        pieces = max(1, math.ceil(abs(edge.sweep) / (math.pi / 2) - 1e-9))
        handle = 4 / 3 * math.tan(edge.sweep / pieces / 4)
        (cx, cy), start = edge.centre, edge.start
        for end in edge.split(pieces):
            one = (start[0] - (start[1] - cy) * handle, start[1] + (start[0] - cx) * handle)
            two = (end[0] + (end[1] - cy) * handle, end[1] - (end[0] - cx) * handle)
            points = [(x + a * scale, y - b * scale) for a, b in (one, two, end)]
            commands.append(("C", *points[0], *points[1], *points[2]))
            start = end
    return (*commands, ("Z",))


def circle_path(x: float, y: float, radius: float) -> tuple[Command, ...]:
    """Return a circle as four curves."""
    k = radius * _QUARTER_HANDLE
    return (
        ("M", x + radius, y),
        ("C", x + radius, y + k, x + k, y + radius, x, y + radius),
        ("C", x - k, y + radius, x - radius, y + k, x - radius, y),
        ("C", x - radius, y - k, x - k, y - radius, x, y - radius),
        ("C", x + k, y - radius, x + radius, y - k, x + radius, y),
        ("Z",),
    )


def dial(part: Part, box: Box) -> Group:
    """Return a clock dial with the part's hour as a wedge; empty when free, with a question mark when not recorded."""
    side = min(box.width, box.height)
    x, y = box.x + box.width / 2, box.y + box.height / 2
    radius = side / 2 - side * 0.04
    thin = Pen(max(0.2, side * 0.03))
    clock = part.sits.clock if part.sits else None
    items: list[Item] = [Path(circle_path(x, y, radius), thin, WHITE)]
    for hour in range(12):
        inner = radius * (0.68 if hour % 3 == 0 else 0.82)
        s, c = math.sin(math.radians(30 * hour)), -math.cos(math.radians(30 * hour))
        items.append(line(x + inner * s, y + inner * c, x + radius * s, y + radius * c, thin))
    if clock is None:
        items += _question(Box(x - radius * 0.6, y - radius * 0.6, radius * 1.2, radius * 1.2), framed=False)
    elif isinstance(clock, Clock):
        items.append(_hand(x, y, radius, clock.degrees))
    return Group(tuple(items), "dial", box)


def _hand(x: float, y: float, radius: float, degrees: float) -> Path:
    def at(turn: float, length: float) -> tuple[float, float]:
        angle = math.radians(degrees + turn)
        return x + length * math.sin(angle), y - length * math.cos(angle)

    points = [at(0, radius), at(150, radius * 0.3), at(180, radius * 0.18), at(210, radius * 0.3)]
    return Path(_closed(points), None, BLACK)


def _question(box: Box, *, framed: bool = True) -> list[Item]:
    cap = box.height * 0.62
    mark = text_line(
        "?",
        box.x + box.width / 2,
        box.y + (box.height + cap) / 2,
        size_for_cap(cap, "bold"),
        "bold",
        "middle",
    )
    if not framed:
        return [mark]
    pen = Pen(max(0.25, box.height * 0.03), dash=(1.0, 0.7))
    inner = box.inset(pen.width)
    corners = [
        (inner.x, inner.y),
        (inner.right, inner.y),
        (inner.right, inner.bottom),
        (inner.x, inner.bottom),
    ]
    return [Path(_closed(corners), pen), mark]
