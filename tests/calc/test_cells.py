"""Cells: nothing too near in any mode, no cell larger than it must be, and the hostile sizes. Oracle: shapely."""

from __future__ import annotations

import math
import tracemalloc
from collections.abc import Sequence
from dataclasses import replace
from itertools import pairwise
from typing import Any

import pytest
import shapely
import shapely.affinity
from hypothesis import assume, example, given, settings
from hypothesis import strategies as st

from labelkit.calc.cells import Mode, cell_modes, smallest_gap
from labelkit.calc.footprint import Footprint, footprint
from labelkit.forms.geometry import Contour, circle, rectangle
from labelkit.model.laying import Spacing
from labelkit.model.part import Part
from tests.forms.strategies import build, forms_of
from tests.traylab import Shape, own_modes

USUAL = Spacing()
NO_FLAG = Spacing(flag=(0.0, 0.0))
TRAY = (600, 400)
# As fine as the product's own rounding of sizes, mm.
ROUNDING = 2e-6


def disc(diameter: float, bore: float = 0.0, count: int = 1) -> Footprint:
    holes = (circle(bore / 2),) if bore else ()
    return Footprint(circle(diameter / 2), count, holes, None, "each", diameter / 2, bore / 2, turns=False)


def block(width: float, depth: float, count: int = 1, holes: tuple[Contour, ...] = ()) -> Footprint:
    outer = rectangle(-width / 2, -depth / 2, width / 2, depth / 2)
    return Footprint(outer, count, holes, None, "each", 0.0, 0.0, turns=True)


def made(kind: str, qty: int = 1, **sizes: Any) -> Footprint:
    form = build(kind, **sizes)
    return footprint(Part.model_validate({"id": "a", "name": "Part", "form": form, "qty": str(qty), "lay": "each"}))


def sizes(modes: Sequence[Mode]) -> list[tuple[int, int]]:
    return [(mode.width, mode.depth) for mode in modes]


def placed(contour: Contour, mode: Mode, at: tuple[float, float]) -> shapely.Polygon:
    """Return a contour in its cell, by shapely alone: turned, then y down, then moved."""
    plan = shapely.Polygon(contour.polygon(0.02))
    turned = shapely.affinity.rotate(plan, mode.turned, origin=(0, 0))
    return shapely.affinity.translate(shapely.affinity.scale(turned, 1, -1, origin=(0, 0)), *at)


def faults(thing: Footprint, mode: Mode, spacing: Spacing) -> list[str]:
    """Return what is wrong with one mode: too near each other, to the flag, or to the cell's edge."""
    found = []
    pieces = [placed(thing.outer, mode, at) for at in mode.at]
    solid = [
        piece.difference(shapely.union_all([placed(hole, mode, at) for hole in thing.holes]))
        for piece, at in zip(pieces, mode.at, strict=True)
    ]
    shown: list[shapely.Geometry] = list(pieces)
    if all(spacing.flag):
        flag = shapely.box(*mode.flag, mode.flag[0] + spacing.flag[0], mode.flag[1] + spacing.flag[1])
        shown.append(flag)
        found += [
            f"flag {flag.distance(p):.3f} mm from its part" for p in solid if flag.distance(p) < flag_gap(spacing)
        ]
        found += ["flag on its part" for piece in solid if flag.intersection(piece).area > 1e-6]
    for k, piece in enumerate(pieces):
        found += [
            f"pieces {piece.distance(o):.3f} mm" for o in pieces[:k] if piece.distance(o) < spacing.gap - ROUNDING
        ]
        found += ["pieces overlap" for other in pieces[:k] if piece.intersection(other).area > 1e-6]
    left, top, right, bottom = shapely.union_all(shown).bounds
    edges = (left, top, mode.width - right, mode.depth - bottom)
    if min(edges) < spacing.gap / 2 - ROUNDING:
        found.append(f"things {min(edges):.3f} mm from the edge of their cell")
    return found


def flag_gap(spacing: Spacing) -> float:
    return spacing.flag_gap - ROUNDING


def unbeaten(modes: Sequence[Mode]) -> bool:
    return all(a.width < b.width and a.depth > b.depth for a, b in pairwise(modes))


spacings = st.builds(
    Spacing,
    gap=st.sampled_from([0.0, 0.5, 1.0, 3.3, 8.0, 25.0]),
    flag=st.sampled_from([(0.0, 0.0), (30.0, 15.0), (12.0, 20.0), (60.0, 30.5)]),
    flag_gap=st.sampled_from([0.0, 2.0, 5.0]),
)
length = st.floats(0.5, 380).map(lambda value: round(value, 3))
share = st.floats(0.05, 0.97)


# --- every mode keeps its distances ----------------------------------------------------------------------------------


@given(diameter=length, bore=share, spacing=spacings, count=st.integers(1, 5))
@example(diameter=26.0, bore=0.2, spacing=USUAL, count=1)  # its radius is less than the flag's height
@example(diameter=31.0, bore=0.2, spacing=USUAL, count=1)  # and a little more
@example(diameter=52.0, bore=0.2, spacing=Spacing(flag=(60.0, 30.5)), count=1)
@settings(max_examples=50, deadline=None)
def test_discs_keep_their_distances(diameter: float, bore: float, spacing: Spacing, count: int) -> None:
    """The flag beside, below, in the corner of a disc or in its bore: never too near, never out of the cell."""
    thing = disc(diameter, diameter * bore, count)

    assert [fault for mode in cell_modes(thing, spacing, [TRAY]) for fault in faults(thing, mode, spacing)] == []


@given(width=length, depth=length, spacing=spacings, count=st.integers(1, 5), hole=share)
@settings(max_examples=50, deadline=None)
def test_blocks_keep_their_distances(width: float, depth: float, spacing: Spacing, count: int, hole: float) -> None:
    """Rectangles with a hole, turned or not, one or several, in one row or more."""
    thing = block(width, depth, count, (circle(min(width, depth) / 2 * hole),))

    assert [fault for mode in cell_modes(thing, spacing, [TRAY]) for fault in faults(thing, mode, spacing)] == []


@pytest.mark.parametrize("kind", ["gear", "snap_ring", "steel_plate", "lever", "outline", "carrier", "shaft", "bolt"])
@given(data=st.data(), spacing=spacings, count=st.integers(1, 3))
@settings(max_examples=12, deadline=None)
def test_true_outlines_keep_their_distances(kind: str, data: st.DataObject, spacing: Spacing, count: int) -> None:
    """Teeth, lugs, open rings, stars with holes: distances are those of the outline, not of a box round it."""
    form = data.draw(forms_of(kind))
    part = Part.model_validate({"id": "a", "name": "Part", "form": form, "qty": str(count), "lay": "each"})
    thing = footprint(part)

    assert [fault for mode in cell_modes(thing, spacing, [TRAY]) for fault in faults(thing, mode, spacing)] == []


@given(width=st.floats(601, 720), depth=st.floats(2, 60), spacing=spacings)
@settings(max_examples=60, deadline=None)
def test_what_lies_at_an_angle_keeps_its_distances(width: float, depth: float, spacing: Spacing) -> None:
    """The flag is free in a corner of the box, or outside it."""
    thing = block(width, depth)
    slanted = [mode for mode in cell_modes(thing, spacing, [TRAY]) if mode.turned not in (0, 90)]

    assert [fault for mode in slanted for fault in faults(thing, mode, spacing)] == []


@given(width=length, depth=length, spacing=spacings, count=st.integers(1, 7), round_=st.booleans())
@settings(max_examples=60, deadline=None)
def test_no_mode_beats_another(width: float, depth: float, spacing: Spacing, count: int, round_: bool) -> None:
    """Whole millimetres, each mode deeper or wider than every other."""
    modes = cell_modes(disc(width, 0, count) if round_ else block(width, depth, count), spacing, [TRAY])

    assert modes
    assert unbeaten(modes)
    assert all(isinstance(side, int) for mode in modes for side in (mode.width, mode.depth))


@given(diameter=length, bore=share, spacing=spacings)
@settings(max_examples=60, deadline=None)
def test_no_cell_is_larger_than_it_must_be(diameter: float, bore: float, spacing: Spacing) -> None:
    """A cell is its things and the gap, rounded up: less than a millimetre more (and the chords' 0.04 mm)."""
    thing = disc(diameter, diameter * bore)
    for mode in cell_modes(thing, spacing, [TRAY]):
        shown = [placed(thing.outer, mode, mode.at[0])]
        x, y = mode.flag
        shown += [shapely.box(x, y, x + spacing.flag[0], y + spacing.flag[1])] if all(spacing.flag) else []
        left, top, right, bottom = shapely.union_all(shown).bounds

        assert mode.width - (right - left) - spacing.gap < 1.05
        assert mode.depth - (bottom - top) - spacing.gap < 1.05


# --- the formulas ----------------------------------------------------------------------------------------------------


@given(diameter=length, bore=share)
@settings(max_examples=100, deadline=None)
def test_discs_have_the_modes_of_the_formulas(diameter: float, bore: float) -> None:
    """Right, below, tucked right and below, in the bore. Source: a second program of the formulas, in traylab."""
    hole = diameter * bore
    # The product measures the bore on chords, 0.02 mm inside the circle.
    assume(not 0 <= hole - (math.hypot(30, 15) + 4) <= 0.04)

    assert sizes(cell_modes(disc(diameter, hole), USUAL, [])) == list(
        own_modes(Shape(diameter, diameter, round=True, bore=hole))
    )


@given(width=length, depth=length, turns=st.booleans())
@settings(max_examples=100, deadline=None)
def test_rectangles_have_the_modes_of_the_formulas(width: float, depth: float, turns: bool) -> None:
    """Flag right or below, turned or not. Source: a second program of the formulas, in traylab."""
    thing = replace(block(width, depth), turns=turns)

    assert sizes(cell_modes(thing, USUAL, [])) == list(own_modes(Shape(width, depth, turns=turns)))


@given(diameter=st.floats(31, 150), across=st.booleans())
@settings(max_examples=60, deadline=None)
def test_a_tucked_flag_is_as_near_as_it_may_be(diameter: float, across: bool) -> None:
    """Half a millimetre further in it would be too near its disc. Source: shapely, distance of box and disc."""
    thing, spacing = disc(diameter), Spacing(gap=0)
    modes = cell_modes(thing, spacing, [])
    mode = modes[-1] if across else modes[0]
    plain = math.ceil(diameter + 2 + (30 if across else 15))
    assume((mode.width if across else mode.depth) < plain)
    x, y = (mode.flag[0] - 0.5, mode.flag[1]) if across else (mode.flag[0], mode.flag[1] - 0.5)
    nearer = shapely.box(x, y, x + 30, y + 15)

    assert nearer.distance(placed(thing.outer, mode, mode.at[0])) < spacing.flag_gap


def test_the_flag_lies_in_the_middle_of_an_opening() -> None:
    """A gasket of 200 x 100 mm with an opening of 60 mm a quarter of its length from the left."""
    (mode,) = cell_modes(block(200, 100, holes=(circle(30, x=-50),)), Spacing(gap=0), [(200, 100)])[-1:]

    assert (mode.width, mode.depth) == (200, 100)
    assert mode.flag == pytest.approx((50 - 15, 50 - 7.5))


def test_several_pieces_share_one_flag() -> None:
    """Five blocks of 60 x 30 in every number of rows, all 8 mm apart, and one flag."""
    modes = cell_modes(block(60, 30, 5), USUAL, [])

    assert {len(mode.at) for mode in modes} == {5}
    assert (60 * 5 + 8 * 5 + 32, 38) in sizes(modes)  # a row and the flag at its end
    assert (68, 30 * 5 + 8 * 5 + 17) in sizes(modes)  # a column and the flag below it


def test_the_free_end_of_the_last_row_takes_the_flag() -> None:
    """Five blocks of 60 x 30 in two rows of three need no room outside for a flag of 30 x 15."""
    assert (3 * 68, 2 * 38) in sizes(cell_modes(block(60, 30, 5), USUAL, []))


def test_thousands_of_pieces_have_their_ways_without_all_their_places() -> None:
    """9999 discs in every number of rows: found by hostile profiles, when all places of all ways took 700 MB."""
    tracemalloc.start()
    modes = cell_modes(disc(20, count=9999), USUAL, [(600, 400)])
    _, most = tracemalloc.get_traced_memory()
    tracemalloc.stop()

    assert len(modes) > 100
    assert len(set(modes[0].at)) == 9999
    assert most < 5_000_000


@pytest.mark.parametrize("gap", [0.0, 1.0, 1.9])
def test_a_flag_at_the_end_of_a_row_is_clear_of_the_row_above(gap: float) -> None:
    """The flag's own distance counts where the gap is smaller: found when a kit with --gap 0 was refused."""
    thing, spacing = block(60, 50, 3), Spacing(gap=gap)

    assert [fault for mode in cell_modes(thing, spacing, []) for fault in faults(thing, mode, spacing)] == []


# --- the hostile list ------------------------------------------------------------------------------------------------


def test_a_shaft_of_640_lies_at_an_angle() -> None:
    """640 x 30 mm in 600 x 400: turned by 25.25 degrees its box and the gap are 599.7 x 308.2 mm.

    Source: 640 cos a + 30 sin a + 8 and 640 sin a + 30 cos a + 8, by hand.
    """
    modes = cell_modes(block(640, 30), USUAL, [TRAY])
    (slanted,) = [mode for mode in modes if mode.turned not in (0, 90)]

    assert (slanted.turned, slanted.width, slanted.depth) == (25.25, 600, 309)
    assert faults(block(640, 30), slanted, USUAL) == []


@given(width=st.integers(593, 700), depth=st.integers(2, 80))
@settings(max_examples=40, deadline=None)
def test_the_angle_is_the_best_of_its_steps(width: int, depth: int) -> None:
    """Of all angles in steps of 0.25 degrees none takes less depth, flag or no flag. Source: the box, by hand."""
    angles = [math.radians(k / 4) for k in range(1, 360)]
    boxes = [
        (width * math.cos(a) + depth * math.sin(a) + 8, width * math.sin(a) + depth * math.cos(a) + 8) for a in angles
    ]
    fitting = [math.ceil(deep - 1e-6) for wide, deep in boxes if wide <= 600 and deep <= 400]
    modes = cell_modes(block(width, depth), NO_FLAG, [TRAY])

    assert min(fitting, default=None) == min((m.depth for m in modes if m.turned not in (0, 90)), default=None)


def test_a_shaft_of_690_fits_at_no_angle() -> None:
    """690 x 30 mm: neither flat nor slanted, with the usual gap."""
    assert not [size for size in sizes(cell_modes(block(690, 30), USUAL, [TRAY])) if size[0] <= 600 and size[1] <= 400]


def test_what_fits_flat_is_not_slanted() -> None:
    """An angle is the last resort, also when another kind of tray would need it."""
    modes = cell_modes(block(590, 20), USUAL, [TRAY])

    assert {mode.turned for mode in modes} <= {0.0, 90.0}


def test_a_shaft_as_long_as_the_tray_has_its_flag_below() -> None:
    """590 x 20 mm: 598 x 45 with the flag below fits, 630 wide with the flag beside does not."""
    fitting = [size for size in sizes(cell_modes(block(590, 20), USUAL, [TRAY])) if size[0] <= 600 and size[1] <= 400]

    assert fitting == [(598, 45)]


def test_each_kind_of_tray_gets_its_own_angle() -> None:
    """A shaft of 640 mm lies at one angle in 600 x 400 and at another in 640 x 300."""
    modes = cell_modes(block(640, 30), USUAL, [TRAY, (640, 300)])

    assert any(mode.width <= 600 and mode.depth <= 400 for mode in modes)
    assert any(mode.width <= 640 and mode.depth <= 300 for mode in modes)


@pytest.mark.parametrize(("diameter", "fits"), [(392, True), (392.001, False), (395, False)])
def test_a_disc_as_deep_as_the_tray(diameter: float, fits: bool) -> None:
    """392 mm and a gap of 8 are 400, the flag in the corner; a thousandth more is too much."""
    found = [size for size in sizes(cell_modes(disc(diameter, 60), USUAL, [TRAY])) if size[0] <= 600 and size[1] <= 400]

    assert found == ([(400, 400)] if fits else [])


def test_the_gap_that_would_do_is_told() -> None:
    """A disc of 395 mm fits 400 with a gap of 5, one of 400 with none, one of 401 with no gap at all."""
    gaps = [smallest_gap(disc(diameter), USUAL, TRAY) for diameter in (395, 399.5, 400, 401)]

    assert gaps == [5, 0, 0, None]


@pytest.mark.parametrize(("more", "inside"), [(-0.05, False), (0.05, True)])
def test_a_bore_just_under_and_just_over_the_flag(more: float, inside: bool) -> None:
    """The flag's diagonal and its distance twice: 33.54 + 4 mm. Over it the flag lies in the bore, under it outside."""
    modes = cell_modes(disc(60, math.hypot(30, 15) + 4 + more), USUAL, [])

    assert ((68, 68) in sizes(modes)) == inside


@pytest.mark.parametrize(("size", "cell"), [(19.999, 28), (20.0, 28), (20.001, 29)])
def test_sizes_are_rounded_up(size: float, cell: int) -> None:
    """A thousandth more than a whole millimetre takes the next one, a thousandth less takes none."""
    (mode,) = cell_modes(disc(size), NO_FLAG, [])

    assert (mode.width, mode.depth) == (cell, cell)


def test_without_gap_and_flag_a_cell_is_the_part() -> None:
    """60 x 40 mm take 60 x 40 mm, or turned 40 x 60."""
    assert sizes(cell_modes(block(60, 40), replace(NO_FLAG, gap=0.0), [])) == [(40, 60), (60, 40)]


def test_a_gap_larger_than_the_part() -> None:
    """A disc of 5 mm with a gap of 92: 97 x 97 but for the flag, which is in the gap's own zone."""
    thing, spacing = disc(5), Spacing(gap=92, flag=(3, 3), flag_gap=2)
    modes = cell_modes(thing, spacing, [])

    assert sizes(modes) == [(97, 102), (102, 97)]
    assert not any(faults(thing, mode, spacing) for mode in modes)


def test_a_flag_larger_than_the_part_lies_beside_or_below() -> None:
    """A ball of 5 mm: the cell is as deep as the flag, or as wide."""
    assert sizes(cell_modes(disc(5), USUAL, [])) == [(38, 30), (45, 23)]


def test_a_planet_with_its_teeth() -> None:
    """27 teeth of module 2.5 lie in a disc of 72.5 mm, the flag in no bore of 31 mm: below it tucked in the corner."""
    thing = made("gear", teeth=27, module=2.5, width=20, bore=31)

    assert sizes(cell_modes(thing, USUAL, []))[0][0] == math.ceil(72.5 + 8)
    assert not any(faults(thing, mode, USUAL) for mode in cell_modes(thing, USUAL, []))
