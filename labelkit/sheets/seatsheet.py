"""Seats: for every part that has a way up or an hour, the large drawing of how it sits, in the order of assembly."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from typing import Final

from labelkit.calc.steps import Bin
from labelkit.drawing.page import Box, Item, line
from labelkit.drawing.text import fit_line, size_for_cap
from labelkit.language import gettext as _
from labelkit.sheets import wording
from labelkit.sheets.jobview import JobView
from labelkit.sheets.legible import LEAST, em
from labelkit.sheets.seat import neighbour
from labelkit.sheets.seatclock import clock_face
from labelkit.sheets.seatview import seat_view
from labelkit.sheets.worksheet import RULE, SMALL, WORDS, Sheet, Strip

_COLUMNS: Final = 4
_HIGH: Final = 52.0
_APART: Final = 5.0
_STEP: Final = 6.0  # height of the step's figures
_DIAL: Final = 17.0


def seat_sheet(view: JobView, width: float) -> Sheet:
    """Return how every part sits that can sit wrong; no strip where every part is right either way."""
    shown = [placed.bin for placed in view.order if _can_be_wrong(placed.bin)]
    rows = [shown[first : first + _COLUMNS] for first in range(0, len(shown), _COLUMNS)]
    return Sheet(_("WHICH WAY IT SITS"), [_row(view, row, width) for row in rows])


def _can_be_wrong(each: Bin) -> bool:
    return wording.way(each.part).known != "free" or wording.clock_words(each.part)[1] != "free"


def _row(view: JobView, row: Sequence[Bin], width: float) -> Strip:
    side = (width - _APART * (_COLUMNS - 1)) / _COLUMNS
    items: list[Item] = []
    for column, each in enumerate(row):
        items += _cell(view, each, Box(column * (side + _APART), 2.0, side, _HIGH - 4.0))
    items.append(line(0, _HIGH, width, _HIGH, RULE))
    return Strip(_HIGH, tuple(items), f"seats {row[0].step}")


def _cell(view: JobView, each: Bin, box: Box) -> Iterator[Item]:
    part = each.part
    step = fit_line(each.step, 26.0, (size_for_cap(_STEP, "bold"), em(LEAST, "bold")), "bold")
    yield step.at(box.x, box.y + _STEP)
    left = box.x + step.width + 2.5
    room = box.right - left
    name = fit_line(wording.short_name(part), room, (size_for_cap(WORDS, "bold"), em(LEAST, "bold")), "bold")
    yield name.at(left, box.y + WORDS)
    on = neighbour(view, each)
    lies_on = (
        _("on {part}").format(part=wording.short_name(on))
        if on
        else _("on: {part}").format(part=wording.not_recorded())
    )
    yield fit_line(lies_on, room, (size_for_cap(SMALL), em(LEAST))).at(left, box.y + _STEP)
    drawing = Box(box.x, box.y + _STEP + 2.0, box.width - _DIAL - 3.0, box.height - _STEP - 6.5)
    yield seat_view(part, drawing, on)
    yield clock_face(part, view.profile.unit, Box(box.right - _DIAL, drawing.y + 2.0, _DIAL, _DIAL))
    way, clock = wording.way(part).text, wording.clock_words(part)[0]
    yield fit_line(way, box.width - _DIAL - 3.0, (size_for_cap(WORDS, "bold"), em(LEAST, "bold")), "bold").at(
        box.x, box.bottom
    )
    yield fit_line(clock, _DIAL, (size_for_cap(WORDS, "bold"), em(LEAST, "bold")), "bold").at(
        box.right - _DIAL, box.bottom
    )
