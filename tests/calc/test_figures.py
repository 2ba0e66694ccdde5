"""How figures are told."""

from __future__ import annotations

from decimal import Decimal

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from labelkit.calc.figures import common_unit, digit, figure, in_unit, read_together, significant
from labelkit.errors import UsageError
from labelkit.units import Quantity
from tests.figures import q

DECIMALS = st.decimals(-1000, 1000, allow_nan=False, places=6)


@given(value=DECIMALS, unit=st.sampled_from(["mm", "in", "N·m", "lbf·in"]))
@settings(max_examples=50)
def test_a_figure_is_never_further_off_than_its_last_decimal(value: Decimal, unit: str) -> None:
    """Showing rounds once, by at most half of the last digit, and never with an exponent or a signed zero."""
    told = figure(value, unit)

    assert abs(told - value) * 2 <= Decimal(1).scaleb(int(told.as_tuple().exponent))
    assert "E" not in str(told)
    assert not (told.is_signed() and not told)


def test_double_rounding_does_not_happen() -> None:
    """0.5449 is shown as 0.54, not by way of 0.545 as 0.55 (computed)."""
    assert figure(Decimal("0.5449"), "mm", places=2) == Decimal("0.54")


def test_significant_digits_hold_for_large_and_small() -> None:
    """Three digits of anything, in plain writing."""
    assert [str(significant(Decimal(text), 3)) for text in ("1860.4", "35.40", "0.11298", "9.995")] == [
        "1860",
        "35.4",
        "0.113",
        "10.00",
    ]


def test_inches_and_millimetres_meet_in_the_base_unit() -> None:
    """A sum of both is told in mm, one of either in its own unit; 0.022 in is 0.5588 mm (25.4 exact, NIST SP 811)."""
    assert common_unit([q("1 in"), q("2 mm")]) == "mm"
    assert common_unit([q("1 in"), q("2 in")]) == "in"
    assert in_unit(q("0.022 in"), "mm") == Decimal("0.5588")


def test_what_a_reading_tells_is_its_last_digit() -> None:
    """0.022 in tells a thousandth of an inch; two readings tell the digits of both."""
    assert digit(q("0.022 in")) == Decimal("0.0254")
    assert digit(Quantity(Decimal("1E+2"), "N")) == 1
    assert read_together(q("40.070"), q("39.98")).mm == Decimal("0.011")


def test_apples_are_not_pears() -> None:
    """A torque in a sum of lengths is refused, and what is allowed is told."""
    with pytest.raises(UsageError, match=r"3 N·m is a torque; allowed here: a length, in mm"):
        common_unit([q("1 mm"), q("3 N·m")])
