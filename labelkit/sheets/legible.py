"""Letter heights that can be read, by how far away the reader is.

Source: NUREG-0700 rev. 3, 11.4.1.5-1: labels at least 15 minutes of arc, 20 preferred; the height of a letter is
2 x distance x tan(angle / 2). Distances are common practice, no source.
"""

from __future__ import annotations

import math
from typing import Final

from labelkit.drawing.text import size_for_cap

_MINUTES_LEAST: Final = 15.0
_MINUTES_PREFERRED: Final = 20.0
ARMS_LENGTH: Final = 700.0  # mm, standing at the bench with the bin in front
_IN_THE_HAND: Final = 350.0  # mm, the label picked up


def letter_height(distance: float, minutes: float = _MINUTES_LEAST) -> float:
    """Return the height of capital letters that are seen under this angle, mm.

    >>> round(letter_height(700, 20), 2)
    4.07
    """
    return 2 * distance * math.tan(math.radians(minutes / 60) / 2)


# What must be read at arm's length, and the least that may ever be printed.
MUST: Final = letter_height(ARMS_LENGTH, _MINUTES_PREFERRED)
LEAST: Final = letter_height(_IN_THE_HAND)


def em(cap: float, face: str = "regular") -> float:
    """Return the em of letters whose capitals have this height, mm; never below the legible size."""
    return size_for_cap(max(cap, LEAST), face)
