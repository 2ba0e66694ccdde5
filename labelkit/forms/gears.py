"""Gears, ring gears and planet carriers.

Teeth follow the basic rack of ISO 53: addendum 1 module, dedendum 1.25 modules, fillet 0.38 modules, pressure angle
20 degrees, tooth thickness on the pitch circle pi m / 2. Tip and root circles are exact; a flank is the involute
through a few points.
"""

from __future__ import annotations

import math
from typing import Final

from labelkit.forms.geometry import Contour, arc_points, around, at, circle, rectangle
from labelkit.forms.shapes import Face, Mark, Plan, Role, Section, annulus, bar, face, mm, rim
from labelkit.model.form import Carrier, Gear, RingGear

_ADDENDUM: Final = 1.0
_DEDENDUM: Final = 1.25
_FILLET: Final = 0.38
_PRESSURE_ANGLE: Final = math.radians(20)


def _involute(angle: float) -> float:
    return math.tan(angle) - angle


def _half_tooth(teeth: int, module: float, radius: float) -> float:
    """Return half the angle that a tooth takes at this radius, in radians; below the base circle as on it.

    A tooth of a ring gear leaves exactly this as its space.

    >>> round(_half_tooth(24, 2.0, 24.0) * 2 * 24.0, 6) == round(math.pi * 2.0 / 2, 6)
    True
    """
    base = module * teeth / 2 * math.cos(_PRESSURE_ANGLE)
    pressure = math.acos(min(1.0, base / radius))
    return math.pi / (2 * teeth) + _involute(_PRESSURE_ANGLE) - _involute(pressure)


def _flank(teeth: int, module: float, low: float, high: float) -> list[tuple[float, float]]:
    """Return (half angle, radius) at both ends of a flank, on the pitch circle and half way to it."""
    pitch = module * teeth / 2
    radii = (low, (low + pitch) / 2, pitch, (pitch + high) / 2, high)
    return [(_half_tooth(teeth, module, r), r) for r in radii]


def _teeth(flank: list[tuple[float, float]], teeth: int) -> Contour:
    """Return the contour of an outside gear with this flank, the first tooth at 12 o'clock."""
    return around([*((-a, r) for a, r in flank), *((a, r) for a, r in reversed(flank))], teeth)


def _gear_radii(form: Gear) -> tuple[float, float, float]:
    """Return bore, root and tip radius."""
    module, pitch = mm(form.module), mm(form.module) * form.teeth / 2
    return mm(form.bore) / 2, pitch - _DEDENDUM * module, pitch + _ADDENDUM * module


def gear_plan(form: Gear) -> Plan:
    """Return the gear from its marked side: teeth, bore and a punch mark (convention) at 12 o'clock.

    The mark is on the web, or on the tooth where the web is narrower than the tooth is deep.
    """
    bore, root, tip = _gear_radii(form)
    module = mm(form.module)
    foot, *flank = _flank(form.teeth, module, root, tip)
    # The fillet widens the foot of the tooth by about half of its radius; at the root circle it must leave a space.
    foot = (min(foot[0] + _FILLET / 2 * module / root, 0.9 * math.pi / form.teeth), root)
    outer = _teeth([foot, *flank], form.teeth)
    low, high = (bore, root) if root - bore >= tip - root else (root, tip)
    marks: list[Mark] = [circle(0.12 * (high - low), 0, (low + high) / 2)]
    return Plan(outer, mm(form.width), (circle(bore),), tuple(marks))


def gear_section(form: Gear) -> Section:
    """Return body and tooth, the marked side up; the mark is a notch in the wider of the two."""
    bore, root, tip = _gear_radii(form)
    width = mm(form.width)
    return Section(_marked((bore, "body"), root, (tip, "tooth"), width), rim(bore, 0, width))


def _marked(inside: tuple[float, Role], middle: float, outside: tuple[float, Role], height: float) -> tuple[Face, ...]:
    """Return two rectangles side by side, each to its radius, the wider one with a notch in its top."""
    (inner, inner_role), (outer, outer_role) = inside, outside
    if middle - inner >= outer - middle:
        return _notched(inner, middle, height, inner_role), Face(rectangle(middle, 0, outer, height), role=outer_role)
    return Face(rectangle(inner, 0, middle, height), role=inner_role), _notched(middle, outer, height, outer_role)


def _notched(inner: float, outer: float, height: float, role: Role) -> Face:
    """Return a rectangle with a notch in its top: the mark that tells one side from the other (convention)."""
    middle, half = (inner + outer) / 2, 0.3 * (outer - inner)
    depth = min(0.4 * height, 2 * half)
    notch = [(middle + half, height), (middle, height - depth), (middle - half, height)]
    return face([(inner, 0), (outer, 0), (outer, height), *notch, (inner, height)], role=role)


def _ring_radii(form: RingGear) -> tuple[float, float, float]:
    """Return tip, root and outside radius; the tips are inside."""
    module, pitch = mm(form.module), mm(form.module) * form.teeth / 2
    return pitch - _ADDENDUM * module, pitch + _DEDENDUM * module, mm(form.od) / 2


def ring_gear_plan(form: RingGear) -> Plan:
    """Return the ring from its marked end, a space between two teeth and the mark at 12 o'clock."""
    tip, root, outer = _ring_radii(form)
    marks: list[Mark] = [circle(0.2 * (outer - root), 0, (outer + root) / 2)]
    opening = _teeth(_flank(form.teeth, mm(form.module), tip, root), form.teeth)
    return Plan(circle(outer), mm(form.width), (opening,), tuple(marks))


def ring_gear_section(form: RingGear) -> Section:
    """Return tooth and rim, the marked end up; the mark is a notch in the wider of the two."""
    tip, root, outer = _ring_radii(form)
    width = mm(form.width)
    return Section(_marked((tip, "tooth"), root, (outer, "body"), width), rim(tip, 0, width))


# --- planet carrier --------------------------------------------------------------------------------------------------

# Thickness of the carrier's plate, and where the planets begin and end, over its height. Drawing convention.
_PLATE: Final = 0.3
_PLANET: Final = (0.36, 0.9)


def _planets(form: Carrier) -> tuple[float, float, float, float]:
    """Return the radii on which the planets and their pins stand, a planet's radius and a pin's.

    `od` is measured over everything, so the planets stand just inside it (drawing convention). Where they leave no
    room for their pins beside the bore, the pins stand on the plate all the same.
    """
    outer, planet, bore = mm(form.od) / 2, mm(form.planet_od) / 2, _bore(form)
    pin = min(0.32 * planet, 0.4 * (outer - bore))
    stand = 0.97 * (outer - planet)
    return stand, max(stand, bore + pin), planet, pin


def _bore(form: Carrier) -> float:
    return mm(form.bore) / 2 if form.bore else 0.0


def carrier_plan(form: Carrier) -> Plan:
    """Return the carrier from its planets' side: planets and pins, the first at 12 o'clock.

    Planets may hang over the bore; then only what they leave free goes right through.
    """
    stand, pinned, planet, pin = _planets(form)
    bore = _bore(form)
    turns = [math.pi / 2 + math.tau * k / form.planets for k in range(form.planets)]
    marks: list[Mark] = [circle(r, *at(on, turn)) for turn in turns for on, r in ((pinned, pin), (stand, planet))]
    free = max(0.0, min(bore, stand - planet))
    if free < bore:
        marks += _between_planets(stand, planet, bore, turns)
    return annulus(mm(form.od) / 2, free, mm(form.h), marks)


def _between_planets(stand: float, planet: float, bore: float, turns: list[float]) -> list[Mark]:
    """Return the arcs of the bore's edge that no planet covers."""
    # The angle at the axis between a planet's middle and the place where its circle meets the bore.
    cosine = (bore**2 + stand**2 - planet**2) / (2 * bore * stand)
    covered, pitch = math.acos(max(-1.0, min(1.0, cosine))), math.tau / len(turns)
    if 2 * covered >= pitch:
        return []
    return [arc_points(bore, turn + covered, turn + pitch - covered) for turn in turns]


def carrier_section(form: Carrier) -> Section:
    """Return the plate with a planet on its pin above it."""
    outer, bore, h = mm(form.od) / 2, _bore(form), mm(form.h)
    stand, pinned, planet, pin = _planets(form)
    low, high = (share * h for share in _PLANET)
    faces = (
        *bar(bore, 0, outer, _PLATE * h),
        *bar(pinned - pin, _PLATE * h, pinned + pin, h, role="pin"),
        *bar(max(stand - planet, 0.0), low, pinned - pin, high, role="planet"),
        *bar(pinned + pin, low, stand + planet, high, role="planet"),
    )
    return Section(faces, rim(bore, 0, _PLATE * h))
