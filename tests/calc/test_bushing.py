"""Clearance of a shaft in its bushing."""

from __future__ import annotations

from decimal import Decimal

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from labelkit.calc.bushing import clearance
from labelkit.calc.limits import Limits
from labelkit.errors import UsageError
from labelkit.units import Quantity
from tests.figures import floats_in, q

SIZES = st.lists(
    st.integers(39_900, 40_100).map(lambda um: Quantity(Decimal(um).scaleb(-3), "mm")), min_size=1, max_size=4
)


def test_over_by_less_than_a_micrometer_tells() -> None:
    """40.070 - 39.980 = 0.090 against the public 0.0035 in = 0.0889 mm: 0.0011 over, measure again (computed)."""
    answer = clearance([q("40.070")], [q("39.980")], Limits(high=q("0.0035 in")))

    assert (answer.verdict, answer.values["largest"]) == ("borderline", Decimal("0.090"))
    assert any("0.0011 mm" in note for note in answer.notes)
    assert floats_in(answer) == []
    assert clearance([q("40.071")], [q("39.980")], Limits(high=q("0.0035 in"))).verdict == "out"
    assert clearance([q("40.068")], [q("39.980")], Limits(high=q("0.0035 in"))).verdict != "out"


@given(bores=SIZES, journals=SIZES)
@settings(max_examples=30)
def test_every_pair_of_readings_lies_between(bores: list[Quantity], journals: list[Quantity]) -> None:
    """Largest and smallest bound the clearance at any two places, and both are met."""
    answer = clearance(bores, journals, Limits())
    pairs = [bore.value - journal.value for bore in bores for journal in journals]

    assert (answer.values["smallest"], answer.values["largest"]) == (min(pairs), max(pairs))
    assert any("press fit" in note for note in answer.notes) == (min(pairs) < 0)


def test_one_of_each_is_needed() -> None:
    """A bore without a journal is no clearance."""
    with pytest.raises(UsageError, match="at least one of each"):
        clearance([q("40")], [], Limits())
