"""The inspection by part: what to look at, limits in both units, boxes, and a verdict for every bin."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Final

from labelkit.calc.steps import Bin, Inside
from labelkit.language import gettext as _
from labelkit.language import noop
from labelkit.sheets import wording
from labelkit.sheets.jobview import JobView
from labelkit.sheets.measuresheet import NOW, check_cells, check_table
from labelkit.sheets.worksheet import SMALL, Sheet, Strip, note_strip
from labelkit.sheets.worksheetcells import Piece, Say, Ticks, bold
from labelkit.sheets.worksheetfacts import cautions, hazards_of, part_pieces, step_pieces, unit_cautions
from labelkit.sheets.worksheettable import Table

_CLEAN: Final = ("clean", None)
_VERDICTS: Final = {
    "replace": noop("replace"),
    "ask": noop("ask first"),
    "repair": noop("repair"),
    "reuse": noop("good"),
}


def inspection_sheet(view: JobView, width: float) -> Sheet:
    """Return the inspection of every bin, and of what stays inside it, in removal order."""
    return Sheet(_("INSPECTION"), list(_inspection(view, width)))


def _inspection(view: JobView, width: float) -> Iterator[Strip]:
    yield from unit_cautions(view, width, "inspection")
    table = check_table(width, "inspect")
    told = _("Clean, dry and cold. One part out of its limits: the verdict says what becomes of it, nobody guesses.")
    yield note_strip(told, width)
    yield table.head
    for each in view.teardown.bins:
        yield from _part(view, table, each)
        for inside in view.inside.get(each.step, ()):
            yield from _part(view, table, inside)
    for inside in view.inside.get("", ()):
        yield from _part(view, table, inside)
    yield table.line_strip()


def _part(view: JobView, table: Table, each: Bin | Inside) -> Iterator[Strip]:
    part = each.part
    name = each.step if isinstance(each, Bin) else f"inside {part.id}"
    checks = [check for check in part.check if check.at in _CLEAN]
    hazards = hazards_of(view, each, "inspection") if isinstance(each, Bin) else []
    yield from cautions(hazards, table.width, head=table.head, step=name)
    what = part_pieces(view, each, shout=False)
    if words := ", ".join(filter(None, (wording.size_words(part.form), part.number or ""))):
        what.append(Say(words, SMALL))
    cells: list[list[Piece]] = [
        step_pieces(each) if isinstance(each, Bin) else [],
        what,
        _new(view, each),
        [Ticks(tuple(_(_VERDICTS[verdict]) for verdict in wording.verdicts_of(part)))],
    ]
    yield from table.row(name, cells, boxes=False, rule=not hazards, kept=bool(checks))
    for number, check in enumerate(checks):
        last = number == len(checks) - 1
        yield from table.row(
            f"{name} {number}", check_cells(view, each, check, named=False), rule=False, kept=not last and number == 0
        )


def _new(view: JobView, each: Bin | Inside) -> list[Piece]:
    """Return when a part is renewed, and where else it is judged; where nothing is known, that."""
    part = each.part
    words = wording.renew_words(part, view.profile.names)
    unknown = wording.not_recorded()
    pieces: list[Piece] = [bold(words) if words else Say(_("renewed when: {unknown}").format(unknown=unknown))]
    if any(check.at in NOW for check in part.check):
        pieces.append(Say(_("and see MEASURE NOW"), SMALL))
    if any(check.at == "assembled" for check in part.check):
        pieces.append(Say(_("and see ASSEMBLY, last checks"), SMALL))
    if not part.check and part.renew != "always":
        pieces.append(Say(_("points to check: {unknown}").format(unknown=unknown), SMALL))
    return pieces
