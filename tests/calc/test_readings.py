"""Readings: mean, spread and uncertainty; what is refused, corrected or suspected."""

from __future__ import annotations

import math
import statistics
from decimal import Decimal

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from labelkit.calc.readings import Taking, cosine, judged, readings, take
from labelkit.calc.showing import Show
from labelkit.errors import UsageError

MM = Show("mm", 2)


def mm(*texts: str) -> list[Decimal]:
    return [Decimal(text) for text in texts]


def test_twenty_temperatures_of_the_gum() -> None:
    """JCGM 100:2008, 4.4.3, table 1: mean 100.145, s 1.489, s of the mean 0.333; printed 100.14, 1.49, 0.33."""
    read = mm("96.90", "98.18", "98.25", "98.61", "99.03", "99.49", "99.56", "99.74", "99.89", "100.07", "100.33",
              "100.42", "100.68", "100.95", "101.11", "101.20", "101.57", "101.84", "102.36", "102.72")  # fmt: skip
    taken = take(read, Taking(spread=None), MM)

    assert taken.mean == Decimal("100.145")
    assert taken.deviation is not None
    assert taken.uncertainty is not None
    assert (round(taken.deviation, 3), round(taken.uncertainty, 3)) == (Decimal("1.489"), Decimal("0.333"))
    assert taken.told(MM)["mean"] == Decimal("100.14")


def test_large_numbers_lose_no_digits() -> None:
    """NIST StRD, univariate, NumAcc1 (from memory): 10000001, 10000003, 10000002 have mean 10000002 and s 1."""
    taken = take(mm("10000001", "10000003", "10000002"), Taking(spread=None), MM)

    assert (taken.mean, taken.deviation) == (10000002, 1)


@settings(max_examples=50)
@given(st.lists(st.decimals("0", "9", places=3), min_size=2, max_size=8))
def test_any_readings_agree_with_another_implementation(read: list[Decimal]) -> None:
    """Against the statistics module of Python."""
    taken = take(read, Taking(spread=None), MM)

    assert taken.mean == pytest.approx(statistics.mean(read), abs=Decimal("1e-20"))
    assert taken.deviation == pytest.approx(statistics.stdev(read), abs=Decimal("1e-12"))


def test_three_readings_of_an_end_play() -> None:
    """Mean 1.10, spread 0.04, s 0.020, u 0.012 (worked here by hand: s = sqrt(0.0008 / 2), u = s / sqrt 3)."""
    values = readings(mm("1.08", "1.10", "1.12")).values

    assert [str(values[key]) for key in ("mean", "spread", "s", "u")] == ["1.10", "0.04", "0.020", "0.012"]


def test_readings_too_far_apart_are_refused_and_not_averaged() -> None:
    """0.48 0.62 0.50 0.49 differ by 0.14, over 0.04: no mean, seat anew, three new readings."""
    answer = readings(mm("0.48", "0.62", "0.50", "0.49"), Taking(spread=Decimal("0.04"), seat=("turn", "push")))

    assert (answer.verdict, answer.values["mean"], str(answer.values["spread"])) == ("refused", None, "0.14")
    assert not any("mean" in line for line in answer.sums)
    assert "0.14 mm apart, over 0.04 mm" in answer.notes[-1]
    assert "turn, push; then 3 new readings" in answer.notes[-1]


def test_a_spread_at_its_limit_is_accepted() -> None:
    """1.10 - 0.60 is exactly 0.50, which binary fractions miss by 1e-16."""
    limit = Taking(spread=Decimal("0.50"))

    assert 1.1 - 0.6 > 0.5
    assert readings(mm("1.10", "0.60"), limit).verdict == "ok"


@pytest.mark.parametrize(("angle", "factor"), [(10, "0.985"), (20, "0.940"), (30, "0.866"), (60, "0.500")])
def test_the_cosine_is_that_of_the_tables(angle: int, factor: str) -> None:
    """Three-place tables of cosines; trade pages on lever indicators print 0.94 and 0.87 for 20 and 30 degrees."""
    assert round(cosine(Decimal(angle)), 3) == Decimal(factor)
    assert math.isclose(cosine(Decimal(angle)), math.cos(math.radians(angle)), rel_tol=1e-15)


@pytest.mark.parametrize(("gauge", "mean"), [("lever", "0.53"), ("face", "0.53"), ("point", "0.57")])
def test_a_leaning_gauge_is_corrected(gauge: str, mean: str) -> None:
    """0.55 at 15 degrees: lever and plunger on a flat face read long, 0.53; on a point short, 0.57 (by hand)."""
    answer = readings(mm("0.55"), Taking(gauge=gauge, angle=Decimal(15)))  # type: ignore[arg-type]

    assert str(answer.values["mean"]) == mean
    assert any("under 10°" in note for note in answer.notes)


def test_a_gauge_that_leans_too_far_is_refused() -> None:
    """Nothing can be read at 80 degrees."""
    with pytest.raises(UsageError, match="80 degrees; allowed: 0 to 75"):
        readings(mm("1"), Taking(gauge="lever", angle=Decimal(80)))


@pytest.mark.parametrize("lost", ["1.00", "2.54", "1.27"])
def test_a_lost_turn_is_suspected(lost: str) -> None:
    """One turn of the dial from what is expected: 1 mm, 0.1 in, 0.05 in (common practice, no source)."""
    expected = Taking(expected=Decimal("0.50"))

    assert "was a turn lost?" in readings([Decimal("0.51") + Decimal(lost)], expected).notes[-1]
    assert not any("turn lost" in note for note in readings(mm("0.80"), expected).notes)


def test_one_reading_a_turn_from_the_others_is_suspected() -> None:
    """It is refused for its spread, and why is guessed."""
    assert "1.49 mm is one turn of a dial from the others" in readings(mm("0.48", "1.49", "0.50")).notes[-1]


def test_a_gasket_that_was_left_out_is_added() -> None:
    """0.28 more play with the gasket in: 0.10 becomes 0.38, and the state is told."""
    answer = readings(mm("0.10"), Taking(added=Decimal("0.28"), gasket="left out", warm=True))

    assert str(answer.values["mean"]) == "0.38"
    assert "gasket when it was read: left out" in answer.notes
    assert any(note.startswith("measured warm") for note in answer.notes)


@pytest.mark.parametrize(
    ("value", "low", "high", "verdict"),
    [
        ("0.50", "0.50", "0.60", "ok"),  # exactly at the limit: accepted
        ("0.5588", "0.1016", "0.5588", "ok"),  # so it is where the limit lies between two marks
        ("0.56", "0.1016", "0.5588", "borderline"),  # 0.022 in; 0.0012 is less than two decimals show
        ("0.55", "0.1016", "0.5542", "borderline"),  # half a mark may hide the limit
        ("0.57", "0.1016", "0.5588", "out"),
        ("0.30", "0.1016", "0.5588", "ok"),
        ("0.09", "0.1016", "0.5588", "out"),
    ],
)
def test_a_reading_is_judged_as_finely_as_it_was_read(value: str, low: str, high: str, verdict: str) -> None:
    """At the limit is in; what a gauge of two decimals cannot tell is borderline. Limits of 0.004-0.022 in."""
    assert judged(Decimal(value), Decimal(low), Decimal(high), Decimal("0.01")) == verdict


def test_a_play_below_zero_is_none() -> None:
    """The message says what to look at."""
    with pytest.raises(UsageError, match=r"reading -0\.05 mm: .* never below zero; was the dial set to zero"):
        take(mm("-0.05"), Taking(), MM)


def test_no_readings_are_none() -> None:
    """An empty list has no mean."""
    with pytest.raises(UsageError, match="no readings"):
        readings([])
