"""Rings and plates: washers, O-rings, retaining rings, clutch plates."""

from __future__ import annotations

import math
from typing import Final

from labelkit.forms import standards
from labelkit.forms.geometry import Contour, around, at, bulge, circle
from labelkit.forms.shapes import Face, Plan, Section, annulus, bar, mm, rim
from labelkit.model.ringform import FrictionPlate, ORing, Ring, SnapRing, SteelPlate

# Radial width of a retaining ring beside its lugs, over the width opposite the gap. Drawing convention.
_NARROW: Final = 0.6
# Breadth of a lug over its radial height. Drawing convention.
_LUG: Final = 1.1


def ring_plan(form: Ring) -> Plan:
    """Return two circles."""
    return annulus(mm(form.od) / 2, mm(form.id) / 2, mm(form.t))


def ring_section(form: Ring) -> Section:
    """Return a rectangle with the edges of the bore behind it."""
    inner, t = mm(form.id) / 2, mm(form.t)
    return Section(bar(inner, 0, mm(form.od) / 2, t), rim(inner, 0, t))


def o_ring_plan(form: ORing) -> Plan:
    """Return two circles and the crest of the cord."""
    inner, cord = mm(form.id) / 2, mm(form.section)
    return annulus(inner + cord, inner, cord, [circle(inner + cord / 2)])


def o_ring_section(form: ORing) -> Section:
    """Return the cord's circle and the crest of the ring behind it."""
    inner, cord = mm(form.id) / 2, mm(form.section)
    middle = inner + cord / 2
    return Section((Face(circle(cord / 2, middle, cord / 2), "rubber"),), rim(middle, 0, cord))


# --- retaining rings -------------------------------------------------------------------------------------------------


def snap_ring_plan(form: SnapRing) -> Plan:
    """Return the free ring with its gap at 12 o'clock, its lugs and their holes.

    Inside or outside diameter, lugs and largest width follow DIN 471 and DIN 472; outside these tables the ring is
    drawn without lugs, as wide as it is thick. A gap that the profile does not give is half a lug's height on a shaft
    ring, a whole one on a bore ring; the width beside the lugs and their breadth are drawing conventions.
    """
    sizes = standards.retaining_ring(form.fits, mm(form.d))
    if sizes is None:
        return _wire_ring(form)
    outward = form.fits == "shaft"
    sign = 1 if outward else -1
    edge, middle = sizes.d3 / 2, sizes.d3 / 2 + sign * sizes.a / 2
    start = _gap_angle(form, sizes.a * (0.5 if outward else 1.0), edge + min(0.0, sign * sizes.a))
    stop = start + _LUG * sizes.a / middle
    hole = at(middle, (start + stop) / 2)
    drift = sign * (1 - _NARROW) / 2 * sizes.b
    back = _Eccentric(edge + sign * (1 + _NARROW) / 2 * sizes.b, -drift)
    outline = _lugged(edge, edge + sign * sizes.a, back, start, stop)
    holes = tuple(circle(sizes.d5 / 2, x, hole[0]) for x in (-hole[1], hole[1]))
    return Plan(outline, mm(form.t), holes)


class _Eccentric:
    """A circle of this radius about (0, shift)."""

    def __init__(self, radius: float, shift: float) -> None:
        self.radius, self.shift = radius, shift

    def cross(self, angle: float) -> float:
        """Return how far from the origin the circle is at this angle, clockwise from 12 o'clock."""
        return self.shift * math.cos(angle) + math.sqrt(self.radius**2 - (self.shift * math.sin(angle)) ** 2)

    def sweep(self, angle: float) -> float:
        """Return the angle of the arc between the two places at `angle` and `-angle`, round the bottom."""
        x, y = _clock(self.cross(angle), angle)
        return 2 * (math.pi - math.atan2(x, y - self.shift))


def _clock(radius: float, angle: float) -> tuple[float, float]:
    """Return the point at an angle clockwise from 12 o'clock."""
    return at(radius, math.pi / 2 - angle)


def _lugged(edge: float, tip: float, back: _Eccentric, start: float, stop: float) -> Contour:
    """Return a ring with two lugs: `edge` faces the groove's side, `back` is the side of the lugs, `tip` their ends."""
    neck = back.cross(stop)
    full = 2 * (math.pi - start)
    outside = [
        (*_clock(tip, start), -bulge(stop - start)),
        (*_clock(tip, stop), 0.0),
        (*_clock(neck, stop), -bulge(back.sweep(stop))),
        (*_clock(neck, -stop), 0.0),
        (*_clock(tip, -stop), -bulge(stop - start)),
        (*_clock(tip, -start), 0.0),
        (*_clock(edge, -start), bulge(full)),
        (*_clock(edge, start), 0.0),
    ]
    contour = Contour(tuple(outside))
    return contour if contour.area() > 0 else contour.reversed()


def _gap_angle(form: SnapRing, fallback: float, radius: float) -> float:
    """Return half the angle of the gap; one wider than a third of the ring is drawn as a third."""
    half = (mm(form.gap) if form.gap else fallback) / 2
    return math.asin(min(half / radius, math.sin(math.pi / 3)))


def _wire_ring(form: SnapRing) -> Plan:
    inner, outer = _wire_radii(form)
    middle = (inner + outer) / 2
    start = _gap_angle(form, mm(form.t), middle)
    full = 2 * (math.pi - start)
    outer_end, inner_end = _clock(outer, -start), _clock(inner, start)
    contour = Contour(
        (
            (*outer_end, bulge(full)),
            (*_clock(outer, start), 0.0),
            (*inner_end, -bulge(full)),
            (*_clock(inner, -start), 0.0),
        )
    )
    return Plan(contour, mm(form.t), missing=("radial width", "lugs"))


def _wire_radii(form: SnapRing) -> tuple[float, float]:
    """Return inner and outer radius of a ring that no table holds: as wide as it is thick."""
    radius, width = mm(form.d) / 2, min(mm(form.t), mm(form.d) / 4)
    return (radius, radius + width) if form.fits == "shaft" else (radius - width, radius)


def snap_ring_section(form: SnapRing) -> Section:
    """Return the ring cut opposite its gap: the lower edges rounded, the sharp edges up."""
    sizes = standards.retaining_ring(form.fits, mm(form.d))
    if sizes is None:
        inner, outer = _wire_radii(form)
    elif form.fits == "shaft":
        inner, outer = sizes.d3 / 2, sizes.d3 / 2 + sizes.b
    else:
        inner, outer = sizes.d3 / 2 - sizes.b, sizes.d3 / 2
    t = mm(form.t)
    radius = 0.45 * min(t, outer - inner)
    quarter = bulge(math.pi / 2)
    contour = Contour(
        (
            (inner + radius, 0.0, 0.0),
            (outer - radius, 0.0, quarter),
            (outer, radius, 0.0),
            (outer, t, 0.0),
            (inner, t, 0.0),
            (inner, radius, quarter),
        )
    )
    return Section((Face(contour),), rim(inner, radius, t))


# --- clutch plates ---------------------------------------------------------------------------------------------------


def friction_plate_plan(form: FrictionPlate) -> Plan:
    """Return the plate with its teeth and the inner edge of the linings.

    `id` is measured over the tips of the teeth; their depth is a drawing convention.
    """
    inner, outer = mm(form.id) / 2, mm(form.od) / 2
    lining = (circle(_lining(inner, outer, form.teeth)),)
    if form.teeth is None:
        return Plan(circle(outer), mm(form.t), (circle(inner),), lining, missing=("teeth",))
    depth = _tooth_depth(inner, outer, form.teeth)
    root, pitch = inner + depth, math.tau / form.teeth
    # The opening is the plate's inside out: it reaches out to the root between two teeth.
    wide = 0.3 * pitch
    narrow = wide - min(0.1 * pitch, 0.5 * depth / root)
    space = [(-wide, inner), (-narrow, root), (narrow, root), (wide, inner)]
    return Plan(circle(outer), mm(form.t), (around(space, form.teeth),), lining)


def _tooth_depth(inner: float, outer: float, teeth: int | None) -> float:
    return min(0.3 * (outer - inner), 0.4 * math.tau * inner / teeth) if teeth else 0.0


def _lining(inner: float, outer: float, teeth: int | None) -> float:
    """Return the inner radius of the linings: a little outside the roots of the teeth."""
    return inner + _tooth_depth(inner, outer, teeth) + 0.1 * (outer - inner)


def friction_plate_section(form: FrictionPlate) -> Section:
    """Return the core, cut through a tooth, and its two linings, each three tenths of the thickness (convention)."""
    inner, outer, t = mm(form.id) / 2, mm(form.od) / 2, mm(form.t)
    lining = _lining(inner, outer, form.teeth)
    faces = (
        *bar(inner, 0.3 * t, outer, 0.7 * t),
        *bar(lining, 0, outer, 0.3 * t, "lining"),
        *bar(lining, 0.7 * t, outer, t, "lining"),
    )
    return Section(faces, (*rim(inner, 0.3 * t, 0.7 * t), *rim(lining, 0, t)))


def steel_plate_plan(form: SteelPlate) -> Plan:
    """Return the plate with its lugs, the first at 12 o'clock.

    `od` is measured over the lugs; their depth and breadth are drawing conventions.
    """
    inner, outer = mm(form.id) / 2, mm(form.od) / 2
    if form.lugs is None:
        return Plan(circle(outer), mm(form.t), (circle(inner),), missing=("lugs",))
    body, pitch = _lug_root(form, form.lugs), math.tau / form.lugs
    half = min(0.22 * pitch, 0.11)
    lug = [(-half, body), (-half, outer), (half, outer), (half, body)]
    return Plan(around(lug, form.lugs), mm(form.t), (circle(inner),))


def _lug_root(form: SteelPlate, lugs: int) -> float:
    inner, outer = mm(form.id) / 2, mm(form.od) / 2
    return outer - min(0.25 * (outer - inner), 0.4 * math.tau * outer / lugs)


def steel_plate_section(form: SteelPlate) -> Section:
    """Return the plate cut through two lugs, which stand off from its body."""
    inner, outer, t = mm(form.id) / 2, mm(form.od) / 2, mm(form.t)
    if form.lugs is None:
        return Section(bar(inner, 0, outer, t), rim(inner, 0, t))
    body = _lug_root(form, form.lugs)
    return Section((*bar(inner, 0, body, t), *bar(body, 0, outer, t, role="lug")), rim(inner, 0, t))
