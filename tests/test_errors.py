"""Errors say where, what is allowed and what was probably meant, in the order of their places."""

from __future__ import annotations

import pytest

from labelkit.errors import (
    CapacityError,
    InputError,
    InputErrors,
    LabelkitError,
    NotFoundError,
    OutputError,
    Problem,
    UsageError,
    allowed_text,
    nearest,
)


def test_a_problem_is_one_line_with_its_place() -> None:
    """FILE:LINE:COLUMN as editors and terminals make a link of it, then the field, then the fault."""
    expected = "unit.yaml:8:5: parts[3].sits.clock: is empty"

    assert str(Problem("unit.yaml", 8, 5, "parts[3].sits.clock", "is empty")) == expected
    assert str(Problem("unit.yaml", 8, 5, "", "is not YAML")) == "unit.yaml:8:5: is not YAML"
    assert str(Problem("unit.yaml", 0, 0, "", "is empty")) == "unit.yaml: is empty"


def test_problems_come_in_the_order_of_their_places() -> None:
    """Line 9 stands before line 10, whatever order they were found in."""
    late, early = Problem("u", 10, 1, "b", "late"), Problem("u", 9, 40, "a", "early")
    error = InputErrors([late, early])

    assert error.problems == (early, late)
    assert str(error) == "u:9:40: a: early\nu:10:1: b: late"


def test_what_an_error_quotes_reaches_no_terminal_as_a_control_character() -> None:
    """A code that a scanner garbled may hold an escape sequence; lines stay lines."""
    assert str(InputError('"\x1b[2J7\u202e" is no code;\ntype it')) == '"<U+001B>[2J7<U+202E>" is no code;\ntype it'


@pytest.mark.parametrize("kind", [InputError, InputErrors, NotFoundError, CapacityError, OutputError])
def test_a_wrong_file_ends_with_1_and_a_wrong_call_with_2(kind: type[LabelkitError]) -> None:
    """The exit status tells the two apart; common practice of command lines, no source."""
    assert issubclass(kind, LabelkitError)
    assert (kind.exit_status, UsageError.exit_status) == (1, 2)


@pytest.mark.parametrize(
    ("given", "expected"),
    [
        ("cirlce", "circle"),
        ("two-rows", "two_rows"),
        ("CIRCLE", "circle"),
        ("Two_Rows", "two_rows"),
        ("", None),
        ("zzz", None),
    ],
)
def test_the_nearest_name_is_offered_when_one_is_near(given: str, expected: str | None) -> None:
    """A slip of the finger finds its name, and so do capitals; something else finds none."""
    assert nearest(given, ["circle", "row", "two_rows"]) == expected


def test_a_name_that_differs_only_in_capitals_is_offered_as_it_is_written() -> None:
    """Paper A4 means a4, and the unit n·m is N·m."""
    assert allowed_text("A4", ["a5", "a4"]) == "allowed: a5, a4; did you mean a4?"
    assert nearest("n·M", ["mm", "N·m"]) == "N·m"


def test_what_is_allowed_is_listed_up_to_a_limit() -> None:
    """A long list ends with how many there are; the nearest is found beyond its end too."""
    names = [f"part-{k}" for k in range(20)] + ["shim"]

    assert allowed_text("x", []) == "allowed: nothing"
    assert allowed_text("row", ["row", "rows"]) == "allowed: row, rows; did you mean row?"
    assert allowed_text("shmi", names, most=2) == "allowed: part-0, part-1, ... (21 in all); did you mean shim?"
