"""Seats: for every part that has a way up or an hour, the large drawing of how it sits, in the order of assembly."""

from __future__ import annotations

import math
from collections.abc import Iterable, Iterator, Sequence
from typing import Final

from labelkit.calc.steps import Bin
from labelkit.drawing.page import Box, Group, Item, line, moved
from labelkit.drawing.text import line as text_line
from labelkit.language import gettext as _
from labelkit.sheets import waywords, wording
from labelkit.sheets.jobview import JobView
from labelkit.sheets.legible import em
from labelkit.sheets.seat import neighbour
from labelkit.sheets.seatclock import clock_face
from labelkit.sheets.seatview import seat_view
from labelkit.sheets.worksheet import RULE, SMALL, Sheet, Strip, text_width
from labelkit.sheets.worksheetcells import Line, Piece, Say, bold

_COLUMNS: Final = 4
_APART: Final = 5.0
_STEP: Final = 6.0  # height of the step's figures
_VIEW: Final = 31.0  # height of the drawing
_DIAL: Final = 20.0
_GAP: Final = 1.5


def seat_sheet(view: JobView, width: float) -> Sheet:
    """Return how every part sits that can sit wrong; no strip where every part is right either way."""
    shown = [placed.bin for placed in view.order if _can_be_wrong(placed.bin)]
    return Sheet(_("WHICH WAY IT SITS"), [_row(view, row, width) for row in _rows(shown)])


def _rows(shown: Sequence[Bin]) -> Iterator[Sequence[Bin]]:
    """Yield figures row by row, full rows first; the last figure is never alone in a row."""
    while shown:
        taken = _COLUMNS - (len(shown) == _COLUMNS + 1)
        yield shown[:taken]
        shown = shown[taken:]


def _can_be_wrong(each: Bin) -> bool:
    return waywords.way(each.part).known != "free" or waywords.clock_words(each.part)[1] != "free"


def _row(view: JobView, row: Sequence[Bin], width: float) -> Strip:
    side = (width - _APART * (_COLUMNS - 1)) / _COLUMNS
    heads = [_head(view, each, side) for each in row]
    feet = [_foot(each, side) for each in row]
    head, foot = (max(math.fsum(piece.height for piece in lines) for lines in cells) for cells in (heads, feet))
    head, top = max(head, _STEP + 1.0), _GAP
    high = top + head + _GAP + _VIEW + _GAP + foot + _GAP
    items: list[Item] = []
    for column, each in enumerate(row):
        x = column * (side + _APART)
        left = x + _step_width(each)
        items.append(text_line(each.step_words, x, top + _STEP, em(_STEP, "bold"), "bold"))
        items += _stacked(heads[column], left, top)
        items += _drawings(view, each, Box(x, top + head + _GAP, side, _VIEW))
        items += _stacked(feet[column], x, top + head + _GAP + _VIEW + _GAP)
    items.append(line(0, high, width, high, RULE))
    return Strip(high, tuple(items), f"seats {row[0].step}")


def _step_width(each: Bin) -> float:
    return text_width(each.step_words, _STEP, "bold") + 2.5


def _head(view: JobView, each: Bin, side: float) -> list[Line]:
    on = neighbour(view, each)
    lies_on = wording.short_name(on) if on else wording.not_recorded()
    said: list[Piece] = [bold(each.name), Say(_("on: {part}").format(part=lies_on), SMALL)]
    return [found for piece in said for found in piece.lines(side - _step_width(each))]


def _foot(each: Bin, side: float) -> list[Line]:
    """Return the way and the hour, side by side, and below them who saw what only the record knows."""
    way = list(bold(waywords.way(each.part).text).lines(side - _DIAL - _APART))
    hour = list(bold(waywords.clock_words(each.part)[0]).lines(_DIAL))
    lines = []
    for place in range(max(len(way), len(hour))):
        ours = [(way, 0.0), (hour, side - _DIAL)]
        items = [Group(cell[place].items, "", None, moved(x, 0)) for cell, x in ours if place < len(cell)]
        lines.append(Line(max(cell[place].height for cell, _x in ours if place < len(cell)), tuple(items)))
    return [*lines, *Say(waywords.seen_words(each.part), SMALL).lines(side)]


def _drawings(view: JobView, each: Bin, box: Box) -> Iterator[Item]:
    yield seat_view(each.part, Box(box.x, box.y, box.width - _DIAL - _APART, box.height), neighbour(view, each))
    yield clock_face(each.part, view.profile.unit, Box(box.right - _DIAL, box.y, _DIAL, _DIAL))


def _stacked(lines: Iterable[Line], x: float, y: float) -> Iterator[Item]:
    for each in lines:
        yield Group(each.items, "", None, moved(x, y))
        y += each.height
