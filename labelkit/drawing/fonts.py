"""The faces that pages are set in: where their files are, which letters they have, how large these are.

There are two faces to choose from, `regular` and `bold`, drawn to be told apart when they are small or dirty.
A letter that they lack (Greek, Cyrillic, rarer signs) comes from a third, `fallback`, which has one weight
only. Sizes are fractions of the em, so that a size in mm times a fraction is a length in mm.

Nothing is read before a letter is measured, and the fallback not before a letter needs it.
"""

from __future__ import annotations

import unicodedata
from collections.abc import Iterable
from functools import cache, lru_cache
from importlib.util import find_spec
from itertools import chain
from pathlib import Path
from typing import Final, Literal

from labelkit.drawing.truetype import TrueType
from labelkit.errors import NotFoundError, UsageError, allowed_text

Face = Literal["regular", "bold", "fallback"]

FACES: Final[tuple[Face, ...]] = ("regular", "bold", "fallback")
_FALLBACK: Final[Face] = "fallback"
FAMILY: Final[dict[str, str]] = {
    "regular": "Atkinson Hyperlegible",
    "bold": "Atkinson Hyperlegible",
    "fallback": "Noto Sans",
}
"""Family names by face, as a style sheet calls them."""
WEIGHT: Final[dict[str, int]] = {"regular": 400, "bold": 700, "fallback": 400}
"""Weights by face, as a style sheet counts them."""

# Signs that no face has, and what is written in their place. Source: common practice, no source.
_STAND_INS: Final = str.maketrans({"⌀": "Ø", "→": "->", "←": "<-", "↔": "<->"})
_FILES: Final[dict[str, tuple[str, str]]] = {
    "regular": ("fontpkg-atkinson-hyperlegible", "AtkinsonHyperlegible-Regular.ttf"),
    "bold": ("fontpkg-atkinson-hyperlegible", "AtkinsonHyperlegible-Bold.ttf"),
    "fallback": ("fontpkg-noto-sans", "NotoSans[wdth,wght].ttf"),
}


class Metrics:
    """The sizes of one face, in fractions of the em.

    Attributes:
        cap_height: height of a flat capital letter.
    """

    def __init__(self, font: TrueType) -> None:
        self._font = font
        self.cap_height = font.cap_height / font.em

    def has(self, letter: str) -> bool:
        """Say whether the face has a glyph for the letter."""
        return ord(letter) in self._font.letters

    def letter(self, letter: str) -> tuple[float, float, float]:
        """Return advance width, highest point and lowest point of a letter.

        The points are heights over the baseline: the lowest of `g` is negative. A letter that the face lacks
        has the size of the box that is drawn in its place; a blank reaches from 0 to 0.
        """
        glyph = self._font.glyph(letter)
        highest, lowest = self._font.reach(glyph)
        return self._font.advance(glyph) / self._font.em, highest / self._font.em, lowest / self._font.em

    def subset(self, letters: Iterable[str]) -> bytes:
        """Return a TrueType file with these letters alone."""
        return self._font.subset(letters)


class Setting(dict[str, tuple[Face, float, float, float]]):
    """The letters as they are set when a face is asked for: a table that fills as it is read.

    By letter: the face that draws it (the one asked for, or `fallback`), its advance width, its highest and
    its lowest point, as in `Metrics.letter`.
    """

    def __init__(self, face: Face) -> None:
        super().__init__()
        self._face = face
        self._own = metrics(face)

    def __missing__(self, letter: str) -> tuple[Face, float, float, float]:
        lent = not self._own.has(letter) and metrics(_FALLBACK).has(letter)
        face = _FALLBACK if lent else self._face
        found = self[letter] = (face, *metrics(face).letter(letter))
        return found


def font_file(face: str) -> Path:
    """Return the TrueType file of a face.

    Raises:
        NotFoundError: the package that brings it is not installed.
        UsageError: there is no such face.
    """
    package, name = _FILES[_checked(face)]
    spec = find_spec(package.replace("-", "_"))
    for folder in (spec and spec.submodule_search_locations) or ():
        path = Path(folder, "files", name)
        if path.is_file():
            return path
    raise NotFoundError(
        f"font file {name} of the face {face}: not found; the package {package} brings it: "
        f"install that, or install labelkit again"
    )


@cache
def metrics(face: str) -> Metrics:
    """Return the sizes of a face; read once.

    Raises:
        NotFoundError: the package that brings it is not installed.
        UsageError: there is no such face.
    """
    return Metrics(TrueType(font_file(face).read_bytes()))


@lru_cache(maxsize=8192)
def clean(text: str) -> str:
    """Return a text as it can be set on one line.

    Accents are joined to their letters, tabs and line breaks become spaces, letters that nobody sees go (soft
    hyphens, direction marks, control letters), and a few signs that no face has are written otherwise, as `Ø`
    for the diameter sign. No-break spaces stay.

    >>> clean("⌀ 72\\tmm")
    'Ø 72 mm'
    """
    if text.isascii() and text.isprintable():
        return text
    composed = unicodedata.normalize("NFC", text).translate(_STAND_INS)
    if composed.isprintable():
        return composed
    return "".join(filter(None, map(_seen, composed)))


def missing_letters(text: str) -> list[str]:
    """Return the letters of a text, once cleaned, that no face has: each once, in the order of the text."""
    own = metrics("regular")
    # Joined to its accents, a letter is cleaned whatever stands beside it: once is enough for a whole file.
    joined = dict.fromkeys(unicodedata.normalize("NFC", text))
    letters = dict.fromkeys(chain.from_iterable(map(clean, joined)))
    return [letter for letter in letters if not own.has(letter) and not metrics(_FALLBACK).has(letter)]


@cache
def setting(face: str) -> Setting:
    """Return the letters of a face as they are set; the same table at every call.

    Raises:
        UsageError: there is no such face.
    """
    return Setting(_checked(face))


def _checked(face: str) -> Face:
    if face not in FACES:
        raise UsageError(f"face {face!r}: {allowed_text(face, FACES)}")
    return face


def _seen(letter: str) -> str:
    category = unicodedata.category(letter)
    if category in ("Zl", "Zp") or letter in "\t\n\v\f\r\x85":
        return " "
    if category == "Cs":
        return "\N{REPLACEMENT CHARACTER}"
    return "" if category in ("Cc", "Cf") else letter
