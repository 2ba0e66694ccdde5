"""Where a seat comes to lie in a box: radii and heights of both parts on the page.

Small drawings show direction, not size: empty bores are narrowed, thin parts drawn thicker and tall ones shorter, what
lies around and below is drawn closer. Each of these is a bent scale, straight between its knots, the same for both
parts across the axis, so that faces that meet in the unit meet on the page.
"""

from __future__ import annotations

import math
from bisect import bisect_right
from collections.abc import Iterable
from dataclasses import dataclass
from itertools import pairwise
from typing import Final

from labelkit import forms
from labelkit.drawing.page import Box
from labelkit.forms.shapes import mm
from labelkit.model.form import Piston
from labelkit.model.formbase import Form
from labelkit.model.hardwareform import Screw
from labelkit.model.scalars import THINNEST_MM
from labelkit.sheets.seat import Seat, below, sizes

_EVEN: Final = 0.4
# The shank of a screw is drawn no wider than this part of its head.
_SHANK: Final = 0.56
# What reaches beyond the part to its sides is drawn this much of its half width wide at most.
_AROUND: Final = 0.2
# How far a shank stands out below the piece it goes through, and how far a part is lifted out of its bore.
_THROUGH: Final = 0.55
_LIFTED: Final = 0.6
_HAIR: Final = 1e-6


@dataclass(frozen=True, slots=True)
class Scale:
    """A scale that is straight between its knots and goes on straight beyond them; knots ascend."""

    knots: tuple[tuple[float, float], ...]

    def __call__(self, value: float) -> float:
        """Return where a value lies."""
        knots = self.knots
        place = min(max(bisect_right(knots, (value,)), 1), len(knots) - 1)
        (a, low), (b, high) = knots[place - 1], knots[place]
        return low + (value - a) * (high - low) / (b - a)


@dataclass(frozen=True, slots=True)
class Manner:
    """How far a drawing may leave the true proportions, and what it is drawn with; lengths in parts of its height.

    Attributes:
        share: how much of its half width the cut of a part takes at least.
        flattest, flattest_alike: least height over width where the ends differ, and where they are alike.
        tallest: most height over width.
        gap: between the two parts; `clear` is the least of it, mm.
        depth: how much is seen of what lies below.
        even: steps of a part are drawn more alike in height than they are.
    """

    share: float
    flattest: float
    flattest_alike: float
    tallest: float
    gap: float
    depth: float
    even: bool
    clear: float = 0.0


@dataclass(frozen=True, slots=True)
class Laid:
    """A seat in its box.

    Attributes:
        middle: x of the axis.
        across: distance from the axis on the page by radius.
        part: y by height above the part's bottom.
        under: y by height above the bottom of what is below; the same as `part` where there is nothing.
        window: what is seen of the part below.
        gap: between mating faces, mm.
        scale: of the part across the axis.
    """

    middle: float
    across: Scale
    part: Scale
    under: Scale
    window: Box
    gap: float
    scale: float

    def x(self, r: float) -> float:
        """Return where a radius lies; a negative one left of the axis."""
        return self.middle + (self.across(r) if r >= 0 else -self.across(-r))


def lay(form: Form, seat: Seat | None, box: Box, manner: Manner) -> Laid:
    """Return where a part, and what it sits on, come to lie.

    Args:
        form: the part's.
        seat: None for the part alone.
        box: the room, mm; all of it is used either across or in height.
        manner: how the drawing is made.
    """
    section = sizes(form)
    height = section.height
    radial, half, part_half = _radial(form, seat, manner)
    flattest = manner.flattest if forms.sided(form) else manner.flattest_alike
    aspect = min(max(height / (2 * part_half), flattest), manner.tallest)
    even = _evened(form, down=seat.down if seat else False) if manner.even else Scale(((0.0, 0.0), (1.0, 1.0)))
    # Where the mating faces cut the part: the height in it, and which share of it is below.
    level = _level(seat)
    share = even(level) / even(height) if height else 0.0
    gap = 0.0 if seat is None or seat.walls else max(manner.gap * box.height, manner.clear)
    least = manner.depth * box.height if seat else 0.0

    def taken(scale: float) -> tuple[float, float, float]:
        drawn = aspect * 2 * part_half * scale
        sunk = max(share, 0.0) * drawn
        deep = max(least, _THROUGH * sunk) if seat else 0.0
        return drawn, deep, (1 - share) * drawn + max(sunk, gap + deep)

    scale = box.width / (2 * half)
    if taken(scale)[2] > box.height:
        low, high = 0.0, scale
        for _ in range(24):
            scale = (low + high) / 2
            low, high = (low, scale) if taken(scale)[2] > box.height else (scale, high)
        scale = low
    drawn, deep, whole = taken(scale)
    top = box.y + (box.height - whole) / 2
    plane = top + (1 - share) * drawn
    across = Scale(tuple((r, at * scale) for r, at in radial))
    steps = drawn / even(height)
    part = Scale(tuple((z, plane + (even(level) - at) * steps) for z, at in even.knots))
    if seat is None:
        return Laid(box.x + box.width / 2, across, part, part, box, gap, scale)
    under = _under(seat, plane + gap, drawn / height, deep)
    bottom = plane + max(gap + deep, max(share, 0.0) * drawn)
    window = Box(box.x, box.y, box.width, min(bottom, plane + gap + deep) - box.y)
    return Laid(box.x + box.width / 2, across, part, under, window, gap, scale)


def _radial(form: Form, seat: Seat | None, manner: Manner) -> tuple[tuple[tuple[float, float], ...], float, float]:
    """Return the knots across the axis at 1:1, the half width of the drawing and that of the part."""
    section = sizes(form)
    bore, reach = section.bore, section.reach
    wall = reach - bore
    inner = min(bore, wall * (1 - manner.share) / manner.share)
    knots = [(0.0, 0.0), (bore, inner)] if bore > _HAIR else [(0.0, 0.0)]
    part_half = inner + wall
    if manner.even and isinstance(form, Screw) and _SHANK * reach < (shank := mm(form.d) / 2) < reach - _HAIR:
        knots.append((shank, _SHANK * reach))
    knots.append((reach, part_half))
    half = part_half
    if seat is not None:
        wide = max(abs(x) for ring, _ in below(seat) for x, _ in ring)
        if wide > reach + _HAIR:
            half += min(wide - reach, _AROUND * part_half)
            knots.append((wide, half))
    return tuple(knots), half, part_half


def _level(seat: Seat | None) -> float:
    """Return the height in the part that lies at the mating faces, or at the mouth of the bore it is lifted out of."""
    if seat is None:
        return 0.0
    if seat.walls:
        _, low, high = seat.walls[0]
        return low - seat.rest if isinstance(seat.other, Piston) else (1 - _LIFTED) * min(high - seat.rest, high - low)
    return max(z for _, _, z in seat.faces) - seat.rest


def _met(seat: Seat) -> float:
    """Return the height of the mating faces in what is below, or of the mouth of its bore."""
    if seat.walls:
        return seat.walls[0][1 if isinstance(seat.other, Piston) else 2]
    return max(z for *_, z in seat.faces)


def _under(seat: Seat, plane: float, stretch: float, deep: float) -> Scale:
    """Return y by height of what is below: as the part is stretched, but never so thin that it is not seen."""
    level = _met(seat)
    lower = stretch
    if level > _HAIR:
        lower = max(stretch, 0.8 * deep / level)
    top = max(z for ring, _ in below(seat) for _, z in ring)
    knots = [(0.0, plane + level * lower)] if level > _HAIR else [(-1.0, plane + lower)]
    knots.append((level, plane))
    if top > level + _HAIR:
        knots.append((top, plane - (top - level) * stretch))
    return Scale(tuple(knots))


def _evened(form: Form, *, down: bool) -> Scale:
    """Return heights with short steps made longer and long ones shorter; straight for a form without steps."""
    height = sizes(form).height
    if not form.stepped:
        return Scale(((0.0, 0.0), (height, height)))
    levels = _distinct(z for face in forms.section(form).faces for _, z, _ in face.contour.vertices)
    if down:
        levels = [height - z for z in reversed(levels)]
    steps = [(high - low) ** _EVEN for low, high in pairwise(levels)]
    knots, at = [(levels[0], 0.0)], 0.0
    for level, step in zip(levels[1:], steps, strict=True):
        at += step * height / math.fsum(steps)
        knots.append((level, at))
    return Scale(tuple(knots))


def _distinct(values: Iterable[float]) -> list[float]:
    found: list[float] = []
    for value in sorted(values):
        if not found or value - found[-1] > float(THINNEST_MM) / 2:
            found.append(value)
    return found
