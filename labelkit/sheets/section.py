"""The section of the assembled unit, as far as it is known where its parts stand, and what is not drawn and why."""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from functools import cached_property
from itertools import groupby, takewhile
from typing import Final

from labelkit.calc import seatingwords as reasons
from labelkit.calc.seating import Axis, Seating, in_order, seating
from labelkit.drawing.page import Box, Group, Item, moved
from labelkit.drawing.text import fit_line, wrap
from labelkit.drawing.text import line as text_line
from labelkit.language import gettext as _
from labelkit.language import noop
from labelkit.sheets import wording
from labelkit.sheets.explodedlayout import SCALES
from labelkit.sheets.explodedrows import LEAD, NAME, TAIL
from labelkit.sheets.jobview import JobView
from labelkit.sheets.legible import em
from labelkit.sheets.sectionfigure import Figure, figures, head, size

Sheet = tuple[tuple[str, str], list[Item]]
Placed = tuple[Figure, float, float]
# Words and their face.
Line = tuple[str, str]

# Nothing is drawn larger than it is, and what is smaller than this on paper is drawn larger than the unit, mm.
_LARGEST: Final = 1.0
_SMALL: Final = 60.0
_BESIDE: Final = 9.0
_BELOW: Final = 5.0
# The list of what is not drawn: capitals, height of a line, width of a column at least, between columns.
_CAP: Final = 1.8
_LINE: Final = 3.4
_COLUMN: Final = 80.0
_GAP: Final = 6.0
# Fewer lines than these are not begun below a figure; more than these no entry has.
_FEW: Final = 4
_MOST: Final = 200
_NOTHING: Final = noop(
    "No two parts can be shown together: nobody recorded what lies on what, or what they lie on cannot be drawn. "
    "The profile says it with sits.on, opens and form; labelkit check --hints tells what disagrees."
)


class SectionSheets:
    """The section of a job's unit.

    Args:
        view: the job.
        room: what a sheet has to give.
    """

    def __init__(self, view: JobView, room: Box) -> None:
        self._view, self._room = view, room

    @cached_property
    def seating(self) -> Seating:
        """Where the parts stand."""
        return seating(self._view.teardown, in_order(self._view.profile, self._view.teardown))

    def sheets(self) -> Iterator[Sheet]:
        """Yield the first and the last step of each sheet, and what is on it."""
        pages = self._pages()
        for placed in pages[:-1]:
            yield self._steps(placed), _drawn(placed)
        last = pages[-1] if pages else []
        items, top = _drawn(last), self._room.y
        if last:
            top = max(y + figure.height for figure, _, y in last) + _BELOW
        lines = self._list()
        columns = self._columns
        while lines or items:
            # As many lines as there is room for below the figures, the others on sheets of their own.
            rows = int((self._room.bottom - top) / _LINE)
            here = _taken(lines, rows, columns) if rows >= _FEW else []
            items += self._listed(here, columns, top)
            yield self._steps(last), items
            lines, items, top = _rest(lines, len(here)), [], self._room.y

    def _listed(self, lines: Sequence[Line], columns: int, top: float) -> list[Item]:
        """Return lines in columns of equal height."""
        lines, rows = _in_columns(lines, columns)
        found: list[Item] = []
        for number, (words, face) in enumerate(lines):
            column, row = divmod(number, rows)
            x = self._room.x + column * (self._room.width + _GAP) / columns
            found.append(text_line(words, x, top + (row + 1) * _LINE - 0.8, em(_CAP, face), face))
        return found

    def _steps(self, placed: Sequence[Placed]) -> tuple[str, str]:
        bins = self._view.teardown.bins
        shown = {piece.bin.step for figure, _, _ in placed for piece in figure.axis.seated}
        found = [each.step for each in bins if not shown or each.step in shown]
        return found[0], found[-1]

    # --- figures -----------------------------------------------------------------------------------------------------

    def _pages(self) -> list[list[Placed]]:
        """Return the figures on sheets, each beside or below others on the first sheet that has room."""
        pages: list[list[Placed]] = []
        shelves: list[_Shelf] = []
        drawn = [*self._figures()]
        # The unit first, then the tall ones, as figures of one height stand best side by side.
        for figure in [*drawn[:1], *sorted(drawn[1:], key=lambda each: -each.height)]:
            lowest = {each.page: each for each in shelves}
            free = (each for each in shelves if each.takes(figure, self._room, lowest=each is lowest[each.page]))
            shelf = next(free, None)
            if shelf is None:
                below = (each for each in lowest.values() if each.bottom + _BELOW + figure.height <= self._room.bottom)
                above = next(below, None)
                page = above.page if above else len(pages)
                shelf = _Shelf(page, self._room.x, above.bottom + _BELOW if above else self._room.y, 0.0)
                shelves.append(shelf)
                if not above:
                    pages.append([])
            pages[shelf.page].append((figure, shelf.x, shelf.y))
            shelf.x, shelf.height = shelf.x + figure.width + _BESIDE, max(shelf.height, figure.height)
        return [[*self._on_columns(placed)] for placed in pages]

    def _on_columns(self, placed: Sequence[Placed]) -> Iterator[Placed]:
        """Yield figures of a sheet moved to the columns of the list, where those that stand side by side have room."""
        pitch = (self._room.width + _GAP) / self._columns
        for _y, row in groupby(placed, key=lambda each: each[2]):
            beside = list(row)
            column, moved_to = 0, list[Placed]()
            for figure, _x, y in beside:
                moved_to.append((figure, self._room.x + column * pitch, y))
                column += math.ceil((figure.width + _GAP) / pitch - 1e-6)
            figure, x, _y = moved_to[-1]
            yield from moved_to if x + figure.width <= self._room.right + 1e-6 else beside

    def _figures(self) -> Iterator[Figure]:
        unit: tuple[float, str] | None = None
        for axis in self.seating.axes:
            words = _("{unit}, assembled").format(unit=self._view.profile.unit.name)
            if axis.why:
                base = f"{axis.base.step} {wording.short_name(axis.base.part)}"
                words = _("{part} and what belongs on it").format(part=base)
            words = fit_line(words, 0.6 * self._room.width, (em(NAME, "bold"), em(NAME, "bold")), "bold").string
            for scale in self._scales(axis, unit):
                drawn = figures(axis, words, scale, self._room.width)
                # Leaders that go far aside take more height.
                if all(figure.height <= self._room.height for figure in drawn):
                    break
            unit = unit or scale
            yield from drawn

    def _scales(self, axis: Axis, unit: tuple[float, str] | None) -> Sequence[tuple[float, str]]:
        """Return scales for an axis, the best first, never none.

        That is the largest at which it fits a sheet; but for what is drawn apart that of the unit, if it is large
        enough there.
        """
        length, reach = size(axis)
        wide, high = self._room.width - LEAD - TAIL, self._room.height - head(1) - 1.0
        fitting = [each for each in SCALES if length * each[0] <= wide and 2 * reach * each[0] <= high]
        fitting = [each for each in fitting if each[0] <= _LARGEST or max(length, 2 * reach) < _SMALL] or [SCALES[-1]]
        if unit is None:
            return fitting
        large = [each for each in fitting if each[0] >= unit[0] and max(length, 2 * reach) * each[0] >= _SMALL]
        return fitting[fitting.index(large[-1]) :] if large else fitting

    # --- what is not drawn -------------------------------------------------------------------------------------------

    def _list(self) -> list[Line]:
        """Return the lines of the list of what is not drawn, in the order of the first step with each reason."""
        found = self.seating
        named: dict[str, list[str]] = {}
        for each, why in found.aside:
            named.setdefault(why, []).append(f"{each.step_words} {wording.short_name(each.part)}")
        if inside := self._view.teardown.inside:
            named[reasons.CAPTURED] = [wording.short_name(each.part) for each in inside]
        width, letters = (self._room.width + _GAP) / self._columns - _GAP, em(_CAP)
        lines: list[Line] = []
        apart = [axis for axis in found.axes if axis.why]
        if apart:
            lines.append((_("DRAWN APART FROM THE UNIT, AND WHY"), "bold"))
        for axis in apart:
            told = f"{axis.base.step} {wording.short_name(axis.base.part)}: " + _(axis.why)
            lines += [(words, "regular") for words in wrap(told, width, letters, _MOST).lines]
        if not found.axes:
            lines += [(words, "bold") for words in wrap(_(_NOTHING), width, em(_CAP, "bold"), _MOST, "bold").lines]
        if named:
            lines.append((_("NOT DRAWN HERE, AND WHY"), "bold"))
        for why, names in named.items():
            heading = wrap(f"{wording.capital(_(why))}:", width, em(_CAP, "bold"), _MOST, "bold").lines
            lines += [(words, "bold") for words in heading]
            lines += [(words, "regular") for words in wrap(", ".join(names), width, letters, _MOST).lines]
        return lines

    @property
    def _columns(self) -> int:
        return max(1, int((self._room.width + _GAP) / (_COLUMN + _GAP)))


@dataclass(slots=True)
class _Shelf:
    """Figures side by side on a sheet: where the next one stands, and how high they are."""

    page: int
    x: float
    y: float
    height: float

    @property
    def bottom(self) -> float:
        """Their lower edge."""
        return self.y + self.height

    def takes(self, figure: Figure, room: Box, *, lowest: bool) -> bool:
        """Say whether one more has room; the lowest of a sheet may grow."""
        high = room.bottom - self.y if lowest else self.height
        return self.x + figure.width <= room.right + 1e-6 and figure.height <= high + 1e-6


def _drawn(placed: Sequence[Placed]) -> list[Item]:
    return [
        Group(tuple(figure.items()), f"figure {number}", None, moved(x, y))
        for number, (figure, x, y) in enumerate(placed, 1)
    ]


def _in_columns(lines: Sequence[Line], columns: int) -> tuple[list[Line], int]:
    """Return lines for columns of equal height, and that height; none ends with a heading."""
    rows = max(1, -(-len(lines) // columns))
    while True:
        filled: list[Line] = []
        for number, each in enumerate(lines):
            heads = len([*takewhile(lambda line: line[1] == "bold", lines[number:])])
            while 0 < heads < rows <= len(filled) % rows + heads:
                filled.append(("", "regular"))
            filled.append(each)
        if len(filled) <= rows * columns:
            return filled, rows
        rows += 1


def _taken(lines: list[Line], rows: int, columns: int) -> list[Line]:
    """Return as many of the lines as columns of so many rows take, without a heading at their end.

    >>> [words for words, _ in _taken([("A:", "bold"), ("a", "regular"), ("B:", "bold"), ("b", "regular")], 3, 1)]
    ['A:', 'a']
    """
    for count in range(min(len(lines), rows * columns), 0, -1):
        cut_behind_heading = count < len(lines) and lines[count - 1][1] == "bold"
        if not cut_behind_heading and _in_columns(lines[:count], columns)[1] <= rows:
            return lines[:count]
    return lines[:rows]


def _rest(lines: list[Line], count: int) -> list[Line]:
    """Return the lines behind so many; those that are cut from their heading have it again.

    >>> [words for words, _ in _rest([("A:", "bold"), ("a, b,", "regular"), ("c", "regular")], 2)]
    ['A:', 'c']
    """
    here, rest = lines[:count], lines[count:]
    if not here or not rest or "bold" in (here[-1][1], rest[0][1]):
        return rest
    while here and here[-1][1] != "bold":
        here = here[:-1]
    heading = takewhile(lambda line: line[1] == "bold", reversed(here))
    return [*reversed([*heading]), *rest]
