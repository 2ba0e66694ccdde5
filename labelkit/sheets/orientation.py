"""Small drawings of how a part sits: its section the right way up on what it lies on, and the clock dial.

They come from the forms, so that a drawing on a label shows the part itself. Thin parts are drawn thicker and tall
parts shorter than they are: these drawings show direction, not size.
"""

from __future__ import annotations

import math
from collections.abc import Iterable
from dataclasses import dataclass
from functools import lru_cache
from typing import Final

from labelkit import forms
from labelkit.drawing.page import BLACK, WHITE, Box, Command, Group, Item, Path, Pen, closed, line, opened
from labelkit.drawing.text import line as text_line
from labelkit.drawing.text import size_for_cap
from labelkit.forms.shapes import Material
from labelkit.model.form import Form
from labelkit.model.part import Part
from labelkit.model.scalars import Clock
from labelkit.sheets import wording

# How much of its half width the cut material of a round part takes at least: a thin ring at its true proportions would
# be two dots far apart.
SHARE: Final = 0.62
# Height over width of a drawing, at least and at most; beyond it the height is stretched or pressed. Where both ends
# are alike there is less to see, and a flat part may look flat.
FLATTEST: Final = 0.4
FLATTEST_ALIKE: Final = 0.16
TALLEST: Final = 1.2
# A chord leaves its arc by this part of the drawing at most: too little to be seen.
_CHORD: Final = 0.001
# A quarter of a circle as one cubic curve is true to 0.03 % with handles of this length.
_QUARTER_HANDLE: Final = 4 / 3 * math.tan(math.pi / 8)


def orientation(part: Part, box: Box) -> Group:
    """Return the part's section as it sits, on a thick line for what it lies on.

    NOT RECORDED is a question mark. Where the words name the face that is up and no form shows it, an arrow points up;
    where either way is right, both ways.

    Args:
        part: the part.
        box: where to draw it, mm.
    """
    way = wording.way(part)
    if way.known == "missing":
        return Group(tuple(_question(box)), "orientation", box)
    if part.form is None or (forms.direction(part.form) and not _settled(part)):
        return Group((_arrow(box, both=way.known == "free"),), "orientation", box)
    pen = Pen(max(0.18, box.height * 0.02))
    ground = Pen(max(0.35, box.height * 0.05))
    room = Box(box.x + box.width * 0.06, box.y, box.width * 0.88, box.height - ground.width - box.height * 0.04)
    shape = _shape(part.form)
    across = min(room.width, room.height / shape.aspect)
    upright = across * shape.aspect
    top = box.y + (room.height - upright) / 2  # a flat part lies in the middle of the box, beside its words
    drawn = Box(room.x + (room.width - across) / 2, top, across, upright)
    floor = box.bottom - ground.width / 2 - (top - box.y)
    items: list[Item] = [line(box.x, floor, box.right, floor, ground)]
    items += _section(shape, drawn, pen, upside_down=way.opens == "down")
    return Group(tuple(items), "orientation", box)


def _settled(part: Part) -> bool:
    return part.sits is not None and (part.sits.opens is not None or part.sits.up == "free")


def _section(shape: _Shape, box: Box, pen: Pen, *, upside_down: bool) -> list[Item]:
    def place(points: Points) -> list[tuple[float, float]]:
        if upside_down:
            return [(box.x + x * box.width, box.y + z * box.height) for x, z in points]
        return [(box.x + x * box.width, box.bottom - z * box.height) for x, z in points]

    items: list[Item] = [Path(opened(place(points)), pen) for points in shape.lines]
    for points, material in shape.faces:
        items.append(Path(closed(place(points)), pen, BLACK if material == "metal" else WHITE))
    return items


Points = tuple[tuple[float, float], ...]


@dataclass(frozen=True, slots=True)
class _Shape:
    """A section in its own frame, 0 to 1 across and 0 to 1 from bottom to top; `aspect`: height over width drawn."""

    aspect: float
    lines: tuple[Points, ...]
    faces: tuple[tuple[Points, Material], ...]


@lru_cache(maxsize=1024)
def _shape(form: Form) -> _Shape:
    """Return a form's whole section, its halves moved together, thin ones drawn thicker and tall ones shorter."""
    section = forms.section(form).narrowed(SHARE).whole()
    boxes = [face.contour.box() for face in section.faces]
    left, right = min(box.left for box in boxes), max(box.right for box in boxes)
    low, high = min(box.bottom for box in boxes), max(box.top for box in boxes)
    width, height = right - left, high - low
    flattest = FLATTEST if forms.direction(form) else FLATTEST_ALIKE

    def scaled(points: Iterable[tuple[float, float]]) -> Points:
        return tuple(((x - left) / width, (z - low) / height) for x, z in points)

    fine = _CHORD * max(width, height)
    return _Shape(
        aspect=min(max(height / width, flattest), TALLEST),
        lines=tuple(scaled(edge) for edge in section.lines),
        faces=tuple((scaled(face.contour.polygon(fine)), face.material) for face in section.faces),
    )


def _arrow(box: Box, *, both: bool) -> Path:
    x, half, shaft = box.x + box.width / 2, box.height * 0.3, box.height * 0.11
    top, bottom, head = box.y + box.height * 0.04, box.bottom - box.height * 0.04, box.height * 0.36
    upper = [(x - shaft, top + head), (x - half, top + head), (x, top), (x + half, top + head), (x + shaft, top + head)]
    lower = [(2 * x - a, top + bottom - b) for a, b in upper] if both else [(x + shaft, bottom), (x - shaft, bottom)]
    return Path(closed([*upper, *lower]), None, BLACK)


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
    return Path(closed(points), None, BLACK)


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
    return [Path(closed(corners), pen), mark]
