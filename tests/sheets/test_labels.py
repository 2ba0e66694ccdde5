"""Bin labels on every shipped stock."""

from __future__ import annotations

import itertools
from collections.abc import Iterator

import pytest

from labelkit.drawing.page import Box, Group, Page, Symbol, Text
from labelkit.drawing.text import cap_for_size
from labelkit.errors import UsageError
from labelkit.load.stock import all_stock
from labelkit.model.stock import Printable
from labelkit.sheets.kit import label_texts
from labelkit.sheets.labels import LabelSheets
from labelkit.sheets.legible import LEAST, MUST, letter_height
from tests.shop import DEMO_UNITS, demo, view_of

STOCK = {name: stock for name, stock in all_stock().items() if isinstance(stock, Printable)}


def sheets(unit: str, stock: Printable, **options: int) -> LabelSheets:
    view = view_of(demo(unit))
    return LabelSheets(
        view, view.teardown.bins, stock, texts=label_texts(view, view.teardown.bins, offline=False), **options
    )


def labels(page: Page) -> Iterator[Group]:
    return (item for item in page.items if isinstance(item, Group) and item.name.startswith("label "))


def texts(group: Group) -> Iterator[Text]:
    for item in group.items:
        if isinstance(item, Text):
            yield item
        elif isinstance(item, Group):
            yield from texts(item)


@pytest.mark.parametrize("unit", DEMO_UNITS)
@pytest.mark.parametrize("name", sorted(STOCK))
def test_nothing_overflows_or_touches(unit: str, name: str) -> None:
    """On every stock every text and symbol stays in its label, clear of every other, and can be read."""
    faults = []
    for page in sheets(unit, STOCK[name]).pages():
        for group in labels(page):
            assert group.box is not None
            symbols = [item.box for item in group.items if isinstance(item, Symbol)]
            words = list(texts(group))
            boxes = [(text.string, text.box) for text in words] + [("symbol", box) for box in symbols]
            faults += [
                f"{group.name}: {what} leaves the label" for what, box in boxes if not group.box.holds(box, 1e-3)
            ]
            faults += [
                f"{group.name}: {one} over {other}"
                for (one, a), (other, b) in itertools.combinations(boxes, 2)
                if a.overlaps(b, 1e-3)
            ]
            faults += [
                f"{group.name}: {text.string} has letters of {cap_for_size(text.size):.2f} mm"
                for text in words
                if text.string != "?" and cap_for_size(text.size) < LEAST - 0.02
            ]

    assert faults == []


@pytest.mark.parametrize("name", sorted(STOCK))
def test_every_label_says_step_and_code(name: str) -> None:
    """However small the stock: the step, the whole code and whose label it is are there, and the symbol."""
    view = view_of(demo("planetary-reducer"))
    found = {group.name: group for page in sheets("planetary-reducer", STOCK[name]).pages() for group in labels(page)}

    assert list(found) == [f"label {each.step}" for each in view.teardown.bins]
    for each in view.teardown.bins:
        group = found[f"label {each.step}"]
        words = [text.string for text in texts(group)]
        assert words[0].startswith(each.step)
        assert any(word.replace("-", "") == view.code(each) for word in words)
        assert any("G2B r5" in word for word in words)
        assert any("invented" in word for word in words)


def test_step_is_the_loudest() -> None:
    """The step number has the tallest letters of its label on every stock."""
    for stock in STOCK.values():
        for page in sheets("planetary-reducer", stock).pages():
            for group in labels(page):
                step, *others = texts(group)
                assert all(step.size > text.size for text in others if text.string != "?"), (stock.name, step.string)


def test_step_and_name_are_read_from_afar_where_the_stock_allows() -> None:
    """On 99 x 56 mm the step is 12 mm tall at least, as a bin number read across the bench has to be."""
    for page in sheets("planetary-reducer", STOCK["a4-2x5-99x56"]).pages():
        for group in labels(page):
            step = next(texts(group))
            assert cap_for_size(step.size) >= 11.9 or step.width > 30


def test_letter_heights_follow_the_published_angles() -> None:
    """16 minutes at 500 mm are 2.33 mm, 20 minutes at 700 mm 4.07 mm (2 d tan(a/2)).

    Source: NUREG-0700 rev. 3, 11.4.1.5-1: labels at least 15, preferably 20 minutes of arc.
    """
    assert round(letter_height(500, 16), 2) == 2.33
    assert round(MUST, 2) == 4.07


def test_a_started_sheet_goes_on_at_its_first_free_label() -> None:
    """`--first-label 7` leaves six places free."""
    made = sheets("planetary-reducer", STOCK["a4-3x8-70x37"], first=7)
    list(made.pages())

    places = STOCK["a4-3x8-70x37"].positions()
    assert made.placed[0].box == Box(*places[6])
    assert made.placed[18].page == 2
    assert made.placed[18].box == Box(*places[0])


def test_a_place_that_no_sheet_has_is_refused() -> None:
    """The message says how many labels a sheet has."""
    with pytest.raises(UsageError, match="24 labels; allowed: 1 to 24"):
        sheets("planetary-reducer", STOCK["a4-3x8-70x37"], first=99)
