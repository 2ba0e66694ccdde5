"""A text as the segments of a QR symbol: the modes that take the fewest bits, and those bits.

Pure text and whole numbers; nothing here knows how a symbol looks.
"""

from __future__ import annotations

import re
from functools import lru_cache
from operator import itemgetter
from typing import Any, Final, Literal, NamedTuple

from labelkit.errors import UsageError

Mode = Literal["numeric", "alphanumeric", "byte", "eci"]

VERSIONS: Final = range(1, 41)
ALPHANUMERIC: Final = "0123456789ABCDEFGHIJKLMNOPQRSTUVWXYZ $%*+-./:"
"""The characters of alphanumeric mode in the order of their values.

Source: ISO/IEC 18004, alphanumeric mode table.
"""

_INDICATOR: Final = {"numeric": 1, "alphanumeric": 2, "byte": 4, "eci": 7}
# Width of the character count in versions 1-9, 10-26 and 27-40; an ECI header carries none.
# Source: ISO/IEC 18004, number of bits in the character count indicator.
_COUNT_BITS: Final = {
    "numeric": (10, 12, 14),
    "alphanumeric": (9, 11, 13),
    "byte": (8, 16, 16),
    "eci": (0, 0, 0),
}
# Bits per character times six: ten bits for three digits and eleven for two letters stay whole numbers.
_SIXTHS: Final = {"numeric": 20, "alphanumeric": 33, "byte": 48}
_DIGIT_BITS: Final = {1: 4, 2: 7, 3: 10}
_UTF8: Final = b"\x1a"  # ECI assignment 26: the bytes that follow are UTF-8. Source: AIM ECI register
_ECI_BITS: Final = 12

_STRETCH: Final = re.compile(r"([0-9]+)|([A-Z $%*+\-./:]+)|[^0-9A-Z $%*+\-./:]+")


class Segment(NamedTuple):
    """Characters that share one mode: the mode, and their bytes (for `eci` the assignment number)."""

    mode: Mode
    data: bytes


def segments(text: str, version: int) -> tuple[Segment, ...]:
    """Cut a text into the segments that need the fewest bits at this version.

    Text outside ASCII goes as UTF-8 behind an ECI header that says so: without the header a reader may take
    the bytes for ISO/IEC 8859-1.

    Args:
        text: what the symbol says; not empty.
        version: 1 to 40; the widths of the character counts depend on it.

    Raises:
        UsageError: the text is empty or cannot be written as UTF-8; or there is no such version.

    >>> [segment.data for segment in segments("http://10.0.0.5/B7", 2)]
    [b'http', b'://10.0.0.5/B7']
    """
    return _cut(text, _size_class(version))[1]


def bits_needed(text: str, version: int) -> int:
    """Return the bits that the segments of a text need at this version, without terminator and padding.

    Raises:
        UsageError: as `segments`.

    >>> bits_needed("01234567", 1)
    41
    """
    return _cut(text, _size_class(version))[0]


def bit_stream(text: str, version: int) -> int:
    """Return the bits of all segments as one number of `bits_needed` bits, the first bit the highest.

    >>> f"{bit_stream('01234567', 1):041b}"
    '00010000001000000000110001010110011000011'
    """
    value = 0
    for segment in segments(text, version):
        value = _append(value, segment, _size_class(version))
    return value


def check_version(version: int) -> int:
    """Return the version when there is one of this number, 1 to 40; UsageError otherwise."""
    if version not in VERSIONS:
        raise UsageError(f"QR version {version!r}: allowed: whole numbers from 1 to 40")
    return version


def _size_class(version: int) -> int:
    check_version(version)
    return 0 if version < 10 else 1 if version < 27 else 2


@lru_cache(maxsize=1024)
def _cut(text: str, size_class: int) -> tuple[int, tuple[Segment, ...]]:
    """Return the least bits for a text and the segments that take them.

    A dynamic programme over stretches of one kind of character (digits, other alphanumeric, the rest): the
    best way up to a stretch, for each mode that may carry it. A stretch is never worth splitting: a character
    moved to a wider mode always costs more than it saves. Within a mode the cost is counted in sixths of a
    bit and rounded up where the mode ends, which is exactly what the standard's groups of three digits and
    two letters take.
    """
    _check_text(text)
    header = {mode: 6 * (4 + _COUNT_BITS[mode][size_class]) for mode in _SIXTHS}
    ways: dict[Mode, tuple[int, Any]] = {}
    cheapest: tuple[int, Any] = (0, None)
    for stretch in _STRETCH.finditer(text):
        letters = stretch[0].encode()
        before, ways = ways, {}
        for mode in _allowed_modes(stretch.lastindex):
            cost, way = cheapest[0] + header[mode], cheapest[1]
            if mode in before and before[mode][0] <= cost:
                cost, way = before[mode]
            ways[mode] = (cost + _SIXTHS[mode] * len(letters), (mode, letters, way))
        cheapest = min(((-(-cost // 6) * 6, way) for cost, way in ways.values()), key=itemgetter(0))
    bits, parts = cheapest[0] // 6, _unwound(cheapest[1])
    return (bits, parts) if text.isascii() else (bits + _ECI_BITS, (Segment("eci", _UTF8), *parts))


def _allowed_modes(kind: int | None) -> tuple[Literal["numeric", "alphanumeric", "byte"], ...]:
    if kind == 1:
        return "numeric", "alphanumeric", "byte"
    return ("alphanumeric", "byte") if kind == 2 else ("byte",)


def _unwound(way: Any) -> tuple[Segment, ...]:
    """Turn the chain of the dynamic programme, last stretch first, into segments."""
    backwards: list[Segment] = []
    while way is not None:
        mode, letters, way = way
        if backwards and backwards[-1].mode == mode:
            backwards[-1] = Segment(mode, letters + backwards[-1].data)
        else:
            backwards.append(Segment(mode, letters))
    return tuple(reversed(backwards))


def _append(value: int, segment: Segment, size_class: int) -> int:
    """Return `value` with the bits of a segment behind it."""
    mode, data = segment
    value = value << 4 | _INDICATOR[mode]
    width = _COUNT_BITS[mode][size_class]
    value = value << width | (len(data) if width else 0)
    if mode == "numeric":
        for at in range(0, len(data), 3):
            digits = data[at : at + 3]
            value = value << _DIGIT_BITS[len(digits)] | int(digits)
    elif mode == "alphanumeric":
        values = [ALPHANUMERIC.index(letter) for letter in data.decode()]
        for first, second in zip(values[::2], values[1::2], strict=False):
            value = value << 11 | first * 45 + second
        if len(values) % 2:
            value = value << 6 | values[-1]
    else:
        value = value << 8 * len(data) | int.from_bytes(data, "big")
    return value


def _check_text(text: str) -> None:
    if not text:
        raise UsageError("QR symbol: the text is empty; allowed: at least one character")
    try:
        text.encode()
    except UnicodeEncodeError as error:
        raise UsageError(
            f"QR symbol: character {error.start + 1} of the text (U+{ord(text[error.start]):04X}) is half of "
            "a surrogate pair and no character of its own; allowed: any text that can be written as UTF-8"
        ) from error
