"""The check of trays: shapely as the independent oracle, trays broken in one way each, the reader of the rules."""

from __future__ import annotations

import math
import re
from collections.abc import Sequence
from dataclasses import replace

import pytest
import shapely
import shapely.affinity
from hypothesis import assume, example, given, settings
from hypothesis import strategies as st

from labelkit.calc.traycheck import SLACK, Laid, Point, Rect, faults, reading_order

NO_FLAG: Rect = (0, 0, 0, 0)
FLAG = 30.0, 15.0

Polygon = tuple[Point, ...]


def rectangle(x: float, y: float, w: float, h: float) -> Polygon:
    return ((x, y), (x + w, y), (x + w, y + h), (x, y + h))


def disc(x: float, y: float, radius: float, points: int = 90) -> Polygon:
    turns = [2 * math.pi * k / points for k in range(points)]
    return tuple((x + radius * math.cos(turn), y + radius * math.sin(turn)) for turn in turns)


def gear(x: float, y: float, radius: float, teeth: int = 17, turned: float = 0.0) -> Polygon:
    """Return straight teeth, a tenth of the radius high."""
    pitch = 2 * math.pi / teeth
    tooth = ((0.0, 0.9), (0.35, 0.9), (0.5, 1.0), (0.85, 1.0))
    around = [((k + part) * pitch + turned, radius * share) for k in range(teeth) for part, share in tooth]
    return tuple((x + r * math.cos(turn), y + r * math.sin(turn)) for turn, r in around)


def open_ring(x: float, y: float, radius: float, turned: float = 0.0) -> Polygon:
    """Return a ring open over 60 degrees, as a retaining ring."""
    outer = [math.radians(30 + 10 * k) + turned for k in range(31)]
    way = [(turn, radius) for turn in outer] + [(turn, radius * 0.7) for turn in reversed(outer)]
    return tuple((x + r * math.cos(turn), y + r * math.sin(turn)) for turn, r in way)


def place(step: str, *outlines: Polygon, flag: Rect = NO_FLAG, holes: tuple[Polygon, ...] = (), mass: int = 10) -> Laid:
    return Laid(step, outlines, holes, flag, mass)


def check(laid: Sequence[Laid], rules: Sequence[Rect] = (), **changed: float) -> list[str]:
    """Return the faults in a tray of 600 x 400 mm with the usual distances."""
    usual = {"width": 600, "depth": 400, "gap": 8, "flag_gap": 2, "limit_g": 10_000}
    return faults(laid, rules, **(usual | changed))  # type: ignore[arg-type]


# --- a tray that is right, and one fault at a time ------------------------------------------------------------------

# Cells with the gap in them, three bands as in a newspaper:
#   1 gear, flag right | 2 disc, flag in its bore | 3 two pins
#   4 plate   | 6 ring
#   5 plate   | 7 disc
#   8 shaft, flag below it
RIGHT = (
    place("1", gear(54, 54, 50), flag=(106, 4, *FLAG), mass=2000),
    place("2", disc(194, 54, 50), holes=(disc(194, 54, 20),), flag=(179, 46.5, *FLAG), mass=2000),
    place("3", rectangle(252, 4, 10, 60), rectangle(270, 4, 10, 60), flag=(282, 4, *FLAG)),
    place("4", rectangle(4, 112, 100, 40), flag=(106, 112, *FLAG)),
    place("5", rectangle(4, 160, 80, 60), flag=(86, 160, *FLAG)),
    place("6", open_ring(194, 152, 40), flag=(236, 112, *FLAG)),
    place("7", disc(184, 230, 30), flag=(216, 200, *FLAG)),
    place("8", rectangle(4, 268, 500, 20), flag=(4, 290, *FLAG), mass=5000),
)
RULES: tuple[Rect, ...] = (
    (0, 108, 600, 108),
    (0, 264, 600, 264),
    (144, 108, 144, 264),
    (0, 156, 144, 156),
    (144, 196, 600, 196),
)


def test_a_tray_that_is_right_has_no_fault() -> None:
    """Things exactly as far apart as demanded, a flag in a bore, several outlines in a place, columns: all pass."""
    assert check(RIGHT, RULES, limit_g=9050) == []
    assert reading_order(RIGHT, RULES, 600, 400) == list(range(8))


def changed(index: int, **new: object) -> tuple[tuple[Laid, ...], tuple[Rect, ...]]:
    each = replace(RIGHT[index], **new)  # type: ignore[arg-type]
    return (*RIGHT[:index], each, *RIGHT[index + 1 :]), RULES


def ruled(*rules: Rect, without: int | None = None) -> tuple[tuple[Laid, ...], tuple[Rect, ...]]:
    return RIGHT, (*(rule for number, rule in enumerate(RULES) if number != without), *rules)


NAN = math.nan
BROKEN: dict[str, tuple[tuple[tuple[Laid, ...], tuple[Rect, ...]], list[str]]] = {
    "outline near the wall": (
        changed(7, outlines=(rectangle(3.5, 268, 500, 20),)),
        ["step 8: the outline is 3.5 mm from the left wall, at least 4 mm is demanded"],
    ),
    "outline through the wall": (
        changed(7, outlines=(rectangle(102.25, 268, 500, 20),)),
        ["step 8: the outline is 2.25 mm beyond the right wall, at least 4 mm is demanded"],
    ),
    "flag near the wall": (
        changed(0, flag=(106, 3.999, *FLAG)),
        ["step 1: the flag is 3.999 mm from the top wall, at least 4 mm is demanded"],
    ),
    "two outlines too near": (
        changed(3, outlines=(rectangle(4, 112, 100, 42.5),)),
        ["steps 4 and 5: outline and outline are 5.5 mm apart, at least 8 mm is demanded"],
    ),
    "outline too near to another's flag": (
        changed(4, outlines=(rectangle(4, 160, 80, 60),), flag=(86, 159, *FLAG)),
        ["steps 4 and 5: outline and flag are 7 mm apart, at least 8 mm is demanded"],
    ),
    "two flags too near": (
        changed(5, flag=(236, 177.5, *FLAG)),
        ["steps 6 and 7: flag and flag are 7.5 mm apart, at least 8 mm is demanded"],
    ),
    "two outlines overlap": (
        changed(1, outlines=(disc(300, 54, 50),), holes=(disc(300, 54, 20),), flag=(285, 46.5, *FLAG)),
        ["steps 2 and 3: outline and outline 1 overlap, at least 8 mm is demanded"],
    ),
    "one inside another, its line far off": (
        (
            (*RIGHT[:7], place("8", rectangle(4, 268, 500, 100)), place("9", disc(400, 318, 10))),
            RULES,
        ),
        ["steps 8 and 9: outline and outline overlap, at least 8 mm is demanded"],
    ),
    "outlines of one place too near": (
        changed(2, outlines=(rectangle(252, 4, 10, 60), rectangle(268, 4, 12, 60))),
        ["step 3: outline 1 and outline 2 are 6 mm apart, at least 8 mm is demanded"],
    ),
    "flag too near to its outline": (
        changed(3, flag=(105.25, 112, *FLAG)),
        ["step 4: the flag is 1.25 mm from the outline, at least 2 mm is demanded"],
    ),
    "flag too near to the second outline": (
        changed(2, flag=(281.999, 4, *FLAG)),
        ["step 3: the flag is 1.999 mm from the outline 2, at least 2 mm is demanded"],
    ),
    "flag on its outline": (
        changed(3, flag=(50, 112, *FLAG)),
        ["step 4: the flag lies on the outline, at least 2 mm is demanded"],
    ),
    "flag across the edge of its bore": (
        changed(1, flag=(189, 46.5, *FLAG)),
        ["step 2: the flag lies on the outline, at least 2 mm is demanded"],
    ),
    "flag too near to the edge of its bore": (
        changed(1, holes=(rectangle(178, 40, 40, 40),)),
        ["step 2: the flag is 1 mm from the edge of its hole, at least 2 mm is demanded"],
    ),
    "flag in a hole that is not in the part": (
        changed(1, holes=(disc(194, 54, 60),)),
        ["step 2: the flag lies on the outline, at least 2 mm is demanded"],
    ),
    "rule on an outline": (
        ruled((0, 290, 600, 290)),
        ["the rule from (0, 290) to (600, 290) touches step 8"],
    ),
    "rule through an outline": (
        ruled((0, 278, 600, 278)),
        ["the rule from (0, 278) to (600, 278) touches step 8"],
    ),
    "rule inside an outline": (
        ruled((50, 278, 60, 278)),
        [
            "the rule from (50, 278) to (60, 278) touches step 8",
            "the rule from (50, 278) to (60, 278) is neither the full width nor the full height of its field "
            "from (0, 264) to (600, 400)",
        ],
    ),
    "rule between the outlines of a place": (
        ruled((266, 0, 266, 108)),
        ["the rule from (266, 0) to (266, 108) parts step 3, which has something on both sides of it"],
    ),
    "rule between an outline and its flag": (
        ruled((0, 289, 600, 289)),
        ["the rule from (0, 289) to (600, 289) parts step 8, which has something on both sides of it"],
    ),
    "rule that ends before the wall": (
        ruled((0, 350, 599, 350)),
        [
            "the rule from (0, 350) to (599, 350) is neither the full width nor the full height of its field "
            "from (0, 264) to (600, 400)"
        ],
    ),
    "rule across one column and some of the next": (
        ruled((130, 196, 144, 196)),
        [
            "the rule from (130, 196) to (600, 196) is neither the full width nor the full height of its field "
            "from (0, 156) to (144, 264)"
        ],
    ),
    "slanted rule": (
        ruled((0, 108, 600, 109), without=0),
        ["the rule from (0, 108) to (600, 109) is neither level nor upright"],
    ),
    "rule without length": (
        ruled((30, 330, 30, 330)),
        ["the rule from (30, 330) to (30, 330) is neither level nor upright"],
    ),
    "rule out of the tray": (
        ruled((0, 330, 601, 330)),
        ["the rule from (0, 330) to (601, 330) leaves the tray of 600 x 400 mm"],
    ),
    "rule that is no number": (
        ruled((0, NAN, 600, NAN)),
        ["the rule from (0, nan) to (600, nan) is neither level nor upright"],
    ),
    "rule that ends nowhere": (
        ruled((0, 330, NAN, 330)),
        ["the rule from (0, 330) to (nan, 330) leaves the tray of 600 x 400 mm"],
    ),
    "no rule between two lines": (
        ruled(without=3),
        ["steps 4 and 5 lie one above the other and no rule is between them"],
    ),
    "too heavy": (
        changed(0, mass_g=6001),
        ["the tray holds 13,051 g, at most 10,000 g is allowed; the heaviest is step 1 with 6,001 g"],
    ),
    "mass below 0": (changed(3, mass_g=-10), ["step 4: the mass is -10 g, below 0"]),
    "two points": (
        changed(3, outlines=(((4, 112), (104, 152)),)),
        ["step 4: the outline has 2 points, at least 3 are demanded"],
    ),
    "no points": (
        changed(2, outlines=((), rectangle(270, 4, 10, 60))),
        ["step 3: the outline 1 has 0 points, at least 3 are demanded"],
    ),
    "a corner that is no number": (
        changed(3, outlines=(((4, 112), (104, NAN), (104, 152)),)),
        ["step 4: the outline has a point that is nowhere in a tray: not a number, or a kilometre away"],
    ),
    "an endless corner": (
        changed(1, holes=(((-math.inf, 112), (104, 112), (104, 152)), disc(194, 54, 20))),
        ["step 2: the hole 1 has a point that is nowhere in a tray: not a number, or a kilometre away"],
    ),
    "corners in one line": (
        changed(3, outlines=(((4, 112), (54, 132), (104, 152)),)),
        ["step 4: the outline has no area"],
    ),
    "no outline": (changed(3, outlines=()), ["step 4 has no outline"]),
    "flag that is no number": (
        changed(3, flag=(106, NAN, *FLAG)),
        ["step 4: the flag has a point that is nowhere in a tray: not a number, or a kilometre away"],
    ),
    "flag without height": (changed(3, flag=(106, 112, 30, 0)), ["step 4: the flag has no area"]),
    "flag below 0": (changed(3, flag=(136, 112, -30, 15)), ["step 4: the flag is -30 x 15 mm, below 0"]),
    "two steps in the wrong order": (
        ((RIGHT[0], RIGHT[2], RIGHT[1], *RIGHT[3:]), RULES),
        [
            "after step 1 the rules lead to step 2, not to step 3",
            "after step 3 the rules lead to step 4, not to step 2",
            "after step 2 the rules lead to step 3, not to step 4",
        ],
    ),
    "first step last": (
        ((*RIGHT[1:], RIGHT[0]), RULES),
        ["after step 8 the rules lead to the end of the tray, not to step 1"],
    ),
}


@pytest.mark.parametrize("name", BROKEN)
def test_one_fault_is_named_with_its_steps_and_figures_and_nothing_else(name: str) -> None:
    """Each tray is the right one, broken in one way."""
    (laid, rules), expected = BROKEN[name]

    assert check(laid, rules) == expected


def test_numbers_of_the_tray_that_are_none_are_told() -> None:
    """Nothing else can be judged then."""
    found = check(RIGHT, RULES, width=NAN, gap=-1)

    assert found == ["the width is nan mm, allowed is 0 to 1,000,000", "the gap is -1 mm, allowed is 0 to 1,000,000"]


def test_nothing_in_the_tray_is_no_fault() -> None:
    assert check(()) == []
    assert reading_order((), RULES, 600, 400) == []


NUMBER = st.floats(allow_nan=True, allow_infinity=True) | st.integers(-5, 50).map(float)
POLYGON = st.lists(st.tuples(NUMBER, NUMBER), max_size=7).map(tuple)


@settings(max_examples=150)
@given(
    st.lists(
        st.builds(
            Laid,
            step=st.just("1"),
            outlines=st.lists(POLYGON, max_size=3).map(tuple),
            holes=st.lists(POLYGON, max_size=2).map(tuple),
            flag=st.tuples(NUMBER, NUMBER, NUMBER, NUMBER),
            mass_g=st.integers(-5, 50),
        ),
        max_size=3,
    ),
    st.lists(st.tuples(NUMBER, NUMBER, NUMBER, NUMBER), max_size=4),
    st.sampled_from([0.0, 8.0]),
)
def test_no_input_is_a_crash(laid: list[Laid], rules: list[Rect], gap: float) -> None:
    """Whatever the numbers are, sentences come out, and the places that are read are read once."""
    order = reading_order(laid, rules, 50, 40)

    assert sorted(set(order)) == sorted(order)
    assert all(isinstance(each, str) for each in check(laid, rules, gap=gap))


# --- distances, against shapely --------------------------------------------------------------------------------------

TURN = st.floats(0, 2 * math.pi)
RADIUS = st.floats(3, 60)
SHAPE = st.one_of(
    st.builds(gear, st.just(0.0), st.just(0.0), RADIUS, st.integers(5, 40), TURN),
    st.builds(disc, st.just(0.0), st.just(0.0), RADIUS, st.integers(3, 200)),
    st.builds(open_ring, st.just(0.0), st.just(0.0), RADIUS, TURN),
    st.builds(lambda w, h, turn: turned(rectangle(-w / 2, -h / 2, w, h), turn), RADIUS, RADIUS, TURN),
)


def turned(polygon: Polygon, turn: float) -> Polygon:
    shape = shapely.affinity.rotate(shapely.Polygon(polygon), turn, origin=(0, 0), use_radians=True)
    return tuple(shape.exterior.coords)[:-1]


def moved(polygon: Polygon, x: float, y: float) -> Polygon:
    return tuple((px + x, py + y) for px, py in polygon)


def expected_distance(one: shapely.Geometry, other: shapely.Geometry) -> float | str:
    """Return the distance by shapely (GEOS), "overlap" where area is shared; skips what is within rounding of it."""
    shared = one.intersection(other).area
    assume(shared == 0 or shared > 1e-4)
    return "overlap" if shared else one.distance(other)


def told(sentences: list[str], start: str) -> float | str | None:
    """Return the figure in the only sentence that starts so, "overlap" when that is told, None without a sentence."""
    matching = [each for each in sentences if each.startswith(start)]
    assert len(matching) <= 1
    figure = re.search(r"(overlap|lies on)|(?:is|are) ([\d.]+) mm", matching[0]) if matching else None
    return None if figure is None else "overlap" if figure[1] else float(figure[2])


def agree(found: float | str | None, expected: float | str, demand: float) -> bool:
    """Say whether a distance is told exactly when it is below the demand, and is right to a millionth."""
    if isinstance(expected, str):
        return found == expected
    assume(abs(expected - demand) > 3 * SLACK)
    if expected > demand:
        return found is None
    return isinstance(found, float) and abs(found - expected) <= 1e-6


@settings(max_examples=100)
@given(SHAPE, SHAPE, TURN, st.floats(0, 130), st.floats(0, 40), st.booleans())
def test_distances_agree_with_shapely(
    one: Polygon, other: Polygon, turn: float, far: float, gap: float, in_one_place: bool
) -> None:
    """Gears, discs, open rings and turned rectangles, also inside each other's box, mouth and body."""
    one, other = moved(one, 300, 200), moved(other, 300 + far * math.cos(turn), 200 + far * math.sin(turn))
    laid = [place("1", one, other)] if in_one_place else [place("1", one), place("2", other)]

    found = told(check(laid, gap=gap), "step 1: outline 1 and" if in_one_place else "steps 1 and 2:")

    assert agree(found, expected_distance(shapely.Polygon(one), shapely.Polygon(other)), gap)


@settings(max_examples=80)
@given(SHAPE, st.floats(-80, 80), st.floats(-80, 80), st.floats(0, 30))
def test_a_flag_by_its_outline_agrees_with_shapely(shape: Polygon, x: float, y: float, flag_gap: float) -> None:
    """Also tucked into a corner beside a disc, where the boxes overlap and the things do not."""
    laid = [place("1", moved(shape, 300, 200), flag=(300 + x, 200 + y, *FLAG))]

    found = told(check(laid, flag_gap=flag_gap), "step 1: the flag")

    flag = shapely.box(300 + x, 200 + y, 330 + x, 215 + y)
    assert agree(found, expected_distance(shapely.Polygon(laid[0].outlines[0]), flag), flag_gap)


@settings(max_examples=80)
@given(SHAPE, st.floats(0.5, 3), st.floats(-20, 20), st.floats(-20, 20), st.floats(0, 10))
def test_a_flag_in_a_hole_agrees_with_shapely(hole: Polygon, scale: float, x: float, y: float, flag_gap: float) -> None:
    """Splined and square bores: the flag has to be inside, as far from the edge as from an outline."""
    hole = tuple((300 + scale * px, 200 + scale * py) for px, py in hole)
    laid = [place("1", rectangle(4, 4, 592, 392), holes=(hole,), flag=(285 + x, 192 + y, *FLAG))]

    found = told(check(laid, flag_gap=flag_gap), "step 1: the flag")

    flag, opening = shapely.box(285 + x, 192 + y, 315 + x, 207 + y), shapely.Polygon(hole)
    outside = flag.difference(opening).area
    assume(outside == 0 or outside > 1e-4)
    assert agree(found, "overlap" if outside else flag.distance(opening.exterior), flag_gap)


@settings(max_examples=50)
@given(SHAPE, st.floats(-10, 610), st.floats(-10, 410), st.floats(0, 40))
def test_the_distance_of_the_walls_agrees_with_shapely(shape: Polygon, x: float, y: float, gap: float) -> None:
    """Inside, the least distance of any wall is that of the tray's edge; outside is always told."""
    one, tray = shapely.Polygon(moved(shape, x, y)), shapely.box(0, 0, 600, 400)
    expected = one.distance(tray.exterior)

    found = [each for each in check([place("1", moved(shape, x, y))], gap=gap) if "wall" in each]

    assume(abs(expected - gap / 2) > 3 * SLACK)
    assert bool(found) == (not tray.covers(one) or expected < gap / 2)
    if tray.covers(one) and found:
        assert min(float(each.split(" is ")[1].split()[0]) for each in found) == pytest.approx(expected, abs=1e-6)


@settings(max_examples=80)
@given(SHAPE, st.floats(120, 280), st.floats(200, 380), st.floats(0, 60))
def test_touching_a_rule_agrees_with_shapely(shape: Polygon, level: float, start: float, length: float) -> None:
    """A rule past, through, into or wholly inside a shape."""
    line = shapely.LineString([(start, level), (start + length + 1, level)])
    one = shapely.Polygon(moved(shape, 300, 200))
    assume(not 0 < one.distance(line) < 3 * SLACK)

    found = check([place("1", moved(shape, 300, 200))], [(start, level, start + length + 1, level)])

    assert any("touches step 1" in each for each in found) == one.intersects(line)


@example(rectangle(0, 0, 2, 1), rectangle(1, 0, 2, 1))
@example(rectangle(0, 0, 2, 1), rectangle(0, 0, 2, 1))
@example(rectangle(0, 0, 2, 1), rectangle(2, 0, 2, 1))
@example(rectangle(0, 0, 3, 3), rectangle(1, 0, 1, 3))
@settings(max_examples=50)
@given(
    *[
        st.builds(
            lambda x, y, w, h, a, b: ((x, y), (x + w, y), (x + w, y + h), (x + a, y + h), (x + a, y + b), (x, y + b)),
            *[st.integers(0, 5)] * 2,
            *[st.integers(3, 6)] * 2,
            *[st.integers(0, 2)] * 2,
        )
    ]
    * 2
)
def test_with_no_gap_things_may_touch_and_not_overlap(one: Polygon, other: Polygon) -> None:
    """Angles on a grid, whose sides and corners meet everywhere; shared area is shapely's."""
    assume(all(shapely.Polygon(each).area > 0 and shapely.Polygon(each).is_valid for each in (one, other)))

    found = told(check([place("1", one), place("2", other)], gap=0), "steps 1 and 2:")

    shared = shapely.Polygon(one).intersection(shapely.Polygon(other)).area
    assert found == ("overlap" if shared else None)


@pytest.mark.parametrize("turn", [0.0, 0.1, 0.7, 1.3, 2.9])
@pytest.mark.parametrize("gap", [0.0, 8.0])
def test_rounding_is_no_fault(turn: float, gap: float) -> None:
    """Plates at exactly the demand, side by side and under one another, are some 1e-14 mm off it in every corner."""
    step = 0.1 + 14.2 + gap
    plates = [turned(rectangle(step * k - 30, step * row - 30, 14.3, 14.3), turn) for k in range(4) for row in range(4)]
    laid = [place(str(number), moved(each, 300, 200)) for number, each in enumerate(plates)]

    assert [each for each in check(laid, gap=gap) if "above the other" not in each] == []


@pytest.mark.parametrize(("deep", "expected"), [(1e-8, None), (1e-5, "overlap")])
def test_the_slack_is_a_millionth_of_a_millimetre(deep: float, expected: str | None) -> None:
    """What goes into another by less is rounding: beside a plate, in the corner of an angle, and on a slant."""
    angle = ((0, 0), (40, 0), (40, 20), (20, 20), (20, 40), (0, 40))
    for turn in (0.0, math.pi / 2, 0.4):
        for one, other in (
            (rectangle(-40, -20, 40, 40), rectangle(-deep, -20, 40, 40)),
            (angle, rectangle(20, 20 - deep, 20, 20)),
            (angle, rectangle(20 - deep, 20, 20, 20)),
        ):
            laid = [place(str(step), moved(turned(each, turn), 300, 200)) for step, each in ((1, one), (2, other))]
            assert told(check(laid, gap=0), "steps 1 and 2:") == expected


# --- a flag in a bore ------------------------------------------------------------------------------------------------


@pytest.mark.parametrize(("bore", "fits"), [(37.542, True), (37.540, False)])
def test_a_bore_must_be_the_diagonal_of_the_flag_and_two_distances(bore: float, fits: bool) -> None:
    """Flag 30 x 15 mm at 2 mm: hypot(30, 15) + 4 = 37.5410 mm by Pythagoras; 3,000 corners fall 0.00001 mm short."""
    body, hole = disc(100, 100, 60, 3000), disc(100, 100, bore / 2, 3000)

    found = check([place("7.2", body, holes=(hole,), flag=(85, 92.5, *FLAG))])

    assert (found == []) == fits
    assert all("the flag is 1.999" in each and "step 7.2" in each for each in found)


def test_a_flag_may_fill_its_hole_when_no_distance_is_demanded() -> None:
    """Touching all round is inside; a hair out of it is not."""
    plate, slot = rectangle(50, 50, 80, 80), rectangle(60, 60, *FLAG)

    assert check([place("1", plate, holes=(slot,), flag=(60, 60, *FLAG))], flag_gap=0) == []
    assert check([place("1", plate, holes=(slot,), flag=(60.001, 60, *FLAG))], flag_gap=0) == [
        "step 1: the flag lies on the outline, at least 0 mm is demanded"
    ]


def test_lines_may_turn_either_way_and_repeat_their_first_corner() -> None:
    """A polygon is the same polygon from any corner on, in either direction, closed twice or once."""
    one, other = gear(100, 100, 50), gear(205, 100, 50)
    expected = check([place("1", one), place("2", other)])

    assert "are" in expected[0]
    for same in (other[::-1], (*other, other[0]), other[7:] + other[:7]):
        assert check([place("1", one), place("2", same)]) == expected


# --- the reader of the rules -----------------------------------------------------------------------------------------


def things(*at: tuple[float, float, float, float]) -> list[Laid]:
    return [place(str(step), rectangle(*each)) for step, each in enumerate(at, start=1)]


def wrong_successors(order: list[int]) -> int:
    """Return SR: how many things are not followed by the next one."""
    return sum(order.index(k) + 1 != order.index(k + 1) for k in range(len(order) - 1))


Page = list[list[list[list[tuple[float, float]]]]]


def printed(page: Page) -> tuple[list[Laid], list[Rect], float, float]:
    """Lay a page out: bands of columns of lines of cells (width, depth), each thing 8 mm smaller than its cell."""
    width = max(sum(max(sum(w for w, _ in line) for line in column) for column in band) for band in page)
    at: list[Rect] = []
    rules: list[Rect] = []
    top = 0.0
    for band in page:
        depth = max(sum(max(h for _, h in line) for line in column) for column in band)
        rules += [(0, top, width, top)] if top else []
        left = 0.0
        for number, column in enumerate(band, start=1):
            right = width if number == len(band) else left + max(sum(w for w, _ in line) for line in column)
            rules += [(left, top, left, top + depth)] if left else []
            y = top
            for line in column:
                rules += [(left, y, right, y)] if y > top else []
                x = left
                for w, h in line:
                    at.append((x + 4, y + 4, w - 8, h - 8))
                    x += w
                y += max(h for _, h in line)
            left = right
        top += depth
    return things(*at), rules, width, top


CELL = st.tuples(st.floats(20, 90), st.floats(20, 90))
PAGES = st.lists(
    st.lists(st.lists(st.lists(CELL, min_size=1, max_size=4), min_size=1, max_size=3), min_size=1, max_size=3),
    min_size=1,
    max_size=3,
)


def line_tops(column: list[list[tuple[float, float]]]) -> set[float]:
    return {sum(max(h for _, h in line) for line in column[:k]) for k in range(1, len(column))}


@settings(max_examples=80)
@given(PAGES, st.randoms())
def test_any_page_of_bands_columns_and_lines_is_read_in_its_order(page: Page, shuffle: object) -> None:
    """The order in which the page was written comes back from the rules alone, in whatever order these are given."""
    for band in page:
        assume(len(band) == 1 or not set.intersection(*(line_tops(column) for column in band)))
    laid, rules, width, depth = printed(page)
    shuffle.shuffle(rules)  # type: ignore[attr-defined]

    assert faults(laid, rules, width=width, depth=depth, gap=8, flag_gap=2, limit_g=10_000) == []
    assert reading_order(laid[::-1], rules, width, depth) == list(range(len(laid)))[::-1]


def test_a_newspaper_by_hand() -> None:
    """A headline, two columns under it with a drop capital in the first, a foot.

     1
    2 3 | 6
    ----| 7 8
    4 5 | ---
        | 9
    10 11
    """
    laid = things(
        (4, 4, 592, 42),
        (4, 54, 92, 92), (104, 54, 192, 40), (4, 154, 92, 92), (104, 154, 192, 92),
        (304, 54, 292, 42), (304, 104, 92, 62), (404, 104, 192, 62), (304, 174, 292, 72),
        (4, 254, 292, 92), (304, 254, 292, 92),
    )  # fmt: skip
    rules = [
        (0, 50, 600, 50), (0, 250, 600, 250), (300, 50, 300, 250),
        (0, 150, 300, 150), (300, 100, 600, 100), (300, 170, 600, 170),
    ]  # fmt: skip

    assert reading_order(laid, rules, 600, 400) == list(range(11))
    assert check(laid, rules) == []


def test_pairs_in_order_can_still_be_read_wrong() -> None:
    """By pairs ("left on one line, or higher") 1 is before 2, as they share no line; a reader begins at the left."""
    laid = things((200, 4, 100, 60), (4, 40, 100, 100))

    assert reading_order(laid, [], 600, 400) == [1, 0]
    assert check(laid) == ["after step 1 the rules lead to the end of the tray, not to step 2"]


def test_rows_that_settle_into_the_gaps_above_are_read_wrong() -> None:
    """Made as two rows, 1 2 3 and 4 5 6, the second let up under the low things: no straight rule parts them."""
    laid = things(
        (4, 4, 92, 42), (104, 4, 92, 142), (204, 4, 92, 42),
        (4, 54, 92, 92), (104, 154, 92, 42), (204, 54, 92, 92),
    )  # fmt: skip

    assert wrong_successors(reading_order(laid, [], 600, 400)) == 5
    assert check(laid) == ["steps 1 and 4 lie one above the other and no rule is between them"]


def test_a_line_that_turns_back_is_read_wrong() -> None:
    """A second line laid from right to left, as the ox ploughs, needs arrows: rules do not tell it."""
    laid = things(*[(4 + 100 * k, 4, 92, 92) for k in range(3)], *[(4 + 100 * k, 104, 92, 92) for k in (2, 1, 0)])
    rules = [(0, 100, 600, 100)]

    assert reading_order(laid, rules, 600, 400) == [0, 1, 2, 5, 4, 3]
    assert wrong_successors([0, 1, 2, 5, 4, 3]) == 3
    assert len(check(laid, rules)) == 3


def test_rules_that_line_up_from_column_to_column_are_one_rule() -> None:
    """The list of rules looks right: two columns of two lines. In print the rules are a cross, and a reader reads
    1 3 over 2 4. A shift by a quarter of the gap each way makes it right."""
    laid = things((4, 4, 292, 92), (4, 104, 292, 92), (304, 4, 292, 92), (304, 104, 292, 92))
    upright = (300, 0, 300, 400)

    crossed = [upright, (0, 100, 300, 100), (300, 100, 600, 100)]
    shifted = [upright, (0, 98, 300, 98), (300, 102, 600, 102)]

    assert reading_order(laid, crossed, 600, 400) == [0, 2, 1, 3]
    assert len(check(laid, crossed)) == 3
    assert check(laid, shifted) == []


def test_a_rule_that_only_looks_full_is_told() -> None:
    """Half a millimetre short of the wall is short: the order may be right, the tray is not printed."""
    laid = things((4, 4, 92, 92), (4, 104, 92, 92))

    assert check(laid, [(0, 100, 600, 100)]) == []
    assert check(laid, [(0, 100, 599.5, 100)]) == [
        "the rule from (0, 100) to (599.5, 100) is neither the full width nor the full height of its field "
        "from (0, 0) to (600, 400)"
    ]


def test_a_rule_in_pieces_is_whole() -> None:
    """Pieces that meet or overlap, given from either end, print as one line."""
    laid = things((4, 4, 92, 92), (4, 104, 92, 92))

    assert check(laid, [(250, 100, 0, 100), (600, 100, 300, 100), (240, 100, 300 + 1e-9, 100 - 1e-9)]) == []


def test_an_order_that_is_right_by_luck_is_told() -> None:
    """The second lies under the first and starts a little to the right: nothing says that it is second."""
    laid = things((4, 4, 92, 92), (10, 104, 92, 92))

    assert reading_order(laid, [], 600, 400) == [0, 1]
    assert check(laid) == ["steps 1 and 2 lie one above the other and no rule is between them"]


def test_things_beside_each_other_are_read_at_whatever_heights() -> None:
    """Left to right is clear when nothing is over the same stretch of the field."""
    laid = things((4, 200, 92, 92), (104, 4, 92, 92), (204, 300, 92, 92))

    assert check(laid) == []
    assert reading_order(laid[::-1], [], 600, 400) == [2, 1, 0]
