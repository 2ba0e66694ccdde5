"""The frame of all worksheets: a head to fill in, strips that break over pages, and a foot with what comes first.

A worksheet is a column of strips. A strip is never parted; a strip of a table brings the table's head along where it
begins a page. Everything is black on white, on paper that lies on its long side, as the other sheets are.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from typing import Final, NamedTuple

from labelkit.drawing.page import Box, Group, Item, Page, Pen, line, moved, rectangle
from labelkit.drawing.text import fit_fullest, fit_line, measure, size_for_cap, wrap
from labelkit.drawing.text import line as text_line
from labelkit.errors import CapacityError
from labelkit.language import gettext as _
from labelkit.language import noop
from labelkit.model.media import Paper
from labelkit.sheets import wording
from labelkit.sheets.jobview import JobView
from labelkit.sheets.legible import LEAST, em

MARGIN: Final = 8.0
# Height of capitals, mm: of what is read at the bench, of what stands beside it, of headings.
WORDS: Final = 2.1
SMALL: Final = 1.75
HEADING: Final = 3.0
STEP: Final = 3.4
TITLE: Final = 7.0
NAME: Final = 2.6  # of the unit, in the head
# Lines follow each other at this many heights of a capital.
LEADING: Final = 1.7
# What a pencil in a glove can fill. Common practice, no source.
TICK: Final = 8.0
WRITE: Final = (18.0, 9.0)
BOX_PEN: Final = Pen(0.35)
RULE: Final = Pen(0.15)
THICK: Final = Pen(0.5)

FIRST: Final = noop("Local rules, the shop's own rules and trained, licensed people come before this sheet.")
MISSING: Final = noop("{unknown}: the profile does not say; find out and write it down.")

_HEAD: Final = 25.0
_FOOT: Final = 6.0
# Smaller paper has no room for all that a sheet needs in letters that can be read.
_LEAST_PAPER: Final = (270.0, 190.0)
_FIELDS: Final = ((noop("SERIAL"), 54.0), (noop("BY"), 34.0), (noop("DATE"), 34.0))
_APART: Final = 2.0
# What looks bad is the share of a page that is blank, squared, and more so the more pages follow. As bad are a table
# that is parted, besides a row of it that stands alone, and a last page of less than a share of the paper.
_EARLY: Final = 0.25
_PARTED: Final = 0.08
_ALONE: Final = 0.16
_SHORT: Final = 0.5
_SHORTEST: Final = 0.3


@dataclass(frozen=True, slots=True)
class Strip:
    """A piece of a worksheet as wide as the page, in its own frame.

    Attributes:
        height: mm.
        items: what is on it.
        name: how a test finds it on its page.
        head: what stands above it again where it begins a page.
        kept: it is not parted from the one below it.
        closing: it only ends what is above it, and is left out where it would begin a page.
    """

    height: float
    items: tuple[Item, ...] = ()
    name: str = ""
    head: Strip | None = None
    kept: bool = False
    closing: bool = False


@dataclass(frozen=True, slots=True)
class Sheet:
    """One worksheet: its title and its strips; it begins on a new page."""

    title: str
    strips: Sequence[Strip]


@dataclass(frozen=True, slots=True)
class Frame:
    """The paper of the worksheets, lying.

    Attributes:
        width, height: of the paper, mm.
    """

    width: float
    height: float

    @classmethod
    def of(cls, paper: Paper) -> Frame:
        """Return the frame for a paper.

        Raises:
            CapacityError: the paper is too small.
        """
        return cls(*lying(paper, "worksheets"))

    @property
    def page(self) -> Box:
        """What may be printed on."""
        return Box(0, 0, self.width, self.height).inset(MARGIN)

    @property
    def body(self) -> Box:
        """What is left for strips."""
        page = self.page
        return Box(page.x, page.y + _HEAD, page.width, page.height - _HEAD - _FOOT)


def lying(
    paper: Paper, what: str, least: tuple[float, float] = _LEAST_PAPER, smallest: str = "a4"
) -> tuple[float, float]:
    """Return width and height of a paper on its long side, mm.

    Args:
        paper: the paper.
        what: is printed on it.
        least: width and height that this needs, mm.
        smallest: the usual paper that has them.

    Raises:
        CapacityError: the paper is too small.
    """
    short, long = sorted(paper.size_mm)
    if long < least[0] or short < least[1]:
        needed = f"{least[0]:g} × {least[1]:g} mm, as {smallest}"
        raise CapacityError(f"paper {paper.name}: too small for {what}; allowed: from {needed}")
    return long, short


def sheet_pages(
    view: JobView, sheets: Iterable[Sheet], frame: Frame, filled: Mapping[str, str] | None = None
) -> Iterator[Page]:
    """Yield the pages of worksheets, numbered through; a sheet without strips has none.

    Args:
        view: the job.
        sheets: in their order.
        frame: of the paper.
        filled: what stands in boxes of the head that are not left to the pencil, by name: `BY`, `DATE`.
    """
    known = {"SERIAL": view.job.serial or "", **(filled or {})}
    bodies = [(sheet.title, strips) for sheet in sheets for strips in broken(sheet.strips, frame.body.height)]
    for number, (title, strips) in enumerate(bodies, start=1):
        items: list[Item] = [
            *_head(view, frame.page, title, page_words(number, len(bodies)), known),
            *_foot(frame.page),
        ]
        y = frame.body.y
        for strip in strips:
            room = Box(0, 0, frame.body.width, strip.height)
            items.append(Group(strip.items, strip.name, room, moved(frame.body.x, y)))
            y += strip.height
        yield Page(frame.width, frame.height, tuple(items), f"worksheet {number}")


def page_words(number: int, count: int) -> str:
    """Return which page it is: `page 2 of 7`."""
    return _("page {number} of {count}").format(number=number, count=count)


def broken(strips: Iterable[Strip], room: float) -> list[list[Strip]]:
    """Break strips into pages of a height: as few as they need, filled one after the other.

    Heads of tables are repeated, kept strips stay together where they can. A little of a page stays blank where that
    keeps a table whole, or a row of it from standing alone; a last page that would be short takes rows along.
    """
    pieces = list(_pieces(strips, room))
    onward: list[_Break] = [_Break((0, 0, 0.0), len(pieces))] * (len(pieces) + 1)
    for first in range(len(pieces) - 1, -1, -1):
        onward[first] = min(_breaks(pieces, first, onward, room), key=lambda each: (each.cost, -each.then))
    pages, first = [], 0
    while first < len(pieces):
        then = onward[first].then
        pages.append(_page(pieces[first:then], room))
        first = then
    return pages


class _Break(NamedTuple):
    """What pages cost from here on, and where the next begins: parted strips that are kept, pages, looks."""

    cost: tuple[int, int, float]
    then: int


class _Piece(NamedTuple):
    """Strips that stay together, and those that close what is above; `parted`: from what it is kept with."""

    strips: list[Strip]
    closing: list[Strip]
    parted: bool

    @property
    def head(self) -> list[Strip]:
        """What stands above it where it begins a page."""
        return [self.strips[0].head] if self.strips[0].head else []

    @property
    def begins(self) -> bool:
        """Whether a table begins with it, or what is none."""
        return any(strip.head is None for strip in self.strips)


def _pieces(strips: Iterable[Strip], room: float) -> Iterator[_Piece]:
    """Yield what is not parted; of what is kept together and too high for a page each strip."""
    piece: _Piece | None = None
    for block in _blocks(strips):
        if block[0].closing:
            if piece:
                piece.closing.extend(block)
            continue
        fits = _height([*_Piece(block, [], parted=False).head, *block]) <= room
        for number, part in enumerate([block] if fits else [[strip] for strip in block]):
            if piece:
                yield piece
            piece = _Piece(part, [], parted=number > 0)
    if piece:
        yield piece


def _breaks(pieces: Sequence[_Piece], first: int, onward: Sequence[_Break], room: float) -> Iterator[_Break]:
    """Yield each way to end the page that begins with a piece."""
    used = _height(pieces[first].head)
    for then in range(first + 1, len(pieces) + 1):
        used += _height(pieces[then - 1].strips)
        if used > room and then > first + 1:
            return
        blank = max(0.0, 1 - used / room)
        rest = onward[then].cost
        looks = blank**2 * (1 + _EARLY * (rest[1] - 1))
        if then == len(pieces):
            looks = _SHORT * (first > 0 and 1 - blank < _SHORTEST)
        if then < len(pieces) and not pieces[then].begins:
            last = then + 1 == len(pieces) or pieces[then + 1].begins
            looks += _PARTED + _ALONE * (pieces[then - 1].begins + last)
        broken = then < len(pieces) and pieces[then].parted
        yield _Break((rest[0] + broken, rest[1] + 1, round(rest[2] + looks, 6)), then)
        used += _height(pieces[then - 1].closing)


def _page(pieces: Sequence[_Piece], room: float) -> list[Strip]:
    """Return the strips of a page; what only closes it is left out where the page has no room for it."""
    page = list(pieces[0].head)
    for piece in pieces:
        page += piece.strips
        if piece is not pieces[-1] or _height([*page, *piece.closing]) <= room:
            page += piece.closing
    return page


def _height(strips: Iterable[Strip]) -> float:
    return math.fsum(strip.height for strip in strips)


def _blocks(strips: Iterable[Strip]) -> Iterator[list[Strip]]:
    block: list[Strip] = []
    for strip in strips:
        block.append(strip)
        if not strip.kept:
            yield block
            block = []
    if block:
        yield block


def _head(view: JobView, page: Box, title: str, number: str, known: Mapping[str, str]) -> Iterator[Item]:
    header, job = view.profile.unit, view.job
    fields = math.fsum(width for _name, width in _FIELDS) + _APART * (len(_FIELDS) - 1)
    turn = text_line(number, page.right, page.y + TITLE, size_for_cap(HEADING, "bold"), "bold", "end")
    yield turn
    sizes = (size_for_cap(TITLE, "bold"), em(LEAST, "bold"))
    yield fit_line(title, turn.box.x - page.x - 6, sizes, "bold").at(page.x, page.y + TITLE)
    room = page.width - fields - 6
    y = page.y + 13.0
    yield fit_line(header.name, room, (em(NAME, "bold"), em(LEAST, "bold")), "bold").at(page.x, y)
    source = wording.source_words(header) or _("source not recorded")
    options = [view.option_names(), view.option_words()] if view.profile.options else []
    for ways in ([wording.whose_words(header, wording.job_words(job.number), source)], options):
        if ways:
            y += 3.6
            yield fit_fullest(ways, room, (em(SMALL), em(LEAST))).at(page.x, y)
    x = page.right - fields
    for name, width in _FIELDS:
        box = Box(x, page.y + 11.0, width, 11.0)
        yield rectangle(box, BOX_PEN)
        yield text_line(_(name), box.x + 1.0, box.y + 2.3, em(LEAST, "bold"), "bold")
        if written := known.get(name):
            said = fit_line(written, width - 3, (size_for_cap(4.0, "bold"), em(LEAST, "bold")), "bold")
            yield said.at(box.x + 1.5, box.bottom - 2.2)
        x += width + _APART
    yield line(page.x, page.y + _HEAD - 1.5, page.right, page.y + _HEAD - 1.5, THICK)


def _foot(page: Box) -> Iterator[Item]:
    yield line(page.x, page.bottom - 4.2, page.right, page.bottom - 4.2, RULE)
    yield text_line(_(FIRST), page.x, page.bottom - 1.0, em(LEAST))
    missing = _(MISSING).format(unknown=wording.not_recorded())
    yield text_line(missing, page.right, page.bottom - 1.0, em(LEAST), "regular", "end")


def title_strip(words: str, width: float, name: str = "") -> Strip:
    """Return a heading inside a sheet, kept with what follows; it wraps where it is long."""
    size = em(HEADING, "bold")
    items: list[Item] = []
    y = 2.5
    for each in wrap(words, width, size, 99, "bold").lines:
        y += HEADING
        items.append(text_line(each, 0, y, size, "bold"))
        y += HEADING * (LEADING - 1)
    return Strip(y + 0.6, tuple(items), name, kept=True)


def titled(words: str, strips: Iterable[Strip], width: float, name: str = "") -> Iterator[Strip]:
    """Yield strips below a heading, which is said again where one of them begins a page."""
    again = title_strip(_("{title}, continued").format(title=words), width)
    yield title_strip(words, width, name)
    for strip in strips:
        yield replace(strip, head=stacked(again, strip.head))


def stacked(upper: Strip, lower: Strip | None) -> Strip:
    """Return two heads as one, under the name of the first that has one."""
    if lower is None:
        return upper
    items = (Group(upper.items), Group(lower.items, "", None, moved(0, upper.height)))
    return Strip(upper.height + lower.height, items, upper.name or lower.name, kept=True)


def note_strip(words: str, width: float, *, kept: bool = True) -> Strip:
    """Return a remark as wide as the page, wrapped; a line of more than the eye can follow is broken before."""
    size = em(WORDS)
    items: list[Item] = []
    y = 1.0
    for each in wrap(words, min(width, 200.0), size, 99).lines:
        y += WORDS
        items.append(text_line(each, 0, y, size))
        y += WORDS * (LEADING - 1)
    return Strip(y + 1.0, tuple(items), kept=kept)


def text_width(words: str, cap: float, face: str = "regular") -> float:
    """Return how wide a line of a height of capitals is, mm."""
    return measure(words, face, em(cap, face))[0]
