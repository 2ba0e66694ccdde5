"""The new pieces of a place by their size: which is which, whatever is chosen later. By hand, no source."""

from __future__ import annotations

from decimal import Decimal

from labelkit.calc.oldandnew import came_here
from labelkit.calc.supply import Progress, supply
from tests.shop import profile_of
from tests.walk import Walk

SHIMMED = """\
format: 1
unit: {mark: S1, name: Shaft, revision: "1", up: top}
series:
  shims: {sizes: ["0.20", "0.25", "0.30", "0.35"], tol: "0.01", pieces: 2,
          numbers: {"0.20": A-20, "0.25": A-25, "0.30": A-30, "0.35": A-35}}
parts:
  - {id: shims, name: Shim, qty: PIECES, series: shims, check: [{measure: thickness, at: apart, keep: true}]}
  - {id: shaft, name: Shaft}
fits: {play: {kind: end_play, target: ["0.40", "0.60"], set_by: shims, thicker: reduces}}
"""


def job(pieces: int = 1) -> Walk:
    walk = Walk(profile_of(SHIMMED.replace("PIECES", str(pieces))))
    walk.take_apart()
    return walk


def choose(walk: Walk, *sizes: str) -> None:
    walk.do("fit_chosen", fit="play", sizes=sizes)


def lots(walk: Walk) -> dict[str, int]:
    """Return how many pieces are here of each size; `None`: of one that nobody knows."""
    return {str(size): lot.here for size, lot in walk.record.at(walk.place("shims")).lots.items() if lot.here}


def of(walk: Walk, number: str) -> Progress:
    return next(each for each in supply(walk.record).progress if each.line.number == number)


def state(walk: Walk) -> str:
    found = supply(walk.record)
    return next(found.state(use) for use in found.needs.uses)


def test_a_piece_keeps_the_size_it_came_for_when_another_is_chosen() -> None:
    """Measured or not, laid ready or in: it does not stand for the other one, and its own order has come."""
    for kind, fields in (
        ("received", {"pieces": 1}),
        ("received", {"pieces": 1, "measured": "t 0.20 mm"}),
        ("staged", {"pieces": 1, "measured": "t 0.21 mm"}),
        ("installed", {"new": True, "sizes": ["0.20"]}),
    ):
        walk = job()
        choose(walk, "0.20")
        walk.do("ordered", number="A-20", pieces=1)
        walk.do(kind, "shims", **fields)
        choose(walk, "0.30")

        assert ({"0.20": 1}, "short", 1) == (lots(walk), state(walk), of(walk, "A-30").buy), kind
        assert not walk.record.has_new(walk.place("shims"))
        assert 0 == walk.record.arrivals_of("A-20").coming(0)
        assert "staged" != walk.record.at(walk.place("shims")).stage
        assert walk.ask("received", "shims", pieces=1).allowed
        walk.do("staged", "shims", pieces=1, measured="t 0.30 mm")
        assert ({"0.20": 1, "0.30": 1}, "ready") == (lots(walk), state(walk))
        choose(walk, "0.20")
        assert ("A-20", 0) == (of(walk, "A-20").line.number, of(walk, "A-20").buy), "it lies there still"


def test_a_piece_that_was_taken_for_the_chosen_size_is_of_it() -> None:
    """It is nearer to another that the series has, and somebody took it all the same; that one may be chosen later."""
    walk = job()
    choose(walk, "0.30")
    walk.do("received", "shims", pieces=1, measured="t 0.26 mm")
    assert ({"0.30": 1}, "here") == (lots(walk), state(walk))
    choose(walk, "0.35")
    assert ({"0.30": 1}, "short") == (lots(walk), state(walk))
    choose(walk, "0.25")
    assert ({"0.25": 1}, "here") == (lots(walk), state(walk)), "it was chosen by what is there"


def test_what_came_before_anything_was_chosen_is_of_the_size_it_measures() -> None:
    walk = job()
    walk.do("received", "shims", pieces=1, measured="t 0.22 mm")
    assert {"0.20": 1} == lots(walk)
    choose(walk, "0.30")
    assert "short" == state(walk)


def test_a_measure_that_is_no_length_loses_no_piece() -> None:
    """A record may hold any line; the piece came for the size that was chosen."""
    walk = job()
    choose(walk, "0.30")
    walk.do("received", "shims", pieces=1, measured="t 5 kg")
    assert ({"0.30": 1}, "here") == (lots(walk), state(walk))


def test_a_piece_that_nobody_measured_is_found_out_when_it_is() -> None:
    """Of two sizes either may have come; laid ready it was measured, so that the other one is still on its way."""
    walk = job(2)
    choose(walk, "0.20", "0.30")
    for number in ("A-20", "A-30"):
        walk.do("ordered", number=number, pieces=1)
    walk.do("received", "shims", pieces=1)
    assert {"None": 1} == lots(walk)
    walk.do("staged", "shims", pieces=1, measured="t 0.30 mm")

    assert {"0.30": 1} == lots(walk)
    assert (1, 0) == (of(walk, "A-20").coming, of(walk, "A-30").coming)
    walk.do("installed", "shims", new=True, pieces=2, sizes=["0.20", "0.30"])
    assert ({"0.20": 1, "0.30": 1}, 0) == (lots(walk), of(walk, "A-20").buy)


def test_two_pieces_of_one_size_are_not_the_stack_of_two() -> None:
    """The place has as many pieces as it wants; one of them is another size than is missing."""
    walk = job(2)
    choose(walk, "0.20", "0.30")
    walk.do("received", "shims", pieces=2, measured="t 0.30 mm")

    assert not walk.record.has_new(walk.place("shims"))
    assert {"A-20": 1} == {each.use.number: each.pieces for each in supply(walk.record).now.missing}
    walk.do("received", number="A-20", pieces=1)
    assert walk.record.has_new(walk.place("shims")), "counted from the bag"


def test_what_goes_back_is_of_its_own_number() -> None:
    """The piece of the first choice leaves that of the second; under the other number, too, none else was there."""
    for number, second in (("A-20", True), ("A-30", False)):
        walk = job()
        choose(walk, "0.20")
        walk.do("ordered", number="A-20", pieces=1)
        walk.do("received", "shims", pieces=1, measured="t 0.20 mm")
        choose(walk, "0.30")
        if second:
            walk.do("received", "shims", pieces=1, measured="t 0.30 mm")
        walk.do("returned", "shims", number=number, pieces=1, counted=1, why="not wanted")

        assert ({"0.30": 1} if second else {}) == lots(walk)
        assert (1, 0) == (walk.record.arrivals_of("A-20").returned, walk.record.arrivals_of("A-30").returned)
        assert (0 if second else 1) == of(walk, "A-30").buy


def test_a_condemned_piece_is_that_which_was_in_last() -> None:
    """The one of the first choice lies there as good as it was, so that it is here when it is chosen again."""
    walk = job()
    for size in ("0.20", "0.30"):
        choose(walk, size)
        walk.do("received", "shims", pieces=1, measured=f"t {size} mm")
        walk.do("installed", "shims", new=True, sizes=[size])
        walk.do("removed", "shims", count=1)
    walk.do("condemned", "shims", why="scored")

    place = walk.record.at(walk.place("shims"))
    assert (0, 1) == (place.lot(Decimal("0.20")).used, place.lot(Decimal("0.30")).used)
    assert {"0.20": 1} == lots(walk)


def test_a_piece_that_nobody_measured_is_one_piece_only() -> None:
    """It stands for one of the sizes that lack: that which was ordered; the others are ordered, and waited for."""
    walk = job(2)
    choose(walk, "0.20", "0.30")
    walk.do("ordered", number="A-30", pieces=1)
    walk.do("received", "shims", pieces=1)

    assert (1, 0, 1) == (of(walk, "A-20").buy, of(walk, "A-30").buy, of(walk, "A-30").came)
    assert {"A-20": 1} == {each.use.number: each.pieces for each in supply(walk.record).now.missing}
    assert not walk.record.has_new(walk.place("shims"))
    walk.do("received", number="A-20", pieces=1)
    assert (0, 1, 1) == (of(walk, "A-20").buy, of(walk, "A-20").came, of(walk, "A-30").came), "another is in the bag"
    assert walk.record.has_new(walk.place("shims"))


def test_a_piece_that_nobody_measured_came_as_no_other_number_when_it_is_gone() -> None:
    """What lies there measured stays; the number that went back is ordered again, and so is that which never came."""
    walk = job(3)
    choose(walk, "0.20", "0.25", "0.30")
    walk.do("received", "shims", pieces=1)
    walk.do("received", "shims", pieces=1, measured="t 0.30 mm")
    walk.do("staged", "shims", pieces=1, measured="t 0.30 mm")
    walk.do("returned", "shims", number="A-20", pieces=1, counted=1, why="which one is it?")

    assert {"0.30": 1} == lots(walk)
    assert [(1, 1), (1, 0), (0, 1)] == [(of(walk, each).buy, of(walk, each).came) for each in ("A-20", "A-25", "A-30")]


def test_a_piece_that_came_before_anything_was_chosen_is_laid_ready_as_itself() -> None:
    """It was measured as it came, and not again: it is one piece, its order has come, and no other is to be chosen."""
    walk = job()
    walk.do("ordered", number="A-20", pieces=1)
    walk.do("condemned", "shims", why="scored")
    walk.do("received", "shims", pieces=1, measured="t 0.20 mm", source="order")
    walk.do("staged", "shims", pieces=1)

    assert ({"0.20": 1}, "ready", 0) == (lots(walk), state(walk), walk.record.arrivals_of("A-20").coming(0))
    (line,) = supply(walk.record).progress
    assert [(1, 0, 0)] == [(way.need, way.short, way.packs) for way in line.line.ways]


def test_of_a_stack_the_piece_of_the_size_that_is_meant_is_rejected() -> None:
    """Before it is in, and in; the other one stays, and what is out of use is ordered again. By hand, no source."""
    for installed in (False, True):
        walk = job(2)
        choose(walk, "0.20", "0.30")
        for size in ("0.20", "0.30"):
            walk.do("received", "shims", pieces=1, measured=f"t {size} mm")
        if installed:
            walk.do("installed", "shims", new=True, pieces=2, sizes=["0.20", "0.30"])
        walk.do("condemned", "shims", why="bent", pieces=1, size="0.30", new=not installed)

        assert {"0.20": 1} == lots(walk), installed
        assert (0, 1) == (of(walk, "A-20").buy, of(walk, "A-30").buy)
        found = supply(walk.record)
        assert {"A-20": 0, "A-30": 1} == {str(use.number): found.used(use) for use in found.needs.uses}


def test_no_more_pieces_of_a_size_are_rejected_than_are_here() -> None:
    """Two are here, one of them of the size that is meant."""
    walk = job(2)
    choose(walk, "0.20", "0.30")
    for size in ("0.20", "0.30"):
        walk.do("received", "shims", pieces=1, measured=f"t {size} mm")
    refused = walk.ask("condemned", "shims", why="bent", pieces=2, size="0.30", new=True).refusal
    assert "2 would be condemned, and there are 1" in refused


def test_each_size_of_a_stack_is_ready_for_itself() -> None:
    """One shim lies ready, the other has not come: its row is ready all the same, and the place is not."""
    walk = job(2)
    choose(walk, "0.20", "0.30")
    walk.do("staged", "shims", pieces=1, measured="t 0.30 mm")

    found = supply(walk.record)
    assert {"A-20": "short", "A-30": "ready"} == {str(use.number): found.state(use) for use in found.needs.uses}
    assert (1, 1, 2) == (of(walk, "A-30").ready, (at := found.awaited(walk.place("shims"))).laid, at.wanted)


def test_what_has_no_size_yet_is_not_here_before_some_of_it_is() -> None:
    """Whatever is chosen, a new one must come; one that came and was measured is of that size. By hand, no source."""
    walk = job()
    walk.do("condemned", "shims", why="scored")
    assert not walk.record.has_new(walk.place("shims"))
    walk.do("received", "shims", pieces=1, measured="t 0.20 mm")
    assert walk.record.has_new(walk.place("shims"))
    found = supply(walk.record)
    assert ["0.20 mm"] == [str(size) for use in found.needs.uses for size in found.sizes_here(use)]


def test_what_is_here_came_with_the_last_events_of_its_own_size() -> None:
    """Of two shims that of 0.20 went back: what is here is the other one, though that came before. By hand."""
    walk = job(2)
    choose(walk, "0.20", "0.30")
    first = walk.do("received", "shims", pieces=1, measured="t 0.30 mm")
    walk.do("received", "shims", pieces=1, measured="t 0.20 mm")
    walk.do("returned", "shims", number="A-20", pieces=1, counted=1, why="scratched")

    assert [first.number] == [event.number for event in came_here(walk.record.at(walk.place("shims")))]
