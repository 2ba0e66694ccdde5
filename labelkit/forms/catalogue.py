"""The catalogue of forms: one row for each, with the function that draws its plan and the one that draws its section.

A new form is one class in `labelkit.model.form`, or in `ringform` or `hardwareform` there, and one row here.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from functools import lru_cache
from typing import Any, Final, TypeVar

from labelkit.forms import bearings, bodies, fasteners, gears, rings, seals, shafts, springs
from labelkit.forms.shapes import Material, Plan, Section
from labelkit.model import form as model
from labelkit.model import hardwareform, ringform
from labelkit.model.formbase import Form

F = TypeVar("F", bound=Form)


@dataclass(frozen=True, slots=True)
class _Row:
    plan: Callable[[Any], Plan]
    section: Callable[[Any], Section]
    sided: Callable[[Any], bool]


def _way(form: Form) -> bool:
    return form.way is not None


def _row(
    kind: type[F],
    plan: Callable[[F], Plan],
    section: Callable[[F], Section],
    sided: Callable[[F], bool] = _way,
) -> tuple[type[Form], _Row]:
    """Return the row of one form; `sided` says whether its two ends differ, where not every one of its kind does."""
    return kind, _Row(plan, section, sided)


# Plan, section and, where it depends on the sizes, whether the two ends differ.
_CATALOGUE: Final[dict[type[Form], _Row]] = dict(
    (
        _row(ringform.Ring, rings.ring_plan, rings.ring_section),
        _row(ringform.ORing, rings.o_ring_plan, rings.o_ring_section),
        _row(ringform.SnapRing, rings.snap_ring_plan, rings.snap_ring_section),
        _row(ringform.FrictionPlate, rings.friction_plate_plan, rings.friction_plate_section),
        # Its sizes describe a flat plate; that one is dished, and which way, only the words of the profile can say.
        _row(ringform.SteelPlate, rings.steel_plate_plan, rings.steel_plate_section, lambda _: False),
        _row(ringform.BallBearing, bearings.ball_bearing_plan, bearings.ball_bearing_section),
        _row(ringform.RollerBearing, bearings.roller_bearing_plan, bearings.roller_bearing_section),
        _row(ringform.TaperCone, bearings.taper_cone_plan, bearings.taper_cone_section),
        _row(ringform.TaperCup, bearings.taper_cup_plan, bearings.taper_cup_section),
        _row(ringform.NeedleCage, bearings.needle_cage_plan, bearings.needle_cage_section),
        _row(
            ringform.ThrustBearing,
            bearings.thrust_bearing_plan,
            bearings.thrust_bearing_section,
            lambda form: form.lip is not None,
        ),
        _row(ringform.Bush, bearings.bush_plan, bearings.bush_section),
        _row(ringform.LipSeal, seals.lip_seal_plan, seals.lip_seal_section),
        _row(model.Gear, gears.gear_plan, gears.gear_section),
        _row(model.RingGear, gears.ring_gear_plan, gears.ring_gear_section),
        _row(model.Carrier, gears.carrier_plan, gears.carrier_section),
        _row(model.Shaft, shafts.shaft_plan, shafts.shaft_section, lambda form: not shafts.ends_alike(form)),
        _row(hardwareform.Pin, shafts.pin_plan, shafts.pin_section),
        _row(ringform.WaveSpring, springs.wave_spring_plan, springs.wave_spring_section),
        _row(ringform.DiscSpring, springs.disc_spring_plan, springs.disc_spring_section),
        _row(hardwareform.CoilSpring, springs.coil_spring_plan, springs.coil_spring_section),
        _row(hardwareform.Bolt, fasteners.bolt_plan, fasteners.bolt_section),
        _row(hardwareform.Nut, fasteners.nut_plan, fasteners.nut_section),
        _row(hardwareform.Plug, fasteners.plug_plan, fasteners.plug_section),
        _row(hardwareform.Key, fasteners.key_plan, fasteners.key_section),
        _row(hardwareform.Ball, fasteners.ball_plan, fasteners.ball_section),
        _row(model.Drum, bodies.drum_plan, bodies.drum_section),
        _row(model.Hub, bodies.hub_plan, bodies.hub_section, lambda form: form.flange_od is not None),
        _row(model.Piston, bodies.piston_plan, bodies.piston_section),
        _row(model.Lever, bodies.lever_plan, bodies.lever_section),
        _row(model.Block, bodies.block_plan, bodies.block_section),
        _row(model.Outline, bodies.outline_plan, bodies.outline_section),
    )
)


def plan(form: Form) -> Plan:
    """Return the part as it lies on a tray, seen from above."""
    return _CATALOGUE[type(form)].plan(form)


@lru_cache(maxsize=4096)
def section(form: Form) -> Section:
    """Return the part cut open, its `way` end up: the right half of a round part, the whole of another."""
    return _CATALOGUE[type(form)].section(form)


def sided(form: Form) -> bool:
    """Say whether the two ends of the part differ, so that it matters which one is up."""
    return _CATALOGUE[type(form)].sided(form)


def materials(form: Form) -> frozenset[Material]:
    """Return what a part is made of, as its section shows it."""
    return frozenset(face.material for face in section(form).faces)
