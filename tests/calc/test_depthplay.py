"""Plays and shims from depths; the forms as public manuals have them, the figures worked here by hand."""

from __future__ import annotations

from decimal import Decimal

import pytest

from labelkit.calc.depthplay import Row, Term, depth_gauge, row_of, shim_for, straightedge, summed, thickness
from labelkit.calc.selecting import Asked
from labelkit.calc.selective import Pieces, Target
from labelkit.calc.showing import Show
from labelkit.errors import UsageError
from labelkit.units import parse

D = Decimal
INCH = D("25.4")


def row(part: str, *bands: str) -> Row:
    ends = [band.split("..") for band in bands]
    return Row(part, tuple((parse(low, "length", "mm"), parse(high, "length", "mm")) for low, high in ends))


# Bands as a public manual prints them, mm and in: TM 9-2320-272-24-4 form, read as an excerpt.
ROWS = (
    row("1", "4.574..4.843", "0.180 in..0.190 in"),
    row("2", "4.844..5.113", "0.192 in..0.201 in"),
)


def test_a_sum_is_told_with_its_names() -> None:
    """Each term with sign, unit and name."""
    assert summed([Term("depth", D("41.27")), Term("bar", D("6.35"), -1)]) == (
        D("34.92"), "41.27 mm (depth) - 6.35 mm (bar) = 34.92 mm",
    )  # fmt: skip


def test_the_straightedge_form() -> None:
    """41.27 - 6.35 = 34.92; 39.90 - 34.92 = 4.98, in the row 4.844-5.113."""
    answer = straightedge(D("41.27"), D("6.35"), D("39.90"), ROWS)

    assert (answer.verdict, answer.values["row"]) == ("ok", "2")
    assert [str(answer.values[key]) for key in ("below_bar", "gap")] == ["34.92", "4.98"]


def test_the_retainer_form() -> None:
    """1.482 - 1.375 + 0.012 = 0.119 in (form: depth less thickness and an addition)."""
    terms = [
        Term("depth", D("1.482") * INCH),
        Term("retainer", D("1.375") * INCH, -1),
        Term("added", D("0.012") * INCH),
    ]

    assert str(thickness(terms, "retainer", Show("in", 3)).values["wanted"]) == "0.119"


def test_a_shim_under_a_retainer_is_chosen_for_a_squeeze() -> None:
    """Space 2.72, squeezed by 0.25-0.35: window 2.97-3.07, 3.00 stands out by 0.28."""
    terms = [Term("depth", D("37.64")), Term("retainer", D("34.92"), -1)]
    shelf = Pieces((D("2.90"), D("3.00"), D("3.10")))
    answer = shim_for(terms, Target.of(D("-0.35"), D("-0.25")), shelf, Asked("retainer"))

    assert (answer.data()["window"], answer.data()["choice"], answer.data()["predicted"]) == (
        ["2.97", "3.07"], ["3.00"], "-0.28",
    )  # fmt: skip


def test_the_gasket_form() -> None:
    """52.30 + 0.28 - 49.10 = 3.48; play 0.05-0.10: 3.38-3.43, without a shelf only the thickness is told."""
    terms = [Term("A", D("52.30")), Term("gasket", D("0.28")), Term("B", D("49.10"), -1)]
    answer = shim_for(terms, Target.of(D("0.05"), D("0.10")), None, Asked("gasket_shim"), ["gasket: compressed"])

    assert (answer.verdict, answer.data()["window"]) == ("ok", ["3.38", "3.43"])
    assert "gasket: compressed" in answer.notes


def test_a_depth_gauge_gives_the_play() -> None:
    """Depth to the seat less depth to the ring; judged against its band (form: TM 10-3930-659-34, p. 5-129)."""
    band = Target.of(D("0.30"), D("0.40"))

    assert depth_gauge(D("12.45"), D("12.10"), band, D("0.01")).verdict == "ok"
    assert depth_gauge(D("12.55"), D("12.10"), band, D("0.01")).verdict == "out"
    assert depth_gauge(D("12.45"), D("12.10"), None, D("0.01")).verdict == "no_limit"


def test_depths_that_are_swapped_are_refused() -> None:
    """No play below zero, no shim thinner than nothing, no bar thicker than the depth over it."""
    assert "swapped" in depth_gauge(D("12.10"), D("12.45"), None, D("0.01")).notes[0]
    assert shim_for([Term("A", D(1)), Term("B", D(2), -1)], Target.of(D(0), D(1)), None, Asked()).verdict == "refused"
    assert thickness([Term("A", D(1)), Term("B", D(2), -1)], "retainer").verdict == "refused"
    assert straightedge(D("9"), D("1"), D("7"), ROWS).verdict == "refused"
    with pytest.raises(UsageError, match="are the two swapped"):
        straightedge(D("6.35"), D("41.27"), D("39.90"), ROWS)


def test_a_hole_in_one_column_is_told() -> None:
    """0.191 in is in no row of inches; 4.851 mm is in row 2 (0.191 x 25.4 = 4.8514)."""
    answer = row_of(parse("0.191 in", "length", "mm"), ROWS)

    assert (answer.verdict, answer.values["row"]) == ("ok", "2")
    assert answer.sums == ("4.851 mm: row 2", "0.191 in: no row")
    assert "no row has 0.191 in: it lies between two" in answer.notes[0]


def test_no_row_is_never_filled_in() -> None:
    """Beyond the table nothing is chosen; rows that disagree are borderline."""
    assert row_of(parse("5.20", "length", "mm"), ROWS).verdict == "none"
    assert row_of(parse("4.843", "length", "mm"), (*ROWS, row("3", "4.80..4.90"))).verdict == "borderline"
    with pytest.raises(UsageError, match="no rows"):
        row_of(parse("5", "length", "mm"), ())
