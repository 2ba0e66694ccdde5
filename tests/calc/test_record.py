"""Where a place and a job are, from their events alone."""

from __future__ import annotations

import itertools
from decimal import Decimal

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from labelkit.calc.apart import measure_now, still_readable
from labelkit.calc.grades import lying_words
from labelkit.calc.needs import roll_up
from labelkit.calc.openpoints import (
    asked_of,
    not_empty,
    open_points,
    place_points,
    readings_wanted,
    unanswered,
)
from labelkit.calc.placerecord import STAGES
from labelkit.calc.pulling import Finding
from labelkit.calc.record import record_of
from labelkit.calc.shortage import shortage
from labelkit.calc.usedup import some_stay
from labelkit.sheets.placewords import stage_words, waits_words
from tests.walk import Walk


def reducer() -> Walk:
    return Walk("planetary-reducer", {"breather": "std"})


def stage(walk: Walk, part: str) -> str:
    return walk.record.at(walk.place(part)).stage


def test_a_part_goes_from_stage_to_stage_and_starts_again_when_it_comes_out() -> None:
    """In the unit, out, counted, washed, inspected, in, verified; out again for a second time."""
    walk = reducer()
    seen = [stage(walk, "brake-hub")]
    for kind, fields in (
        ("removed", {}),
        ("count_found", {"count": 1}),
        ("washed", {}),
        ("inspected", {"verdict": "reuse"}),
        ("installed", {}),
        ("verified", {}),
        ("removed", {"count": 1}),
    ):
        walk.do(kind, "brake-hub", **fields)
        seen.append(stage(walk, "brake-hub"))

    assert ["in_unit", "removed", "binned", "washed", "inspected", "installed", "verified", "binned"] == seen


def test_what_was_left_in_is_done_with_everything_inside_it() -> None:
    """A sub-assembly that was not opened keeps its parts; one of them that came out all the same is out."""
    walk = reducer()
    walk.do("removed", "carrier-1", count=1)
    walk.do("left_closed", "carrier-1")
    walk.do("left_in", "output-housing")

    assert ["binned", "left_in", "left_in"] == [stage(walk, name) for name in ("carrier-1", "planet-1-27", "upper-cup")]
    walk.do("removed", "upper-cup", count=1)
    assert "binned" == stage(walk, "upper-cup")
    assert walk.record.is_done(walk.place("planet-1-27"))


def test_a_bin_of_several_is_in_when_the_last_piece_is() -> None:
    """One race of two is not the races."""
    walk = reducer()
    walk.do("removed", "thrust-race", count=2)
    walk.do("installed", "thrust-race", pieces=1)

    place = walk.record.at(walk.place("thrust-race"))
    assert ("binned", 1) == (place.stage, place.placed)
    walk.do("verified", "thrust-race")
    assert "binned" == stage(walk, "thrust-race"), "what is not in cannot be verified"
    walk.do("installed", "thrust-race", pieces=1, new=True)
    place = walk.record.at(walk.place("thrust-race"))
    assert ("installed", 2, 1) == (place.stage, place.placed, place.new)


def test_a_correction_takes_an_event_back_and_stays_visible() -> None:
    """The record has both; the state has neither the mistake nor the correction."""
    walk = reducer()
    walk.do("removed", "brake-hub", count=1)
    wrong = walk.do("installed", "brake-hub")
    walk.do("correction", "brake-hub", of=wrong.number, why="wrong bin", who="Ben")

    record = walk.record
    assert "binned" == stage(walk, "brake-hub")
    assert {2: "Ben"} == {number: event.who for number, event in record.corrected.items()}
    assert 3 == len(record.events)
    assert [1, 3] == [event.number for event in record.standing]


def test_a_hold_stands_until_it_is_released_by_its_number() -> None:
    """Of two holds on one part each is released alone; a hold on the job is not one on a part."""
    walk = reducer()
    one, two = walk.do("hold", "brake-hub", why="a"), walk.do("hold", "brake-hub", why="b")
    whole = walk.do("hold", why="owner")
    walk.do("released", "brake-hub", of=one.number, why="looked at")

    assert (two,) == walk.record.at(walk.place("brake-hub")).holds
    assert (whole,) == walk.record.holds
    walk.do("released", of=whole.number, why="may go on")
    assert () == walk.record.holds


def test_readings_before_and_after_are_kept_apart() -> None:
    """A reading after the assembly does not count any more once a part of the fit came out again."""
    walk = reducer()
    assert ("carrier-end-play", "output-preload") == tuple(still_readable(walk.record))
    before = walk.do("reading", fit="carrier-end-play", at="before", values=["1.10"], unit="mm", fitted=["2.30"])
    walk.take_apart()
    after = walk.do("reading", fit="carrier-end-play", at="assembled", values=["0.45"], unit="mm")

    fit = walk.record.fits["carrier-end-play"]
    assert (before, after) == (fit.before, fit.after)
    walk.do("removed", "thrust-race", count=2)
    fit = walk.record.fits["carrier-end-play"]
    assert (before, None) == (fit.before, fit.after)


def test_a_cover_that_is_opened_ends_the_play_under_it_and_its_screws_do_not() -> None:
    """What was measured under a cover stands as long as the cover does. Common practice, no source."""
    walk = Walk("marine-gear")
    walk.do("reading", fit="ahead-end-play", at="assembled", values=["0.07"], unit="mm")
    walk.do("reading", fit="clutch-clearance-ahead", at="assembled", values=["2.0"], unit="mm")
    counts = {}
    for part in ("aft-cover-screws", "aft-cover", "ahead-assy"):
        walk.do("removed", part)
        counts[part] = [name for name, fit in walk.record.fits.items() if fit.after]

    both = ["ahead-end-play", "clutch-clearance-ahead"]
    assert {"aft-cover-screws": both, "aft-cover": both[1:], "ahead-assy": both[1:]} == counts


def test_what_is_measured_only_now_is_asked_for_at_that_part() -> None:
    """Points of the removal and of what comes apart once; a point is done when as many values as it wants are there."""
    walk = reducer()
    place = walk.place("end-play-washer")

    (number, check) = measure_now(walk.record, place)[0]
    assert "thickness at 3 places" == check.measure
    walk.do("reading", "end-play-washer", check=number, at="apart", values=["2.30", "2.31"], unit="mm")
    assert 1 == len(measure_now(walk.record, place))
    walk.do("reading", "end-play-washer", check=number, at="apart", values=["2.30"], unit="mm")
    assert () == measure_now(walk.record, place)


def test_a_value_outside_its_limit_is_open_until_somebody_decides() -> None:
    """0.30 is allowed and 0.301 is not (the profile's limit); a repair, a deviation or a condemnation settles it."""
    walk = reducer()
    walk.do("removed", "input-cover", count=1)
    walk.do("reading", "input-cover", check=0, at="clean", values=["0.30"], unit="mm")

    def limits() -> list[str]:
        return [point.text for point in open_points(walk.record) if point.kind == "limit"]

    assert [] == limits()
    walk.do("reading", "input-cover", check=0, at="clean", values=["0.301"], unit="mm")
    assert 1 == len(limits())
    assert "read 0.301 mm, allowed at most 0.30 mm" in limits()[0]
    walk.do("deviation", "input-cover", what="pocket wear 0.301", reason="runs once", agreed="Owner")
    assert [] == limits()
    assert "deviation" == walk.record.deviations[0].act.kind


def test_a_new_part_that_measures_otherwise_is_a_deviation_as_long_as_it_is_there() -> None:
    """Taken all the same, in, and out again; no more when it goes back, and none that measures as the profile says."""
    walk = reducer()
    seal, unlike = "output-seal-flange", "outside diameter 141 mm, the profile has 140 mm: 1 mm larger"
    came = walk.do("received", seal, pieces=1, measured="od 141 mm; id 110 mm", note=f"{unlike}; from the shelf")
    walk.do("staged", seal, pieces=1)
    assert (came,) == walk.record.deviations
    walk.do("removed", seal, count=1)
    walk.do("installed", seal, new=True)
    assert (came,) == walk.record.deviations

    walk = reducer()
    walk.do("received", seal, pieces=1, measured="od 141 mm", note=unlike)
    walk.do("returned", seal, pieces=1, counted=1, why=unlike)
    assert () == walk.record.deviations
    walk.do("received", seal, pieces=1, measured="od 140 mm", note="the other one was 141 mm, the profile has 140 mm")
    assert () == walk.record.deviations, "a remark is none"
    laid = walk.do("staged", seal, measured="od 141 mm", note=unlike)
    assert (laid,) == walk.record.deviations, "measured as it was laid ready, by nobody counted"


def test_what_stays_old_of_a_place_is_measured_though_some_of_it_is_new() -> None:
    """One of five discs is lost: the cone of the other four stays open when all five are in, until four are read."""
    walk = Walk("planetary-reducer", {"breather": "std"})
    walk.take_apart()
    walk.do("condemned", "steel-disc", why="lost", pieces=1, lost=True)
    walk.do("installed", "steel-disc", pieces=1, new=True)

    def cone() -> list[str]:
        return [
            each.text
            for each in place_points(walk.record, walk.record.at(walk.place("steel-disc")))
            if "cone height" in each.text
        ]

    walk.do("installed", "steel-disc", pieces=4)
    assert 1 == len(cone())
    walk.do("reading", "steel-disc", check=1, at="clean", values=["0.05"] * 4, unit="mm")
    assert [] == cone()


@pytest.mark.parametrize(
    ("counted", "condemned", "wanted"), [(5, None, 5), (5, 1, 5), (6, 1, 5), (6, None, 6), (7, None, 6)]
)
def test_a_point_wants_a_reading_of_each_piece_that_is_there(counted: int, condemned: int | None, wanted: int) -> None:
    """Of six washers: nobody measures one that did not come out, or is condemned; what is lost counts once."""
    walk = reducer()
    walk.take_apart(but=("planet-1-washer",))
    walk.do("removed", "planet-1-washer", count=counted)
    if condemned:
        walk.do("condemned", "planet-1-washer", why="gone", pieces=condemned, lost=counted < 6)
    washer = walk.record.at(walk.place("planet-1-washer"))

    assert wanted == readings_wanted(washer, washer.item.part.check[0])


def test_what_stays_old_of_a_place_goes_its_own_way_though_a_new_piece_lies_ready() -> None:
    """One of five discs is lost and its new one laid ready: the other four are still to be cleaned and looked at."""
    walk = Walk("planetary-reducer", {"breather": "std"})
    walk.take_apart()
    walk.do("condemned", "steel-disc", why="lost", pieces=1, lost=True)
    walk.do("staged", "steel-disc", pieces=1)
    place = walk.record.at(walk.place("steel-disc"))
    assert ("binned", 1, "out, 4 of 5 counted: LOST 1") == (place.stage, place.staged, stage_words(walk.record, place))


def test_what_is_always_renewed_has_no_old_piece_that_stays() -> None:
    """Of three sealing rings one is condemned, and all are always new: the three that came take the place of all."""
    walk = Walk("marine-gear")
    walk.take_apart()
    walk.do("condemned", "rings-astern", why="broken", pieces=1)
    walk.do("staged", "rings-astern", pieces=3)
    place = walk.record.at(walk.place("rings-astern"))
    assert "new part lies ready, 3 of 3: old part CONDEMNED 1" == stage_words(walk.record, place)
    assert not some_stay(walk.record, place)


def test_new_pieces_for_every_place_leave_no_old_one_whatever_renews_them() -> None:
    """Of two races one is condemned, and both are renewed with what runs on them."""
    walk = Walk("marine-gear")
    walk.take_apart()
    walk.do("condemned", "race-ahead", why="blue", pieces=1)
    walk.do("condemned", "thrust-ahead", why="pitted")
    told = []
    for _turn in range(2):
        walk.do("staged", "race-ahead", pieces=1)
        told.append(stage_words(walk.record, walk.record.at(walk.place("race-ahead"))))
    assert ["out, 2 of 2 counted: CONDEMNED 1", "new part lies ready, 2 of 2: old part CONDEMNED 1"] == told


def test_what_nobody_counted_says_that_its_new_part_lies_ready() -> None:
    """Taken out by a tap without a count, as most new-only parts are, and the new one received."""
    walk = Walk("planetary-reducer")
    walk.do("removed", "through-bolts")
    walk.do("received", "through-bolts", pieces=walk.bin("through-bolts").part.qty)
    walk.do("staged", "through-bolts", pieces=walk.bin("through-bolts").part.qty)
    assert "out, not counted, new part lies ready" in stage_words(
        walk.record, walk.record.at(walk.place("through-bolts"))
    )


def test_what_lies_ready_is_counted_of_what_goes_in_and_not_of_what_came_out() -> None:
    """Two old races were counted, and one of two new ones lies ready: the card must not say that all is there."""
    walk = Walk("marine-gear")
    walk.take_apart()
    walk.do("condemned", "thrust-ahead", why="pitted")
    walk.do("received", "race-ahead", pieces=1)
    walk.do("staged", "race-ahead", pieces=1)
    place = walk.record.at(walk.place("race-ahead"))
    assert "new part lies ready, 1 of 2" == stage_words(walk.record, place)
    assert "It waits for its new parts: 1 of 2 here" == waits_words(walk.record, place)


@pytest.mark.parametrize("part", ["dipstick", "ahead-shims"])
def test_what_is_lost_does_not_lie_there(part: str) -> None:
    """Its bin is empty, and it is missing until a new one lies ready: then the bin is not empty any more."""
    walk = Walk("marine-gear")
    walk.take_apart()
    walk.do("condemned", part, why="nowhere", lost=True)

    def kinds() -> list[str]:
        of_it = (each.kind for each in place_points(walk.record, walk.record.at(walk.place(part))))
        return [kind for kind in of_it if kind in ("missing", "not_empty")]

    assert ["missing"] == kinds()
    assert part not in {place.item.part.id for place in not_empty(walk.record)}
    walk.do("staged", part, pieces=1)
    assert ["not_empty"] == kinds()
    assert part in {place.item.part.id for place in not_empty(walk.record)}


def test_a_new_piece_that_is_rejected_comes_off_the_group_it_was_built_into() -> None:
    """It is apart again, as it was before; an old part that was built in stays there, whatever is said of a new one."""
    walk = reducer()
    walk.take_apart()
    walk.do("staged", "hub-circlip", pieces=1)
    walk.do("joined", "hub-circlip", new=True)
    walk.do("joined", "brake-hub")
    walk.do("staged", "brake-hub", pieces=1)
    for part in ("hub-circlip", "brake-hub"):
        walk.do("condemned", part, why="nicked", new=True)
    assert ("binned", "joined") == (stage(walk, "hub-circlip"), stage(walk, "brake-hub"))


def test_what_was_read_of_a_rejected_new_piece_is_asked_of_the_next_one() -> None:
    """A new washer measures too thin: that is open, though the old one is condemned, until somebody rejects it."""
    walk = reducer()
    walk.take_apart()
    walk.do("condemned", "planet-1-washer", why="worn")
    walk.do("staged", "planet-1-washer", pieces=6)
    point = {"check": 0, "at": "clean", "unit": "mm"}
    walk.do("reading", "planet-1-washer", values=["0.60"], new=True, **point)

    def open_kinds() -> list[str]:
        return [each.kind for each in place_points(walk.record, walk.record.at(walk.place("planet-1-washer")))]

    assert "limit" in open_kinds()
    assert "is not good: thickness" in walk.refused("installed", "planet-1-washer", new=True)
    assert "is not good" not in walk.refused("installed", "planet-1-washer")
    walk.do("inspected", "planet-1-washer", check=0, verdict="replace", new=True)
    assert "limit" not in open_kinds()


def test_the_next_new_piece_is_looked_at_again() -> None:
    """A point that was good on a new part which was rejected then is open once more; one of the old part stays done."""
    walk = reducer()
    walk.take_apart()
    for part, new in (("thrust-button", True), ("thrust-needles", False)):
        walk.do("staged", part, pieces=1)
        walk.do("inspected", part, check=0, verdict="reuse", new=new)
        assert () == unanswered(walk.record.at(walk.place(part)))
        walk.do("condemned", part, why="fell down", new=True)
    asked = {part: bool(unanswered(walk.record.at(walk.place(part)))) for part in ("thrust-button", "thrust-needles")}
    assert {"thrust-button": True, "thrust-needles": False} == asked


@pytest.mark.parametrize(("asked", "condemned"), [(False, True), (True, False), (True, True)])
def test_what_was_asked_of_the_old_part_is_not_answered_by_the_end_of_a_new_one(asked: bool, condemned: bool) -> None:
    """That the new one is condemned answers what was asked of the new one; that the old one is, answers all."""
    walk = reducer()
    walk.take_apart()
    walk.do("staged", "thrust-button", pieces=1)
    walk.do("inspected", "thrust-button", verdict="ask", new=asked)
    assert ("wants somebody to be asked" in walk.refused("installed", "thrust-button", new=True)) == asked
    walk.do("condemned", "thrust-button", why="cracked", new=condemned)
    assert bool(asked_of(walk.record.at(walk.place("thrust-button")))) == (condemned and not asked)


def test_new_pieces_that_come_out_again_are_not_called_by_what_the_old_ones_were() -> None:
    """The old discs were condemned, the new ones are good; one of them that is condemned, too, is not. By hand."""
    walk = Walk("planetary-reducer", {"breather": "std"})
    walk.take_apart()

    def words(part: str) -> str:
        return stage_words(walk.record, walk.record.at(walk.place(part)))

    for part, pieces in (("friction-disc", None), ("steel-disc", 1)):
        walk.do("condemned", part, why="worn", pieces=pieces, lost=part == "steel-disc")
        walk.do("installed", part, new=True, pieces=pieces)
        if pieces:
            walk.do("installed", part, pieces=4)
        walk.do("removed", part, count=5)

    assert "out, 5 of 5 counted: 5 new, old part CONDEMNED" == words("friction-disc")
    assert "out, 5 of 5 counted: 1 new, old part LOST 1" == words("steel-disc"), "all that came out are there"
    walk.do("condemned", "friction-disc", why="burnt", pieces=2)
    assert "inspected, 5 of 5 counted: 3 new, old part CONDEMNED" == words("friction-disc")
    walk.do("condemned", "friction-disc", why="burnt")
    assert "inspected, 5 of 5 counted: CONDEMNED" == words("friction-disc")


def test_findings_sizes_and_supplies_make_the_order() -> None:
    """What the record says of condemned parts, chosen sizes and what came is what the order counts with."""
    walk = reducer()
    walk.take_apart()
    walk.do("condemned", "thrust-needles", why="blue")
    walk.do("condemned", "planet-1-27", why="pitted", pieces=1)
    walk.do("condemned", "planet-1-27", why="pitted too", pieces=1)
    walk.do("inspected", "brake-hub", verdict="reuse")
    walk.do("fit_chosen", fit="carrier-end-play", sizes=["2.45"], predicted="0.45")
    walk.do("ordered", number="G2B-1301", pieces=1)
    walk.do("received", number="G2B-1107", pieces=2)
    walk.do("received", "thrust-race", pieces=2)

    record = walk.record
    found = record.found
    assert Finding("condemned", 2) == found[walk.place("planet-1-27")]
    assert Finding("ok") == found[walk.place("brake-hub")]
    assert {walk.place("end-play-washer"): (Decimal("2.45"),)} == record.sizes
    loose = {number: each.loose for number, each in record.arrivals.items()}
    assert (1, 2) == (record.arrivals["G2B-1301"].ordered, loose["G2B-1107"])
    needs = roll_up(record.profile, record.teardown, record.order, found=found, sizes=record.sizes)
    lines = {line.number: line for line in needs.lines}
    assert [2] == [way.need for way in lines["G2B-1307"].ways]
    assert "G2B-1334" in lines, "the number of the washer of 2.45"
    waiting = {each.use.number: each.pieces for each in shortage(needs, record.order, loose, record.new_at).missing}
    assert 1 == waiting["G2B-1107"]
    assert "G2B-1302" not in waiting


def test_who_looks_for_what_lies_about_finds_all_of_it() -> None:
    """The bins that are not empty are those of which something is out."""
    walk = reducer()
    walk.do("removed", "brake-hub", count=1)
    walk.do("removed", "input-cover", count=1)
    walk.do("installed", "input-cover")

    assert ["brake-hub"] == [place.item.part.id for place in not_empty(walk.record)]


KINDS = st.sampled_from(
    [
        "removed",
        "left_in",
        "count_found",
        "washed",
        "inspected",
        "condemned",
        "staged",
        "joined",
        "installed",
        "verified",
    ]
)
FIELDS = {
    "count_found": {"count": 2},
    "inspected": {"verdict": "reuse"},
    "condemned": {"why": "cracked", "pieces": 1},
    "installed": {"pieces": 1},
}


@settings(max_examples=30, deadline=None)
@given(kinds=st.lists(KINDS, max_size=12), back=st.lists(st.integers(1, 12), max_size=3))
def test_any_events_in_any_order_give_one_state(kinds: list[str], back: list[int]) -> None:
    """Whatever people record, the state is defined, and the same read at once or event by event; what was taken back
    leaves the state of a record that never had it."""
    walk = reducer()
    for kind in kinds:
        walk.do(kind, "thrust-race", **FIELDS.get(kind, {}))
    gone = [number for number in dict.fromkeys(back) if number <= len(kinds)]
    for number in gone:
        walk.do("correction", of=number, why="mistake")
    record, place = walk.record, walk.place("thrust-race")

    bare = reducer()
    for number, kind in enumerate(kinds, 1):
        if number not in gone:
            bare.do(kind, "thrust-race", **FIELDS.get(kind, {}))
    mine, its = record.at(place), bare.record.at(bare.place("thrust-race"))
    assert mine.stage in STAGES
    assert 0 <= (mine.placed or 0) <= 2
    assert (mine.stage, mine.count, mine.placed, mine.finding) == (its.stage, its.count, its.placed, its.finding)
    for length in range(0, len(walk.events), 5):
        part = record_of(record.profile, record.teardown, record.order, walk.events[:length])
        assert part.at(place).stage in STAGES


def test_a_correction_of_nothing_and_of_a_correction_changes_nothing() -> None:
    """Numbers that come later, or name a correction, are no targets."""
    walk = reducer()
    walk.do("correction", of=2, why="too early")
    walk.do("removed", "brake-hub", count=1)
    walk.do("correction", of=1, why="of a correction")

    assert "binned" == stage(walk, "brake-hub")
    assert {} == walk.record.corrected


def test_an_open_point_of_a_captured_part_says_where_it_is_and_that_nobody_looked() -> None:
    """It has no step of its own; and what is looked for, smooth, is no result."""
    walk = reducer()
    housing = walk.bin("brake-housing").step

    (told,) = [point.text for point in open_points(walk.record) if point.kind == "check"]
    assert f"16 (inside step {housing}): not inspected yet: roughness, turned by hand" in told


@pytest.mark.parametrize(("count", "words"), [(11, "look where the others are"), (13, "look where the others belong")])
def test_a_wrong_count_without_another_version_asks_where_the_rest_is(count: int, words: str) -> None:
    """Twelve through bolts in every version."""
    walk = reducer()
    walk.do("removed", "through-bolts", count=count)

    asked = [point.text for point in open_points(walk.record) if point.kind == "count"]
    assert words in asked[0]
    walk.do("deviation", "through-bolts", what="one short", reason="was never there", agreed="Owner")
    assert [] == [point for point in open_points(walk.record) if point.kind == "count"]


def test_what_nobody_counted_is_asked_about_until_somebody_does() -> None:
    """Clean, in and verified it is still not known how many of the 8 came out; one piece needs no count."""
    walk = reducer()
    walk.do("removed", "brake-hub")
    walk.do("removed", "cover-screws")

    def asked(part: str = "cover-screws") -> list[str]:
        points = place_points(walk.record, walk.record.at(walk.place(part)))
        return [point.text for point in points if point.kind == "count"]

    name, words = walk.bin("cover-screws").full_name, []
    told = f"{name}: nobody has counted what came out, the profile has 8: count it, or note a deviation"
    for kind in ("washed", "inspected", "installed", "verified"):
        walk.do(kind, "cover-screws", **({"verdict": "reuse"} if kind == "inspected" else {}))
        words.append(stage_words(walk.record, walk.record.at(walk.place("cover-screws"))))
        assert [told] == asked()
    assert ["clean, not counted", "inspected, not counted: good", "in, not verified", "in and verified"] == words
    assert [] == asked("brake-hub")
    walk.do("count_found", "cover-screws", count=8)
    assert [] == asked()
    walk.do("removed", "cover-screws")
    assert [told] == asked(), "it came out again"
    walk.do("deviation", "cover-screws", what="not counted", reason="all are in", agreed="Olga")
    assert [] == asked()


def test_numbers_of_events_are_in_order_in_every_record() -> None:
    """The walk of these tests numbers as the store does."""
    walk = reducer()
    walk.take_apart()

    assert all(two.number == one.number + 1 for one, two in itertools.pairwise(walk.record.events))


@pytest.mark.parametrize(
    ("readings", "chosen", "new"),
    [
        ([("fit", "before", "2.30")], "2.30", False),
        ([("fit", "apart", "2.30")], "2.30", False),
        ([("fit", "apart", "2.30")], "2.45", True),
        ([("part", "apart", "2.30")], "2.30", False),
        ([("part", "apart", "2.24")], "2.30", True),  # worn: no piece of 2.30 any more
        ([("part", "apart", "2.30"), ("fit", "apart", "2.45")], "2.45", True),  # a borrowed piece in the dry fit
        ([], "2.30", True),
    ],
)
def test_the_old_graded_part_stays_when_its_own_size_is_chosen(
    readings: list[tuple[str, str, str]], chosen: str, new: bool
) -> None:
    """Its size is what was measured on it, or was in when the fit was read, before the teardown or in a dry fit."""
    walk = reducer()
    walk.take_apart()
    for of, at, size in readings:
        if of == "fit":
            walk.do("reading", fit="carrier-end-play", at=at, values=["0.45"], unit="mm", fitted=[size])
        else:
            walk.do("reading", "end-play-washer", check=0, at=at, values=[size, size, size], unit="mm")
    walk.do("fit_chosen", fit="carrier-end-play", sizes=[chosen], predicted="0.45")
    walk.do("reading", fit="carrier-end-play", at="assembled", values=["0.45"], unit="mm", fitted=["2.30"])

    place = walk.place("end-play-washer")
    assert (
        new
        == (place in walk.record.sizes)
        == ("another size was chosen" in walk.ask("installed", "end-play-washer", sizes=[chosen]).refusal)
    )
    walk.do("condemned", "end-play-washer", why="scored")
    assert (Decimal(chosen),) == walk.record.sizes[place], "a new one of that size"


def test_shims_that_lie_there_are_not_ordered() -> None:
    """Of each stack what was measured and fits stays; what one has left over serves the other; the sum is no shim."""
    walk = Walk("marine-gear")
    walk.take_apart()
    ahead, astern = walk.place("ahead-shims"), walk.place("astern-shims")
    walk.do("reading", "ahead-shims", check=0, at="apart", values=["0.30", "0.502", "0.802"], unit="mm")
    walk.do("reading", "astern-shims", check=0, at="apart", values=["0.15", "0.51"], unit="mm")
    walk.do("fit_chosen", fit="ahead-end-play", sizes=["0.50", "0.15", "0.10"], unit="mm")
    assert {ahead: (Decimal("0.15"), Decimal("0.10"))} == walk.record.sizes, "the other stack is not free"

    walk.do("fit_chosen", fit="astern-end-play", sizes=["0.50", "0.30"], unit="mm")

    found = walk.record
    assert {ahead: (Decimal("0.10"),), astern: (Decimal("0.50"),)} == found.sizes, "0.51 is a worn 0.50, or none"
    assert "MR3-2301" == found.uses[ahead][0].number
    lies = f"0.50 mm lies at {found.at(ahead).name}", f"0.15 mm lies at {found.at(astern).name}"
    assert lies == lying_words(found, ahead)
    walk.do("condemned", "ahead-shims", why="creased")
    assert (Decimal("0.50"), Decimal("0.15"), Decimal("0.10")) == walk.record.sizes[ahead], "all of them new"
    assert (Decimal("0.50"), Decimal("0.30")) == walk.record.sizes[astern]
