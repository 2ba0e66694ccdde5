"""Words on a label: the best way to break them, and never smaller than can be read."""

from __future__ import annotations

from itertools import combinations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from labelkit.drawing.page import Box
from labelkit.drawing.text import cap_for_size, measure
from labelkit.sheets.labeltext import BOLD, block, first_that_fits, setting, words_on
from labelkit.sheets.legible import LEAST

words = st.lists(st.text("ABCMWI.17", min_size=1, max_size=9), min_size=1, max_size=6)


def width(line: str) -> float:
    return measure(line, BOLD, 1.0)[0]


@pytest.mark.parametrize(
    ("text", "lines", "broken"),
    [
        ("HEAD UP", 1, ("HEAD UP",)),
        ("HEAD UP", 2, ("HEAD", "UP")),
        ("HEAD UP", 3, ("HEAD", "UP")),
        ("OPEN SIDE OF DISH UP", 2, ("OPEN SIDE", "OF DISH UP")),
        ("HEAD", 2, ("HEAD",)),
        ("148 (1\u00a0of\u00a02)", 2, ("148", "(1\u00a0of\u00a02)")),
    ],
)
def test_words_are_broken_at_spaces(text: str, lines: int, broken: tuple[str, ...]) -> None:
    """Never inside a word, nor at a no-break space; fewer lines where there are fewer words."""
    assert broken == words_on(text, lines).lines


@given(words, st.integers(1, 4))
def test_no_other_way_to_break_is_narrower(pieces: list[str], lines: int) -> None:
    """Checked against every way to cut the list of words, tried one by one."""
    count = min(lines, len(pieces))
    ways = [
        max(width(" ".join(pieces[a:b])) for a, b in zip((0, *cuts), (*cuts, len(pieces)), strict=True))
        for cuts in combinations(range(1, len(pieces)), count - 1)
    ]
    found = setting(tuple(pieces), lines)

    assert min(ways) == pytest.approx(found.width)
    assert pieces == " ".join(found.lines).split(" ")
    assert found.width == pytest.approx(max(map(width, found.lines)))


def test_facts_stay_together() -> None:
    """A fact of several words is one piece; two on one line are parted."""
    facts = ("WARNING: SCAN FIRST", "LIFT 20.5 kg", "2 STAY INSIDE")

    assert ("WARNING: SCAN FIRST", "LIFT 20.5 kg · 2 STAY INSIDE") == setting(facts, 2, " · ").lines


def test_the_fewest_lines_that_fit_are_taken() -> None:
    """One line where there is room, else two; the last choice where nothing fits."""
    choices = [words_on("PRESSURE PLATE UP", lines) for lines in (1, 2, 3)]

    assert 1 == len(first_that_fits(choices, choices[0].width_at(4) + 0.1, 4).lines)
    assert 2 == len(first_that_fits(choices, choices[0].width_at(4) - 0.1, 4).lines)
    assert 3 == len(first_that_fits(choices, 1, 4).lines)


@given(words, st.floats(4, 90), st.floats(2, 30), st.floats(2, 12))
def test_a_block_stays_in_its_box_and_is_never_too_small(
    pieces: list[str], wide: float, high: float, cap: float
) -> None:
    """Letters from the legible size to the wanted one; what is cut is told and ends in an ellipsis."""
    box = Box(3, 5, wide, high)
    text = " ".join(pieces)
    lines, shortened = block([words_on(text, count) for count in (1, 2, 3)], box, cap)

    assert shortened or " ".join(line.string for line in lines).split(" ") == pieces
    for line in lines:
        assert LEAST - 1e-6 <= cap_for_size(line.size, BOLD) <= max(cap, LEAST) + 1e-6
        assert line.box.right <= box.right + 1e-6
        assert not shortened or line.string
    if lines and not shortened:
        assert box.holds(lines[0].box, 1e-6)
        assert box.holds(lines[-1].box, 1e-6)


def test_letters_are_as_large_as_the_box_allows() -> None:
    """Twice the box, twice the letters."""
    small, _ = block([words_on("LIP UP", 1)], Box(0, 0, 20, 5), 99)
    large, _ = block([words_on("LIP UP", 1)], Box(0, 0, 40, 10), 99)

    assert 2 == pytest.approx(large[0].size / small[0].size)
