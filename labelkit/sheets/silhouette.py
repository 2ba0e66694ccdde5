"""The outline of a part as it is seen from the side, at right angles to its axis, and where a leader meets it."""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import dataclass
from functools import lru_cache
from itertools import pairwise
from typing import Final

from labelkit import forms
from labelkit.forms.edges import crossings, outermost
from labelkit.forms.geometry import Contour, Point
from labelkit.forms.shapes import mm
from labelkit.model.form import Carrier
from labelkit.model.formbase import Form

# An edge is seen where an outline turns by more than this, degrees; where it turns by less it is a curve.
_TURN: Final = 20.0
# A chord leaves its arc by this part of the part's larger side at most.
_CHORD: Final = 4e-5
# A leader keeps off a shoulder by this part of the piece it meets, and meets no piece much shorter than the longest.
_OFF: Final = 0.25
_SHORT: Final = 0.3
# A hair beside a height at which an edge may lie, mm.
_HAIR: Final = 1e-6
# Heights that are nearer to each other than this are one, mm.
_LEAST: Final = 1e-5


@dataclass(frozen=True, slots=True)
class Extent:
    """What a part takes at 1:1, mm: along its axis, and on either side of it."""

    length: float
    reach: float


@dataclass(frozen=True, slots=True)
class Landing:
    """Where a leader from above meets a part at 1:1, mm.

    Attributes:
        z: height in the section's frame.
        r: distance from the axis.
        depth: how thick the material is below that place, across the axis.
    """

    z: float
    r: float
    depth: float


@lru_cache(maxsize=4096)
def extent(form: Form) -> Extent:
    """Return the room of a part's view."""
    boxes = [face.contour.box() for face in forms.section(form).faces]
    return Extent(max(box.top for box in boxes), max(max(abs(box.left), abs(box.right)) for box in boxes))


@lru_cache(maxsize=4096)
def landing(form: Form, above: float | None = None) -> Landing:
    """Return where a leader meets a part: near its middle, but not along a shoulder, nor between the coils of a spring.

    Args:
        form: the part's.
        above: height in the section's frame, mm, above which it meets the same piece of the outline; default: anywhere.
    """
    section = forms.section(form)
    middle = extent(form).length / 2
    if not section.axial:
        reach = extent(form).reach
        return Landing(middle, reach, reach)
    if section.round:
        outline = silhouette(form)
        middle = _off_shoulders(outline, middle) if above is None else (above + _end_of(outline, above)) / 2
    radii = _radii(form, middle + _HAIR)
    if not radii:
        boxes = [box for face in section.faces if (box := face.contour.box()).right > 0]
        middle = min(((box.top + box.bottom) / 2 for box in boxes), key=lambda z: abs(z - middle))
        radii = _radii(form, middle + _HAIR)
    below = radii[1] if len(radii) > 1 else 0.0
    return Landing(middle, radii[0], radii[0] - max(below, 0.0))


def _end_of(outline: tuple[Point, ...], z: float) -> float:
    """Return the upper end of the piece of an outline in which a height lies."""
    return next(high for (high, _), (low, _) in pairwise(outline) if low <= z < high)


@lru_cache(maxsize=4096)
def crest(form: Form, *, top: bool) -> float:
    """Return where a leader along the axis meets an end of a part: r at 1:1, on the side that is not cut.

    Args:
        form: the part's.
        top: the `way` end, else the other one.
    """
    section = forms.section(form)
    if isinstance(form, Carrier) and top:
        return stand(form) * min(math.cos(math.tau * k / form.planets) for k in range(form.planets))
    if section.round:
        return -silhouette(form)[0 if top else -1][1] / 2
    wanted = -extent(form).reach / 2
    if not section.axial:
        return wanted
    points = [point for face in section.faces for point in face.contour.polygon(_chord(form))]
    end = (max if top else min)(z for _, z in points)
    return min((r for r, z in points if abs(z - end) < 1e-3), key=lambda r: abs(r - wanted))


def _off_shoulders(outline: tuple[Point, ...], wanted: float) -> float:
    """Return the height nearest to the wanted one that keeps off the ends of the outline's longer pieces."""
    runs = [(high - low, low, high) for (high, _), (low, _) in pairwise(outline) if high > low]
    longest = max(length for length, _, _ in runs)
    kept = [(low + _OFF * length, high - _OFF * length) for length, low, high in runs if length >= _SHORT * longest]
    return min((min(max(wanted, low), high) for low, high in kept), key=lambda z: abs(z - wanted))


def stand(form: Carrier) -> float:
    """Return the radius on which the planets of a carrier stand, mm: how far from its middle the plan has the first."""
    planet = max((mark.box() for mark in forms.plan(form).marks if isinstance(mark, Contour)), key=lambda box: box.top)
    return planet.top - mm(form.planet_od) / 2


@lru_cache(maxsize=4096)
def silhouette(form: Form) -> tuple[Point, ...]:
    """Return the outline of a round part as it is seen from the side: (z, r), from its top down to its bottom."""
    outline: list[Point] = []
    for low, inner, high, outer in reversed(outermost([[(z, r) for r, z in ring] for ring in _rings(form)], top=True)):
        if high - low < _LEAST:
            continue
        # Where there is no material between two pieces the outline runs to the axis.
        gap = [(outline[-1][0], 0.0), (high, 0.0)] if outline and outline[-1][0] - high >= _LEAST else []
        for point in (*gap, (high, max(outer, 0.0)), (low, max(inner, 0.0))):
            if not outline or math.dist(point, outline[-1]) > 1e-4:
                outline.append(point)
    return tuple(outline)


def turns(outline: tuple[Point, ...]) -> Iterator[Point]:
    """Yield the heights between its ends at which an edge of an outline is seen, with the smaller radius there."""
    seen: dict[float, float] = {}
    for before, here, after in zip(outline, outline[1:], outline[2:], strict=False):
        one = math.atan2(here[1] - before[1], here[0] - before[0])
        other = math.atan2(after[1] - here[1], after[0] - here[0])
        turn = abs(math.degrees(math.remainder(other - one, math.tau)))
        if turn > _TURN:
            seen[here[0]] = min(seen.get(here[0], math.inf), here[1])
    top, bottom = outline[0][0], outline[-1][0]
    yield from ((z, r) for z, r in seen.items() if bottom + 1e-4 < z < top - 1e-4)


@lru_cache(maxsize=4096)
def _rings(form: Form) -> tuple[list[Point], ...]:
    return tuple(face.contour.polygon(_chord(form)) for face in forms.section(form).faces)


def _chord(form: Form) -> float:
    """Return how far a chord may leave its arc, mm."""
    room = extent(form)
    return _CHORD * max(room.length, 2 * room.reach)


def _radii(form: Form, z: float) -> list[float]:
    """Return the radii at which the edges of a part's cut faces cross a height, the largest first."""
    return sorted((r for ring in _rings(form) for r in crossings(ring, z)), reverse=True)
