"""Packing of trays against enumeration, an independent line breaker and families whose best layout is known."""

from __future__ import annotations

import itertools
import random
from collections.abc import Sequence

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from labelkit.calc.packing import Floor, Item, Packed, pack
from labelkit.errors import CapacityError
from tests import traylab, trayoracle
from tests.traylab import TRAY, Shape, own_modes, strip_depth
from tests.trayoracle import Enumeration

SEEDS = range(40)


# --- against enumeration ---------------------------------------------------------------------------------------------


@pytest.mark.parametrize("part", range(10))
def test_short_lists_are_laid_as_well_as_can_be(part: int) -> None:
    """Lists of 3 to 6 parts, in one or two kinds of tray: trays, splits, grades, area are the enumerated best.

    Every tenth of the 500 that the benchmark tries.
    """
    for seed in range(50 * part, 50 * part + 50, 10):
        case = trayoracle.short_case(seed)
        best = Enumeration(case.items).best(case.floors, grade=case.grade, keep_whole=case.keep_whole)
        trays = pack(case.items, case.floors, grade=case.grade, keep_whole=case.keep_whole)

        assert (seed, trayoracle.answer(trays, case.items, case.floors)) == (seed, best)
        assert (seed, list(trayoracle.faults(trays, case.items, case.floors))) == (seed, [])


def test_short_strips_are_as_shallow_as_can_be() -> None:
    """60 lists of 3 to 6 parts in one endless tray: no order-keeping layout of the same grade is shallower."""
    for seed in range(60):
        case = trayoracle.short_case(seed)
        width = min(floor.width for floor in case.floors)
        best = Enumeration(case.items).depths(0, len(case.items), width)

        assert (seed, [strip_depth(case.items, width, grade=grade) for grade in (0, 1, 2)]) == (seed, best)


@pytest.mark.parametrize("seed", SEEDS)
def test_lines_equal_an_independent_line_breaker(seed: int) -> None:
    """40 synthetic jobs, grade 0: the textbook recurrence over the last line."""
    items = traylab.items_of(traylab.job(24 + 2 * seed, seed))

    assert strip_depth(items, 600, grade=0) == trayoracle.line_depth(items, 600)


def test_a_band_holds_forty_and_a_column_twelve() -> None:
    """The stated limits of a layout, at which the tables end."""
    thin = [Item(((10, 10),))] * 41
    pile = [Item(((10, 390),)), *[Item(((580, 10),))] * 39]
    short = [Item(((300, 120),)), *[Item(((300, 10),))] * 12]

    assert strip_depth(thin[:40], 600) == 10
    assert strip_depth(thin, 600) == 20
    assert strip_depth(short, 600, grade=1) == 120
    assert strip_depth([*short, Item(((300, 10),))], 600, grade=1) == 130
    assert strip_depth(pile, 600, band=390) == 390 + 27 * 10


# --- families whose best layout is known -----------------------------------------------------------------------------


@pytest.mark.parametrize("grade", [0, 1, 2])
@pytest.mark.parametrize("family", [traylab.perfect_lines, traylab.pinned_lines])
def test_perfect_and_pinned_lines(family: object, grade: int) -> None:
    """K1 and K2, 40 of each: no layout at all is shallower, lines already reach it."""
    for known in map(family, SEEDS):
        assert strip_depth(known.items, known.width, grade=grade) == known.depth


def test_perfect_newspaper() -> None:
    """K3, 40: columns lose nothing; lines, with or without a closing block, must."""
    for known in map(traylab.perfect_newspaper, SEEDS):
        depths = [strip_depth(known.items, known.width, grade=grade) for grade in (0, 1, 2)]

        assert depths[0] >= depths[1] > depths[2] == known.depth


def test_greedy_trap() -> None:
    """K4: 1055 in lines, where next-fit takes 2000; nothing gets below the area, 1050."""
    known = traylab.greedy_trap()
    boxes = [item.modes[0] for item in known.items]

    assert known.depth == 1055
    assert strip_depth(known.items, 600, grade=0) == 1055
    assert 1050 <= strip_depth(known.items, 600, grade=2) <= 1055
    assert trayoracle.next_fit(boxes, [0] * len(boxes), Floor(600, 100_000, 1))[1] == 2000


@pytest.mark.parametrize("seed", range(20))
def test_perfect_trays(seed: int) -> None:
    """K5, 20: as many trays as the items were cut from."""
    items, floor, count = traylab.perfect_trays(seed)
    trays = pack(items, [floor], grade=0)

    assert (len(trays), {tray.depth for tray in trays}) == (count, {floor.depth})


def test_mass_alone_can_fill_a_tray() -> None:
    """K6: 50 parts of 1 kg at 7.5 kg a tray need 8."""
    items, floor, count = traylab.heavy()

    assert len(pack(items, [floor])) == count


@pytest.mark.parametrize(("keep_whole", "trays", "splits"), [(False, 2, 1), (True, 3, 0)])
def test_groups_are_kept_whole_or_not(keep_whole: bool, trays: int, splits: int) -> None:
    """K7: 12 squares in 3 groups, six to a tray: two trays and one split, or three and none."""
    items, floor = traylab.three_groups()
    packed = pack(items, [floor], keep_whole=keep_whole)

    assert trayoracle.answer(packed, items, [floor])[:2] == (trays, splits)


# --- sub-assemblies, kinds of tray, what does not fit ----------------------------------------------------------------


def squares(*groups: tuple[str, ...]) -> list[Item]:
    return [Item(((200, 200),), 1, group) for group in groups]


def runs(trays: Sequence[Packed]) -> list[int]:
    return [len(tray.cells) for tray in trays]


def test_a_sub_assembly_that_fits_no_tray_is_cut_where_it_must_be() -> None:
    """Ten squares of one group, six to a tray: it is cut, but not in its own inner group, nor is the group before."""
    drum = [*[("drum",)] * 3, *[("drum", "pack")] * 4, *[("drum",)] * 3]
    cuts = [tray.cells[0].item for tray in pack(squares(*drum), [TRAY])[1:]]

    assert len(cuts) == 2
    assert set(cuts).isdisjoint((4, 5, 6))
    assert runs(pack(squares(*drum), [TRAY], keep_whole=False)) in ([4, 6], [5, 5], [6, 4])
    assert 1 not in itertools.accumulate(runs(pack(squares(("cover",), ("cover",), *drum), [TRAY])))


def test_a_group_that_comes_back_later_is_two_runs() -> None:
    """Only a run without a gap is a sub-assembly; between two of the same name a tray may end."""
    items = squares(*[("a",)] * 4, ("b",), *[("a",)] * 4)

    assert runs(pack(items, [TRAY])) == [4, 5]


def test_the_tray_with_the_least_used_area_is_taken_at_equal_count() -> None:
    """One item: the small tray. Nine squares: one of each. Heavy ones: the strong tray."""
    small, large = Floor(420, 220, 500), Floor(600, 400, 10_000)

    assert [tray.floor for tray in pack([Item(((200, 200),), 400)], [large, small])] == [1]
    assert [(tray.floor, len(tray.cells)) for tray in pack(squares(*[()] * 8), [small, large])] in (
        [(0, 2), (1, 6)],
        [(1, 6), (0, 2)],
    )
    assert [tray.floor for tray in pack([Item(((200, 200),), 600)], [small, large])] == [1]


def test_a_lower_grade_is_taken_before_a_smaller_area() -> None:
    """What fits in lines is laid in lines though columns would leave more of the tray free; an upper limit holds."""
    items = [Item(((200, 200),)), *[Item(((100, 100),))] * 8]
    lines = pack(items, [TRAY])

    assert [(tray.grade, tray.depth) for tray in lines] == [(0, 300)]
    assert [tray.grade for tray in pack(items, [Floor(600, 200, 1)])] == [1]
    assert [tray.grade for tray in pack(items, [Floor(600, 200, 1)], grade=0)] == [0, 0]


@pytest.mark.parametrize(
    "bad",
    [
        pytest.param(Item(((601, 10), (10, 401)), 1), id="too wide or too deep"),
        pytest.param(Item(((403, 403),), 1), id="a disc of 395 with a gap of 8"),
        pytest.param(Item(((10, 10),), 10_001), id="too heavy"),
        pytest.param(Item((), 1), id="no mode at all"),
    ],
)
@pytest.mark.parametrize("floors", [[TRAY], [Floor(200, 200, 20_000), TRAY, Floor(601, 9, 10_000)]])
def test_what_fits_nowhere_is_named(bad: Item, floors: list[Floor]) -> None:
    """The item's number; never a packing without it."""
    floors = [floor for floor in floors if not (bad.mass > 10_000 and floor.limit > 10_000)]
    with pytest.raises(CapacityError, match=r"\b2\b"):
        pack([Item(((9, 9),), 1), Item(((9, 9),), 1), bad, Item(((9, 9),), 1)], floors)
    if bad.mass < 10_000:
        with pytest.raises(CapacityError):
            strip_depth([bad], 400 if bad.modes[:1] == ((403, 403),) else 9)


@pytest.mark.parametrize("name", sorted(traylab.hostile()))
def test_hostile_lists(name: str) -> None:
    """Each takes the trays it was reckoned to take, without a fault."""
    items, count = traylab.hostile()[name]
    trays = pack(items, [TRAY])

    assert (len(trays), list(trayoracle.faults(trays, items, [TRAY]))) == (count, [])


def test_nothing_takes_no_tray() -> None:
    """An empty list is an empty packing, in a strip too."""
    assert pack([], [TRAY]) == ()
    assert strip_depth([], 600) == 0


def test_a_bore_takes_the_flag_from_its_diagonal_on() -> None:
    """30 × 15 with 2 to spare on both sides needs 37.55; below it the flag costs room outside."""
    least = 37.5410196624968
    just, under = (own_modes(Shape(120, 120, round=True, bore=least + off)) for off in (1e-6, -1e-6))

    assert just == ((128, 128),)
    assert (128, 128) not in under


# --- what every packing keeps ----------------------------------------------------------------------------------------

_SIDES = st.integers(1, 240)
_GROUPS = st.sampled_from(((), ("a",), ("a", "b"), ("c",)))
_ITEMS = st.lists(
    st.builds(
        Item,
        st.lists(st.tuples(_SIDES, _SIDES), min_size=1, max_size=3).map(traylab.unbeaten),
        st.integers(0, 900),
        _GROUPS,
    ),
    max_size=45,
)
_FLOORS = st.lists(
    st.builds(Floor, st.integers(240, 420), st.integers(240, 300), st.integers(900, 4000)), min_size=1, max_size=2
)


@given(items=_ITEMS, floors=_FLOORS, grade=st.integers(0, 2), keep_whole=st.booleans())
@settings(max_examples=40)
def test_every_layout_can_be_printed(items: list[Item], floors: list[Floor], grade: int, keep_whole: bool) -> None:
    """Order kept, every item once, nothing over another or outside, no rule through a cell, depth and grade as said."""
    trays = pack(items, floors, grade=grade, keep_whole=keep_whole)

    assert list(trayoracle.faults(trays, items, floors)) == []
    assert all(tray.grade <= grade for tray in trays)


@given(items=_ITEMS.filter(bool), floors=_FLOORS, grade=st.integers(0, 2))
@settings(max_examples=20)
def test_more_freedom_never_costs_a_tray(items: list[Item], floors: list[Floor], grade: int) -> None:
    """A higher grade, another kind of tray or leave to split gives an answer at least as good.

    The first two only where sub-assemblies may be split: with more freedom one may fit a tray that fitted none before,
    and is then kept whole, which can cost a tray.
    """
    counts = [
        len(pack(items, floors[:1], grade=0, keep_whole=False)),
        len(pack(items, floors[:1], grade=grade, keep_whole=False)),
        len(pack(items, floors, grade=grade, keep_whole=False)),
    ]

    assert counts[0] >= counts[1] >= counts[2]
    assert len(pack(items, floors, grade=grade)) >= counts[2]


def test_a_sub_assembly_that_fits_at_a_higher_grade_is_kept_whole_there() -> None:
    """In lines group a fits no tray and is cut: two trays. In columns it fits one and stays whole: three trays."""
    sizes = [(1, 1), (1, 7), (32, 1), (141, 8), (33, 1), (67, 233), (33, 7)]
    groups = [("a",) if 3 <= number <= 5 else () for number in range(7)]
    items = [Item((size,), 0, group) for size, group in zip(sizes, groups, strict=True)]

    assert runs(pack(items, [Floor(240, 240, 900)], grade=0)) == [4, 3]
    assert runs(pack(items, [Floor(240, 240, 900)], grade=1)) == [2, 4, 1]


def test_one_list_has_one_layout() -> None:
    """Equal lists give equal layouts, item for item."""
    items = traylab.items_of(traylab.job(60, 7))

    assert pack(items, [TRAY]) == pack(list(items), [TRAY])


def test_the_spread_moves_bands_apart_and_nothing_else() -> None:
    """Free depth goes between the bands, no more than asked for; order, grade and used depth stay."""
    items = traylab.items_of(traylab.job(60, 3))
    close, apart = pack(items, [TRAY]), pack(items, [TRAY], spread=12)

    assert [(tray.grade, tray.depth) for tray in apart] == [(tray.grade, tray.depth) for tray in close]
    for before, after in zip(close, apart, strict=True):
        moved = [(one.x - other.x, other.mode - one.mode) for one, other in zip(before.cells, after.cells, strict=True)]
        boxes = trayoracle.boxes_of(after, items)
        assert set(moved) == {(0, 0)}
        assert max(box.bottom for box in boxes) <= TRAY.depth
        assert (trayoracle.overlaps(boxes), trayoracle.crossings(boxes, after.rules)) == (0, 0)
        assert trayoracle.wrong_successors(trayoracle.read(after, items, TRAY)) == 0


def test_random_masses_never_exceed_the_limit() -> None:
    """The lightest limit that takes every item is kept by every tray."""
    chance = random.Random(5)
    items = [Item(((50, 50),), chance.randint(1, 3000)) for _ in range(80)]
    floor = Floor(600, 400, max(item.mass for item in items))

    for tray in pack(items, [floor]):
        assert sum(items[cell.item].mass for cell in tray.cells) <= floor.limit
