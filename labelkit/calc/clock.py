"""Clock positions, and how they read from the other end.

One hour is 30 degrees. What is at 5 o'clock from above is at 7 o'clock from below; 12 and 6 stay. Where the unit is
turned over on the bench, up and down change places as well.

Source: geometry; the clock as a way to name places round an axis is common practice, no source.
"""

from __future__ import annotations

import re
from decimal import Decimal
from typing import Final

from labelkit.calc.answers import Answer, Value, shown
from labelkit.errors import UsageError
from labelkit.model.scalars import Clock

# An hour as people write it, and what they saw there: `6`, `6:30 notch`, `6 o'clock, notch`, `6 the notch`. `2 notches`
# is none: behind a bare figure stands nothing, a mark or an article.
_ENDS: Final = r"(?=\s*(?:[,;:]|$)|\s+(?:the|an?|der|die|das|eine?|el|l[ao]s?|una?)\s)"
_HOUR: Final = re.compile(
    rf"(1[0-2]|[1-9])(?::([0-5]\d)|\s*(?:o'clock|uhr|h|en punto|{_ENDS}))(?!\w)[\s,;:]*(.*)", re.IGNORECASE
)
# The other way round: `notch at 6`, `at 6`, as the language of whoever wrote it has it.
_WHAT_FIRST: Final = re.compile(
    r"(?:(.*\S)\s+)?(?:at|auf|um|a las?|en las)\s+(1[0-2]|[1-9])(?::([0-5]\d))?(?:\s*(?:o'clock|uhr|h|en punto))?",
    re.IGNORECASE,
)
_SWAPPED: Final = {"up": "down", "above": "below", "top": "bottom", "upper": "lower", "upward": "downward"}
_SWAPS: Final = {**_SWAPPED, **{two: one for one, two in _SWAPPED.items()}}


def degrees(clock: Clock) -> Decimal:
    """Return the angle from 12, clockwise as seen.

    >>> degrees(Clock(9 * 60)), degrees(Clock(45))
    (Decimal('270'), Decimal('22.5'))
    """
    return Decimal(clock.minutes) / 2


def at_degrees(angle: Decimal) -> Clock:
    """Return the position of an angle, to the minute of the dial (half a degree).

    >>> str(at_degrees(Decimal(270))), str(at_degrees(Decimal("-30")))
    ('9:00', '11:00')
    """
    return Clock(int(shown(angle * 2, 0)) % 720)


def read(text: str) -> Clock:
    """Read a position: `5`, `5:30` or `5 o'clock`.

    Raises:
        UsageError: it is none.

    >>> str(read("5 o'clock")), str(read("12:30"))
    ('5:00', '12:30')
    """
    found = re.fullmatch(r"\s*(1[0-2]|0?[1-9])(?::([0-5]\d))?\s*(?:o['’]?clock)?\s*", text, re.IGNORECASE | re.ASCII)
    if found is None:
        raise UsageError(f'clock: found "{text}"; allowed: 1:00 to 12:59, as 9:00 or 5:30')
    return Clock(int(found[1]) % 12 * 60 + int(found[2] or 0))


def seen_at(text: str) -> tuple[Clock | None, str]:
    """Return the hour of what somebody wrote of a clock position, None without one, and what was seen there.

    >>> str(seen_at("6:30 the notch")[0]), seen_at("Nase auf 12 Uhr")[1], seen_at("toward the pump")
    ('6:30', 'Nase', (None, 'toward the pump'))
    """
    text = text.strip()
    if found := _HOUR.fullmatch(text):
        hour, minute, what = found.groups()
    elif found := _WHAT_FIRST.fullmatch(text):
        what, hour, minute = found.groups()
    else:
        return None, text
    return Clock(int(hour) % 12 * 60 + int(minute or 0)), what or ""


def turned(words: str) -> str:
    """Return words for the unit turned over: up becomes down, top bottom, and the other way about.

    >>> turned("lip UP, above the ring"), turned("either")
    ('lip DOWN, below the ring', 'either')
    """

    def swap(match: re.Match[str]) -> str:
        word = match[0]
        other = _SWAPS[word.lower()]
        return other.upper() if word.isupper() else other.capitalize() if word[0].isupper() else other

    return re.sub(rf"\b(?:{'|'.join(_SWAPS)})\b", swap, words, flags=re.IGNORECASE)


def clock(position: Clock, *, seen_from: str = "", other_end: str = "the other end", words: str = "") -> Answer:
    """Tell a position from both ends.

    Args:
        position: as it is read.
        seen_from: the end it is read from.
        other_end: what the end across is called.
        words: which way the part lies, told turned over as well.
    """
    across = position.mirrored()
    values: dict[str, Value] = {
        "clock": str(position),
        "degrees": degrees(position),
        "mirrored": str(across),
        "mirrored_degrees": degrees(across),
    }
    sums = [
        f"{position}{f' seen from {seen_from}' if seen_from else ''} = {degrees(position):f}° clockwise from 12",
        f"seen from {other_end}: 12:00 - {position} = {across} ({degrees(across):f}°)",
    ]
    if words:
        values |= {"words": words, "turned": turned(words)}
        sums.append(f'turned over on the bench: "{words}" reads "{turned(words)}"')
    notes = () if seen_from else ("say from which end it is read: the two readings are mirrored",)
    return Answer("clock", "ok", values, tuple(sums), notes)
