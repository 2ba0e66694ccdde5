"""Typed scalars read the text of their field and nothing else."""

from __future__ import annotations

from decimal import Decimal
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st
from pydantic import TypeAdapter, ValidationError

from labelkit.model import scalars
from labelkit.units import Quantity


def read(kind: Any, text: object, **context: str) -> Any:
    return TypeAdapter(kind).validate_python(text, context=context)


def told(kind: Any, text: object) -> str:
    with pytest.raises(ValidationError) as error:
        read(kind, text)
    (detail,) = error.value.errors()
    return str(detail["msg"])


def test_a_bare_number_takes_the_units_of_the_header() -> None:
    """Without a header it is mm, kg, N·m."""
    assert str(read(scalars.Length, "2.60")) == "2.60 mm"
    assert str(read(scalars.Length, "0.104", lengths="in")) == "0.104 in"
    assert str(read(scalars.Mass, "40", masses="g")) == "40 g"
    assert str(read(scalars.Torque, "18", torques="lbf·ft")) == "18 lbf·ft"
    assert str(read(scalars.AnyQuantity, "0.104", lengths="in")) == "0.104 in"


@pytest.mark.parametrize(
    ("text", "kind"), [("3 N", "force"), ("0.05 bar", "pressure"), ("1 lb 4 oz", "mass"), ("30 deg", "angle")]
)
def test_a_figure_of_any_kind_is_told_by_its_unit(text: str, kind: str) -> None:
    """A check may measure a force, a pressure, an angle."""
    assert read(scalars.AnyQuantity, text).kind == kind


@pytest.mark.parametrize(
    ("kind", "text", "words"),
    [
        (scalars.Length, "0", "found 0 mm; allowed: more than 0"),
        (scalars.LengthOrZero, "-1", "found -1 mm; allowed: at least 0"),
        (scalars.Length, "20001", "allowed: at most 20000 mm. Is the unit right?"),
        (scalars.Length, "0.0009", "allowed: at least 0.001 mm. Is the unit right?"),
        (scalars.LengthOrZero, "1e-9", "found 0.000000001 mm; allowed: at least 0.001 mm"),
        (scalars.SignedLength, "-20001", "allowed: at least -20000"),
        (scalars.Length, None, "is empty; write a value, or leave the field out"),
        (scalars.Length, ["1"], "is a list; one value is allowed here"),
        (scalars.Length, {"a": "1"}, "is a mapping; one value is allowed here"),
        (scalars.Length, "9" * 100, "of 100 characters; allowed: at most 60"),
        (scalars.Count, "0", "a whole number from 1 to 9999"),
        (scalars.Count, "1e3", "a whole number from 1 to 9999"),
        (scalars.Count, "+5", "a whole number from 1 to 9999"),
        (scalars.Count, "٣", "a whole number from 1 to 9999"),
        (scalars.CountOrSet, "12345", "or set (no fixed count)"),
        (scalars.YesNo, "no", "allowed: true, false"),
        (scalars.Share, "1.5", "a number from 0.01 to 1"),
        (scalars.ClockOrFree, "0:30", 'free, or an hour on the dial from "1:00" to "12:59"'),
        (scalars.ClockOrFree, "6", "an hour on the dial"),
        (scalars.ClockOrFree, "6:60", "an hour on the dial"),
        (scalars.Aim, "midle", "did you mean middle?"),
        (scalars.Words, " \t ", "is empty; write some words"),
        (scalars.Short, "x" * 25, "has 25 letters; allowed: at most 24"),
        (scalars.Words, "a\x1b[2Jb", "the unprintable character U+001B"),
        (scalars.Words, "a\u200bb", "the unprintable character U+200B"),
        (scalars.Ident, "Thrust 2", "up to 48 of a-z, 0-9 and -"),
        (scalars.Ident, "-a", "up to 48 of a-z, 0-9 and -"),
        (scalars.Mark, "K", "2 to 8 of A-Z, 0-9 and -"),
        (scalars.PhotoPath, "/etc/passwd", "a path below the profile's own folder"),
        (scalars.PhotoPath, "a/../../b.jpg", "a path below the profile's own folder"),
        (scalars.PhotoPath, "..\\b.jpg", "a path below the profile's own folder"),
        (scalars.PhotoPath, "C:\\b.jpg", "a path below the profile's own folder"),
        (scalars.PhotoPath, "x" * 300, "of 300 characters; allowed: at most 240"),
    ],
)
def test_what_does_not_belong_says_what_is_allowed(kind: Any, text: object, words: str) -> None:
    """Found this, allowed that."""
    assert words in told(kind, text)


def test_words_are_kept_but_for_their_spacing() -> None:
    """A text folded over two lines of the file is one line on the label; 00123 stays 00123."""
    assert read(scalars.Words, "two\n  lines\u00a0of text ") == "two lines of text"
    assert read(scalars.PartNumber, "00123") == "00123"
    assert read(scalars.PhotoPath, "photos\\carrier-1.jpg") == "photos/carrier-1.jpg"


def test_counts_are_whole_or_a_set() -> None:
    """A quantity may be a set without a fixed count."""
    assert [read(scalars.CountOrSet, given) for given in ("24", "set")] == [24, "set"]
    assert read(scalars.Count, "007") == 7


def test_values_made_in_python_pass() -> None:
    """Defaults and tests give finished values."""
    quantity = Quantity(Decimal(3), "mm")

    assert read(scalars.Length, quantity) is quantity
    assert read(scalars.YesNo, "true") is True


@pytest.mark.parametrize(
    ("text", "degrees", "mirrored"),
    [("12:00", 0, "12:00"), ("3:00", 90, "9:00"), ("5:00", 150, "7:00"), ("6:30", 195, "5:30"), ("12:30", 15, "11:30")],
)
def test_the_dial_turns_30_degrees_an_hour(text: str, degrees: float, mirrored: str) -> None:
    """Clockwise from 12; from the other end 5 o'clock is 7. Source: the face of any clock."""
    clock = read(scalars.ClockOrFree, text)

    assert (str(clock), clock.degrees, str(clock.mirrored())) == (text, degrees, mirrored)


@given(st.integers(0, 719))
def test_every_minute_of_the_dial_is_read_back(minutes: int) -> None:
    """Written and read, it is the same place; seen twice from the other end, too."""
    clock = scalars.Clock(minutes)

    assert read(scalars.ClockOrFree, str(clock)) == clock
    assert clock.mirrored().mirrored() == clock
    assert (clock.degrees + clock.mirrored().degrees) % 360 == 0


def test_free_is_not_a_place() -> None:
    """Any position is right: another value than every place, and than nothing."""
    assert read(scalars.ClockOrFree, "free") == "free"
    assert "is empty" in told(scalars.ClockOrFree, None)
