"""Cards on a terminal."""

from __future__ import annotations

from collections.abc import Iterator

from labelkit.language import gettext as _
from labelkit.sheets.cards import Card, Caution


def card_lines(shown: Card) -> list[str]:
    """Return a card as lines for a terminal, the most important first."""
    new = shown.new
    # Of what stays inside another part, the next line says in which.
    step = (_("STEP {step}").format(step=shown.step_words),) if shown.number else ()
    lines = [
        *(["   ".join((_("NEW PART"), new.name, _("number {number}").format(number=new.number)))] if new else []),
        *([new.note, ""] if new else []),
        "   ".join((*step, shown.name, shown.quantity)),
        f"{shown.turn} · {shown.job} · {shown.code_text}",
        *_caution_lines(shown.hazards),
        *([" · ".join(shown.loud)] if shown.loud else []),
        "",
        _("Which way up").ljust(15) + shown.way.text,
        _("Clock").ljust(15) + shown.clock + (f" ({shown.clock_from})" if shown.clock_from else ""),
        *([" " * 15 + shown.seen] if shown.seen else []),
    ]
    for section in shown.sections:
        lines += ["", section.title]
        lines += [f"  {line.label}: {line.words}" for line in section.lines]
    if shown.unit_hazards:
        lines += ["", _("For the whole unit"), *(f"  {line}" for line in _caution_lines(shown.unit_hazards))]
    return [*lines, "", *shown.footer]


def _caution_lines(cautions: tuple[Caution, ...]) -> Iterator[str]:
    for each in cautions:
        yield each.word + (f", {each.when}" if each.when else "") + f": {each.text}"
