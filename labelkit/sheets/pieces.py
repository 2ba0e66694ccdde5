"""What is printed piece by piece, on label sheets, sticker sheets and rolls: which piece stands where."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator, Sequence
from dataclasses import dataclass
from typing import Final, Generic, TypeVar

from labelkit.drawing.page import Box, Group, Item, Page, Pen, Symbol, line
from labelkit.errors import UsageError
from labelkit.model.media import Printable
from labelkit.model.stock import Roll

T = TypeVar("T")

# Fine enough not to be seen on a label, dark enough to cut along.
_CUT_PEN: Final = Pen(0.1, dash=(1.2, 1.2))


@dataclass(frozen=True, slots=True)
class PlacedPiece(Generic[T]):
    """Where a label or a sticker was printed.

    Attributes:
        of: the bin, or the new part, that it is for.
        text: what its symbol says.
        page: page number, from 1.
        box: the piece on its page, mm.
        symbols: the squares of its symbols on the page, without quiet zone and frame, mm.
        shortened: words that had to be cut.
    """

    of: T
    text: str
    page: int
    box: Box
    symbols: tuple[Box, ...]
    shortened: tuple[str, ...]


def placed_piece(of: T, text: str, page: int, box: Box, items: Iterable[Item], shortened: list[str]) -> PlacedPiece[T]:
    """Return where a piece was printed, with its symbols found among what was drawn on it."""
    symbols = tuple(item.inner for item in items if isinstance(item, Symbol))
    return PlacedPiece(of, text, page, box, symbols, tuple(shortened))


def checked_first(option: str, first: int, stock: Printable, what: str) -> int:
    """Return the place of the first piece on its sheet, from 1.

    Args:
        option: as it was given, `--first-label`.
        first: the place.
        stock: what is printed on.
        what: what its pieces are called, `labels`.

    Raises:
        UsageError: not a place on a sheet of this stock.
    """
    if not 1 <= first <= stock.per_page:
        has = (
            f"{stock.per_page} {what}; allowed: 1 to {stock.per_page}"
            if stock.per_page > 1
            else "one piece; allowed: 1"
        )
        raise UsageError(f"{option} {first}: a sheet of {stock.name} has {has}")
    return first


def piece_pages(
    things: Sequence[T], stock: Printable, first: int, draw: Callable[[T, int, Box], Group], what: str
) -> Iterator[Page]:
    """Yield the pages that hold these things, one on each piece, made one at a time as they are written.

    Args:
        things: in the order of the pieces.
        stock: what is printed on.
        first: place of the first piece on its sheet, from 1: the earlier ones of a started sheet are used up.
        draw: gives a piece by its thing, the page from 1 and the box on it.
        what: name of the pages.
    """
    slots = stock.positions()
    number, used, start = 1, 0, first - 1
    while used < len(things):
        here = things[used : used + len(slots) - start]
        pieces = [draw(each, number, Box(*slot)) for slot, each in zip(slots[start:], here, strict=False)]
        yield Page(*stock.page_size, (*_cut_marks(stock), *pieces), f"{what} {number}")
        number, used, start = number + 1, used + len(here), 0


def _cut_marks(stock: Printable) -> tuple[Item, ...]:
    """Return a line to cut along, where the stock has no cuts of its own."""
    if not isinstance(stock, Roll) or stock.die_cut:
        return ()
    width, height = stock.page_size
    return (line(0.0, height - 0.05, width, height - 0.05, _CUT_PEN),)
