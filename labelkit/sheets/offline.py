"""The words of a card that fit into its symbol, for labels that need no server and no network."""

from __future__ import annotations

import re
from collections.abc import Iterable
from typing import Final

from labelkit.sheets.cards import Card

# Bytes that a symbol of about 30 mm holds in modules that a phone reads well. Common practice, no source.
LONGEST: Final = 240
_MORE: Final = "…"
_CODE_AT_END: Final = re.compile(r"(?:^|\s)([0-9A-Za-z]{4}-[0-9A-Za-z]{4}-[0-9A-Za-z]{3})\s*$")


def card_text(shown: Card) -> str:
    """Return a card's most important facts in at most `LONGEST` bytes of UTF-8.

    It begins with the step and no `Word:`, which a phone may take for the start of an address; it ends with the
    code, so that a scan at the bench finds the full card. Which part, what must be shouted, which way up and which
    clock position are always there; cautions and further lines follow as far as there is room, the loud ones first,
    and an ellipsis says that there is more.
    """
    loud = [*shown.loud, _way(shown), _clock(shown)]
    room = LONGEST - _size((*loud, shown.code_text))
    first = _cut(f"{shown.step} {shown.name} {shown.quantity}", room - 1)
    room -= _size((first,))
    cautions = [f"{each.signal.upper()} {each.text}" for each in shown.hazards]
    worst = [_cut(text, room - 1) for text in cautions[:1]]
    room -= _size(worst)
    kept = [first, *worst, *loud]
    lines = [line for section in shown.sections for line in section.lines]
    lines.sort(key=lambda line: line.tone != "loud")
    for piece in (*cautions[1:], *(f"{line.label}: {line.words}" for line in lines)):
        if _size((piece, _MORE)) > room:
            kept += [_MORE] if _size((_MORE,)) <= room else []
            break
        kept.append(piece)
        room -= _size((piece,))
    return "\n".join((*kept, shown.code_text))


def code_in(text: str) -> str:
    """Return the part of a scanned or pasted text that holds the code: of a card's words their end, else all of it.

    >>> code_in("12 Input shim × 1\\nEITHER WAY\\n7K3M-9Q2X-F4H"), code_in(" 7k3m 9q2x f4h ")
    ('7K3M-9Q2X-F4H', '7k3m 9q2x f4h')
    """
    found = _CODE_AT_END.search(text)
    return found.group(1) if found else text.strip()


def _way(shown: Card) -> str:
    return f"WAY UP {shown.way.text}" if shown.way.known == "missing" else shown.way.text


def _clock(shown: Card) -> str:
    return f"AT {shown.clock}" if shown.clock_known == "known" else f"CLOCK {shown.clock}"


def _size(pieces: Iterable[str]) -> int:
    """Return the bytes of lines with the ends of the lines."""
    return sum(len(piece.encode()) + 1 for piece in pieces)


def _cut(text: str, room: int) -> str:
    """Return a text in at most so many bytes, cut at a word; an ellipsis says that it was cut."""
    if len(text.encode()) <= room:
        return text
    kept = text.encode()[: max(0, room - len(_MORE.encode()))].decode(errors="ignore")
    return (kept.rpartition(" ")[0] or kept).rstrip(" ,;:") + _MORE
