"""Closed contours of straight lines and circular arcs, in millimetres.

Two frames are used, and only these:

* plan: x to the right, y up (towards 12 o'clock), origin on the part's axis or in the middle of its envelope;
* section: r from the axis outwards (never negative for parts of revolution), z up along the axis, z = 0 at the face
  the form calls its bottom.

A contour may bulge: each vertex carries the bulge of the edge that leaves it, the tangent of a quarter of the arc's
angle, positive when the arc turns left (counter-clockwise). A bulge of 1 is a half circle.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass
from typing import Final

Point = tuple[float, float]

# Points closer than this are one point, mm.
TOUCH: Final = 1e-9
# Straight pieces of an open arc that is drawn as an edge.
_ARC_PIECES: Final = 24


@dataclass(frozen=True, slots=True)
class Box:
    """A rectangle with sides along the axes, in mm."""

    left: float
    bottom: float
    right: float
    top: float

    @property
    def width(self) -> float:
        """Extent along x."""
        return self.right - self.left

    @property
    def height(self) -> float:
        """Extent along y."""
        return self.top - self.bottom

    def union(self, other: Box) -> Box:
        """Return the smallest box that holds both."""
        return Box(
            min(self.left, other.left),
            min(self.bottom, other.bottom),
            max(self.right, other.right),
            max(self.top, other.top),
        )


@dataclass(frozen=True, slots=True)
class Edge:
    """One edge of a contour: a straight line (bulge 0) or an arc from `start` to `end`."""

    start: Point
    end: Point
    bulge: float

    @property
    def sweep(self) -> float:
        """The arc's angle in radians, positive to the left; 0 for a line."""
        return 4 * math.atan(self.bulge)

    @property
    def centre(self) -> Point:
        """The arc's centre. Only for bulge other than 0."""
        (x1, y1), (x2, y2) = self.start, self.end
        # offset of the centre from the chord's middle, along the chord's left normal, in chord lengths
        offset = (1 - self.bulge**2) / (4 * self.bulge)
        return ((x1 + x2) / 2 - (y2 - y1) * offset, (y1 + y2) / 2 + (x2 - x1) * offset)

    @property
    def radius(self) -> float:
        """The arc's radius. Only for bulge other than 0."""
        return math.dist(self.centre, self.start)

    def split(self, pieces: int) -> Iterator[Point]:
        """Yield the ends of `pieces` equal parts of the edge, without its start, its exact end last."""
        if self.bulge:
            (cx, cy), (x, y) = self.centre, self.start
            start, radius = math.atan2(y - cy, x - cx), self.radius
            for k in range(1, pieces):
                angle = start + self.sweep * k / pieces
                yield (cx + radius * math.cos(angle), cy + radius * math.sin(angle))
        else:
            (x1, y1), (x2, y2) = self.start, self.end
            for k in range(1, pieces):
                yield (x1 + (x2 - x1) * k / pieces, y1 + (y2 - y1) * k / pieces)
        yield self.end


@dataclass(frozen=True, slots=True)
class Contour:
    """A closed contour: vertices (x, y, bulge of the edge to the next vertex); the last joins the first."""

    vertices: tuple[tuple[float, float, float], ...]

    def edges(self) -> Iterator[Edge]:
        """Yield the edges in order, the closing one last."""
        for (x1, y1, bulge), (x2, y2, _) in zip(self.vertices, self.vertices[1:] + self.vertices[:1], strict=True):
            yield Edge((x1, y1), (x2, y2), bulge)

    def polygon(self, chord_error: float = 0.02) -> list[Point]:
        """Return the contour as points with arcs cut into chords.

        Args:
            chord_error: largest distance between chord and arc, mm.
        """
        points: list[Point] = []
        for edge in self.edges():
            pieces = 1
            if edge.bulge:
                # A chord spans an eighth of a turn at most, so that a tiny circle stays a polygon.
                step = min(2 * math.acos(max(1 - chord_error / edge.radius, 0.0)), math.pi / 4)
                pieces = max(1, math.ceil(abs(edge.sweep) / step - 1e-9))
            points.extend(edge.split(pieces))
        return points

    def area(self) -> float:
        """Return the enclosed area in mm2, positive for a contour that runs counter-clockwise."""
        total = 0.0
        for edge in self.edges():
            (x1, y1), (x2, y2) = edge.start, edge.end
            total += (x1 * y2 - x2 * y1) / 2
            if edge.bulge:
                total += edge.radius**2 * (edge.sweep - math.sin(edge.sweep)) / 2
        return total

    def box(self) -> Box:
        """Return the exact envelope, arcs included."""
        xs, ys = [], []
        for edge in self.edges():
            xs.append(edge.end[0])
            ys.append(edge.end[1])
            if edge.bulge:
                for x, y in _arc_extremes(edge):
                    xs.append(x)
                    ys.append(y)
        return Box(min(xs), min(ys), max(xs), max(ys))

    def reach(self) -> float:
        """Return the largest distance of the contour from the origin, mm, arcs included."""
        farthest = 0.0
        for edge in self.edges():
            farthest = max(farthest, math.hypot(*edge.end))
            if edge.bulge and _sweeps_outward(edge):
                farthest = max(farthest, math.hypot(*edge.centre) + edge.radius)
        return farthest

    def moved(self, dx: float, dy: float) -> Contour:
        """Return the contour shifted by (dx, dy)."""
        return Contour(tuple((x + dx, y + dy, bulge) for x, y, bulge in self.vertices))

    def turned(self, degrees: float) -> Contour:
        """Return the contour turned counter-clockwise about the origin."""
        c, s = math.cos(math.radians(degrees)), math.sin(math.radians(degrees))
        return Contour(tuple((x * c - y * s, x * s + y * c, bulge) for x, y, bulge in self.vertices))

    def reversed(self) -> Contour:
        """Return the same contour run the other way round."""
        return Contour(tuple((*edge.end, -edge.bulge) for edge in [*self.edges()][::-1]))

    def mirrored_x(self) -> Contour:
        """Return the contour mirrored at the y axis (x becomes -x), still running in the same sense."""
        # Reversing the order keeps the sense; the bulge of an edge moves to what is now its start.
        edges = list(self.edges())[::-1]
        return Contour(tuple((-edge.end[0], edge.end[1], edge.bulge) for edge in edges))


def _arc_extremes(edge: Edge) -> Iterator[Point]:
    (cx, cy), radius, sweep = edge.centre, edge.radius, edge.sweep
    start = math.atan2(edge.start[1] - cy, edge.start[0] - cx)
    low, high = sorted((start, start + sweep))
    quarter = math.pi / 2
    for k in range(math.ceil(low / quarter), math.floor(high / quarter) + 1):
        yield (cx + radius * math.cos(k * quarter), cy + radius * math.sin(k * quarter))


def _sweeps_outward(edge: Edge) -> bool:
    """Say whether the arc passes the point of its circle that lies farthest from the origin."""
    (cx, cy), sweep = edge.centre, edge.sweep
    start = math.atan2(edge.start[1] - cy, edge.start[0] - cx)
    turn = (math.atan2(cy, cx) - start) % math.tau
    return turn <= sweep if sweep > 0 else turn >= math.tau + sweep


def at(radius: float, angle: float) -> Point:
    """Return the point at this distance from the origin, `angle` in radians counter-clockwise from +x."""
    return (radius * math.cos(angle), radius * math.sin(angle))


def bulge(sweep: float) -> float:
    """Return the bulge of an arc of this angle in radians."""
    return math.tan(sweep / 4)


def polygon(points: Iterable[Point]) -> Contour:
    """Return a contour of straight edges; a point that repeats the one before it is dropped."""
    kept: list[Point] = []
    for point in points:
        if not kept or math.dist(point, kept[-1]) > TOUCH:
            kept.append(point)
    if len(kept) > 1 and math.dist(kept[0], kept[-1]) <= TOUCH:
        kept.pop()
    return Contour(tuple((x, y, 0.0) for x, y in kept))


def rectangle(left: float, bottom: float, right: float, top: float) -> Contour:
    """Return a rectangle, counter-clockwise."""
    return polygon([(left, bottom), (right, bottom), (right, top), (left, top)])


def circle(radius: float, x: float = 0.0, y: float = 0.0) -> Contour:
    """Return a circle of this radius, counter-clockwise."""
    return Contour(((x + radius, y, 1.0), (x - radius, y, 1.0)))


def capsule(start: Point, end: Point, radius: float) -> Contour:
    """Return everything within `radius` of the line from `start` to `end`, which must differ; counter-clockwise."""
    (x1, y1), (x2, y2) = start, end
    length = math.dist(start, end)
    nx, ny = (y2 - y1) / length * radius, (x1 - x2) / length * radius
    return Contour(((x1 + nx, y1 + ny, 0.0), (x2 + nx, y2 + ny, 1.0), (x2 - nx, y2 - ny, 0.0), (x1 - nx, y1 - ny, 1.0)))


def around(tooth: Sequence[tuple[float, float]], count: int) -> Contour:
    """Return `count` equal teeth about the origin, the first at 12 o'clock, counter-clockwise.

    Args:
        tooth: (angle, radius) of its corners, angles in radians from the tooth's middle, ascending, within one pitch.
            Two corners of one radius are joined by an arc about the origin, others by a straight line.
        count: how many teeth, at least 1.
    """
    pitch = math.tau / count
    following = [*tooth[1:], (tooth[0][0] + pitch, tooth[0][1])]
    vertices: list[tuple[float, float, float]] = []
    for number in range(count):
        middle = math.pi / 2 + number * pitch
        for (angle, radius), (next_angle, next_radius) in zip(tooth, following, strict=True):
            x, y = at(radius, middle + angle)
            vertices.append((x, y, bulge(next_angle - angle) if radius == next_radius else 0.0))
    return Contour(tuple(vertices))


def arc_points(radius: float, start: float, end: float) -> tuple[Point, ...]:
    """Return points on an open arc about the origin, from angle `start` to `end` in radians, both ends included."""
    return tuple(at(radius, start + (end - start) * k / _ARC_PIECES) for k in range(_ARC_PIECES + 1))
