"""How big a QR symbol becomes on its label, and how strong: version, level, module, frame.

A module and the frame are whole numbers of printer dots, so that a symbol whose corner lies on the dot grid
(`snap`) has every edge of every module on it: a module of two and a half dots comes out as two here and three
there.

The rules for level, frame and second symbol rest on symbols with simulated spatter and smears, not on symbols
that came out of a workshop.
"""

from __future__ import annotations

import math
from bisect import bisect_right
from dataclasses import dataclass
from typing import Final

from labelkit.drawing.page import Box, Symbol
from labelkit.drawing.qr import (
    LEVELS,
    QUIET_ZONE,
    Level,
    Matrix,
    capacity_bits,
    encode,
    smallest_version,
    symbol_size,
)
from labelkit.drawing.segments import VERSIONS, bits_needed
from labelkit.errors import CapacityError, UsageError, shortened
from labelkit.units import MM_PER_INCH

_FRAME: Final = 0.7
"""Width of the line round the quiet zone, mm: what a reader finds when a finder pattern is smeared over."""
_CARD_AREA: Final = 30.0
"""Side in mm from which a long text gets level Q; below, its modules are too small and it gets M."""
_TWO_SYMBOLS_WIDTH: Final = 88.0
"""Label width in mm from which a symbol at either end is worth its room; 3.5 inch stock (88.9 mm) is in."""

# Three dots of a thermal printer of 8 dots a millimetre; of anything finer, a third of a millimetre.
# Common practice, no source.
_THERMAL_DPI: Final = 210
_SMALLEST_THERMAL: Final = 0.375
_SMALLEST: Final = 0.33
_SLACK: Final = 1e-9  # what float arithmetic may miss a whole number by


@dataclass(frozen=True, slots=True)
class SymbolPlan:
    """A symbol that fits its place.

    Attributes:
        matrix: its modules, with version and level.
        module: side of a module, mm, a whole number of printer dots.
        frame: width of the line round the quiet zone, mm, a whole number of dots; 0 where it found no room.
        side: width and height of the whole, quiet zone and frame included, mm.
    """

    matrix: Matrix
    module: float
    frame: float
    side: float


def fit_symbol(text: str, *, side: float, dpi: float, frame: float = _FRAME, card: bool = False) -> SymbolPlan:
    """Choose version, level and module of the symbol that says `text` in a given square.

    The version is the smallest that holds the text at level Q, the level the highest that this version holds:
    H where that costs no larger version, otherwise Q. A text that would not fit so gets level M, never L,
    which spatter defeats much sooner. The frame helps more than the level: it is left out only where no level
    fits with it.

    Args:
        text: what the symbol says.
        side: the square that is there for symbol, quiet zone and frame, mm.
        dpi: dots per inch of the printer: 203.2 (8 a millimetre), 300, 600 or another.
        frame: wanted width of the line round the quiet zone, mm, rounded to whole dots, never to 0; 0: none.
        card: the text is a card of 100 to 300 characters and no address: below 30 mm, M instead of Q.

    Raises:
        CapacityError: the text does not fit; the message says which side or which text would.
        UsageError: the text is empty, or a measure makes no sense.

    >>> plan = fit_symbol("http://10.0.0.5/7K3M9Q2XF41", side=20, dpi=203.2)
    >>> plan.matrix.version, plan.matrix.level, plan.module, plan.frame, plan.side
    (3, 'H', 0.5, 0.75, 20.0)
    """
    if dpi <= 0 or frame < 0:
        raise UsageError(f"QR symbol: {dpi} dpi and a frame of {frame} mm; allowed: above 0 dpi, from 0 mm")
    dot = MM_PER_INCH / dpi
    line = max(1, round(frame / dot)) * dot if frame else 0.0
    least = math.ceil(smallest_module(dpi) / dot - _SLACK)
    choices = _choices(text, ("M",) if card and side < _CARD_AREA else ("Q", "M"))
    for width in (line, 0.0):
        for version, level in choices:
            dots = math.floor((side - 2 * width) / (_across(version) * dot) + _SLACK)
            if dots >= least:
                matrix = encode(text, level, version=version)
                return SymbolPlan(matrix, dots * dot, width, outer_side(version, dots * dot, width))
    raise CapacityError(_no_room(text, choices[-1], side, dpi, least))


def smallest_module(dpi: float) -> float:
    """Return the smallest module that prints well, mm: 0.375 on a 203 dpi thermal printer, 0.33 on others.

    Source: common practice, no source.
    """
    return _SMALLEST_THERMAL if dpi <= _THERMAL_DPI else _SMALLEST


def outer_side(version: int, module: float, frame: float = 0.0) -> float:
    """Return the side of a whole symbol, mm: modules, quiet zone of four modules on each side, frame.

    >>> outer_side(3, 0.5, frame=0.75)
    20.0
    """
    return _across(version) * module + 2 * frame


def snap(value: float, dpi: float) -> float:
    """Return the place on the dot grid nearest to `value`, both in mm from the page's edge; halves go up.

    >>> snap(10.07, 203.2)
    10.125
    """
    dot = MM_PER_INCH / dpi
    return math.floor(value / dot + 0.5) * dot


def on_grid(plan: SymbolPlan, text: str, x: float, y: float, room: Box, dpi: float) -> Symbol:
    """Return a symbol as near to (x, y) as the dot grid of the page allows, so that every module is whole dots.

    Args:
        plan: the symbol.
        text: what it says.
        x: wanted left edge of the whole, mm.
        y: wanted top edge.
        room: it stays inside.
        dpi: dots per inch of the printer.
    """
    dot = MM_PER_INCH / dpi

    def snapped(value: float, low: float, high: float) -> float:
        near = snap(value, dpi)
        if near < low - _SLACK:
            return near + dot
        return near - dot if near > high + _SLACK else near

    left = snapped(x, room.x, room.right - plan.side)
    top = snapped(y, room.y, room.bottom - plan.side)
    return Symbol(left, top, plan.matrix, plan.module, plan.frame, text)


def two_symbols(width: float) -> bool:
    """Say whether a label of this width, mm, should carry a symbol at either end.

    Two of them, far apart, outlive a smear that kills one of twice the area.
    """
    return width >= _TWO_SYMBOLS_WIDTH


def _across(version: int) -> int:
    """Return the modules along a side, quiet zone included."""
    return symbol_size(version) + 2 * QUIET_ZONE


def _choices(text: str, wanted: tuple[Level, ...]) -> list[tuple[int, Level]]:
    """Return for each wanted level the smallest version that holds the text, with the highest level it takes.

    A level at which no version holds the text is left out; CapacityError when that is true of all.
    """
    possible = [level for level in wanted if bits_needed(text, 40) <= capacity_bits(40, level)]
    found = []
    for level in possible or wanted[-1:]:
        version = smallest_version(text, level)
        needed = bits_needed(text, version)
        found.append((version, [other for other in LEVELS if capacity_bits(version, other) >= needed][-1]))
    return found


def _no_room(text: str, choice: tuple[int, Level], side: float, dpi: float, least: int) -> str:
    """Say what the weakest choice would take, and which text the side would hold at level M."""
    version, level = choice
    dot = MM_PER_INCH / dpi
    needed = math.ceil(outer_side(version, least * dot) * 10) / 10
    fitting = [other for other in VERSIONS if outer_side(other, least * dot) <= side + _SLACK]
    if fitting:
        shorter = f"or a text of at most {_most_characters(fitting[-1])}"
    else:
        shorter = f"and no text fits less than {outer_side(1, least * dot):.4g} mm"
    return (
        f"QR symbol: {shortened(text, 40)!r} ({len(text)} characters) does not fit a square of {side:.4g} mm: "
        f"version {version} at level {level} is {_across(version)} modules wide with its quiet zone, and a "
        f"module takes at least {least * dot:.4g} mm ({least} dots at {dpi:g} dpi); "
        f"needed: a side of at least {needed:g} mm, {shorter}"
    )


def _most_characters(version: int) -> str:
    """Say how many characters a version holds at level M."""
    limit = capacity_bits(version, "M")
    plain, other = (
        bisect_right(range(1, limit), limit, key=lambda length: bits_needed(letter * length, version))
        for letter in "Aa"
    )
    return f"{plain} characters out of A-Z 0-9 $%*+-./: and space, or {other} others in ASCII"
