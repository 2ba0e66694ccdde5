"""The words that hints look for in what a profile says, in every language that profiles are written in.

Source: the trade's own words, common practice; each language has a row in each table.
"""

from __future__ import annotations

import re
from collections.abc import Mapping
from typing import Final


def _any_of(words: Mapping[str, str]) -> re.Pattern[str]:
    """Return what finds the whole words of every language; they are by its code, written as regular expressions."""
    return re.compile(rf"\b({'|'.join(words.values())})\b", re.IGNORECASE)


LEFT_HAND: Final = _any_of(
    {"en": "left[- ]hand(?:ed)?|lh", "de": "linksgewinde", "es": "rosca (?:a )?izquierda"},
)
"""Of a thread that turns the other way."""

PRESS: Final = _any_of({"en": "press", "de": "presse", "es": "prensa"})
"""Of the machine that parts come out under."""

PLACES: Final = _any_of(
    {
        "en": r"(?:\d+|two|three|four|five|six|eight) (?:places|points|positions)",
        "de": r"(?:\d+|zwei|drei|vier|fünf|sechs|acht) stellen",
        "es": r"(?:\d+|dos|tres|cuatro|cinco|seis|ocho) (?:puntos|lugares|sitios)",
    }
)
"""Of what is measured more than once on one piece."""

SPRING: Final = _any_of({"en": "springs?", "de": r"feder\w*", "es": "muelles?|resortes?"})

ONCE: Final = _any_of(
    {
        "en": r"o-rings?|gaskets?|seal(?:ing)? rings?|(?:lip|shaft|bonded) seals?|lock(?:ing)? plates?|tab washers?"
        r"|lock(?:ing)? washers?|split pins?|cotter pins?",
        "de": r"dichtung(?:en)?|dichtringe?|wellendichtringe?|sicherungsbleche?|splinte?",
        "es": r"juntas?|ret[eé]n(?:es)?|pasador(?:es)? de aletas",
    }
)
"""Of what seals or locks by being squeezed or bent, and so is used once: public manuals never reuse locking devices and
renew seals."""
