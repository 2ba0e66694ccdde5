"""The report on paper: nothing lies on anything else, nothing is shortened, also where its words are long."""

from __future__ import annotations

import pytest

from labelkit.drawing.page import Page, Text
from labelkit.errors import CapacityError
from labelkit.load.stock import find_stock
from labelkit.sheets.jobreport import Report
from labelkit.sheets.legible import LEAST
from labelkit.sheets.reportreadings import ReportTable
from labelkit.sheets.reportsheet import report_pages
from tests.shop import demo, view_of
from tests.worksheetpages import words_on

LONG = "a reason that takes several lines because somebody wrote down everything that they thought of at the bench "


def long_report() -> Report:
    """Return a report of words that wrap, one without a gap among them, and of more rows than a page holds."""
    cells = ("24.1.2", LONG * 3, "Unbreakable" * 12, f"{LONG}\n{LONG * 2}")
    widths = (17.0, 0.0, 60.0, 50.0)
    rows = tuple((f"{number}", *cells[1:]) for number in range(1, 31))
    tables = (
        ReportTable("Many", ("STEP", "WHAT", "WHICH", "WHY"), widths, rows, ""),
        ReportTable("None", ("STEP", "WHAT"), (17.0, 0.0), (), "Nothing of it."),
    )
    facts, signature = (("Job", "1"), ("Options", LONG * 2)), ("Signed", LONG * 2)
    return Report(facts, signature, "Ann Example-Longname", "2026-03-02 07:31 UTC", tables, (LONG,) * 90)


def pages(paper: str) -> list[Page]:
    view = view_of(demo("planetary-reducer"))
    return list(report_pages(view, long_report(), find_stock(paper, ("paper",))))


@pytest.mark.parametrize("paper", ["a4", "letter"])
def test_long_words_wrap_and_lie_on_nothing(paper: str) -> None:
    """Every line is on the paper, none overlaps another, none is too small or cut."""
    found = pages(paper)

    assert len(found) > 5
    for page in found:
        lying = sorted(words_on(page), key=lambda word: word.box.y)
        for number, one in enumerate(lying):
            assert 0 <= one.box.x
            assert one.box.right <= page.width
            assert one.box.bottom <= page.height
            below = (two for two in lying[number + 1 :] if two.box.y < one.box.bottom)
            assert [two.said for two in below if one.box.overlaps(two.box, 0.05)] == []
        for item, _ in page.walk():
            if isinstance(item, Text):
                assert item.size >= LEAST
                assert "…" not in item.string


def test_every_row_and_point_is_printed() -> None:
    """Thirty rows and ninety points over the pages; an empty table says that it is."""
    words = [word.said for page in pages("a4") for word in words_on(page)]

    assert [str(number) for number in range(1, 31) if str(number) not in words] == []
    assert sum(word.startswith("– ") for word in words) == 90
    assert "Unbreakable" * 12 not in words  # parted over lines, and whole when they are joined
    pieces = "".join(word for word in words if set(word) <= set("Unbreakable"))
    assert pieces.count("Unbreakable" * 12) == 30
    assert "Nothing of it." in words
    assert {"Ann Example-Longname", "2026-03-02 07:31 UTC"} <= set(words)  # in the boxes of the head
    assert sum(word == "STEP" for word in words) > 3  # the head of the table on every page of it


def test_paper_that_is_too_small_is_refused() -> None:
    """The worksheets need A4 or letter."""
    with pytest.raises(CapacityError, match="too small"):
        pages("a6")
