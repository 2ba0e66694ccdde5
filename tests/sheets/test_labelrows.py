"""How rows share the height of a label: which come, in which variant, and where they stand."""

from __future__ import annotations

from functools import partial
from itertools import pairwise

import pytest
from hypothesis import given
from hypothesis import strategies as st

from labelkit.drawing.page import Box, Item
from labelkit.sheets.labelrows import Rank, Variant, fitting, placed


def whole(top: float, height: float) -> Box:
    return Box(0, top, 50, height)


def narrow_until(edge: float, top: float, height: float) -> Box:
    """A symbol of this height takes the right half of the label."""
    return Box(0, top, 25 if top < edge else 50, height)


def variant(rank: int, least: float, most: float | None = None, width: float = 0.0) -> Variant:
    return Variant(rank, least, least if most is None else most, lambda box: [], width)


def kept(rows: list[tuple[Variant, ...]], height: float, gap: float = 1.0) -> list[Variant]:
    return fitting(rows, 0, height, gap, whole)


def test_what_does_not_fit_is_left_out_by_rank() -> None:
    """The lowest rank stays longest, wherever it stands."""
    first, second, third = variant(Rank.WAY, 4), variant(Rank.STEP, 4), variant(Rank.NAME, 4)

    assert [second, third] == kept([(first,), (second,), (third,)], 9)
    assert [second] == kept([(first,), (second,), (third,)], 8)
    assert [] == kept([(first,), (second,), (third,)], 3)


def test_every_row_comes_before_any_grows() -> None:
    """Larger variants are granted only when the smallest of all rows are there."""
    step = (variant(Rank.STEP, 4), variant(Rank.STEP_LARGE, 8))
    name = (variant(Rank.NAME, 4), variant(Rank.NAME_LARGE, 8))

    assert [4, 4] == [each.least for each in kept([step, name], 9)]
    assert [8, 4] == [each.least for each in kept([step, name], 13)]
    assert [8, 8] == [each.least for each in kept([step, name], 17)]


def test_a_form_too_tall_is_passed_over_for_a_later_one() -> None:
    """The name that cannot grow does not keep the band from growing."""
    name = (variant(Rank.NAME, 4), variant(Rank.NAME_ARM, 20))
    band = (variant(Rank.LOUD, 4), variant(Rank.LOUD_ARM, 6))

    assert [4, 6] == [each.least for each in kept([name, band], 12)]


def test_a_row_that_is_not_there_does_not_come_back_larger() -> None:
    """A larger variant replaces a smaller one and is no row of its own."""
    row = (variant(Rank.LOUD, 9), variant(Rank.LOUD_ARM, 3))

    assert [] == kept([row], 8)


def test_a_symbol_narrows_the_rows_beside_it() -> None:
    """A wide variant comes only below the symbol; a row above it that grows pushes it there."""
    wide = (variant(Rank.WAY, 3), variant(Rank.DRAWN, 3, width=40))

    assert 0 == fitting([(variant(Rank.STEP, 5),), wide], 0, 30, 1, partial(narrow_until, 10))[1].width
    assert 40 == fitting([(variant(Rank.STEP, 9),), wide], 0, 30, 1, partial(narrow_until, 10))[1].width


def test_a_row_that_shrinks_does_not_pull_another_beside_the_symbol() -> None:
    """Widths are asked of all rows again when one of them changes."""
    tall_then_short = (variant(Rank.NAME, 9), variant(Rank.NAME_LARGE, 5))
    wide = (variant(Rank.WAY, 3), variant(Rank.DRAWN, 3, width=40))
    found = fitting([tall_then_short, wide], 0, 30, 1, partial(narrow_until, 10))

    assert [(9, 0.0), (3, 40)] == [(each.least, each.width) for each in found]


def test_further_lines_need_air() -> None:
    """A line that would fit only with the gaps at their smallest stays out: a full label is not read."""
    rows = [(variant(Rank.STEP, 5),), (variant(Rank.FURTHER, 4),), (variant(Rank.CODE, 3),)]

    assert 2 == len(kept(rows, 14))
    assert 3 == len(kept(rows, 15.5))


sizes = st.floats(0.5, 30)
lists = st.lists(st.tuples(st.integers(1, 20), sizes, sizes, st.floats(0, 60)), min_size=1, max_size=8)


@given(lists, st.floats(5, 150), st.floats(0, 3), st.floats(0, 60))
def test_rows_fill_the_height_in_order_and_never_overlap(
    numbers: list[tuple[int, float, float, float]], height: float, gap: float, edge: float
) -> None:
    """The first begins at the top, each keeps at least the gap to the next, and none reaches below the bottom."""
    boxes: list[Box] = []

    def draw(box: Box) -> list[Item]:
        boxes.append(box)
        return []

    rows = [(Variant(rank, least, least + more, draw, full=full, ample=full),) for rank, least, more, full in numbers]
    room = partial(narrow_until, edge)
    found = fitting(rows, 2.0, height, gap, room)
    placed(found, 2.0, height, gap, room, [edge])

    assert len(found) == len(boxes)
    if not boxes:
        assert min(least for _, least, *_ in numbers) > height - 1e-6
        return
    assert 2.0 == boxes[0].y
    assert boxes[-1].bottom <= 2.0 + height + 1e-6
    for above, below in pairwise(boxes):
        assert below.y >= above.bottom + gap - 1e-6
    for box, each in zip(boxes, found, strict=True):
        assert each.least - 1e-6 <= box.height <= max(each.most, each.ample) + 1e-6
    if len(boxes) > 1:
        assert abs(boxes[-1].bottom - (2.0 + height)) < 1e-6


def test_a_row_that_grows_with_its_width_goes_below_the_symbol() -> None:
    """It gives up height for that, down to its least; one that gains nothing stays beside it."""
    boxes: list[Box] = []

    def draw(box: Box) -> list[Item]:
        boxes.append(box)
        return []

    def starts(full: float) -> list[tuple[float, float]]:
        boxes.clear()
        rows = [variant(Rank.STEP, 5), Variant(Rank.DRAWN, 6, 14, draw, full=full)]
        placed(rows, 0, 20, 1, partial(narrow_until, 10), [10])
        return [(box.y, box.width) for box in boxes]

    assert [(10, 50)] == starts(40)
    assert [25] == [width for _, width in starts(20)]


def test_what_would_be_air_goes_to_a_row_that_can_use_it_once_all_have_their_most() -> None:
    """The step number grows first, the name below the symbol then."""
    boxes: list[Box] = []

    def draw(box: Box) -> list[Item]:
        boxes.append(box)
        return []

    rows = [Variant(Rank.STEP, 5, 9, draw), Variant(Rank.NAME, 4, 4, draw, ample=8)]

    def heights(height: float) -> list[float]:
        boxes.clear()
        placed(rows, 0, height, 1, whole, [])
        return [box.height for box in boxes]

    assert [pytest.approx([7, 4]), pytest.approx([9, 6]), pytest.approx([9, 8])] == [
        heights(height) for height in (13.2, 17.2, 40)
    ]
