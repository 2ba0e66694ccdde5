"""Rolling bearings and bushes.

Bore, outside diameter and width are the profile's. Everything inside (races, rolling elements, cages) is a drawing
convention, in parts of the radial height H = (od - id) / 2: no standard fixes it.
"""

from __future__ import annotations

import math
from typing import Final

from labelkit.forms.geometry import Contour, around, at, bulge, circle, polygon, rectangle
from labelkit.forms.shapes import Face, Mark, Plan, Section, annulus, bar, face, mm, rim
from labelkit.model.ringform import (
    BallBearing,
    Bush,
    NeedleCage,
    RollerBearing,
    Sleeve,
    TaperCone,
    TaperCup,
    ThrustBearing,
)

# More rolling elements than these would only blacken the drawing.
_MOST: Final = 72
# A ball rolls in a groove this much larger than itself, as in most deep-groove bearings.
_CONFORMITY: Final = 1.04


def _radii(form: Sleeve) -> tuple[float, float]:
    return mm(form.id) / 2, mm(form.od) / 2


def _circles(radius: float, middle: float, spacing: float) -> list[Contour]:
    """Return rolling elements of this radius about the axis, one in `spacing` of its own diameter."""
    count = min(max(3, int(math.pi * middle / (radius * spacing))), _MOST)
    return [circle(radius, *at(middle, math.pi / 2 + math.tau * k / count)) for k in range(count)]


def _ball(form: BallBearing) -> tuple[float, float]:
    """Return ball radius and shoulder half distance: balls 0.3 (od - id), never wider than the bearing."""
    inner, outer = _radii(form)
    radius = min(0.3 * (outer - inner), 0.45 * mm(form.w))
    return radius, 0.68 * radius


def ball_bearing_plan(form: BallBearing) -> Plan:
    """Return both races and what is seen of the balls between them."""
    inner, outer = _radii(form)
    _, shoulder = _ball(form)
    middle = (inner + outer) / 2
    lands: list[Mark] = [circle(middle - shoulder), circle(middle + shoulder)]
    return annulus(outer, inner, mm(form.w), [*lands, *_circles(shoulder, middle, 1.9)])


def ball_bearing_section(form: BallBearing) -> Section:
    """Return inner race, outer race and ball."""
    inner, outer = _radii(form)
    radius, shoulder = _ball(form)
    middle, w = (inner + outer) / 2, mm(form.w)
    groove = radius * _CONFORMITY
    half = math.sqrt(groove**2 - shoulder**2)
    low, high = w / 2 - half, w / 2 + half
    sag = bulge(2 * math.asin(half / groove))
    land = middle + shoulder
    outer_race = Contour(
        (
            (land, 0.0, 0.0),
            (outer, 0.0, 0.0),
            (outer, w, 0.0),
            (land, w, 0.0),
            (land, high, -sag),
            (land, low, 0.0),
        )
    )
    land = middle - shoulder
    inner_race = Contour(
        (
            (inner, 0.0, 0.0),
            (land, 0.0, 0.0),
            (land, low, -sag),
            (land, high, 0.0),
            (land, w, 0.0),
            (inner, w, 0.0),
        )
    )
    faces = (Face(inner_race), Face(outer_race), Face(circle(radius, middle, w / 2), role="rolling"))
    return Section(faces, rim(inner, 0, w))


def _roller(form: RollerBearing) -> tuple[float, float]:
    """Return radius of the rollers and height of a rib."""
    inner, outer = _radii(form)
    return 0.24 * (outer - inner), 0.12 * (outer - inner)


def roller_bearing_plan(form: RollerBearing) -> Plan:
    """Return both races and the ends of the rollers."""
    inner, outer = _radii(form)
    radius, _ = _roller(form)
    middle = (inner + outer) / 2
    tracks: list[Mark] = [circle(middle - radius), circle(middle + radius)]
    return annulus(outer, inner, mm(form.w), [*tracks, *_circles(radius, middle, 1.25)])


def roller_bearing_section(form: RollerBearing) -> Section:
    """Return the plain inner race, the outer race with two ribs, and the roller between them."""
    inner, outer = _radii(form)
    radius, rib = _roller(form)
    middle, w = (inner + outer) / 2, mm(form.w)
    low, high = 0.2 * w, 0.8 * w
    track, edge = middle + radius, middle + radius - rib
    outer_race = face(
        [(edge, 0), (outer, 0), (outer, w), (edge, w), (edge, high), (track, high), (track, low), (edge, low)]
    )
    faces = (*bar(inner, 0, middle - radius, w), outer_race, *bar(middle - radius, low, track, high, role="rolling"))
    return Section(faces, rim(inner, 0, w))


def taper_cone_plan(form: TaperCone) -> Plan:
    """Return the cone from its small end: the rollers spread outwards below the small rib.

    `od` is measured over the rollers at their large ends.
    """
    inner, outer = _radii(form)
    height = outer - inner
    count = min(max(6, int(math.tau * outer / (0.62 * height))), _MOST)
    half = 0.8 * math.pi / count
    low = outer - 0.5 * height
    rollers = [
        polygon(
            at(r, math.pi / 2 + math.tau * k / count + a)
            for r, a in ((low, -half), (outer * math.cos(half), -half), (outer * math.cos(half), half), (low, half))
        )
        for k in range(count)
    ]
    return annulus(outer, inner, mm(form.w), [circle(low), *rollers])


def taper_cone_section(form: TaperCone) -> Section:
    """Return the race with its ribs and the roller, the small end up."""
    inner, outer = _radii(form)
    height, w = outer - inner, mm(form.w)
    low, high = 0.14 * w, 0.9 * w
    lean = min(0.3 * (high - low), 0.4 * height)
    thick, thin = 0.42 * height, 0.36 * height
    roller = [(outer - thick, low), (outer, low), (outer - lean, high), (outer - lean - thin, high)]
    rib, small_rib = outer - 0.45 * thick, outer - lean - 0.72 * thin
    race = [(inner, 0), (rib, 0), (rib, low), roller[0], roller[3], (small_rib, high), (small_rib, w), (inner, w)]
    return Section((face(race), face(roller, role="rolling")), rim(inner, 0, w))


def _cup_mouth(form: TaperCup) -> float:
    """Return the inside radius at the large end."""
    inner, outer = _radii(form)
    return inner + min(0.3 * mm(form.w), 0.7 * (outer - inner))


def taper_cup_plan(form: TaperCup) -> Plan:
    """Return the cup from its large end; `id` is its small opening."""
    inner, outer = _radii(form)
    return annulus(outer, inner, mm(form.w), [circle(_cup_mouth(form))])


def taper_cup_section(form: TaperCup) -> Section:
    """Return the cup, its large opening up."""
    inner, outer = _radii(form)
    w, mouth = mm(form.w), _cup_mouth(form)
    return Section((face([(inner, 0), (outer, 0), (outer, w), (mouth, w)]),), (*rim(inner, 0), *rim(mouth, w)))


def needle_cage_plan(form: NeedleCage) -> Plan:
    """Return the cage's end ring with the needles showing on both sides of it."""
    inner, outer = _radii(form)
    height, middle = outer - inner, (inner + outer) / 2
    rings: list[Mark] = [circle(middle - 0.25 * height), circle(middle + 0.25 * height)]
    return annulus(outer, inner, mm(form.w), [*rings, *_circles(height / 2, middle, 1.6)])


def needle_cage_section(form: NeedleCage) -> Section:
    """Return a needle between the end rings of its cage."""
    inner, outer = _radii(form)
    height, w = outer - inner, mm(form.w)
    low, high = inner + 0.2 * height, outer - 0.2 * height
    faces = (
        *bar(inner, 0.12 * w, outer, 0.88 * w, role="rolling"),
        *bar(low, 0, high, 0.12 * w),
        *bar(low, 0.88 * w, high, w),
    )
    return Section(faces, (*rim(inner, 0.12 * w, 0.88 * w), *rim(low, 0, w)))


def bush_plan(form: Bush) -> Plan:
    """Return two circles."""
    inner, outer = _radii(form)
    return annulus(outer, inner, mm(form.l))


def bush_section(form: Bush) -> Section:
    """Return the wall."""
    inner, outer = _radii(form)
    return Section(bar(inner, 0, outer, mm(form.l)), rim(inner, 0, mm(form.l)))


# --- thrust cage -----------------------------------------------------------------------------------------------------


def _cage_edge(form: ThrustBearing) -> float:
    """Return the outside radius of the cage without its ears; `od` is measured over the ears."""
    inner, outer = mm(form.id) / 2, mm(form.od) / 2
    return outer - 0.14 * (outer - inner) if form.ears else outer


def thrust_bearing_plan(form: ThrustBearing) -> Plan:
    """Return the cage with its needles, its lip and its ears, the first ear at 12 o'clock."""
    inner, edge = mm(form.id) / 2, _cage_edge(form)
    height = edge - inner
    low, high = inner + 0.24 * height, edge - 0.24 * height
    count = min(max(8, int(math.tau * low / (0.3 * height))), 40)
    half = 0.5 * math.pi * low / count
    needle = rectangle(low, -half / 2, high, half / 2)
    marks: list[Mark] = [needle.turned(90 + 360 * k / count) for k in range(count)]
    if form.lip:
        marks.append(circle(inner + 0.1 * height if form.lip == "inner" else edge - 0.1 * height))
    outline = circle(edge)
    if form.ears:
        ear = min(0.2 * math.tau / form.ears, 0.12)
        outer = mm(form.od) / 2
        outline = around([(-ear, edge), (-ear, outer), (ear, outer), (ear, edge)], form.ears)
    return Plan(outline, mm(form.t), (circle(inner),), tuple(marks))


def thrust_bearing_section(form: ThrustBearing) -> Section:
    """Return a needle between the rims of its cage, the bent lip up, cut through an ear where there are ears.

    `t` is taken as the whole thickness, lip included, because nothing else gives the height of the lip.
    """
    inner, outer, t = mm(form.id) / 2, mm(form.od) / 2, mm(form.t)
    edge = _cage_edge(form)
    height = edge - inner
    needle = 0.55 * t if form.lip else t
    low, high, sheet = inner + 0.22 * height, edge - 0.22 * height, 0.3 * needle
    floor, lip = (needle - sheet) / 2, 0.1 * height
    rims = (
        _rim_face(inner, low, floor, sheet, t, lip if form.lip == "inner" else 0.0),
        _rim_face(edge, high, floor, sheet, t, lip if form.lip == "outer" else 0.0),
    )
    lines = rim(inner, floor, t if form.lip == "inner" else floor + sheet)
    if form.lip == "outer":
        lines = (*lines, *rim(edge - lip, t))
    return Section((*rims, *bar(edge, floor, outer, floor + sheet), *bar(low, 0, high, needle, role="rolling")), lines)


def _rim_face(edge: float, end: float, floor: float, sheet: float, top: float, lip: float) -> Face:
    """Return one rim of the cage from its `edge` to the needle's `end`; with `lip` > 0 the edge is bent up to `top`."""
    if not lip:
        return Face(rectangle(min(edge, end), floor, max(edge, end), floor + sheet))
    inward = math.copysign(lip, end - edge)
    points = [
        (edge, floor),
        (end, floor),
        (end, floor + sheet),
        (edge + inward, floor + sheet),
        (edge + inward, top),
        (edge, top),
    ]
    return face(points if end > edge else points[::-1])
