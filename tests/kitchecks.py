"""What the sheets of a kit have to be, asked of any job at once, as the tests of each sheet ask it.

Sources: zxing-cpp and OpenCV decode; shapely tells what touches; letters by NUREG-0700 rev. 3, 11.4.1.5-1.
"""

from __future__ import annotations

import itertools
from collections.abc import Callable, Iterator, Sequence
from typing import Any, Final

import shapely

from labelkit.calc.trays import LaidTray, tray_faults
from labelkit.drawing.page import Group, Page, Symbol, Text
from labelkit.drawing.text import cap_for_size
from labelkit.load.stock import PRINTABLE, find_stock
from labelkit.model.media import Printable
from labelkit.sheets.jobview import JobView
from labelkit.sheets.kit import label_texts
from labelkit.sheets.labels import LabelSheets
from labelkit.sheets.legible import LEAST
from labelkit.sheets.newparts import new_parts
from labelkit.sheets.picklistpages import picklist_pages
from labelkit.sheets.stickers import StickerSheets
from labelkit.sheets.traymap import TrayMaps
from tests import explodedsheets
from tests.prints import RESOLUTIONS, misread, misread_stickers
from tests.traysheets import collisions, paper, printed, words_of
from tests.worksheetpages import boxes_on, pages_of, words_on

# What the commands print on where nobody says otherwise.
LABELS: Final = "a4-2x5-99x56"
STICKERS: Final = "a4-4x12-46x21"
PAPER: Final = "a4"


def texts(group: Group) -> Iterator[Text]:
    """Yield every line of text of a group."""
    for item in group.items:
        if isinstance(item, Text):
            yield item
        elif isinstance(item, Group):
            yield from texts(item)


def label_faults(group: Group) -> list[str]:
    """Return what leaves a label, lies on something else of it, or is too small to read."""
    assert group.box is not None
    words = list(texts(group))
    boxes = [(text.string, text.box) for text in words]
    boxes += [("symbol", item.box) for item in group.items if isinstance(item, Symbol)]
    outside = [f"{group.name}: {what} leaves the label" for what, box in boxes if not group.box.holds(box, 1e-3)]
    touching = [
        f"{group.name}: {one} over {other}"
        for (one, a), (other, b) in itertools.combinations(boxes, 2)
        if a.overlaps(b, 1e-3)
    ]
    small = [
        f"{group.name}: {text.string} has letters of {cap_for_size(text.size):.2f} mm"
        for text in words
        if text.string != "?" and cap_for_size(text.size) < LEAST - 0.02
    ]
    return outside + touching + small


def kit_faults(view: JobView, resolutions: Sequence[float] = RESOLUTIONS) -> tuple[dict[str, int], list[str]]:
    """Return how much of each kind of sheet was looked at, and what is wrong with it; stickers as if all were new."""
    counts: dict[str, int] = {}
    found: list[str] = []
    for name, stock, read in (("labels", LABELS, misread), ("stickers", STICKERS, misread_stickers)):
        for dpi in resolutions:
            count, wrong = read(view, _printable(stock), dpi)
            counts[f"symbols of {name} at {dpi:g} dpi"] = count
            found += wrong
    bins, on = view.teardown.bins, paper(PAPER)
    labels = LabelSheets(view, bins, _printable(LABELS), texts=label_texts(view, bins, offline=False)).pages()
    groups = [each for page in labels for each in page.items if isinstance(each, Group) and each.name[:6] == "label "]
    new = new_parts(view, {each.step: "condemned" for each in bins})
    exploded = [*explodedsheets.view_on(view, PAPER).pages()]
    trays = view.trays.trays
    looked: dict[str, tuple[Sequence[Any], Callable[[Any], list[str]]]] = {
        "labels": (groups, label_faults),
        "sticker sheets": ([*StickerSheets(view, new.picks, new.needs, _printable(STICKERS)).pages()], word_faults),
        "pick list pages": ([*picklist_pages(view, new, on)], word_faults),
        "worksheets": (pages_of(view, PAPER), _worksheet_faults),
        "exploded drawings": (explodedsheets.drawings(exploded), lambda page: explodedsheets.faults([page])),
        "sections and lists": (exploded[len(explodedsheets.drawings(exploded)) :], word_faults),
        "tray maps": ([*TrayMaps(view, view.trays, on).pages()], word_faults),
        "trays": (trays, lambda tray: _tray_faults(tray, view)),
    }
    for name, (things, faults) in looked.items():
        counts[name] = len(things)
        found += [f"{name}: {fault}" for thing in things for fault in faults(thing)]
    laid = sum(len(tray.places) for tray in trays) + len(view.trays.floor)
    if laid + len(view.trays.opened) != len(bins):
        found.append(f"{laid} places of {len(bins)} bins")
    return counts, found


def word_faults(page: Page) -> list[str]:
    """Return the lines of text of a page that lie on another one, leave the paper, or are too small to read."""
    lines = [line for line in words_of(page.items) if line.said != "?"]
    sheet = shapely.box(0, 0, page.width, page.height)
    tree = shapely.STRtree([line.box for line in lines])
    found = [
        f"{page.name}: {lines[i].said} on {lines[j].said}"
        for i, j in tree.query([line.box for line in lines], "intersects").T
        if i < j and lines[i].box.intersection(lines[j].box).area > 0.05
    ]
    return found + [
        f"{page.name}: {line.said}, letters of {line.cap:.2f} mm"
        for line in lines
        if line.cap < LEAST - 0.02 or not sheet.covers(line.box)
    ]


def _tray_faults(tray: LaidTray, view: JobView) -> list[str]:
    return [*tray_faults(tray, view.trays.laying.spacing), *collisions(printed(tray), tray)]


def _worksheet_faults(page: Page) -> list[str]:
    """Return what word_faults does, and the boxes for the pencil that touch each other or hold a word."""
    words, boxes = words_on(page), boxes_on(page)
    touching = [
        f"{page.name}: {one.said} on {two.said}"
        for one, two in itertools.combinations(boxes, 2)
        if one.box.overlaps(two.box)
    ]
    filled = [
        f"{page.name}: {word.said} in {box.said}"
        for box in boxes
        for word in words
        if word.box.overlaps(box.box) and not box.said.startswith("sum ")
    ]
    return word_faults(page) + touching + filled


def _printable(name: str) -> Printable:
    stock = find_stock(name, PRINTABLE)
    assert isinstance(stock, Printable)
    return stock
