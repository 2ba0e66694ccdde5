"""Stickers for new parts: one for each place that gets new pieces, in the order of the trays."""

from __future__ import annotations

from collections.abc import Iterable, Iterator

from labelkit.calc.needs import Needs
from labelkit.drawing.page import Box, Group, Page
from labelkit.model.media import Printable
from labelkit.sheets.jobview import JobView
from labelkit.sheets.picklist import Pick, short_when
from labelkit.sheets.pieces import PlacedPiece, checked_first, piece_pages, placed_piece
from labelkit.sheets.stickerface import StickerFace, blank_items


class StickerSheets:
    """The stickers of a job on one stock; pages are made one at a time as they are written.

    Args:
        view: the job.
        listed: the new parts.
        needs: the order they are of.
        stock: sticker sheets, label sheets or a roll.
        first: place of the first sticker on its sheet, from 1: the earlier ones of a started sheet are used up.

    Raises:
        UsageError: `first` is not a place on a sheet of this stock.
    """

    def __init__(
        self, view: JobView, listed: Iterable[Pick], needs: Needs, stock: Printable, *, first: int = 1
    ) -> None:
        self.view, self.needs, self.stock = view, needs, stock
        self.picks = _in_tray_order(view, listed)
        self.first = checked_first("--first-sticker", first, stock, "stickers")
        self.placed: list[PlacedPiece[Pick]] = []

    def pages(self) -> Iterator[Page]:
        """Yield the pages; `placed` grows as they come."""
        self.placed.clear()
        yield from piece_pages(self.picks, self.stock, self.first, self._sticker, "stickers")

    def _sticker(self, pick: Pick, page: int, box: Box) -> Group:
        when = short_when(self.view.profile, self.needs.when(pick.use))
        face = StickerFace(self.view, pick, when, box.inset(self.stock.margin_mm), self.stock.true_dpi)
        items = tuple(face.items())
        text = self.view.new_url(pick.use.item)
        self.placed.append(placed_piece(pick, text, page, box, items, face.shortened))
        return Group(items, f"sticker {len(self.placed)}", box)


def _in_tray_order(view: JobView, listed: Iterable[Pick]) -> tuple[Pick, ...]:
    """Return new parts as they lie: tray by tray, place by place, what lies on no tray at the end."""
    places = [place.bin.step for tray in view.trays.trays for place in tray.places]
    at = {step: number for number, step in enumerate(places)}

    def turn(pick: Pick) -> tuple[int, int, int]:
        removed = view.teardown.places.get(pick.step, len(view.teardown.bins))
        return at.get(pick.step, len(places)), removed, pick.use.item.ordinal

    return tuple(sorted(listed, key=turn))


def blank_page(view: JobView, stock: Printable) -> Page:
    """Return a page of stickers with fields to write in, for new parts that nobody planned."""

    def blank(_thing: None, _page: int, box: Box) -> Group:
        return Group(tuple(blank_items(view, box.inset(stock.margin_mm))), "blank sticker", box)

    return next(piece_pages([None] * stock.per_page, stock, 1, blank, "blank stickers"))
