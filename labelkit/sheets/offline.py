"""The words of a card that fit into its symbol, for labels that need no server and no network."""

from __future__ import annotations

import re
from collections.abc import Container, Iterable, Iterator, Sequence
from dataclasses import dataclass
from typing import Final

from labelkit.language import gettext as _
from labelkit.language import noop
from labelkit.sheets.cards import Card, Caution

# Bytes that a symbol of about 30 mm holds in modules that a phone reads well. Common practice, no source.
LONGEST: Final = 240
_LONGEST_HEAD: Final = 80
_LONGEST_WAY: Final = 60
_FOR_THE_REST: Final = 60  # what the first line leaves free at least
# A text that would be cut shorter than this says nothing, bytes.
_LEAST: Final = 40
_MORE: Final = "…"
# How the line begins that names what found no room: whoever reads it knows that the phone does not show all.
_READ: Final = noop("READ THE CARD: {kinds}")
_GRAVE: Final = ("danger", "warning")
_CODE_AT_END: Final = re.compile(r"(?:^|\s)([0-9A-Za-z]{4}-[0-9A-Za-z]{4}-[0-9A-Za-z]{3})\s*$")
_OTHER_UNITS: Final = re.compile(r" \([^()]*(?:lbf|N·m)[^()]*\)")


@dataclass(frozen=True, slots=True)
class OfflineCard:
    """What a symbol says of a card.

    Attributes:
        step: of the card.
        text: what the symbol says, lines.
        missing: what nobody should work without and that found no room, or not in full: `DANGER`, `torque` and so on.
            The text names it too.
    """

    step: str
    text: str
    missing: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class _Piece:
    """Words that are there or not.

    Attributes:
        words: as short as they can be said.
        full: as the card says them.
        kind: what is named when they find no room; empty for words that may drop out.
        by_words: their beginning is of use without their end; half a limit or half a list is of none.
    """

    words: str
    full: str
    kind: str = ""
    by_words: bool = False


def offline_card(shown: Card) -> OfflineCard:
    """Choose what a symbol says of a card, in at most `LONGEST` bytes of UTF-8; the least important is left out first.

    It begins with the step and no `Word:`, which a phone may take for the start of an address; it ends with the
    code, so that a scan at the bench finds the full card. Which part, what must be shouted, which way up and which
    clock position are always there. Dangers and warnings come first into the room that is left, then torque, what must
    be in first, limits and the other cautions, then all further lines, the loud ones before the others. What found no
    room is named where nobody should work without it; otherwise an ellipsis says that the card has more.
    """
    fixed = [*shown.loud, _cut(_way(shown), _LONGEST_WAY), _clock(shown)]
    room = LONGEST - _size((*fixed, shown.code_text))
    longest = max(_LEAST // 2, min(_LONGEST_HEAD, room - _FOR_THE_REST))
    head = _cut(f"{shown.step} {shown.name} {shown.quantity}", longest)
    room -= _size((head,))
    cautions = [(each.signal in _GRAVE, _caution(each)) for each in shown.hazards]
    grave = [piece for is_grave, piece in cautions if is_grave]
    rest = [*_needed(shown), *(piece for is_grave, piece in cautions if not is_grave), *_further(shown)]
    above, below, missing = _chosen(grave, rest, room)
    return OfflineCard(shown.step, "\n".join((head, *above, *fixed, *below, shown.code_text)), missing)


def left_out_words(cards: Iterable[OfflineCard]) -> list[str]:
    """Return a warning for each kind of cards whose symbols lack what nobody should work without."""
    steps: dict[tuple[str, ...], list[str]] = {}
    for each in cards:
        if each.missing:
            steps.setdefault(each.missing, []).append(each.step)
    return [
        f"offline cards: the symbol of step {', '.join(which)} has no room for all of: {', '.join(missing)}; "
        "it says so, and cards.html has everything"
        for missing, which in steps.items()
    ]


def code_in(text: str) -> str:
    """Return the part of a scanned or pasted text that holds the code: of a card's words their end, else all of it.

    >>> code_in("12 Input shim × 1\\nEITHER WAY\\n7K3M-9Q2X-F4H"), code_in(" 7k3m 9q2x f4h ")
    ('7K3M-9Q2X-F4H', '7k3m 9q2x f4h')
    """
    found = _CODE_AT_END.search(text)
    return found.group(1) if found else text.strip()


# --- what there is to say ---------------------------------------------------------------------------------------------


def _way(shown: Card) -> str:
    return _("WAY UP {way}").format(way=shown.way.text) if shown.way.known == "missing" else shown.way.text


def _clock(shown: Card) -> str:
    words = _("AT {clock}") if shown.clock_known == "known" else _("CLOCK {clock}")
    return words.format(clock=shown.clock)


def _caution(each: Caution) -> _Piece:
    """Return signal word and words; a notice may drop out and has no signal word to be named by."""
    words = f"{each.word} {each.text}"
    return _Piece(words, words, "" if each.signal == "notice" else each.word, by_words=True)


def _needed(shown: Card) -> Iterator[_Piece]:
    """Yield torque, what must be in first, and limits, in short and as the card has them."""
    lines = [line for section in shown.sections for line in section.lines]
    for line in lines:
        if line.kind == "tighten":
            short = f"{line.label}: {_OTHER_UNITS.sub('', line.text)}"
            yield _Piece(short, f"{line.label}: {line.words}", _("torque"))
    first = [line for line in lines if line.kind == "first"]
    if first:
        named = [line.bin_step for line in first if not line.bin_step.startswith(f"{shown.step}.")]
        if len(named) < len(first):
            named.append(_("its own parts"))
        full = "\n".join(f"{line.label}: {line.words}" for line in first)
        yield _Piece(_("In first: {steps}").format(steps=", ".join(named)), full, _("in first"))
    for line in lines:
        if line.kind == "limits":
            yield _Piece(f"{line.label}: {line.text}", f"{line.label}: {line.words}", _("limits"))


def _further(shown: Card) -> Iterator[_Piece]:
    if shown.seen:
        yield _Piece(shown.seen, shown.seen)
    lines = [line for section in shown.sections for line in section.lines]
    for line in sorted(lines, key=lambda line: line.tone != "loud"):
        if not line.kind:
            words = f"{line.label}: {line.words}"
            yield _Piece(words, words, by_words=True)


# --- what of it finds room --------------------------------------------------------------------------------------------


def _chosen(grave: list[_Piece], rest: list[_Piece], room: int) -> tuple[list[str], list[str], tuple[str, ...]]:
    """Return the words of the first and of the second list that find room, and the kinds that do not.

    Args:
        grave: the most important, in the order of their weight.
        rest: the others, in the order of theirs.
        room: bytes for all of them.
    """
    pieces = [*grave, *rest]
    if _size(piece.full for piece in pieces) <= room:
        return [piece.full for piece in grave], [piece.full for piece in rest], ()
    kept: dict[int, str] = {}
    cut: set[int] = set()
    for place, piece in enumerate(pieces):
        if not piece.kind and _kinds(pieces, kept, cut):
            break  # what may drop out takes no room from what must not
        left = room - _size((*kept.values(), _tail(_kinds(pieces, {**kept, place: ""}, cut)))) - 1
        if len(piece.words.encode()) <= left:
            kept[place] = piece.words
            continue
        left = room - _size((*kept.values(), _tail(_kinds(pieces, kept, cut)))) - 1
        if piece.by_words and not cut and left >= _LEAST:
            kept[place] = _cut(piece.words, left)
            cut.add(place)
        if not piece.kind:
            break
    missing = _kinds(pieces, kept, cut)
    above = [words for place, words in kept.items() if place < len(grave)]
    below = [words for place, words in kept.items() if place >= len(grave)]
    return above, [*below, _cut(_tail(missing), room - 1)], missing


def _kinds(pieces: Sequence[_Piece], kept: Container[int], cut: Container[int]) -> tuple[str, ...]:
    """Return each kind of which a piece is not there in full."""
    missing = (piece.kind for place, piece in enumerate(pieces) if place not in kept or place in cut)
    return tuple(dict.fromkeys(filter(None, missing)))


def _tail(missing: tuple[str, ...]) -> str:
    return _(_READ).format(kinds=", ".join(missing)) if missing else _MORE


def _size(pieces: Iterable[str]) -> int:
    """Return the bytes of lines with the ends of the lines."""
    return sum(len(piece.encode()) + 1 for piece in pieces)


def _cut(text: str, room: int) -> str:
    """Return a text in at most so many bytes, cut at a word; an ellipsis says that it was cut."""
    if len(text.encode()) <= room:
        return text
    kept = text.encode()[: max(0, room - len(_MORE.encode()))].decode(errors="ignore")
    return (kept.rpartition(" ")[0] or kept).rstrip(" ,;:") + _MORE
