"""The marks at the parts of an exploded view, and the legend that explains those on the sheet."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from itertools import compress
from typing import Final

from labelkit.drawing.page import BLACK, WHITE, Box, Item, Path, closed, rectangle
from labelkit.drawing.text import fit_line, size_for_cap
from labelkit.drawing.text import line as text_line
from labelkit.language import gettext as _
from labelkit.model.part import Part
from labelkit.sheets import wording
from labelkit.sheets.explodedslots import CAP, Mark, Slot
from labelkit.sheets.explodedstands import END, NEW, UP
from labelkit.sheets.jobview import JobView
from labelkit.sheets.legible import LEAST, em
from labelkit.sheets.orientation import dial

_HIGH: Final = 3.2  # of a mark that is drawn, mm
_LINE: Final = 3.4  # of the legend
_WORDS: Final = 1.7  # capitals of the legend
_APART: Final = 5.0  # between two entries of the legend
_ICON: Final = 1.2  # between a mark and what it means


def mark(each: Mark, x: float, y: float, part: Part | None = None) -> Iterator[Item]:
    """Yield a mark with its left top corner at a place; `part`: whose clock a dial shows."""
    size = em(CAP, "bold")
    base = y + (_HIGH + CAP) / 2
    if each.kind == "tag":
        yield rectangle(Box(x, y, each.width, _HIGH), None, BLACK)
        yield text_line(each.text, x + 0.8, base, size, "bold", "start", WHITE)
    elif each.kind == "alert":
        yield Path(closed([(x + 1.7, y - 0.1), (x + 3.4, y + _HIGH), (x, y + _HIGH)]), None, BLACK)
        yield text_line("!", x + 1.7, y + _HIGH - 0.35, size_for_cap(LEAST, "bold"), "bold", "middle", WHITE)
    elif each.kind == "dial":
        if part:
            yield dial(part, Box(x, y, _HIGH, _HIGH))
        yield text_line(each.text, x + 3.8, base, size, "bold")
    else:
        yield text_line(each.text, x, base, size, "bold")


def legend(view: JobView, slots: Sequence[Slot], room: Box) -> Iterator[Item]:
    """Yield what the marks of these parts mean."""
    for each, words, x, y in _laid([*_meanings(view, slots)], room.width):
        if each:
            yield from mark(each, room.x + x, room.y + y)
        yield text_line(words, room.x + x + _icon(each), room.y + y + 2.5, em(_WORDS))


def legend_height(view: JobView, width: float) -> float:
    """Return the most that a legend of this width takes, mm."""
    return max(y for _, _, _, y in _laid([*_all_meanings(view)], width)) + _LINE


def _laid(entries: Sequence[tuple[Mark | None, str]], width: float) -> Iterator[tuple[Mark | None, str, float, float]]:
    """Yield each entry with the left top corner of its place, in lines of this width."""
    x = y = 0.0
    for each, words in entries:
        fitted = fit_line(words, width - _icon(each), (em(_WORDS), em(_WORDS)))
        taken = _icon(each) + fitted.width
        if x and x + taken > width:
            x, y = 0.0, y + _LINE
        yield each, fitted.string, x, y
        x += taken + _APART


def _icon(each: Mark | None) -> float:
    return each.width + _ICON if each else 0.0


def _meanings(view: JobView, slots: Sequence[Slot]) -> Iterator[tuple[Mark | None, str]]:
    """Yield the marks on a sheet and what they mean."""
    texts = {each.text for slot in slots for each in slot.marks}
    kinds = {each.kind for slot in slots for each in slot.marks}
    used = (
        _(NEW) in texts,
        "alert" in kinds,
        _(UP) in texts,
        _(END) in texts,
        any(slot.bin.doubtful for slot in slots),
        any(slot.opens for slot in slots),
        "dial" in kinds,
    )
    yield from compress(_all_meanings(view), used)


def _all_meanings(view: JobView) -> Iterator[tuple[Mark | None, str]]:
    """Yield every mark and what it means."""
    header, unknown = view.profile.unit, wording.not_recorded()
    clock = _("o'clock seen from {end}, 12 = {twelve}")
    yield Mark("tag", _(NEW)), _("once it is out, only a new one goes in")
    yield Mark("alert"), _("can hurt: read its card first")
    yield Mark("words", _(UP)), _("which face is up is {unknown}").format(unknown=unknown)
    yield Mark("words", _(END)), _("which end of the drawing is up is not recorded")
    yield Mark("words", "7?"), _("there only if its open option says so")
    yield None, _("bracket: shown again, opened")
    yield None, clock.format(end=header.clock_from or unknown, twelve=header.twelve or unknown)
