"""An outline goes once round and never meets itself, to the last digit."""

from __future__ import annotations

from decimal import Decimal

import pytest
from hypothesis import given
from hypothesis import strategies as st
from shapely.geometry import LinearRing, Polygon

from labelkit.model.outline import crossing

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
