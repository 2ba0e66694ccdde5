"""Lengths are shown in a stated unit, with their zeros; limits are never shown looser than they are."""

from __future__ import annotations

from decimal import Decimal

from hypothesis import given, settings
from hypothesis import strategies as st

from labelkit.calc.showing import Show
from labelkit.units import Quantity


def test_limits_in_inches_are_rounded_inward() -> None:
    """0.004-0.022 in is 0.1016-0.5588 mm, shown 0.11-0.55 and not 0.10-0.56 (25.4: NIST SP 811, B.8)."""
    assert list(map(str, Show("mm", 2).limits(Decimal("0.1016"), Decimal("0.5588")))) == ["0.11", "0.55"]


@settings(max_examples=50)
@given(st.integers(0, 99999), st.integers(1, 99999), st.sampled_from(["mm", "in"]))
def test_shown_limits_are_never_looser(low: int, width: int, unit: str) -> None:
    """Whoever obeys what is shown obeys what is meant; and the two never cross."""
    show = Show.of(unit, [])  # type: ignore[arg-type]
    ends = Decimal(low) / 10000, Decimal(low + width) / 10000
    inner = show.limits(*ends)

    assert show.converted(ends[0]) <= inner[0] <= inner[1] <= show.converted(ends[1])


def test_zeros_are_kept_and_no_zero_has_a_sign() -> None:
    """0.30 is not 0.3: it says hundredths."""
    assert [Show().text(Decimal(text)) for text in ("0.3", "-0.001", "2")] == ["0.30 mm", "0.00 mm", "2.00 mm"]


def test_a_length_is_shown_on_the_right_side_of_its_limit() -> None:
    """0.6004 is over 0.60 and is not shown as 0.60."""
    assert Show().apart(Decimal("0.6004"), Decimal("0.60")) == "0.6004 mm"
    assert Show().apart(Decimal("0.5004"), Decimal("0.60")) == "0.50 mm"


def test_figures_are_as_fine_as_what_went_in() -> None:
    """A half thousandth of an inch is shown as a thousandth of a millimetre; steps of 0.016 in do not drift; a third of
    a millimetre, typed with all its digits, is no finer than any figure is told."""
    assert Show.of("mm", [Quantity(Decimal("0.0005"), "in")]).places == 3
    assert Show.of("in", [Quantity(Decimal("0.01"), "mm")]).places == 3
    assert Show.of("mm", [Quantity(Decimal("0.333333"), "mm")]).places == 4
    assert Show("in", 3).text(Decimal("0.016") * 4 * Decimal("25.4")) == "0.064 in"
