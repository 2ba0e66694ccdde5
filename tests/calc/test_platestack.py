"""A pack of plates against the order it must have; orders of an invented unit."""

from __future__ import annotations

import random

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from labelkit.calc.answers import Answer
from labelkit.calc.platestack import plate_stack
from labelkit.errors import UsageError
from tests.figures import floats_in

WANTED = ["S", "F", "S", "F", "S", "F", "S", "F", "S", "F"]
NAMES = {"S": "steel", "F": "friction"}


def check(found: str) -> Answer:
    return plate_stack(found.split(), WANTED, ["F"], names=NAMES)


def test_two_frictions_touch() -> None:
    """S F S F S F F S F: places 6/7 touch, 5 of 5 frictions, 4 of 5 steels, one steel goes between (computed)."""
    answer = check("S F S F S F F S F")

    assert answer.verdict == "out"
    assert answer.notes == (
        "NO: two frictions touch at places 6/7; frictions 5 of 5, steels 4 of 5: put one steel between",
    )
    assert answer.values["touching"] == ((6, 7),)
    assert floats_in(answer) == []


def test_the_right_stack() -> None:
    """Nothing is said of what is right."""
    answer = check(" ".join(WANTED))

    assert (answer.verdict, answer.notes, answer.values["wrong_places"]) == ("ok", (), ())


def test_the_ends_are_named() -> None:
    """The whole pack turned round: counts are right, both ends are wrong."""
    answer = plate_stack(WANTED[::-1], WANTED, ["F"], names=NAMES, ends=("the piston", "the backing plate"))

    assert "steel belongs against the piston, not friction" in answer.notes[0]
    assert "friction belongs against the backing plate, not steel" in answer.notes[0]
    assert answer.values["ends"] == (False, False)


def test_a_special_plate_at_the_wrong_place() -> None:
    """The thick steel in the middle instead of at its end: the line names the first wrong place."""
    wanted = ["wave", "S", "F", "S", "F", "thick"]
    answer = plate_stack(["wave", "thick", "F", "S", "F", "S"], wanted, ["F"])
    swapped = plate_stack(["wave", "F", "S", "F", "S", "thick"], wanted, ["F"])

    assert "thick belongs against the other end, not S" in answer.notes[0]
    assert answer.values["wrong_places"] == (2, 6)
    assert "place 2 has F, S belongs there" in swapped.notes[0]


def test_too_many_and_missing() -> None:
    """A plate of another pack is too many here, and what it stands for is missing."""
    answer = plate_stack(["S", "F", "X", "F"], ["S", "F", "S", "F"], ["F"], names={**NAMES, "X": "spacer"})

    assert answer.notes[0].endswith("1 steel missing, 1 spacer too many")


def test_a_dish_is_looked_at() -> None:
    """The order is right; the direction of the dish is asked for until its place is ticked."""
    wanted = ["wave", "S", "F"]

    assert plate_stack(wanted, wanted, ["F"], dished=["wave"]).verdict == "ask"
    assert plate_stack(wanted, wanted, ["F"], dished=["wave"], ticked=[1]).verdict == "ok"
    assert plate_stack(wanted, wanted, ["F"], dished=["wave"], ticked=[2]).verdict == "ask"


@given(seed=st.integers(0, 10_000), dropped=st.integers(0, 3))
@settings(max_examples=50)
def test_only_the_wanted_order_passes(seed: int, dropped: int) -> None:
    """Whatever else is refused in one line, and every touching pair is found."""
    found = WANTED[:]
    random.Random(seed).shuffle(found)
    found = found[: len(found) - dropped]
    answer = plate_stack(found, WANTED, ["F"], names=NAMES)

    assert (answer.verdict == "ok") == (found == WANTED)
    if found != WANTED:
        assert len(answer.notes) == 1
        assert "\n" not in answer.notes[0]
        touching = [k for k in range(1, len(found)) if found[k - 1] == found[k] == "F"]
        assert [one for one, _ in answer.values["touching"]] == touching  # type: ignore[union-attr, misc]


def test_an_order_is_needed() -> None:
    """Without one nothing can be checked."""
    with pytest.raises(UsageError, match="at least one plate"):
        plate_stack(["S"], [], [])
    assert plate_stack([], WANTED, ["F"], names=NAMES).notes[0].endswith("5 steels missing, 5 frictions missing")
