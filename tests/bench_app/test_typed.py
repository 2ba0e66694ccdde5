"""Figures as people type them into a form."""

from __future__ import annotations

import re
from decimal import Decimal

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from labelkit.bench.typed import figure, figures, figures_alike
from labelkit.errors import UsageError
from labelkit.language import LANGUAGES, decimal_sign, speaking


@pytest.mark.parametrize(
    ("text", "unit", "read"),
    [
        ("1,10", "mm", ["1.10 mm"]),
        ("1.10 1.12 1.08", "mm", ["1.10 mm", "1.12 mm", "1.08 mm"]),
        ("1,10 1,12", "mm", ["1.10 mm", "1.12 mm"]),
        ("1,10; 1.12\n1.08", "mm", ["1.10 mm", "1.12 mm", "1.08 mm"]),
        ("3/32 in", "mm", ["0.09375 in"]),
        ("1 1/4 in", "mm", ["1.25 in"]),
        ("0.060 0.061 in", "mm", ["0.060 in", "0.061 in"]),
        ("48 N·m", "lbf·ft", ["48 N·m"]),
        ("-0.05", "mm", ["-0.05 mm"]),
    ],
)
def test_every_way_of_typing_is_read_with_its_zeros(text: str, unit: str, read: list[str]) -> None:
    """Points and commas, blanks and line breaks, fractions of an inch, a unit behind the last."""
    assert read == [str(each) for each in figures(text, unit)]


@pytest.mark.parametrize("text", ["", "  ", "1,250", "1.2.3", "one", "1.0 kg", "1" * 61, "1 " * 501, "1e400", "NaN"])
def test_what_is_no_figure_is_refused(text: str) -> None:
    """With a sentence; a comma that may be a thousands mark is no decimal mark."""
    with pytest.raises(UsageError, match=r"\w+ \w+"):
        figures(text, "mm")


@pytest.mark.parametrize("language", [code for code in LANGUAGES if decimal_sign(code) == ","])
def test_three_decimals_behind_a_comma_are_read_for_who_writes_it(language: str) -> None:
    """A number pad has no other mark. Source: Unicode CLDR, decimal sign; of a force thousands are as likely."""
    with speaking(language):
        assert ["34.223 mm", "-0.051 mm"] == [str(each) for each in figures("34,223; -0,051", "mm")]
        assert "48.125 N·m" == str(figure("48,125 N·m", "lbf·ft"))
        for text, unit in (("1,250", "N"), ("1,234,567", "mm"), ("1.234,567", "mm")):
            with pytest.raises(UsageError):
                figures(text, unit)


def test_no_figure_is_dropped_and_none_is_taken_in_the_unit_of_another() -> None:
    """Two where one is asked for, two units where one is kept, and a unit that is none are refused."""
    for read, text, unit, told in (
        (figure, "40 50", "N·m", "found 2 figures; allowed: one"),
        (figures_alike, "1 in; 2 mm", "mm", "found in and mm; write all of them in one unit"),
        (figures, "1.0", "furlong", '"furlong" is no unit'),
    ):
        with pytest.raises(UsageError, match=told):
            read(text, unit)


@pytest.mark.parametrize(
    ("text", "told"),
    [
        ("2.46,2.46", '"2.46,2.46" is not a number.* did you mean "2.46 2.46"\\?$'),
        ("5.o1", '"5.o1": "o" is not a unit of length; .*; did you mean "5.01"\\?$'),
        ("1.10 l.12", '"1.10 l.12": "l" is not a unit of length; .*'),
        ("5 kg", '"5 kg": "kg" is not a unit of length; [^?]*$'),
        ("1.2.3", '"1.2.3": the number 1.2 has no unit; [^?]*$'),
        ("7" * 300, '"7{20}\\.\\.\\.": .{0,200}$'),
    ],
)
def test_the_message_begins_with_what_was_typed(text: str, told: str) -> None:
    """Not only the letter that is no unit; where letters stand for digits, with the figure that was meant."""
    with pytest.raises(UsageError) as error:
        figures(text, "mm")
    assert re.match(told, str(error.value)), error.value


@settings(max_examples=50)
@given(st.lists(st.decimals(-999, 999, places=3), min_size=1, max_size=9), st.sampled_from([" ", "; ", "\n", "  "]))
def test_figures_come_back_as_they_were(values: list[Decimal], between: str) -> None:
    """Whatever stands between them."""
    assert [f"{value} mm" for value in values] == [str(each) for each in figures(between.join(map(str, values)), "mm")]
