"""What is kept of printers, and what check sheets say about themselves."""

from __future__ import annotations

from datetime import date
from decimal import Decimal

import pytest
from hypothesis import given
from hypothesis import strategies as st
from pydantic import ValidationError

from labelkit.errors import UsageError
from labelkit.model.printer import CheckMark, CheckReading, Factors, printer_name
from labelkit.units import Quantity
from tests.shop import apply


def reading(x: str, y: str, unit: str = "mm") -> CheckReading:
    return CheckReading(read=(Quantity(Decimal(x), unit), Quantity(Decimal(y), unit)), measured=date(2026, 3, 31))


@pytest.mark.parametrize(
    ("read", "x", "y"),
    [
        (reading("139.44", "140.42"), 1.0040161, 0.9970090),
        (reading("140", "140"), 1, 1),
        (reading("5.5", "5.52", "in"), 140 / 139.7, 140 / 140.208),
    ],
)
def test_factors_undo_what_was_read(read: CheckReading, x: float, y: float) -> None:
    """140 mm against the reading, in mm or inches: what came out short is drawn longer."""
    assert (x, y) == pytest.approx((read.factors.x, read.factors.y), abs=1e-7)


def test_the_matrix_scales_along_both_axes() -> None:
    """A place 100 mm to the right and 200 mm down; the corner stays."""
    factors = Factors(1.004, 0.997)

    assert (100.4, 199.4) == pytest.approx(apply(factors.matrix, 100, 200))
    assert (0, 0) == apply(factors.matrix, 0, 0)


def test_the_window_shrinks_by_the_factor() -> None:
    """196 mm that can be printed hold a drawing of 195.22 mm that is enlarged by 1.004."""
    assert (195.2191, 283.8516) == pytest.approx(Factors(1.004, 0.997).window(196, 283), abs=1e-4)


@pytest.mark.parametrize(("x", "y"), [("137.89", "140"), ("140", "142.11"), ("14", "14"), ("5.5", "140")])
def test_a_reading_that_no_printer_makes_is_refused(x: str, y: str) -> None:
    """98.5 to 101.5 percent of 140 mm are 137.9 to 142.1 mm; a hand that edits the file meets the same bounds."""
    with pytest.raises(ValidationError, match=r"allowed: 137\.9 to 142\.1 mm"):
        reading(x, y)

    assert reading("137.9", "142.1").factors


@pytest.mark.parametrize("day", ["2026-02-30", "31.3.2026", "2026-3-1", "yesterday"])
def test_a_day_is_written_in_one_way(day: str) -> None:
    """Year, month, day by ISO 8601."""
    with pytest.raises(ValidationError, match="allowed: a day as in 2026-03-31"):
        CheckReading.model_validate({"read": ["140", "140"], "measured": day})


NAMES = st.from_regex(r"[a-z0-9][a-z0-9-]{0,47}", fullmatch=True)
FACTORS = st.integers(9850, 10150).map(lambda tenths: tenths / 10_000)


@given(NAMES, st.booleans(), st.none() | NAMES, FACTORS, FACTORS)
def test_a_mark_is_read_as_it_was_written(paper: str, landscape: bool, printer: str | None, x: float, y: float) -> None:
    """Whatever the names; a sheet that is drawn true has factors of 1."""
    mark = CheckMark(paper, landscape, printer, Factors(x, y) if printer else Factors())

    assert mark == CheckMark.of(mark.text)


def test_a_mark_is_in_large_letters() -> None:
    """The alphanumeric mode of QR knows no small ones. Source: ISO/IEC 18004, from memory."""
    assert "LABELKIT CHECK A4 LANDSCAPE LASER-2 1.0040 0.9970" == (
        CheckMark("a4", True, "laser-2", Factors(1.004, 0.997)).text
    )


@pytest.mark.parametrize("text", ["", "LABELKIT CHECK A4", "LABELKIT CHECK A4 SQUARE", "http://x/7K3M9Q2XF41"])
def test_other_texts_are_no_marks(text: str) -> None:
    """A label beside the sheet does not disturb."""
    assert CheckMark.of(text) is None


@pytest.mark.parametrize("name", ["", "Laser 2", "laser_2", "-x", "x" * 49])
def test_a_name_that_cannot_be_is_told(name: str) -> None:
    """The same letters as all names here."""
    with pytest.raises(UsageError, match="allowed: up to 48 of a-z, 0-9 and -, as in laser-2"):
        printer_name(name)


def test_a_name_that_can_be_is_returned() -> None:
    """Digits may come first."""
    assert "2nd-floor" == printer_name("2nd-floor")
