"""The parts list of the exploded view: what each step is, where it lies, what it lies on, whether it is renewed."""

from __future__ import annotations

import math
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from typing import Final

from labelkit.calc.steps import Bin, Inside
from labelkit.drawing.page import Box, Group, Item, line
from labelkit.drawing.text import fit_line, measure, size_for_cap
from labelkit.drawing.text import line as text_line
from labelkit.language import gettext as _
from labelkit.language import noop, pgettext
from labelkit.model.part import Part, RenewWith
from labelkit.sheets import waywords, wording
from labelkit.sheets.explodedstands import NEW, step_below
from labelkit.sheets.jobview import JobView
from labelkit.sheets.legible import LEAST, em
from labelkit.sheets.worksheet import BOX_PEN, RULE

# Height of a row, at least and at most.
_ROWS: Final = (4.0, 7.0)
_HEAD: Final = 4.2
_GAP: Final = 8.0  # between columns of the page
# Width of a column of the page, at least and at most: a longer row is hard to follow.
_WIDTHS: Final = (124.0, 210.0)
# A column that is as wide as this says how each part sits, too.
_WIDE: Final = 165.0
# Height of a row for which there are more columns rather than lower rows.
_EASY: Final = 4.6
_INDENT: Final = 2.0  # for every sub-assembly that a part is in
# Capitals by the height of a row, at least and at most: of the words, of the step.
_CAPS: Final = (0.4, 1.9, 2.4)
_STEP_CAPS: Final = (0.5, 2.4, 3.2)
_FINER: Final = 0.05  # by which all words are made smaller until every column has room
# What stands over the columns. SITS is in wide lists only.
_COLUMNS: Final = (
    noop("STEP"),
    noop("PART"),
    noop("QTY"),
    noop("SIZE"),
    noop("SITS"),
    noop("TRAY"),
    noop("ON"),
    noop("RENEW"),
    noop("SHEET"),
)
_STEP, _PART, _SITS = 0, 1, 4
_BESIDE: Final = 2.0  # between columns
_MOST: Final = 0.25  # of the width for a column that is not the name, where even the smallest letters are too large


@dataclass(frozen=True, slots=True)
class _Entry:
    """One row: a bin, or a part that stays inside the bin above it."""

    level: int
    cells: tuple[str, ...]

    def face(self, column: int) -> str:
        """Return the face of a cell."""
        return "bold" if column == _STEP or self.cells[column] == _(NEW) else "regular"

    def by_cap(self, column: int) -> float:
        """Return how wide a cell is by the height of its capitals."""
        return measure(self.cells[column], self.face(column), size_for_cap(1.0, self.face(column)))[0]

    def indent(self, column: int) -> float:
        """Return how far a cell is set in, mm."""
        return _INDENT * self.level * (column == _PART)


@dataclass(frozen=True, slots=True)
class _Setting:
    """How all rows are set: their height, the capitals of steps and of all other words, which columns how wide, mm."""

    high: float
    step: float
    words: float
    widths: dict[int, float]

    def cap(self, column: int) -> float:
        """Return the capitals of a column, mm."""
        return self.step if column == _STEP else self.words


def parts_list(view: JobView, room: Box, sheets: Mapping[str, int]) -> Iterator[tuple[tuple[str, str], list[Item]]]:
    """Yield pages of the list: their first and last step, and what stands on them.

    Args:
        view: the job.
        room: what a page has to give.
        sheets: the sheet on which a step is drawn.
    """
    entries = [*_entries(view, sheets)]
    columns = _columns(room, len(entries))
    width = (room.width - _GAP * (columns - 1)) / columns
    # As few pages as there can be, all equally full, and columns as even as they can be.
    most = int((room.height - _HEAD) / _ROWS[0])
    pages = -(-len(entries) // (most * columns))
    rows = -(-len(entries) // (pages * columns))
    setting = _setting(entries, width, min(_ROWS[1], (room.height - _HEAD) / rows))
    for start in range(0, len(entries), columns * rows):
        items: list[Item] = []
        here = entries[start : start + columns * rows]
        for column in range(columns):
            box = Box(room.x + column * (width + _GAP), room.y, width, room.height)
            items += _column(here[column * rows : (column + 1) * rows], box, setting)
        steps = [entry.cells[0] for entry in here if entry.cells[0]]
        yield (steps[0], steps[-1]), items


def _columns(room: Box, entries: int) -> int:
    """Return how many columns a page has: as few as hold all with easy rows, and none too narrow or too wide."""
    narrowest, widest = _WIDTHS
    most = max(1, int((room.width + _GAP) / (narrowest + _GAP)))
    least = min(most, max(1, -(-int(room.width) // int(widest))))
    easy = int((room.height - _HEAD) / _EASY)
    return next((count for count in range(least, most) if entries <= count * easy), most)


def _setting(entries: Sequence[_Entry], width: float, high: float) -> _Setting:
    """Return how a list is set: in the largest letters, the same in every row, that leave room for every column."""
    step, words = (min(max(share * high, least), most) for share, least, most in (_STEP_CAPS, _CAPS))
    shown = [number for number in range(len(_COLUMNS)) if number != _SITS or width >= _WIDE]
    heads = {number: measure(_(_COLUMNS[number]), "bold", em(LEAST, "bold"))[0] for number in shown}
    # Of each cell how far it is set in, and how wide it is by the height of its capitals.
    cells = {number: [(each.indent(number), each.by_cap(number)) for each in entries] for number in shown}
    while True:
        setting = _Setting(high, step, words, {})
        for number in shown:
            cap = setting.cap(number)
            need = _BESIDE + max(heads[number], *(indent + cap * by_cap for indent, by_cap in cells[number]))
            setting.widths[number] = need if number == _PART or words > LEAST else min(need, _MOST * width)
        spare = width - math.fsum(setting.widths.values())
        if spare >= 0 or words <= LEAST:
            sharing = shown[:-1] if spare > 0 else [_PART]
            for number in sharing:
                setting.widths[number] += spare / len(sharing)
            return setting
        words = max(LEAST, words - _FINER)


def _entries(view: JobView, sheets: Mapping[str, int]) -> Iterator[_Entry]:
    for each in view.teardown.bins:
        level = each.step.count(".")
        yield _Entry(level, tuple(_cells(view, each, sheets)))
        for inside in view.inside.get(each.step, ()):
            yield _Entry(level + 1, tuple(_captured(inside)))
    for inside in view.inside.get("", ()):
        yield _Entry(0, tuple(_captured(inside)))


def _cells(view: JobView, each: Bin, sheets: Mapping[str, int]) -> Iterator[str]:
    part = each.part
    yield each.step_words
    yield wording.short_name(part)
    yield pgettext("count", "set") if part.qty == "set" else str(part.qty)
    yield wording.size_words(part.form)
    yield " ".join(waywords.sits_words(part)[0])
    yield view.tray_words(each) or pgettext("tray", "none")
    yield step_below(view, each)
    yield _renewed(view, part)
    yield str(sheets[each.step])


def _captured(inside: Inside) -> Iterator[str]:
    part = inside.part
    yield ""
    yield _("inside: {part}").format(part=wording.short_name(part))
    yield pgettext("count", "set") if part.qty == "set" else str(part.qty)
    yield wording.size_words(part.form)
    yield from ("", _("stays"), "", "", "")


def _renewed(view: JobView, part: Part) -> str:
    if isinstance(part.renew, RenewWith):
        steps = [other.step_words for other in view.teardown.of(part.renew.part)]
        return _("with {step}").format(step=steps[0]) if steps else _("see card")
    if part.new_only:
        return _(NEW)
    if part.renew == "if_worn":
        return _("if worn")
    return pgettext("renewed", "no") if part.renew == "never" else ""


def _column(entries: Sequence[_Entry], room: Box, setting: _Setting) -> Iterator[Item]:
    """Yield one column of the page."""
    if not entries:
        return
    at, x = {}, room.x
    for number, width in setting.widths.items():
        at[number] = x
        x += width
        yield text_line(_(_COLUMNS[number]), at[number], room.y + 2.4, em(LEAST, "bold"), "bold")
    y = room.y + _HEAD
    for entry in entries:
        yield line(room.x, y, room.right, y, RULE if entry.level or not entry.cells[0] else BOX_PEN)
        base = y + (setting.high + setting.step) / 2
        words: list[Item] = []
        for number, width in setting.widths.items():
            if text := entry.cells[number]:
                face, indent = entry.face(number), entry.indent(number)
                sizes = em(setting.cap(number), face), em(LEAST, face)
                fitted = fit_line(text, width - indent - _BESIDE, sizes, face)
                words.append(fitted.at(at[number] + indent, base))
        yield Group(tuple(words), f"listed {entry.cells[0]}".strip())
        y += setting.high
    yield line(room.x, y, room.right, y, BOX_PEN)
