"""What stands in the cells of a worksheet: words, boxes for a tick or a reading, sums to fill in, drawings."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass
from functools import lru_cache
from typing import Final, NamedTuple, Protocol

from labelkit.drawing.page import BLACK, WHITE, Box, Command, Group, Item, Path, rectangle
from labelkit.drawing.text import fit_line, measure, wrap
from labelkit.drawing.text import line as text_line
from labelkit.sheets.legible import LEAST, em
from labelkit.sheets.worksheet import (
    BOX_PEN,
    HEADING,
    LEADING,
    SMALL,
    STEP,
    TICK,
    WORDS,
    WRITE,
)

_MANY: Final = 999
_LABEL: Final = 2.9  # above a box
_BESIDE: Final = 1.6  # between a box and the words to the right of it
_APART: Final = 4.0  # between those and the next box
_SUMS_APART: Final = 12.0
_BOXES_APART: Final = 1.6


class Line(NamedTuple):
    """A line of a cell: its height and what is on it, in its own frame."""

    height: float
    items: tuple[Item, ...]


class Piece(Protocol):
    """Something that fills a cell from the top."""

    def lines(self, width: float, /) -> Iterable[Line]:
        """Return it in lines of this width."""
        ...  # pragma: no cover


@dataclass(frozen=True, slots=True)
class Say:
    """Words, wrapped."""

    text: str
    cap: float = WORDS
    face: str = "regular"

    def lines(self, width: float) -> Iterable[Line]:
        """Return them in lines; none where there is no word."""
        return _said(self.text, self.cap, self.face, round(width, 3))


@lru_cache(maxsize=4096)
def _said(text: str, cap: float, face: str, width: float) -> tuple[Line, ...]:
    size = em(cap, face)
    pitch = cap * LEADING
    wrapped = wrap(text, width, size, _MANY, face).lines
    return tuple(Line(pitch, (text_line(each, 0, cap + (pitch - cap) / 2, size, face),)) for each in wrapped)


def bold(text: str, cap: float = WORDS) -> Say:
    """Return words that must be seen."""
    return Say(text, cap, "bold")


@dataclass(frozen=True, slots=True)
class OneLine:
    """One line that is set as large as it may be and fits."""

    text: str
    cap: float = STEP
    face: str = "bold"

    def lines(self, width: float) -> Iterable[Line]:
        """Return the line."""
        size = em(self.cap, self.face)
        fitted = fit_line(self.text, width, (size, em(LEAST, self.face)), self.face)
        return (Line(self.cap * 1.5, (fitted.at(0, self.cap * 1.25),)),)


@dataclass(frozen=True, slots=True)
class Loud:
    """Words that are shouted, white on black; each stands alone, as many on a line as it holds."""

    words: tuple[str, ...]

    def lines(self, width: float) -> Iterator[Line]:
        """Return them in lines."""
        size, high = em(WORDS, "bold"), WORDS + 1.5
        items: list[Item] = []
        x = 0.0
        for words in self.words:
            for each in wrap(words, width - 2, size, _MANY, "bold").lines:
                wide = measure(each, "bold", size)[0] + 2
                if items and x + wide > width:
                    yield Line(high + 0.6, tuple(items))
                    items, x = [], 0.0
                items.append(rectangle(Box(x, 0.3, wide, high), None, BLACK))
                items.append(text_line(each, x + 1, 0.3 + (high + WORDS) / 2, size, "bold", "start", WHITE))
                x += wide + 1.2
        if items:
            yield Line(high + 0.6, tuple(items))


@dataclass(frozen=True, slots=True)
class Boxes:
    """Boxes for readings, each with its label above it; as many on a line as it holds, the last never alone on one."""

    labels: tuple[str, ...]
    size: tuple[float, float] = WRITE
    name: str = ""

    def lines(self, width: float) -> Iterator[Line]:
        """Return them in lines, the boxes wider where a label is."""
        size = em(LEAST)
        top = _LABEL if any(self.labels) else 0.4
        high = self.size[1]
        for labels in self._laid(width):
            items: list[Item] = []
            x = 0.0
            for label in labels:
                fitted = fit_line(label, width, (size, size))
                wide = self._wide(label, width)
                if label:
                    items.append(fitted.at(x + 0.3, _LABEL - 0.7))
                items.append(Group((rectangle(Box(x, top, wide, high), BOX_PEN),), self.name or f"box {label}"))
                x += wide + _BOXES_APART
            yield Line(top + high + 0.8, tuple(items))

    def _wide(self, label: str, width: float) -> float:
        return max(self.size[0], min(measure(label, "regular", em(LEAST))[0] + 0.6, width))

    def _laid(self, width: float) -> list[list[str]]:
        """Return the labels of each line."""
        laid: list[list[str]] = []
        x = 0.0
        for label in self.labels:
            wide = self._wide(label, width)
            if not laid or x + wide > width + 1e-6:
                laid.append([])
                x = 0.0
            laid[-1].append(label)
            x += wide + _BOXES_APART
        alone = len(laid) > 1 and len(laid[-1]) == 1 and len(laid[-2]) > 2
        if alone and x + self._wide(laid[-2][-1], width) <= width:
            laid[-1].insert(0, laid[-2].pop())
        return laid


@dataclass(frozen=True, slots=True)
class Ticks:
    """Boxes for a tick, each with its words to the right of it; as many on a line as it holds."""

    labels: tuple[str, ...]
    columns: int = 0  # how many on a line; 0: as many as fit
    face: str = "regular"

    def lines(self, width: float) -> Iterator[Line]:
        """Return them in lines; words that are longer than their room wrap beside their box."""
        size, pitch = em(WORDS, self.face), WORDS * LEADING
        cell = width / self.columns if self.columns else width
        items: list[Item] = []
        x, high = 0.0, 0.0
        for label in self.labels:
            told = wrap(label, cell - TICK - _BESIDE - _APART * bool(self.columns), size, _MANY, self.face).lines
            words = max((measure(each, self.face, size)[0] for each in told), default=0.0)
            taken = cell - _APART if self.columns else TICK + _BESIDE + words
            if items and x + taken > width + 1e-6:
                yield Line(high + 1.2, tuple(items))
                items, x, high = [], 0.0, 0.0
            tall = max(TICK, len(told) * pitch)
            items.append(Group((rectangle(Box(x, 0.6, TICK, TICK), BOX_PEN),), f"tick {label}"))
            first = 0.6 + max(0.0, (TICK - len(told) * pitch) / 2) + (pitch + WORDS) / 2
            for number, each in enumerate(told):
                items.append(text_line(each, x + TICK + _BESIDE, first + number * pitch, size, self.face))
            x, high = x + taken + _APART, max(high, tall)
        if items:
            yield Line(high + 1.2, tuple(items))


def ticks_across(labels: Sequence[str], width: float) -> int:
    """Return how many boxes with bold words stand beside each other when the longest of them needs no second line."""
    longest = max((measure(label, "bold", em(WORDS, "bold"))[0] for label in labels), default=0.0)
    return max(1, int(width / (TICK + _BESIDE + longest + _APART + 0.1)))


@dataclass(frozen=True, slots=True)
class Sum:
    """A sum to fill in: boxes and the signs between them, the boxes labelled, those that are known filled.

    Attributes:
        terms: (label, what stands in the box; empty: to be written) for a box, one sign otherwise. A second box
            without a sign before it begins another sum on the same line.
    """

    terms: tuple[tuple[str, str] | str, ...]

    def lines(self, width: float) -> Iterator[Line]:
        """Return it as one line, or as more where it is longer; a sign is never the last of one."""
        items: list[Item] = []
        x, sign = 0.0, ""
        wide, high = 25.0, 9.0
        size = em(SMALL)
        for term in self.terms:
            if isinstance(term, str):
                sign = term
                continue
            label = fit_line(term[0], wide + 4, (size, em(LEAST)))
            taken = max(wide, label.width + 1)
            room = measure(sign, "bold", em(STEP, "bold"))[0] + 4.5 if sign else _SUMS_APART * bool(items)
            if items and x + room + taken > width + 1e-6:
                yield Line(high + 4.2, tuple(items))
                items, x = [], 0.0
                room *= bool(sign)
            if sign:
                items.append(text_line(sign, x + room / 2, 7.9 + STEP / 2, em(STEP, "bold"), "bold", "middle"))
            x, sign = x + room, ""
            items.append(label.at(x + 0.3, 2.4))
            inside: list[Item] = [rectangle(Box(x, 3.4, taken, high), BOX_PEN)]
            if term[1]:
                known = fit_line(term[1], taken - 2, (em(HEADING, "bold"), em(LEAST, "bold")), "bold")
                inside.append(known.at(x + taken / 2, 7.9 + HEADING / 2, "middle"))
            items.append(Group(tuple(inside), f"sum {term[0]}"))
            x += taken
        if items:
            yield Line(high + 4.2, tuple(items))


@dataclass(frozen=True, slots=True)
class Circle:
    """Sizes of which one is circled, each with its order number below it."""

    sizes: tuple[tuple[str, str], ...]

    def lines(self, width: float) -> Iterator[Line]:
        """Return them in lines."""
        size, small = em(HEADING, "bold"), em(LEAST)
        needs = [max(measure(a, "bold", size)[0], measure(b, "regular", small)[0]) for a, b in self.sizes]
        wide = max([20.0, *(need + 4 for need in needs)])
        across = max(1, int(width / wide))
        high = 10.5 if any(number for _, number in self.sizes) else 8.0
        for start in range(0, len(self.sizes), across):
            items: list[Item] = []
            for place, (told, number) in enumerate(self.sizes[start : start + across]):
                middle = (place + 0.5) * wide
                items.append(text_line(told, middle, 2.2 + HEADING, size, "bold", "middle"))
                items.append(text_line(number, middle, 8.6, small, "regular", "middle"))
            yield Line(high, tuple(items))


@dataclass(frozen=True, slots=True)
class Drawing:
    """A drawing of a height, in its own frame."""

    height: float
    items: tuple[Item, ...]

    def lines(self, _width: float, /) -> Iterable[Line]:
        """Return it as one line, whatever the width."""
        return (Line(self.height, self.items),)


def triangle(x: float, y: float, high: float) -> tuple[Item, ...]:
    """Return the sign that something can hurt somebody: a filled triangle with its point up and a mark in it."""
    half = high * 0.58
    corners: tuple[Command, ...] = (
        ("M", x + half, y),
        ("L", x + 2 * half, y + high),
        ("L", x, y + high),
        ("Z",),
    )
    stem = rectangle(Box(x + half - high * 0.07, y + high * 0.34, high * 0.14, high * 0.34), None, WHITE)
    dot = rectangle(Box(x + half - high * 0.07, y + high * 0.76, high * 0.14, high * 0.13), None, WHITE)
    return Path(corners, None, BLACK), stem, dot
