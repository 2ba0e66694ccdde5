"""One axis of the assembled unit: cut above it, seen from outside below it, every part with its reference.

The parts stand where `labelkit.calc.seating` puts them. What is cut is drawn before what lies inside it, whose view
hides the edges behind; what is seen from outside is drawn after it, and hides it. Neighbours are hatched differently.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from functools import cached_property
from graphlib import CycleError, TopologicalSorter
from typing import Final

from labelkit.calc.seating import Axis
from labelkit.calc.seatingpieces import Seated
from labelkit.drawing.page import Box, Group, Item, Path, line, opened
from labelkit.drawing.text import measure
from labelkit.forms.edges import crossings
from labelkit.language import gettext as _
from labelkit.sheets.axialframe import EDGE, Frame
from labelkit.sheets.axialview import axial_view
from labelkit.sheets.explodedballoon import CHAIN, HOLDS_DOT, circle, leader_end, title, up_arrow
from labelkit.sheets.explodedrows import LEAD, NAME, TAIL, TITLE
from labelkit.sheets.explodedslots import BALLOON, balloon_width
from labelkit.sheets.legible import em
from labelkit.sheets.sectionleaders import Aim, aims, circles, most_circles, rings_of, rows_of
from labelkit.sheets.silhouette import extent

# Directions of hatching, degrees, in the order in which neighbours take them.
_SLOPES: Final = (45.0, -45.0, 60.0, -30.0, 75.0, -15.0)
# Parts nearer to each other than this on paper are neighbours, mm.
_NEAR: Final = 0.3
_HAIR: Final = 1e-3  # of the axis, mm at 1:1
# Height of the slanting leaders at least, and over how far they go aside.
_BAND: Final = 7.0
_STEEP: Final = 0.3
_BETWEEN: Final = 1.0  # two rows of circles


@dataclass(frozen=True)
class Figure:
    """One drawing of an axis.

    Attributes:
        axis: what stands on it.
        words: its title.
        scale: of the drawing, and in words.
        aimed: the parts that have a circle here, by ascending x.
        room: the width of the sheet.
    """

    axis: Axis
    words: str
    scale: tuple[float, str]
    aimed: tuple[Aim, ...]
    room: float

    @cached_property
    def size(self) -> tuple[float, float]:
        """Length and largest radius of what it shows, at 1:1."""
        return size(self.axis)

    @cached_property
    def drawn(self) -> Box:
        """The box of the drawing on paper, in the figure's frame."""
        length, reach = self.size
        return Box(LEAD, head(self._rows, self._band), length * self.scale[0], 2 * reach * self.scale[0])

    @cached_property
    def width(self) -> float:
        """Its width on paper."""
        named = measure(self.words, "bold", em(NAME, "bold"))[0]
        last = self._circles[-1] + balloon_width(self.aimed[-1].bin.step) / 2 + 0.4 if self.aimed else 0.0
        return max(LEAD + self.size[0] * self.scale[0] + TAIL, last, min(named, self.room))

    @property
    def height(self) -> float:
        """Its height on paper."""
        return self.drawn.bottom + 1.0

    @property
    def _axis_y(self) -> float:
        """How far below its top the axis lies."""
        return self.drawn.y + self.drawn.height / 2

    @cached_property
    def _rows(self) -> int:
        return rows_of(self.aimed, self.room)

    @cached_property
    def _circles(self) -> list[float]:
        return circles(self.aimed, LEAD, self.room)

    @cached_property
    def _band(self) -> float:
        """Height of the slanting leaders: the farther they go aside, the higher, so that they keep apart."""
        aside = [abs(x - LEAD - aim.x) for x, aim in zip(self._circles, self.aimed, strict=True)]
        return max(_BAND, _STEEP * max(aside, default=0.0))

    def items(self) -> Iterator[Item]:
        """Yield all of it, in its own frame."""
        yield from title(self.words, self.scale[1], self.scale[0])
        yield Group(tuple(self._parts()), "parts")
        y = self._axis_y
        yield Group((line(2.0, y, self.drawn.right + TAIL, y, CHAIN), *up_arrow(y)), "axis")
        yield from self._references()

    # --- parts -------------------------------------------------------------------------------------------------------

    def _parts(self) -> Iterator[Item]:
        pieces = self.axis.seated
        slopes = self._slopes()
        for above in (False, True):
            for number in _in_view(pieces, cut=above):
                yield self._piece(pieces[number], slopes[number], above=above)

    def box(self, piece: Seated) -> Box:
        """Return the box of a piece on paper, in the figure's frame."""
        scale, (length, _) = self.scale[0], self.size
        room = extent(piece.form)
        left = self.drawn.x + (length - piece.z - room.length) * scale
        return Box(left, self._axis_y - room.reach * scale, room.length * scale, 2 * room.reach * scale)

    def _piece(self, piece: Seated, slope: float, *, above: bool) -> Group:
        """Return the half of a piece that is above the axis, or the one below it."""
        box, scale = self.box(piece), self.scale[0]
        frame = Frame(box.x, self._axis_y, scale, piece.flipped, slope, half="cut" if above else "outside", packed=True)
        half = Box(0.0, 0.0, self.width + 1.0, self._axis_y) if above else None
        clip = half or Box(0.0, self._axis_y, self.width + 1.0, self.drawn.height)
        name = f"{'cut' if above else 'outside'} {piece.bin.step}"
        return Group(tuple(axial_view(piece.form, frame)), name, box, clip=clip if piece.form.uncut else None)

    def _slopes(self) -> list[float]:
        """Return a direction of hatching for each piece, other than those of its neighbours."""
        boxes = [self.box(piece).inset(-_NEAR / 2) for piece in self.axis.seated]
        found: list[float] = []
        for number, box in enumerate(boxes):
            near = [found[other] for other in range(number) if boxes[other].overlaps(box)]
            found.append(min(_SLOPES, key=lambda slope: (near.count(slope), _SLOPES.index(slope))))
        return found

    # --- references --------------------------------------------------------------------------------------------------

    def _references(self) -> Iterator[Item]:
        level = self.drawn.y - 1.0
        for number, (aim, x) in enumerate(zip(self.aimed, self._circles, strict=True)):
            # Of two rows the lower one takes the first: leaders from the upper one pass between its circles.
            high = self._rows == 2 and number % 2 == 1
            middle = TITLE + BALLOON + (2 * BALLOON + _BETWEEN) * (self._rows == 2 and not high)
            under = TITLE + 2 * BALLOON + (2 * BALLOON + _BETWEEN) * (self._rows == 2)
            end_x, dot = self.drawn.x + aim.x, aim.room >= HOLDS_DOT
            end_y = self._axis_y - (aim.r if dot else aim.top)
            path = opened([(x, middle + BALLOON), (x, under), (end_x, level), (end_x, end_y)])
            yield Group((Path(path, EDGE), leader_end(end_x, end_y, dot=dot)), f"leader {aim.bin.step}")
            yield circle(aim.bin.step, aim.bin.step, x, middle)


def _in_view(pieces: Sequence[Seated], *, cut: bool) -> list[int]:
    """Return in which order pieces are drawn, those that hide others last.

    Args:
        pieces: on one axis.
        cut: on the side that is cut, where what is cut hides nothing that is inside it.
    """
    after: dict[int, set[int]] = {number: set() for number in range(len(pieces))}
    by_z = sorted(after, key=lambda number: pieces[number].z)
    for place, one in enumerate(by_z):
        end = pieces[one].z + extent(pieces[one].form).length
        for other in by_z[place + 1 :]:
            if pieces[other].z > end - _HAIR:
                break
            low, high = pieces[other].z, min(end, pieces[other].z + extent(pieces[other].form).length)
            inner, outer = sorted((one, other), key=lambda number: _reach(pieces[number], low, high))
            first, last = (outer, inner) if cut and not pieces[outer].form.uncut else (inner, outer)
            after[last].add(first)
    try:
        return [*TopologicalSorter(after).static_order()]
    except CycleError:
        return sorted(after, key=lambda number: extent(pieces[number].form).reach, reverse=cut)


def _reach(piece: Seated, low: float, high: float) -> float:
    """Return the largest radius of a piece between two heights on its axis, mm."""
    rings, height = rings_of(piece.form)
    ends = [height - (z - piece.z) if piece.flipped else z - piece.z for z in (low + _HAIR, high - _HAIR)]
    bottom, top = min(ends), max(ends)
    found = [0.0]
    for ring in rings:
        found += [r for r, z in ring if bottom <= z <= top]
        found += [*crossings(ring, bottom), *crossings(ring, top)]
    return max(found)


def head(rows: int, band: float = _BAND) -> float:
    """Return how far below the top of a figure its drawing begins, with so many rows of circles over its leaders."""
    return TITLE + 2 * BALLOON * rows + _BETWEEN * (rows - 1) + band


def size(axis: Axis) -> tuple[float, float]:
    """Return length and largest radius of what stands on an axis, at 1:1."""
    length = max(piece.z + extent(piece.form).length for piece in axis.seated)
    return length, max(extent(piece.form).reach for piece in axis.seated)


def figures(axis: Axis, words: str, scale: tuple[float, str], room: float) -> list[Figure]:
    """Return an axis as often as it has to be drawn so that each of its parts has a circle."""
    pieces: Sequence[Seated] = axis.seated
    drawings = aims(pieces, size(axis)[0], scale[0], most_circles(pieces, room))
    named = [words] + [_("{part}, with the other references").format(part=words)] * (len(drawings) - 1)
    return [Figure(axis, name, scale, aimed, room) for name, aimed in zip(named, drawings, strict=True)]
