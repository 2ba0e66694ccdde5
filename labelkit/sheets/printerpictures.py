"""Small drawings of the four steps of a check sheet, each in a box of 28 x 20 mm. Own drawings."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Final

from labelkit.drawing.page import BLACK, WHITE, Box, Command, Group, Item, Path, Pen, line, rectangle
from labelkit.drawing.text import line as text_line
from labelkit.drawing.text import size_for_cap

WIDTH: Final = 28.0
HEIGHT: Final = 20.0
_PEN: Final = Pen(0.45)
_THIN: Final = Pen(0.18)
_KEYS: Final = Pen(0.5, WHITE, dash=(1.4, 0.5))
_BOX: Final = Box(0, 0, WIDTH, HEIGHT)


def printer() -> Group:
    """Return a printer that is told 100 % and lets go a page with crosses."""
    items: list[Item] = [
        rectangle(Box(8, 0.5, 12, 9), _PEN, WHITE),
        _polygon([(2, 8.5), (4, 6.5), (24, 6.5), (26, 8.5), (26, 15), (2, 15)], BLACK),
        rectangle(Box(6.5, 12.6, 15, 7.1), _PEN, WHITE),
        text_line("100 %", 14, 11.2, size_for_cap(2.9, "bold"), "bold", "middle", WHITE),
        _cross(9.5, 16, 1.3),
        _cross(18.5, 16, 1.3),
        line(5.4, 12.6, 22.6, 12.6, Pen(0.9, WHITE)),
        line(5.4, 12.6, 22.6, 12.6, _PEN),
    ]
    return Group(tuple(items), "printer", _BOX)


def caliper() -> Group:
    """Return a caliper whose tips stand on two crosses."""
    left, right, tip = 5.0, 20.0, 16.6
    ticks = [tick for place in range(17) for tick in _tick(left + 1.5 + place * 0.75, 3.0, 1.5 if place % 4 else 2.3)]
    items: list[Item] = [
        rectangle(Box(left, 3, WIDTH - left - 0.3, 3.6), _PEN, WHITE),
        Path(tuple(ticks), _THIN),
        _polygon([(left, tip), (left - 1.0, 9.5), (1.2, 7.4), (1.2, 2.4), (3.4, 0.8), (left, 0.3), (left, tip)], BLACK),
        _polygon(
            [
                (right, tip),
                (right, 0.3),
                (right + 1.6, 0.8),
                (21.9, 2.2),
                (26.4, 2.2),
                (26.4, 7.4),
                (23, 7.4),
                (21, 9.5),
            ],
            BLACK,
        ),
        rectangle(Box(22.6, 3.6, 2.6, 2.2), None, WHITE),
        _cross(left, tip, 2.6),
        _cross(right, tip, 2.6),
        line(left + 3.4, tip + 1.6, right - 3.4, tip + 1.6, _THIN),
        _polygon([(left + 1, tip + 1.6), (left + 3.6, tip + 1.1), (left + 3.6, tip + 2.1)], BLACK),
        _polygon([(right - 1, tip + 1.6), (right - 3.6, tip + 1.1), (right - 3.6, tip + 2.1)], BLACK),
    ]
    return Group(tuple(items), "caliper", _BOX)


def keyboard() -> Group:
    """Return a screen with two readings, and the keys that they are typed with."""
    size = size_for_cap(2.7, "bold")
    items: list[Item] = [
        rectangle(Box(3, 1, 22, 11), _PEN, WHITE),
        Path((("M", 6, 4.7), ("L", 8, 6.6), ("L", 6, 8.5)), Pen(0.6)),
        text_line("X  Y", 10, 8.0, size, "bold"),
        rectangle(Box(18.7, 5.1, 1.6, 3.2), None, BLACK),
        _polygon([(4.5, 13.6), (23.5, 13.6), (27, 19), (1, 19)], BLACK),
    ]
    items += [line(3.6 - row * 1.1, 15 + row * 1.5, 24.4 + row * 1.1, 15 + row * 1.5, _KEYS) for row in range(3)]
    return Group(tuple(items), "keyboard", _BOX)


def true_page() -> Group:
    """Return a page with four crosses and a tick."""
    page = Box(6.5, 0.5, 15, 19)
    items: list[Item] = [rectangle(page, _PEN, WHITE)]
    items += [_cross(x, y, 1.3) for x in (page.x + 2.5, page.right - 2.5) for y in (page.y + 3, page.bottom - 3)]
    items.append(Path((("M", 9.6, 10.2), ("L", 12.8, 13.2), ("L", 18.6, 6.4)), Pen(1.5)))
    return Group(tuple(items), "true page", _BOX)


def _cross(x: float, y: float, arm: float) -> Path:
    return Path((("M", x - arm, y), ("L", x + arm, y), ("M", x, y - arm), ("L", x, y + arm)), _THIN)


def _tick(x: float, y: float, length: float) -> tuple[Command, Command]:
    return ("M", x, y), ("L", x, y + length)


def _polygon(points: Sequence[tuple[float, float]], fill: str) -> Path:
    (x, y), *rest = points
    return Path((("M", x, y), *(("L", a, b) for a, b in rest), ("Z",)), None, fill)
