"""A tray at 1:1 on office paper: sheets that overlap, with crosses to lay them on each other.

The sheets of the front row are laid down first, from the left; every other one is cut along its dashed lines and laid
with the cut edge on the crosses of the sheet to its left and in front of it. Rulers and check crosses stand left and
below of what a sheet shows, where a cut takes them away.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from typing import Final

from labelkit.calc.tiling import Tiling, tile
from labelkit.calc.trays import LaidTray, TrayPlan
from labelkit.drawing.page import BLACK, Box, Group, Item, Page, Pen, Text, line, moved, rectangle
from labelkit.drawing.text import fit_fullest, fit_line, size_for_cap, wrap
from labelkit.drawing.text import line as text_line
from labelkit.errors import CapacityError
from labelkit.language import gettext as _
from labelkit.model.media import Paper
from labelkit.model.printer import CHECK_MM, Factors
from labelkit.sheets import wording
from labelkit.sheets.jobview import JobView
from labelkit.sheets.legible import LEAST, em
from labelkit.sheets.ruler import ARM, cross, ruler_x, ruler_y
from labelkit.sheets.traydrawing import tray_drawing

# Border that office printers leave free, mm. Common practice, no source.
MARGIN: Final = 7.0
OVERLAP: Final = 10.0
# Left and below of the window: rulers, check crosses and words.
_STRIP: Final = 12.0
# What is shown beyond the walls.
_BEYOND: Final = 1.0
_CUT: Final = Pen(0.18, dash=(3.0, 1.5))
# From the ends of a seam to its crosses, mm, where no words are in their way, and at least.
_INSET: Final = 14.0
_LEAST_INSET: Final = ARM + 1.0
_GAP: Final = 0.6  # between a cross and words, mm
# Below the tray on the page of a plotter: which tray it is.
_FOOT: Final = 20.0


class TrayTiles:
    """The 1:1 sheets of a job's trays.

    Args:
        view: the job.
        plan: its trays.
        paper: what they are printed on.
        factors: what makes prints true, of upright sheets and of sheets on their long side; None: not to be used.

    Raises:
        CapacityError: the paper is too small.
    """

    def __init__(
        self,
        view: JobView,
        plan: TrayPlan,
        paper: Paper,
        factors: tuple[Factors | None, Factors | None] = (Factors(), Factors()),
    ) -> None:
        self.view, self.plan, self.paper, self.factors = view, plan, paper, factors
        if min(paper.size_mm) < CHECK_MM + 2 * (MARGIN + ARM) + 4:
            raise CapacityError(f"paper {paper.name}: too small for 1:1 sheets; use --map-only or a larger --paper")

    def tiling(self, tray: LaidTray) -> Tiling:
        """Return how a tray is cut: only where things lie on it."""
        things = [
            (x, y, width + 2 * _BEYOND, depth + 2 * _BEYOND) for x, y, width, depth in (p.cell for p in tray.places)
        ]
        ways = zip((False, True), self.factors, strict=True)
        windows = {lying: self._window(lying, own) for lying, own in ways if own is not None}
        width, depth = tray.stock.size_mm
        walls = (0, 0, width, 0), (0, depth, width, depth), (0, 0, 0, depth), (width, 0, width, depth)
        lines = [(x1 + _BEYOND, y1 + _BEYOND, x2 + _BEYOND, y2 + _BEYOND) for x1, y1, x2, y2 in (*tray.rules, *walls)]
        return tile(things, windows, OVERLAP, lines)

    def sheets(self, tray: LaidTray) -> int:
        """Return how many sheets a tray takes."""
        return self.tiling(tray).sheets

    def pages(self) -> Iterator[Page]:
        """Yield the sheets of all trays, row by row from the back, each from the left."""
        for tray in self.plan.trays:
            tiling = self.tiling(tray)
            width, depth = tray.stock.size_mm
            wall = Box(-_BEYOND, -_BEYOND, width + 2 * _BEYOND, depth + 2 * _BEYOND)
            # The drawing's frame begins a little outside the tray's walls.
            whole = Group(tray_drawing(tray), f"tray {tray.letter}", wall, moved(_BEYOND, _BEYOND), repeated=True)
            taken = tuple(_said(tray))
            for row, count in enumerate(tiling.counts):
                for column in range(count):
                    drawn = (whole, *_seams(tiling, row, column, taken))
                    yield self._page(tray, tiling, drawn, row, column)

    def _page_size(self, landscape: bool) -> tuple[float, float]:
        short, long = sorted(self.paper.size_mm)
        return (long, short) if landscape else (short, long)

    def _window(self, landscape: bool, factors: Factors) -> tuple[float, float]:
        """Return what a sheet shows of the drawing, mm; a sheet that is enlarged shows less."""
        width, height = factors.window(*self._printable(landscape))
        return width - _STRIP, height - _STRIP

    def _printable(self, landscape: bool) -> tuple[float, float]:
        width, height = self._page_size(landscape)
        return width - 2 * MARGIN, height - 2 * MARGIN

    def _page(self, tray: LaidTray, tiling: Tiling, drawn: tuple[Item, ...], row: int, column: int) -> Page:
        width, height = self._page_size(tiling.landscape)
        factors = self.factors[tiling.landscape] or Factors()
        window = Box(tiling.columns[column], tiling.rows[row], *tiling.window)
        place = moved(_STRIP - window.x, -window.y)
        items: list[Item] = [
            Group((Group(drawn, "window", None, clip=window),), "", None, place),
            *self._strips(tray, tiling, row, column),
        ]
        a, _, _, d, _, _ = factors.matrix
        sheet = Group(tuple(items), "sheet", None, (a, 0.0, 0.0, d, MARGIN, MARGIN))
        return Page(width, height, (sheet,), f"tray {tray.letter} row {row + 1} column {column + 1}")

    def _strips(self, tray: LaidTray, tiling: Tiling, row: int, column: int) -> Iterator[Item]:
        """Yield what stands left of and below the window: check crosses, rulers, names, the key map."""
        width, height = tiling.window
        x, y = ARM + 0.5, height + _STRIP - ARM - 0.5
        yield cross(x, y, "check corner")
        yield cross(x + CHECK_MM, y, "check x")
        yield cross(x, y - CHECK_MM, "check y")
        yield ruler_x(x + 20, height + 0.8)
        yield ruler_y(_STRIP - 0.2, y - 20)
        foot = Box(x + CHECK_MM + 7, height + 1.6, width + _STRIP - x - CHECK_MM - 7, _STRIP - 2.2)
        key, right = _key(tiling, row, column, foot)
        yield key
        top = y - CHECK_MM - 8
        yield Group(tuple(self._words(tray, tiling, row, column, top)), "words", None, (0, -1, 1, 0, 0, top))
        if tiling.landscape:
            said = wrap(_todo(tiling, row, column), foot.right - right - 3, em(1.8), 3)
            for number, words in enumerate(said.lines):
                yield text_line(words, right + 3, foot.y + 1.8 + number * 3.2, em(1.8))

    def _words(self, tray: LaidTray, tiling: Tiling, row: int, column: int, room: float) -> Iterator[Item]:
        """Yield the words that read upwards beside the window; x runs along it, y across.

        On a sheet on its long side there is little room there; what to do with it then stands at its foot, and of whose
        it is the job is what is always told: sheets of two jobs lie on one bench.
        """
        header, job = self.view.profile.unit, self.view.job
        rows, columns = f"{row + 1}/{len(tiling.rows)}", f"{column + 1}/{tiling.counts[row]}"
        name = _("TRAY {letter}  row {row}  column {column}").format(letter=tray.letter, row=rows, column=columns)
        first = fit_line(name, room, (size_for_cap(3.4, "bold"), em(LEAST, "bold")), "bold")
        yield first.at(0, 4.6)
        scale, its = _("1:1, print at 100 %"), wording.job_words(job.number)
        ways = [f"{scale}   {whose}" for whose in (wording.whose_words(header, its), f"{header.mark}, {its}")]
        yield fit_fullest((*ways, f"{its}   {scale}"), room, (size_for_cap(2.0), em(LEAST))).at(0, 7.8)
        if not tiling.landscape:
            yield fit_line(_todo(tiling, row, column), room, (size_for_cap(1.8), em(LEAST))).at(0, 10.8)


def _todo(tiling: Tiling, row: int, column: int) -> str:
    front, left = tiling.has(row + 1, column), column > 0
    sheets = _(" and ").join([_("the sheet on its left")] * left + [_("the sheet in front")] * front)
    if not sheets:
        return _("lay this sheet down first; check crosses 140.0 mm apart both ways")
    return _("cut along the dashes, lay on the crosses of {sheets}, tape").format(sheets=sheets)


def _said(tray: LaidTray) -> Iterator[Box]:
    """Yield what words take on a tray, in the drawing's frame: no cross may run through them."""
    width, depth = tray.stock.size_mm
    for item, _matrix in Page(width, depth, tray_drawing(tray)).walk():
        if isinstance(item, Text):
            yield Box(item.box.x + _BEYOND, item.box.y + _BEYOND, item.box.width, item.box.height)
    for x, y, wide, high in (place.flag for place in tray.places):
        yield Box(x + _BEYOND, y + _BEYOND, wide, high)


def _seams(tiling: Tiling, row: int, column: int, taken: Sequence[Box]) -> Iterator[Item]:
    """Yield the crosses of the seams of one sheet, and lines where it is cut, in the drawing's frame."""
    left, top = tiling.columns[column], tiling.rows[row]
    right, bottom = left + tiling.window[0], top + tiling.window[1]
    # A cut takes away what is left of it, or in front of it: no cross may stand there.
    low = tiling.column_seams[column - 1] if column else left
    for number in (column - 1, column):
        if tiling.has(row, number) and tiling.has(row, number + 1):
            x = tiling.column_seams[number]
            front = tiling.row_seams[row] if tiling.has(row + 1, number) else bottom
            spans = [(each.y, each.bottom) for each in taken if each.x < x + ARM and each.right > x - ARM]
            yield from (cross(x, y, "match") for y in _along(top, front, spans))
    if column:
        yield line(low, top, low, bottom, _CUT)
    if tiling.has(row + 1, column + 1) and not tiling.has(row, column + 1):
        # What no sheet covers again must not cover the one in front with its white border.
        yield line(right, top, right, bottom, _CUT)
    for number in (row - 1, row):
        if tiling.has(number, column) and tiling.has(number + 1, column):
            y = tiling.row_seams[number]
            spans = [(each.x, each.right) for each in taken if each.y < y + ARM and each.bottom > y - ARM]
            yield from (cross(x, y, "match") for x in _along(low, right, spans))
    if tiling.has(row + 1, column):
        yield line(left, tiling.row_seams[row], right, tiling.row_seams[row], _CUT)


def _along(start: float, end: float, taken: Sequence[tuple[float, float]]) -> tuple[float, ...]:
    """Return where the crosses of a seam stand: as far apart as they can, three of them where it is long.

    Args:
        start: of the seam.
        end: of the seam.
        taken: from where to where there are words.
    """
    first, last = start + _INSET, end - _INSET
    wanted = (first, (first + last) / 2, last) if last - first > 150 else (first, last)
    # None comes near another one.
    most = (last - first) / (2 * len(wanted))
    ends = [(low - ARM - _GAP, high + ARM + _GAP) for low, high in taken]
    found = []
    for at in wanted:
        free = [
            each
            for each in (at, *(edge for span in ends for edge in span))
            if abs(each - at) <= most and start + _LEAST_INSET <= each <= end - _LEAST_INSET
            if not any(low < each < high for low, high in ends)
        ]
        found.append(min(free, key=lambda each: abs(each - at), default=at))
    return tuple(found)


def _key(tiling: Tiling, row: int, column: int, room: Box) -> tuple[Group, float]:
    """Return a small map of all sheets, this one in black, and its right edge."""
    columns, rows = len(tiling.columns), len(tiling.rows)
    width, height = tiling.window
    scale = min(room.width / (columns * width), room.height / (rows * height))
    items: list[Item] = []
    for r in range(rows):
        for c in range(tiling.counts[r]):
            box = Box(room.x + c * width * scale, room.y + r * height * scale, width * scale, height * scale)
            items.append(rectangle(box, Pen(0.2), BLACK if (r, c) == (row, column) else None))
    return Group(tuple(items), "key"), room.x + columns * width * scale


def whole_tray(view: JobView, plan: TrayPlan, tray: LaidTray) -> Page:
    """Return a tray at 1:1 on one page, for a plotter or a cutter, in the tray's own frame; words stand below it."""
    width, depth = tray.stock.size_mm
    header, job = view.profile.unit, view.job
    items: list[Item] = list(tray_drawing(tray))
    name = _("TRAY {letter}").format(letter=tray.letter)
    letter = fit_line(name, width * 0.4, (size_for_cap(11, "bold"), em(LEAST, "bold")), "bold")
    items.append(letter.at(4, depth + 15))
    left = 4 + letter.width + 8
    words = (
        (_("of {count}").format(count=len(plan.trays)) + f"   {header.name}", 3.6, "bold"),
        (wording.whose_words(header, wording.job_words(job.number), tray.stock.name, "1:1"), 2.8, "regular"),
    )
    y = depth + 4.0
    for text, cap, face in words:
        y += cap
        fitted = fit_line(text, width - left - 4, (size_for_cap(cap, face), em(LEAST, face)), face)
        items.append(fitted.at(left, y))
        y += cap * 0.9
    return Page(width, depth + _FOOT, tuple(items), f"tray {tray.letter}")


def sheet_words(tiles: TrayTiles) -> str:
    """Return how many sheets there are, before anybody prints them."""
    counts = {tray.letter: tiles.sheets(tray) for tray in tiles.plan.trays}
    each = ", ".join(f"{letter} {count}" for letter, count in counts.items())
    total = sum(counts.values())
    return f"{total} {'sheet' if total == 1 else 'sheets'} of {tiles.paper.name} at 1:1 (tray {each})"
