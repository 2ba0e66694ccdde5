"""Bin labels: sheets and rolls of labels in removal order."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from labelkit.calc.steps import Bin
from labelkit.drawing.page import Box, Group, Page
from labelkit.model.media import Printable
from labelkit.sheets.jobview import JobView
from labelkit.sheets.labelface import Face
from labelkit.sheets.pieces import PlacedPiece, checked_first, piece_pages, placed_piece


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
        self.view, self.bins, self.stock = view, bins, stock
        self.first = checked_first("--first-label", first, stock, "labels")
        self.texts, self.card = texts, card
        self.placed: list[PlacedPiece[Bin]] = []

    def pages(self) -> Iterator[Page]:
        """Yield the pages; `placed` grows as they come."""
        self.placed.clear()
        yield from piece_pages(self.bins, self.stock, self.first, self._label, "labels")

    def _label(self, each: Bin, page: int, box: Box) -> Group:
        text = self.texts[each.step]
        face = Face(self.view, each, text, box.inset(self.stock.margin_mm), self.stock.true_dpi, self.card)
        group = face.group()
        self.placed.append(placed_piece(each, text, page, box, group.items, face.shortened))
        return group
