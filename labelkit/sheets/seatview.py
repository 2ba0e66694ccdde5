"""The seat of a part as a drawing: half cut open and half from outside, above what it sits on, cut open.

Mating faces are heavy on both, with a pair of arrowheads between them; hatching is that of the exploded view. A part in
or round a wall of its own size is drawn half way out. The drawing fills its box, and shows direction, not size.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from dataclasses import dataclass, replace
from typing import Final

from labelkit import forms
from labelkit.drawing.hatch import hatch
from labelkit.drawing.page import BLACK, WHITE, Box, Group, Item, Path, Pen, closed, line, opened
from labelkit.model.form import Toothed
from labelkit.model.formbase import Form
from labelkit.model.part import Part
from labelkit.sheets import waywords
from labelkit.sheets.axialframe import HATCH, OUTLINE, Frame
from labelkit.sheets.axialview import axial_view
from labelkit.sheets.orientation import orientation, settled
from labelkit.sheets.seat import Seat, below, seat_of, sizes, torn
from labelkit.sheets.seatlayout import Laid, Manner, Scale, lay

_MANNER: Final = Manner(share=0.5, flattest=0.26, flattest_alike=0.13, tallest=1.1, gap=0.12, depth=0.26, even=False)
# The part stands out from what it sits on.
_OUTLINE: Final = Pen(0.6)
_FACE: Final = Pen(1.0)
_CHAIN: Final = Pen(0.18, dash=(5.0, 1.0, 1.0, 1.0))
_FLOOR: Final = Pen(1.4)
# The axis stands out above and below by this much, mm.
_OUT: Final = 1.5
# An arrowhead: half its breadth over its length; it fills its half of the gap to this part.
_SLIM: Final = 0.4
_FILLS: Final = 0.8
_PITCH: Final = 1.4
# A chord leaves its arc by this much at most, mm: a card is no sheet to measure on.
_CHORD: Final = 0.02
_UNBENT: Final = Scale(((0.0, 0.0), (1.0, 1.0)))
# The mark of a gear's marked side: half its breadth and its depth in parts of the room, and of the height of the gear.
_MARK: Final = (0.035, 0.3)


@dataclass(frozen=True, slots=True)
class _Bent(Frame):
    """A frame whose axis runs down the page, with the bent scales of a layout.

    Attributes:
        across: distance from the axis on the page by radius.
        heights: y on the page by height above the bottom, as the part sits.
        side: -1 to draw the mirror image.
    """

    across: Scale = _UNBENT
    heights: Scale = _UNBENT
    side: float = 1.0

    def at(self, height: float, r: float, z: float) -> tuple[float, float]:
        """Return where a point of the section lies on the page; positive `r` is the side that is cut."""
        across = self.across(abs(r)) * (self.side if r >= 0 else -self.side)
        return self.x + across, self.heights(height - z if self.flipped else z)


def seat_view(part: Part, box: Box, other: Part | None = None) -> Group:
    """Return a part above what it sits on; alone on a line where that has no form or the forms tell no seat.

    NOT RECORDED, and a face that no form shows, are drawn as on a label.

    Args:
        part: the part.
        box: where to draw it, mm.
        other: what it sits on; None when that is not recorded.
    """
    way = waywords.way(part)
    if part.form is None or way.known == "missing" or (forms.sided(part.form) and not settled(part)):
        return orientation(part, box)
    seat = seat_of(part, other)
    down = way.opens == "down"
    laid = lay(part.form, seat, _room(box, alone=seat is None), _MANNER)
    items: list[Item] = []
    if seat:
        items.append(Group((*_joined(_below(seat, laid)),), "below", None, clip=laid.window))
    items.append(Group((*_joined(_part(part.form, laid, box, down=down)),), "part"))
    ends = laid.part(sizes(part.form).height), laid.part(0.0)
    if seat:
        items += _mating(seat, laid)
    else:
        floor = ends[1] + _FLOOR.width
        items.append(line(box.x, floor, box.right, floor, _FLOOR))
    if sizes(part.form).axial:
        low = laid.window.bottom if seat else ends[1]
        items.append(line(laid.middle, ends[0] - _OUT, laid.middle, max(low, ends[1]) + _OUT * bool(seat), _CHAIN))
    return Group(tuple(items), "seat", box)


def _joined(items: Iterable[Item]) -> Iterator[Item]:
    """Yield the same drawing with lines of one pen that follow each other as one path: a card holds many."""
    before: Path | None = None
    for item in items:
        if (
            isinstance(item, Path)
            and before is not None
            and not item.fill
            and (before.pen, None) == (item.pen, before.fill)
        ):
            before = replace(before, d=(*before.d, *item.d))
            continue
        if before is not None:
            yield before
        before = item if isinstance(item, Path) else None
        if before is None:
            yield item
    if before is not None:
        yield before


def _room(box: Box, *, alone: bool) -> Box:
    """Return the box without what the axis and the line below a part alone take."""
    low = 2 * _FLOOR.width if alone else _OUT
    pen = _OUTLINE.width / 2
    return Box(box.x + pen, box.y + _OUT, box.width - 2 * pen, box.height - _OUT - low)


def _part(form: Form, laid: Laid, box: Box, *, down: bool) -> Iterator[Item]:
    """Yield the part itself; the mark of a gear's marked side large enough to be seen first."""
    marked = isinstance(form, Toothed)
    yield from axial_view(form, replace(_frame(form, laid, down=down), marked=not marked))
    if not marked:
        return
    body = next(face.contour.box() for face in forms.section(form).faces if face.role == "body")
    x = (laid.x(body.left) + laid.x(body.right)) / 2
    ends = laid.part(sizes(form).height), laid.part(0.0)
    face, other = reversed(ends) if down else ends
    half = min(_MARK[0] * box.width, abs(laid.x(body.right) - laid.x(body.left)) / 2)
    tip = face + (other - face) * _MARK[1]
    yield Path(closed([(x - half, face), (x + half, face), (x, tip)]), None, BLACK)


def _frame(form: Form, laid: Laid, *, down: bool, other: bool = False, side: float = 1.0) -> _Bent:
    heights = laid.under if other else laid.part
    slope = 45.0 if other else -45.0
    return _Bent(
        laid.middle,
        heights(sizes(form).height),
        laid.scale,
        down,
        slope * side,
        "down",
        chord=_CHORD,
        pen=OUTLINE if other else _OUTLINE,
        across=laid.across,
        heights=heights,
        side=side,
    )


def _below(seat: Seat, laid: Laid) -> Iterator[Item]:
    """Yield what the part sits on, cut open on both sides."""
    if seat.beside:
        for ring, _ in below(seat):
            points = [(laid.x(x), laid.under(z)) for x, z in ring]
            yield Path(closed(points), None, WHITE)
            yield Path(hatch([points], _PITCH, 45.0, laid.window), HATCH)
        for edge in torn(seat):
            yield Path(opened([(laid.x(x), laid.under(z)) for x, z in edge]), OUTLINE)
        return
    form, down = seat.other, seat.other_down
    sides = (1.0, -1.0) if sizes(form).round and not form.uncut else (1.0,)
    for side in sides:
        frame = _frame(form, laid, down=down, other=True, side=side)
        yield from axial_view(form, replace(frame, half="cut", seen=laid.window))


def _mating(seat: Seat, laid: Laid) -> Iterator[Item]:
    """Yield the heavy lines on both parts, and the arrowheads between them."""
    half = _FACE.width / 2
    for low, high, z in seat.faces:
        upper, lower = laid.part(z - seat.rest), laid.under(z)
        for one, other in ((low, high), (-high, -low)):
            left, right = laid.x(one), laid.x(other)
            yield line(left, upper - half, right, upper - half, _FACE)
            yield line(left, lower + half, right, lower + half, _FACE)
            middle, long = (left + right) / 2, (lower - upper) / 2 * _FILLS
            for tip, foot in ((upper + long, upper), (lower - long, lower)):
                corners = [(middle, tip), (middle - _SLIM * long, foot), (middle + _SLIM * long, foot)]
                yield Path(closed(corners), None, BLACK)
    for r, low, high in seat.walls:
        section = sizes(seat.form)
        own = section.reach if abs(section.reach - r) < abs(section.bore - r) else section.bore
        for side in (1, -1):
            x, wall = laid.x(side * own), laid.x(side * r)
            ends = (min(laid.under(low), laid.window.bottom), max(laid.under(high), laid.window.y))
            yield line(wall, ends[0], wall, ends[1], _FACE)
            yield line(x, laid.part(section.height), x, laid.part(0.0), _FACE)
