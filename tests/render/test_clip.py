"""A group that shows only a part of itself, and a group with a name, in PDF and SVG. Oracles: pdfium and Chromium."""

from __future__ import annotations

import io
from collections.abc import Iterator
from typing import Any
from xml.etree import ElementTree

import numpy as np
import pytest
from numpy.typing import NDArray
from PIL import Image

from labelkit.drawing import text
from labelkit.drawing.page import Box, Group, Item, Page, Pen, line, moved, rectangle
from labelkit.render.svg import svg_fragment, svg_text
from tests.bench_app.phones import a_screen

SVG = "{http://www.w3.org/2000/svg}"
DOTS = 10  # in a millimetre
Picture = NDArray[np.uint8]

BLACK = "#000000"
GROUND = rectangle(Box(0, 0, 60, 40), fill=BLACK)
# What a clip shows of a black ground of 60 x 40 mm: left, top, right, bottom on the page, mm.
CASES: dict[str, tuple[Item, tuple[float, float, float, float]]] = {
    "alone": (Group((GROUND,), clip=Box(10, 5, 20, 15)), (10, 5, 30, 20)),
    "moved": (Group((GROUND,), matrix=moved(7, 3), clip=Box(10, 5, 20, 15)), (17, 8, 37, 23)),
    "in a moved group": (
        Group((Group((GROUND,), clip=Box(10, 5, 20, 15)),), matrix=moved(-4, 6)),
        (6, 11, 26, 26),
    ),
    "scaled": (Group((GROUND,), matrix=(0.5, 0, 0, 2, 1, 2), clip=Box(10, 5, 20, 10)), (6, 12, 16, 32)),
    "turned": (Group((GROUND,), matrix=(0, 1, -1, 0, 40, 2), clip=Box(10, 5, 20, 15)), (20, 12, 35, 32)),
    "clip in a clip": (
        Group((Group((GROUND,), clip=Box(20, 10, 30, 30)),), clip=Box(10, 5, 20, 15)),
        (20, 10, 30, 20),
    ),
    "larger than what it holds": (
        Group((rectangle(Box(5, 5, 10, 10), fill=BLACK),), clip=Box(0, 0, 60, 40)),
        (5, 5, 15, 15),
    ),
    "reaching beyond the page": (Group((GROUND,), matrix=moved(20, 20), clip=Box(-5, -6, 15, 16)), (20, 20, 30, 30)),
}


@pytest.fixture(scope="module")
def screen(browser: Any) -> Iterator[Any]:
    """Return a page of Chromium: 60 x 40 mm and a little, 10 dots in a millimetre."""
    view = {"width": 240, "height": 160}
    with a_screen(browser, device_scale_factor=DOTS * 25.4 / 96, viewport=view) as page:
        yield page


def shown(screen: Any, page: Page) -> Picture:
    """Return a page as Chromium shows it, as grey values."""
    screen.set_content(f"<style>body{{margin:0}}</style>{svg_text(page, title='clip')}")
    picture = np.array(Image.open(io.BytesIO(screen.screenshot())).convert("L"))
    return picture[: round(page.height * DOTS), : round(page.width * DOTS)]


def dark_box(picture: Picture) -> list[float]:
    """Return left, top, right and bottom of what is dark, mm; it must be one full rectangle."""
    rows, columns = np.nonzero(picture < 128)
    left, top, right, bottom = columns.min(), rows.min(), columns.max() + 1, rows.max() + 1
    assert (picture[top:bottom, left:right] < 128).all()
    return [edge / DOTS for edge in (left, top, right, bottom)]


@pytest.mark.parametrize("name", CASES)
def test_nothing_is_shown_outside_a_clip_in_pdf(read_back: Any, name: str) -> None:
    """To a tenth of a millimetre, whatever the group's matrix. Source: pdfium."""
    item, box = CASES[name]

    assert dark_box(read_back(Page(60, 40, (item,))).dots(DOTS * 25.4)) == pytest.approx(box, abs=0.11)


@pytest.mark.parametrize("name", CASES)
def test_nothing_is_shown_outside_a_clip_in_svg(screen: Any, name: str) -> None:
    """The same picture. Source: Chromium."""
    item, box = CASES[name]

    assert dark_box(shown(screen, Page(60, 40, (item,)))) == pytest.approx(box, abs=0.11)


def test_a_clip_ends_with_its_group_in_pdf(read_back: Any) -> None:
    """What comes after it is whole, in its own colour, pen and font."""
    red = Group((rectangle(Box(0, 0, 60, 40), Pen(3, "#ff0000"), "#ff0000"),), clip=Box(0, 0, 10, 10))
    reader = read_back(Page(60, 40, (line(0, 38, 60, 38, Pen(1)), red, line(20, 5, 50, 5, Pen(1)))))

    assert [reader.colour_at(x, y) for x, y in ((5, 5), (15, 20), (21, 5), (49, 5), (30, 38))] == [
        (255, 0, 0),
        (255, 255, 255),
        (0, 0, 0),
        (0, 0, 0),
        (0, 0, 0),
    ]


def test_a_clip_ends_with_its_group_in_svg(screen: Any) -> None:
    """What comes after it is whole."""
    first = Group((GROUND,), clip=Box(0, 0, 10, 10))
    picture = shown(screen, Page(60, 40, (first, rectangle(Box(30, 20, 30, 20), fill=BLACK))))

    assert [bool(picture[y * DOTS + 5, x * DOTS + 5] < 128) for x, y in ((5, 5), (15, 5), (31, 21), (58, 38))] == [
        True,
        False,
        True,
        True,
    ]


def test_text_is_cut_at_the_clip(read_back: Any) -> None:
    """Half a letter is half a letter: a name goes on on the next sheet."""
    word = text.line("HHHHHHHH", 5, 20, 10, "bold")
    whole, cut = (
        read_back(Page(60, 40, (item,))).dots(DOTS * 25.4) < 128
        for item in (word, Group((word,), clip=Box(0, 0, 20, 40)))
    )

    assert (cut[:, :199] == whole[:, :199]).all()
    assert not cut[:, 201:].any()
    assert whole[:, 201:].any()


def test_two_halves_are_the_whole(read_back: Any) -> None:
    """Clips that touch show everything once: no gap and no dot painted twice thicker."""
    slanted = line(3, 3, 57, 37, Pen(2))
    halves = (Group((slanted,), clip=Box(0, 0, 30, 40)), Group((slanted,), clip=Box(30, 0, 30, 40)))
    whole, parts = (read_back(Page(60, 40, items)).dots(DOTS * 25.4).astype(int) for items in ((slanted,), halves))

    assert np.abs(whole - parts)[:, [*range(298), *range(303, 600)]].max() <= 8
    assert ((whole < 128) != (parts < 128)).sum() <= 2


def test_a_clip_has_a_name_too() -> None:
    """In SVG the name is inside the clip, the matrix outside of it."""
    item = Group((GROUND,), "window", None, moved(1, 2), Box(10, 5, 20, 15))
    root = ElementTree.fromstring(svg_text(Page(60, 40, (item,)), title="clip").encode())
    outer = root.find(f"{SVG}g")
    assert outer is not None
    (inner,) = outer
    (named,) = inner

    assert outer.get("transform") == "matrix(1 0 0 1 1 2)"
    assert (inner.tag, inner.get("x"), inner.get("viewBox")) == (f"{SVG}svg", "10", "10 5 20 15")
    assert (named.tag, named.get("id"), len(named)) == (f"{SVG}g", "window", 1)


def test_names_become_ids() -> None:
    """A cutter or a plotter finds an outline by its step; spaces are no part of an id."""
    items = (Group((GROUND,), "outline 8.1"), Group((Group((GROUND,), "flag"),), "place 8.1", None, moved(1, 1)))
    root = ElementTree.fromstring(svg_text(Page(60, 40, items), title="ids").encode())

    assert [element.get("id") for element in root.iter(f"{SVG}g") if element.get("id")] == [
        "outline-8.1",
        "place-8.1",
        "flag",
    ]


def test_a_group_without_a_name_is_no_element() -> None:
    """Nothing is written that says nothing."""
    root = ElementTree.fromstring(svg_text(Page(60, 40, (Group((GROUND,)),)), title="none").encode())

    assert root.find(f"{SVG}g") is None


def test_a_fragment_has_no_ids() -> None:
    """Several pictures stand in one page of HTML: an id would be there twice."""
    fragment = svg_fragment([Group((GROUND,), "outline 1")], Box(0, 0, 60, 40), title="part")

    assert 'id="' not in fragment
