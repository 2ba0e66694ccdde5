"""Figures that look like a slip: a point in the wrong place, or inches taken for millimetres. Asked about, no limit."""

from __future__ import annotations

from typing import Final

from labelkit.calc.figures import rounded
from labelkit.language import gettext as _
from labelkit.units import Quantity

# From here on a figure is asked about; wear and play that condemn a part mostly stay below. Own choice.
_FAR: Final = 8
# Whoever takes inches for millimetres, or the other way round, is off by 25.4; a part that is not as new by this
# much more or less.
_INCHES: Final = (20, 32)


def slip(read: Quantity, low: Quantity | None, high: Quantity | None) -> str:
    """Return how many times a figure is what it should be, or the other way round; empty where it may be right.

    Args:
        read: what was typed.
        low: the least that is right; None: nothing is too small.
        high: the most that is right; None: `low` is what it is held against.

    >>> from decimal import Decimal
    >>> mm = lambda text: Quantity(Decimal(text), "mm")
    >>> slip(mm("80.0"), mm("8.0"), mm("8.0")), slip(mm("1.41"), mm("0.30"), mm("0.60"))
    ('80.0 mm is 10 times 8.0 mm', '')
    >>> slip(mm("0.315"), mm("8.0"), None)
    '8.0 mm is 25 times 0.315 mm: inches and millimetres mixed up?'
    """
    top = high or low
    pairs = [(read, top)] if top is not None else []
    if low is not None:
        pairs.append((low, read))
    for large, small in pairs:
        if large.kind != small.kind or small.base <= 0 or large.base < _FAR * small.base:
            continue
        times = large.base / small.base
        mixed = large.kind == "length" and _INCHES[0] <= times <= _INCHES[1]
        told = _("{large} is {times} times {small}")
        if mixed:
            told = _("{large} is {times} times {small}: inches and millimetres mixed up?")
        return told.format(large=large, times=rounded(times, 0), small=small)
    return ""
