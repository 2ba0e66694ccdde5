"""Contours with arcs against shapely, which knows polygons only, and against plain trigonometry."""

from __future__ import annotations

import math

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from shapely import LineString, Point, Polygon

from labelkit.forms.geometry import Contour, arc_points, around, at, bulge, capsule, circle, polygon, rectangle

FEW = settings(max_examples=30, deadline=None)
LENGTHS = st.floats(0.5, 300)
ANGLES = st.floats(0, 360)
# A straight edge, an arc to the outside, a slight arc to the inside.
BULGES = st.just(0.0) | st.floats(0.01, 0.9) | st.floats(-0.15, -0.01)


@st.composite
def flowers(draw: st.DrawFn) -> Contour:
    """Return a convex polygon whose every edge is a line or an arc bulging out or in a little."""
    corners = draw(st.integers(3, 9))
    radius = draw(LENGTHS)
    bulges = draw(st.lists(BULGES, min_size=corners, max_size=corners))
    points = [at(radius, math.tau * k / corners) for k in range(corners)]
    return Contour(tuple((x, y, b) for (x, y), b in zip(points, bulges, strict=True)))


@pytest.mark.parametrize(("radius", "area"), [(1.0, math.pi), (12.5, math.pi * 156.25)])
def test_a_circle_has_the_area_of_a_circle(radius: float, area: float) -> None:
    """Pi r squared, exactly, although a circle is two arcs."""
    assert area == pytest.approx(circle(radius).area(), rel=1e-12)


def test_a_capsule_is_a_rectangle_and_a_circle() -> None:
    """Length times width for the straight part, a whole circle for the two ends."""
    assert 10 * 4 + math.pi * 4 == pytest.approx(capsule((0, 0), (6, 8), 2).area())


def test_a_bulge_of_one_is_a_half_circle() -> None:
    """The bulge is the tangent of a quarter of the arc's angle."""
    assert 1.0 == pytest.approx(bulge(math.pi))


@FEW
@given(flowers())
def test_area_agrees_with_the_fine_polygon(contour: Contour) -> None:
    """Shapely measures the same area on the contour cut into very short chords."""
    assert Polygon(contour.polygon(1e-4)).area == pytest.approx(contour.area(), rel=1e-3)


@FEW
@given(flowers(), ANGLES)
def test_box_and_reach_hold_every_arc(contour: Contour, degrees: float) -> None:
    """The envelope of a turned contour is that of its fine polygon, never smaller."""
    turned = contour.turned(degrees)
    fine = turned.polygon(1e-5)
    left, bottom, right, top = Polygon(fine).bounds
    box = turned.box()

    assert (left, bottom, right, top) == pytest.approx((box.left, box.bottom, box.right, box.top), abs=1e-3)
    assert max(math.hypot(x, y) for x, y in fine) == pytest.approx(turned.reach(), abs=1e-3)


@FEW
@given(flowers(), st.floats(0.005, 0.5))
def test_no_chord_is_farther_from_its_arc_than_allowed(contour: Contour, chord_error: float) -> None:
    """Every point of the true contour lies within the chord error of the polygon."""
    points = contour.polygon(chord_error)
    outline = LineString([*points, points[0]])
    true = contour.polygon(chord_error / 500)

    assert max(outline.distance(Point(p)) for p in true) <= chord_error * 1.001


@FEW
@given(flowers())
def test_the_vertices_of_the_polygon_lie_on_the_contour(contour: Contour) -> None:
    """Cutting an arc into chords never moves a vertex off its arc."""
    for edge in contour.edges():
        if edge.bulge:
            radii = [math.dist(edge.centre, point) for point in (edge.start, *edge.split(7))]
            assert radii == pytest.approx([edge.radius] * 8)


def test_a_polygon_of_straight_edges_keeps_its_points() -> None:
    """Nothing is added where nothing is round."""
    points = [(0.0, 0.0), (4.0, 0.0), (4.0, 3.0)]

    assert sorted(points) == sorted(polygon(points).polygon())


def test_a_repeated_point_is_dropped() -> None:
    """An edge without length has no direction, so it is not an edge."""
    assert rectangle(0, 0, 2, 1) == polygon([(0, 0), (0, 0), (2, 0), (2, 1), (0, 1), (0, 0)])


@FEW
@given(flowers(), ANGLES, st.floats(-50, 50), st.floats(-50, 50))
def test_moving_turning_and_mirroring_keep_area_and_sense(
    contour: Contour, degrees: float, dx: float, dy: float
) -> None:
    """A part does not change its size when it is laid another way."""
    moved = contour.turned(degrees).moved(dx, dy)

    for other in (moved, contour.mirrored_x()):
        assert contour.area() == pytest.approx(other.area(), rel=1e-9, abs=1e-6)
    assert -contour.area() == pytest.approx(contour.reversed().area())


def test_a_mirror_image_has_left_and_right_swapped() -> None:
    """What was right is left, what was up stays up."""
    shape = rectangle(1, 2, 4, 7)

    assert (-4, 2, -1, 7) == _corners(shape.mirrored_x())


def _corners(contour: Contour) -> tuple[float, float, float, float]:
    box = contour.box()
    return (box.left, box.bottom, box.right, box.top)


def test_the_first_tooth_stands_at_twelve_and_the_rest_are_equal() -> None:
    """Five teeth of radius 10 on a body of radius 8: the topmost point is 10, every fifth of a turn looks alike."""
    wheel = around([(-0.2, 8.0), (-0.1, 10.0), (0.1, 10.0), (0.2, 8.0)], 5)
    whole = Polygon(wheel.polygon(0.001))

    assert 10.0 == pytest.approx(wheel.box().top)
    assert 0 == pytest.approx(whole.symmetric_difference(Polygon(wheel.turned(72).polygon(0.001))).area, abs=0.02)
    assert wheel.area() > 0


def test_an_open_arc_has_both_ends() -> None:
    """A quarter about the origin runs from the x axis to the y axis, all points at one distance."""
    points = arc_points(5.0, 0.0, math.pi / 2)

    assert (5.0, 0.0) == pytest.approx(points[0])
    assert (0.0, 5.0) == pytest.approx(points[-1], abs=1e-12)
    assert [5.0] * len(points) == pytest.approx([math.hypot(*point) for point in points])
