"""Open points of a profile: what is asked for, and when it no longer is."""

from __future__ import annotations

from typing import Any

import pytest

from labelkit.load.profile import load_profile
from labelkit.model.part import Part
from labelkit.model.unrecorded import of_part, of_unit
from tests.shop import DEMO_UNITS


def asked(numbered: bool = False, **fields: Any) -> list[str]:
    part = Part.model_validate({"id": "shim", "name": "Shim", **fields})
    return [point.field for point in of_part(part, numbered=numbered)]


def test_a_bare_part_is_asked_for_everything_in_the_order_of_the_bench() -> None:
    """Form, seat, mass, what holds it, wash, renewal."""
    assert asked() == ["form", "sits.up", "sits.clock", "sits.on", "mass", "held", "wash", "renew"]


@pytest.mark.parametrize(
    ("fields", "gone"),
    [
        ({"form": {"ball": {"d": "5"}}}, {"form"}),
        ({"sits": {"up": "free"}}, {"sits.up", "sits.on"}),
        ({"sits": {"opens": "up"}}, {"sits.up", "sits.on"}),
        ({"sits": {"clock": "free"}}, {"sits.clock", "sits.on"}),
        ({"mass": "1"}, {"mass"}),
        ({"held": {"by": "slip"}}, {"held"}),
        ({"held": {"by": "behind", "part": "lid"}}, {"held", "sits.up", "sits.clock", "sits.on"}),
        ({"wash": "basket"}, {"wash"}),
        ({"renew": "never"}, {"renew"}),
        ({"parts": [{"id": "inner", "name": "Inner"}]}, {"renew"}),
    ],
)
def test_what_is_recorded_is_not_asked_for(fields: dict[str, Any], gone: set[str]) -> None:
    """Free is an answer; what stays inside has no seat of its own."""
    assert set(asked()) - set(asked(**fields)) == gone


def test_what_is_always_bought_needs_a_number() -> None:
    """Its own, or those of its series."""
    assert "number" in asked(renew="always")
    assert "number" in asked(one_time="true")
    assert "number" not in asked(renew="if_worn")
    assert "number" not in asked(renew="always", number="KR2-1107")
    assert "number" not in asked(numbered=True, renew="always")


@pytest.mark.parametrize("name", DEMO_UNITS)
def test_the_finished_demo_units_have_hardly_an_open_point(name: str) -> None:
    """Two or three ways up, left open on purpose to show what the print does then."""
    profile = load_profile(name).profile
    points = [point for _, part in profile.walk() for point in of_part(part, numbered=part.series in profile.series)]

    assert of_unit(profile.unit) == ()
    assert {point.field for point in points} <= {"sits.up", "sits.clock"}
    assert len(points) <= 3
