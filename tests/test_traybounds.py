"""Bounds of trays: hand examples, families that meet them, and every small list against its enumerated best."""

from __future__ import annotations

import random

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from labelkit.calc.packing import Floor, Item
from labelkit.errors import CapacityError
from tests import traylab
from tests.traybounds import SHARES, depth_bound, stretched, tray_bound
from tests.trayoracle import Enumeration

SIDES = st.integers(5, 60)
ITEMS = st.lists(
    st.builds(Item, st.lists(st.tuples(SIDES, SIDES), min_size=1, max_size=2).map(tuple), st.integers(0, 40)),
    min_size=1,
    max_size=5,
)


def squares(count: int, width: int, depth: int, mass: int = 1) -> list[Item]:
    return [Item(((width, depth),), mass)] * count


@pytest.mark.parametrize(
    ("items", "trays"),
    [
        pytest.param([], 0, id="nothing"),
        pytest.param(squares(1, 600, 400), 1, id="one full tray"),
        pytest.param(squares(5, 300, 200), 2, id="area: four quarters, and one more"),
        pytest.param(squares(6, 301, 201), 6, id="each more than half both ways: no two in a tray"),
        pytest.param(squares(6, 301, 200), 3, id="half deep, more than half wide: two in a tray"),
        pytest.param(squares(50, 40, 40, 1000), 5, id="mass: ten kilograms"),
        pytest.param(squares(2, 401, 150) + squares(2, 201, 250), 2, id="401 and 201 wide never stand side by side"),
        pytest.param([Item(((310, 210),)), Item(((10, 10),))] * 3, 3, id="the small ones add nothing"),
    ],
)
def test_trays_by_hand(items: list[Item], trays: int) -> None:
    """The least number of trays of 600 × 400 mm and 10 kg; each case was reckoned by hand."""
    assert tray_bound(items, traylab.TRAY) == trays


def test_a_mode_that_lies_better_counts() -> None:
    """Of two modes the smaller stretched area is taken, and one that does not fit the tray never is."""
    turned = Item(((310, 210), (150, 390)))
    too_wide = Item(((601, 10), (310, 210)))

    assert tray_bound([turned] * 4, traylab.TRAY) == 1
    assert tray_bound([too_wide] * 4, traylab.TRAY) == 4


def test_depth_by_hand() -> None:
    """Ten cells of 300 × 100 in a tray 600 wide are five deep; a mode wider than the tray does not count."""
    assert depth_bound(squares(10, 300, 100), 600) == 500
    assert depth_bound([Item(((601, 1), (60, 50)))], 600) == 5
    assert depth_bound([], 600) == 0


@pytest.mark.parametrize("item", [Item(((601, 10), (10, 401)), 5), Item(((10, 10),), 10_001)])
def test_what_fits_no_tray_is_named(item: Item) -> None:
    """Its number, its cells, its mass and what the tray allows."""
    with pytest.raises(CapacityError, match=r"item 1: cells .* mm, \d+ g; allowed in this tray: up to 600 × 400 mm"):
        tray_bound([Item(((10, 10),)), item], traylab.TRAY)


def test_what_is_wider_than_the_tray_is_named() -> None:
    """Its number, its cells and what the tray allows."""
    with pytest.raises(CapacityError, match=r"item 0: cells 601 × 10 mm; allowed in this tray: up to 600 mm wide"):
        depth_bound([Item(((601, 10),))], 600)


@pytest.mark.parametrize(
    ("side", "whole", "edge", "counts"),
    [
        (0, 600, 0, 0),
        (1, 600, 0, 1),
        (99, 600, 100, 0),
        (100, 600, 100, 100),
        (500, 600, 100, 500),
        (501, 600, 100, 600),
        (299, 600, 300, 0),
        (300, 600, 300, 300),
        (301, 600, 300, 600),
        (2, 5, 2, 2),
        (3, 5, 2, 3),
        (4, 5, 2, 5),
    ],
)
def test_stretching_by_hand(side: int, whole: int, edge: int, counts: int) -> None:
    """A side exactly on an edge counts as itself."""
    assert stretched(side, whole, edge) == counts


@given(whole=st.integers(2, 700), share=st.sampled_from((0, *SHARES)), seed=st.integers(0, 999))
def test_stretching_is_dual_feasible(whole: int, share: int, seed: int) -> None:
    """Sides that stand beside each other in a tray still do when they are stretched."""
    chance, sides, edge = random.Random(seed), [], int(whole * share)
    while (left := whole - sum(sides)) > 0 and len(sides) < 12:
        sides.append(chance.randint(1, left))

    assert sum(stretched(side, whole, edge) for side in sides) <= whole


@given(items=ITEMS, width=st.integers(60, 100), depth=st.integers(60, 80), limit=st.integers(40, 90))
@settings(max_examples=60, deadline=None)
def test_no_split_of_a_short_list_is_below_the_bound(items: list[Item], width: int, depth: int, limit: int) -> None:
    """Enumerated: fewest trays, and least depth of one tray, of any grade."""
    floor, everything = Floor(width, depth, limit), Enumeration(items)
    best = everything.best([floor], grade=2, keep_whole=False)
    least = everything.depths(0, len(items), width)[2]

    assert best is not None
    assert least is not None
    assert tray_bound(items, floor) <= best[0]
    assert depth_bound(items, width) <= least


@pytest.mark.parametrize("seed", range(20))
def test_perfect_layouts_meet_their_bound(seed: int) -> None:
    """Where nothing is wasted the area is the answer: K1, K3 and K5."""
    for family in (traylab.perfect_lines(seed), traylab.perfect_newspaper(seed)):
        assert depth_bound(family.items, family.width) == family.depth
    items, floor, trays = traylab.perfect_trays(seed)
    assert tray_bound(items, floor) == trays


@given(items=ITEMS, more=ITEMS)
@settings(max_examples=40)
def test_more_items_need_no_fewer_trays(items: list[Item], more: list[Item]) -> None:
    """The bound of a list is at least that of its beginning."""
    floor = Floor(60, 60, 90)

    assert tray_bound(items, floor) <= tray_bound(items + more, floor)
