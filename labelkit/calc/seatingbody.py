"""What of a part stops another one on its axis: its solid half section, and how far two of them can be pushed together.

Only what runs all round counts. Teeth, splines, lugs, planets, threads and lips pass each other or bend, and a ring in
its groove counts as far as it stands out of it: none of them stops a neighbour.
"""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import dataclass
from functools import lru_cache
from typing import Final, Literal

from labelkit import forms
from labelkit.forms.edges import Edge, facing, outermost
from labelkit.forms.geometry import Contour, Point, rectangle
from labelkit.forms.shapes import Face, Section, mm
from labelkit.model.form import Shaft
from labelkit.model.formbase import Form
from labelkit.model.hardwareform import Nut, Screw
from labelkit.model.ringform import SnapRing

Way = Literal["down", "up"]

# Faces that share less than this of their radius do not stop each other, mm: a bore and its shaft are of one size.
_LEAST: Final = 0.15
# Distances nearer to each other than this are one, mm.
SAME: Final = 0.02
# A chord leaves its arc by this much at most, mm.
_CHORD: Final = 0.05


@dataclass(frozen=True, slots=True)
class Solid:
    """The half section of a part in its own frame, mm: r from the axis, z from its lowest point.

    Attributes:
        rings: closed polygons.
        upper: edges that are seen from above.
        lower: edges that are seen from below.
        bottom: the lowest z.
        top: the highest z.
    """

    rings: tuple[tuple[Point, ...], ...]
    upper: tuple[Edge, ...]
    lower: tuple[Edge, ...]
    bottom: float
    top: float

    def spans(self, z: float) -> list[tuple[float, float]]:
        """Return from which to which radius there is material at a height, ascending."""
        found: list[tuple[float, float]] = []
        for ring in self.rings:
            crossed = sorted(
                r1 + (z - z1) / (z2 - z1) * (r2 - r1) for (r1, z1), (r2, z2) in _pairs(ring) if (z1 > z) != (z2 > z)
            )
            found += zip(crossed[::2], crossed[1::2], strict=False)
        return sorted(found)

    def radii(self) -> list[tuple[float, float]]:
        """Return from which to which radius there is material at any height, ascending; what touches is one."""
        joined: list[tuple[float, float]] = []
        for low, high in sorted((r1, r2) for r1, _, r2, _ in self.upper):
            if joined and low <= joined[-1][1] + SAME:
                joined[-1] = (joined[-1][0], max(high, joined[-1][1]))
            else:
                joined.append((low, high))
        return joined


@dataclass(frozen=True, slots=True)
class Stop:
    """Where one solid is stopped by another.

    Attributes:
        shift: how far its frame then stands above the other's, mm.
        low: the smaller radius of the faces that meet.
        high: the larger one.
    """

    shift: float
    low: float
    high: float


def stop(moving: Solid, still: Solid, way: Way) -> Stop | None:
    """Return where a solid that is pushed along the axis is stopped by another; None where it passes.

    Args:
        moving: comes from far off.
        still: stays.
        way: `down` comes from above, `up` from below.
    """
    sign = 1.0 if way == "down" else -1.0
    mine, its = (moving.lower, still.upper) if way == "down" else (moving.upper, still.lower)
    best: float | None = None
    low = high = 0.0
    for left, right, heights, others in facing(mine, its):
        if right - left < _LEAST:
            continue
        for own, other in zip(heights, others, strict=True):
            far = sign * (other - own)
            if best is None or far > best + SAME:
                best, low, high = far, left, right
            elif far > best - SAME:
                low, high = min(low, left), max(high, right)
    return None if best is None else Stop(sign * best, low, high)


@lru_cache(maxsize=4096)
def solid(form: Form, *, flipped: bool, whole: bool = False) -> Solid | None:
    """Return what of a part can stop another; None of what yields.

    Args:
        form: the part's.
        flipped: its `way` end is down.
        whole: lugs of a plate and planets of a carrier count.
    """
    if form.stands == "yields":
        return None
    section = forms.section(form)
    height = section.height
    rings = []
    for contour in _stopping(form, section, whole=whole):
        points = [(r, height - z if flipped else z) for r, z in contour.polygon(_CHORD)]
        rings.append(tuple(points))
    heights = [z for ring in rings for _, z in ring] or [0.0]
    upper, lower = (tuple(_faces(outermost(rings, top=top))) for top in (True, False))
    return Solid(tuple(rings), upper, lower, min(heights), max(heights))


def _stopping(form: Form, section: Section, *, whole: bool) -> Iterator[Contour]:
    """Yield the faces that run all round."""
    if isinstance(form, Shaft):
        yield from _steps(form)
    elif isinstance(form, SnapRing):
        half = mm(form.d) / 2
        box = section.faces[0].contour.box()
        edges = (half, box.right) if form.fits == "shaft" else (box.left, half)
        yield rectangle(edges[0], box.bottom, edges[1], box.top)
    elif isinstance(form, Screw):
        yield from _head(form, section)
    elif isinstance(form, Nut):
        box = section.faces[0].contour.box()
        yield rectangle(min(mm(form.d) / 2, box.right - _LEAST), box.bottom, box.right, box.top)
    else:
        for face in _round_faces(section, whole=whole):
            contour = face.contour
            box = contour.box()
            if section.round:
                yield contour
            elif box.right > 0:
                yield rectangle(max(box.left, 0.0), box.bottom, box.right, box.top)


def _steps(form: Shaft) -> Iterator[Contour]:
    """Yield the steps at their full diameters: splines count, as what slides on them has the same diameter."""
    bore = mm(form.bore) / 2 if form.bore else 0.0
    z = math.fsum(mm(length) for _, length in form.steps)
    for d, length in form.steps:
        yield rectangle(bore, z - mm(length), mm(d) / 2, z)
        z -= mm(length)


def _head(form: Screw, section: Section) -> Iterator[Contour]:
    """Yield the head of a screw: its shank is in a thread."""
    box, length, d = section.faces[0].contour.box(), mm(form.l), mm(form.d)
    under = length if box.top > length + SAME else length - (box.right - d / 2)
    if box.top - under > SAME and box.right > d / 2:
        yield rectangle(0.0, under, box.right, box.top)


def _round_faces(section: Section, *, whole: bool) -> list[Face]:
    """Return the faces of a part without its teeth, lugs and planets."""
    passing = ("tooth",) if whole else ("tooth", "lug", "pin", "planet")
    return [face for face in section.faces if face.material != "rubber" and face.role not in passing]


def _faces(edges: list[Edge]) -> Iterator[Edge]:
    """Yield edges by ascending radius, level pieces side by side as one face."""
    last: Edge | None = None
    for edge in edges:
        if last and last[2] == edge[0] and abs(last[3] - edge[1]) < 1e-9 and last[1] == last[3] and edge[1] == edge[3]:
            last = (last[0], last[1], edge[2], edge[3])
            continue
        if last:
            yield last
        last = edge
    if last:
        yield last


def _pairs(ring: tuple[Point, ...]) -> Iterator[tuple[Point, Point]]:
    return zip(ring, (*ring[1:], ring[0]), strict=True)
