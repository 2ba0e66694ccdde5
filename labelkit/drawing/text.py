"""Text that fits: measured, shrunk, wrapped, and shortened only where everybody can see it.

Letters are set side by side by their advance widths, without kerning and without ligatures: a PDF and an SVG
then agree to the last letter, and the width of a line is the sum of its words. Letters of scripts that join
or stack are set one by one.

Sizes are ems in mm. A text is cleaned before it is set: see `labelkit.drawing.fonts.clean`.
"""

from __future__ import annotations

import math
import re
import unicodedata
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from functools import lru_cache
from itertools import groupby
from typing import Final

from labelkit.drawing.fonts import clean, metrics, setting
from labelkit.drawing.page import BLACK, Anchor, Run, Text
from labelkit.errors import UsageError
from labelkit.units import FACTORS

ELLIPSIS: Final = "…"

# Sizes are rounded down to this, mm, so that a fitted line is never wider than it may be.
_GRAIN: Final = 0.01
# A word is cut rather than dropped when dropping it would leave less than this part of what fits.
_LEAST: Final = 0.5
# Widths are sums of floats; this much over the edge, mm, is rounding and nothing that a printer shows.
_ROUNDING: Final = 1e-6
_PIECES: Final = re.compile(r"[^-/]+[-/]*|[-/]+")
# Where lines break: not between a figure and its unit, nor round the cross of sizes, which are read as one.
_GAPS: Final = re.compile(
    rf" (?!(?<=\d )(?:{'|'.join(map(re.escape, FACTORS))})(?!\w))(?!(?<=\d )[x×] \d)(?!(?<=\d [x×] )\d)"
)


@dataclass(frozen=True, slots=True)
class FittedLine:
    """A line at the size at which it fits.

    Attributes:
        string: what is left of the text.
        size: the em, mm.
        face: the face.
        width: measured length, mm.
        shortened: something was left out; the line ends in an ellipsis, or is empty if not even that fits.
    """

    string: str
    size: float
    face: str
    width: float
    shortened: bool

    def at(self, x: float, y: float, anchor: Anchor = "start", fill: str = BLACK) -> Text:
        """Return the line at its place; `y` is the baseline."""
        return line(self.string, x, y, self.size, self.face, anchor, fill)


@dataclass(frozen=True, slots=True)
class Wrapped:
    """Lines of equal size.

    Attributes:
        lines: from the top.
        shortened: something was left out; an ellipsis stands where.
    """

    lines: tuple[str, ...]
    shortened: bool


def measure(string: str, face: str, size: float) -> tuple[float, float, float]:
    """Return width, ascent and descent of a line, mm.

    Args:
        string: the letters; none give (0, 0, 0).
        face: `regular` or `bold`.
        size: the em, mm.

    Returns:
        The sum of the advance widths; how far the tallest letter rises above the baseline; how far the
        deepest falls below it, not negative.
    """
    width, ascent, descent = _in_ems(clean(string), face)
    return width * size, ascent * size, descent * size


def line(
    string: str,
    x: float,
    y: float,
    size: float,
    face: str = "regular",
    anchor: Anchor = "start",
    fill: str = BLACK,
) -> Text:
    """Return one line of text.

    Args:
        string: what it says.
        x: its start, middle or end, by `anchor`, mm.
        y: the baseline, mm.
        size: the em, mm.
        face: `regular` or `bold`; letters that it lacks come from the fallback.
        anchor: `start`, `middle` or `end`.
        fill: colour as #rrggbb.
    """
    width, ascent, descent = measure(string, face, size)
    return Text(x, y, _runs(clean(string), face), size, width, ascent, descent, anchor, fill)


def fit_line(string: str, width: float, sizes: tuple[float, float], face: str = "regular") -> FittedLine:
    """Set a line as large as its room allows, and _shorten it where even the smallest size is too large.

    It is shortened after a whole word where that keeps half of what fits, otherwise inside a word, and ends
    in an ellipsis then.

    Args:
        string: what it says.
        width: the room, mm.
        sizes: the largest and the smallest em allowed, mm.
        face: `regular` or `bold`.

    Raises:
        UsageError: a size is not positive, or the largest is below the smallest.
    """
    largest, smallest = sizes
    if not 0 < smallest <= largest:
        raise UsageError(
            f"text sizes: found largest {largest:g} mm, smallest {smallest:g} mm; "
            f"allowed: two sizes above 0, the largest first"
        )
    string = clean(string).strip(" ")
    ems = _in_ems(string, face)[0]
    size = largest
    if ems * largest > width + _ROUNDING:
        size = max(smallest, math.floor(width / ems / _GRAIN) * _GRAIN)
    kept = _shorten(string, width, size, face)
    return FittedLine(kept, size, face, measure(kept, face, size)[0], kept != string)


def fit_fullest(strings: Sequence[str], width: float, sizes: tuple[float, float], face: str = "regular") -> FittedLine:
    """Set the first of several ways to say a thing that fits whole, else the last, as `fit_line` does."""
    lines = [fit_line(each, width, sizes, face) for each in strings]
    return next((each for each in lines if not each.shortened), lines[-1])


def _shorten(string: str, width: float, size: float, face: str = "regular") -> str:
    """Return the text if it fits, else its beginning with an ellipsis, else (no room even for that) nothing.

    Args:
        string: what it says, cleaned.
        width: the room, mm.
        size: the em, mm.
        face: `regular` or `bold`.
    """
    room = (width + _ROUNDING) / size
    if _in_ems(string, face)[0] <= room:
        return string
    table = setting(face)
    room -= table[ELLIPSIS][1]
    if room < 0:
        return ""
    fits = 0
    for letter in string:
        room -= table[letter][1]
        if room < 0:
            break
        fits += 1
    while fits and unicodedata.combining(string[fits]):
        fits -= 1
    whole_words = string[: fits + 1].rfind(" ")
    end = whole_words if whole_words >= _LEAST * fits else fits
    return string[:end].rstrip(" ,;:-–—/(") + ELLIPSIS


def wrap(string: str, width: float, size: float, max_lines: int, face: str = "regular") -> Wrapped:
    """Break a text into the fewest lines, and those as even as they can be.

    Lines break at spaces, but not between a figure and its unit or round the cross of sizes, and after a hyphen or a
    slash; within these in a word that is wider than the room. Where the text needs more than `max_lines`, each line
    takes as many words as it holds, and the last ends in an ellipsis; so does a piece of a word that fits on no line.

    Args:
        string: what it says; an empty text gives no line.
        width: the room, mm.
        size: the em, mm.
        max_lines: how many lines there may be, at least 1.
        face: `regular` or `bold`.

    Raises:
        UsageError: `size` or `max_lines` is not positive.
    """
    if max_lines < 1 or size <= 0:
        raise UsageError(f"wrapped text: found {max_lines} lines of {size:g} mm; allowed: at least 1, above 0 mm")
    room = (width + _ROUNDING) / size
    words = [piece for word in _GAPS.split(clean(string)) if word for piece in _pieces(word, room, face)]
    kept = [_Word(_shorten(word.text, width, size, face), word.space) for word in words]
    shortened = kept != words
    kept = [word for word in kept if word.text]
    ends = _even_ends(kept, room, face)
    if len(ends) <= max_lines:
        lines = [_joined(kept[start:end]) for start, end in zip([0, *ends], ends, strict=False)]
        return Wrapped(tuple(lines), shortened)
    lines, start = [], 0
    for _ in range(max_lines - 1):
        end = _full_end(kept, start, room, face)
        lines.append(_joined(kept[start:end]))
        start = end
    return Wrapped((*lines, _shorten(_joined(kept[start:]), width, size, face)), True)


def cap_height(face: str = "regular") -> float:
    """Return the height of a flat capital letter, as a fraction of the em."""
    return metrics(face).cap_height


def size_for_cap(height: float, face: str = "regular") -> float:
    """Return the em, mm, whose capital letters are `height` mm tall."""
    return height / cap_height(face)


def cap_for_size(size: float, face: str = "regular") -> float:
    """Return the height of capital letters, mm, at an em of `size` mm."""
    return size * cap_height(face)


@dataclass(frozen=True, slots=True)
class _Word:
    """A word, or a piece of one: then without a space before it."""

    text: str
    space: bool


@lru_cache(maxsize=4096)
def _in_ems(string: str, face: str) -> tuple[float, float, float]:
    table = setting(face)
    width = ascent = lowest = 0.0
    for letter in string:
        _, advance, top, bottom = table[letter]
        width += advance
        ascent = max(ascent, top)
        lowest = min(lowest, bottom)
    return width, ascent, abs(lowest)


@lru_cache(maxsize=4096)
def _runs(string: str, face: str) -> tuple[Run, ...]:
    table = setting(face)
    return tuple(Run(name, "".join(letters)) for name, letters in groupby(string, lambda letter: table[letter][0]))


def _pieces(word: str, room: float, face: str) -> Iterator[_Word]:
    """Yield a word whole if it fits a line, else what stands between its spaces, and then its hyphens and slashes."""
    if _in_ems(word, face)[0] <= room:
        yield _Word(word, space=True)
    elif " " in word:
        for part in word.split(" "):
            yield from _pieces(part, room, face)
    else:
        for number, piece in enumerate(_PIECES.findall(word)):
            yield _Word(piece, number == 0)


def _even_ends(words: Sequence[_Word], room: float, face: str) -> list[int]:
    """Return where each line ends: the fewest lines, then the least sum of squared gaps at their ends."""
    # By the word that begins the rest: its lines, their squared gaps, the end of the first of them.
    best: list[tuple[int, float, int]] = [(0, 0.0, 0)] * (len(words) + 1)
    for start in reversed(range(len(words))):
        found = None
        for end, width in _line_widths(words, start, room, face):
            lines, gaps, _ = best[end]
            cost = (lines + 1, gaps + (room - width) ** 2, end)
            found = cost if found is None or cost[:2] <= found[:2] else found
        best[start] = found or best[start]
    ends, start = [], 0
    while start < len(words):
        start = best[start][2]
        ends.append(start)
    return ends


def _full_end(words: Sequence[_Word], start: int, room: float, face: str) -> int:
    """Return the end of the line that begins at a word and takes as many as it holds."""
    return max(end for end, _ in _line_widths(words, start, room, face))


def _line_widths(words: Sequence[_Word], start: int, room: float, face: str) -> Iterator[tuple[int, float]]:
    """Yield the ends that a line from a word on may have, with its width in ems; one word is always in."""
    width = 0.0
    for end in range(start, len(words)):
        space = words[end].space and end > start
        width += _in_ems(words[end].text, face)[0] + (setting(face)[" "][1] if space else 0.0)
        if width > room and end > start:
            return
        yield end + 1, width


def _joined(words: Sequence[_Word]) -> str:
    return "".join([" " * word.space + word.text for word in words]).lstrip(" ")
