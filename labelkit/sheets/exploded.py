"""The exploded view: the unit coming apart along its axis in removal order, from left to right.

Every part has its own stretch of the axis, so that no two touch; its step stands in a circle straight above it, so that
the steps are read in order and no leader crosses another (ISO 6433, from memory). Screws and other small hardware are
drawn off the axis, with an arrow to what they belong to. A sub-assembly is bracketed and shown again, opened, on an
axis of its own.
"""

from __future__ import annotations

import math
from collections.abc import Iterator
from functools import cached_property
from typing import Final

from labelkit.drawing.page import (
    BLACK,
    WHITE,
    Box,
    Group,
    Item,
    Page,
    Path,
    Pen,
    closed,
    line,
    moved,
    opened,
    rectangle,
)
from labelkit.drawing.text import line as text_line
from labelkit.language import gettext as _
from labelkit.language import noop
from labelkit.model.media import Paper
from labelkit.model.ringform import ORing
from labelkit.sheets.axialframe import EDGE, Frame
from labelkit.sheets.axialview import axial_view
from labelkit.sheets.explodedballoon import CHAIN, HOLDS_DOT, circle, leader_end, title, up_arrow
from labelkit.sheets.explodedlayout import Layout
from labelkit.sheets.explodedmarks import legend, legend_height, mark
from labelkit.sheets.explodedpacking import Placed, Sheet
from labelkit.sheets.explodedrows import LEAD, TITLE, Row
from labelkit.sheets.explodedslots import (
    ARROW,
    BALLOON,
    BRACKET,
    GAP,
    OPENS,
    ROW,
    SPACE,
    Slot,
)
from labelkit.sheets.explodedstands import doubt
from labelkit.sheets.jobview import JobView
from labelkit.sheets.legible import LEAST, em
from labelkit.sheets.partslist import parts_list
from labelkit.sheets.section import SectionSheets
from labelkit.sheets.sheethead import head
from labelkit.sheets.worksheet import MARGIN, lying, page_words

_HEAD: Final = 12.0
# The smallest paper, lying, mm: A6.
_LEAST_PAPER: Final = (148.0, 105.0)
_OFF_CHAIN: Final = Pen(0.15, dash=(3.0, 0.8, 0.8, 0.8))
# Sub-assemblies that the head of a sheet names one by one.
_NAMED: Final = 5
_EXPLODED: Final = noop("EXPLODED VIEW")
_PARTS: Final = noop("PARTS LIST")
_SECTION: Final = noop("SECTION, ASSEMBLED")


class ExplodedView:
    """The exploded view of a job.

    Args:
        view: the job.
        paper: what its pages are printed on, lying.

    Raises:
        CapacityError: the paper is too small.
        UsageError: the options leave no part.
    """

    def __init__(self, view: JobView, paper: Paper) -> None:
        self.view = view
        self.width, self.height = lying(paper, "an exploded view", _LEAST_PAPER, "a6")
        self._foot = legend_height(view, self.width - 2 * MARGIN) + 1.6
        self.room = Box(MARGIN, MARGIN + _HEAD, self.width - 2 * MARGIN, self.height - 2 * MARGIN - _HEAD - self._foot)
        self._layout = Layout(view, self.room, f"paper {paper.name}")

    def pages(self) -> Iterator[Page]:
        """Yield the drawing, then the parts list, then the section of the assembled unit."""
        on = {slot.bin.step: number for number, sheet in enumerate(self._sheets, 1) for slot in _slots(sheet)}
        drawn = [(_span(sheet), [*self._drawn(sheet)]) for sheet in self._sheets]
        room = Box(self.room.x, self.room.y, self.room.width, self.room.height + self._foot)
        lists = [(_steps(*ends), items) for ends, items in parts_list(self.view, room, on)]
        joined = [(_steps(*ends), items) for ends, items in SectionSheets(self.view, room).sheets()]
        kinds = ((_EXPLODED, drawn), (_PARTS, lists), (_SECTION, joined))
        sheets = [(name, *sheet) for name, found in kinds for sheet in found]
        for number, (words, steps, items) in enumerate(sheets, 1):
            top = self._head(_(words), steps, page_words(number, len(sheets)))
            yield Page(self.width, self.height, (*top, *items), f"{words.lower()} {number}")

    def whole(self) -> Page:
        """Return all rows on one page as long as the unit, none of them broken."""
        sheet, width, height = self._layout.unbroken()
        width, height = max(width + 2 * MARGIN, self.width), height + 2 * MARGIN + _HEAD + self._foot
        items = [*self._head(_(_EXPLODED), _span(sheet), _("in one piece"), width)]
        items += self._drawn(sheet, Box(MARGIN, MARGIN, width - 2 * MARGIN, height - 2 * MARGIN))
        return Page(width, height, tuple(items), "exploded")

    @cached_property
    def _sheets(self) -> list[Sheet]:
        return self._layout.sheets()

    def _head(self, title: str, shows: str, turn: str, width: float | None = None) -> Iterator[Item]:
        page = Box(MARGIN, MARGIN, (width or self.width) - 2 * MARGIN, _HEAD)
        told = _("LEFT = UP ({end}): parts come off from the left and go back from the right")
        up = told.format(end=self.view.profile.unit.up)
        titles = [_(each) for each in (_EXPLODED, _PARTS, _SECTION)]
        yield from head(self.view, title, page, turn, more=[up], shows=shows, titles=titles)

    def _drawn(self, sheet: Sheet, page: Box | None = None) -> Iterator[Item]:
        """Yield the rows of a sheet and the legend of its marks."""
        for placed in sheet:
            yield Group(tuple(self._row(placed.row)), _name(placed), None, moved(placed.x, placed.y))
        page = page or Box(MARGIN, MARGIN, self.width - 2 * MARGIN, self.height - 2 * MARGIN)
        yield from legend(
            self.view, [*_slots(sheet)], Box(page.x, page.bottom - self._foot + 1.6, page.width, self._foot - 1.6)
        )

    # --- one row -----------------------------------------------------------------------------------------------------

    def _row(self, row: Row) -> Iterator[Item]:
        """Yield a row in its own frame: title, parts, axis, circles with the steps."""
        if row.titled:
            yield from _title(row)
        x = LEAD
        for number, (slot, (left, right)) in enumerate(zip(row.slots, row.sides, strict=True), row.first):
            items = self._part(row, slot, 45.0 if number % 2 else -45.0, (x + left, 2 * min(left, right)))
            yield Group(tuple(items), f"part {slot.bin.step}")
            x += left + right
        yield Group(tuple(_axis(row)), "axis")

    def _part(self, row: Row, slot: Slot, slope: float, place: tuple[float, float]) -> Iterator[Item]:
        """Yield a part with its circle and its marks.

        Args:
            row: where it stands.
            slot: the part.
            slope: of its hatching, degrees.
            place: x of its circle, and how wide its marks may be.
        """
        step, axis, scale, (x, width) = slot.bin.step, row.axis, row.strip.scale, place
        box = row.box(slot)
        along, deep, thick = slot.lands(scale)
        view = Box(x - along, axis + box.y, box.width, box.height)
        if slot.stands != "axis":
            yield Group(tuple(_line_of(slot, view, axis)), f"line {step}")
        yield Group(tuple(_view(slot, view, scale, slope)), f"view {step}", view)
        yield from _balloon(slot, x, TITLE * row.titled + BALLOON, view.y + deep, _inset(slot, view, thick))
        top, bottom = slot.foot(box, width)
        foot = Box(x - width / 2, axis + top, width, bottom - top)
        yield Group(tuple(_marks(slot, view, foot)), f"marks {step}", foot)


def _name(placed: Placed) -> str:
    return f"row {placed.row.slots[0].bin.step}"


def _slots(sheet: Sheet) -> Iterator[Slot]:
    for placed in sheet:
        yield from placed.row.slots


def _span(sheet: Sheet) -> str:
    """Return what is on a sheet, in words: `steps 1 to 14; 8, 11 opened`."""
    rows = [placed.row for placed in sheet]
    unit = [slot.bin.step for row in rows if row.strip.holder is None for slot in row.slots]
    opened = list(dict.fromkeys(row.strip.holder.step for row in rows if row.strip.holder))
    parts = [_steps(unit[0], unit[-1])] if unit else []
    if opened:
        names = ", ".join(opened) if len(opened) <= _NAMED else _("{count} sub-assemblies").format(count=len(opened))
        parts.append(_("{steps} opened").format(steps=names))
    return "; ".join(parts)


def _steps(first: str, last: str) -> str:
    if first == last:
        return _("step {step}").format(step=first)
    return _("steps {first} to {last}").format(first=first, last=last)


def _title(row: Row) -> Iterator[Item]:
    """Yield what a row shows, its scale and a bar of a round length."""
    yield from title(row.title, row.strip.words, row.strip.scale if row.strip.drawn else None)


def _axis(row: Row) -> Iterator[Item]:
    """Yield the axis with the arrow that points up, and a break where it goes on."""
    y = row.axis
    yield line(2.0, y, row.length, y, CHAIN)
    yield from up_arrow(y)
    for goes, x in ((row.went_on, LEAD - 2.0), (row.goes_on, row.length - 1.4)):
        if goes:
            ends = [(x, y - 5), (x, y - 1.5), (x - 1.2, y - 0.6), (x + 1.2, y + 0.6), (x, y + 1.5), (x, y + 5)]
            yield Path(opened(ends), EDGE)


def _view(slot: Slot, box: Box, scale: float, slope: float) -> list[Item]:
    """Return the part itself."""
    form = slot.bin.part.form
    if form is None:
        # Above the axis, which runs through the middle of the box.
        x, y = box.x + box.width / 2, box.y + box.height / 2 - 0.9
        words = text_line(_("no form"), x, y, em(LEAST), "regular", "middle")
        return [rectangle(box, Pen(0.25, dash=(1.2, 0.8)), WHITE), words]
    marked = not doubt(slot)
    if slot.standing:
        above = slot.stands == "above"
        middle, outer = box.x + box.width / 2, box.y if above else box.bottom
        return axial_view(form, Frame(middle, outer, scale, False, slope, "down" if above else "up", marked))
    middle = box.y + box.height / 2
    return axial_view(form, Frame(box.x, middle, scale, slot.flipped, slope, "right", marked, slot.cut, GAP))


def _line_of(slot: Slot, box: Box, axis: float) -> Iterator[Item]:
    """Yield the own axis of a part beside the unit's, with an arrow towards what it belongs to."""
    if slot.standing:
        x, above = box.x + box.width / 2, slot.stands == "above"
        tip = axis - 0.3 if above else axis + 0.3
        back = -1.0 if above else 1.0
        outer = box.y if above else box.bottom
        yield line(x, outer + back, x, tip, _OFF_CHAIN)
        yield Path(closed([(x, tip), (x - 0.7, tip + back * 1.6), (x + 0.7, tip + back * 1.6)]), None, BLACK)
        return
    y, left, right = box.y + box.height / 2, box.x - ARROW + 0.6, box.right + ARROW - 0.6
    yield line(left, y, right, y, _OFF_CHAIN)
    tip, foot = (left, left + 1.7) if slot.leftward else (right, right - 1.7)
    yield Path(closed([(tip, y), (foot, y - 0.7), (foot, y + 0.7)]), None, BLACK)


def _inset(slot: Slot, view: Box, thick: float) -> float:
    """Return how far inside a part its leader ends in a dot; 0 for an arrowhead on its outline."""
    form = slot.bin.part.form
    holds = view.width >= HOLDS_DOT and thick >= HOLDS_DOT and form is not None and not isinstance(form, ORing)
    return min(1.2, thick / 2) if holds else 0.0


def _balloon(slot: Slot, x: float, middle: float, top: float, inset: float) -> Iterator[Item]:
    """Yield the circle with the step and the leader down to the part."""
    leader = (line(x, middle + BALLOON, x, top + inset, EDGE), leader_end(x, top + inset, dot=inset > 0))
    yield Group(leader, f"leader {slot.bin.step}")
    yield circle(slot.bin.step, slot.bin.step_words, x, middle, doubtful=slot.bin.doubtful)


def _marks(slot: Slot, view: Box, foot: Box) -> Iterator[Item]:
    """Yield the bracket of a sub-assembly that is opened further on, and the part's marks in rows."""
    y, middle = foot.y, foot.x + foot.width / 2
    if slot.opens:
        left, right = min(view.x, middle - 3.0), max(view.right, middle + 3.0)
        yield Path(opened([(left, y), (left, y + 1.2), (right, y + 1.2), (right, y)]), Pen(0.25))
        yield text_line(slot.opens, middle, y + 4.0, em(OPENS), "regular", "middle")
        y += BRACKET
    for row in slot.rows(foot.width):
        x = middle - (math.fsum(each.width for each in row) + SPACE * (len(row) - 1)) / 2
        for each in row:
            yield from mark(each, x, y, slot.bin.part)
            x += each.width + SPACE
        y += ROW
