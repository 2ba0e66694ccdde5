"""Clearance of plate packs; the figures are worked here by hand, the forms are those of public manuals."""

from __future__ import annotations

from decimal import Decimal
from typing import Any, cast

import pytest

from labelkit.calc import clutchplay
from labelkit.calc.answers import Answer
from labelkit.calc.clutchplay import Plates, friction_notes, stack, step_gauge, swaps, wave_question
from labelkit.calc.readings import Taking, take
from labelkit.calc.selecting import Asked
from labelkit.calc.selective import Gap, Pieces, Target
from labelkit.calc.showing import Show
from labelkit.errors import UsageError

D = Decimal
INCH = D("25.4")
RINGS = Pieces(tuple(map(D, ("3.0", "3.2", "3.4", "3.6", "3.8"))))
ASKED = Asked("clearance", "clearance")
STEELS = Pieces(tuple(map(D, ("1.60", "1.80", "2.00", "2.20", "2.40", "2.60"))))


def feeler(*texts: str, question: str | None = None, low: str = "2.0", high: str = "2.6", **more: Any) -> Answer:
    taken = take(list(map(D, texts)), Taking(spread=None, least=4), Show())
    gap = Gap(taken.mean, D("3.0"), uncertainty=taken.uncertainty or D(0))
    return clutchplay.clearance(
        taken, Target.of(D(low), D(high)), gap, RINGS, ASKED, D("0.01"), question=question, **more
    )


def test_a_ring_by_feeler_at_four_places() -> None:
    """2.83 2.88 2.85 2.84: mean 2.85, spread 0.05; window 3.25-3.85, wanted 3.55: 3.6 leaves 2.25."""
    answer = feeler("2.83", "2.88", "2.85", "2.84")
    data = answer.data()

    assert [data[key] for key in ("mean", "spread", "window", "wanted", "choice", "predicted")] == [
        "2.85", "0.05", ["3.25", "3.85"], "3.55", ["3.6"], "2.25",
    ]  # fmt: skip
    assert (answer.verdict, data["least"], data["most"]) == ("ok", "2.23", "2.28")
    assert any("measure again" in note for note in answer.notes)


def test_every_place_must_be_inside_and_not_the_mean_alone() -> None:
    """Mean 2.85, but 3.25 at one place: 2.65 with the ring, over 2.6."""
    answer = feeler("2.70", "2.72", "2.73", "3.25")

    assert answer.verdict == "borderline"
    assert any("2.65 mm at one place is not" in note for note in answer.notes)


def test_the_state_of_the_wave_plate_is_asked() -> None:
    """Measured free 2.60, the limit means flat 1.80: 0.80 apart, nothing is chosen."""
    question = wave_question("free", "flat", D("0.80"), Show())
    answer = feeler("2.60", "2.60", "2.60", "2.60", question=question)

    assert (answer.verdict, answer.values["choice"], answer.values["predicted"]) == ("ask", (), None)
    assert "which is it?; free and flat are 0.80 mm apart" in answer.notes[0]


@pytest.mark.parametrize(
    ("measured", "meant", "asks"),
    [
        (None, None, True), (None, "flat", True), ("free", None, True), ("flat", "free", True), ("none", "flat", True),
        ("free", "free", False), ("flat", "flat", False), ("none", "none", False), ("none", None, False),
        (None, "none", False),
    ],
)  # fmt: skip
def test_the_wave_plate_is_never_assumed(measured: Any, meant: Any, asks: bool) -> None:
    """Only where both are said, and agree, or there is none, nothing is asked."""
    assert (wave_question(measured, meant, None, Show()) is not None) == asks


def test_a_step_gauge_has_no_number() -> None:
    """0.074 in goes, 0.147 in does not: inside (form and steps: TM 5-4210-229-14&P, p. 6-86)."""
    steps = D("0.074") * INCH, D("0.147") * INCH

    assert step_gauge(*steps, (True, False)).verdict == "ok"
    assert step_gauge(*steps, (True, True)).values["where"] == "too wide"
    assert step_gauge(*steps, (False, False)).values["where"] == "too tight"
    assert "mean" not in step_gauge(*steps, (True, False)).values
    for wrong in ((steps[0], steps[1], (False, True)), (steps[1], steps[0], (True, False))):
        with pytest.raises(UsageError):
            step_gauge(*wrong)


def pack(friction: str = "2.52", question: str | None = None, pressure: str = "7.95") -> Answer:
    plates = [
        Plates("friction", 5, D(friction), D("2.50")),
        Plates("steel", 5, D("2.01"), D("2.00")),
        Plates("pressure", 1, D(pressure), D("8.0")),
    ]
    band = Target.of(D("1.40"), D("1.80"))
    return stack(D("34.22"), plates, band, STEELS, Asked("stack", "clearance"), question=question, frictions=5)


def test_a_selective_steel_by_the_height_of_the_stack() -> None:
    """34.22 - (5 x 2.52 + 5 x 2.01 + 7.95 = 30.60) = 3.62; window 1.82-2.22: 2.00 leaves 1.62."""
    data = pack().data()

    assert [data[key] for key in ("stack", "rest", "window", "choice", "predicted", "verdict")] == [
        "30.60", "3.62", ["1.82", "2.22"], ["2.00"], "1.62", "ok",
    ]  # fmt: skip
    assert data["sum"][0] == ("stack = 5 × 2.52 mm (friction) + 5 × 2.01 mm (steel) + 7.95 mm (pressure) = 30.60 mm")


def test_thinner_frictions_fit_but_are_doubted() -> None:
    """2.35 instead of 2.50: five of them leave 0.75 more, 2.37 with 2.00; only 2.60 fits and leaves 1.77."""
    plates = [Plates("friction", 5, D("2.35"), D("2.50")), Plates("rest", 1, D("18.10"))]
    answer = stack(D("34.22"), plates, Target.of(D("1.40"), D("1.80")), STEELS, Asked("stack", "clearance"))

    assert (answer.data()["window"], answer.data()["choice"], answer.data()["predicted"]) == (
        ["2.57", "2.97"], ["2.60"], "1.77",
    )  # fmt: skip
    assert any("0.15 mm thinner; check that these are the right plates" in note for note in answer.notes)
    assert any("only 0.03 mm inside the limit" in note for note in answer.notes)


def test_a_stack_in_an_unknown_state_chooses_nothing() -> None:
    """The sum is told, the choice is not."""
    answer = pack(question="free or flat?")

    assert (answer.verdict, answer.values["choice"], str(answer.values["rest"])) == ("ask", (), "3.62")


def test_a_stack_higher_than_its_housing_is_refused() -> None:
    """A plate is in twice, or a depth is wrong."""
    assert (pack(pressure="17.95").verdict, pack(pressure="17.95").values["choice"]) == ("refused", ())


def test_a_complete_stack_is_judged() -> None:
    """Without selective plates the rest is the clearance."""
    plates = [Plates("all", 1, D("32.62"))]

    def judged(low: str) -> str:
        return stack(D("34.22"), plates, Target.of(D(low), D("1.80")), None, Asked("stack", "clearance")).verdict

    assert (judged("1.40"), judged("1.70")) == ("ok", "out")
    with pytest.raises(UsageError, match="no plates"):
        stack(D("34.22"), [], Target.of(D("1.40"), D("1.80")), None, ASKED)


def test_steels_are_swapped_for_thicker_ones() -> None:
    """1.45 less 0.20 each: 1.25, 1.05, 0.85, 0.65; two bring it nearest to the middle of 0.90-1.20."""
    answer = swaps(D("1.45"), 4, D("0.20"), Target.of(D("0.90"), D("1.20")))
    data = answer.data()

    assert [each["predicted"] for each in data["others"]] == ["1.45", "1.25", "1.05", "0.85", "0.65"]
    assert (data["choice"], data["predicted"], answer.verdict) == ("2 swapped", "1.05", "ok")


def test_one_more_plate_only_where_the_manual_allows_it() -> None:
    """2.85 less 2.00 is 0.85; without a plate that brings it in, none."""
    added = swaps(D("2.85"), 0, D(0), Target.of(D("0.7"), D("1.0")), added=D("2.00"))

    assert (added.values["choice"], added.notes[-1]) == (
        "one more plate",
        "one more plate only where the manual allows it",
    )
    assert swaps(D("2.85"), 1, D("0.2"), Target.of(D("0.7"), D("1.0"))).verdict == "none"
    with pytest.raises(UsageError, match="nothing to swap"):
        swaps(D("2.85"), 0, D(0), Target.of(D("0.7"), D("1.0")))


@pytest.mark.parametrize(("clearance", "hint"), [("1.25", True), ("1.27", False), ("1.90", False), ("1.91", True)])
def test_clearance_for_each_friction_is_a_hint(clearance: str, hint: bool) -> None:
    """0.010-0.015 in each (common practice, no source): 5 of them 1.27-1.905 mm; it changes no verdict."""
    notes = friction_notes(D(clearance), 5, Show())

    assert bool(notes) == hint
    assert all("common practice" in note and "a hint" in note for note in notes)
    tight = feeler("2.85", "2.85", "2.85", "2.85", frictions=2)
    assert (tight.verdict, any("each of 2 friction" in note for note in tight.notes)) == ("ok", True)
    assert cast(str, tight.data()["choice"]) == ["3.6"]
