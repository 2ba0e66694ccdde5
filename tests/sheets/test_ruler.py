"""Rulers and crosses have their sizes, in the page model and in the written file."""

from __future__ import annotations

import io

import numpy as np
import pytest

from labelkit.drawing.page import Group, Page, Path, Text
from labelkit.proof.raster import pictures_of
from labelkit.render import write
from labelkit.sheets.ruler import ARM, FREE, check_crosses, cross, ruler_x, ruler_y


def strokes(group: Group) -> list[tuple[tuple[float, float], tuple[float, float], float]]:
    """Return start, end and width of every straight line."""
    found = []
    for item in group.items:
        if isinstance(item, Path) and item.pen:
            ends = [command[1:] for command in item.d]
            found += [(a, b, item.pen.width) for a, b in zip(ends[::2], ends[1::2], strict=True)]
    return found


def figures(group: Group) -> dict[str, Text]:
    return {item.string: item for item in group.items if isinstance(item, Text)}


def dark_mm(*groups: Group, dpi: float = 1270) -> tuple[np.ndarray, float]:
    """Print groups on 120 x 120 mm; return what is dark, and dots to the mm."""
    stream = io.BytesIO()
    write([Page(120, 120, groups)], ".pdf", stream, title="x")
    (picture,) = pictures_of(stream.getvalue(), "x.pdf", dpi=dpi)
    return picture.pixels < 128, dpi / 25.4


def test_a_cross_is_8_mm_of_0_12_mm_lines() -> None:
    """Both lines, their middle where it was asked for."""
    assert [((26.0, 40), (34.0, 40), 0.12), ((30, 36.0), (30, 44.0), 0.12)] == strokes(cross(30, 40))


def test_a_printed_cross_is_true() -> None:
    """Read back from the file at 1270 dpi, 0.02 mm a dot."""
    dark, per_mm = dark_mm(cross(30, 40))
    rows, columns = np.nonzero(dark)

    assert (columns.min() / per_mm, (columns.max() + 1) / per_mm) == pytest.approx((26, 34), abs=0.03)
    assert (rows.min() / per_mm, (rows.max() + 1) / per_mm) == pytest.approx((36, 44), abs=0.03)
    assert dark[round(42 * per_mm)].sum() / per_mm == pytest.approx(0.12, abs=0.03)


def test_check_crosses_are_a_square_of_140_mm() -> None:
    """Clockwise from the top left, by name."""
    boxes = {group.name: group.box for group in check_crosses(20, 30)}

    middles = {name: (box.x + box.width / 2, box.y + box.height / 2) for name, box in boxes.items() if box}
    assert {"check 1": (20, 30), "check 2": (160, 30), "check 3": (160, 170), "check 4": (20, 170)} == middles
    assert FREE > ARM


@pytest.mark.parametrize("axis", ["x", "y"])
def test_a_ruler_has_a_tick_for_every_millimetre(axis: str) -> None:
    """101 ticks along 100 mm, each place once, the longest every 10 mm; y upwards, x to the right."""
    group = ruler_x(10, 105) if axis == "x" else ruler_y(10, 105)
    edge, *ticks = strokes(group)
    along, away = (0, 1) if axis == "x" else (1, 0)
    places = {round(abs(start[along] - (10, 105)[along])): abs(end[away] - start[away]) for start, end, _ in ticks}

    assert 100 == abs(edge[1][along] - edge[0][along])
    assert list(range(101)) == sorted(places)
    assert len(ticks) == 101
    assert all(places[tens] > places[5] > places[1] for tens in range(0, 101, 10))


@pytest.mark.parametrize("axis", ["x", "y"])
def test_a_ruler_is_numbered_every_10_mm(axis: str) -> None:
    """Each figure stands at its tick, apart from the others, inside the ruler's box."""
    group = ruler_x(10, 15) if axis == "x" else ruler_y(20, 110)
    found = figures(group)

    assert [str(place) for place in range(0, 101, 10)] == list(found)
    for text, figure in found.items():
        middle = figure.box.x + figure.width / 2 - 10 if axis == "x" else 110 - figure.box.y - figure.box.height / 2
        assert float(text) == pytest.approx(middle, abs=0.02)
        assert group.box is not None
        assert group.box.holds(figure.box)
        assert not any(figure.box.overlaps(other.box) for other in found.values() if other is not figure)


def test_a_printed_ruler_is_100_mm() -> None:
    """Read back from the file: first and last tick, on both axes."""
    dark, per_mm = dark_mm(ruler_x(12, 105))
    columns = np.nonzero(dark[round(109 * per_mm)])[0]
    assert (columns.max() + 1 - columns.min()) / per_mm == pytest.approx(100.25, abs=0.03)

    dark, per_mm = dark_mm(ruler_y(15, 110))
    rows = np.nonzero(dark[:, round(10 * per_mm)])[0]
    assert (rows.max() + 1 - rows.min()) / per_mm == pytest.approx(100.25, abs=0.03)
