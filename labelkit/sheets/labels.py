"""Bin labels: sheets and rolls of labels in removal order."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from typing import Final

from labelkit.calc.steps import Bin
from labelkit.drawing.page import Box, Group, Item, Page, Pen, Symbol, line
from labelkit.errors import UsageError
from labelkit.model.stock import Printable, Roll
from labelkit.sheets.jobview import JobView
from labelkit.sheets.labelface import Face, face_group

# Fine enough not to be seen on a label, dark enough to cut along.
_CUT_PEN: Final = Pen(0.1, dash=(1.2, 1.2))


@dataclass(frozen=True, slots=True)
class PlacedLabel:
    """Where a label was printed.

    Attributes:
        bin: what it is for.
        text: what its symbol says.
        page: page number, from 1.
        box: the label on its page, mm.
        symbols: the squares of its symbols on the page, without quiet zone and frame, mm.
        shortened: words that had to be cut.
    """

    bin: Bin
    text: str
    page: int
    box: Box
    symbols: tuple[Box, ...]
    shortened: tuple[str, ...]


class LabelSheets:
    """The labels of a job on one stock; pages are made one at a time as they are written.

    Args:
        view: the job.
        bins: which bins, in removal order.
        stock: label sheets or a roll.
        first: place of the first label on its sheet, from 1: the earlier ones of a started sheet are used up.
        texts: what each symbol says, by step.
        card: the symbols carry the cards' own words.

    Raises:
        UsageError: `first` is not a place on a sheet of this stock.
    """

    def __init__(
        self,
        view: JobView,
        bins: Sequence[Bin],
        stock: Printable,
        *,
        texts: dict[str, str],
        first: int = 1,
        card: bool = False,
    ) -> None:
        if not 1 <= first <= stock.per_page:
            raise UsageError(
                f"--first-label {first}: a sheet of {stock.name} has {stock.per_page} labels; "
                f"allowed: 1 to {stock.per_page}"
            )
        self.view, self.bins, self.stock, self.first = view, bins, stock, first
        self.texts, self.card = texts, card
        self.placed: list[PlacedLabel] = []

    def pages(self) -> Iterator[Page]:
        """Yield the pages; `placed` grows as they come."""
        self.placed.clear()
        slots = self.stock.positions()
        number, used, start = 1, 0, self.first - 1
        while used < len(self.bins):
            here = self.bins[used : used + len(slots) - start]
            labels = [self._label(each, number, Box(*slot)) for slot, each in zip(slots[start:], here, strict=False)]
            yield Page(*self.stock.page_size, (*self._cut_marks(), *labels), f"labels {number}")
            number, used, start = number + 1, used + len(here), 0

    def _label(self, each: Bin, page: int, box: Box) -> Group:
        text = self.texts[each.step]
        dpi = 25.4 / self.stock.dot_mm
        face = Face(self.view, each, text, box.inset(self.stock.margin_mm), dpi, self.card)
        group = face_group(face)
        symbols = tuple(item.inner for item in group.items if isinstance(item, Symbol))
        self.placed.append(PlacedLabel(each, text, page, box, symbols, tuple(face.shortened)))
        return group

    def _cut_marks(self) -> tuple[Item, ...]:
        """Return a line to cut along, where the stock has no cuts of its own."""
        if not isinstance(self.stock, Roll) or self.stock.die_cut:
            return ()
        width, height = self.stock.page_size
        return (line(0.0, height - 0.05, width, height - 0.05, _CUT_PEN),)
