"""Limits in two units: never looser than they were, and as a person would write them."""

from __future__ import annotations

from decimal import Decimal
from fractions import Fraction

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from labelkit.sheets.worksheetlimits import OTHER, aim_of, check_limits, converted, fit_limits
from labelkit.units import FACTORS, Quantity
from tests.shop import DEMO_UNITS, demo, profile_of

FIT = """
format: 1
unit: {mark: AB1, name: U, up: top}
parts: [{id: a, name: A}]
fits:
  play: {kind: end_play, target: ["0.40", "0.60"], set_by: a, thicker: reduces}
  inch: {kind: end_play, target: ["0.004 in", "0.022 in"], aim: low, set_by: a, thicker: reduces}
  drag: {kind: preload, unit: N·m, target: ["2.5", "4.0"], set_by: a}
"""


@settings(max_examples=50)
@given(
    unit=st.sampled_from(sorted(OTHER)),
    low=st.decimals("0.001", "400", places=3),
    width=st.decimals("0.001", "5", places=3),
)
def test_converted_limits_are_never_looser(unit: str, low: Decimal, width: Decimal) -> None:
    """The low one never below, the high one never above, compared as fractions; and the band never turns over."""
    bottom, top = converted(Quantity(low, unit), Quantity(low + width, unit))

    assert bottom is not None
    assert top is not None
    # The factor of a pressure in psi has no end: 25 digits are what a Decimal keeps.
    grain = Fraction(1, 10**20)
    factor = Fraction(FACTORS[bottom.unit][1]) / Fraction(FACTORS[unit][1])
    assert Fraction(bottom.value) * factor >= Fraction(low) - grain
    assert Fraction(top.value) * factor <= Fraction(low + width) + grain
    assert bottom.value <= top.value


@pytest.mark.parametrize(
    ("low", "high", "unit", "other"),
    [
        ("0.004", "0.022", "in", "0.11 to 0.55 mm"),  # 0.1016 and 0.5588 mm exactly: outward would be 0.10 and 0.56
        ("0.40", "0.60", "mm", "0.0158 to 0.0236 in"),  # 0.015748 and 0.023622 in
        ("2.5", "4.0", "N·m", "22.2 to 35.4 lbf·in"),  # 22.127 and 35.403 lbf·in
    ],
)
def test_known_conversions(low: str, high: str, unit: str, other: str) -> None:
    """Rounded inward. Source: 1 in = 25.4 mm and 1 lbf·in = 0.1129848 N·m, NIST SP 811 appendix B."""
    bottom, top = converted(Quantity(Decimal(low), unit), Quantity(Decimal(high), unit))

    assert bottom is not None
    assert top is not None
    assert f"{bottom.value} to {top.value} {top.unit}" == other


@pytest.mark.parametrize("unit", DEMO_UNITS)
def test_no_limit_of_a_demo_unit_gets_looser(unit: str) -> None:
    """Every limit of every check and fit that stands on paper in two units."""
    profile = demo(unit).profile
    spans: list[tuple[Quantity | None, Quantity | None]] = [fit.target for fit in profile.fits.values()]
    spans += [(check.min, check.max) for _, part in profile.walk() for check in part.check]
    for low, high in spans:
        bottom, top = converted(low, high)
        assert low is None or bottom is None or Fraction(bottom.base) >= Fraction(low.base)
        assert high is None or top is None or Fraction(top.base) <= Fraction(high.base)


def test_a_check_without_limits_says_so_once() -> None:
    """Written down, or not judged: no other unit."""
    part = next(part for _, part in demo("marine-gear").profile.walk() if part.id == "ahead-shims")

    assert check_limits(part.check[0]) == ("write it down", "")


def test_the_aim_of_a_fit_is_exact() -> None:
    """The middle keeps the zeros of the ends; a named end is that end."""
    fits = profile_of(FIT).profile.fits

    assert str(aim_of(fits["play"])) == "0.50 mm"
    assert str(aim_of(fits["inch"])) == "0.004 in"
    assert str(aim_of(fits["drag"])) == "3.25 N·m"
    assert fit_limits(fits["inch"]) == ("0.004 to 0.022 in", "0.11 to 0.55 mm")
