"""Hold what was read from printed or scanned pages against what should be on them."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from itertools import islice
from typing import Final

import numpy as np

from labelkit.model.printer import LEAST_SCALE, MOST_SCALE
from labelkit.proof.decode import Reading
from labelkit.proof.grid import UNIT_SQUARE, Floats
from labelkit.proof.measure import Grade, SheetFit, contrast_grade, fit_sheet
from labelkit.units import MM_PER_INCH

_TRIES: Final = 12  # symbols from which the lie of a sheet is guessed
_NO_DPI: Final = (MM_PER_INCH, MM_PER_INCH)  # for a picture of unknown size: one pixel is one mm
# What a flat scan has at most: the angle between the axes off a right one, degrees, and corners off their places, mm.
_SHEAR_DEG: Final = 0.5
_RESIDUAL_MM: Final = 0.4
# Outside of these no print dialog scales a page: the picture's dots per inch are not those of a scan.
_ANY_PRINT: Final = (0.5, 2.0)


@dataclass(frozen=True, slots=True, order=True)
class Expected:
    """A symbol that should be there.

    Attributes:
        page: number of its page, from 1.
        text: what it says.
        x_mm: left edge of the symbol without quiet zone and frame, from the left edge of the page.
        y_mm: top edge, from the top of the page, down.
        side_mm: its side, without quiet zone and frame.
    """

    page: int
    text: str
    x_mm: float
    y_mm: float
    side_mm: float

    @property
    def corners_mm(self) -> Floats:
        """4 x 2, clockwise from the top left."""
        corners: Floats = UNIT_SQUARE * self.side_mm + (self.x_mm, self.y_mm)
        return corners


@dataclass(frozen=True, slots=True, eq=False)
class PageReadings:
    """What was read from one picture.

    Attributes:
        name: of the picture, for the report.
        readings: all symbols read.
        dpi: dots per inch across and down; None where unknown, as in a photograph.
    """

    name: str
    readings: Sequence[Reading]
    dpi: tuple[float, float] | None


@dataclass(frozen=True, slots=True, eq=False)
class Decoded:
    """An expected symbol that was read.

    Attributes:
        expected: what should be there.
        reading: what was read.
        picture: number of the picture, from 0.
        module_dots: side of a module in dots of the picture.
        contrast: symbol contrast, percent.
        grade: its grade.
        off_mm: distance from its place, after the fit of the whole sheet; None where the picture's dpi are
            unknown.
    """

    expected: Expected
    reading: Reading
    picture: int
    module_dots: float
    contrast: float
    grade: Grade
    off_mm: float | None


@dataclass(frozen=True, slots=True)
class WrongText:
    """A symbol that stands where another should be."""

    expected: Expected
    found: str


@dataclass(frozen=True, slots=True)
class Extra:
    """A symbol that should not be there, or once too often."""

    text: str
    picture: int


@dataclass(frozen=True, slots=True, eq=False)
class PageProof:
    """How one picture matches.

    Attributes:
        name: of the picture.
        page: number of the page that it shows, None where nothing tells.
        fit: scale and shear; None where page or dpi are unknown.
    """

    name: str
    page: int | None
    fit: SheetFit | None

    @property
    def flat(self) -> bool:
        """Whether this is a flat scan that its scale can be told from; a photograph's dots per inch mean nothing."""
        fit = self.fit
        if fit is None or abs(fit.shear_deg) > _SHEAR_DEG or fit.residual_mm > _RESIDUAL_MM:
            return False
        return all(_ANY_PRINT[0] <= scale <= _ANY_PRINT[1] for scale in (fit.scale_x, fit.scale_y))

    @property
    def scaled(self) -> bool:
        """Whether a print dialog scaled the page: an axis is further off than a printer is by itself."""
        low, high = float(LEAST_SCALE), float(MOST_SCALE)
        fit = self.fit
        return fit is not None and self.flat and not all(low <= each <= high for each in (fit.scale_x, fit.scale_y))


@dataclass(frozen=True, slots=True, eq=False)
class ProofReport:
    """The answer: what was read, what is missing, extra or wrong, and how true the pages are.

    Attributes:
        pages: one for each picture, in the order given.
        decoded: expected symbols that were read, in the order expected.
        missing: expected symbols of pages that a picture shows, which were not read from any and have no wrong text
            in their place.
        unseen: numbers of the expected pages that no picture shows.
        extra: texts that were read but not expected.
        wrong: other texts at the places of expected symbols.
        scale_x: mean scale along the sheets' x axis, weighted by symbols; None where unknown.
        scale_y: the same along the y axis.
    """

    pages: tuple[PageProof, ...]
    decoded: tuple[Decoded, ...]
    missing: tuple[Expected, ...]
    unseen: tuple[int, ...]
    extra: tuple[Extra, ...]
    wrong: tuple[WrongText, ...]
    scale_x: float | None
    scale_y: float | None

    @property
    def right(self) -> bool:
        """Whether every picture shows a page that is expected, with every symbol of it and nothing else."""
        known = all(page.page is not None for page in self.pages)
        return known and not (self.missing or self.extra or self.wrong)

    @property
    def passed(self) -> bool:
        """Whether all that the pictures show is right, and no page was scaled."""
        return self.right and not any(page.scaled for page in self.pages)


@dataclass(frozen=True, slots=True, eq=False)
class _Matched:
    """Readings of one picture, each with what it is."""

    page: int | None
    fit: SheetFit | None
    pairs: list[tuple[Expected, Reading]]
    wrong: list[tuple[Expected, Reading]]
    extra: list[Reading]


def compare(pictures: Iterable[PageReadings], expected: Iterable[Expected]) -> ProofReport:
    """Compare what was read with what should be there.

    A picture shows the page with which it shares most texts, whatever the order of the pictures; on a tie the
    lower page. A picture may show a part of a page, and a page may come in several pictures. Where one text
    is expected several times on a page, places decide which is which.

    Args:
        pictures: what was read from each.
        expected: all symbols that should be there; with none, everything read is extra.
    """
    pictures, wanted = list(pictures), list(expected)
    by_page: dict[int, list[Expected]] = {}
    for symbol in wanted:
        by_page.setdefault(symbol.page, []).append(symbol)
    matches = [_match(picture, by_page) for picture in pictures]
    decoded: dict[Expected, Decoded] = {}
    for number, match in enumerate(matches):
        for symbol, reading in match.pairs:
            decoded.setdefault(symbol, _decoded(symbol, reading, number, match.fit))
    wrong = {
        symbol: WrongText(symbol, reading.text)
        for match in matches
        for symbol, reading in match.wrong
        if symbol not in decoded
    }
    scale_x, scale_y = _mean_scale(matches)
    seen = {match.page for match in matches}
    return ProofReport(
        pages=tuple(PageProof(p.name, m.page, m.fit) for p, m in zip(pictures, matches, strict=True)),
        decoded=tuple(decoded[symbol] for symbol in wanted if symbol in decoded),
        missing=tuple(each for each in wanted if each.page in seen and each not in decoded and each not in wrong),
        unseen=tuple(sorted(by_page.keys() - seen)),
        extra=tuple(Extra(r.text, number) for number, match in enumerate(matches) for r in match.extra),
        wrong=tuple(wrong.values()),
        scale_x=scale_x,
        scale_y=scale_y,
    )


def _match(picture: PageReadings, by_page: Mapping[int, list[Expected]]) -> _Matched:
    texts = Counter(reading.text for reading in picture.readings)
    common = {
        number: (texts & Counter(symbol.text for symbol in symbols)).total() for number, symbols in by_page.items()
    }
    page = min(common, key=lambda number: (-common[number], number), default=None)
    if page is None or not common[page]:
        return _Matched(None, None, [], [], list(picture.readings))
    symbols = by_page[page]
    fit = _lie(picture.readings, symbols)
    pairs = _assigned(picture.readings, symbols, fit)
    fit = _fit(pairs, _NO_DPI)
    pairs = _assigned(picture.readings, symbols, fit)
    wrong, extra = _others(picture.readings, symbols, pairs, fit)
    return _Matched(page, _fit(pairs, picture.dpi) if picture.dpi else None, pairs, wrong, extra)


def _fit(pairs: Sequence[tuple[Expected, Reading]], dpi: tuple[float, float]) -> SheetFit:
    nominal = np.concatenate([symbol.corners_mm for symbol, _ in pairs])
    measured = np.concatenate([reading.corners for _, reading in pairs])
    return fit_sheet(nominal, measured, dpi)


def _lie(readings: Sequence[Reading], symbols: Sequence[Expected]) -> SheetFit:
    """Guess how the sheet lies: of the guesses from single symbols, the one that suits the others best."""
    guesses = ([(symbol, reading)] for reading in readings for symbol in symbols if symbol.text == reading.text)
    fits = [_fit(guess, _NO_DPI) for guess in islice(guesses, _TRIES)]
    return min(fits, key=lambda fit: _misfit(readings, symbols, fit))


def _misfit(readings: Sequence[Reading], symbols: Sequence[Expected], fit: SheetFit) -> float:
    """Sum up how far readings are from the nearest place for their texts, in sides of a symbol, at most 1."""
    total = 0.0
    for reading in readings:
        away = [_away(symbol, reading, fit) for symbol in symbols if symbol.text == reading.text]
        total += min([*away, 1.0])
    return total


def _away(symbol: Expected, reading: Reading, fit: SheetFit) -> float:
    """Return the distance of a reading from a place, in sides of the symbol."""
    middle = symbol.corners_mm.mean(axis=0)
    return float(np.linalg.norm(fit.to_mm(reading.middle) - middle)) / symbol.side_mm


def _assigned(
    readings: Sequence[Reading], symbols: Sequence[Expected], fit: SheetFit
) -> list[tuple[Expected, Reading]]:
    """Pair readings and expected symbols of the same text, the nearest first."""
    candidates = sorted(
        (
            (_away(symbol, reading, fit), s, r)
            for s, symbol in enumerate(symbols)
            for r, reading in enumerate(readings)
            if symbol.text == reading.text
        ),
    )
    free_symbols, free_readings = set(range(len(symbols))), set(range(len(readings)))
    pairs = []
    for _, s, r in candidates:
        if s in free_symbols and r in free_readings:
            free_symbols.remove(s)
            free_readings.remove(r)
            pairs.append((symbols[s], readings[r]))
    return pairs


def _others(
    readings: Sequence[Reading],
    symbols: Sequence[Expected],
    pairs: Sequence[tuple[Expected, Reading]],
    fit: SheetFit,
) -> tuple[list[tuple[Expected, Reading]], list[Reading]]:
    """Part what is left into wrong texts at places of expected symbols, and extra ones."""
    used = {id(reading) for _, reading in pairs}
    open_ = set(symbols) - {symbol for symbol, _ in pairs}
    wrong, extra = [], []
    for reading in readings:
        if id(reading) in used:
            continue
        place = min(open_, key=lambda symbol: (_away(symbol, reading, fit), symbol), default=None)
        if place is not None and _away(place, reading, fit) < 0.5:
            open_.remove(place)
            wrong.append((place, reading))
        else:
            extra.append(reading)
    return wrong, extra


def _decoded(symbol: Expected, reading: Reading, picture: int, fit: SheetFit | None) -> Decoded:
    grade = contrast_grade(reading.contrast)
    off = None if fit is None else _away(symbol, reading, fit) * symbol.side_mm
    return Decoded(symbol, reading, picture, reading.module_px, reading.contrast, grade, off)


def _mean_scale(matches: Iterable[_Matched]) -> tuple[float | None, float | None]:
    known = [(match.fit, len(match.pairs)) for match in matches if match.fit]
    if not known:
        return None, None
    weights = [count for _, count in known]
    return (
        float(np.average([fit.scale_x for fit, _ in known], weights=weights)),
        float(np.average([fit.scale_y for fit, _ in known], weights=weights)),
    )
