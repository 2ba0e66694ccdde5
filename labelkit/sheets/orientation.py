"""Small drawings of how a part sits: its section the right way up on what it lies on, and the clock dial.

They come from the forms, so that a drawing on a label shows the part itself, and what it sits on, as far as both are
known. These drawings show direction, not size (`labelkit.sheets.seatlayout`).
"""

from __future__ import annotations

import math

from labelkit import forms
from labelkit.drawing.page import (
    BLACK,
    WHITE,
    Box,
    Command,
    Group,
    Item,
    Path,
    Pen,
    Text,
    circle_path,
    closed,
    opened,
    rectangle,
)
from labelkit.drawing.text import line as text_line
from labelkit.drawing.text import size_for_cap
from labelkit.model.facewords import tells_itself
from labelkit.model.part import Part
from labelkit.model.scalars import Clock
from labelkit.sheets import waywords
from labelkit.sheets.seat import seat_of
from labelkit.sheets.seatsymbol import alone, seated


def orientation(part: Part, box: Box, other: Part | None = None) -> Group:
    """Return the part's section as it sits, on what it lies on; on a thick line where that has no form.

    NOT RECORDED is a question mark. Where the words name the face that is up and no form shows it, an arrow points up;
    where either way is right, both ways. Words that say for themselves where a face looks stand alone: `lip down`
    beside an arrow that points up would be read either way.

    Args:
        part: the part.
        box: where to draw it, mm.
        other: what it sits on; None when that is not recorded.
    """
    way = waywords.way(part)
    if way.known == "missing":
        return Group(tuple(_question(box)), "orientation", box)
    if part.form is None or (forms.sided(part.form) and not settled(part)):
        drawn = () if tells_itself(way.face) else (_arrow(box, both=way.known == "free"),)
        return Group(drawn, "orientation", box)
    seat = seat_of(part, other)
    if seat is None:
        return Group((*alone(part.form, box, down=way.opens == "down"),), "orientation", box)
    return Group((*seated(seat, box),), "orientation", box)


def settled(part: Part) -> bool:
    """Say whether it is recorded where the `way` end of a part points, or that either way is right."""
    return part.sits is not None and (part.sits.opens is not None or part.sits.up == "free")


def _arrow(box: Box, *, both: bool) -> Path:
    x, half, shaft = box.x + box.width / 2, box.height * 0.3, box.height * 0.11
    top, bottom, head = box.y + box.height * 0.04, box.bottom - box.height * 0.04, box.height * 0.36
    upper = [(x - shaft, top + head), (x - half, top + head), (x, top), (x + half, top + head), (x + shaft, top + head)]
    lower = [(2 * x - a, top + bottom - b) for a, b in upper] if both else [(x + shaft, bottom), (x - shaft, bottom)]
    return Path(closed([*upper, *lower]), None, BLACK)


def dial(part: Part, box: Box) -> Group:
    """Return a clock dial with the part's hour as a wedge; empty when free, with a question mark when not recorded."""
    side = min(box.width, box.height)
    x, y = box.x + box.width / 2, box.y + box.height / 2
    radius = side / 2 - side * 0.04
    thin = Pen(max(0.2, side * 0.03))
    clock = part.sits.clock if part.sits else None
    ticks: list[Command] = []
    for hour in range(12):
        inner = radius * (0.68 if hour % 3 == 0 else 0.82)
        s, c = math.sin(math.radians(30 * hour)), -math.cos(math.radians(30 * hour))
        ticks += opened([(x + inner * s, y + inner * c), (x + radius * s, y + radius * c)])
    items: list[Item] = [Path(circle_path(x, y, radius), thin, WHITE), Path(tuple(ticks), thin)]
    if clock is None:
        items.append(_mark(Box(x - radius * 0.6, y - radius * 0.6, radius * 1.2, radius * 1.2)))
    elif isinstance(clock, Clock):
        items.append(_hand(x, y, radius, clock.degrees))
    return Group(tuple(items), "dial", box)


def _hand(x: float, y: float, radius: float, degrees: float) -> Path:
    def at(turn: float, length: float) -> tuple[float, float]:
        angle = math.radians(degrees + turn)
        return x + length * math.sin(angle), y - length * math.cos(angle)

    points = [at(0, radius), at(150, radius * 0.3), at(180, radius * 0.18), at(210, radius * 0.3)]
    return Path(closed(points), None, BLACK)


def _question(box: Box) -> list[Item]:
    """Return a question mark in a dashed frame."""
    pen = Pen(max(0.25, box.height * 0.03), dash=(1.0, 0.7))
    return [rectangle(box.inset(pen.width), pen), _mark(box)]


def _mark(box: Box) -> Text:
    cap = box.height * 0.62
    base = box.y + (box.height + cap) / 2
    return text_line("?", box.x + box.width / 2, base, size_for_cap(cap, "bold"), "bold", "middle")
