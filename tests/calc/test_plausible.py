"""What may be of a mass or a torque, against volumes and stresses worked out by hand and printed in handbooks."""

from __future__ import annotations

import math
from decimal import Decimal

import pytest
from hypothesis import given
from hypothesis import strategies as st

from labelkit import forms
from labelkit.calc.plausible import SLACK, STRONGEST, masses, rounding, screw_stress, volume
from labelkit.model.form import FORMS
from labelkit.units import Quantity
from tests.forms.strategies import forms_of

STEEL = 7.85e-6  # kg/mm3


def q(value: str, unit: str = "mm") -> Quantity:
    return Quantity(Decimal(value), unit)


def form(kind: str, **sizes: str) -> object:
    return FORMS[kind].model_validate({name: f"{size} mm" for name, size in sizes.items()})


@pytest.mark.parametrize(
    ("kind", "sizes", "expected"),
    [
        # A ball: pi d3 / 6. A tube: pi/4 (D2 - d2) h. A torus of a ring: 2 pi2 R r2. A box: its sides multiplied.
        ("ball", {"d": "8"}, math.pi * 512 / 6),
        ("ring", {"od": "70", "id": "50", "t": "1"}, math.pi / 4 * 2400),
        ("o_ring", {"id": "100", "section": "4"}, 2 * math.pi**2 * 52 * 4),
        ("block", {"l": "10", "w": "20", "h": "30"}, 6000),
        # A cup: the outer cylinder less the room in it.
        ("drum", {"od": "100", "h": "50", "wall": "10", "floor": "5"}, math.pi / 4 * (100**2 * 50 - 80**2 * 45)),
    ],
)
def test_the_volume_of_simple_bodies(kind: str, sizes: dict[str, str], expected: float) -> None:
    """Formulas of school geometry, to a hundredth: arcs are cut into chords."""
    assert volume(form(kind, **sizes)) == pytest.approx(expected, rel=1e-2)  # type: ignore[arg-type]


def test_a_coil_spring_is_its_wire_unrolled() -> None:
    """7.5 coils of 4 mm on a mean diameter of 18 mm: 5 330 mm3, 42 g of steel (by hand); none without its coils."""
    spring = FORMS["coil_spring"]
    sizes = {"od": "22 mm", "wire": "4 mm", "length": "46 mm"}

    assert volume(spring.model_validate(sizes | {"coils": "7.5"})) == pytest.approx(5330, rel=1e-3)
    assert masses(spring.model_validate(sizes)) is None


@given(data=st.data())
def test_no_part_is_larger_than_the_room_it_takes(data: st.DataObject) -> None:
    """Whatever its kind: its volume is above nothing and at most the cylinder or box round it."""
    each = data.draw(st.sampled_from(sorted(FORMS)).flatmap(forms_of))
    size, section, plan = volume(each), forms.section(each), forms.plan(each)
    box = plan.outer.box()
    cylinder = math.pi * section.reach**2 * section.height if section.round else 0.0

    if size is not None:
        assert 0 < size <= max(box.width * box.height * plan.height, cylinder) * (1 + 1e-6)


@pytest.mark.parametrize(
    ("sizes", "kilograms"),
    [
        # Masses of ISO 4762 screws in handbook tables (from memory): M8 x 45 22 g, M12 x 35 48 g.
        ({"d": "8", "l": "45", "head": "socket"}, 0.022),
        ({"d": "12", "l": "35", "head": "socket"}, 0.048),
    ],
)
def test_the_mass_of_a_screw_lies_inside_and_its_slips_outside(sizes: dict[str, str], kilograms: float) -> None:
    """Steel is inside; ten times too much or too little, or pounds for kilograms, is not."""
    bounds = masses(FORMS["bolt"].model_validate({k: v if k == "head" else f"{v} mm" for k, v in sizes.items()}))

    assert bounds is not None
    assert bounds.low < kilograms < bounds.high
    assert not bounds.low < kilograms * 10 < bounds.high
    assert not bounds.low < kilograms / 10 < bounds.high
    assert not bounds.low < kilograms / 0.4536 < bounds.high


@pytest.mark.parametrize(("mass", "half"), [("0.04", 0.005), ("24", 0.5), ("0.0021", 0.00005)])
def test_a_mass_is_known_to_half_of_its_last_digit(mass: str, half: float) -> None:
    """As it was written."""
    assert rounding(q(mass, "kg")) == pytest.approx(half)


@pytest.mark.parametrize(
    ("torque", "d"),
    # Tightening torques of class 8.8, dry, in handbook tables (from memory): 60 to 80 % of a proof strength of 600 MPa.
    [("10", "6"), ("25", "8"), ("49", "10"), ("84", "12"), ("206", "16"), ("415", "20")],
)
def test_the_usual_torques_of_class_8_8_stress_a_screw_as_they_should(torque: str, d: str) -> None:
    """Between 360 and 480 MPa; in lbf·in it hardly clamps, twelve times as much tears it."""
    assert 360 <= screw_stress(q(torque, "N·m"), q(d)) <= 480
    assert screw_stress(q(torque, "lbf·in"), q(d)) < 1.4 * SLACK
    assert screw_stress(Quantity(Decimal(torque) * 12, "N·m"), q(d)) > STRONGEST
