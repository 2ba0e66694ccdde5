"""Which way a face looks, where its own words say so: in English, German and Spanish.

Source of the words: ordinary language, from memory.
"""

from __future__ import annotations

import re
from typing import Final

_WAYS: Final = "up|upwards?|down|downwards?|oben|unten|aufwärts|abwärts|arriba|abajo"
# A "hold-down lug" is a face, "lip-down" is a way.
_POINTS: Final = re.compile(rf"(?<![\w-])(?:{_WAYS})(?![\w-])|\b(?:{_WAYS})(?=\s*(?:$|[^\w\s-]))", re.IGNORECASE)


def points(face: str) -> bool:
    """Say whether words that should name a face say up or down instead, as people do: `lip down`, `Lippe nach unten`.

    >>> points("lip down"), points("Lippe unten"), points("labio hacia abajo"), points("hold-down lug")
    (True, True, True, False)
    """
    return _POINTS.search(face) is not None


def tells_itself(face: str) -> bool:
    """Say whether a face tells for itself where it looks, as `bronze toward planet` and `lip down` do.

    The pieces of one bin may lie opposite ways up: one each side of a planet, the bronze of both toward it.
    """
    return "toward" in face.lower().split() or points(face)
