"""Cutting a drawing into sheets: fewest, evenly overlapping, nothing left out."""

from __future__ import annotations

from itertools import pairwise

import pytest
import shapely
from hypothesis import given, settings
from hypothesis import strategies as st

from labelkit.calc.tiling import Tiling, tile

OVERLAP = 10.0
sides = st.floats(1, 1500)
windows = st.tuples(st.floats(60, 500), st.floats(60, 500))


def one_way(size: tuple[float, float], window: tuple[float, float], overlap: float = OVERLAP) -> Tiling:
    return tile([(0, 0, *size)], {False: window}, overlap)


def both_ways(paper: tuple[float, float], margin: float, strip: float = 0.0) -> dict[bool, tuple[float, float]]:
    short, long = (side - 2 * margin - strip for side in paper)
    return {False: (short, long), True: (long, short)}


PAPERS = {
    "A4": (210, 297),
    "Letter": (215.9, 279.4),
    "A3": (297, 420),
    "Tabloid": (279.4, 431.8),
    "Legal": (215.9, 355.6),
}
# Sheets for a drawing on bare paper with margins of 7 mm and overlaps of 10 mm, the better of both page orientations.
# Source: paper sizes by ISO 216 and ANSI/ASME Y14.1; counts worked out before the program was, by
# ceil((side - 10) / (window - 10)).
BARE = {
    (600, 400): {"A4": 8, "Letter": 8, "A3": 3, "Tabloid": 3, "Legal": 6},
    (530, 325): {"A4": 4, "Letter": 6, "A3": 2, "Tabloid": 3, "Legal": 3},
    (565, 365): {"A4": 6, "Letter": 6, "A3": 3, "Tabloid": 3, "Legal": 4},
    (400, 300): {"A4": 4, "Letter": 4, "A3": 2, "Tabloid": 2, "Legal": 3},
    (600, 250): {"A4": 4, "Letter": 4, "A3": 2, "Tabloid": 2, "Legal": 4},
}


@pytest.mark.parametrize(("size", "paper"), [(size, paper) for size in BARE for paper in PAPERS])
def test_counts_on_bare_paper(size: tuple[float, float], paper: str) -> None:
    """As many sheets as counted by hand, whichever way the paper lies."""
    assert tile([(0, 0, *size)], both_ways(PAPERS[paper], 7.0), OVERLAP).sheets == BARE[size][paper]


@given(size=st.tuples(sides, sides), window=windows)
def test_windows_cover_everything(size: tuple[float, float], window: tuple[float, float]) -> None:
    """The first begins at the drawing's edge, the last of several ends at its other edge, neighbours overlap."""
    tiling = one_way(size, window)
    for starts, length, room in zip((tiling.columns, tiling.rows), size, window, strict=True):
        assert starts[0] == 0
        assert starts[-1] + room >= length - 1e-6
        assert len(starts) == 1 or starts[-1] + room == pytest.approx(length)
        assert all(after <= before + room - OVERLAP + 1e-6 for before, after in pairwise(starts))


@given(size=st.tuples(sides, sides), window=windows)
def test_overlaps_are_even(size: tuple[float, float], window: tuple[float, float]) -> None:
    """All sheets of a row carry the same overlap, so that one seam looks like the other."""
    tiling = one_way(size, window)
    for starts in (tiling.columns, tiling.rows):
        steps = [after - before for before, after in pairwise(starts)]
        assert not steps or max(steps) - min(steps) < 1e-9 * 1500


@given(length=sides, room=st.floats(60, 500))
def test_one_sheet_less_is_not_enough(length: float, room: float) -> None:
    """Windows set at the widest step, one fewer of them, end before the drawing does."""
    count = len(one_way((length, 1), (room, 60)).columns)

    assert count == 1 or room + (count - 2) * (room - OVERLAP) < length + 1e-5


def test_what_fits_exactly_needs_no_second_sheet() -> None:
    """A drawing as wide as the window, also when a float is a hair more."""
    assert one_way((196.0, 283.0), (196.0, 283.0)).sheets == 1
    assert one_way((0.1 + 0.2, 1), (0.3, 1), 0.1).sheets == 1


def test_what_fits_two_sheets_exactly_needs_no_third() -> None:
    """Two windows of 196 mm with 10 mm of overlap show 382 mm; a tenth more takes three."""
    assert one_way((382.0, 1), (196.0, 60)).columns == (0.0, 186.0)
    assert len(one_way((382.1, 1), (196.0, 60)).columns) == 3


@given(size=st.tuples(sides, sides), window=windows)
def test_seams_lie_in_the_middle_of_overlaps(size: tuple[float, float], window: tuple[float, float]) -> None:
    """As far from the end of one sheet as from the beginning of the next, and on both of them."""
    tiling = one_way(size, window)
    for starts, seams, room in (
        (tiling.columns, tiling.column_seams, window[0]),
        (tiling.rows, tiling.row_seams, window[1]),
    ):
        assert len(seams) == len(starts) - 1
        for seam, (before, after) in zip(seams, pairwise(starts), strict=True):
            assert seam - after == pytest.approx(before + room - seam)
            assert seam - after >= OVERLAP / 2 - 1e-6


@given(line=st.floats(0, 382), across=st.floats(0, 60))
def test_no_seam_lies_on_a_line_that_runs_along_it(line: float, across: float) -> None:
    """A cut that lies under the thick line of a band cannot be seen; what crosses it is in nobody's way."""
    lines = [(line, 0.0, line, 60.0), (0.0, across, 382.0, across)]
    (seam,) = tile([(0, 0, 382, 60)], {False: (196, 60)}, OVERLAP, lines).column_seams

    assert abs(seam - line) >= 1.5 - 1e-6
    assert 186 + 3.5 - 1e-6 <= seam <= 196 - 3.5 + 1e-6, "scissors need paper on both sides"
    assert seam == 191 or abs(line - 191) < 1.5, "in the middle where nothing is in its way"


@given(size=st.tuples(sides, sides), window=windows)
def test_the_better_way_is_taken(size: tuple[float, float], window: tuple[float, float]) -> None:
    """Never more sheets than either page orientation alone; upright when it makes no difference."""
    turned = window[1], window[0]
    upright, lying = one_way(size, window).sheets, one_way(size, turned).sheets
    found = tile([(0, 0, *size)], {False: window, True: turned}, OVERLAP)

    assert found.sheets == min(upright, lying)
    assert found.landscape == (lying < upright)
    assert found.window == (turned if found.landscape else window)


def test_a_way_that_is_not_measured_is_not_taken() -> None:
    """A printer known on the long side only prints on the long side, though upright would take fewer sheets."""
    windows = both_ways(PAPERS["A4"], 7.0)

    assert tile([(0, 0, 600, 400)], {True: windows[True]}, OVERLAP).landscape
    assert not tile([(0, 0, 600, 400)], windows, OVERLAP).landscape


@given(factor=st.floats(0.985, 1.015), size=st.tuples(sides, sides))
def test_an_enlarged_sheet_shows_no_more(factor: float, size: tuple[float, float]) -> None:
    """A smaller window never takes fewer sheets."""
    counts = [one_way(size, (room / factor, 283 / factor)).sheets for room in (196.0, 196.0 / 1.015)]

    assert counts[0] <= counts[1]


@settings(max_examples=20)
@given(
    things=st.lists(st.tuples(*[st.integers(0, 500)] * 2, *[st.integers(1, 300)] * 2), min_size=1, max_size=8),
    window=st.tuples(st.integers(150, 300), st.integers(150, 300)),
)
def test_every_thing_is_shown_and_a_row_ends_behind_its_last(
    things: list[tuple[int, int, int, int]], window: tuple[int, int]
) -> None:
    """Rows are filled from the left; without the last sheet of one, something of a thing would be missing."""
    tiling = tile(things, {False: window}, OVERLAP)
    sheets = [(row, column) for row, count in enumerate(tiling.counts) for column in range(count)]
    shown = {
        (row, column): shapely.box(x, y, x + window[0], y + window[1])
        for row, column in sheets
        for x, y in [(tiling.columns[column], tiling.rows[row])]
    }
    wanted = shapely.union_all([shapely.box(x, y, x + width, y + height) for x, y, width, height in things])

    assert wanted.difference(shapely.union_all(list(shown.values()))).area < 1e-3
    assert min(tiling.counts) >= 1
    assert len(tiling.counts) == len(tiling.rows)
    for row, count in enumerate(tiling.counts):
        others = shapely.union_all([shape for sheet, shape in shown.items() if sheet != (row, count - 1)])
        assert count == 1 or not others.buffer(1e-6).covers(wanted)
