"""The words of a card that fit into its symbol, for labels that need no server and no network."""

from __future__ import annotations

from typing import Final

from labelkit.sheets.cards import Card

# What a symbol of about 30 mm holds in modules that a phone reads well. Common practice, no source.
LONGEST: Final = 240


def card_text(shown: Card) -> str:
    """Return a card's most important facts in at most `LONGEST` characters.

    It begins with the step and no `Word:`, which a phone may take for the start of an address; it ends with the
    code, so that a scan at the bench finds the full card.
    """
    clock = shown.clock if shown.clock_known != "known" else f"at {shown.clock}"
    pieces = [
        f"{shown.step} {shown.name} {shown.quantity}",
        *(f"{signal.upper()} {text}" for signal, text in shown.hazards[:1]),
        *shown.loud,
        shown.way.text,
        clock,
    ]
    for section in shown.sections:
        pieces += [f"{line.label} {line.text}".strip() for line in section.lines if line.code is None]
    kept = ""
    room = LONGEST - len(shown.code_text) - 1
    for piece in pieces:
        longer = f"{kept}\n{piece}" if kept else piece
        if len(longer) > room:
            if len(kept) < room // 2:
                kept = longer[: room - 1].rstrip() + "…"
            break
        kept = longer
    return f"{kept}\n{shown.code_text}"
