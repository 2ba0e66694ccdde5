"""Bolts, nuts, plugs, keys and balls; head and nut sizes from the standards."""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Final

from labelkit.forms import standards, turned
from labelkit.forms.geometry import Contour, Point, arc_points, at, circle, polygon
from labelkit.forms.shapes import Face, Mark, Plan, Section, bar, box_plan, box_section, mm, rim
from labelkit.model.hardwareform import Ball, Bolt, Key, Nut, Plug

# Minor over nominal diameter of a thread; ISO metric coarse threads lie between 0.80 and 0.90. Drawing convention.
_MINOR: Final = 0.85
_SQRT_3: Final = math.sqrt(3)


def _across_corners(s: float) -> float:
    """Return the width of a hexagon over its corners, from its width across flats.

    >>> round(_across_corners(13), 2)
    15.01
    """
    return 2 * s / _SQRT_3


def hexagon(s: float) -> Contour:
    """Return a hexagon of this width across flats, corners at 3 and 9 o'clock."""
    return polygon(at(_across_corners(s) / 2, math.radians(60 * k)) for k in range(6))


@dataclass(frozen=True, slots=True)
class _Headed:
    """A screw with its head up: half profile, opening of the socket, and what the head shows.

    Attributes:
        profile: from the top of the head down to z = 0.
        length: of the shank, from its end up to the head.
        height: of the part lying down.
        recess: the socket's half section, from its edge to the axis.
        marks: what is seen of the head from above.
        hexagon: the head's outline where it is not round.
        flats: heights in the side view where two sides of a hexagon meet, with the head's span of z.
        missing: what no table gives.
    """

    profile: tuple[Point, ...]
    length: float
    height: float
    recess: tuple[Point, ...] = ()
    marks: tuple[Mark, ...] = ()
    hexagon: Contour | None = None
    flats: tuple[float, float, float] | None = None
    missing: tuple[str, ...] = ()


def _shank(r: float, length: float) -> tuple[Point, ...]:
    """Return a shank below its head, its end chamfered."""
    chamfer = _chamfer(r, length)
    return ((r, length), (r, chamfer), (r - chamfer, 0.0))


def _chamfer(r: float, length: float) -> float:
    return min(0.2 * r, 0.25 * length)


def _socket(s: float, depth: float, top: float) -> tuple[Point, ...]:
    half = _across_corners(s) / 2
    return ((half, top), (half, top - depth), (0.0, top - depth))


def _hex_bolt(d: float, length: float) -> _Headed | None:
    head = standards.hex_head(d)
    if head is None:
        return None
    corner, top = _across_corners(head.s) / 2, length + head.k
    profile = ((corner, top), (corner, length), *_shank(d / 2, length))
    return _Headed(profile, length, head.s, hexagon=hexagon(head.s), flats=(corner / 2, length, top))


def _flange_bolt(d: float, length: float) -> _Headed | None:
    head = standards.flange_head(d)
    if head is None:
        return None
    corner, flange, top = _across_corners(head.s) / 2, head.dc / 2, length + head.k
    # The flange rises from its edge to the hexagon at 25 degrees.
    shoulder = length + head.c + (flange - corner) * math.tan(math.radians(25))
    profile = ((corner, top), (corner, shoulder), (flange, length + head.c), (flange, length))
    return _Headed(
        (*profile, *_shank(d / 2, length)), length, head.dc, marks=(hexagon(head.s),), flats=(corner / 2, shoulder, top)
    )


def _socket_bolt(d: float, length: float) -> _Headed | None:
    head = standards.socket_head(d)
    if head is None:
        return None
    r, top = head.dk / 2, length + head.k
    profile = ((r, top), (r, length), *_shank(d / 2, length))
    return _Headed(profile, length, head.dk, recess=_socket(head.s, head.t, top), marks=(hexagon(head.s),))


def _countersunk_bolt(d: float, length: float) -> _Headed | None:
    """Return a countersunk screw; its length includes the head."""
    head = standards.countersunk_head(d)
    if head is None or head.k >= length:
        return None
    shank = length - head.k
    profile = ((head.dk / 2, length), *_shank(d / 2, shank))
    return _Headed(profile, shank, head.dk, recess=_socket(head.s, 0.55 * head.k, length), marks=(hexagon(head.s),))


def _plug(d: float, length: float) -> _Headed | None:
    head = standards.plug_head(d)
    if head is None:
        return None
    r, top = head.d2 / 2, length + head.c
    profile = ((r, top), (r, length), *_shank(d / 2, length))
    recess = _socket(head.s, min(0.6 * head.s, 0.6 * top), top)
    return _Headed(profile, length, head.d2, recess=recess, marks=(hexagon(head.s),))


_BOLTS: Final = {
    "hex": _hex_bolt,
    "flange": _flange_bolt,
    "socket": _socket_bolt,
    "countersunk": _countersunk_bolt,
}


def _headless(d: float, length: float) -> _Headed:
    """Return what the profile alone gives: a rod."""
    profile = ((d / 2, length), (d / 2, 0.0))
    return _Headed(profile, length, d, missing=("head",))


def _bolt(form: Bolt) -> _Headed:
    d, length = mm(form.d), mm(form.l)
    return _BOLTS[form.head](d, length) or _headless(d, length)


def _plan(screw: _Headed, d: float, thread: float) -> Plan:
    """Return a screw lying with its head at the left; one shorter than across stands, head up."""
    profile = screw.profile
    half = profile[0][1] / 2
    if not turned.lies_down(profile):
        plan = turned.end(profile, marks=screw.marks)
        return Plan(screw.hexagon or plan.outer, plan.height, (), plan.marks, missing=screw.missing)
    marks: list[Mark] = []
    if screw.flats:
        y, low, high = screw.flats
        marks += [((half - high, side * y), (half - low, side * y)) for side in (-1, 1)]
    if thread:
        core = _MINOR * d / 2
        start = half - min(thread, screw.length)
        # The line of the thread's core ends where it meets the chamfer.
        end = half - max(0.0, _chamfer(d / 2, screw.length) - (d / 2 - core))
        marks += [((start, side * core), (end, side * core)) for side in (-1, 1)]
        if thread < screw.length:
            marks.append(((start, -d / 2), (start, d / 2)))
    plan = turned.side(profile, height=screw.height, marks=marks)
    return Plan(plan.outer, plan.height, (), plan.marks, lies=True, missing=screw.missing)


def bolt_plan(form: Bolt) -> Plan:
    """Return the bolt lying down, head at the left.

    Heads by ISO 4014 (hex), ISO 4762 (socket), ISO 10642 (countersunk; `l` includes the head) and EN 1665 (flange).
    Outside these tables only the shank is drawn, and `missing` names the head.
    """
    screw, d = _bolt(form), mm(form.d)
    return _plan(screw, d, standards.thread_length(form.head, d, mm(form.l)))


def bolt_section(form: Bolt) -> Section:
    """Return the bolt standing on its end, head up, with the opening of a socket head."""
    return _section(_bolt(form))


def _section(screw: _Headed) -> Section:
    return Section((Face(turned.cut(screw.profile, recess=screw.recess)),))


def plug_plan(form: Plug) -> Plan:
    """Return the plug: collar and hexagon socket by DIN 908, `l` below the collar."""
    d, length = mm(form.d), mm(form.l)
    return _plan(_plug(d, length) or _headless(d, length), d, length)


def plug_section(form: Plug) -> Section:
    """Return the plug, its collar up."""
    d, length = mm(form.d), mm(form.l)
    return _section(_plug(d, length) or _headless(d, length))


def nut_plan(form: Nut) -> Plan:
    """Return hexagon (ISO 4032), bore and the thread's three-quarter circle; outside the table a bare circle."""
    d, nut = mm(form.d), standards.hex_nut(mm(form.d))
    if nut is None:
        return Plan(circle(d / 2), d, missing=("width across flats", "height"))
    thread = arc_points(d / 2, math.radians(80), math.radians(370))
    return Plan(hexagon(nut.s), nut.m, (circle(_MINOR * d / 2),), (thread,))


def nut_section(form: Nut) -> Section:
    """Return the nut cut through its corners; outside the table a cylinder as high as it is wide."""
    d, nut = mm(form.d), standards.hex_nut(mm(form.d))
    if nut is None:
        return Section(bar(0, 0, d / 2, d))
    bore, corner = _MINOR * d / 2, _across_corners(nut.s) / 2
    return Section(bar(bore, 0, corner, nut.m), rim(bore, 0, nut.m))


def key_plan(form: Key) -> Plan:
    """Return the key from above, both ends round (form A of DIN 6885-1) where it is longer than wide."""
    b, length = mm(form.b), mm(form.l)
    if length <= b:
        return box_plan(length, b, mm(form.h), lies=True)
    r, x = b / 2, (length - b) / 2
    return Plan(Contour(((-x, -r, 0.0), (x, -r, 1.0), (x, r, 0.0), (-x, r, 1.0))), mm(form.h), lies=True)


def key_section(form: Key) -> Section:
    """Return the key from the side."""
    return box_section(mm(form.l), mm(form.h))


def ball_plan(form: Ball) -> Plan:
    """Return a circle."""
    return Plan(circle(mm(form.d) / 2), mm(form.d))


def ball_section(form: Ball) -> Section:
    """Return a half circle, to be mirrored."""
    return Section((Face(Contour(((0.0, 0.0, 1.0), (0.0, mm(form.d), 0.0)))),))
