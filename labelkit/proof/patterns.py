"""The function patterns of a QR symbol: what every symbol of a version shows at the same places."""

from __future__ import annotations

from functools import cache
from itertools import product
from typing import Final

import numpy as np
from numpy.typing import NDArray

from labelkit.proof.grid import Flags

# Middles of the alignment patterns along a side. Source: ISO/IEC 18004, annex on alignment patterns.
_ALIGNMENT: Final = {
    1: (), 2: (6, 18), 3: (6, 22), 4: (6, 26), 5: (6, 30), 6: (6, 34),
    7: (6, 22, 38), 8: (6, 24, 42), 9: (6, 26, 46), 10: (6, 28, 50),
}  # fmt: skip
VERSIONS: Final = tuple(_ALIGNMENT)
"""The versions known here; no label needs a larger one."""


@cache
def function_patterns(version: int) -> tuple[Flags, Flags]:
    """Return which modules are known before anything is read, and which of them are dark.

    Finder patterns with their separators, timing and alignment patterns, the module that is always dark and,
    from version 7, the version information.

    Source: ISO/IEC 18004, symbol structure.

    Args:
        version: 1 to 10.

    Returns:
        Two squares, one element a module, first the row from the top, then the column. Read-only.

    >>> known, dark = function_patterns(1)
    >>> "".join("#" if module else "." for module in dark[0, :8]), bool(known[20, 20])
    ('#######.', False)
    """
    size = 17 + 4 * version
    known, dark = np.zeros((size, size), bool), np.zeros((size, size), bool)
    known[6, :] = known[:, 6] = True
    dark[6, ::2] = dark[::2, 6] = True
    for row, column in product(_ALIGNMENT[version], repeat=2):
        if (row, column) not in {(6, 6), (6, size - 7), (size - 7, 6)}:
            known[row - 2 : row + 3, column - 2 : column + 3] = True
            dark[row - 2 : row + 3, column - 2 : column + 3] = _rings(5, (2, 0))
    finder = np.pad(_rings(7, (3, 1, 0)), 1)
    for row, column in ((0, 0), (0, size - 8), (size - 8, 0)):
        known[row : row + 8, column : column + 8] = True
        top, left = int(row == 0), int(column == 0)
        dark[row : row + 8, column : column + 8] = finder[top : top + 8, left : left + 8]
    known[size - 8, 8] = dark[size - 8, 8] = True
    if version >= 7:
        bits = np.array([_version_information(version) >> bit & 1 for bit in range(18)], bool).reshape(6, 3)
        known[:6, size - 11 : size - 8] = known[size - 11 : size - 8, :6] = True
        dark[:6, size - 11 : size - 8], dark[size - 11 : size - 8, :6] = bits, bits.T
    known.setflags(write=False)
    dark.setflags(write=False)
    return known, dark


def format_places(version: int) -> tuple[NDArray[np.intp], NDArray[np.intp]]:
    """Return rows and columns of the format information: two copies of 15 modules, the highest bit first.

    Source: ISO/IEC 18004, format information.

    >>> rows, columns = format_places(1)
    >>> rows[1].tolist()[:3], columns[1].tolist()[-3:]
    ([20, 19, 18], [18, 19, 20])
    """
    last = 16 + 4 * version
    to_corner, beyond = (0, 1, 2, 3, 4, 5, 7), (7, 5, 4, 3, 2, 1, 0)
    rows = [(8,) * 8 + beyond, (*range(last, last - 7, -1), *(8,) * 8)]
    columns = [(*to_corner, 8, *(8,) * 7), (*(8,) * 7, *range(last - 7, last + 1))]
    return np.array(rows), np.array(columns)


@cache
def format_words() -> Flags:
    """Return all 32 format informations, error correction included, a row each; dark is True.

    The highest bit comes first, as in `format_places`.

    Source: ISO/IEC 18004, format information: (15, 5) BCH code, masked.
    """
    words = [((number << 10) | _rest(number << 10, 0x537)) ^ 0x5412 for number in range(32)]
    return np.array([[word >> bit & 1 for bit in range(14, -1, -1)] for word in words], bool)


def _rings(size: int, distances: tuple[int, ...]) -> Flags:
    """Return a square with dark rings at some distances from its middle."""
    away = np.abs(np.arange(size) - size // 2)
    return np.isin(np.maximum(away[:, None], away[None, :]), distances)


def _version_information(version: int) -> int:
    """Return version and error correction. Source: ISO/IEC 18004, version information: (18, 6) Golay code."""
    return version << 12 | _rest(version << 12, 0x1F25)


def _rest(value: int, divisor: int) -> int:
    """Return what a division of polynomials over two elements leaves."""
    while value.bit_length() >= divisor.bit_length():
        value ^= divisor << value.bit_length() - divisor.bit_length()
    return value
