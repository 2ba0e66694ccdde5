"""The order of tightening, against the usual lists and a definition tried by force."""

from __future__ import annotations

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from labelkit.calc.tightening import order, tightening
from labelkit.errors import UsageError
from tests.figures import floats_in

# 8, 12 and 16 are the usual star lists (from memory); the row is the public figure "9 7 5 3 1 2 4 6 8"; all computed.
LISTS = {
    ("circle", 4): "1-3-2-4",
    ("circle", 5): "1-3-5-2-4",
    ("circle", 6): "1-4-2-5-3-6",
    ("circle", 8): "1-5-3-7-2-6-4-8",
    ("circle", 12): "1-7-4-10-2-8-5-11-3-9-6-12",
    ("circle", 16): "1-9-5-13-3-11-7-15-2-10-6-14-4-12-8-16",
    ("row", 9): "5-6-4-7-3-8-2-9-1",
    ("two_rows", 10): "3-8-2-9-4-7-1-10-5-6",
}


@pytest.mark.parametrize(("pattern", "count"), LISTS)
def test_the_lists_of_the_trade(pattern: str, count: int) -> None:
    """Each list comes out as it is printed."""
    assert "-".join(map(str, order(pattern, count))) == LISTS[pattern, count]


def test_the_public_figure_of_a_row() -> None:
    """Where each screw of nine in a row is numbered by its turn, the figure reads 9 7 5 3 1 2 4 6 8."""
    turns = {screw: turn for turn, screw in enumerate(order("row", 9), 1)}

    assert [turns[screw] for screw in range(1, 10)] == [9, 7, 5, 3, 1, 2, 4, 6, 8]


@given(pattern=st.sampled_from(["circle", "row", "two_rows"]), count=st.integers(1, 60))
@settings(max_examples=50)
def test_every_screw_comes_once(pattern: str, count: int) -> None:
    """An order is a permutation."""
    if pattern == "two_rows":
        count *= 2

    assert sorted(order(pattern, count)) == list(range(1, count + 1))


def by_force(count: int) -> list[int]:
    """Return the order on a circle by trying every screw: the definition, with no thought of pairs or strides.

    An even number: every second screw is the one opposite the last; else the one whose distances to all tight ones,
    sorted, are greatest, the lowest number of equals. An odd number: always the loose one nearest to opposite.
    """
    tight: list[int] = []
    while len(tight) < count:
        best, best_key = 0, None
        for screw in range(count, 0, -1):
            if screw in tight:
                continue
            around = sorted(min((screw - other) % count, (other - screw) % count) for other in tight)
            from_opposite = -min((2 * (screw - tight[-1]) - count) % (2 * count),
                                 (count - 2 * (screw - tight[-1])) % (2 * count)) if tight else 0  # fmt: skip
            key: tuple[object, ...] = (from_opposite,) if count % 2 or len(tight) % 2 else (around,)
            if best_key is None or key >= best_key:
                best, best_key = screw, key
        tight.append(best)
    return tight


@pytest.mark.parametrize("count", [*range(1, 21), 24, 36])
def test_a_circle_keeps_its_definition(count: int) -> None:
    """Opposite first, then as far as can be from all that are tight."""
    assert list(order("circle", count)) == by_force(count)


@given(columns=st.integers(1, 20))
@settings(max_examples=20)
def test_two_rows_go_outward_by_diagonals(columns: int) -> None:
    """Each pair lies across the middle, and no later pair is nearer to the middle than an earlier one."""
    found = order("two_rows", 2 * columns)
    pairs = list(zip(found[::2], found[1::2], strict=True))
    place = {screw: (screw - 1) % columns for screw in found}

    assert all(place[one] + place[two] == columns - 1 and (one <= columns < two) for one, two in pairs)
    away = [abs(2 * place[one] - columns + 1) for one, _ in pairs]
    assert away == sorted(away)


def test_an_own_list_is_taken_as_it_is() -> None:
    """The unit's own order wins; nothing is said of another then."""
    answer = tightening([2, 1, 3], 3)

    assert answer.values["order"] == (2, 1, 3)
    assert answer.notes == ()
    assert tightening("row", 3).notes[-1] == "an order that the unit's own manual gives comes before this one"
    assert floats_in(answer) == []


def test_loosening_goes_backwards() -> None:
    """From the outside to the middle."""
    assert tightening("row", 3, loosen=True).values["order"] == (1, 3, 2)


@pytest.mark.parametrize(
    ("pattern", "count", "said"),
    [
        ("cirlce", 6, "did you mean circle"),
        ("circle", 0, "found 0 screws; allowed: 1 to 200"),
        ("two_rows", 7, "an even number"),
        ([1, 2, 2, 5], 4, "leaves out 3, 4; repeats 2; there is no 5"),
    ],
)
def test_what_cannot_be_is_refused(pattern: object, count: int, said: str) -> None:
    """The message says what was given and what is allowed."""
    with pytest.raises(UsageError, match=said):
        order(pattern, count)  # type: ignore[arg-type]
