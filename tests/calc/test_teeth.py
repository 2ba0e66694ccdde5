"""Counted teeth tell the option. Formulas from memory (textbook), examples computed."""

from __future__ import annotations

from decimal import Decimal
from fractions import Fraction

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from labelkit.calc.teeth import Stage, pair, stage
from labelkit.errors import UsageError
from tests.figures import floats_in

OPTIONS = {"i16-8": (21, 27), "i22-0": (15, 30)}  # of an invented unit


@pytest.mark.parametrize(
    ("sun", "planet", "ring", "planets", "ratio", "whole"),
    [(21, 27, 75, 3, "4.571", 32), (15, 30, 75, 3, "6.000", 30), (24, 20, 64, 4, "3.667", 22)],
)
def test_the_stages(sun: int, planet: int, ring: int, planets: int, ratio: str, whole: int) -> None:
    """Ring held: 21/27/75 is 4.571 and 32 for 3 planets, 15/30/75 6.0 and 30, 24/20/64 3.667 and 22 for 4."""
    answer = stage(Stage(sun, planet, planets=planets))

    assert (answer.verdict, answer.values["ring"], answer.values["ratio"]) == ("ok", ring, Decimal(ratio))
    assert answer.sums[-1].endswith(f"= {whole}")
    assert floats_in(answer) == []


def test_the_option_is_told() -> None:
    """The counted pair is exactly one option's, or the variant is unknown; two with the same teeth are asked for."""
    assert stage(Stage(15, 30, 75, 3), OPTIONS).values["option"] == "i22-0"
    unknown = stage(Stage(18, 30), OPTIONS)
    assert (unknown.verdict, unknown.values["option"]) == ("none", None)
    assert unknown.notes[0].startswith("unknown variant: 18 and 30 teeth")
    assert stage(Stage(21, 27), {**OPTIONS, "late": (21, 27)}).verdict == "ask"


def test_a_pair_of_gears() -> None:
    """46/23 is 2.00, 49/20 is 2.45 (invented unit)."""
    known = {"r2-00": (23, 46), "r2-45": (20, 49)}

    assert (pair(20, 49, known).values["ratio"], pair(20, 49, known).values["option"]) == (Decimal("2.450"), "r2-45")
    assert pair(46, 23, known).verdict == "none"


def test_a_miscount_is_found() -> None:
    """Teeth that cannot mesh, or planets that cannot stand evenly, are counted again."""
    assert "ring 75 is not sun 21 + 2 x planet 28 = 77" in stage(Stage(21, 28, 75)).notes[0]
    assert "cannot stand evenly" in stage(Stage(21, 27, 75, 5)).notes[0]
    assert stage(Stage(21, 28, 75)).verdict == "out"


@given(sun=st.integers(9, 60), planet=st.integers(9, 60), planets=st.integers(2, 6))
@settings(max_examples=50)
def test_planets_stand_evenly_just_where_they_mesh(sun: int, planet: int, planets: int) -> None:
    """Oracle: turn the carrier by one place of planets; the sun must have turned by whole teeth (Willis, textbook)."""
    ring = sun + 2 * planet
    turns_of_sun = Fraction(1, planets) * (1 + Fraction(ring, sun))
    meshes = (turns_of_sun * sun).denominator == 1

    assert (stage(Stage(sun, planet, planets=planets)).verdict == "ok") == meshes
    assert abs(Stage(sun, planet).ratio - Decimal(2 * (sun + planet)) / sun) < Decimal("1e-20")


@pytest.mark.parametrize("call", [lambda: Stage(0, 27), lambda: pair(0, 3), lambda: Stage(21, 27, planets=0)])
def test_nothing_counted_is_no_count(call: object) -> None:
    """A count begins at 1."""
    with pytest.raises(UsageError, match="allowed: from 1 to 9999"):
        call()  # type: ignore[operator]
