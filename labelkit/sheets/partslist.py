"""The parts list of the exploded view: what each step is, where it lies, what it lies on, whether it is renewed."""

from __future__ import annotations

import math
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from typing import Final

from labelkit.calc.steps import Bin, Inside
from labelkit.drawing.page import Box, Group, Item, line
from labelkit.drawing.text import FittedLine, fit_line
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
# Columns: what stands over them, and their width, mm; the name takes what is left. SITS is in wide lists only.
_COLUMNS: Final = (
    (noop("STEP"), 15.0),
    (noop("PART"), 0.0),
    (noop("QTY"), 8.5),
    (noop("SIZE"), 28.0),
    (noop("SITS"), 40.0),
    (noop("TRAY"), 10.0),
    (noop("ON"), 10.5),
    (noop("RENEW"), 13.0),
    (noop("SHEET"), 9.0),
)
_SITS: Final = 4


@dataclass(frozen=True, slots=True)
class _Entry:
    """One row: a bin, or a part that stays inside the bin above it."""

    level: int
    cells: tuple[str, ...]


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
    high = min(_ROWS[1], (room.height - _HEAD) / rows)
    for start in range(0, len(entries), columns * rows):
        items: list[Item] = []
        here = entries[start : start + columns * rows]
        for column in range(columns):
            box = Box(room.x + column * (width + _GAP), room.y, width, room.height)
            items += _column(here[column * rows : (column + 1) * rows], box, high)
        steps = [entry.cells[0] for entry in here if entry.cells[0]]
        yield (steps[0], steps[-1]), items


def _columns(room: Box, entries: int) -> int:
    """Return how many columns a page has: as few as hold all with easy rows, and none too narrow or too wide."""
    narrowest, widest = _WIDTHS
    most = max(1, int((room.width + _GAP) / (narrowest + _GAP)))
    least = min(most, max(1, -(-int(room.width) // int(widest))))
    easy = int((room.height - _HEAD) / _EASY)
    return next((count for count in range(least, most) if entries <= count * easy), most)


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
        steps = [other.step for other in view.teardown.of(part.renew.part)]
        return _("with {step}").format(step=steps[0]) if steps else _("see card")
    if part.new_only:
        return _(NEW)
    if part.renew == "if_worn":
        return _("if worn")
    return pgettext("renewed", "no") if part.renew == "never" else ""


def _column(entries: Sequence[_Entry], room: Box, high: float) -> Iterator[Item]:
    """Yield one column of the page; `high`: of a row."""
    if not entries:
        return
    shown = [number for number in range(len(_COLUMNS)) if number != _SITS or room.width >= _WIDE]
    names, given = zip(*(_COLUMNS[number] for number in shown), strict=True)
    widths = [width or room.width - math.fsum(given) for width in given]
    at = [room.x + math.fsum(widths[:number]) for number in range(len(widths))]
    for name, x, width in zip(names, at, widths, strict=True):
        yield _fitted(_(name), width, LEAST, "bold").at(x, room.y + 2.4)
    y = room.y + _HEAD
    step, plain = (min(max(share * high, least), most) for share, least, most in (_STEP_CAPS, _CAPS))
    for entry in entries:
        yield line(room.x, y, room.right, y, RULE if entry.level or not entry.cells[0] else BOX_PEN)
        words: list[Item] = []
        for number, x, width in zip(shown, at, widths, strict=True):
            text = entry.cells[number]
            indent = _INDENT * entry.level if number == 1 else 0.0
            face = "bold" if number == 0 or text == _(NEW) else "regular"
            if text:
                fitted = _fitted(text, width - indent, step if number == 0 else plain, face)
                words.append(fitted.at(x + indent, y + (high + step) / 2))
        yield Group(tuple(words), f"listed {entry.cells[0]}".strip())
        y += high
    yield line(room.x, y, room.right, y, BOX_PEN)


def _fitted(text: str, width: float, cap: float, face: str) -> FittedLine:
    return fit_line(text, width - 1.5, (em(cap, face), em(LEAST, face)), face)
