"""Rulers and crosses that tell whether a print is true: on the check sheet and on every first page of a tray.

Crosses are as fine as a printer can draw for certain, so that a caliper's tip finds their middle; the four check
crosses stand 140 mm apart, which the 150 mm caliper of every workshop reads to 0.05 mm.
Source: common practice, no source.
"""

from __future__ import annotations

from functools import lru_cache
from typing import Final

from labelkit.drawing.page import Box, Command, Group, Item, Path, Pen, line
from labelkit.drawing.text import line as text_line
from labelkit.drawing.text import size_for_cap
from labelkit.model.printer import CHECK_MM

# From the middle of a cross to the end of an arm, mm: a line is 8 mm long.
ARM: Final = 4.0
# Round the middle of a check cross nothing else is printed, mm: the proof looks for light between its arms.
FREE: Final = 7.0
_FINE: Final = Pen(0.12)
_RULER_MM: Final = 100
_EDGE: Final = Pen(0.25)
# Length and line of a tick, mm, by the largest of 10, 5 and 1 mm that it marks.
_TICKS: Final = ((10, 6.0, Pen(0.25)), (5, 4.2, Pen(0.18)), (1, 2.6, Pen(0.12)))
_FIGURE: Final = size_for_cap(1.9, "bold")
_GAP: Final = 1.0  # between a tick and its figure
# Room that a ruler takes, mm: below its edge, left of it, and beyond its ends.
_BELOW: Final = 9.2
_BESIDE: Final = 12.2
_BEYOND: Final = 3.0


@lru_cache(maxsize=64)
def cross(x: float, y: float, name: str = "cross") -> Group:
    """Return a fine cross with its middle at (x, y)."""
    d = (*_stroke(x - ARM, y, x + ARM, y), *_stroke(x, y - ARM, x, y + ARM))
    return Group((Path(d, _FINE),), name, Box(x - ARM, y - ARM, 2 * ARM, 2 * ARM))


def check_crosses(x: float, y: float) -> tuple[Group, Group, Group, Group]:
    """Return the four check crosses clockwise from the top left one at (x, y), named `check 1` to `check 4`."""
    right, low = x + CHECK_MM, y + CHECK_MM
    return (
        cross(x, y, "check 1"),
        cross(right, y, "check 2"),
        cross(right, low, "check 3"),
        cross(x, low, "check 4"),
    )


@lru_cache(maxsize=8)
def ruler_x(x: float, y: float) -> Group:
    """Return a ruler of 100 mm from (x, y) to the right, its ticks and figures below the edge; named `ruler x`."""
    items: list[Item] = [line(x, y, x + _RULER_MM, y, _EDGE)]
    for pen, places, tick in _marks():
        items.append(Path(tuple(c for place in places for c in _stroke(x + place, y, x + place, y + tick)), pen))
    base = y + _TICKS[0][1] + _GAP
    for place in range(0, _RULER_MM + 1, 10):
        figure = text_line(str(place), x + place, 0.0, _FIGURE, "bold", "middle")
        items.append(text_line(str(place), x + place, base + figure.ascent, _FIGURE, "bold", "middle"))
    return Group(tuple(items), "ruler x", Box(x - _BEYOND, y, _RULER_MM + 2 * _BEYOND, _BELOW))


@lru_cache(maxsize=8)
def ruler_y(x: float, y: float) -> Group:
    """Return a ruler of 100 mm from (x, y) upwards, its ticks and figures left of the edge; named `ruler y`."""
    items: list[Item] = [line(x, y, x, y - _RULER_MM, _EDGE)]
    for pen, places, tick in _marks():
        items.append(Path(tuple(c for place in places for c in _stroke(x, y - place, x - tick, y - place)), pen))
    for place in range(0, _RULER_MM + 1, 10):
        figure = text_line(str(place), x - _TICKS[0][1] - _GAP, 0.0, _FIGURE, "bold", "end")
        base = y - place + figure.ascent / 2
        items.append(text_line(str(place), figure.x, base, _FIGURE, "bold", "end"))
    box = Box(x - _BESIDE, y - _RULER_MM - _BEYOND, _BESIDE, _RULER_MM + 2 * _BEYOND)
    return Group(tuple(items), "ruler y", box)


def _stroke(x1: float, y1: float, x2: float, y2: float) -> tuple[Command, Command]:
    return ("M", x1, y1), ("L", x2, y2)


def _marks() -> list[tuple[Pen, list[int], float]]:
    """Return pen, places and length of the ticks of each kind, every place once."""
    left = set(range(_RULER_MM + 1))
    found = []
    for step, length, pen in _TICKS:
        places = sorted(place for place in left if place % step == 0)
        left -= set(places)
        found.append((pen, places, length))
    return found
