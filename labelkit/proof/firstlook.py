"""A first look at a page on which no symbol was read: is it worth every means, which takes seconds?

Pages of a kit without labels are scanned too: maps, lists, parts on their outlines. What the dirtiest label still has
is a frame with light and dark mixed inside; of frames, a copy of 150 dots an inch shows enough.
"""

from __future__ import annotations

from typing import Final

import numpy as np

from labelkit.proof.filters import halved, middle_threshold
from labelkit.proof.frames import find_frames
from labelkit.proof.grid import Flags, Floats, Grey, module_levels

_LOOK_AT: Final = 3_000_000  # pixels of the copy, at most
_CELLS: Final = 24  # places along a side where the inside of a frame is looked at
_UNLIKE: Final = 0.3  # share of neighbouring places that differ: half of them do by chance, few in a drawing
_QUARTERS: Final = 2  # so many quarters of a symbol are enough: the others may be under grease
_LEAST_CONTRAST: Final = 12.0  # grey levels; below, it is noise of the paper


def may_hold_symbols(image: Grey) -> bool:
    """Say whether a page may hold a framed symbol that nothing has read yet.

    A symbol without a frame is not seen; a page with frames full of something else is taken for one with symbols,
    which costs time and nothing more.

    Args:
        image: grey levels, two-dimensional.
    """
    while image.size > _LOOK_AT:
        image = halved(image)
    return any(_is_mixed(image, frame.corners) for frame in find_frames(image))


def _is_mixed(image: Grey, corners: Floats) -> bool:
    """Say whether a quadrangle holds light and dark everywhere, as a symbol does."""
    levels = module_levels(image, corners, _CELLS).mean(axis=2)[3:-3, 3:-3]  # without the quiet zone
    if float(np.ptp(levels)) < _LEAST_CONTRAST:
        return False
    dark = levels < middle_threshold(levels)
    quarters = (half for rows in np.array_split(dark, 2, axis=0) for half in np.array_split(rows, 2, axis=1))
    return sum(_unlike(quarter) >= _UNLIKE for quarter in quarters) >= _QUARTERS


def _unlike(dark: Flags) -> float:
    """Return the share of neighbours, beside and below each other, of which one is dark and one is light."""
    return float(((dark[:, 1:] != dark[:, :-1]).mean() + (dark[1:] != dark[:-1]).mean()) / 2)
