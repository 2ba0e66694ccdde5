"""Turned and cast bodies: drums, hubs, pistons; levers, blocks and free outlines."""

from __future__ import annotations

import math
from typing import Final

from labelkit.forms.geometry import Contour, bulge, circle, polygon
from labelkit.forms.shapes import (
    THINNEST,
    Mark,
    Plan,
    Section,
    annulus,
    bar,
    box_plan,
    box_section,
    face,
    mm,
    rim,
)
from labelkit.model.form import Block, Drum, Hub, Lever, Outline, Piston

# A lever's small end over its wide end. Drawing convention.
_SMALL_END: Final = 0.6


def _drum(form: Drum) -> tuple[float, float, float, float, float]:
    """Return outside and inside radius, bore radius (0: none), height and floor.

    A floor that the profile does not give is as thick as the wall, at most half of the height (drawing convention).
    """
    h, wall = mm(form.h), mm(form.wall)
    floor = mm(form.floor) if form.floor else min(wall, h / 2)
    return mm(form.od) / 2, mm(form.od) / 2 - wall, mm(form.bore) / 2 if form.bore else 0.0, h, floor


def drum_plan(form: Drum) -> Plan:
    """Return the drum from its mouth."""
    outer, inside, bore, h, _ = _drum(form)
    return annulus(outer, min(bore, inside), h, _inner_circles(max(bore, inside), outer))


def _inner_circles(radius: float, outer: float) -> list[Mark]:
    return [circle(radius)] if radius < outer - THINNEST else []


def drum_section(form: Drum) -> Section:
    """Return the drum, its mouth up."""
    outer, inside, bore, h, floor = _drum(form)
    shell = [(bore, 0), (outer, 0), (outer, h), (inside, h), (inside, floor), (bore, floor)]
    return Section((face(shell),), (*rim(inside, h), *rim(bore, 0, floor)))


def hub_plan(form: Hub) -> Plan:
    """Return the hub from its long boss."""
    boss = mm(form.od) / 2
    if form.flange_od is None:
        return annulus(boss, mm(form.bore) / 2, mm(form.h))
    return annulus(mm(form.flange_od) / 2, mm(form.bore) / 2, mm(form.h), [circle(boss)])


def hub_section(form: Hub) -> Section:
    """Return the hub, its flange at the bottom and its long boss up."""
    boss, bore, h = mm(form.od) / 2, mm(form.bore) / 2, mm(form.h)
    lines = rim(bore, 0, h)
    if form.flange_od is None or form.flange_t is None:
        return Section(bar(bore, 0, boss, h), lines)
    flange, t = mm(form.flange_od) / 2, mm(form.flange_t)
    return Section((face([(bore, 0), (flange, 0), (flange, t), (boss, t), (boss, h), (bore, h)]),), lines)


def _piston_walls(form: Piston) -> tuple[float, float, float, float]:
    """Return inner and outer radius and the two radii between which the piston is hollow (drawing convention)."""
    inner, outer = mm(form.id) / 2, mm(form.od) / 2
    breadth = outer - inner
    return inner, outer, inner + 0.18 * breadth if inner else 0.0, outer - 0.2 * breadth


def piston_plan(form: Piston) -> Plan:
    """Return the piston from its hollow side."""
    inner, outer, low, high = _piston_walls(form)
    return annulus(outer, inner, mm(form.h), [circle(r) for r in (low, high) if r])


def piston_section(form: Piston) -> Section:
    """Return the piston with its skirt up, the inner wall lower, a seal groove outside; proportions by convention."""
    inner, outer, low, high = _piston_walls(form)
    h = mm(form.h)
    head, groove = 0.4 * h, outer - 0.08 * (outer - inner)
    points = [(inner, 0), (outer, 0), (outer, 0.14 * h), (groove, 0.14 * h), (groove, 0.28 * h), (outer, 0.28 * h)]
    points += [(outer, h), (high, h), (high, head), (low, head)]
    if inner:
        points += [(low, 0.8 * h), (inner, 0.8 * h)]
    return Section((face(points),), (*rim(high, h), *rim(inner, 0)))


def lever_plan(form: Lever) -> Plan:
    """Return a lever tapering from a round wide end with an eye; one not longer than wide is a rectangle.

    Length, width and thickness are the profile's; the taper and the eyes are drawing conventions.
    """
    length, wide, t = mm(form.l), mm(form.w) / 2, mm(form.t)
    if length <= 2 * wide:
        return box_plan(length, 2 * wide, t, lies=True)
    small = _SMALL_END * wide
    left, right = -length / 2 + wide, length / 2 - small
    # The flanks touch both end circles; their normal leans towards the small end.
    lean = math.acos((wide - small) / (right - left))
    c, s = math.cos(lean), math.sin(lean)
    outer = Contour(
        (
            (left + wide * c, -wide * s, 0.0),
            (right + small * c, -small * s, bulge(2 * lean)),
            (right + small * c, small * s, 0.0),
            (left + wide * c, wide * s, bulge(2 * (math.pi - lean))),
        )
    )
    return Plan(outer, t, marks=(circle(0.45 * wide, left), circle(0.45 * small, right)), lies=True)


def lever_section(form: Lever) -> Section:
    """Return the lever from the side."""
    return box_section(mm(form.l), mm(form.t))


def block_plan(form: Block) -> Plan:
    """Return a rectangle."""
    return box_plan(mm(form.l), mm(form.w), mm(form.h))


def block_section(form: Block) -> Section:
    """Return a rectangle."""
    return box_section(mm(form.l), mm(form.h))


# --- free outlines ---------------------------------------------------------------------------------------------------


def _outline(form: Outline) -> tuple[Contour, list[Contour]]:
    """Return the outline and its holes, moved so that the middle of the envelope is the origin."""
    contour = polygon((float(x.mm), float(y.mm)) for x, y in form.points)
    box = contour.box()
    dx, dy = -(box.left + box.right) / 2, -(box.bottom + box.top) / 2
    contour = contour.moved(dx, dy)
    holes = [circle(mm(d) / 2, float(x.mm) + dx, float(y.mm) + dy) for x, y, d in form.holes]
    return (contour if contour.area() > 0 else contour.reversed()), holes


def outline_plan(form: Outline) -> Plan:
    """Return the outline as given, with its holes, about the middle of its envelope."""
    contour, holes = _outline(form)
    return Plan(contour, mm(form.h), tuple(holes))


def outline_section(form: Outline) -> Section:
    """Return the part from the side, cut so that material shows over its whole width, with its holes on the x axis."""
    contour, holes = _outline(form)
    h, box = mm(form.h), contour.box()
    openings = sorted(span for hole in holes if (span := _on_axis(hole)))
    edges = [box.left, *(x for span in openings for x in span), box.right]
    faces = tuple(piece for low, high in zip(edges[::2], edges[1::2], strict=True) for piece in bar(low, 0, high, h))
    lines = tuple(((box.left, z), (box.right, z)) for z in (0.0, h))
    return Section(faces, lines, round=False, axial=False)


def _on_axis(hole: Contour) -> tuple[float, float] | None:
    """Return where a round hole meets the x axis, None where it does not."""
    box = hole.box()
    radius, x, y = box.width / 2, (box.left + box.right) / 2, (box.bottom + box.top) / 2
    if abs(y) >= radius:
        return None
    half = math.sqrt(radius**2 - y**2)
    return x - half, x + half
