"""An outline goes once round and never meets itself, to the last digit."""

from __future__ import annotations

import math
from decimal import Decimal

import pytest
from hypothesis import given
from hypothesis import strategies as st
from shapely.geometry import LinearRing, Point, Polygon

from labelkit.model.outline import crossing, misplaced

corners = st.lists(st.tuples(st.integers(0, 5), st.integers(0, 5)), min_size=3, max_size=9)


@given(corners.filter(lambda points: len(set(points)) > 2), st.sampled_from(["1", "0.01", "25.4"]))
def test_it_is_refused_exactly_when_it_is_no_simple_polygon(points: list[tuple[int, int]], unit: str) -> None:
    """Source: shapely, an independent library, on a small grid where crossings, touches and folds are frequent."""
    simple = LinearRing(points).is_simple and Polygon(points).is_valid

    assert (crossing([(x * Decimal(unit), y * Decimal(unit)) for x, y in points]) is None) is simple


@pytest.mark.parametrize(
    ("points", "lines"),
    [
        ("0,0 4,0 4,4 0,4", None),
        ("0,0 4,0 4,4 0,4 0,0", None),
        ("0,0 4,0 4,0 4,4 0,4", None),
        ("0,0 4,0 2,0 4,4 0,4", ((1, 2), (2, 3))),
        ("0,0 4,4 4,0 0,4", ((1, 2), (3, 4))),
        ("0,0 4,0 4,4 2,0 0,4", ((1, 2), (4, 5))),
        ("0,0 2,2 4,0 4,4 2,2 0,4", ((1, 2), (5, 6))),
        ("0,0 4,0 8,0", ((1, 2), (3, 1))),
    ],
    ids=["square", "closed by hand", "a point twice", "fold", "bow tie", "touch of a side", "touch of corners", "flat"],
)
def test_it_names_two_lines_that_meet(points: str, lines: object) -> None:
    """By the numbers of their points, from 1, the closing line too."""
    found = crossing([(Decimal(x), Decimal(y)) for x, _, y in (point.partition(",") for point in points.split())])

    assert (found is None) is (lines is None)
    if lines is not None:
        assert found == lines


def test_a_crossing_of_a_thousandth_is_seen() -> None:
    """Where drawing coordinates of limited digits would not tell."""
    points = [("0", "0"), ("10000", "0.001"), ("10000", "0"), ("0", "0.0001")]
    just_not = [("0", "0"), ("10000", "0"), ("10000", "0.001"), ("0", "0.0001")]

    assert crossing([(Decimal(x), Decimal(y)) for x, y in points]) is not None
    assert crossing([(Decimal(x), Decimal(y)) for x, y in just_not]) is None


@given(
    st.lists(st.integers(4, 30), min_size=3, max_size=9),
    st.tuples(st.integers(-35, 35), st.integers(-35, 35), st.integers(1, 60)),
)
def test_a_hole_is_inside_or_told(radii: list[int], hole: tuple[int, int, int]) -> None:
    """A star of any corners. Source: shapely, how far the middle of the hole is from the outline."""
    corners = [(radius * c, radius * s) for radius, (c, s) in zip(radii, _turns(len(radii)), strict=True)]
    star, middle = Polygon(corners), Point(hole[:2])
    room = star.exterior.distance(middle) - hole[2] / 2
    found = misplaced(
        [(Decimal(repr(x)), Decimal(repr(y))) for x, y in corners],
        [(Decimal(hole[0]), Decimal(hole[1]), Decimal(hole[2]))],
    )

    assert (found is None) == (star.contains(middle) and room >= 0.001)


def _turns(count: int) -> list[tuple[float, float]]:
    return [(math.cos(math.tau * k / count), math.sin(math.tau * k / count)) for k in range(count)]


def test_holes_that_meet_and_too_many_are_told() -> None:
    """Found by hostile profiles: where holes leave no material, the section had no face."""
    square = [(Decimal(x), Decimal(y)) for x, y in ((0, 0), (90, 0), (90, 90), (0, 90))]
    one, other = (Decimal(30), Decimal(45), Decimal(20)), (Decimal(50), Decimal(45), Decimal(21))

    assert misplaced(square, [one, other]) == "holes 1 and 2 meet"
    assert misplaced(square, [one, (*other[:2], Decimal(20))]) is None
    assert misplaced(square, [one] * 201) == "has 201 holes; allowed: at most 200"
