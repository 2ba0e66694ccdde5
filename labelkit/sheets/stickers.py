"""Stickers for new parts: one for each piece or pile that is put on a tray, told from a bin label at a glance.

A sticker begins with NEW in white on black, then the step it is for, the order number, the name, how many, tray and
place. Its symbol has a code of its own, which opens the card of the same part as a new part.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from functools import partial
from typing import Final

from labelkit.calc.codes import grouped
from labelkit.calc.steps import Bin
from labelkit.drawing import symbol as symbols
from labelkit.drawing.page import BLACK, WHITE, Box, Group, Item, Page, Symbol, rectangle
from labelkit.drawing.text import cap_height, fit_line, measure, size_for_cap
from labelkit.drawing.text import line as text_line
from labelkit.errors import UsageError
from labelkit.model.stock import Printable
from labelkit.sheets import wording
from labelkit.sheets.jobview import JobView
from labelkit.sheets.legible import LEAST, em

_NEW: Final = "NEW"
# Share of a sticker's height that NEW and the step take; the rest is for the lines below.
_HEAD: Final = 0.34
_LARGEST_HEAD: Final = 9.0
_LARGEST_LINE: Final = 3.4


@dataclass(frozen=True, slots=True)
class Sticker:
    """What one sticker says.

    Attributes:
        bin: the place the new part goes to; None on a blank sticker for what nobody planned.
        number: the order number; empty where it is not recorded.
        pieces: how many; None: as needed.
    """

    bin: Bin | None
    number: str
    pieces: int | None


@dataclass(frozen=True, slots=True)
class PlacedSticker:
    """Where a sticker was printed: page from 1, its box and its symbol's square on the page, mm."""

    sticker: Sticker
    page: int
    box: Box
    symbols: tuple[Box, ...]
    shortened: tuple[str, ...]


class StickerSheets:
    """The stickers of a job on one stock, in the order of the trays; pages are made as they are written.

    Args:
        view: the job.
        stickers: what to print.
        stock: sticker sheets, label sheets or a roll.
        first: place of the first sticker on a started sheet, from 1.

    Raises:
        UsageError: `first` is not a place on a sheet of this stock.
    """

    def __init__(self, view: JobView, stickers: Sequence[Sticker], stock: Printable, *, first: int = 1) -> None:
        if not 1 <= first <= stock.per_page:
            raise UsageError(
                f"--first-sticker {first}: a sheet of {stock.name} has {stock.per_page} stickers; "
                f"allowed: 1 to {stock.per_page}"
            )
        self.view, self.stickers, self.stock, self.first = view, stickers, stock, first
        self.placed: list[PlacedSticker] = []

    def pages(self) -> Iterator[Page]:
        """Yield the pages; `placed` grows as they come."""
        self.placed.clear()
        slots = self.stock.positions()
        number, used, start = 1, 0, self.first - 1
        while used < len(self.stickers):
            here = self.stickers[used : used + len(slots) - start]
            groups = [self._placed(each, number, Box(*slot)) for slot, each in zip(slots[start:], here, strict=False)]
            yield Page(*self.stock.page_size, tuple(groups), f"stickers {number}")
            number, used, start = number + 1, used + len(here), 0

    def _placed(self, each: Sticker, page: int, box: Box) -> Group:
        shortened: list[str] = []
        items = tuple(_face(self.view, each, box.inset(self.stock.margin_mm), 25.4 / self.stock.dot_mm, shortened))
        found = tuple(item.inner for item in items if isinstance(item, Symbol))
        self.placed.append(PlacedSticker(each, page, box, found, tuple(shortened)))
        return Group(items, f"sticker {len(self.placed)}", box)


def _face(view: JobView, each: Sticker, box: Box, dpi: float, shortened: list[str]) -> Iterator[Item]:
    right = box.right
    if each.bin is not None:
        text = view.new_url(each.bin)
        plan = symbols.fit_symbol(text, side=min(box.height - 25.4 / dpi, box.width * 0.42), dpi=dpi)
        symbol = symbols.on_grid(plan, text, box.right - plan.side, box.y, box, dpi)
        yield symbol
        right = symbol.x - 1.0
    room = Box(box.x, box.y, right - box.x, box.height)
    head = min(_LARGEST_HEAD, max(room.height * _HEAD, LEAST * 1.7))
    yield from _head(each, Box(room.x, room.y, room.width, head))
    lines = list(_lines(view, each))
    left = room.height - head - 0.6
    fitting = max(1, min(len(lines), int(left / (LEAST * 1.5))))
    pitch = min(left / fitting, _LARGEST_LINE * 1.5)
    for number, (words, face) in enumerate(lines[:fitting]):
        size = em(pitch / 1.5, face)
        fitted = fit_line(words, room.width, (size, em(LEAST, face)), face)
        if fitted.shortened:
            shortened.append(words)
        yield fitted.at(room.x, room.y + head + 0.6 + (number + 0.85) * pitch)


def _head(each: Sticker, room: Box) -> Iterator[Item]:
    """Yield NEW in white on black, and the step beside it."""
    cap = room.height * 0.72
    word = measure(_NEW, "bold", size_for_cap(cap, "bold"))[0]
    band = Box(room.x, room.y, word + cap * 0.6, room.height)
    base = room.y + (room.height + cap) / 2
    yield rectangle(band, None, BLACK)
    new = partial(text_line, size=size_for_cap(cap, "bold"), face="bold", anchor="middle", fill=WHITE)
    yield new(_NEW, band.x + band.width / 2, base)
    if each.bin is None:
        return
    largest = size_for_cap(room.height, "bold")
    step = fit_line(each.bin.step, room.right - band.right - 1.2, (largest, em(LEAST, "bold")), "bold")
    height = step.size * cap_height("bold")
    yield step.at(band.right + 1.2, room.y + (room.height + height) / 2)


def _lines(view: JobView, each: Sticker) -> Iterator[tuple[str, str]]:
    """Yield the lines below the head, the most needed first."""
    count = "as needed" if each.pieces is None else f"× {each.pieces}"
    if each.bin is None:
        yield from (("No.", "regular"), ("Part", "regular"), ("Step            Place", "regular"))
        return
    yield f"{each.number or 'no number'}  {count}", "bold"
    yield wording.short_name(each.bin.part), "regular"
    yield f"{view.place_words(each.bin)} · {view.profile.unit.mark} job {view.job.number}", "regular"
    yield grouped(view.new_code(each.bin)), "regular"
