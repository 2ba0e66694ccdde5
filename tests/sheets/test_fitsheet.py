"""Fit sheets: the formula of each kind, its boxes in the order of the sum, the sizes to circle."""

from __future__ import annotations

from decimal import Decimal

import pytest

from labelkit.drawing.page import Group, Page, Text
from labelkit.sheets.fitsheet import has_fit
from tests.shop import DEMO_UNITS, demo, profile_of, view_of
from tests.worksheetpages import demo_pages, pages_of, rows, words_on

UNIT = """
format: 1
unit: {{mark: AB1, name: U, up: top}}
series: {{s: {{from: "2.00", to: "3.20", step: "0.15", numbers: {{"2.60": AB-7}}}}}}
parts:
  - {{id: shim, name: Shim, form: {{ring: {{od: 72, id: 50, t: "2.60"}}}}, series: s}}
  - {{id: race, name: Race, form: {{ring: {{od: 72, id: 50, t: "1.0"}}}}}}
fits:
  play: {{kind: {kind}, target: ["0.40", "0.60"], set_by: shim, {more}}}
"""


def fit_rows(kind: str, more: str) -> dict[str, str]:
    return rows(pages_of(view_of(profile_of(UNIT.format(kind=kind, more=more)))), "fit")


def fit_pages(unit: str, fit: str) -> list[Page]:
    """Return the pages of a demo unit on which a fit begins."""
    return [page for page in demo_pages(unit) if f"FIT: {fit}" in {_words(item) for item, _ in page.walk()}]


def sums(unit: str, fit: str) -> list[list[tuple[str, str]]]:
    """Return the boxes of a fit's sums of a demo unit, line by line: label and what is printed in each."""
    found: dict[tuple[str, float], list[tuple[str, str]]] = {}
    for page in fit_pages(unit, fit):
        for item, matrix in page.walk():
            if isinstance(item, Group) and item.name.startswith("sum "):
                inside = [each.string for each in item.items if isinstance(each, Text)]
                found.setdefault((page.name, matrix[5]), []).append((item.name.removeprefix("sum "), "".join(inside)))
    return [found[place] for place in sorted(found)]


def _words(item: object) -> str:
    return item.string if isinstance(item, Text) else ""


def test_the_sum_can_be_filled_in_from_left_to_right() -> None:
    """t new = t fitted + play - aim, and the same with both ends of the target, for the reducer's end play."""
    known = [("t new, wanted", "0.45 mm"), ("t from", "0.60 mm"), ("t to", "0.30 mm")]
    lines = sums("planetary-reducer", "CARRIER END PLAY")

    assert [(line[0][0], line[-1][1]) for line in lines[:3]] == known
    assert all([label for label, _ in line[1:3]] == ["t fitted, mean", "play, mean"] for line in lines[:3])


@pytest.mark.parametrize(
    ("thicker", "formula", "window"),
    [
        ("reduces", "t new = t fitted + play − aim", ("3.10", "3.30")),
        ("increases", "t new = t fitted + aim − play", ("1.90", "2.10")),
    ],
)
def test_both_signs_are_laid_out_as_they_are_computed(thicker: str, formula: str, window: tuple[str, str]) -> None:
    """Filled in with play 1.10 and 2.60 fitted, the printed ends give the window of both signs.

    Source: worked by hand: 2.60 + 1.10 - 0.60 = 3.10, 2.60 + 1.10 - 0.40 = 3.30; 2.60 + 0.40 - 1.10 = 1.90,
    2.60 + 0.60 - 1.10 = 2.10.
    """
    words = fit_rows("end_play", f"thicker: {thicker}")["sums"]
    fitted, play = Decimal("2.60"), Decimal("1.10")
    ends = [Decimal(part.split(" mm")[0].split()[-1]) for part in words.split("end of target")[1:]]
    sign = 1 if thicker == "reduces" else -1

    assert formula in words
    assert "0.50 mm" in words
    assert tuple(str(fitted + sign * (play - end)) for end in ends) == window


def test_the_sizes_to_circle_are_those_of_the_series() -> None:
    """Each once, with the order number it has."""
    words = fit_rows("clearance", "thicker: reduces")["sums"]

    for size in ("2.00", "2.15", "2.30", "2.45", "2.60 AB-7", "2.75", "2.90", "3.05", "3.20"):
        assert f" {size} " in words


def test_a_sign_that_is_not_recorded_gives_no_sum() -> None:
    """A shim with the wrong sign doubles the play: better no sum than a guessed one."""
    lines = fit_rows("end_play", "chain: [race]")

    assert "Which way a thicker piece works is NOT RECORDED" in lines["sums"]
    assert "t new =" not in lines["sums"]
    assert "predicted play" not in lines["after"]


def test_a_preload_is_laid_out_as_the_line_through_two_trials() -> None:
    """With 5.30 at 1.1 and 5.25 at 3.4 N·m, wanted 3.25, the boxes give 5.253. Source: straight line, by hand."""
    lines = sums("planetary-reducer", "OUTPUT PRELOAD")
    t1, t2, one, two = (Decimal(text) for text in ("5.30", "5.25", "1.1", "3.4"))
    aim = Decimal(lines[0][1][1].split()[0])
    a, b, c = aim - two, t1 - t2, one - two

    assert [[label for label, _ in line] for line in lines] == [
        ["a", "aim", "T2"], ["b", "t1", "t2"], ["c", "T1", "T2"], ["t new, wanted", "t2", "a", "b", "c"],
    ]  # fmt: skip
    assert round(t2 + a * b / c, 3) == Decimal("5.253")


@pytest.mark.parametrize(
    ("thicker", "formula", "sizes"),
    [
        ("reduces", "t new = t fitted − play − aim", ("2.52", "2.51", "2.53")),
        ("increases", "t new = t fitted + play + aim", ("2.68", "2.67", "2.69")),
    ],
)
def test_a_preload_that_is_a_length_is_laid_out_from_the_play(
    thicker: str, formula: str, sizes: tuple[str, str, str]
) -> None:
    """With 2.60 fitted, play 0.05 and 0.02 to 0.04 wanted, the spacer changes by 0.08. Source: by hand."""
    preload = UNIT.replace('["0.40", "0.60"]', '["0.02", "0.04"]')
    found = rows(pages_of(view_of(profile_of(preload.format(kind="preload", more=f"thicker: {thicker}")))), "fit")
    sums = found["sums"]
    sign = 1 if thicker == "increases" else -1
    squeezed = [Decimal(text.split()[-1]) for text in sums.partition("4  Circle")[0].split(" mm")[:3]]

    assert formula in sums
    assert tuple(str(Decimal("2.60") + sign * (Decimal("0.05") + each)) for each in squeezed) == sizes
    assert not rows(pages_of(view_of(profile_of(preload.format(kind="preload", more="")))), "fit trials")
    assert "no play left" in found["after"]


def test_a_stack_lists_every_plate_that_counts_but_the_selective_one() -> None:
    """The depth ends at the backing plate, which is no part of the sum; the pack is no plate.

    Depth 34.22 less 5 x 2.52, 5 x 2.01 and 7.95 leaves 3.62; aim 1.60 gives 2.02. Source: by hand.
    """
    pages = fit_pages("planetary-reducer", "BRAKE STROKE")
    view = view_of(demo("planetary-reducer"))
    plates = {view.teardown.of(part)[0].step for part in ("friction-disc", "steel-disc", "pressure-plate")}
    lines = sums("planetary-reducer", "BRAKE STROKE")
    depth, aim = (Decimal(text.split()[0]) for text in (lines[0][1][1], lines[0][5][1]))

    assert set(rows(pages, "fit plates")) == plates
    facts = " ".join(words.said for page in pages for words in words_on(page))
    assert "Brake disc pack" not in facts
    assert [label for label, _ in lines[0][:3]] == ["rest", "depth", "plates together"]
    assert depth - (5 * Decimal("2.52") + 5 * Decimal("2.01") + Decimal("7.95")) - aim == Decimal("2.02")


@pytest.mark.parametrize("unit", DEMO_UNITS)
def test_a_fit_is_worked_out_on_one_page(unit: str) -> None:
    """Who turns a page in the middle of a sum copies a figure; each fit of both units has room on its page."""
    view = view_of(demo(unit))
    titles = [
        item.string
        for page in demo_pages(unit)
        for item, _ in page.walk()
        if isinstance(item, Text) and item.string.startswith("FIT: ")
    ]

    assert len(titles) == len([fit for fit in view.profile.fits.values() if has_fit(view, fit)])


def test_the_list_of_thin_parts_names_what_may_be_missing() -> None:
    """A race of 1.0 mm left out makes the play 1.0 larger than predicted."""
    assert "2 Race (1.0 mm)" in fit_rows("end_play", "thicker: reduces, chain: [race]")["after"]
