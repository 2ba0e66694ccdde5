"""How warm a part must be to slip on."""

from __future__ import annotations

from decimal import Decimal

import pytest

from labelkit.calc.heating import celsius, fahrenheit, heating
from labelkit.errors import UsageError
from tests.figures import floats_in, q


def test_a_bearing_on_fifty_millimetres() -> None:
    """0.030 + 0.030 on 50 mm, 11.5e-6 (from memory): 104 K, 124 °C from 20 °C; under the public 275 °F (computed)."""
    answer = heating(q("0.030"), q("50"), clearance=q("0.030"))

    assert (answer.verdict, answer.values["rise"], answer.values["to"]) == ("ok", 104, 124)
    assert "never a flame" in answer.notes[0]
    assert floats_in(answer) == []


def test_beyond_the_cap_is_no() -> None:
    """0.060 + 0.030 needs 177 °C: more than an oil bath may have; never a flame is said all the same."""
    answer = heating(q("0.060"), q("50"), clearance=q("0.030"))

    assert answer.verdict == "out"
    assert "the cap gives 0.0661 mm" in answer.notes[0]
    assert "never a flame" in answer.notes[1]


def test_light_metal_grows_twice_as_much() -> None:
    """100 mm, 40 K: steel 0.046, light metal 0.092 mm (alphas from memory; computed), so that the rise is half."""
    steel = heating(q("0.046"), q("100"))
    light = heating(q("0.092"), q("100"), metal="light metal")

    assert steel.values["rise"] == light.values["rise"] == 40


def test_fahrenheit() -> None:
    """275 °F = 135 °C, 212 °F = 100 °C (NIST SP 811 B.8)."""
    assert (celsius(Decimal(275)), celsius(Decimal(212))) == (135, 100)
    assert fahrenheit(celsius(Decimal(68))) == 68


@pytest.mark.parametrize(
    ("call", "said"),
    [
        (lambda: heating(q("0.03"), q("50"), metal="steal"), "did you mean steel"),
        (lambda: heating(q("-0.03"), q("50")), "without a sign"),
        (lambda: heating(q("0.03"), q("0")), "diameter: found 0"),
        (lambda: heating(q("0.03"), q("50"), room=Decimal(140)), "a cap above the temperature now"),
        (lambda: heating(q("3 N"), q("50")), "interference: 3 N is a force"),
    ],
)
def test_what_cannot_be_is_refused(call: object, said: str) -> None:
    """The message says what was given and what is allowed."""
    with pytest.raises(UsageError, match=said):
        call()  # type: ignore[operator]
