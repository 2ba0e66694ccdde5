"""Leaders of a section: where each meets its part, and where its circle stands, so that no two of them cross.

A leader falls straight from a level line over the drawing to its part, and slants between that line and its circle. The
circles stand in the order of the places below them, so that neither the straight nor the slanting pieces cross.
"""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from functools import lru_cache
from itertools import accumulate, pairwise
from typing import Final

from labelkit import forms
from labelkit.calc.seatingpieces import Seated
from labelkit.calc.steps import Bin
from labelkit.forms.edges import crossings
from labelkit.forms.geometry import Point
from labelkit.model.formbase import Form
from labelkit.sheets.explodedslots import BALLOON, balloon_width

# Leaders nearer to each other than this cannot be told apart, mm; farther apart than that there is no gain.
_LEAST: Final = 0.8
_WELL: Final = 2.5
# Between circles, and between a circle and the leader of another.
_APART: Final = 1.0
# Where along a part its leader may end, the best first.
_SHARES: Final = (0.5, 0.38, 0.62, 0.26, 0.74, 0.14, 0.86)


@dataclass(frozen=True, slots=True)
class Aim:
    """Where a leader ends, on paper.

    Attributes:
        bin: of the part.
        x: from the left end of the drawing, mm.
        r: distance from the axis, to the middle of the material there, mm.
        top: to its outer edge.
        room: the smaller of how long and how deep the material is there.
    """

    bin: Bin
    x: float
    r: float
    top: float
    room: float


def aims(pieces: Sequence[Seated], length: float, scale: float, most: int) -> list[tuple[Aim, ...]]:
    """Return where the leaders of all parts end, in as many drawings as they need to be told apart, by ascending x.

    Args:
        pieces: on one axis.
        length: of the axis at 1:1; z = length is at the left end.
        scale: of the drawing.
        most: how many circles a drawing has room for.
    """
    open_: dict[str, list[Aim]] = {}
    for piece in pieces:
        open_.setdefault(piece.bin.step, []).extend(_ends(piece, length, scale))
    left = sorted(open_.values(), key=lambda ends: max(end.x for end in ends) - min(end.x for end in ends))
    drawings = []
    while left:
        taken: list[Aim] = []
        later = []
        for ends in left:
            best = max(ends, key=lambda end: min([_WELL, *(abs(end.x - other.x) for other in taken)]))
            crowded = any(abs(best.x - other.x) < _LEAST for other in taken)
            if len(taken) >= most or crowded:
                later.append(ends)
            else:
                taken.append(best)
        drawings.append(tuple(sorted(taken, key=lambda end: end.x)))
        left = later
    return drawings


def _ends(piece: Seated, length: float, scale: float) -> Iterator[Aim]:
    """Yield the places at which a leader may end in a piece, the best first."""
    rings, height = rings_of(piece.form)
    for share in _SHARES:
        z = share * height
        spans = _spans(rings, height - z if piece.flipped else z)
        if not spans:
            continue
        low, high = max(spans, key=lambda span: span[1] - span[0])
        room = min(high - low, height) * scale
        yield Aim(piece.bin, (length - piece.z - z) * scale, (low + high) / 2 * scale, high * scale, room)


@lru_cache(maxsize=4096)
def rings_of(form: Form) -> tuple[tuple[tuple[Point, ...], ...], float]:
    """Return the cut faces as polygons, and how high the part is."""
    section = forms.section(form)
    return tuple(tuple(face.contour.polygon(0.05)) for face in section.faces), section.height


def _spans(rings: Sequence[Sequence[Point]], z: float) -> list[tuple[float, float]]:
    """Return from which to which radius there is material at a height, on the side that is cut."""
    found = []
    for ring in rings:
        crossed = sorted(crossings(ring, z))
        found += [(max(low, 0.0), high) for low, high in zip(crossed[::2], crossed[1::2], strict=False) if high > 0]
    return found


def rows_of(aimed: Sequence[Aim], width: float) -> int:
    """Return in how many rows the circles stand: one where that has room for them, else two."""
    return 1 if math.fsum(balloon_width(aim.bin.step) + _APART for aim in aimed) <= width else 2


def most_circles(pieces: Sequence[Seated], width: float) -> int:
    """Return for how many circles two rows of this width have room, at least one."""
    widest = max(balloon_width(piece.bin.step) for piece in pieces)
    return max(1, int((width - widest) / _pitch(widest)))


def _pitch(widest: float) -> float:
    """Return the distance of circles that stand in two rows by turns, so that leaders pass between them."""
    return max((widest + _APART) / 2, widest / 2 + 0.7)


def circles(aimed: Sequence[Aim], offset: float, width: float) -> list[float]:
    """Return the x of each circle, as near to its part as the others allow.

    Args:
        aimed: by ascending x.
        offset: of the left end of the drawing.
        width: all circles stand between 0 and this.
    """
    sizes = [balloon_width(aim.bin.step) for aim in aimed]
    if rows_of(aimed, width) == 1:
        steps = [(a + b) / 2 + _APART for a, b in pairwise(sizes)]
    else:
        steps = [_pitch(max(sizes))] * (len(sizes) - 1)
    before = [*accumulate(steps, initial=0.0)]
    edge = max(max(sizes) / 2, BALLOON)
    level = _rising([aim.x + offset - far for aim, far in zip(aimed, before, strict=True)])
    most = max(width - edge - before[-1], edge)
    return [min(max(x, edge), most) + far for x, far in zip(level, before, strict=True)]


def _rising(wanted: Sequence[float]) -> list[float]:
    """Return the rising numbers that are nearest to these in the mean (isotonic regression, as in any textbook).

    >>> _rising([1.0, 5.0, 3.0])
    [1.0, 4.0, 4.0]
    """
    runs: list[tuple[float, int]] = []
    for value in wanted:
        runs.append((value, 1))
        while len(runs) > 1 and runs[-2][0] > runs[-1][0]:
            (a, m), (b, n) = runs[-2:]
            runs[-2:] = [((a * m + b * n) / (m + n), m + n)]
    return [value for value, count in runs for _ in range(count)]
