"""Where a face looks, up, down or toward something, as its own words say it: in English, German and Spanish.

Source of the words: ordinary language, from memory.
"""

from __future__ import annotations

import re
from typing import Final, Literal

_UP: Final = "|".join({"en": "up|upwards?", "de": "oben|aufwärts", "es": "arriba"}.values())
_DOWN: Final = "|".join({"en": "down|downwards?", "de": "unten|abwärts", "es": "abajo"}.values())
_WAYS: Final = f"{_UP}|{_DOWN}"
_LEADING: Final = "|".join({"en": "facing|looking|pointing", "de": "nach", "es": "hacia"}.values())
_TO: Final = "|".join({"en": "towards?", "de": "zum|zur|zu den|gegen", "es": "hacia"}.values())
_TOWARD: Final = re.compile(rf"\b(?:{_TO})\b", re.IGNORECASE)
# A "hold-down lug" is a face, "lip-down" is a way.
_POINTS: Final = re.compile(rf"(?<![\w-])(?:{_WAYS})(?![\w-])|\b(?:{_WAYS})(?=\s*(?:$|[^\w\s-]))", re.IGNORECASE)
# Behind the face, with what leads to it: "facing", "nach", "hacia".
_LOOKING: Final = re.compile(
    rf"(?P<face>.*?)[\s,:-]*(?:\b(?:{_LEADING})\s+)?\b(?:(?P<up>{_UP})|{_DOWN})[\s.!]*",
    re.IGNORECASE,
)


def points(face: str) -> bool:
    """Say whether words that should name a face say up or down instead, as people do: `lip down`, `Lippe nach unten`.

    >>> points("lip down"), points("Lippe unten"), points("labio hacia abajo"), points("hold-down lug")
    (True, True, True, False)
    """
    return _POINTS.search(face) is not None


def looking(words: str) -> tuple[str, Literal["up", "down"] | None]:
    """Return a face and where it looks, of words that end in that; of others the words as they are, and None.

    >>> looking("seal groove down"), looking("Lippe nach oben"), looking("ground face")
    (('seal groove', 'down'), ('Lippe', 'up'), ('ground face', None))
    """
    found = _LOOKING.fullmatch(words)
    return (found["face"], "up" if found["up"] else "down") if found else (words, None)


def tells_itself(face: str) -> bool:
    """Say whether a face tells for itself where it looks, as `bronze toward planet` and `lip down` do.

    The pieces of one bin may lie opposite ways up: one each side of a planet, the bronze of both toward it.

    >>> [tells_itself(face) for face in ("bronze toward planet", "Bronze zum Planetenrad", "bronce hacia el satélite")]
    [True, True, True]
    >>> tells_itself("bronze"), tells_itself("Lippe nach unten")
    (False, True)
    """
    return looks_toward(face) or points(face)


def looks_toward(face: str) -> bool:
    """Say whether a face is told by what it looks to, as `bronze toward planet` is."""
    return _TOWARD.search(face) is not None
