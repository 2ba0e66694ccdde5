"""Tray sheets for several tests: jobs on chosen trays, and drawings taken apart into shapes that shapely knows."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from dataclasses import dataclass, replace
from functools import cache

import shapely
from shapely import Polygon

from labelkit.calc.trays import LaidTray, Place
from labelkit.drawing.page import IDENTITY, Affine, Box, Group, Item, Page, Path, Text, compose
from labelkit.drawing.text import cap_height
from labelkit.load.stock import find_stock
from labelkit.model.laying import Laying, TrayKind
from labelkit.model.media import Paper
from labelkit.model.stock import Tray
from labelkit.sheets.jobview import JobView
from labelkit.sheets.traydrawing import tray_drawing
from tests.shop import apply, demo, profile_of, view_of

HEAD = """
format: 1
unit: {mark: T1, name: Test, up: top, clock_from: above, twelve: mark}
parts:
"""


def on_trays(view: JobView, laying: Laying) -> JobView:
    """Return a job with its trays laid out in another way."""
    return replace(view, job=replace(view.job, laying=laying))


@cache
def demo_on(unit: str, *trays: str) -> JobView:
    """Return a demo unit's job on trays of the stock."""
    kinds = []
    for name in trays:
        stock = find_stock(name, ("tray",))
        assert isinstance(stock, Tray)
        kinds.append(TrayKind.of(stock))
    return on_trays(view_of(demo(unit)), Laying(tuple(kinds)))


def job_of(parts: str, laying: Laying | None = None) -> JobView:
    """Return a job on a profile whose parts are written in a test."""
    view = view_of(profile_of(HEAD + parts))
    return on_trays(view, laying) if laying else view


def paper(name: str) -> Paper:
    """Return paper of the stock."""
    stock = find_stock(name, ("paper",))
    assert isinstance(stock, Paper)
    return stock


@dataclass(frozen=True)
class Words:
    """A line of text on the page: what it says, the box of its ink, the height of its capitals in print, mm."""

    said: str
    box: Polygon
    cap: float


def box_of(box: Box, matrix: Affine = IDENTITY) -> Polygon:
    """Return a box of some frame on the page."""
    if matrix == IDENTITY:
        return shapely.box(box.x, box.y, box.right, box.bottom)
    corners = ((box.x, box.y), (box.right, box.y), (box.right, box.bottom), (box.x, box.bottom))
    return Polygon([apply(matrix, x, y) for x, y in corners])


def walk(items: Iterable[Item], matrix: Affine = IDENTITY) -> Iterator[tuple[Item, Affine]]:
    """Yield everything with the matrix that takes its frame to the page's."""
    for item in items:
        inner = compose(matrix, item.matrix) if isinstance(item, Group) else matrix
        yield item, inner
        if isinstance(item, Group):
            yield from walk(item.items, inner)


def words_of(items: Iterable[Item]) -> list[Words]:
    """Return all lines of text that say something."""
    found = []
    for item, matrix in walk(items):
        if isinstance(item, Text) and item.string.strip():
            (ax, ay), (bx, by) = apply(matrix, 0, 0), apply(matrix, 0, item.size)
            cap = ((bx - ax) ** 2 + (by - ay) ** 2) ** 0.5 * cap_height(item.runs[0].face)
            found.append(Words(item.string, box_of(item.box, matrix), cap))
    return found


@cache
def printed(tray: LaidTray, scale: float = 1.0) -> tuple[Words, ...]:
    """Return all lines of text of a tray's picture, in the tray's frame."""
    return tuple(words_of(tray_drawing(tray, scale)))


def points_of(path: Path, matrix: Affine = IDENTITY) -> list[tuple[float, float]]:
    """Return the corners of a path of straight lines."""
    return [apply(matrix, command[1], command[2]) for command in path.d if command[0] in "ML"]  # type: ignore[misc]


def collisions(words: Iterable[Words], tray: LaidTray, matrix: Affine = IDENTITY) -> list[str]:
    """Return the lines of text that lie on a line of text, across a flag's edge, or across an outline.

    Args:
        words: all text of a page.
        tray: what is drawn on it.
        matrix: takes the tray's frame to the page's.
    """
    lines = list(words)
    tree = shapely.STRtree([line.box for line in lines])
    found = [
        f"{lines[i].said} on {lines[j].said}"
        for i, j in tree.query([line.box for line in lines], "intersects").T
        if i < j and lines[i].box.intersection(lines[j].box).area > 1e-3
    ]
    for place in tray.places:
        flag = box_of(Box(*place.flag), matrix)
        rings = [Polygon([apply(matrix, *point) for point in points]).exterior for points in place.outlines]
        own = {int(i) for i in tree.query(flag, "covers")}
        for shape, name in ((flag, "flag"), *((ring, "outline") for ring in rings)):
            found += [
                f"{lines[i].said} across the {name} of step {place.bin.step}"
                for i in tree.query(shape, "intersects")
                if int(i) not in own
            ]
    return found


def flag_of(place: Place) -> Polygon:
    """Return a flag in the tray's frame."""
    return box_of(Box(*place.flag))


def body_of(place: Place) -> shapely.Geometry:
    """Return all outlines of a place in the tray's frame."""
    return shapely.union_all([Polygon(points) for points in place.outlines])


def whole_page(page: Page) -> Polygon:
    """Return the sheet of paper."""
    return box_of(Box(0, 0, page.width, page.height))


def inside_of(place: Place, words: Iterable[Words]) -> list[str]:
    """Return what is said in a flag."""
    x, y, width, height = place.flag
    return [
        line.said
        for line in words
        if x <= line.box.bounds[0]
        and y <= line.box.bounds[1]
        and line.box.bounds[2] <= x + width
        and line.box.bounds[3] <= y + height
    ]
