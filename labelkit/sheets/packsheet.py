"""Plate order: each pack drawn in its order, a box for every plate out and in, and a count for every kind."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Final

from labelkit.calc.assembly import partners
from labelkit.calc.steps import Bin
from labelkit.drawing.page import Box
from labelkit.language import gettext as _
from labelkit.sheets import wording
from labelkit.sheets.jobview import JobView
from labelkit.sheets.packs import is_pack, pack_drawing
from labelkit.sheets.worksheet import SMALL, TICK, WORDS, Sheet, Strip, note_strip, title_strip
from labelkit.sheets.worksheetcells import Boxes, Drawing, Piece, Say, bold
from labelkit.sheets.worksheetfacts import step_pieces
from labelkit.sheets.worksheettable import Column, Table, pieces_strip

_PLATES: Final = 31.0  # height of the plates with their letters
_ROW: Final = 5.2  # of the list of kinds below them


def pack_sheet(view: JobView, width: float) -> Sheet:
    """Return the plate order of every pack; no strip where there is no pack."""
    return Sheet(
        _("PLATE ORDER"),
        [strip for each in view.teardown.bins if is_pack(each.part) for strip in _pack(view, each, width)],
    )


def _pack(view: JobView, each: Bin, width: float) -> Iterator[Strip]:
    plates = [found[0] if (found := partners(view.teardown, each, name)) else None for name in each.part.stack]
    kinds = list(dict.fromkeys(plate.step for plate in plates if plate))
    against = each.part.stack_from or wording.not_recorded()
    yield title_strip(f"{each.step} {each.name}", width, f"pack title {each.step}")
    told = _("{count} plates in the order they come out; the first lies against: {end}. Tie them in this order.")
    yield note_strip(told.format(count=len(plates), end=against), width)
    height = _PLATES + 3 + _ROW * len(kinds)
    drawing = Drawing(height, (pack_drawing(view, each, Box(0, 0, width, height)),))
    yield from pieces_strip([drawing], width, name=f"pack drawing {each.step}", kept=True)
    labels = tuple(f"{number}: {plate.step if plate else '?'}" for number, plate in enumerate(plates, start=1))
    rows: list[Piece] = [bold(_("OUT: a tick for each plate as it comes, in this order")), _places(labels, "out")]
    rows += [bold(_("IN: a tick for each plate as it goes in, the last one first")), _places(labels, "in")]
    yield from pieces_strip(rows, width, name=f"pack places {each.step}")
    yield from _kinds(each, [view.teardown.at(step) for step in kinds], width)


def _places(labels: tuple[str, ...], name: str) -> Boxes:
    return Boxes(labels, (max(TICK, 11.0), TICK), f"plate {name}")


def _kinds(pack: Bin, kinds: list[Bin], width: float) -> Iterator[Strip]:
    columns = (
        Column(_("STEP"), 16.5),
        Column(_("PLATE"), 80),
        Column(_("WHICH WAY"), 62),
        Column(_("IN THE PACK"), 22),
        Column(_("OUT"), 20, "count"),
        Column(_("IN"), 20, "count"),
        Column(_("WAY SEEN"), 14, "tick"),
        Column(_("REMARK"), 0, "write"),
    )
    table = Table(columns, width, f"plates {pack.step}")
    yield table.head
    for each in kinds:
        size = wording.size_words(each.part.form)
        clock, known = wording.clock_words(each.part)
        cells: list[list[Piece]] = [
            step_pieces(each),
            [bold(each.part.name), Say(size, SMALL)],
            [bold(wording.way(each.part).text), Say(clock if known != "free" else _("clock free"), SMALL)],
            [bold(f"× {pack.part.stack.count(each.part.id)}", WORDS)],
        ]
        yield from table.row(each.step, cells)
    yield table.line_strip()
