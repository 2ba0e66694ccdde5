"""Where the new parts of a job are: to be ordered, on their way, here, ready, in."""

from __future__ import annotations

import pytest

from labelkit.calc.allowed import Assembly
from labelkit.calc.oldandnew import has_some_new
from labelkit.calc.supply import DONE, Progress, Supply, supply
from labelkit.model.catalogue import NO_CATALOGUE, Catalogue, CatalogueEntry
from labelkit.sheets.picklist import build_words, waited_words
from tests.shop import profile_of
from tests.walk import Walk

SHELF = Catalogue({"G2B-1107": CatalogueEntry("G2B-1107", pack=5, shelf=1)})
NUMBERLESS = """\
format: 1
unit: {mark: S1, name: Shaft, revision: "1", up: top}
series: {shims: {sizes: ["0.20", "0.30", "0.50"], pieces: 2}}
parts:
  - {id: shims, name: Shim, qty: 2, series: shims}
  - {id: spring, name: Spring, qty: 2, renew: if_worn}
fits: {play: {kind: end_play, target: ["0.40", "0.60"], set_by: shims, thicker: reduces}}
"""
TWO_SPRINGS = """\
format: 1
unit: {mark: S1, name: Shaft, revision: "1", up: top}
parts:
  - {id: spring, name: Spring, qty: 2, number: S-1}
  - {id: other-spring, name: Other spring, number: S-1}
"""
BUILT = """\
format: 1
unit: {mark: S1, name: Shaft, revision: "1", up: top}
assembly: [{join: [hub, stage], as: Core}]
parts:
  - {id: hub, name: Hub}
  - {id: stage, name: Stage, parts: [{id: clip, name: Clip}, {id: pin, name: Pin}]}
"""
ACTS: dict[str, dict[str, object]] = {
    "received": {"pieces": 1},
    "installed": {"new": True},
    "removed": {"count": 1},
    "condemned": {"why": "worn"},
}


def reducer(breather: str | None = "std") -> Walk:
    walk = Walk("planetary-reducer", {"breather": breather} if breather else {})
    walk.take_apart()
    return walk


def standing(found: Supply, number: str) -> Progress:
    return next(each for each in found.progress if each.line.number == number)


def states(found: Supply, part: str) -> list[str]:
    return [found.state(use) for use in found.needs.uses if use.part.id == part]


def test_a_shared_number_is_one_line_from_order_to_tray() -> None:
    """Moment 19: 1 + 2 needed, 1 on the shelf, so one pack of 5; then ordered, received, staged, in."""
    walk = reducer()
    ring = standing(supply(walk.record, SHELF), "G2B-1107")
    assert (3, 1, 5, 0) == (ring.need, ring.line.shelf, ring.buy, ring.coming)
    assert ["short"] == states(supply(walk.record, SHELF), "ring-oring"), "the one on the shelf is not enough"

    walk.do("ordered", number="G2B-1107", pieces=5)
    ring = standing(supply(walk.record, SHELF), "G2B-1107")
    assert (0, 5, ()) == (ring.buy, ring.coming, ring.to_order)
    walk.do("received", number="G2B-1107", pieces=5)
    ring = standing(supply(walk.record, SHELF), "G2B-1107")
    assert (5, 0, 0) == (ring.came, ring.coming, ring.buy)
    assert ["here"] == states(supply(walk.record, SHELF), "cover-oring")
    walk.do("staged", "cover-oring", pieces=1)
    walk.do("staged", "ring-oring", pieces=1)
    found = supply(walk.record, SHELF)
    assert (["ready"], ["here"]) == (states(found, "cover-oring"), states(found, "ring-oring")), "one of two is missing"
    walk.do("staged", "ring-oring", pieces=1)
    assert 3 == standing(supply(walk.record, SHELF), "G2B-1107").ready
    walk.do("installed", "cover-oring", new=True)
    assert ["in"] == states(supply(walk.record, SHELF), "cover-oring")


def test_a_piece_from_the_shelf_is_not_counted_twice() -> None:
    """One ring is taken from the shelf to its place: two are short; a pack is ordered, and all of it is coming."""
    walk = reducer()
    walk.do("received", "cover-oring", pieces=1)

    def rings() -> tuple[int, int, int, int, list[tuple[str, int]]]:
        found = supply(walk.record, SHELF)
        missing = [(each.use.part.id, each.pieces) for each in found.now.missing if each.use.number == "G2B-1107"]
        ring = standing(found, "G2B-1107")
        return ring.buy, ring.shelf, ring.coming, ring.came, missing

    assert (5, 0, 0, 0, [("ring-oring", 2)]) == rings()
    walk.do("ordered", number="G2B-1107", pieces=5)
    assert (0, 0, 5, 0, [("ring-oring", 2)]) == rings()
    assert ["coming"] == states(supply(walk.record, SHELF), "ring-oring")
    walk.do("received", number="G2B-1107", pieces=5)
    assert (0, 0, 0, 5, []) == rings()


def test_pieces_that_come_by_sticker_and_in_a_bag_are_all_counted() -> None:
    """Twelve bolts, four on the shelf and eight ordered: five at the sticker, then two in a bag, the bag to its place,
    four more at the sticker: one is still on its way. By hand."""
    walk = reducer()
    shelf = Catalogue({"G2B-1207": CatalogueEntry("G2B-1207", shelf=4)})
    walk.do("ordered", number="G2B-1207", pieces=8)

    def bolts() -> tuple[int, int, int, int]:
        at = standing(supply(walk.record, shelf), "G2B-1207")
        return at.shelf, at.came, at.coming, at.arrivals.loose

    assert (4, 0, 8, 0) == bolts()
    walk.do("received", "through-bolts", pieces=5)
    assert (0, 1, 7, 0) == bolts(), "the shelf's first"
    walk.do("received", number="G2B-1207", pieces=2)
    assert (0, 3, 5, 2) == bolts()
    walk.do("received", "through-bolts", pieces=2)
    walk.do("staged", "through-bolts", pieces=7)
    assert (0, 3, 5, 0) == bolts(), "the bag went to its place"
    walk.do("received", "through-bolts", pieces=4)
    assert (0, 7, 1, 0) == bolts()


def test_a_parcel_at_the_sticker_leaves_a_full_shelf_full() -> None:
    """Twelve bolts on the shelf, twelve ordered: five of the parcel, two of the shelf, said so. By hand."""
    walk = reducer()
    shelf = Catalogue({"G2B-1207": CatalogueEntry("G2B-1207", shelf=12)})
    walk.do("ordered", number="G2B-1207", pieces=12)

    walk.do("received", "through-bolts", pieces=5, source="order")
    walk.do("staged", "through-bolts", pieces=7, source="shelf")

    at = standing(supply(walk.record, shelf), "G2B-1207")
    assert (10, 5, 7, 2) == (at.shelf, at.came, at.coming, at.taken)
    bare = standing(supply(walk.record), "G2B-1207")
    assert (0, 5, 7, 2) == (bare.shelf, bare.came, bare.coming, bare.taken), "what was said counts without a catalogue"
    assert 0 == bare.buy, "seven here, seven coming"


def test_what_is_ordered_is_on_its_way_and_still_stops_its_step() -> None:
    """It is not short any more, and its step waits until it comes."""
    walk = reducer()
    walk.do("ordered", number="G2B-1207", pieces=12)

    found = supply(walk.record)

    assert ["coming"] == states(found, "through-bolts")
    assert "through-bolts" in {each.use.part.id for each in found.now.missing}
    assert "through-bolts" not in {each.use.part.id for each in found.later.missing}


def test_a_condemned_captured_part_stops_its_groups_only() -> None:
    """Moment 20: a rejected input bearing pulls circlip and guide ring; the brake core waits, the others go on."""
    walk = reducer()
    walk.do("condemned", "input-bearing", why="rough")
    for use in supply(walk.record).needs.uses:
        if use.part.id not in ("input-bearing", "input-bearing-circlip", "oil-guide-ring"):
            walk.do("staged", use.part.id, pieces=use.pieces)

    found = supply(walk.record)

    assert {"input-bearing", "input-bearing-circlip", "oil-guide-ring"} == {e.use.part.id for e in found.now.missing}
    waiting = {group.name for group in found.now.groups if group.missing}
    assert {"Brake core", "Brake housing"} == waiting
    assert {"First stage", "Output housing"} <= {group.name for group in found.now.groups} - waiting
    for part in ("input-bearing", "input-bearing-circlip", "oil-guide-ring"):
        walk.do("staged", part)
    found = supply(walk.record)
    assert {found.state(use) for use in found.needs.uses} <= set(DONE)


def test_what_is_joined_or_has_all_its_parts_in_is_built() -> None:
    """A sub-assembly once its last part is in it, a joined group once its last member is joined; neither before."""
    walk = Walk(profile_of(BUILT))
    walk.take_apart()

    def built() -> set[str]:
        return {group.name for group in supply(walk.record).now.groups if group.built}

    walk.do("installed", "pin")
    walk.do("joined", "hub")
    assert set() == built()
    walk.do("installed", "clip")
    assert {"Stage"} == built()
    walk.do("joined", "stage")
    assert {"Stage", "Core"} == built()
    walk.do("condemned", "clip", why="bent")
    assert set() == built(), "what must be new in it is not here"


def test_a_group_that_lacks_a_piece_nobody_orders_cannot_be_built() -> None:
    """Five of six washers came out: the carrier is no more to be built than all its washers may go in.

    As many as were condemned are ordered; the missing one is not among them.
    """
    name = "First-stage carrier assembly"
    walk = reducer()
    washers = walk.bin("planet-1-washer")

    def carrier() -> tuple[bool, list[str], bool]:
        group = next(each for each in supply(walk.record).now.groups if each.name == name)
        refused = "where is the rest from?" in walk.refused("installed", "planet-1-washer")
        return group.can_be_built, [each.step for each in group.incomplete], refused

    assert (True, [], False) == carrier()
    walk.do("count_found", "planet-1-washer", count=5)
    assert (False, [washers.step], True) == carrier()
    told = build_words(next(each for each in supply(walk.record).now.groups if each.name == name))
    assert f"pieces are not there: {washers.full_name}" == told
    bent = walk.do("condemned", "planet-1-washer", why="bent", pieces=1)
    walk.do("received", "planet-1-washer", pieces=1)
    assert (False, [washers.step], True) == carrier()
    walk.do("correction", "planet-1-washer", of=bent.number, why="straight")
    assert (True, [], False) == carrier(), "the new one takes its place"
    walk.do("condemned", "planet-1-washer", why="all")
    assert [] == carrier()[1], "all of them are new"


def test_a_sub_assembly_is_not_built_while_what_is_to_be_new_is_still_the_old_one() -> None:
    """The new parts behind a ring that was left in have come: built it is when ring and all are in; as left, it was."""
    walk = reducer()
    walk.take_apart(but=("oil-guide-ring",))
    walk.do("left_in", "oil-guide-ring")

    def is_built() -> bool:
        return next(group.built for group in supply(walk.record).now.groups if group.name == "Brake housing")

    assert is_built()
    walk.do("condemned", "input-bearing", why="rough")
    inner = ("input-bearing", "input-bearing-circlip", "oil-guide-ring")
    for part in inner:
        walk.do("staged", part)
    assert not is_built()
    for part in inner:
        walk.do("removed", part, count=1)
        assert not is_built()
    for part in inner:
        walk.do("installed", part, new=True)
    assert is_built()


def test_what_is_left_in_is_not_ordered_unless_another_pulls_it() -> None:
    """A seal that is always renewed stays in the housing that nobody takes out: no new one is needed."""
    walk = reducer()
    assert ["short"] == states(supply(walk.record), "output-seal-flange")
    walk.do("left_in", "output-seal-flange")
    assert [] == states(supply(walk.record), "output-seal-flange")


def test_an_open_option_and_a_size_to_be_chosen_are_said() -> None:
    """What nobody can say yet is neither ready nor short."""
    walk = reducer(None)
    walk.do("condemned", "end-play-washer", why="scored")
    walk.do("condemned", "breather-remote", why="cracked")

    found = supply(walk.record, NO_CATALOGUE)

    assert ["size"] == states(found, "end-play-washer")
    remote = standing(found, "G2B-1104")
    assert ((("breather", "remote"),), 1) == (remote.to_order[0].when, remote.buy)
    walk.do("fit_chosen", fit="carrier-end-play", sizes=["2.45"], predicted="0.45")
    assert ["short"] == states(supply(walk.record), "end-play-washer")
    assert 1 == standing(supply(walk.record), "G2B-1334").buy


def test_what_lies_ready_outlives_the_removal_of_the_old_part() -> None:
    """Laid ready before the teardown, with and without `received`: the removal takes the old part away, not the new."""
    walk = Walk("planetary-reducer", {"breather": "std"})
    walk.do("staged", "cover-oring", pieces=1)
    walk.do("received", "ring-oring", pieces=2)
    walk.do("staged", "ring-oring", pieces=2)
    walk.take_apart()
    for part in ("cover-oring", "ring-oring"):
        assert "staged" == walk.record.at(walk.place(part)).stage
        assert ["ready"] == states(supply(walk.record), part)
    ring = standing(supply(walk.record), "G2B-1107")
    assert (0, 3, 3) == (ring.buy, ring.ready, ring.arrivals.here)


def test_what_is_good_in_all_its_points_or_in_again_is_judged() -> None:
    """The order is not final for the rest; nobody has to say it of the whole part."""
    walk = reducer()

    def unjudged() -> set[str]:
        return {each.part.id for each in supply(walk.record).needs.unjudged}

    assert {"input-cover", "brake-port"} <= unjudged()
    for number in range(len(walk.bin("input-cover").part.check)):
        walk.do("inspected", "input-cover", check=number, verdict="reuse")
    walk.put_in("brake-port")
    assert not {"input-cover", "brake-port"} & unjudged()


def test_what_is_used_once_and_comes_out_again_is_ordered_again() -> None:
    """Its new piece is used up with the second removal; that of a part which may go in again is still here."""
    walk = reducer()
    walk.do("condemned", "thrust-needles", why="blue")
    for part in ("cover-oring", "thrust-needles"):
        walk.do("received", part, pieces=1)
        walk.do("staged", part, pieces=1)
        walk.do("installed", part, new=True)
        walk.do("removed", part, count=1)
    assert (["short"], ["here"]) == (
        states(supply(walk.record), "cover-oring"),
        states(supply(walk.record), "thrust-needles"),
    )
    walk.do("staged", "cover-oring", pieces=1)
    found = supply(walk.record)
    assert (["ready"], 1) == (states(found, "cover-oring"), standing(found, "G2B-1107").arrivals.here)


def test_a_new_part_that_is_condemned_is_ordered_again() -> None:
    """While it is in or when it is out again; of several those that are still good count as here. By hand."""
    for acts in (("removed", "condemned"), ("condemned", "removed")):
        walk = reducer()
        walk.do("condemned", "thrust-needles", why="blue")
        for kind in ("received", "installed", *acts):
            walk.do(kind, "thrust-needles", **ACTS[kind])
            assert kind != "condemned" or ["short"] == states(supply(walk.record), "thrust-needles"), acts
        assert ["short"] == states(supply(walk.record), "thrust-needles")
        refused = walk.refused("installed", "thrust-needles", new=True)
        assert "the new one was in and came out again, it was condemned by Ana; 1 new needed, not ordered" in refused
        walk.do("received", "thrust-needles", pieces=1)
        assert ["here"] == states(supply(walk.record), "thrust-needles")

    walk = reducer()
    walk.do("condemned", "cover-screws", why="bent")
    for kind, pieces in (("received", 8), ("installed", 8), ("removed", 8), ("condemned", 3), ("condemned", 1)):
        walk.do(kind, "cover-screws", **{**ACTS[kind], "count" if kind == "removed" else "pieces": pieces})
    screws = standing(supply(walk.record), "G2B-1108")
    assert (4, 4) == (screws.arrivals.here, screws.buy)


REJECTS: dict[str, tuple[str, dict[str, object]]] = {
    "condemned": ("condemned", {"why": "lip torn"}),
    "lost": ("condemned", {"why": "fell into the sump", "lost": True}),
    "measured bad": ("inspected", {"verdict": "replace"}),
}


@pytest.mark.parametrize(("kind", "fields"), REJECTS.values(), ids=REJECTS)
@pytest.mark.parametrize("part", ["cover-oring", "thrust-needles"])
@pytest.mark.parametrize("came", [("received", "staged"), ("staged",), ("received",)])
def test_a_new_piece_that_is_rejected_before_it_is_in_is_ordered_again(
    kind: str, fields: dict[str, object], part: str, came: tuple[str, ...]
) -> None:
    """It is ready no more and does not go in, whatever renews it; what was said of the old part stands. The next one
    goes in."""
    walk = reducer()
    walk.do("condemned", "thrust-needles", why="blue")
    before = walk.record.at(walk.place(part))
    for each in came:
        walk.do(each, part, pieces=1)

    walk.allowed(kind, part, new=True, **fields)

    place = walk.record.at(walk.place(part))
    assert ((None, False), before.stage, before.finding) == (
        (place.staged, has_some_new(place)),
        place.stage,
        place.finding,
    )
    found = supply(walk.record)
    assert ["short"] == states(found, part)
    assert 0 < standing(found, str(place.item.part.number)).buy
    assert "the new one is out of use: " in walk.refused("installed", part, new=True)
    walk.do("received", part, pieces=1)
    walk.do("staged", part, pieces=1)
    assert ["ready"] == states(supply(walk.record), part)
    assert "out of use" not in walk.refused("installed", part, new=True)


def test_of_several_new_pieces_those_that_are_left_still_count() -> None:
    """Twelve bolts lie ready and three are bad: nine may go in, twelve may not, and three are ordered."""
    walk = reducer()
    for kind in ("received", "staged"):
        walk.do(kind, "through-bolts", pieces=12)
    walk.allowed("condemned", "through-bolts", why="bent", pieces=3, new=True)

    bolts = standing(supply(walk.record), "G2B-1207")
    assert (9, 9, 3) == (bolts.arrivals.here, bolts.ready, bolts.buy)
    assert "12 new needed, 9 here" in walk.refused("installed", "through-bolts", new=True)
    assert "out of use" not in walk.refused("installed", "through-bolts", new=True, pieces=9)
    walk.allowed("received", "through-bolts", pieces=3)


def test_by_the_label_of_the_bin_the_old_part_is_condemned() -> None:
    """What lies ready in its place stays ready."""
    walk = reducer()
    walk.do("staged", "thrust-needles", pieces=1)
    walk.do("condemned", "thrust-needles", why="blue")
    assert ["ready"] == states(supply(walk.record), "thrust-needles")


def test_what_came_without_an_order_number_is_not_ordered_again() -> None:
    """Of two springs one came; of a stack of two sizes that which it measures."""
    walk = Walk(profile_of(NUMBERLESS))
    walk.take_apart()
    walk.do("condemned", "spring", why="bent")
    walk.do("fit_chosen", fit="play", sizes=["0.20", "0.30"], predicted="0.45")

    def to_order() -> list[int]:
        return [each.buy for each in supply(walk.record).progress]

    assert [2, 1, 1] == to_order()
    walk.do("received", "spring", pieces=1)
    walk.do("received", "shims", pieces=1, measured="t 0.29 mm")
    assert [1, 1, 0] == to_order()
    for part in ("spring", "shims"):
        walk.do("received", part, pieces=1)
    assert [0, 0, 0] == to_order()


def test_each_size_of_a_stack_is_awaited_for_itself() -> None:
    """Both are ordered; the one that came is known by what it measures, and what nobody measured is one of them."""
    walk = Walk(profile_of(NUMBERLESS.replace("pieces: 2}", 'pieces: 2, numbers: {"0.20": A-2, "0.30": A-3}}')))
    walk.take_apart()
    walk.do("fit_chosen", fit="play", sizes=["0.20", "0.30"], predicted="0.45")

    def seen() -> list[tuple[int, int]]:
        found = supply(walk.record)
        return [(standing(found, each).coming, standing(found, each).ready) for each in ("A-2", "A-3")]

    for number in ("A-2", "A-3"):
        walk.do("ordered", number=number, pieces=1)
    told = [seen()]
    for kind, size in (("received", ""), ("staged", "t 0.30 mm"), ("received", "t 0.20 mm"), ("staged", "")):
        walk.do(kind, "shims", pieces=1, **({"measured": size} if size else {}))
        told.append(seen())
    assert [[(1, 0), (1, 0)], [(0, 0), (1, 0)], [(1, 0), (0, 1)], [(0, 0), (0, 1)], [(0, 1), (0, 1)]] == told


def test_what_came_is_not_on_its_way_where_nobody_wants_it_any_more() -> None:
    """Condemned by mistake: the new ones lie there, and what is condemned of the same number is still bought."""
    walk = Walk(profile_of(TWO_SPRINGS))
    walk.take_apart()
    condemned = walk.do("condemned", "spring", why="bent")
    walk.do("ordered", number="S-1", pieces=2)
    walk.do("received", "spring", pieces=2)
    walk.do("correction", "spring", of=condemned.number, why="it is straight")

    assert (0, 2) == (walk.record.arrivals_of("S-1").coming(0), walk.record.arrivals_of("S-1").spare)
    walk.do("condemned", "other-spring", why="bent")
    found = supply(walk.record)
    assert (["short"], 1) == (states(found, "other-spring"), standing(found, "S-1").buy)


def test_what_is_sent_back_is_ordered_again() -> None:
    """Twelve bolts ordered, seven of them came: three of these go back, then two of those still to come."""
    walk = reducer()
    walk.do("ordered", number="G2B-1207", pieces=12)
    walk.do("received", "through-bolts", pieces=7)
    walk.do("returned", "through-bolts", number="G2B-1207", pieces=3, counted=3, why="too short")
    bolts = standing(supply(walk.record), "G2B-1207")
    assert (7, 5, 3, 3) == (bolts.came, bolts.coming, bolts.buy, bolts.arrivals.returned)
    assert ["short"] == states(supply(walk.record), "through-bolts")

    back = walk.do("returned", "through-bolts", number="G2B-1207", pieces=2, why="bent")
    bolts = standing(supply(walk.record), "G2B-1207")
    assert (9, 3, 5) == (bolts.came, bolts.coming, bolts.buy)
    walk.do("correction", "through-bolts", of=back.number, why="they were straight")
    walk.do("ordered", number="G2B-1207", pieces=3)
    bolts = standing(supply(walk.record), "G2B-1207")
    assert (15, 8, 0) == (bolts.arrivals.ordered, bolts.coming, bolts.buy)


def test_a_piece_from_the_shelf_that_is_sent_back_is_not_on_the_shelf() -> None:
    """One is on the shelf and three are needed: it does not fit, so three are missing until some are ordered."""
    walk = reducer()
    walk.do("returned", "cover-oring", number="G2B-1107", pieces=1, why="too thin")

    found = supply(walk.record, SHELF)

    assert 3 == standing(found, "G2B-1107").to_order[0].short
    assert 3 == sum(each.pieces for each in found.now.missing if each.use.number == "G2B-1107")
    walk.do("ordered", number="G2B-1107", pieces=5)
    assert 0 == standing(supply(walk.record, SHELF), "G2B-1107").buy


def test_a_step_whose_new_parts_are_not_here_is_allowed_when_they_are() -> None:
    """The first step of the assembly is always renewed; counted at the door or at its place, it can go in."""
    walk = reducer()
    bolts = walk.bin("through-bolts")
    for placed in walk.view.order:
        if placed.bin == bolts:
            break
        walk.put_in(placed.bin.part.id)
    walk.do("reading", fit="output-preload", at="assembled", values=["3.2"], unit="N·m")
    name = f"{bolts.step} {bolts.name}"

    def told() -> tuple[list[str], list[str]]:
        assembly = Assembly(walk.record)
        return [each.text for each in assembly.allowed()], [each.text for each in assembly.waiting()]

    free, waiting = told()
    assert name not in free
    assert f"{name}, as soon as its new parts are here" in waiting
    walk.do("received", number="G2B-1207", pieces=11)
    assert name not in told()[0], "one of twelve is missing"
    walk.do("received", number="G2B-1207", pieces=1)
    free, waiting = told()
    assert name in free
    assert not any(text.startswith(name) for text in waiting)


def test_what_is_on_hold_is_not_ready_and_its_step_waits() -> None:
    """It lies ready and nothing may be done with it; nothing is to be ordered for that. Once it is in, it is in."""
    walk = reducer()
    walk.do("staged", "ring-oring", pieces=2)
    before = standing(supply(walk.record), "G2B-1107")
    hold = walk.do("hold", "ring-oring", why="is it the right rubber?")

    found = supply(walk.record)
    ring = standing(found, "G2B-1107")
    assert (["held"], before.ready - 2, before.buy) == (states(found, "ring-oring"), ring.ready, ring.buy)
    (waits,) = (each for each in found.now.missing if each.use.part.id == "ring-oring")
    assert (0, True, False) == (waits.pieces, waits.held, waits.is_short)
    assert f"{waits.use.name}, ON HOLD" == waited_words(waits)
    walk.do("released", "ring-oring", of=hold.number, why="it is")
    assert ["ready"] == states(supply(walk.record), "ring-oring")
    walk.do("installed", "ring-oring", new=True)
    walk.do("hold", "ring-oring", why="does it leak?")
    assert ["in"] == states(supply(walk.record), "ring-oring")


def test_what_a_condemned_part_pulls_is_told_once() -> None:
    """A rejected input bearing pulls circlip and guide ring; with these condemned before, nothing more."""
    walk = Walk("planetary-reducer", {"breather": "std"})
    (told,) = walk.ask("condemned", "input-bearing", why="rough").told
    assert told.startswith("With it are renewed: ")
    for part in ("input-bearing-circlip", "oil-guide-ring"):
        assert walk.record.at(walk.place(part)).name in told
        walk.do("condemned", part, why="bent")
    assert () == walk.ask("condemned", "input-bearing", why="rough").told
