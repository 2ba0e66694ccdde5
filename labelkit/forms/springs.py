"""Wave springs, disc springs and coil springs, all at their free height."""

from __future__ import annotations

import math
from typing import Final

from labelkit.forms.geometry import TOUCH, Contour, Point, at, capsule, circle, polygon, rectangle
from labelkit.forms.shapes import Face, Mark, Plan, Section, annulus, box_plan, face, mm, rim
from labelkit.model.hardwareform import CoilSpring
from labelkit.model.ringform import DiscSpring, WaveSpring

# Waves and coils beyond these would only blacken the drawing.
_MOST_WAVES: Final = 12
_MOST_COILS: Final = 60
# Pitch of a spring whose number of coils is not given, in wire diameters. Drawing convention.
_PITCH: Final = 2.5


def _crests(inner: float, outer: float, count: int) -> list[Mark]:
    """Return a radial line at each crest, the first at 12 o'clock."""
    angles = [math.pi / 2 + math.tau * k / count for k in range(count)]
    return [(at(inner, angle), at(outer, angle)) for angle in angles]


def wave_spring_plan(form: WaveSpring) -> Plan:
    """Return two circles with a line along each crest."""
    inner, outer = mm(form.id) / 2, mm(form.od) / 2
    waves = min(form.waves, 2 * _MOST_WAVES)
    crests = _crests(inner, outer, waves)
    return annulus(outer, inner, mm(form.h), crests)


def wave_spring_section(form: WaveSpring) -> Section:
    """Return the band from the side, half of its waves unrolled over the diameter."""
    outer, t, h = mm(form.od) / 2, mm(form.t), mm(form.h)
    waves = min(max(1.0, form.waves / 2), float(_MOST_WAVES))
    pieces = math.ceil(24 * waves)
    lower: list[Point] = []
    for k in range(pieces + 1):
        share = k / pieces
        lower.append((-outer + 2 * outer * share, (h - t) * (1 - math.cos(math.tau * waves * share)) / 2))
    # The lowest and the highest point of the wave are reached exactly.
    upper = [(x, z + t) for x, z in reversed(lower)]
    return Section((Face(polygon([*lower, *upper])),), round=False)


def disc_spring_plan(form: DiscSpring) -> Plan:
    """Return two circles, and the waves where the form has them."""
    inner, outer = mm(form.id) / 2, mm(form.od) / 2
    crests = _crests(inner, outer, min(form.waves, 2 * _MOST_WAVES)) if form.waves else []
    return annulus(outer, inner, mm(form.h), crests)


def disc_spring_section(form: DiscSpring) -> Section:
    """Return the cone, its large edge up."""
    inner, outer, t, h = mm(form.id) / 2, mm(form.od) / 2, mm(form.t), mm(form.h)
    cone = face([(inner, 0), (outer, h - t), (outer, h), (inner, t)])
    return Section((cone,), (*rim(inner, 0), *rim(outer, h)))


# --- coil springs ----------------------------------------------------------------------------------------------------


def _coils(form: CoilSpring) -> tuple[int, float]:
    """Return how many whole coils are drawn and their pitch, mm; none (0) where the length holds not even two."""
    wire, length = mm(form.wire), mm(form.length)
    wanted = round(form.coils) if form.coils else int(length / (_PITCH * wire))
    count = min(max(2, wanted), int(length / wire - 0.5), _MOST_COILS)
    return (count, (length - wire) / (count - 0.5)) if count >= 2 else (0, 0.0)


def coil_spring_plan(form: CoilSpring) -> Plan:
    """Return the spring lying down, its coils leaning; one shorter than across stands on its end."""
    radius, wire, length = mm(form.od) / 2, mm(form.wire), mm(form.length)
    count, pitch = _coils(form)
    if length <= 2 * radius:
        return annulus(radius, radius - wire, length)
    if not count:
        return box_plan(length, 2 * radius, 2 * radius, lies=True)
    low = [-length / 2 + wire / 2 + k * pitch for k in range(count)]
    high = [x + pitch / 2 for x in low]
    crest = radius - wire / 2
    # A strand ends a little before its crest, so that its leaning flank stays inside the half circle there.
    end = crest - wire / 2 * pitch / 2 / math.hypot(pitch / 2, 2 * crest - wire)
    strands: list[Mark] = [capsule((a, -end), (b, end), wire / 2) for a, b in zip(low, high, strict=True)]
    return Plan(_bumpy(length, low, high, crest, wire / 2), 2 * radius, marks=tuple(strands), lies=True)


def _bumpy(length: float, low: list[float], high: list[float], crest: float, radius: float) -> Contour:
    """Return the outline: a half circle for every coil, at `low` on the lower side, at `high` on the upper."""
    corners: list[tuple[float, float, float]] = []
    for x in low:
        corners += [(x - radius, -crest, 1.0), (x + radius, -crest, 0.0)]
    corners.append((length / 2, -crest, 0.0))
    for x in reversed(high):
        corners += [(x + radius, crest, 1.0), (x - radius, crest, 0.0)]
    corners.append((-length / 2, crest, 0.0))
    # Where two coils touch, the straight piece between them has no length.
    following = corners[1:] + corners[:1]
    return Contour(tuple(a for a, b in zip(corners, following, strict=True) if a[2] or math.dist(a[:2], b[:2]) > TOUCH))


def coil_spring_section(form: CoilSpring) -> Section:
    """Return the wire cut on both sides, half a pitch apart, with the coils behind it."""
    radius, wire, length = mm(form.od) / 2, mm(form.wire), mm(form.length)
    count, pitch = _coils(form)
    if not count:
        sides = (Face(rectangle(x, 0, x + wire, length)) for x in (-radius, radius - wire))
        return Section(tuple(sides), round=False)
    middle = radius - wire / 2
    right = [wire / 2 + k * pitch for k in range(count)]
    left = [z + pitch / 2 for z in right]
    faces = [Face(circle(wire / 2, middle, z)) for z in right] + [Face(circle(wire / 2, -middle, z)) for z in left]
    lines = tuple(
        ((-middle, a + offset), (middle, b + offset))
        for a, b in zip(left, right[1:], strict=False)
        for offset in (-wire / 2, wire / 2)
    )
    return Section(tuple(faces), lines, round=False)
