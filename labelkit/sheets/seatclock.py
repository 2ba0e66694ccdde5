"""The clock position of a part: its plan turned to its hour inside a dial, as it is seen from the unit's `clock_from`.

The plan is drawn from the form. What the profile says is at the hour, as a notch or a tab, is drawn as a sign of its
kind where the form has none: no size of it is known.
"""

from __future__ import annotations

import math
import re
from collections.abc import Iterator
from dataclasses import dataclass
from typing import Final

from labelkit import forms
from labelkit.drawing.page import BLACK, WHITE, Box, Command, Group, Item, Path, Pen, circle_path, closed, opened
from labelkit.forms.geometry import Contour, Point
from labelkit.forms.shapes import Mark
from labelkit.model.form import Outline
from labelkit.model.formbase import Form
from labelkit.model.part import Part
from labelkit.model.profile import Header
from labelkit.model.scalars import Clock
from labelkit.sheets.orientation import dial

# Radius of the plan, and where the hand that points at its hour begins and ends, in radii of the dial.
_PLAN: Final = 0.6
_HAND: Final = (0.66, 1.0, 0.17)
# A chord leaves its arc by this much on paper at most, mm.
_CHORD: Final = 0.03
# Marks on a face that are more than this would only blacken it.
_MOST_MARKS: Final = 40
# What is at the hour, by the words for it.
_SIGNS: Final = {
    "notch": re.compile(r"\b(notch|slot|groove|recess|gap|cut|keyway)"),
    "tab": re.compile(r"\b(tab|tang|lug|boss|ear|eye|scoop|lever|handle|port|barb|key|pin)"),
    "hole": re.compile(r"\b(hole|dowel|drain|bore|pocket)"),
}
# Half the breadth of such a sign and its depth, in radii of the dial.
_SIGN: Final = (0.1, 0.15)
_FROM_BELOW: Final = re.compile(r"\b(below|beneath|under|bottom)", re.IGNORECASE)


@dataclass(frozen=True, slots=True)
class _Turned:
    """A frame on the page: its middle, and the angle by which it is turned clockwise, degrees."""

    x: float
    y: float
    degrees: float

    def at(self, right: float, out: float) -> Point:
        """Return where a point comes to lie: `out` is towards the hour."""
        s, c = math.sin(math.radians(self.degrees)), math.cos(math.radians(self.degrees))
        return self.x + right * c + out * s, self.y + right * s - out * c


def clock_face(part: Part, unit: Header, box: Box) -> Group:
    """Return a dial with the part's plan turned to its hour; the plain dial where hour or form is not known.

    Args:
        part: the part.
        unit: whose `clock_from` says from which end it is seen.
        box: where to draw it, mm.
    """
    clock, form = part.sits.clock if part.sits else None, part.form
    if form is None or not isinstance(clock, Clock) or forms.plan(form).lies:
        return dial(part, box)
    side = min(box.width, box.height)
    radius = side / 2 - side * 0.04
    frame = _Turned(box.x + box.width / 2, box.y + box.height / 2, clock.degrees)
    items: list[Item] = [*_ring(frame, radius)]
    seen = _plan(form, frame, radius * _PLAN, mirrored=seen_from_back(part, unit))
    items.append(Group((*seen,), "plan"))
    items += _sign(part, frame, radius)
    tip, foot, half = (share * radius for share in _HAND)
    items.append(Path(closed([frame.at(0.0, tip), frame.at(half, foot), frame.at(-half, foot)]), None, BLACK))
    return Group(tuple(items), "clock", box)


def seen_from_back(part: Part, unit: Header) -> bool:
    """Say whether the clock is read from the end away from the part's `way` end, so that its plan is mirrored."""
    down = part.form is not None and forms.sided(part.form) and part.sits is not None and part.sits.opens == "down"
    return down != bool(_FROM_BELOW.search(unit.clock_from or ""))


def _ring(frame: _Turned, radius: float) -> Iterator[Item]:
    pen = Pen(max(0.2, radius * 0.055))
    yield Path(circle_path(frame.x, frame.y, radius), pen, WHITE)
    ticks: list[Command] = []
    for hour in range(12):
        turned = _Turned(frame.x, frame.y, 30.0 * hour)
        ticks += opened([turned.at(0.0, radius * (0.82 if hour % 3 == 0 else 0.9)), turned.at(0.0, radius)])
    yield Path(tuple(ticks), pen)


def _plan(form: Form, frame: _Turned, radius: float, *, mirrored: bool) -> Iterator[Item]:
    """Yield the plan with its 12 o'clock at the hour; the marks on its face only where that face is seen."""
    plan = forms.plan(form)
    box = plan.outer.box()
    # What is not round has its origin anywhere.
    middle = ((box.left + box.right) / 2, (box.bottom + box.top) / 2) if isinstance(form, Outline) else (0.0, 0.0)
    scale = radius / plan.outer.moved(-middle[0], -middle[1]).reach()
    side = -scale if mirrored else scale
    pen, fine = Pen(max(0.2, radius * 0.08)), Pen(max(0.13, radius * 0.04))

    def drawn(shape: Mark) -> tuple[Command, ...]:
        points = shape.polygon(_CHORD / scale) if isinstance(shape, Contour) else shape
        placed = [frame.at(side * (x - middle[0]), scale * (y - middle[1])) for x, y in points]
        return closed(placed) if isinstance(shape, Contour) else opened(placed)

    yield from (Path(drawn(shape), pen, WHITE) for shape in (plan.outer, *plan.holes))
    if not mirrored and len(plan.marks) <= _MOST_MARKS:
        yield from (Path(drawn(shape), fine) for shape in plan.marks)


def _sign(part: Part, frame: _Turned, radius: float) -> Iterator[Item]:
    """Yield the sign of what is at the hour, where the words tell its kind and the plan has none."""
    feature = (part.sits.feature if part.sits else None) or ""
    kind = next((kind for kind, words in _SIGNS.items() if words.search(feature.lower())), None)
    if kind is None or part.form is None or part.form.indexed:
        return
    rim, (half, deep), pen = radius * _PLAN, (share * radius for share in _SIGN), Pen(max(0.2, radius * 0.05))
    if kind == "hole":
        x, y = frame.at(0.0, rim - deep)
        yield Path(circle_path(x, y, half), pen, WHITE)
        return
    out = rim + deep if kind == "tab" else rim - deep
    corners = [frame.at(side * half, r) for side, r in ((-1, rim), (-1, out), (1, out), (1, rim))]
    bent = rim * (1 - math.sqrt(1 - (half / rim) ** 2))
    corners[0], corners[3] = frame.at(-half, rim - bent), frame.at(half, rim - bent)
    yield Path(closed(corners), Pen(pen.width * 1.5, WHITE), WHITE)
    yield Path(opened(corners), pen)
