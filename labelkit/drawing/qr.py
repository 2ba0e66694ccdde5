"""QR symbols as matrices of modules: the only module that knows the `qrcode` package.

`qrcode` holds the tables of ISO/IEC 18004, draws the function patterns and computes the error correction;
this module hands it the shortest segments, places the codewords by index and scores all eight masks on
whole-matrix integers. The result is the matrix that `qrcode` itself makes of the same segments, bit for bit,
in a tenth of the time.

The package is imported at the first symbol and not before: it draws an imaging library in, which a command
that makes no symbol need not wait for.
"""

from __future__ import annotations

import re
from bisect import bisect_left
from collections.abc import Callable, Iterator
from dataclasses import dataclass
from functools import cache
from itertools import zip_longest
from operator import itemgetter
from typing import Any, Final, Literal, cast

from labelkit.drawing.segments import VERSIONS, bit_stream, bits_needed, check_version
from labelkit.errors import CapacityError, UsageError, allowed_text, shortened

Level = Literal["L", "M", "Q", "H"]

LEVELS: Final[tuple[Level, ...]] = ("L", "M", "Q", "H")
"""Error correction levels, weakest first."""
QUIET_ZONE: Final = 4
"""Modules that stay light on every side. Source: ISO/IEC 18004, quiet zone clause."""

# Two-bit indicators of the levels. Source: ISO/IEC 18004, format information.
_INDICATOR: Final = {"M": 0, "L": 1, "H": 2, "Q": 3}
_PADDING: Final = b"\xec\x11"
_DARK: Final = re.compile("1+")


@dataclass(frozen=True, slots=True)
class Matrix:
    """The modules of one symbol, without its quiet zone.

    Attributes:
        version: 1 to 40.
        level: error correction level, L, M, Q or H.
        mask: mask pattern, 0 to 7.
        rows: one integer a row, from the top; bit `size - 1 - x` is set where the module in column x is dark.
    """

    version: int
    level: Level
    mask: int
    rows: tuple[int, ...]

    @property
    def size(self) -> int:
        """Modules along a side."""
        return symbol_size(self.version)

    def dark(self, x: int, y: int) -> bool:
        """Say whether the module in column `x` (from the left) of row `y` (from the top) is dark."""
        return bool(self.rows[y] >> (self.size - 1 - x) & 1)


def symbol_size(version: int) -> int:
    """Return the modules along a side, without the quiet zone.

    Source: ISO/IEC 18004, symbol versions: 17 + 4 x version.

    >>> symbol_size(1), symbol_size(40)
    (21, 177)
    """
    return 17 + 4 * check_version(version)


def capacity_bits(version: int, level: Level) -> int:
    """Return how many bits the data codewords of a symbol hold, mode and count indicators included.

    Source: ISO/IEC 18004, error correction characteristics, as tabled in `qrcode`.

    >>> capacity_bits(3, "H")
    208
    """
    return _limits(level)[check_version(version) - 1]


def smallest_version(text: str, level: Level) -> int:
    """Return the smallest version that holds the text at this level.

    Raises:
        CapacityError: not even version 40 holds it.
        UsageError: the text is empty or cannot be written as UTF-8, or there is no such level.
    """
    limits = _limits(level)
    for first, last in ((1, 9), (10, 26), (27, 40)):  # within each, character counts are equally wide
        needed = bits_needed(text, first)
        if needed <= limits[last - 1]:
            return 1 + bisect_left(limits, needed)
    raise CapacityError(_too_long(text, 40, level))


def codewords(text: str, level: Level, version: int) -> bytes:
    """Return the final sequence of codewords: data and error correction of all blocks, interleaved.

    Raises:
        CapacityError: the text needs more bits than the version holds at this level.
        UsageError: the text is empty or cannot be written as UTF-8; or there is no such level or version.
    """
    limit, length = capacity_bits(version, level), bits_needed(text, version)
    if length > limit:
        raise CapacityError(_too_long(text, version, level))
    end = min(length + 4, limit)  # the terminator: four zeros, fewer where the symbol is full
    end += -end % 8
    data = (bit_stream(text, version) << (end - length)).to_bytes(end // 8, "big")
    free = (limit - end) // 8
    return _with_correction(data + (_PADDING * (free // 2 + 1))[:free], version, level)


def encode(text: str, level: Level, *, version: int | None = None, mask: int | None = None) -> Matrix:
    """Make the symbol of a text.

    Args:
        text: what it says; not empty.
        level: error correction level.
        version: 1 to 40; default the smallest that holds the text at this level.
        mask: 0 to 7; default the one with the lowest penalty, the lowest number on a tie. Libraries differ
            here; this is the choice of `qrcode`, and no reader depends on it. Stated by who compares libraries.

    Raises:
        CapacityError: the text does not fit.
        UsageError: the text is empty or cannot be written as UTF-8; there is no such level, version or mask.
    """
    if version is None:
        version = smallest_version(text, level)
    sequence = codewords(text, level, version)
    grid = _grid(version)
    modules = grid.place(sequence)
    if mask is None:
        mask = min(range(8), key=lambda number: grid.penalty(modules ^ grid.masks[number]))
    elif mask not in range(8):
        raise UsageError(f"QR mask {mask!r}: allowed: whole numbers from 0 to 7")
    whole = (modules ^ grid.masks[mask]) | _information(version, level, mask)
    row = (1 << grid.size) - 1
    shifts = range(grid.size * (grid.size - 1), -1, -grid.size)
    return Matrix(version, level, mask, tuple([whole >> shift & row for shift in shifts]))


def runs(matrix: Matrix) -> tuple[tuple[int, int, int, int], ...]:
    """Cover the dark modules with rectangles that neither overlap nor leave a dark module out.

    Neighbours in a row are merged, then equal runs in rows that follow each other.

    Returns:
        (x, y, width, height) in modules from the top left module; from top to bottom, then from left to
        right.
    """
    stride = matrix.size + 1  # one light module between the rows keeps their runs apart
    modules = "0".join([f"{row:0{matrix.size}b}" for row in matrix.rows])
    tops: dict[tuple[int, int], int] = {}  # the last run of each rectangle, and where its first one starts
    for run in _DARK.finditer(modules):
        start, end = span = run.span()
        tops[span] = tops.pop((start - stride, end - stride), start)
    found = sorted([(top, start, end) for (start, end), top in tops.items()])
    return tuple([(top % stride, top // stride, end - start, (start - top) // stride + 1) for top, start, end in found])


@cache
def _limits(level: Level) -> tuple[int, ...]:
    """Return the data bits of versions 1 to 40."""
    from qrcode import util

    if level not in LEVELS:
        raise UsageError(f"QR error correction level {level!r}: {allowed_text(str(level), LEVELS)}")
    return tuple(util.BIT_LIMIT_TABLE[_INDICATOR[level]][1:])


def _with_correction(data: bytes, version: int, level: Level) -> bytes:
    """Return data codewords with their error correction, interleaved."""
    from qrcode import base

    words, checks, start = [], [], 0
    for block in base.rs_blocks(version, _INDICATOR[level]):
        words.append(data[start : start + block.data_count])
        checks.append(_correction(words[-1], block.total_count - block.data_count))
        start += block.data_count
    rows = (row for part in (words, checks) for row in zip_longest(*part))
    return bytes([word for row in rows for word in row if word is not None])


def _correction(data: bytes, count: int) -> bytes:
    """Return the `count` error correction codewords of a block: the remainder of a division, a byte at a time."""
    remainders, top, rest = _remainders(count), 8 * (count - 1), 0
    keep = (1 << top) - 1
    for word in data:
        rest = (rest & keep) << 8 ^ remainders[rest >> top ^ word]
    return rest.to_bytes(count, "big")


@cache
def _remainders(count: int) -> tuple[int, ...]:
    """Return the error correction of a block of one codeword, for each of its 256 values, as integers.

    `qrcode` computes those of the eight single bits; the code is linear, so that the others are sums of them.
    """
    from qrcode import base, util

    table = [0]
    for bit in range(8):
        buffer = util.BitBuffer()
        buffer.buffer, buffer.length = [1 << bit], 8
        single = bytes(util.create_bytes(buffer, [base.RSBlock(count + 1, 1)]))[1:]
        table += [other ^ int.from_bytes(single, "big") for other in table]
    return tuple(table)


@dataclass(frozen=True, slots=True)
class _Grid:
    """What all symbols of a version share; a matrix is one integer, the top left module its highest bit.

    Attributes:
        size: modules along a side.
        bits: codeword bits.
        pick: takes the characters of all modules from the codeword bits as text with "0" behind.
        patterns: the dark modules of finder, alignment and timing patterns.
        masks: the eight masks, data modules only.
        inside: along rows, then along columns: the modules with at least 1, at least 10 others before them.
    """

    size: int
    bits: int
    pick: Callable[[str], tuple[str, ...]]
    patterns: int
    masks: tuple[int, ...]
    inside: tuple[tuple[int, int], tuple[int, int]]

    def place(self, sequence: bytes) -> int:
        """Return the modules with the codewords in their places, format information light, without a mask."""
        text = f"{int.from_bytes(sequence, 'big'):0{self.bits}b}0"
        return int("".join(self.pick(text)), 2) | self.patterns

    def penalty(self, modules: int) -> int:
        """Return the penalty of a masked symbol whose format information is still light.

        Source: ISO/IEC 18004, evaluation of data masking results, in the reading of `qrcode`: a finder-like
        pattern counts once for each side with four light modules, and nothing outside the symbol counts as
        light.
        """
        size = self.size
        light = modules ^ ((1 << size * size) - 1)
        score, alike = 0, []
        for step, (inside_1, inside_10) in zip((1, size), self.inside, strict=True):
            same = ((modules ^ modules >> step) & inside_1) ^ inside_1  # as dark as the module before
            alike.append(same)
            five = same & same >> step
            five &= five >> 2 * step  # five alike end here; a run of n has n - 4 such ends and costs n - 2
            score += 3 * five.bit_count() - 2 * (five & five >> step).bit_count()
            four_light = light & light >> step
            four_light &= four_light >> 2 * step
            three_dark = modules & modules >> step & modules >> 2 * step
            finder = modules & light >> step & three_dark >> 2 * step & (light & modules >> step) >> 5 * step
            score += 40 * (finder & four_light >> 7 * step & inside_10).bit_count()
            score += 40 * (four_light & finder >> 4 * step & inside_10).bit_count()
        left, above = alike
        score += 3 * (left & left >> size & above).bit_count()
        percent = float(modules.bit_count()) / size**2  # the package's own rounding
        return score + int(abs(percent * 100 - 50) / 5) * 10


@cache
def _grid(version: int) -> _Grid:
    from qrcode import base, util

    size = symbol_size(version)
    modules = _drawn(version, 0, _draw_patterns)
    bits = 8 * sum(block.total_count for block in base.rs_blocks(version, 0))
    order = [bits] * size**2
    for number, place in enumerate(_data_places(modules)):
        order[place] = min(number, bits)  # remainder bits, if any, are zero
    data = _as_integer([[module is None for module in row] for row in modules])
    masks = []
    for number in range(8):
        rule = util.mask_func(number)
        rows = [[rule(y, x) for x in range(size)] for y in range(12)]  # every mask repeats after twelve rows
        masks.append(_as_integer([rows[y % 12] for y in range(size)]) & data)
    across = [_as_integer([[x >= least for x in range(size)]] * size) for least in (1, 10)]
    down = [_as_integer([[y >= least] * size for y in range(size)]) for least in (1, 10)]
    pick = cast(Callable[[str], tuple[str, ...]], itemgetter(*order))
    inside = ((across[0], across[1]), (down[0], down[1]))
    return _Grid(size, bits, pick, _as_integer(modules), tuple(masks), inside)


@cache
def _information(version: int, level: Level, mask: int) -> int:
    """Return the dark modules of format and version information."""

    def draw(symbol: Any) -> None:
        symbol.setup_type_info(False, mask)
        if version >= 7:
            symbol.setup_type_number(False)

    return _as_integer(_drawn(version, _INDICATOR[level], draw))


def _draw_patterns(symbol: Any) -> None:
    """Draw all that is neither data nor information, and keep the places of the information light."""
    last = symbol.modules_count - 7
    for row, column in ((0, 0), (last, 0), (0, last)):
        symbol.setup_position_probe_pattern(row, column)
    symbol.setup_position_adjust_pattern()
    symbol.setup_timing_pattern()
    symbol.setup_type_info(True, 0)
    if symbol.version >= 7:
        symbol.setup_type_number(True)


def _drawn(version: int, indicator: int, draw: Callable[[Any], None]) -> list[list[bool | None]]:
    """Return what `draw` puts on an empty symbol: dark, light, or None where it put nothing."""
    from qrcode import QRCode

    symbol = QRCode(version, indicator)
    symbol.modules_count = symbol_size(version)
    symbol.modules = [[None] * symbol.modules_count for _ in range(symbol.modules_count)]
    draw(symbol)
    return cast(list[list[bool | None]], symbol.modules)


def _data_places(modules: list[list[bool | None]]) -> Iterator[int]:
    """Yield the places (row x size + column) of the codeword bits in their order.

    Source: ISO/IEC 18004, symbol character placement: two columns at a time from the right, up and down in
    turn, the right module first, the vertical timing pattern left out.
    """
    size = len(modules)
    upwards = True
    for right in range(size - 1, 0, -2):
        column = right if right > 6 else right - 1
        for y in reversed(range(size)) if upwards else range(size):
            for x in (column, column - 1):
                if modules[y][x] is None:
                    yield y * size + x
        upwards = not upwards


def _as_integer(modules: list[list[Any]]) -> int:
    return int("".join(["1" if module else "0" for row in modules for module in row]), 2)


def _too_long(text: str, version: int, level: Level) -> str:
    """Say that a text does not fit, by how much, and what would hold it."""
    needed, limit = bits_needed(text, version), capacity_bits(version, level)
    said = (
        f"QR symbol: {shortened(text, 40)!r} ({len(text)} characters) needs {needed} bits, "
        f"but version {version} at level {level} holds {limit}"
    )
    lower = [other for other in LEVELS if capacity_bits(version, other) >= needed]
    higher = [other for other in VERSIONS if capacity_bits(other, level) >= bits_needed(text, other)]
    ways = [f"version {higher[0]} at level {level}"] if higher else []
    ways += [f"level {lower[-1]} at version {version}"] if lower else []
    return f"{said}; it would fit {' or '.join(ways)}" if ways else f"{said}; shorten the text"
