"""A difference between what was expected and what was found is the thickness of a part, or it is not."""

from __future__ import annotations

from decimal import Decimal

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from labelkit.calc.answers import Answer
from labelkit.calc.fingerprint import ThinPart, fingerprint, recheck, suspects
from labelkit.calc.showing import Show

D = Decimal
CHAIN = (ThinPart("washer", D("2.30")), ThinPart("thrust race", D("1.0")), ThinPart("needle cage", D("2.0")))


def test_a_missing_race() -> None:
    """Found 1.41, expected 0.41: one race of 1.0 mm (worked here by hand). A turn of the dial looks the same."""
    answer = fingerprint(D("1.41"), D("0.41"), CHAIN, D("0.05"))

    assert (answer.verdict, str(answer.values["difference"])) == ("out", "1.00")
    assert answer.data()["suspects"] == [{"part": "thrust race", "thickness": "1.0", "pieces": 1, "missing": True}]
    assert answer.notes[0] == "1.0 mm is one thrust race: is it missing?"
    assert any("one turn of a dial" in note for note in answer.notes)


def test_a_washer_in_both_places() -> None:
    """2.30 less than expected: the washer is in twice."""
    answer = fingerprint(D("0.10"), D("2.40"), CHAIN, D("0.05"))

    assert [(s["part"], s["missing"]) for s in answer.data()["suspects"]] == [("washer", False)]
    assert "left in both places" in answer.notes[0]


def test_two_of_one_part() -> None:
    """2.00 is one needle cage, or two races: both are told."""
    found = [(each.link.name, each.pieces) for each in suspects(D("2.00"), CHAIN, D("0.05"))]

    assert found == [("needle cage", 1), ("thrust race", 2)]


@settings(max_examples=50)
@given(st.sampled_from(CHAIN), st.sampled_from([1, 2]), st.booleans(), st.integers(-5, 5))
def test_each_slip_is_found_by_its_thickness(link: ThinPart, pieces: int, missing: bool, off: int) -> None:
    """Whatever part is missing or in twice is among the suspects, within the uncertainty."""
    change = link.thickness * pieces * (1 if missing else -1) + D(off) / 100

    assert (link, pieces, missing) in [(s.link, s.pieces, s.missing) for s in suspects(change, CHAIN, D("0.05"))]


def test_under_a_flange_a_missing_part_leaves_less_play() -> None:
    """The sign of the part decides between missing and doubled."""
    shim = ThinPart("shim", D("0.50"), "increases")

    assert [s.missing for s in suspects(D("-0.50"), [shim], D("0.02"))] == [True]


def test_as_expected_is_as_expected() -> None:
    """Up to and at the uncertainty."""
    assert fingerprint(D("0.46"), D("0.41"), CHAIN, D("0.05")).verdict == "ok"
    assert fingerprint(D("0.47"), D("0.41"), CHAIN, D("0.05")).verdict == "out"


def test_a_difference_like_no_part_is_told_with_the_chain() -> None:
    """Then something is upside down or not home."""
    answer = fingerprint(D("0.80"), D("0.41"), CHAIN, D("0.05"))

    assert answer.data()["suspects"] == []
    assert "thrust race 1.0 mm" in answer.notes[0]


@pytest.mark.parametrize(
    ("before", "measured", "verdict"),
    [("ok", "0.41", "ok"), ("ok", "0.55", "unexpected"), ("out", "1.41", "out"), ("out", "0.41", "out")],
)
def test_inside_but_not_as_expected_is_unexpected(before: str, measured: str, verdict: str) -> None:
    """Something is not as it was thought to be, although the play is allowed."""
    judgement = Answer("end_play", before, {}, ("a",), ("b",))  # type: ignore[arg-type]
    answer = recheck(judgement, D(measured), D("0.41"), CHAIN, D("0.05"), Show())

    assert (answer.fit, answer.verdict, answer.sums[0]) == ("end_play", verdict, "a")
