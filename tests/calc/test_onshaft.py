"""Rings and keys of a shaft against the printed tables."""

from __future__ import annotations

import pytest

from labelkit.calc.onshaft import groove_thickness, has_groove, key_section, known_key, reach
from labelkit.model.form import Shaft
from labelkit.model.hardwareform import Key
from labelkit.model.ringform import SnapRing


def ring(fits: str, d: str, t: str = "2") -> SnapRing:
    return SnapRing.model_validate({"fits": fits, "d": f"{d} mm", "t": f"{t} mm"})


def shaft(*diameters: str) -> Shaft:
    return Shaft.model_validate({"steps": [[f"{d} mm", "20 mm"] for d in diameters]})


@pytest.mark.parametrize(
    ("fits", "d", "thick", "wide"),
    [
        # DIN 471:2011 and DIN 472:2011, read in an open table: nominal thickness and width of the groove.
        ("shaft", "40", 1.75, 1.85),
        ("shaft", "60", 2.0, 2.15),
        ("bore", "80", 2.5, 2.65),
        ("bore", "52", 2.0, 2.15),
    ],
)
def test_the_regular_ring_and_its_groove(fits: str, d: str, thick: float, wide: float) -> None:
    """By diameter; one that the table does not print has none."""
    assert groove_thickness(ring(fits, d)) == (thick, wide)
    assert groove_thickness(ring(fits, f"{d}.5")) is None


def test_a_ring_stands_out_of_its_groove() -> None:
    """Outside on a shaft, inside in a bore, by less than a fifth; none off the table."""
    out, inside = reach(ring("shaft", "50")), reach(ring("bore", "50"))

    assert out is not None
    assert inside is not None
    assert 50 < out < 60
    assert 40 < inside < 50
    assert reach(ring("bore", "500")) is None


@pytest.mark.parametrize(
    ("steps", "has"),
    # DIN 471:2011: the groove of a shaft of 40 mm is 37.5 mm.
    [(("40", "50"), True), (("37.5", "50"), True), (("38.5", "50"), False), (("50",), False)],
)
def test_a_groove_is_in_a_step_of_its_diameter_or_is_a_step_itself(steps: tuple[str, ...], has: bool) -> None:
    """A shaft may be written down with its grooves or without."""
    assert has_groove(shaft(*steps), ring("shaft", "40")) is has


@pytest.mark.parametrize(
    ("d", "section"),
    # DIN 6885-1, read in an open table.
    [(10, (3, 3)), (12, (4, 4)), (16, (5, 5)), (22, (6, 6)), (25, (8, 7)), (30, (8, 7)), (35, (10, 8)), (44, (12, 8)),
     (50, (14, 9)), (5, None), (231, None)],
)  # fmt: skip
def test_the_key_of_a_shaft(d: float, section: tuple[int, int] | None) -> None:
    """Above one diameter, up to the next with it; none outside the table."""
    assert key_section(d) == section


def test_a_section_is_known_whichever_shaft_it_is_for() -> None:
    """8 x 7 is a key, 8 x 8 is none."""
    sizes = {"b": "8 mm", "h": "7 mm", "l": "40 mm"}

    assert known_key(Key.model_validate(sizes))
    assert not known_key(Key.model_validate(sizes | {"h": "8 mm"}))
