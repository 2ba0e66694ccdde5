"""What a part of these sizes may weigh, and what a torque makes of a screw: bounds that tell a slip, never a limit.

Source: densities of the lightest and the heaviest that parts are made of (polyethylene 0.95, light metal 2.6, bronze
and copper 8.9 g/cm3) and the proof strength of property class 12.9 by ISO 898-1 (970 MPa) are from memory.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Final

from labelkit import forms
from labelkit.calc.bolting import FRICTION
from labelkit.calc.figures import digit
from labelkit.forms.geometry import Contour
from labelkit.forms.shapes import mm
from labelkit.model.formbase import Form
from labelkit.model.hardwareform import CoilSpring
from labelkit.units import Quantity

_PLASTIC: Final = 0.95e-6  # kg/mm3
_LIGHT_METAL: Final = 2.6e-6
_BRONZE: Final = 8.9e-6

# How much heavier and lighter a part may be than what its form shows: what is exact, and what is only as large as the
# form says, with pockets, bosses and teeth that it leaves out. Own choice; screws of ISO 4762 stay well inside.
_EXACT: Final = (0.8, 1.3)
_BODY: Final = (0.1, 1.8)
# A chord leaves its arc by this at most, mm: of a cord of 4 mm less than a hundredth is lost.
_CHORD: Final = 0.002
# Of a thread's diameter squared: ISO 898-1 gives 20.1 mm2 for M6, 84.3 for M12, 245 for M20 (from memory).
_STRESS_AREA: Final = 0.59
STRONGEST: Final = 970.0
"""Proof strength of class 12.9, MPa."""
SLACK: Final = 40.0
"""Below this stress, MPa, a screw hardly clamps; own choice."""


@dataclass(frozen=True, slots=True)
class Bounds:
    """The least and the most that something may be, both allowed."""

    low: float
    high: float


def volume(form: Form) -> float | None:
    """Return the volume of what a form shows, mm3; None of a coil spring whose coils are not known.

    A round part is its section turned round the axis, any other its plan times its height.

    >>> from labelkit.model.ringform import Ring
    >>> round(volume(Ring.model_validate({"od": "20 mm", "id": "10 mm", "t": "2 mm"})))
    471
    """
    if isinstance(form, CoilSpring):
        if form.coils is None:
            return None
        wire = mm(form.wire)
        return float(form.coils) * math.pi * (mm(form.od) - wire) * math.pi / 4 * wire**2
    section = forms.section(form)
    if section.round:
        return sum(_turned(face.contour) for face in section.faces)
    plan = forms.plan(form)
    return (plan.outer.area() - sum(hole.area() for hole in plan.holes)) * plan.height


def _turned(half: Contour) -> float:
    """Return the volume of a contour turned round the axis, mm3: the sum of its edges' cones."""
    points = half.polygon(_CHORD)
    total = sum(
        (z2 - z1) * (r1 * r1 + r1 * r2 + r2 * r2)
        for (r1, z1), (r2, z2) in zip(points, points[1:] + points[:1], strict=True)
    )
    return abs(total) * math.pi / 3


def masses(form: Form) -> Bounds | None:
    """Return what one part of this form may weigh, kg; None where its volume is not known."""
    size = volume(form)
    if size is None:
        return None
    lightest = _LIGHT_METAL if form.mass == "metal" else _PLASTIC
    less, more = _BODY if form.mass == "body" else _EXACT
    return Bounds(size * lightest * less, size * _BRONZE * more)


def rounding(mass: Quantity) -> float:
    """Return half of the last digit that a mass was written with, kg: it may be as much more or less."""
    return float(digit(mass) / 2)


def screw_stress(torque: Quantity, diameter: Quantity) -> float:
    """Return the tensile stress in a dry screw tightened to a torque, MPa: T = K x D x F over the stress area.

    >>> from decimal import Decimal
    >>> round(screw_stress(Quantity(Decimal(25), "N·m"), Quantity(Decimal(8), "mm")))
    414
    """
    d = mm(diameter)
    force = float(torque.newton_metres) * 1000 / (float(FRICTION["dry"]) * d)
    return force / (_STRESS_AREA * d * d)
