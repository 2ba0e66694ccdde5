"""The face of one sticker for a new part: told from a bin label at a glance, because its head is white on black.

The head says NEW and the step, as large as the stock allows. Below it stand the order number with how many, the name,
tray and place, what else must be known, the code to type and whose sticker it is; a small sticker leaves out the last
of these, and who prints it is told. Nothing is set smaller than can be read. A blank sticker has lines to write on in
their place, and no symbol.
"""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, field, replace
from functools import cached_property
from typing import Final

from labelkit.calc.codes import grouped
from labelkit.calc.steps import Bin
from labelkit.drawing import symbol as symbols
from labelkit.drawing.page import BLACK, WHITE, Box, Item, Pen, Symbol, line, rectangle
from labelkit.drawing.text import cap_for_size, fit_line, measure, size_for_cap, wrap
from labelkit.drawing.text import line as text_line
from labelkit.language import gettext as _
from labelkit.language import noop
from labelkit.sheets import wording
from labelkit.sheets.jobview import JobView
from labelkit.sheets.labeltext import BOLD
from labelkit.sheets.legible import LEAST, em
from labelkit.sheets.picklist import AS_NEEDED, FLOOR, Pick, pair_words
from labelkit.units import MM_PER_INCH

NEW: Final = noop("NEW")
_LARGEST_SYMBOL: Final = 30.0
# The head: share of the height, least and largest height, share of it that letters take.
_HEAD: Final = (0.3, 4.2, 14.0, 0.74)
_HEAD_PAD: Final = 0.16  # left and right of its words, in its heights
_GAP: Final = 0.7  # below the head, and beside the symbol at least
_CLEAR: Final = 0.045  # beside the symbol, in heights of the sticker
_BELOW: Final = 1.2  # between the symbol and a row below it that is as wide as the sticker, mm
# Height of a row in heights of its capitals; largest capitals of a row; how much more the number gets.
_PITCH: Final = 1.45
_LARGEST_ROW: Final = 4.2
_LARGEST_WORDS: Final = 3.0
_LARGEST_FOOT: Final = 2.0
# A name that would be smaller than this on one row takes two, on a sticker that is high enough for large rows, mm.
_SMALL_NAME: Final = 2.1
_ROOMY: Final = 24.0
_NUMBER: Final = 1.3
_RULE: Final = Pen(0.15)


@dataclass(frozen=True, slots=True)
class _Row:
    """Words of one row.

    Attributes:
        left: at its left end; a colon at their end is followed by a line to write on.
        right: at its right end.
        face: of the left ones.
        share: how high it is, in heights of a row.
        most: largest capitals, mm.
    """

    left: str
    right: str = ""
    face: str = "regular"
    share: float = 1.0
    most: float = _LARGEST_ROW


@dataclass
class StickerFace:
    """Builds the face of one sticker.

    Attributes:
        view: the job.
        pick: the new part, and where it goes.
        when: the choices of open options under which it is needed at all, in short; empty: whatever they are.
        box: the printable area of the sticker, mm.
        dpi: dots per inch of the printer.
        shortened: what had to be cut, for the warnings.
    """

    view: JobView
    pick: Pick
    when: str
    box: Box
    dpi: float
    shortened: list[str] = field(default_factory=list)

    def items(self) -> list[Item]:
        """Return everything on the sticker."""
        head = Box(self.box.x, self.box.y, self._left, _head_height(self.box))
        return [self._symbol, *_head_items(head, self._step_words), *self._rows(head)]

    @property
    def _step_words(self) -> str:
        """The step it is for, `in 16` of what goes inside the part of step 16, a question mark where it may not be."""
        if not self.pick.step:
            return ""
        step = f"{self.pick.step}{'?' * bool(self.when)}"
        return step if isinstance(self.pick.use.item, Bin) else _("in {step}").format(step=step)

    @cached_property
    def _symbol(self) -> Symbol:
        text = self.view.new_url(self.pick.use.item)
        side = min(self.box.height - MM_PER_INCH / self.dpi, self.box.width * 0.45, _LARGEST_SYMBOL)
        plan = symbols.fit_symbol(text, side=side, dpi=self.dpi)
        return symbols.on_grid(plan, text, self.box.right - plan.side, self.box.y, self.box, self.dpi)

    @property
    def _left(self) -> float:
        """Width beside the symbol, mm."""
        return self._symbol.x - max(_GAP, self.box.height * _CLEAR) - self.box.x

    def _rows(self, head: Box) -> Iterator[Item]:
        top = head.bottom + _GAP
        rows = self._fitting(self.box.bottom - top)
        pitch = min((self.box.bottom - top) / math.fsum(row.share for row in rows), _LARGEST_ROW * _PITCH)
        for row in rows:
            yield from self._row(row, top, pitch * row.share)
            top += pitch * row.share

    def _fitting(self, height: float) -> list[_Row]:
        """Return the rows for which there is room at the least size, in their order."""
        kept: list[_Row] = []
        most = height / (LEAST * _PITCH)
        rows = self._wanted(most)
        while rows and (not kept or math.fsum(each.share for each in (*kept, rows[0])) <= most):
            kept.append(rows.pop(0))
        self.shortened += [row.left for row in rows]
        return kept

    def _wanted(self, most: float) -> list[_Row]:
        """Return the rows, the most needed first; there is room for so many."""
        use = self.pick.use
        many = _(AS_NEEDED) if use.pieces is None else f"× {use.pieces}"
        rows = [_Row(self._number(), many, BOLD, _NUMBER)]
        rows += [_Row(words, most=_LARGEST_WORDS) for words in self._name()]
        rows.append(_Row(self._place(), face=BOLD, most=_LARGEST_WORDS))
        place = len(rows) - 1
        if self.when:
            rows.append(_Row(_("if {when}").format(when=self.when), most=_LARGEST_WORDS))
        if use.unsized:
            rows.append(_Row(_("Size:"), most=_LARGEST_WORDS))
        if use.pairs:
            rows.append(_Row(_("Serial:"), most=_LARGEST_WORDS))
            rows.append(_Row(_("Pair with {parts}").format(parts=pair_words(self.view, use)), most=_LARGEST_WORDS))
        return [*rows[:place], *self._footed(rows[place:], most - math.fsum(row.share for row in rows))]

    def _footed(self, rows: list[_Row], free: float) -> list[_Row]:
        """Return the rows from that of the place on with the code to type and whose it is: below, or beside others.

        Args:
            rows: the others.
            free: for how many more there is room.
        """
        code, job = grouped(self.view.new_code(self.pick.use.item)), wording.job_words(self.view.job.number)
        briefs = wording.whose_brief(self.view.profile.unit, job)
        whose = next((words for words in briefs if self._fits(words)), job)
        foot = [_Row(words, most=_LARGEST_FOOT) for words in (code, whose)]
        if self._roomy:
            return [*rows, *foot]
        # The letter of the tray is in the name of the place, too: where the code has no row, that is enough.
        for words in (rows[0].left, self.pick.place)[: 1 + (free < 1)]:
            if self._fits(words, code):
                left, right = (words, code) if words else (code, "")
                rows[0], foot = replace(rows[0], left=left, right=right), foot[1:]
                break
        if 0 <= free < len(foot):
            open_ends = [(k, row.left) for k, row in enumerate(rows) if not row.right and not row.left.endswith(":")]
            short = [(0, self.pick.place)] if (0, rows[0].left) in open_ends and self.pick.place else []
            # The job alone does not cost the tray its words.
            beside = [(each, words) for words in briefs for each in (*open_ends, *(short if words != job else ()))]
            if fitting := next(((k, left, words) for (k, left), words in beside if self._fits(left, words)), None):
                k, left, words = fitting
                rows[k], foot = replace(rows[k], left=left, right=words), foot[:-1]
        # The last row may stand below the symbol, where it is wider.
        return [*rows, *(foot if self._fits(code) or free < len(foot) else foot[::-1])]

    @property
    def _crowded(self) -> bool:
        """Whether it has rows that not every sticker has."""
        return bool(self.pick.use.pairs or self.when or self.pick.use.unsized)

    @property
    def _roomy(self) -> bool:
        """Whether every row can be large."""
        return self.box.height >= _ROOMY and not self._crowded

    def _number(self) -> str:
        if self.pick.line.sizes:
            return _("No. by size")
        return self.pick.line.number or _("NO NUMBER")

    def _name(self) -> Sequence[str]:
        """Return name and chosen size where they fit a row, else the short name, on two rows where it must be."""
        use = self.pick.use
        name, short = (f"{each}, {use.size}" if use.size else each for each in (use.name, wording.short_name(use.part)))
        lines = wrap(name, self._left, em(_SMALL_NAME), 2)
        if self._roomy and not lines.shortened:
            return lines.lines
        if self._fits(name):
            return (name,)
        wrapped = wrap(short, self._left, em(LEAST), 2)
        if wrapped.shortened:
            self.shortened.append(short)
        return wrapped.lines

    def _place(self) -> str:
        if self.pick.tray == FLOOR:
            return _("on no tray")
        return _("{place} on tray {tray}").format(place=self.pick.place, tray=self.pick.tray)

    def _fits(self, left: str, right: str = "") -> bool:
        """Say whether words stand beside the symbol on one row, at the least size; `left` in bold when both are."""
        face = BOLD if right else "regular"
        width = measure(left, face, em(LEAST, face))[0] + measure(right, "regular", em(LEAST))[0]
        return width + LEAST * bool(right) <= self._left

    def _row(self, row: _Row, top: float, height: float) -> Iterator[Item]:
        cap = min(height / _PITCH, row.most)
        base = top + (height + cap) / 2
        # Below the symbol a row has the whole width.
        width = self.box.width if base - cap >= self._symbol.box.bottom + _BELOW else self._left
        x, end = self.box.x, self.box.x + width
        if row.right:
            face = BOLD if row.share > 1 else "regular"
            both = measure(row.left, row.face, em(LEAST, row.face))[0] + measure(row.right, face, em(LEAST, face))[0]
            grown = max(1.0, min(cap / LEAST, (width - 1.2 * LEAST) / both))
            right = text_line(row.right, end, base, em(LEAST, face) * grown, face, "end")
            yield right
            width -= right.width + LEAST
        left = fit_line(row.left, width, (em(cap, row.face), em(LEAST, row.face)), row.face)
        if left.shortened:
            self.shortened.append(row.left)
        yield left.at(x, base)
        if row.left.endswith(":"):
            yield line(x + left.width + 0.8, base + 0.3, end, base + 0.3, _RULE)


def blank_items(view: JobView, box: Box) -> Iterator[Item]:
    """Yield a sticker with fields to write in, for a new part that nobody planned.

    Args:
        view: the job.
        box: the printable area of the sticker, mm.
    """
    head = Box(box.x, box.y, box.width, _head_height(box))
    word = measure(_(NEW), BOLD, size_for_cap(head.height * _HEAD[3], BOLD))[0]
    taken = min(head.width * 0.42, word + 2.01 * head.height * _HEAD_PAD)
    yield from _head_items(Box(head.x, head.y, taken, head.height), "")
    left = head.x + taken + 1.2
    yield from _fields((_("Step"), _("Qty")), Box(left, head.y, box.right - left, head.height))
    rows: Sequence[tuple[str, ...]] = ((_("No."),), (_("Part"),), (_("Tray"), _("Place")))
    foot = LEAST * 2
    pitch = (box.bottom - head.bottom - foot) / len(rows)
    for number, names in enumerate(rows):
        yield from _fields(names, Box(box.x, head.bottom + number * pitch, box.width, pitch))
    whose = wording.brief_words(view.profile.unit, wording.job_words(view.job.number))
    yield fit_line(whose, box.width, (em(LEAST), em(LEAST))).at(box.x, box.bottom - 0.25 * LEAST)


def _fields(names: Sequence[str], room: Box) -> Iterator[Item]:
    """Yield names side by side, each with a line to write on."""
    width = room.width / len(names)
    base = room.bottom - 0.5
    for number, name in enumerate(names):
        x = room.x + number * width
        words = text_line(name, x, base, em(LEAST))
        yield words
        yield line(words.box.right + 0.6, base + 0.2, x + width - 0.8 * (number < len(names) - 1), base + 0.2, _RULE)


def _head_height(box: Box) -> float:
    """Return the height of the head of a sticker, mm."""
    share, least, largest, _ = _HEAD
    return max(least, min(largest, box.height * share))


def _head_items(head: Box, step: str) -> Iterator[Item]:
    """Yield the head: NEW at its left end and the step at its right one, white on black.

    Args:
        head: where.
        step: in words; nothing on a blank sticker.
    """
    yield rectangle(head, None, BLACK)
    pad = head.height * _HEAD_PAD
    room, least = head.width - 2 * pad, em(LEAST, BOLD)
    # Neither is louder than the other, and two blanks between them: one word is not the other's beginning.
    ems = measure(f"{_(NEW)}  {step}" if step else _(NEW), BOLD, 1.0)[0]
    size = max(least, min(size_for_cap(head.height * _HEAD[3], BOLD), room / ems))
    new = fit_line(_(NEW), room, (size, least), BOLD)
    base = head.y + (head.height + cap_for_size(new.size, BOLD)) / 2
    yield new.at(head.x + pad, base, fill=WHITE)
    if step:
        yield fit_line(step, room - new.width, (size, least), BOLD).at(head.right - pad, base, "end", WHITE)
