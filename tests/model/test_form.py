"""Sizes of one form that cannot be true together are refused, with what is allowed."""

from __future__ import annotations

import math
from collections.abc import Callable
from decimal import Decimal
from random import Random
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st
from pydantic import ValidationError
from shapely.geometry import Point

from labelkit import forms
from labelkit.bench.capturepictures import specimen
from labelkit.bench.capturewords import size_words
from labelkit.model.endwords import end_words
from labelkit.model.form import FORMS, Body, Outline
from labelkit.model.formbase import Form
from labelkit.model.formwords import sizes_of
from labelkit.model.hardwareform import CoilSpring
from labelkit.model.outline import MOST_POINTS
from tests.explodedsheets import form_of
from tests.forms.strategies import SIZES


def form(kind: str, **sizes: Any) -> Form:
    return FORMS[kind].model_validate({kind: sizes})


def refused(kind: str, **sizes: Any) -> str:
    with pytest.raises(ValidationError) as error:
        form(kind, **sizes)
    (found,) = error.value.errors()
    return str(found["msg"])


def test_a_form_states_all_that_is_asked_of_its_kind() -> None:
    """One that leaves something out is refused where it is written, told what; what its family states is stated."""
    stated = {"kind": "wedge", "stands": "face", "uncut": False, "stepped": False}

    with pytest.raises(TypeError, match=r"the form wedge does not state aside, indexed; see .*Form$"):
        type("Wedge", (Body,), stated)

    assert "each" == type("Wedge", (Body,), stated | {"aside": True, "indexed": False}).several


def test_every_form_that_is_written_is_known() -> None:
    written, found = [Form], set()
    while written:
        form = written.pop()
        written += form.__subclasses__()
        found |= {form.kind} if "kind" in vars(form) and form.__module__.startswith("labelkit.") else set()

    assert set(FORMS) == found


# What else must know every form, and how it is asked.
KNOWN: dict[str, Callable[[str], object]] = {
    "bench/capturepictures.py": specimen,
    "bench/capturewords.py": lambda kind: [size_words(kind, name) for name in sizes_of(kind)],
    "forms/catalogue.py": lambda kind: forms.section(specimen(kind)),
    "model/endwords.py": lambda kind: end_words(way, "up") if (way := FORMS[kind].way) else "",
    "tests/explodedsheets.py": lambda kind: form_of(kind, Random(1), 50.0),
    "tests/forms/strategies.py": SIZES.__getitem__,
}


@pytest.mark.parametrize("place", KNOWN)
def test_every_table_of_forms_knows_every_form(place: str) -> None:
    """Whoever adds a form is told by its name where it is still missing."""
    lacking = []
    for kind in FORMS:
        try:
            KNOWN[place](kind)
        except KeyError as missing:
            lacking.append(f"{kind}: {missing}")

    assert [] == lacking


@given(st.integers(2, 12), st.integers(40, 900), st.integers(5, 450))
def test_planets_fit_exactly_when_their_circles_do_not_overlap(planets: int, od: int, planet_od: int) -> None:
    """Circles set out evenly, touching od from inside. Source: shapely's distance between their middles."""
    reach = (od - planet_od) / 2
    at = [Point(reach * math.cos(math.tau * k / planets), reach * math.sin(math.tau * k / planets)) for k in (0, 1)]
    gap = at[0].distance(at[1]) - planet_od
    if planet_od >= od or gap < -1e-6:
        assert refused("carrier", od=str(od), h="20", planets=str(planets), planet_od=str(planet_od))
    elif gap > 1e-6:
        assert form("carrier", od=str(od), h="20", planets=str(planets), planet_od=str(planet_od))


def test_the_message_says_the_largest_planet() -> None:
    """Four circles in a circle: 1 / (1 + sqrt 2) of its diameter each (plane geometry, by hand): 76.2 of 184."""
    told = refused("carrier", od="184", h="74", planets="4", planet_od="76.3")

    assert told == (
        "4 planets of 76.3 mm do not fit in od 184 mm: they would overlap each other or stand out; "
        "allowed: a planet_od of at most 76.21 mm"
    )
    assert form("carrier", od="184", h="74", planets="4", planet_od="76.21")


def test_two_planets_may_touch_in_the_middle() -> None:
    """Each of half the diameter: the end value is allowed."""
    assert form("carrier", od="100", h="20", planets="2", planet_od="50")
    assert refused("carrier", od="100", h="20", planets="2", planet_od="50.01")


def test_coils_are_a_plain_number() -> None:
    """In a profile in inches too; a length, nothing or less are refused."""
    sizes = {"od": "1", "wire": "0.1", "length": "2", "coils": "7.5"}
    spring = CoilSpring.model_validate({"coil_spring": sizes}, context={"lengths": "in"})

    assert spring.coils == Decimal("7.5")
    assert str(spring.wire) == "0.1 in"
    for wrong in ("8 mm", "0", "-2", "many", "1001"):
        assert wrong in refused("coil_spring", od="22", wire="4", length="46", coils=wrong)


def test_an_outline_that_meets_itself_is_refused() -> None:
    """With the numbers of the points; the order of the same corners that goes round is fine."""
    square = [["0", "0"], ["20", "0"], ["20", "20"], ["0", "20"]]

    assert isinstance(form("outline", points=square, h="5"), Outline)
    assert refused("outline", points=[square[k] for k in (0, 2, 1, 3)], h="5") == (
        "the outline meets itself: the line from point 1 to 2 and that from 3 to 4; list the points once round"
    )


def test_an_outline_has_a_number_of_points_that_can_be_meant() -> None:
    """Three that differ at least, and not a scan of a part at most."""
    circle = [
        [f"{100 * math.cos(math.tau * k / MOST_POINTS):.4f}", f"{100 * math.sin(math.tau * k / MOST_POINTS):.4f}"]
        for k in range(MOST_POINTS)
    ]

    assert form("outline", points=circle, h="5")
    assert "allowed: 3 to 2000" in refused("outline", points=[*circle, ["101", "0"]], h="5")
    assert "points has 2 different points" in refused("outline", points=[["0", "0"], ["1", "0"], ["0", "0"]], h="5")
