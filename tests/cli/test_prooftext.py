"""What a proof says, of readings that a test makes up."""

from __future__ import annotations

from pathlib import Path

import numpy as np
import pytest

from labelkit.cli.prooftext import Judged, all_passed, pages_words, proof_data, proof_lines
from labelkit.proof.compare import Expected, PageReadings, compare
from labelkit.proof.decode import Reading
from labelkit.sheets.printed import PrintedKit

CODES = ("7K3M9Q2XF4H", "7K3M9Q2XF4A", "7K3M9Q2XF4B", "7K3M9Q2XF4C")
TEXTS = [f"http://10.0.0.5/{code}" for code in CODES]
STEPS = ("1", "2", "2.1", "3")
# Page, and how far down, mm: two labels on the first page.
PLACES = ((1, 20.0), (1, 100.0), (2, 20.0), (3, 20.0))
KIT = PrintedKit(
    file=Path("kit/kit.json"),
    job=1,
    expected=tuple(Expected(page, text, 20.0, y, 20.0) for text, (page, y) in zip(TEXTS, PLACES, strict=True)),
    steps=dict(zip(TEXTS, STEPS, strict=True)),
    codes=dict(zip(CODES, STEPS, strict=True)),
)


def reading(text: str, y_mm: float, scale: float = 1.0) -> Reading:
    """Return what is read at 100 dots an inch from a symbol of 20 mm, 20 mm from the left."""
    corners = np.add([[0.0, 0], [20, 0], [20, 20], [0, 20]], (20.0, y_mm)) * scale * 100 / 25.4
    return Reading(text, corners, 2.7, 90.0, "plain, local threshold")


def judged(*pages: list[Reading], whole: bool = False) -> Judged:
    read = [PageReadings(f"{number}.png page 1", page, (100.0, 100.0)) for number, page in enumerate(pages, 1)]
    return Judged(KIT, read, compare(read, KIT.expected), whole=whole, whose=lambda _text: "")


def told(found: Judged) -> list[str]:
    return list(proof_lines([found], [], [], []))


@pytest.mark.parametrize(
    ("pages", "words"),
    [([4], "page 4"), ([2, 1], "pages 1-2"), ([1, 3, 4, 5, 9], "pages 1, 3-5, 9"), ([2, 2], "page 2")],
)
def test_pages_are_named_in_runs(pages: list[int], words: str) -> None:
    """One is a page, several are pages, and neighbours are a run."""
    assert words == pages_words(pages)


def test_what_was_not_shown_is_named_and_no_fault() -> None:
    """A scan of the second page of three."""
    found = judged([reading(TEXTS[2], 20)])

    assert all_passed([found], [])
    assert [
        "labels page 2: 1 of 1 steps right",
        "labels pages 1, 3: not in this scan",
        "1 read, 0 missing, 0 wrong, 0 extra: every symbol of page 2 is right",
    ] == told(found)[1:]


def test_the_same_pages_missing_from_a_file_of_ours_are_a_fault() -> None:
    """Its file has all pages, or it is not the file of this kit."""
    found = judged([reading(TEXTS[2], 20)], whole=True)

    assert not all_passed([found], [])
    assert ["MISSING labels pages 1, 3: not in the file", "1 read, 0 missing, 0 wrong, 0 extra: NOT RIGHT"] == (
        told(found)[-2:]
    )


def test_a_scaled_page_says_what_to_do() -> None:
    """In percent, with what is allowed and what most likely did it."""
    found = judged([reading(TEXTS[0], 20, 0.952), reading(TEXTS[1], 100, 0.952)])

    assert not all_passed([found], [])
    assert (
        "SCALED 1.png page 1: printed at 95.2%, allowed 98.5% to 101.5%: the print dialog scaled it "
        '("fit", "shrink" or a scale in percent). Print it again at 100 % ("actual size")'
    ) in told(found)


@pytest.mark.parametrize(
    ("scale", "words"), [(0.99, ["1.png page 1: printed at 99.0%; within 98.5% to 101.5% a printer"]), (1.001, [])]
)
def test_a_page_that_passes_says_how_far_it_is_off(scale: float, words: list[str]) -> None:
    """A printer may be so by itself; what a check sheet calls true is said of no label."""
    found = judged([reading(TEXTS[0], 20, scale), reading(TEXTS[1], 100, scale)])

    assert all_passed([found], [])
    assert words == [line[: len(words[0])] for line in told(found) if "printed at" in line]


def test_data_names_steps_and_pages() -> None:
    """As the lines do."""
    data = proof_data([judged([reading(TEXTS[0], 20), reading("other", 200)])], [])

    assert (False, [("2", 1)], [2, 3], ["other"]) == (
        data["passed"],
        [(each["step"], each["page"]) for each in data["missing"]],
        [each["page"] for each in data["unseen"]],
        data["extra"],
    )
