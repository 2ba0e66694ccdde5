"""Verdicts on readings, unrounded and in the limit's own unit."""

from __future__ import annotations

from decimal import Decimal

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from labelkit.calc.limits import Limits, backlash, judge, judge_each
from labelkit.errors import UsageError
from labelkit.units import Quantity
from tests.figures import floats_in, q

HUNDREDTHS = st.integers(0, 400).map(lambda count: Quantity(Decimal(count).scaleb(-2), "mm"))


def test_less_than_the_gauge_shows_is_borderline() -> None:
    """0.56 mm against 0.022 in = 0.5588 mm: 0.0012 over on a gauge of 0.01 (public band of 0.022 in; computed)."""
    answer = judge(q("0.56"), Limits(q("0.004 in"), q("0.022 in")))

    assert answer.verdict == "borderline"
    assert answer.values["beyond"] == Decimal("0.0012")
    assert (answer.values["low"], answer.values["high"]) == (Decimal("0.11"), Decimal("0.55"))
    assert "read it in inches, or take three readings" in answer.notes[0]
    assert judge(q("0.57"), Limits(high=q("0.022 in"))).verdict == "out"
    assert judge(q("0.55"), Limits(high=q("0.022 in"))).verdict == "ok"


def test_exactly_at_the_limit_is_inside() -> None:
    """1.10 - 0.60 is 0.50 and not above 0.50, where binary fractions have 0.5000000000000001 (computed)."""
    play = Quantity(Decimal("1.10") - Decimal("0.60"), "mm")

    assert judge(play, Limits(q("0.40"), q("0.50"))).verdict == "ok"
    assert 1.1 - 0.6 > 0.5


def test_a_finer_reading_decides() -> None:
    """The same 0.56 typed with three decimals is out: a gauge of 0.001 tells 0.0012; a stated gauge counts."""
    limits = Limits(high=q("0.022 in"))

    assert judge(q("0.560"), limits).verdict == "out"
    assert judge(q("0.560"), limits, resolution=q("0.01")).verdict == "borderline"


def test_no_limit_judges_nothing() -> None:
    """Without a limit the reading is shown and nothing is said of it."""
    answer = judge(q("0.61"), Limits())

    assert answer.verdict == "no_limit"
    assert answer.values["reading"] == Decimal("0.61")
    assert "no limit given" in answer.notes[0]


@given(reading=HUNDREDTHS, one=HUNDREDTHS, two=HUNDREDTHS)
@settings(max_examples=50)
def test_inches_and_millimetres_agree(reading: Quantity, one: Quantity, two: Quantity) -> None:
    """The same case in inches has the same verdict: thousandths for hundredths, a factor that both sides share."""
    low, high = sorted((one, two), key=lambda each: each.value)
    inches = [Quantity(each.value / 10, "in") for each in (reading, low, high)]

    metric = judge(reading, Limits(low, high))
    imperial = judge(inches[0], Limits(inches[1], inches[2]), resolution=q("0.001 in"))
    outside = not low.value <= reading.value <= high.value
    assert metric.verdict == imperial.verdict == ("out" if outside else "ok")
    assert floats_in(metric) == floats_in(imperial) == []


@given(reading=HUNDREDTHS, limit=st.decimals("0.001", "4", places=4))
@settings(max_examples=50)
def test_a_verdict_says_no_more_than_the_gauge_tells(reading: Quantity, limit: Decimal) -> None:
    """Whatever the true size within half a step of the reading: `out` is out, `ok` is in, but for a limit at a mark."""
    verdict = Limits(high=Quantity(limit, "mm")).verdict(reading.value, Decimal("0.01"))
    least, most = reading.value - Decimal("0.005"), reading.value + Decimal("0.005")

    if verdict == "out":
        assert least > limit
    elif verdict == "ok" and reading.value != limit:
        assert most <= limit


@given(reading=HUNDREDTHS, limit=HUNDREDTHS, more=HUNDREDTHS)
@settings(max_examples=50)
def test_a_wider_limit_never_makes_it_worse(reading: Quantity, limit: Quantity, more: Quantity) -> None:
    """At the marks of the gauge a verdict gets better as the limit rises."""
    order = ("ok", "borderline", "out")
    tight = Limits(high=limit).verdict(reading.value, Decimal("0.01"))
    loose = Limits(high=Quantity(limit.value + more.value, "mm")).verdict(reading.value, Decimal("0.01"))

    assert order.index(loose) <= order.index(tight)


def test_each_planet_is_read_and_one_condemns() -> None:
    """Side play of each planet, the least and most kept: public form "check all", one out and the whole set is out."""
    limits = Limits(q("0.20"), q("0.60"))
    answer = judge_each([q("0.20"), q("0.45"), q("0.61")], limits, wanted=3, places="planet")

    assert answer.verdict == "out"
    assert (answer.values["min"], answer.values["max"], answer.values["out"]) == (
        Decimal("0.20"),
        Decimal("0.61"),
        (3,),
    )
    assert floats_in(answer) == []
    assert "condemns the whole" in answer.notes[0]
    # Nothing goes out with a single piece, however often it was read.
    assert () == judge_each([q("0.61")], limits).notes == judge_each([q("0.61"), q("0.62")], limits, apiece=None).notes
    thrice = judge_each([q("0.20"), q("0.45"), q("0.61"), q("0.25")], limits, apiece=3)
    assert ["piece 1, place 3: 0.61 mm OUT", "piece 2, place 1: 0.25 mm ok"] == list(thrice.sums[3:])
    assert judge_each([q("0.25"), q("0.60")], limits, wanted=3).verdict == "ask"
    assert judge_each([q("0.25"), q("0.60"), q("0.30")], limits, wanted=3).verdict == "ok"


def test_a_limit_in_inches_holds_in_millimetres() -> None:
    """At most 0.037 in is 0.94 mm as the public page prints it, 0.9398 exact: 0.93 is in, 0.94 is more than known."""
    limits = Limits(high=q("0.037 in"))

    assert judge(q("0.93"), limits).verdict == "ok"
    assert judge(q("0.94"), limits).verdict == "borderline"
    assert judge(q("0.95"), limits).verdict == "out"


def test_backlash_is_that_of_the_pitch_circle() -> None:
    """A dial on a lever twice as long as the pitch radius reads twice the play; 0.015 in = 0.381 mm (public limit)."""
    answer = backlash(q("0.74"), q("40"), q("80"), Limits(high=q("0.015 in")))

    assert (answer.verdict, answer.values["reading"]) == ("ok", Decimal("0.370"))
    assert floats_in(answer) == []


@pytest.mark.parametrize(
    ("call", "said"),
    [
        (lambda: Limits(q("0.6"), q("0.2")), "the low one 0.6 mm is above the high one 0.2 mm"),
        (lambda: judge(q("0.5"), Limits(high=q("3 N·m"))), "3 N·m is a torque"),
        (lambda: judge_each([], Limits()), "no reading given"),
        (lambda: judge_each([q("1"), q("2")], Limits(), wanted=1), "2 readings for 1 places"),
        (lambda: backlash(q("1"), q("40"), q("0"), Limits()), "lever radius: found 0; allowed: more than 0"),
        (lambda: Limits(q("1"), q("2")).at("mid"), "did you mean middle"),
        (lambda: Limits(q("1")).at("middle"), "Both limits are needed"),
    ],
)
def test_what_cannot_be_is_refused(call: object, said: str) -> None:
    """The message names the thing, what was given and what is allowed."""
    with pytest.raises(UsageError, match=said.replace("(", r"\(")):
        call()  # type: ignore[operator]
