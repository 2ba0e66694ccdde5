"""A print that is far from true was scaled by a setting: told, with the likely one, never corrected."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from labelkit.calc.printscale import check_scale, fit_cases, is_true
from labelkit.errors import UsageError

A4 = (210.0, 297.0)
LETTER = (215.9, 279.4)


def refusal(x: float, y: float, paper: str = "a4", size: tuple[float, float] = A4) -> str:
    with pytest.raises(UsageError) as error:
        check_scale(x, y, paper=paper, size=size)
    return str(error.value)


# Computed by hand: (210 - 2 x 3) / 210 = 97.1 % and so on; ISO 216 and ANSI sizes.
@pytest.mark.parametrize(
    ("paper", "size", "percent", "words"),
    [
        ("a4", A4, 97.1, '"fit to page" on a4 with margins of 3 mm'),
        ("a4", A4, 96.0, '"fit to page" on a4 with margins of 4.2 mm'),
        ("a4", A4, 95.2, '"fit to page" on a4 with margins of 5 mm'),
        ("a4", A4, 94.0, '"fit to page" on a4 with margins of 6.35 mm'),
        ("a4", A4, 94.1, "a page for a4 fitted to Letter"),
        ("a4", A4, 89.8, "a page for a4 fitted to Letter inside margins of 6.35 mm"),
        ("letter", LETTER, 97.2, '"fit to page" on letter with margins of 3 mm'),
        ("letter", LETTER, 94.1, '"fit to page" on letter with margins of 6.35 mm'),
        ("letter", LETTER, 97.3, "a page for letter fitted to A4"),
        ("letter", LETTER, 93.4, "a page for letter fitted to A4 inside margins of 4.2 mm"),
    ],
)
def test_the_likely_setting_is_named(paper: str, size: tuple[float, float], percent: float, words: str) -> None:
    """As computed, to a tenth of a percent; the message names it and says what to do."""
    said = refusal(1.4 * percent, 1.4 * percent, paper, size)

    assert round(100 * {case: scale for scale, case in fit_cases(paper, size)}[words], 1) == percent
    assert words in said
    assert "the print dialog scaled the page" in said
    assert 'Print the sheet again at 100 % ("actual size")' in said


@pytest.mark.parametrize(
    ("x", "y", "words"),
    [
        (144.2, 144.1, "Borderless printing"),
        (118.0, 118.1, 'Look for "fit", "shrink" or a scale in percent.'),
        (140.1, 130.0, "no setting of a print dialog and no printer in order scales one axis so much more"),
        (5.51, 5.5, '5.51 and 5.50 mm apart; allowed: the two distances in mm, near 140; for inches write "5.51 in"'),
        (14.0, 14.0, "allowed: the two distances in mm, near 140"),
        (0.0, 140.0, "allowed: the two distances in mm, near 140"),
    ],
)
def test_other_readings_are_refused_with_what_they_look_like(x: float, y: float, words: str) -> None:
    """Too large, unknown, unequal, in inches, in centimetres, nothing."""
    assert words in refusal(x, y, "letter", LETTER)


@given(st.floats(137.9, 142.1), st.floats(137.9, 142.1))
def test_a_printer_may_be_off_by_so_much(x: float, y: float) -> None:
    """98.5 to 101.5 percent are the printer's own."""
    check_scale(x, y, paper="a4", size=A4)


@given(st.floats(-1e6, 1e6).filter(lambda length: not 137.899999 <= length <= 142.100001))
def test_everything_else_is_refused(length: float) -> None:
    """On either axis, whatever the other reads."""
    assert "allowed: " in refusal(length, 140.0)
    assert "allowed: " in refusal(140.0, length)


@pytest.mark.parametrize(
    ("x", "y", "true"), [(140, 140, True), (140.2, 139.8, True), (140.21, 140, False), (140, 139.79, False)]
)
def test_a_second_print_is_true_to_a_fifth_of_a_millimetre(x: float, y: float, true: bool) -> None:
    """0.2 mm on 140 mm is 0.9 mm on a tray of 600 mm."""
    assert true == is_true(x, y)
