"""Where a part meets what it sits on, found from both forms: the seat that labels, cards and sheets draw.

The part is let down along the axis until it touches. Faces that then lie on each other are the mating faces; a part
that goes into a bore or over a shoulder of its own size meets it with its wall. What stands off the axis, as a screw
in a flange, sits on the piece of the other part below it. Where the forms do not tell, there is no seat: it is better
not to draw one than to draw a wrong one.
"""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from functools import lru_cache
from typing import Final

from labelkit import forms
from labelkit.calc.assembly import partners
from labelkit.calc.seatingpieces import flipped
from labelkit.calc.steps import Bin, Inside
from labelkit.forms.edges import facing, outermost
from labelkit.forms.geometry import Point
from labelkit.forms.shapes import Material, mm
from labelkit.model.form import Carrier, Gear, Piston, RingGear, Shaft, Toothed
from labelkit.model.formbase import Form
from labelkit.model.hardwareform import CoilSpring, Screw
from labelkit.model.part import Part
from labelkit.model.ringform import ORing, Ring
from labelkit.sheets.jobview import JobView

Polygon = tuple[Point, ...]

# Radii that differ by less than this are one fit, mm and part of the radius: interference, clearance, rounded sizes.
_FIT: Final = (0.6, 0.02)
# Faces are on each other where the gap is below this part of the lower one of the two.
_TOUCH: Final = 0.03
# A part that several times lies on one much larger stands off its axis.
_SMALL: Final = 0.35
# A chord leaves its arc by this part of the form's size at most.
_CHORD: Final = 0.002
_HAIR: Final = 1e-6
# A piece of material under a part off the axis, in radii of the part; its hole, in radii of the shank.
_WIDE: Final = 1.7
_CLEARANCE: Final = 1.1


@dataclass(frozen=True, slots=True)
class Seat:
    """A part on what it sits on; heights in mm from the bottom of what is below, both as they are in the unit.

    Attributes:
        form, other: the part and what it sits on.
        down, other_down: whether the `way` end of each looks down.
        rest: height of the part's bottom.
        faces: where they lie on each other: two radii and the height.
        walls: where the part is held round: radius and two heights.
        beside: the part stands off the axis; radii are from its own axis, and `other` is a piece of material.
        hole: radius of the shank that goes through that piece; 0 for none.
    """

    form: Form
    other: Form
    down: bool = False
    other_down: bool = False
    rest: float = 0.0
    faces: tuple[tuple[float, float, float], ...] = ()
    walls: tuple[tuple[float, float, float], ...] = ()
    beside: bool = False
    hole: float = 0.0


def neighbour(view: JobView, each: Bin | Inside) -> Part | None:
    """Return the part that a part sits on; None when that is not recorded or not in this job."""
    name = each.part.sits.on if each.part.sits else None
    if name is None:
        return None
    for found in partners(view.teardown, each, name):
        return found.part
    return next((inside.part for inside in view.teardown.inside if inside.part.id == name), None)


def seat_of(part: Part, other: Part | None) -> Seat | None:
    """Return the seat of a part on another; None where one of them has no form or the forms do not tell."""
    if other is None or part.form is None or other.form is None:
        return None
    turned = flipped(part) and forms.sided(part.form)
    other_turned = flipped(other) and forms.sided(other.form)
    several = part.qty != 1 and part.qty != other.qty
    return _seat(part.form, other.form, turned, other_turned, several)


@lru_cache(maxsize=4096)
def _seat(form: Form, other: Form, down: bool, other_down: bool, several: bool) -> Seat | None:
    seat = Seat(form, other, down, other_down)
    hardware = form.aside
    if isinstance(other, Screw) and not hardware:
        # What lies under a head is drawn round the shank of a screw that stands on its head.
        return None if forms.sided(form) else _let_down(replace(seat, other_down=True))
    if isinstance(other, Piston) and isinstance(form, ORing | Ring):
        return _in_groove(seat)
    if (isinstance(form, Carrier) and down) or isinstance(other, CoilSpring):
        return None  # planets turn, and the coils of a spring are no face
    beside = replace(seat, beside=True, hole=_shank(seat))
    if not sizes(other).axial:
        return None if isinstance(form, Shaft) else _let_down(beside)  # where on it a part stands is not recorded
    small = sizes(form).reach < _SMALL * sizes(other).reach
    if several and (small or hardware):
        return (None if hardware else _held_round(seat)) or _let_down(beside)
    found = _let_down(seat)
    if found is None and hardware and not other.aside:
        return _let_down(beside)
    return found


def _shank(seat: Seat) -> float:
    form = seat.form
    return mm(form.d) / 2 if isinstance(form, Screw) and not seat.down else 0.0


@dataclass(frozen=True, slots=True)
class Sizes:
    """Height, largest and smallest radius of a part's section, mm, and whether it is round about its axis."""

    height: float
    reach: float
    bore: float
    axial: bool
    round: bool


@lru_cache(maxsize=4096)
def sizes(form: Form) -> Sizes:
    """Return the sizes of a part's section."""
    section = forms.section(form)
    return Sizes(section.height, section.reach, section.bore, section.axial, section.round)


@lru_cache(maxsize=4096)
def rings(form: Form, *, down: bool) -> tuple[tuple[Polygon, Material], ...]:
    """Return the cut faces of a form as it sits, both halves: x from the axis, z from its bottom, mm."""
    height = sizes(form).height
    found = []
    for face in forms.section(form).whole().faces:
        box = face.contour.box()
        points = face.contour.polygon(_CHORD * max(box.width, box.height))
        found.append((tuple((x, height - z) for x, z in points) if down else tuple(points), face.material))
    return tuple(found)


def below(seat: Seat) -> tuple[tuple[Polygon, Material], ...]:
    """Return the cut faces of what a part sits on: its form, or the piece of material under a part off the axis."""
    if not seat.beside:
        return _unmarked(seat.other, down=seat.other_down)
    reach = _WIDE * sizes(seat.form).reach
    deep = min(sizes(seat.other).height, reach)
    hole = seat.hole * _CLEARANCE
    sides = ((-reach, -hole), (hole, reach)) if hole else ((-reach, reach),)
    return tuple((((x1, 0.0), (x2, 0.0), (x2, deep), (x1, deep)), "metal") for x1, x2 in sides)


def torn(seat: Seat) -> tuple[Polygon, ...]:
    """Return the edges of the piece of material under a part off the axis: its sides are torn, not faces."""
    edges: list[Polygon] = []
    for ring, _ in below(seat) if seat.beside else ():
        (left, low), (right, high) = min(ring), max(ring)
        inner = right if abs(left) > abs(right) else left
        outer = left + right - inner
        if seat.hole:
            edges.append(((outer, low), (inner, low), (inner, high), (outer, high)))
        else:
            edges += [((left, z), (right, z)) for z in (low, high)]
    return tuple(edges)


def _let_down(seat: Seat) -> Seat | None:
    """Return a seat with the part let down until it touches; in or round a wall of its own size else."""
    own = outermost((ring for ring, _ in _standing(seat)), top=False)
    under = outermost((ring for ring, _ in below(seat)), top=True)
    height = sizes(seat.form).height
    slack = _fit(sizes(seat.form).reach)
    spans = [each for each in facing(own, under) if each[1] - each[0] > _HAIR]
    if math.fsum(high - low for low, high, _, _ in spans) <= slack:
        return _held_round(seat)
    rest = max(t - b for _, _, bottom, top in spans for b, t in zip(bottom, top, strict=True))
    near = _TOUCH * min(height, max(z for _, z in _points(below(seat))))
    faces: list[tuple[float, float, float]] = []
    for low, high, bottom, top in spans:
        gaps = [rest - (t - b) for b, t in zip(bottom, top, strict=True)]
        if min(gaps) > near:
            continue
        # Of faces that lean towards each other only what is near is marked.
        shares = [1.0 if g <= near else (near - min(gaps)) / (max(gaps) - min(gaps)) for g in gaps]
        a, b = (low, low + (high - low) * shares[1]) if gaps[0] <= gaps[1] else (high - (high - low) * shares[0], high)
        level = top[0 if gaps[0] <= gaps[1] else 1]
        if faces and a - faces[-1][1] < _HAIR and abs(level - faces[-1][2]) <= near:
            faces[-1] = (faces[-1][0], b, faces[-1][2])
        else:
            faces.append((a, b, level))
    return _believed(replace(seat, rest=rest, faces=tuple(faces)))


def _unmarked(form: Form, *, down: bool) -> tuple[tuple[Polygon, Material], ...]:
    """Return the cut faces of a form; those of a gear without the notch that marks one side in the drawing alone."""
    cut = rings(form, down=down)
    if not isinstance(form, Toothed):
        return cut
    found = []
    for ring, material in cut:
        xs, zs = zip(*ring, strict=True)
        corners = ((min(xs), min(zs)), (max(xs), min(zs)), (max(xs), max(zs)), (min(xs), max(zs)))
        found.append((corners, material))
    return tuple(found)


def _standing(seat: Seat) -> tuple[tuple[Polygon, Material], ...]:
    """Return what a part can stand on: of a carrier its plate, not the planets, which turn."""
    own = _unmarked(seat.form, down=seat.down)
    return own[:2] if isinstance(seat.form, Carrier) else own


def _believed(seat: Seat) -> Seat | None:
    """Return a seat that the forms bear out; None for one that they only seem to show.

    A shaft hangs in its bearings: only its end may stand on something. Teeth go between teeth, not onto them.
    """
    if isinstance(seat.form, Shaft) and seat.rest < -_HAIR:
        return None
    if isinstance(seat.form, Shaft | Gear) and isinstance(seat.other, Carrier | RingGear):
        return None
    if isinstance(seat.other, Carrier) and not seat.beside:
        plate = forms.section(seat.other).faces[0].contour.box().height
        if not seat.other_down and any(z > plate + _HAIR for _, _, z in seat.faces):
            return None
    if isinstance(seat.form, Shaft) and not any(abs(z - seat.rest) < _HAIR for _, _, z in seat.faces):
        return None
    return seat


def _held_round(seat: Seat) -> Seat | None:
    """Return a part at the mouth of a bore of its own size, or round a shoulder of it; None where there is neither."""
    section = sizes(seat.form)
    outer, inner = section.reach, section.bore
    if not section.axial or not section.round or seat.beside:
        return None
    walls = [*_walls(rings(seat.other, down=seat.other_down))]
    slack = _fit(outer)
    found = [(abs(r - wanted), -high, low, r) for r, low, high in walls for wanted in (outer, inner) if wanted > _HAIR]
    found = [each for each in found if each[0] <= slack]
    if not found:
        return None
    _, minus, low, r = min(found)
    high = -minus
    rest = high - min(section.height, high - low)
    return replace(seat, rest=rest, walls=((r, max(low, rest), high),))


def _walls(faces: Sequence[tuple[Polygon, Material]]) -> Iterator[tuple[float, float, float]]:
    """Yield the upright edges on the right: radius and two heights."""
    for (x1, z1), (x2, z2) in _all_edges(faces):
        if x1 > _HAIR and abs(x1 - x2) < _HAIR and abs(z1 - z2) > _HAIR:
            yield x1, min(z1, z2), max(z1, z2)


def _in_groove(seat: Seat) -> Seat | None:
    """Return a ring in the groove round a piston; None for one of another size."""
    section, piston = sizes(seat.form), sizes(seat.other)
    if not section.bore < piston.reach <= section.reach + 2 * _fit(piston.reach):
        return None
    walls = [wall for wall in _walls(rings(seat.other, down=seat.other_down)) if wall[0] < piston.reach - _HAIR]
    r, low, high = max(walls)
    return replace(seat, rest=(low + high - section.height) / 2, walls=((r, low, high),))


# --- heights over a radius -------------------------------------------------------------------------------------------


def _fit(radius: float) -> float:
    return max(_FIT[0], _FIT[1] * radius)


def _points(faces: Sequence[tuple[Polygon, Material]]) -> Iterator[Point]:
    return (point for ring, _ in faces for point in ring)


def _all_edges(faces: Sequence[tuple[Polygon, Material]]) -> Iterator[tuple[Point, Point]]:
    for ring, _ in faces:
        yield from zip(ring, (*ring[1:], ring[0]), strict=True)
