"""What is left of a part that wears."""

from __future__ import annotations

from decimal import Decimal

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from labelkit.calc.wear import cone, wear
from labelkit.errors import UsageError
from labelkit.units import Quantity
from tests.figures import floats_in, q


def test_a_third_of_the_lining_is_left() -> None:
    """2.10 new, 0.20 allowance, 1.97 found: limit 1.90, 35 % left (computed)."""
    answer = wear(q("1.97"), q("2.10"), allowance=q("0.20"))

    assert (answer.verdict, answer.values["limit"], answer.values["left_percent"]) == ("ok", Decimal("1.90"), 35)
    assert floats_in(answer) == []


def test_a_plate_under_its_limit_is_replaced() -> None:
    """Public form "under 0.064 in replace": 0.064 is kept, 0.063 is not; an oil groove of 0.008 in is the same."""
    assert wear(q("0.064 in"), q("0.080 in"), limit=q("0.064 in")).verdict == "ok"
    assert wear(q("0.063 in"), q("0.080 in"), limit=q("0.064 in")).verdict == "out"
    assert wear(q("0.008 in"), q("0.012 in"), limit=q("0.008 in")).values["left_percent"] == 0


def test_a_bore_grows() -> None:
    """A bore wears to the larger side: 40.00 + 0.20, at 40.13 35 % are left."""
    answer = wear(q("40.13"), q("40.00"), allowance=q("0.20"), way="grows")

    assert (answer.values["limit"], answer.values["left_percent"]) == (Decimal("40.20"), 35)
    assert wear(q("40.13"), q("40.00"), limit=q("40.10")).verdict == "out"


def test_no_limit_is_said() -> None:
    """Neither allowance nor limit: the reading is shown, nothing is judged."""
    assert wear(q("1.97"), q("2.10")).verdict == "no_limit"


def test_better_than_new_is_suspicious() -> None:
    """More than new is told, not cheered."""
    assert "better than new" in wear(q("2.12"), q("2.10"), allowance=q("0.20")).notes[-1]


def test_the_cone_of_a_plate() -> None:
    """2.23 high, 2.01 thick: 0.22, under the public 0.010 in = 0.254 mm (computed)."""
    answer = cone(q("2.23"), q("2.01"), q("0.010 in"))

    assert (answer.verdict, answer.values["reading"]) == ("ok", Decimal("0.22"))
    assert cone(q("2.29"), q("2.01"), q("0.010 in")).verdict == "out"
    assert cone(q("2.23"), q("2.01")).verdict == "no_limit"
    assert floats_in(answer) == []


@given(new=st.integers(100, 900), gone=st.integers(0, 90), allowance=st.integers(1, 90), grows=st.booleans())
@settings(max_examples=50)
def test_the_share_left_is_that_of_the_allowance(new: int, gone: int, allowance: int, grows: bool) -> None:
    """Either way: what is gone of the allowance is missing from the share, and 0 % is the limit itself."""
    sign = 1 if grows else -1
    way = "grows" if grows else "shrinks"
    start, found, room = (Quantity(Decimal(each).scaleb(-2), "mm") for each in (new, new + sign * gone, allowance))
    answer = wear(found, start, allowance=room, way=way)  # type: ignore[arg-type]

    assert answer.verdict == ("ok" if gone <= allowance else "out")
    assert abs(Decimal(str(answer.values["left_percent"])) - (1 - Decimal(gone) / allowance) * 100) <= Decimal("0.5")


@pytest.mark.parametrize(
    ("call", "said"),
    [
        (lambda: wear(q("1"), q("2"), allowance=q("0.2"), limit=q("1.8")), "an allowance and a limit"),
        (lambda: wear(q("1"), q("2"), limit=q("2")), "the size when new"),
        (lambda: wear(q("1"), q("2"), limit=q("1.5"), way="grows"), "one of them is wrong"),
        (lambda: wear(q("1"), q("2"), allowance=q("-0.2")), "allowed: more than 0"),
        (lambda: wear(q("-1"), q("2"), allowance=q("0.2")), "allowed: a size from 0"),
        (lambda: cone(q("2.0"), q("2.1")), "is below the thickness"),
    ],
)
def test_what_cannot_be_is_refused(call: object, said: str) -> None:
    """The message says what was given and what is allowed."""
    with pytest.raises(UsageError, match=said):
        call()  # type: ignore[operator]
