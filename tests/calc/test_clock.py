"""Clock positions from both ends."""

from __future__ import annotations

from decimal import Decimal

import pytest
from hypothesis import given
from hypothesis import strategies as st

from labelkit.calc.clock import at_degrees, clock, degrees, read, turned
from labelkit.errors import UsageError
from labelkit.model.scalars import Clock
from tests.figures import floats_in

CLOCKS = st.integers(0, 719).map(Clock)


@pytest.mark.parametrize(
    ("here", "there"), [("5", "7:00"), ("3", "9:00"), ("6", "6:00"), ("12", "12:00"), ("5:30", "6:30")]
)
def test_the_hour_from_the_other_end(here: str, there: str) -> None:
    """h' = 12 - h: 5 and 7, 3 and 9 change places, 6 and 12 stay (geometry)."""
    answer = clock(read(here), seen_from="above")

    assert answer.values["mirrored"] == there
    assert floats_in(answer) == []


def test_an_hour_is_thirty_degrees() -> None:
    """9 o'clock is 270 degrees, clockwise from 12."""
    assert degrees(read("9 o'clock")) == 270


@given(position=CLOCKS)
def test_mirrored_twice_is_the_same(position: Clock) -> None:
    """Both ends tell of one place; angles of both add up to a whole turn, and every angle leads back."""
    across = read(str(clock(position).values["mirrored"]))

    assert clock(across).values["mirrored"] == str(position)
    assert (degrees(position) + degrees(across)) % 360 == 0
    assert at_degrees(degrees(position)) == position


@given(
    words=st.lists(st.sampled_from(["up", "DOWN", "Top", "bottom", "lip", "above", "supper", "either"])).map(" ".join)
)
def test_turned_over_twice_is_the_same(words: str) -> None:
    """Up and down change places and back; words that only hold one of them are left alone."""
    assert turned(turned(words)) == words


def test_turned_over_on_the_bench() -> None:
    """Up becomes down when the unit is turned over."""
    assert turned("lip DOWN, groove up") == "lip UP, groove down"


def test_from_which_end_is_asked_for() -> None:
    """Without an end the reading is half the truth."""
    assert "say from which end" in clock(Clock(0)).notes[0]
    assert clock(Clock(0), seen_from="above").notes == ()


@pytest.mark.parametrize("text", ["13:00", "0:30", "5:60", "noon", "", "5.5"])
def test_no_such_hour(text: str) -> None:
    """What is not on the dial is refused."""
    with pytest.raises(UsageError, match="allowed: 1:00 to 12:59"):
        read(text)


def test_an_angle_between_the_marks() -> None:
    """Degrees come to the nearest minute of the dial, half to even."""
    assert [str(at_degrees(Decimal(text))) for text in ("359.9", "-30", "22.7")] == ["12:00", "11:00", "12:45"]
