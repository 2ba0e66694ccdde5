"""Words on a label: set as large as their box allows, on as many lines as that takes, never below the legible size."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from functools import lru_cache
from itertools import combinations, pairwise
from typing import Final

from labelkit.drawing.page import BLACK, Box, Text
from labelkit.drawing.text import cap_height, measure, size_for_cap, wrap
from labelkit.drawing.text import line as text_line
from labelkit.sheets.legible import LEAST, em

BOLD: Final = "bold"
# From line to line, in heights of a capital letter.
LEADING: Final = 1.5
# Fewer lines are taken where they lose no more than this part of the size.
_NEARLY: Final = 0.9
# Pieces beyond these are not tried in every way of breaking them.
_MOST_PIECES: Final = 10


@dataclass(frozen=True, slots=True)
class Setting:
    """Pieces of text on lines.

    Attributes:
        lines: from the top.
        width: of the widest line, in ems of the bold face.
    """

    lines: tuple[str, ...]
    width: float

    @property
    def ink(self) -> float:
        """From the tallest letter of the first line to the deepest of the last, in ems."""
        pitch = cap_height(BOLD) * LEADING
        first, last = measure(self.lines[0], BOLD, 1.0)[1], measure(self.lines[-1], BOLD, 1.0)[2]
        return first + pitch * (len(self.lines) - 1) + last

    def cap_in(self, width: float, height: float = math.inf) -> float:
        """Return the height of its capitals, mm, where it fills this width or this height, whichever is less."""
        return min(width / self.width, height / self.ink) * cap_height(BOLD)

    def height_at(self, cap: float) -> float:
        """Return the height of its ink, mm, with capitals of this height."""
        return self.ink * size_for_cap(cap, BOLD)

    def width_at(self, cap: float) -> float:
        """Return its width, mm, with capitals of this height."""
        return self.width * size_for_cap(cap, BOLD)


@lru_cache(maxsize=8192)
def setting(pieces: tuple[str, ...], lines: int, joint: str = " ") -> Setting:
    """Return pieces on this many lines, fewer where there are fewer pieces, as narrow as they can be set.

    Args:
        pieces: what stays together; at least one.
        lines: at least 1.
        joint: what stands between two pieces of one line.

    >>> setting(("SMALL", "END", "UP"), 2).lines
    ('SMALL', 'END UP')
    """
    places = range(1, min(len(pieces), _MOST_PIECES))
    found = []
    for breaks in combinations(places, min(lines - 1, len(places))):
        edges = (0, *breaks, len(pieces))
        texts = tuple(joint.join(pieces[start:end]) for start, end in pairwise(edges))
        found.append(Setting(texts, max(measure(text, BOLD, 1.0)[0] for text in texts)))
    return min(found, key=lambda each: each.width)


def words_on(words: str, lines: int) -> Setting:
    """Return a text broken at its spaces on this many lines."""
    return setting(tuple(words.split(" ")), lines)


def first_that_fits(choices: Sequence[Setting], width: float, cap: float) -> Setting:
    """Return the first setting that fits a width with capitals of this height, the last where none does."""
    return next((each for each in choices if each.width_at(cap) <= width), choices[-1])


def block(choices: Sequence[Setting], box: Box, cap: float) -> tuple[list[Text], bool]:
    """Set words in bold as large as their box allows, in the middle of its height.

    Args:
        choices: ways to break the same words on lines, the fewest lines first.
        box: the room, mm.
        cap: the largest height of capitals, mm.

    Returns:
        The lines, and whether something had to be left out; an ellipsis stands where.
    """
    caps = [min(cap, each.cap_in(box.width, box.height)) for each in choices]
    best, reached = next(pair for pair in zip(choices, caps, strict=True) if pair[1] >= _NEARLY * max(caps))
    if reached >= LEAST - 1e-6:
        return _centred(best, box, reached), False
    most = int((box.height / em(LEAST, BOLD) / cap_height(BOLD) - 1) / LEADING + 1 + 1e-6)
    wrapped = wrap(" ".join(best.lines), box.width, em(LEAST, BOLD), max(1, min(len(best.lines), most)), BOLD)
    if not any(wrapped.lines):
        return [], wrapped.shortened
    return _centred(Setting(wrapped.lines, best.width), box, LEAST), wrapped.shortened


def _centred(words: Setting, box: Box, cap: float) -> list[Text]:
    top = box.y + max(0.0, (box.height - words.height_at(cap)) / 2)
    return stacked(words.lines, box.x, top, em(cap, BOLD))


def stacked(lines: tuple[str, ...], x: float, top: float, size: float, fill: str = BLACK) -> list[Text]:
    """Return lines in bold, one below the other, the tallest letter of the first touching `top`."""
    first = top + measure(lines[0], BOLD, size)[1]
    pitch = size * cap_height(BOLD) * LEADING
    return [text_line(text, x, first + k * pitch, size, BOLD, fill=fill) for k, text in enumerate(lines)]
