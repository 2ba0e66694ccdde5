"""Preload of tapered bearings."""

from __future__ import annotations

from decimal import Decimal

import pytest
from hypothesis import assume, given, settings
from hypothesis import strategies as st

from labelkit.calc.limits import Limits
from labelkit.calc.taper import by_pull, rolling_torque, spacer_by_play, two_trials
from labelkit.errors import UsageError
from labelkit.units import Quantity
from tests.figures import floats_in, q

# An example of the form of such limits (public pages, lbf·in), never a default.
BY_STATE = {"new": Limits(q("5 lbf in"), q("45 lbf in")), "used": Limits(q("10 lbf in"), q("30 lbf in"))}
MICRONS = st.integers(5000, 5600).map(lambda um: Quantity(Decimal(um).scaleb(-3), "mm"))
TORQUES = st.integers(1, 90).map(lambda tenths: Quantity(Decimal(tenths).scaleb(-1), "N·m"))


def test_pull_on_a_wire() -> None:
    """12 lbf x 1.75 in = 21 lbf·in = 2.37 N·m (public form; NIST SP 811, computed)."""
    torque, line = by_pull(q("12 lbf"), q("1.75 in"))

    assert (torque.value, torque.unit) == (21, "lbf·in")
    assert line.endswith("= 2.37 N·m")
    assert abs(
        by_pull(Quantity(q("12 lbf").base, "N"), Quantity(q("1.75 in").mm, "mm"))[0].base - torque.base
    ) < Decimal("1e-20")


def test_limits_that_depend_on_the_bearings_are_asked_for() -> None:
    """5-45 lbf·in new, 10-30 used: 35 is right for new ones and out for used ones; unsaid it is asked."""
    reading = [q("35 lbf in")]

    assert rolling_torque(reading, BY_STATE).verdict == "ask"
    assert rolling_torque(reading, BY_STATE, state="new").verdict == "ok"
    assert rolling_torque(reading, BY_STATE, state="used").verdict == "out"


def test_the_limits_as_the_pages_print_them() -> None:
    """10-30 lbf·in is 1.13-3.39 N·m (computed)."""
    assert [f"{q(text).base:.2f}" for text in ("10 lbf in", "30 lbf in")] == ["1.13", "3.39"]


def test_the_seal_is_taken_away() -> None:
    """A torque within its limits only with the seal's drag is too low without."""
    limits = Limits(q("2.5 N·m"), q("4.0 N·m"))

    assert rolling_torque([q("3.0 N·m")], limits).verdict == "ok"
    answer = rolling_torque([q("3.0 N·m")], limits, drag=q("0.8 N·m"))
    assert (answer.verdict, answer.values["torque"]) == ("out", Decimal("2.2"))
    assert any("measure it alone" in note for note in rolling_torque([q("3.0 N·m")], limits).notes)


def test_a_torque_below_nothing_is_not_blamed_on_the_seal() -> None:
    """The reading is told, also where nobody measured the seal's drag."""
    with pytest.raises(UsageError, match=r"rolling torque: found -1.0 N·m; allowed: from 0"):
        rolling_torque([q("-1.0 N·m")], Limits())


def test_readings_far_apart_are_not_averaged() -> None:
    """A spread over the limit is refused; within it the mean counts, pulls and all."""
    limits = Limits(q("2.5 N·m"), q("4.0 N·m"))
    apart = rolling_torque([q("2.6 N·m"), q("3.9 N·m")], limits, spread=q("0.4 N·m"))

    assert (apart.verdict, apart.values.get("torque")) == ("refused", None)
    assert "refused" == rolling_torque([q("1.1 N·m"), q("3.1 N·m"), q("5.2 N·m")], limits).verdict, (
        "nobody said how far"
    )
    pulls = rolling_torque([q("60 N"), q("64 N")], limits, radius=q("50"), spread=q("0.4 N·m"))
    assert (pulls.verdict, pulls.values["torque"]) == ("ok", Decimal("3.1"))
    assert floats_in(pulls) == floats_in(apart) == []


def test_a_spacer_by_play() -> None:
    """Play 0.12, wanted preload 0.05, thinner = tighter: 0.17 thinner (computed)."""
    answer = spacer_by_play(q("5.40"), q("0.12"), q("0.05"), series=[q("5.15"), q("5.20"), q("5.25")])

    assert (answer.values["change"], answer.values["wanted"]) == (Decimal("0.17"), Decimal("5.23"))
    assert (answer.values["choice"], answer.values["predicted"]) == ((Decimal("5.25"),), Decimal("0.03"))
    assert spacer_by_play(q("5.40"), q("0.12"), q("0.05"), thicker="increases").values["wanted"] == Decimal("5.57")


def test_a_spacer_by_two_trials() -> None:
    """5.30 -> 1.1 N·m, 5.25 -> 3.4 N·m, wanted 3.25: 5.253, so 5.25 (computed)."""
    trials = [(q("5.30"), q("1.1 N·m")), (q("5.25"), q("3.4 N·m"))]
    series = [q("5.20"), q("5.25"), q("5.30")]
    answer = two_trials(trials, q("3.25 N·m"), limits=Limits(q("2.5 N·m"), q("4.0 N·m")), series=series)

    assert (answer.verdict, answer.values["wanted"], answer.values["choice"]) == (
        "ok",
        Decimal("5.253"),
        (Decimal("5.25"),),
    )
    assert floats_in(answer) == []
    assert any("drag of the seal is not taken away" in note for note in answer.notes)
    tight = Limits(q("3.0 N·m"), q("3.3 N·m"))
    assert two_trials(trials, q("3.25 N·m"), limits=tight, series=series).verdict == "none"


@given(one=MICRONS, two=MICRONS, low=TORQUES, high=TORQUES, wanted=TORQUES)
@settings(max_examples=50)
def test_the_line_goes_through_both_trials(
    one: Quantity, two: Quantity, low: Quantity, high: Quantity, wanted: Quantity
) -> None:
    """Wanting what a trial gave answers that trial's spacer; beyond both trials it is called a guess."""
    assume(one.value != two.value and low.value != high.value)
    trials = [(one, low), (two, high)]

    assert two_trials(trials, low).values["wanted"] == one.value
    assert two_trials(trials, high).values["wanted"] == two.value
    between = min(low.value, high.value) <= wanted.value <= max(low.value, high.value)
    assert any("guess" in note for note in two_trials(trials, wanted).notes) == (not between)


@pytest.mark.parametrize(
    ("call", "said"),
    [
        (lambda: rolling_torque([], Limits()), "no reading"),
        (lambda: rolling_torque([q("3 N·m")], Limits(), drag=q("4 N·m")), "above the whole"),
        (lambda: rolling_torque([q("3 N·m")], BY_STATE, state="worn"), 'found "worn"; allowed: new, used'),
        (lambda: rolling_torque([q("3 mm")], Limits()), "is a length; allowed: a torque"),
        (lambda: by_pull(q("3 N"), q("0")), "radius: found 0"),
        (lambda: spacer_by_play(q("0.1"), q("0.1"), q("0.1")), "new spacer: found -0.1"),
        (lambda: spacer_by_play(q("5"), q("-0.1"), q("0.1")), "without a sign"),
        (lambda: two_trials([(q("5"), q("1 N·m"))], q("2 N·m")), "1 trials; allowed: two"),
        (lambda: two_trials([(q("5"), q("1 N·m")), (q("5"), q("2 N·m"))], q("2 N·m")), "they tell no line"),
        # A thinner spacer between the cones gives more preload (public manuals, read as excerpts).
        (
            lambda: two_trials(
                [(q("5.30"), q("3.4 N·m")), (q("5.20"), q("0.4 N·m"))], q("3.25 N·m"), thicker="reduces"
            ),
            "5.30 mm -> 3.4 N·m, 5.20 mm -> 0.4 N·m. The thicker spacer must have given less preload",
        ),
        (
            lambda: two_trials(
                [(q("5.20"), q("3.4 N·m")), (q("5.30"), q("0.4 N·m"))], q("3.25 N·m"), thicker="increases"
            ),
            "The thicker spacer must have given more preload",
        ),
    ],
)
def test_what_cannot_be_is_refused(call: object, said: str) -> None:
    """The message says what was given and what is allowed."""
    with pytest.raises(UsageError, match=said):
        call()  # type: ignore[operator]
