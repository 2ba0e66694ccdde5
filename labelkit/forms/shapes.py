"""What a form shows: its plan as it lies, its section, and the box it needs; with the pieces that many forms share.

Inner proportions that no size and no standard fixes (the thickness of a bearing's race, the depth of a lug) are
drawing conventions: they never reach beyond the sizes of the profile. What stays unknown is named in `Plan.missing`.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass, replace
from typing import Final, Literal

from labelkit.forms.geometry import Contour, Point, circle, polygon, rectangle
from labelkit.units import Quantity

Material = Literal["metal", "rubber", "lining"]
Role = Literal["body", "rolling", "tooth", "lug", "pin", "planet"]
Polyline = tuple[Point, ...]
Mark = Contour | Polyline

# A face thinner than this, mm, is not drawn.
THINNEST: Final = 1e-6


@dataclass(frozen=True, slots=True)
class Plan:
    """A part seen from above as it lies on a tray, in the plan frame, mm.

    Attributes:
        outer: its outline, counter-clockwise.
        height: how high it stands above the tray.
        holes: openings that go right through, counter-clockwise.
        marks: lines on its face, closed contours or open polylines.
        lies: it is long and lies down, its length along x, its `way` end at the left; a round part then shows its
            side. Otherwise it is seen from its `way` end.
        missing: what is not drawn because neither the profile nor a standard gives it.
    """

    outer: Contour
    height: float
    holes: tuple[Contour, ...] = ()
    marks: tuple[Mark, ...] = ()
    lies: bool = False
    missing: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class Face:
    """One cut piece of material, in the section frame.

    Attributes:
        contour: its outline.
        material: what it is of.
        role: what it is. Rolling elements, teeth and pins are not hatched; teeth, lugs, planets and their pins pass
            those of other parts, and do not run all round.
    """

    contour: Contour
    material: Material = "metal"
    role: Role = "body"


@dataclass(frozen=True, slots=True)
class Section:
    """A part cut through its axis or its middle, the `way` end up, in the section frame, mm.

    Attributes:
        faces: the cut pieces; they touch but do not overlap.
        lines: edges seen behind the cut.
        round: the faces and lines are the right half; the left half is their mirror image.
        axial: the part is round about z, even where the section is drawn whole (springs).
    """

    faces: tuple[Face, ...]
    lines: tuple[Polyline, ...] = ()
    round: bool = True
    axial: bool = True

    @property
    def height(self) -> float:
        """The top of the highest face; the bottom is 0."""
        return max(face.contour.box().top for face in self.faces)

    @property
    def reach(self) -> float:
        """The largest r (or x) of the faces."""
        return max(face.contour.box().right for face in self.faces)

    @property
    def bore(self) -> float:
        """The smallest r of the faces of a round part; 0 of another."""
        return min(face.contour.box().left for face in self.faces) if self.round else 0.0

    def whole(self) -> Section:
        """Return the section with both halves drawn: faces on the axis become one, lines run right across.

        >>> disc = Section((Face(rectangle(0.0, 0.0, 5.0, 2.0)),))
        >>> [face.contour.box().width for face in disc.whole().faces]
        [10.0]
        """
        if not self.round:
            return self
        faces: list[Face] = []
        for face in self.faces:
            joined = _joined(face.contour)
            if joined:
                faces.append(replace(face, contour=joined))
            else:
                faces += [face, replace(face, contour=face.contour.mirrored_x())]
        lines = tuple(
            piece
            for line in self.lines
            for mirror in [tuple((-r, z) for r, z in line)]
            for piece in ((mirror[::-1] + line[1:],) if line[0][0] == 0 else (line, mirror))
        )
        return Section(tuple(faces), lines, round=False, axial=self.axial)


def _joined(half: Contour) -> Contour | None:
    """Return a half that lies on the axis along one edge together with its mirror image; None if it does not."""
    edges = list(half.edges())
    for number, edge in enumerate(edges):
        if not edge.bulge and abs(edge.start[0]) < THINNEST and abs(edge.end[0]) < THINNEST:
            right = edges[number + 1 :] + edges[:number]
            left = [((-e.end[0], e.end[1]), e.bulge) for e in reversed(right)]
            points = [(e.start, e.bulge) for e in right] + left
            return Contour(tuple((x, z, bulge) for (x, z), bulge in points))
    return None


def mm(length: Quantity) -> float:
    """Return a length as a float in millimetres, for drawing."""
    return float(length.mm)


def annulus(outer: float, inner: float, height: float, marks: Iterable[Mark] = ()) -> Plan:
    """Return a round plan of these radii; `inner` 0 has no hole."""
    holes = (circle(inner),) if inner else ()
    return Plan(circle(outer), height, holes, tuple(marks))


def rim(r: float, *heights: float) -> tuple[Polyline, ...]:
    """Return the round edges of radius `r` at these heights, as seen from the side: lines from the axis to `r`."""
    return tuple(((0.0, z), (r, z)) for z in heights) if r > THINNEST else ()


def bar(
    r1: float, z1: float, r2: float, z2: float, material: Material = "metal", role: Role = "body"
) -> tuple[Face, ...]:
    """Return a rectangular face, or none where it would have no width or height."""
    if r2 - r1 <= THINNEST or z2 - z1 <= THINNEST:
        return ()
    return (Face(rectangle(r1, z1, r2, z2), material, role),)


def face(points: Iterable[Point], material: Material = "metal", role: Role = "body") -> Face:
    """Return a face with straight edges; points in counter-clockwise order."""
    return Face(polygon(points), material, role)


def box_plan(length: float, width: float, height: float, *, lies: bool = False) -> Plan:
    """Return a rectangular plan with its middle at the origin."""
    outer = rectangle(-length / 2, -width / 2, length / 2, width / 2)
    return Plan(outer, height, lies=lies)


def box_section(length: float, height: float) -> Section:
    """Return the section of something box-shaped."""
    return Section((Face(rectangle(-length / 2, 0, length / 2, height)),), round=False, axial=False)
