"""The head that sheets share: the same things at the same places, whatever the sheet, the paper and the language."""

from __future__ import annotations

from collections.abc import Iterable
from itertools import combinations

import pytest

from labelkit.drawing.page import Box, Page, Text
from labelkit.drawing.text import cap_for_size
from labelkit.language import LANGUAGES, speaking
from labelkit.sheets.legible import LEAST
from labelkit.sheets.sheethead import HEAD, head
from labelkit.sheets.worksheet import MARGIN, TITLE
from tests import explodedsheets, worksheetpages
from tests.shop import DEMO_UNITS, demo, view_of


def texts(page: Page) -> list[Text]:
    return [item for item, _ in page.walk() if isinstance(item, Text)]


@pytest.mark.parametrize("unit", DEMO_UNITS)
def test_the_number_of_a_page_stands_at_one_place_on_every_sheet(unit: str) -> None:
    """At the right margin, on the line of the title: of the worksheets and of the exploded view alike."""
    for pages in (worksheetpages.demo_pages(unit), explodedsheets.demo_pages(unit, "a4")):
        for number, page in enumerate(pages, 1):
            (turn,) = (text for text in texts(page) if text.string == f"page {number} of {len(pages)}")

            assert (turn.box.right, turn.y) == pytest.approx((page.width - MARGIN, MARGIN + TITLE), abs=0.01)


@pytest.mark.parametrize("language", LANGUAGES)
@pytest.mark.parametrize("size", [(148, 105), (210, 297), (297, 210)], ids=["a6", "a4", "a4 lying"])
def test_nothing_in_a_head_touches_or_is_too_small(language: str, size: tuple[int, int]) -> None:
    """Title, unit, whose it is, options and page, on the smallest paper and with the longest words."""
    view = view_of(demo("planetary-reducer"))
    page = Box(0, 0, *size).inset(MARGIN)
    options = view.option_names(), view.option_words()
    with speaking(language):
        items = [*head(view, "SECTION, ASSEMBLED", page, "page 10 of 10", more=options, shows="steps 1 to 27")]
    words = [item for item in items if isinstance(item, Text)]

    assert size[0] < 200 or not any("…" in word.string for word in words)
    assert not any(_touch(one, other) for one, other in combinations(words, 2))
    assert all(cap_for_size(word.size) >= LEAST - 0.02 for word in words)
    assert Box(page.x, page.y, page.width, HEAD).holds(_around(words), slack=0.2)


def _touch(one: Text, other: Text) -> bool:
    a, b = one.box, other.box
    return a.x < b.right and b.x < a.right and a.y < b.bottom - 0.3 and b.y < a.bottom - 0.3


def _around(words: Iterable[Text]) -> Box:
    boxes = [word.box for word in words]
    x, y = min(box.x for box in boxes), min(box.y for box in boxes)
    return Box(x, y, max(box.right for box in boxes) - x, max(box.bottom for box in boxes) - y)
