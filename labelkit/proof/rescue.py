"""Read symbols that dirt hides from a decoder, by the frame that stands around them.

Grease on one finder pattern is the end of a symbol for every decoder, whatever its error correction. Our
labels have a frame just outside the quiet zone. Its inner edge is a square of known size in modules, so the
symbol's grid follows from the frame alone; what the standard fixes is painted anew, and the error correction
is left for the data.

A text is returned only if its error correction comes out, and if the caller accepts it.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator
from typing import Final

import numpy as np

from labelkit.proof.decode import Reading, read_modules, reading
from labelkit.proof.filters import halved, middle_threshold
from labelkit.proof.frames import alike, find_frames
from labelkit.proof.grid import UNIT_SQUARE, Flags, Floats, Grey, holds, homography, module_levels, project
from labelkit.proof.patterns import VERSIONS, format_places, format_words, function_patterns

Accept = Callable[[str], bool]

_QUIET_ZONE: Final = 4  # modules between frame and symbol. Source: ISO/IEC 18004, quiet zone
_GUESSES: Final = 3  # versions tried per frame, those whose patterns show best
_AGREEMENT: Final = 0.62  # share of the known modules that must look right; half of them do by chance
_FORMATS: Final = 4  # format informations tried where the one that is seen leads nowhere
_COARSE_FROM: Final = 1_500_000  # pixels from which a frame is looked for in a smaller copy first
_SAME_PX: Final = 0.7  # a frame that comes again so near is not tried again
_TAPS: Final = 5


def _anything(_text: str) -> bool:
    """Accept every text."""
    return True


def rescued(image: Grey, *, accept: Accept = _anything, known: Iterable[Reading] = ()) -> list[Reading]:
    """Read the symbols in the frames of a picture.

    Args:
        image: grey levels, two-dimensional.
        accept: says whether a text may be one of ours.
        known: what was read already; frames that hold one of these are passed over.

    Returns:
        The accepted readings, each symbol once.
    """
    taken, tried, found = [*known], list[Floats](), list[Reading]()
    for smaller, scale in _copies(image):
        for frame in find_frames(smaller):
            corners = frame.corners * scale
            if any(holds(corners, symbol.middle) for symbol in (*taken, *found)):
                continue
            if any(alike(corners, other, _SAME_PX) for other in tried):
                continue
            tried.append(corners)
            if symbol := _read_frame(image, corners, accept):
                found.append(symbol)
    return found


def _copies(image: Grey) -> Iterator[tuple[Grey, int]]:
    """Yield smaller copies of a large picture, the smallest first, then the picture itself."""
    copies = [image]
    while copies[-1].size > _COARSE_FROM:
        copies.append(halved(copies[-1]))
    for level in reversed(range(len(copies))):
        yield copies[level], 2**level


def _read_frame(image: Grey, frame: Floats, accept: Accept) -> Reading | None:
    """Read the symbol inside a quadrangle, if there is one."""
    guesses = sorted(_guesses(image, frame), key=lambda guess: -guess[0])
    for agreement, version, turns in guesses[:_GUESSES]:
        if agreement < _AGREEMENT:
            break
        outer = np.roll(frame, -turns, axis=0)
        corners = _within(outer, version)
        for dark, name in _versions_of_grid(image, corners, version):
            for painted in _repainted(dark, version):
                text = read_modules(painted)
                if text and accept(text):
                    return reading(image, text, corners, version=version, how=f"frame, {name}")
    return None


def _guesses(image: Grey, corners: Floats) -> Iterator[tuple[float, int, int]]:
    """Yield how well the known modules agree, for each version and each corner that may be the top left."""
    for version in VERSIONS:
        levels = module_levels(image, _within(corners, version), 17 + 4 * version, border=3)[:, :, 0]
        dark = (levels < _local_middle(levels))[3:-3, 3:-3]
        known, pattern = function_patterns(version)
        for turns in range(4):
            yield float((np.rot90(dark, turns) == pattern)[known].mean()), version, turns


def _within(outer: Floats, version: int) -> Floats:
    """Return the corners of the symbol in a frame, whose inner edge is given."""
    size = 17 + 4 * version
    edge = _QUIET_ZONE / (size + 2 * _QUIET_ZONE)
    return project(homography(UNIT_SQUARE, outer), edge + UNIT_SQUARE * (1 - 2 * edge))


def _versions_of_grid(image: Grey, corners: Floats, version: int) -> Iterator[tuple[Flags, str]]:
    """Yield what the modules may be, the likeliest first.

    A light module that is half under dark grease still has light places and a dark one has none; where a
    light scratch or glare runs over a dark module it is the other way round.
    """
    levels = module_levels(image, corners, 17 + 4 * version, taps=_TAPS, border=3)
    for share, name in ((50, "middle"), (75, "light parts"), (90, "lightest parts"), (25, "dark parts")):
        values = np.percentile(levels, share, axis=2)
        for threshold, said in ((_local_middle(values), "local"), (middle_threshold(values), "global")):
            yield (values < threshold)[3:-3, 3:-3], f"{name}, {said} threshold"


def _local_middle(levels: Floats) -> Floats:
    """Return for each module the middle between the lightest and the darkest one around it."""
    reach = 3
    padded = np.pad(levels, reach, mode="edge")
    windows = np.lib.stride_tricks.sliding_window_view(padded, (2 * reach + 1, 2 * reach + 1))
    middle: Floats = (windows.max(axis=(2, 3)) + windows.min(axis=(2, 3))) / 2
    return middle


def _repainted(dark: Flags, version: int) -> Iterator[Flags]:
    """Yield the symbol with its function patterns painted, then with the likeliest format informations."""
    known, pattern = function_patterns(version)
    painted: Flags = np.where(known, pattern, dark)
    yield painted
    places = format_places(version)
    words = format_words()
    agreement = (words[:, None, :] == painted[places]).sum(axis=(1, 2))
    for number in np.argsort(-agreement, kind="stable")[:_FORMATS]:
        painted = painted.copy()
        painted[places] = words[number]
        yield painted
