"""Plate order: each pack drawn in its order, a box for every plate out and in, and a count for every kind."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import replace
from typing import Final

from labelkit.calc.steps import Bin
from labelkit.drawing.page import Box
from labelkit.language import gettext as _
from labelkit.sheets import waywords, wording
from labelkit.sheets.jobview import JobView
from labelkit.sheets.packs import Kind, is_pack, kinds_of, plates_drawing
from labelkit.sheets.worksheet import SMALL, TICK, WORDS, Sheet, Strip, note_strip, title_strip
from labelkit.sheets.worksheetcells import Boxes, Drawing, OneLine, Piece, Say, bold
from labelkit.sheets.worksheetfacts import step_pieces
from labelkit.sheets.worksheettable import Column, Table, pieces_strip

_PLATES: Final = 31.0  # height of the plates with their letters
_APART: Final = 2.0  # below the plates and the boxes


def pack_sheet(view: JobView, width: float) -> Sheet:
    """Return the plate order of every pack; no strip where there is no pack."""
    return Sheet(
        _("PLATE ORDER"),
        [strip for each in view.teardown.bins if is_pack(each.part) for strip in _pack(view, each, width)],
    )


def _pack(view: JobView, each: Bin, width: float) -> Iterator[Strip]:
    kinds = kinds_of(view, each)
    steps = {kind.bin.part.id: kind.bin.step for kind in kinds}
    labels = tuple(f"{number}: {steps.get(name, '?')}" for number, name in enumerate(each.part.stack, start=1))
    against = each.part.stack_from or wording.not_recorded()
    yield title_strip(each.full_name, width, f"pack title {each.step}")
    told = _("{count} plates in the order they come out; the first lies against: {end}. Tie them in this order.")
    yield note_strip(told.format(count=len(labels), end=against), width)
    drawing = Drawing(_PLATES + _APART, (plates_drawing(each.part, kinds, Box(0, 0, width, _PLATES)),))
    yield from pieces_strip([drawing], width, name=f"pack drawing {each.step}", kept=True)
    yield from _places(_("OUT: a tick for each plate as it comes, in this order"), labels, "out", width)
    yield from _places(_("IN: a tick for each plate as it goes in, the last one first"), labels, "in", width)
    yield from _kinds(each, kinds, width)


def _places(told: str, labels: tuple[str, ...], name: str, width: float) -> Iterator[Strip]:
    """Yield a box for each plate, not parted from what they are for."""
    boxes = Boxes(labels, (max(TICK, 11.0), TICK), f"plate {name}")
    yield note_strip(told, width)
    for strip in pieces_strip([boxes], width, name=f"pack places {name}"):
        yield replace(strip, kept=True)
    yield Strip(_APART)


def _kinds(pack: Bin, kinds: Sequence[Kind], width: float) -> Iterator[Strip]:
    columns = (
        Column("", 8),
        Column(_("STEP"), 16.5),
        Column(_("PLATE"), 76),
        Column(_("WHICH WAY"), 60),
        Column(_("IN THE PACK"), 22),
        Column(_("OUT"), 20, "count"),
        Column(_("IN"), 20, "count"),
        Column(_("WAY SEEN"), 20, "tick"),
        Column(_("REMARK"), 0, "write"),
    )
    table = Table(columns, width, f"plates {pack.step}")
    yield table.head
    for kind in kinds:
        each = kind.bin
        size = wording.size_words(each.part.form)
        clock, known = waywords.clock_words(each.part)
        cells: list[list[Piece]] = [
            [OneLine(kind.letter)],
            step_pieces(each),
            [bold(each.part.name), Say(size, SMALL)],
            [
                bold(waywords.way(each.part).text),
                Say(clock if known != "free" else _("clock free"), SMALL),
                Say(waywords.seen_words(each.part), SMALL),
            ],
            [bold(f"× {kind.number}", WORDS)],
        ]
        yield from table.row(each.step, cells)
    yield table.line_strip()
