"""What the tests of the worksheets share: words and boxes of a page where they stand, and the words of a row."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from functools import cache
from typing import NamedTuple

from labelkit.drawing.page import Affine, Box, Group, Item, Page, Path, Text, compose
from labelkit.load.stock import find_stock
from labelkit.sheets.jobview import JobView
from labelkit.sheets.worksheets import worksheet_pages
from tests.shop import apply, demo, view_of

# Groups whose boxes are written in, by the first word of their names.
PENCIL = {"tick", "count", "write", "box", "sum", "pass", "angle", "plate"}


class Placed(NamedTuple):
    """Something on a page: where, and what it says."""

    box: Box
    said: str


@cache
def demo_pages(unit: str, paper: str = "a4") -> tuple[Page, ...]:
    """Return the worksheets of a demo unit."""
    return pages_of(view_of(demo(unit)), paper)


def pages_of(view: JobView, paper: str = "a4") -> tuple[Page, ...]:
    """Return the worksheets of a job."""
    return tuple(worksheet_pages(view, find_stock(paper, ("paper",))))


def shifted(box: Box, matrix: Affine) -> Box:
    """Return a box in the frame of the page."""
    corners = [apply(matrix, x, y) for x in (box.x, box.right) for y in (box.y, box.bottom)]
    left, top = (min(corner[k] for corner in corners) for k in (0, 1))
    right, bottom = (max(corner[k] for corner in corners) for k in (0, 1))
    return Box(left, top, right - left, bottom - top)


def words_on(page: Page) -> list[Placed]:
    """Return every line of text of a page with the box of its ink."""
    return [
        Placed(shifted(item.box, matrix), item.string)
        for item, matrix in page.walk()
        if isinstance(item, Text) and item.string
    ]


def boxes_on(page: Page) -> list[Placed]:
    """Return every box for the pencil, with the name of its group."""
    return [*_boxes(page.items, (1.0, 0.0, 0.0, 1.0, 0.0, 0.0))]


def _boxes(items: Iterable[Item], outer: Affine) -> Iterator[Placed]:
    for item in items:
        if not isinstance(item, Group):
            continue
        matrix = compose(outer, item.matrix)
        if item.name.partition(" ")[0] in PENCIL and isinstance(item.items[0], Path):
            points = [command[-2:] for command in item.items[0].d if len(command) == 3]
            xs, ys = [float(x) for x, _ in points], [float(y) for _, y in points]
            yield Placed(shifted(Box(min(xs), min(ys), max(xs) - min(xs), max(ys) - min(ys)), matrix), item.name)
        else:
            yield from _boxes(item.items, matrix)


def rows(pages: Iterable[Page], table: str) -> dict[str, str]:
    """Return what the rows of a table say, by the rest of their names."""
    found: dict[str, str] = {}
    for page in pages:
        for item, _ in page.walk():
            if isinstance(item, Group) and item.name.startswith(f"{table} ") and not item.name.endswith(" head"):
                found[item.name.removeprefix(f"{table} ")] = said(item.items)
    return found


def said(items: Iterable[Item]) -> str:
    """Return the words of some items in the order in which they stand."""
    words = []
    for item in items:
        if isinstance(item, Group):
            words.append(said(item.items))
        elif isinstance(item, Text):
            words.append(item.string)
    return " ".join(filter(None, words))
