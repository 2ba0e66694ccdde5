"""Hatching: the lines of a section lie in its faces, at their pitch, and nowhere else."""

from __future__ import annotations

import math

import pytest
import shapely
from hypothesis import given, settings
from hypothesis import strategies as st
from shapely import LineString, Polygon

from labelkit.drawing.hatch import hatch
from labelkit.drawing.page import Box

Ring = list[tuple[float, float]]


@st.composite
def stars(draw: st.DrawFn, low: float = 20.0, high: float = 60.0) -> Ring:
    """Draw a polygon that is seen whole from its middle."""
    count = draw(st.integers(3, 12))
    radii = draw(st.lists(st.floats(low, high), min_size=count, max_size=count))
    x, y = draw(st.floats(-200, 200)), draw(st.floats(-200, 200))
    turns = [math.tau * k / count for k in range(count)]
    return [(x + r * math.cos(turn), y + r * math.sin(turn)) for r, turn in zip(radii, turns, strict=True)]


def shrunk(ring: Ring, share: float) -> Ring:
    """Return a polygon of the same shape about the same middle."""
    x, y = sum(px for px, _ in ring) / len(ring), sum(py for _, py in ring) / len(ring)
    return [(x + (px - x) * share, y + (py - y) * share) for px, py in ring]


def lines_of(rings: list[Ring], pitch: float, degrees: float, seen: Box | None = None) -> list[LineString]:
    """Return the lines of a hatching."""
    commands = hatch(rings, pitch, degrees, seen)
    assert [command[0] for command in commands] == ["M", "L"] * (len(commands) // 2)
    points = [(command[1], command[2]) for command in commands]  # type: ignore[misc]
    return [LineString(pair) for pair in zip(points[::2], points[1::2], strict=True)]


def offset(line: LineString, degrees: float) -> float:
    """Return how far a line lies from the origin, at right angles to the hatching."""
    (x, y), _ = line.coords
    return x * math.sin(math.radians(degrees)) + y * math.cos(math.radians(degrees))


PITCH = st.floats(0.5, 5.0)
SLOPE = st.sampled_from([45.0, -45.0, 0.0, 30.0, 90.0])


@given(stars(), PITCH, SLOPE)
@settings(max_examples=100, deadline=None)
def test_lines_are_what_a_family_of_parallels_leaves_inside(ring: Ring, pitch: float, degrees: float) -> None:
    """Every parallel of the family is drawn as long as it runs inside, nothing outside. Source: shapely."""
    shape = Polygon(ring)
    lines = lines_of([ring], pitch, degrees)
    by_line: dict[int, float] = {}
    for line in lines:
        number = round(offset(line, degrees) / pitch - 0.5)
        by_line[number] = by_line.get(number, 0.0) + line.length
    c, s = math.cos(math.radians(degrees)), math.sin(math.radians(degrees))
    reach = max(math.hypot(x, y) for x, y in ring) + pitch
    for number in range(math.floor(-reach / pitch), math.ceil(reach / pitch)):
        away = (number + 0.5) * pitch
        start, end = ((along * c + away * s, away * c - along * s) for along in (-2 * reach, 2 * reach))
        inside = LineString([start, end]).intersection(shape).length
        assert by_line.get(number, 0.0) == pytest.approx(inside, abs=1e-6)


@given(stars(), PITCH, SLOPE)
@settings(max_examples=60, deadline=None)
def test_lines_lie_in_the_polygon_at_their_slope(ring: Ring, pitch: float, degrees: float) -> None:
    """To a millionth of a millimetre. Source: shapely."""
    allowed = Polygon(ring).buffer(1e-6)
    for line in lines_of([ring], pitch, degrees):
        (x1, y1), (x2, y2) = line.coords

        assert allowed.covers(line)
        assert abs((x2 - x1) * math.sin(math.radians(degrees)) + (y2 - y1) * math.cos(math.radians(degrees))) < 1e-6


@given(stars(), stars(), PITCH, SLOPE)
@settings(max_examples=40, deadline=None)
def test_hatchings_of_one_pitch_and_slope_continue_each_other(a: Ring, b: Ring, pitch: float, degrees: float) -> None:
    """Faces of one part are hatched in one (ISO 128-3, from memory): all lines are a whole number of pitches apart."""
    offsets = [offset(line, degrees) for ring in (a, b) for line in lines_of([ring], pitch, degrees)]

    for each in offsets:
        pitches = (each - offsets[0]) / pitch
        assert abs(pitches - round(pitches)) < 1e-6


@given(stars(), PITCH, SLOPE)
@settings(max_examples=40, deadline=None)
def test_what_is_seen_of_a_hatching_is_all_there(ring: Ring, pitch: float, degrees: float) -> None:
    """Clipped to a window both are the same. Source: shapely."""
    x, y = ring[0]
    seen = Box(x - 8, y - 5, 16, 10)
    window = shapely.box(seen.x, seen.y, seen.right, seen.bottom)
    few, all_of_it = lines_of([ring], pitch, degrees, seen), lines_of([ring], pitch, degrees)

    assert [line for line in few if line.intersects(window)] == [line for line in all_of_it if line.intersects(window)]


def test_nobody_waits_for_what_is_not_seen() -> None:
    """A plate of 20 m below a part of 1 mm: 28 million lines, found by hostile profiles."""
    plate = [(-1e7, -1e7), (1e7, -1e7), (1e7, 1e7), (-1e7, 1e7)]

    assert 0 < len(lines_of([plate], 1.0, 45.0, Box(0, 0, 30, 20))) < 50


@given(stars(30, 60), st.floats(0.1, 0.5), PITCH, SLOPE)
@settings(max_examples=60, deadline=None)
def test_an_opening_stays_empty(ring: Ring, share: float, pitch: float, degrees: float) -> None:
    """Inside of a second ring nothing is hatched, by the even-odd rule. Source: shapely."""
    hole = shrunk(ring, share)
    whole = sum(line.length for line in lines_of([ring], pitch, degrees))
    opening = sum(line.length for line in lines_of([hole], pitch, degrees))
    lines = lines_of([ring, hole], pitch, degrees)
    inner = Polygon(hole)
    if not shapely.Polygon(ring).contains(inner):
        return  # the middle of a lopsided star is not where its rays meet

    assert sum(line.length for line in lines) == pytest.approx(whole - opening, abs=1e-5)
    assert all(line.intersection(inner.buffer(-1e-6)).length < 1e-6 for line in lines)


def test_nothing_gives_nothing() -> None:
    """No polygon, and one that lies between two lines."""
    assert hatch([], 1.0, 45.0) == ()
    assert hatch([[(0, 0.6), (3, 0.6), (3, 0.9), (0, 0.9)]], 1.0, 0.0) == ()
