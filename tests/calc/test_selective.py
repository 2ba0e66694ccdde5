"""The choice of shims, plates and rings; the examples without a source are worked here by hand."""

from __future__ import annotations

import itertools
import random
from decimal import Decimal
from typing import Any, cast

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from labelkit.calc.answers import Answer
from labelkit.calc.readings import Taking, take
from labelkit.calc.selecting import Asked, selective
from labelkit.calc.selecting import series as series_answer
from labelkit.calc.selective import Gap, Pieces, Target, graded, select, solvable
from labelkit.calc.showing import Show
from labelkit.errors import UsageError

D = Decimal
INCH = D("25.4")
MIDDLES = (
    "0.059",
    "0.075",
    "0.091",
    "0.107",
    "0.123",
)  # public series, bands of +-0.002 in: TM 9-2320-387-24-2, p. 28-83


def pieces(*sizes: str, **how: Any) -> Pieces:
    return Pieces(tuple(map(D, sizes)), **how)


def fitted(
    e: str, t: str, low: str, high: str, shelf: Pieces, thicker: str = "reduces", unit: str = "mm", **more: Any
) -> Answer:
    """Return the answer for one reading; figures in the unit."""
    factor = INCH if unit == "in" else D(1)
    show = Show.of(unit, [])  # type: ignore[arg-type]
    taken = take([D(e) * factor], Taking(least=1), show)
    target = Target.of(D(low) * factor, D(high) * factor, more.pop("aim", "middle"), more.pop("tie", "tight"))
    gap = Gap(taken.mean, D(t) * factor, cast(Any, thicker))
    return selective(taken, target, gap, shelf, Asked(show=show, **more), D("0.01"))


def told(answer: Answer) -> tuple[Any, ...]:
    """Return verdict, window, wanted, choice, predicted as text."""
    data = answer.data()
    return answer.verdict, data["window"], data["wanted"], data["choice"], data["predicted"]


SHELF = Pieces(graded(D("1.85"), D("3.35"), D("0.15")))


def test_a_thicker_shim_reduces_the_play() -> None:
    """e 1.10 with 2.60, target 0.40-0.60: window 3.10-3.30, wanted 3.20, which gives 0.50; its neighbours are out."""
    answer = fitted("1.10", "2.60", "0.40", "0.60", SHELF)

    assert told(answer) == ("ok", ["3.10", "3.30"], "3.20", ["3.20"], "0.50")
    assert [(o["choice"], o["predicted"], o["outside"]) for o in answer.data()["others"]] == [
        (["3.05"], "0.65", "0.05"),
        (["3.35"], "0.35", "-0.05"),
    ]
    assert any("4 steps: compare with the reading before the teardown" in note for note in answer.notes)


def test_a_thicker_shim_increases_the_play() -> None:
    """The same under a flange: window 1.90-2.10, 2.00 gives 0.50."""
    assert told(fitted("1.10", "2.60", "0.40", "0.60", SHELF, "increases")) == (
        "ok", ["1.90", "2.10"], "2.00", ["2.00"], "0.50",
    )  # fmt: skip


def test_the_list_counts_and_not_the_steps() -> None:
    """Steps of 0.15 from 2.50 hold 3.10, at the edge, and 3.25, which is taken; the list is asked for."""
    shelf = Pieces(graded(D("2.50"), D("3.40"), D("0.15")))
    answer = fitted("1.10", "2.60", "0.40", "0.60", shelf, stepped=True)

    assert told(answer)[3:] == (["3.25"], "0.45")
    assert answer.data()["others"][0] == {"choice": ["3.10"], "predicted": "0.60", "outside": "0.00", "risky": False}
    assert "check it against the list" in answer.notes[-1]


def inch_series(tolerance: str = "0") -> Pieces:
    return Pieces(tuple(D(size) * INCH for size in MIDDLES), D(tolerance) * INCH)


def test_a_public_series_in_inches() -> None:
    """Reading 0.031 with 0.091 in, band 0.004-0.022 in: 0.107 gives 0.015 (series and band: TM 9-2320-387-24-2)."""
    assert told(fitted("0.031", "0.091", "0.004", "0.022", inch_series("0.002"), unit="in")) == (
        "ok", ["0.100", "0.118"], "0.109", ["0.107"], "0.015",
    )  # fmt: skip


def test_where_none_fits_the_nearest_are_told_and_what_to_ask() -> None:
    """Reading 0.060 with 0.091 in: window 0.129-0.147, the thickest leaves 0.028, 0.006 over: a missing part?"""
    answer = fitted("0.060", "0.091", "0.004", "0.022", inch_series(), unit="in")

    assert told(answer) == ("none", ["0.129", "0.147"], "0.138", [], None)
    assert [(o["choice"], o["predicted"], o["outside"]) for o in answer.data()["others"]] == [
        (["0.123"], "0.028", "0.006"),
        (["0.107"], "0.044", "0.022"),
    ]
    assert any("before buying" in note for note in answer.notes)
    assert any("missing" in note and "upside down" in note for note in answer.notes)
    assert any("two pieces" in note for note in answer.notes)


@pytest.mark.parametrize("reading", ["0.005", "0.021", "0.037"])
def test_an_answer_that_is_not_sure_without_measuring_the_piece(reading: str) -> None:
    """With 0.091 in and +-0.002 in these readings have a nominal answer only: borderline, measure the piece."""
    answer = fitted(reading, "0.091", "0.004", "0.022", inch_series("0.002"), unit="in")

    assert answer.verdict == "borderline"
    assert any("measure the piece" in note and "0.0020 in off" in note for note in answer.notes)
    assert fitted(reading, "0.091", "0.004", "0.022", inch_series(), unit="in").verdict == "ok"


@pytest.mark.parametrize(
    ("sizes", "tolerance", "width", "state", "verdict"),
    [
        (MIDDLES, "0", "0.018", "always", "ok"),  # step 0.016
        (MIDDLES, "0.002", "0.018", "if measured", "borderline"),  # 0.018 - 0.004 = 0.014 < 0.016
        (MIDDLES, "0", "0.015", "not", "none"),
        # Uneven steps of 14, 14 and 18 thousandths (TM 9-2320-266-34, 18-10): the largest counts.
        (("0.060", "0.074", "0.088", "0.106"), "0", "0.018", "always", "ok"),
        (("0.060", "0.074", "0.088", "0.106"), "0", "0.017", "not", "none"),
    ],
)
def test_whether_a_series_always_has_an_answer(
    sizes: tuple[str, ...], tolerance: str, width: str, state: str, verdict: str
) -> None:
    """Largest step against the width of the target, less the tolerance at both ends."""
    shelf = pieces(*sizes, tolerance=D(tolerance))

    assert solvable(shelf, D(width)) == state
    assert series_answer(D(width), shelf, Show("in", 3)).verdict == verdict


def test_several_pieces() -> None:
    """0.10 0.15 0.20 0.30 0.50, window 0.72-0.78: no two of them; three are 0.75, two ways."""
    sizes = ("0.10", "0.15", "0.20", "0.30", "0.50")
    two = fitted("1.20", "0.00", "0.42", "0.48", pieces(*sizes, most=2))
    three = fitted("1.20", "0.00", "0.42", "0.48", pieces(*sizes, most=3))

    assert told(two)[:2] == ("none", ["0.72", "0.78"])
    assert told(three)[3:] == (["0.50", "0.15", "0.10"], "0.45")
    assert three.data()["others"][0]["choice"] == ["0.30", "0.30", "0.15"]


def test_two_shims_of_a_demo_unit() -> None:
    """0.27 under 0.30 + 0.15, target 0.05-0.10, aim 0.075: window 0.62-0.67, 0.50 + 0.15 leaves 0.07."""
    answer = fitted("0.27", "0.45", "0.05", "0.10", pieces("0.10", "0.15", "0.20", "0.30", "0.50", most=3))

    assert (told(answer)[1], *told(answer)[3:]) == (["0.62", "0.67"], ["0.50", "0.15"], "0.07")


@pytest.mark.parametrize(("tie", "choice"), [("tight", "3.30"), ("loose", "3.10")])
@pytest.mark.parametrize("thicker", ["reduces", "increases"])
def test_a_tie_goes_to_the_stated_side(tie: str, choice: str, thicker: str) -> None:
    """3.10 and 3.30 are as near to 3.20: tight leaves less play. Under a flange the thinner leaves less."""
    if thicker == "increases":
        choice = {"3.30": "3.10", "3.10": "3.30"}[choice]
    e = "1.10" if thicker == "reduces" else "-0.10"
    gap = Gap(D(e), D("2.60"), cast(Any, thicker))
    chosen = select(gap, Target.of(D("0.30"), D("0.70"), tie=cast(Any, tie)), pieces("3.10", "3.30"))

    assert chosen.chosen is not None
    assert (str(chosen.chosen.stack.total), chosen.tied) == (choice, True)


@pytest.mark.parametrize(("tie", "choice"), [("tight", ["0.40", "0.20"]), ("loose", ["0.50"])])
def test_the_side_that_was_asked_for_goes_before_the_fewest_pieces(tie: str, choice: list[str]) -> None:
    """0.60 in two pieces leaves 0.15, 0.50 in one leaves 0.25, both 0.05 off the aim: what is said is taken."""
    shelf = pieces("0.20", "0.30", "0.40", "0.50", most=2, tolerance=D("0.01"))
    answer = fitted("0.45", "0.30", "0.10", "0.30", shelf, tie=tie)

    assert answer.data()["choice"] == choice
    assert any(f"the {tie} side is taken" in note for note in answer.notes)


def test_a_piece_that_is_not_sure_is_not_as_near() -> None:
    """3.30, the tight side, is only just inside with its tolerance: 3.10 is taken, and not because of any side."""
    gap, target = Gap(D("1.10"), D("2.60")), Target.of(D("0.38"), D("0.70"), D("0.50"))
    chosen = select(gap, target, pieces("3.10", "3.30", tolerance=D("0.05")))

    assert chosen.chosen is not None
    assert (str(chosen.chosen.stack.total), chosen.tied) == ("3.10", False)


@settings(max_examples=300)
@given(st.data())
def test_the_order_of_choice_is_that_of_every_stack_tried(data: st.DataObject) -> None:
    """Surest, nearest, on the side that was asked for, fewest, thickest; told as tied where the side decided."""
    count = st.integers(1, 8)  # whole steps of 0.05 mm, so few that many are as near
    sizes = data.draw(st.lists(count, min_size=1, max_size=4, unique=True))
    most, off, doubt = data.draw(st.integers(1, 3)), data.draw(st.integers(0, 1)), data.draw(st.integers(0, 1))
    low, width, play, old = data.draw(count), data.draw(count), data.draw(count), data.draw(count)
    aim = low + data.draw(st.integers(0, width))
    sign, tie = data.draw(st.sampled_from([-1, 1])), data.draw(st.sampled_from(["tight", "loose"]))

    def mm(steps: int) -> Decimal:
        return steps * D("0.05")

    found = select(
        Gap(mm(play), mm(old), "reduces" if sign < 0 else "increases", mm(doubt)),
        Target.of(mm(low), mm(low + width), mm(aim), cast(Any, tie)),
        Pieces(tuple(map(mm, sizes)), mm(off), most),
    )
    ranked = []
    for number in range(1, most + 1):
        for stack in itertools.combinations_with_replacement(sorted(sizes, reverse=True), number):
            new, guard = play + sign * (sum(stack) - old), doubt + off * number
            if low <= new <= low + width:
                sure = low + guard <= new <= low + width - guard
                side = new - aim if tie == "tight" else aim - new
                ranked.append((not sure, abs(new - aim), side, number, [-size for size in stack]))
    if not ranked:
        assert found.chosen is None
        return
    best = min(ranked)
    assert found.chosen is not None
    assert found.chosen.stack.pieces == tuple(mm(-size) for size in best[4])
    assert found.tied == any(each[:2] == best[:2] and each[2] != best[2] for each in ranked)


@pytest.mark.parametrize(("aim", "choice"), [("low", "3.30"), ("high", "3.10"), (D("0.55"), "3.15")])
def test_the_aim_may_be_an_end_or_a_value(aim: Any, choice: str) -> None:
    """Low play wants the thickest inside."""
    shelf = Pieces(graded(D("3.00"), D("3.40"), D("0.05")))

    assert fitted("1.10", "2.60", "0.40", "0.60", shelf, aim=aim).data()["choice"] == [choice]


def test_a_tolerance_of_the_shelf_narrows_the_window() -> None:
    """An end of the window is left to the piece that is sure, although it is further from the wanted size."""
    shelf = pieces("3.10", "3.21", tolerance=D("0.02"))

    assert fitted("1.10", "2.60", "0.40", "0.60", shelf, aim="high").data()["choice"] == ["3.21"]


def test_the_chosen_size_is_never_beaten() -> None:
    """Of 1,000 random cases, against every multiset of sizes: whole ten-thousandths, no decimals at all."""
    dice = random.Random(6)
    verdicts = dict.fromkeys(("ok", "borderline", "none"), 0)
    for _ in range(1000):
        most = dice.choice((1, 1, 2, 3))
        sizes = dice.sample(range(5, 40), dice.randint(1, 6))
        tolerance, doubt = dice.choice((0, 100, 300, 600)), dice.choice((0, 37, 120))
        play, t_old, low = dice.randint(0, 12000), 500 * dice.randint(5, 40), 500 * dice.randint(0, 12)
        high = low + 100 * dice.randint(2, 40)
        sign = dice.choice((-1, 1))

        def scaled(number: int) -> Decimal:
            return D(number).scaleb(-4)

        found = select(
            Gap(scaled(play), scaled(t_old), "reduces" if sign < 0 else "increases", scaled(doubt)),
            Target.of(scaled(low), scaled(high)),
            Pieces(tuple(scaled(size * 500) for size in sizes), scaled(tolerance), most),
        )
        ranked = []
        for count in range(1, most + 1):
            for stack in itertools.combinations_with_replacement([size * 500 for size in sizes], count):
                new = play + sign * (sum(stack) - t_old)
                outside = max(low - new, new - high, 0)
                guard = doubt + tolerance * count
                ranked.append((outside, not low + guard <= new <= high - guard, abs(2 * new - low - high), new, count))
        best = min(ranked)
        verdicts[found.verdict] += 1
        if best[0]:
            assert found.verdict == "none"
            assert abs(found.others[0].outside) == scaled(best[0])
            continue
        assert found.chosen is not None
        total, pieces_in = found.chosen.stack.total, found.chosen.stack.pieces
        new = scaled(play) + sign * (total - scaled(t_old))
        assert (found.verdict, len(pieces_in)) == ("borderline" if best[1] else "ok", best[4])
        assert abs(2 * new - scaled(low + high)) == scaled(best[2])
        assert found.chosen.predicted == new
        assert total == sum(pieces_in)
        for near in found.others:
            off = scaled(doubt + tolerance * len(near.stack.pieces))
            inside = scaled(low) <= near.predicted <= scaled(high)
            assert near.risky == (inside and not scaled(low) + off <= near.predicted <= scaled(high) - off)
    assert min(verdicts.values()) > 50


@settings(max_examples=50)
@given(st.data())
def test_the_predicted_play_is_the_definition(data: st.DataObject) -> None:
    """Exactly, also for thirds: what was read less, or plus, what the pieces changed."""
    number = st.decimals("0.01", "5", places=3)
    read = data.draw(st.lists(number, min_size=3, max_size=3))
    taken = take(read, Taking(spread=None), Show())
    gap = Gap(taken.mean, data.draw(number), data.draw(st.sampled_from(["reduces", "increases"])))
    low = data.draw(number)
    found = select(gap, Target.of(low, low + data.draw(number)), Pieces((data.draw(number),)))

    for offer in (*filter(None, [found.chosen]), *found.others):
        change = offer.stack.total - gap.fitted
        assert offer.predicted == (gap.play - change if gap.thicker == "reduces" else gap.play + change)
        assert gap.thickness_for(offer.predicted) - offer.stack.total == pytest.approx(0, abs=D("1e-25"))


def test_refused_readings_choose_nothing() -> None:
    """The answer says why and has no mean, window or choice."""
    taken = take([D("0.48"), D("0.62"), D("0.50"), D("0.49")], Taking(spread=D("0.04")), Show())
    answer = selective(taken, Target.of(D("0.4"), D("0.6")), Gap(taken.mean), pieces("3.2"), Asked(), D("0.01"))

    assert (answer.verdict, answer.values["mean"], answer.values["choice"]) == ("refused", None, ())


def test_a_change_against_the_teardown_is_a_suspicion() -> None:
    """0.55 before, 1.10 now: over two steps of 0.15."""
    answer = fitted("1.10", "2.60", "0.40", "0.60", SHELF, before=D("0.15"))

    assert any("was 0.15 mm before the teardown and is 1.10 mm now" in note for note in answer.notes)


def test_new_plates_that_are_thicker_are_no_suspicion() -> None:
    """2.36 before, 0.56 now, and six new discs are 6 x 0.30 thicker: as expected; of any other rest it says so."""
    notes = fitted("0.56", "2.60", "0.40", "0.60", SHELF, before=D("2.36"), renewed=D("1.80")).notes
    assert not any("before the teardown and is" in note for note in notes)

    notes = fitted("1.10", "2.60", "0.40", "0.60", SHELF, before=D("2.36"), renewed=D("1.80")).notes
    assert any("new parts in it are 1.80 mm thicker" in note and "0.56 mm was to be expected" in note for note in notes)


def test_steps_from_what_was_in_are_rounded() -> None:
    """2.303 to 2.90 in steps of 0.15: 0.597 is 4 steps, not 3 (by hand)."""
    answer = fitted("1.10", "2.303", "0.40", "0.60", SHELF)

    assert any("0.60 mm away from what was in, 4 steps" in note for note in answer.notes), answer.notes


@pytest.mark.parametrize(
    ("make", "message"),
    [
        (lambda: Pieces(()), "no sizes"),
        (lambda: pieces("2.0", "2.00"), "twice"),
        (lambda: pieces("0.0"), "more than 0"),
        (lambda: Pieces(tuple(map(D, range(1, 1000))), most=3), "on the shelf"),
        (lambda: Target.of(D("0.6"), D("0.4")), "not below"),
        (lambda: Target.of(D("0.4"), D("0.6"), D("0.7")), "outside the target"),
        (lambda: graded(D("2"), D("3"), D("0.15")), "do not reach"),
        (lambda: graded(D("2"), D("3"), D("0.0001")), "over 1000 sizes"),
        (lambda: graded(D("3"), D("2"), D("0.1")), "thinnest to thickest"),
    ],
)
def test_what_cannot_be_meant_is_told(make: Any, message: str) -> None:
    """Each with what is wrong."""
    with pytest.raises(UsageError, match=message):
        make()
