"""The assembly sequence: what goes in next, what must be in first and why, how it sits, installed and verified."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from dataclasses import replace
from itertools import groupby

from labelkit.calc.assembly import Placed, Within, captured_first, pack_of, parted_by
from labelkit.calc.steps import Bin
from labelkit.language import gettext as _
from labelkit.model.relations import why_words
from labelkit.sheets import wording
from labelkit.sheets.jobview import JobView
from labelkit.sheets.measuresheet import check_cells, check_table
from labelkit.sheets.placewords import together_words
from labelkit.sheets.worksheet import SMALL, Sheet, Strip, note_strip, stacked, title_strip, titled
from labelkit.sheets.worksheetcells import OneLine, Piece, Say, bold
from labelkit.sheets.worksheetfacts import (
    checks_of,
    hazards_of,
    is_alert,
    name_of,
    part_pieces,
    seat_pieces,
    step_cautions,
    step_pieces,
    unit_cautions,
    way_pieces,
)
from labelkit.sheets.worksheettable import Column, Table


def assembly_sheet(view: JobView, width: float) -> Sheet:
    """Return every bin in the order of assembly, and the checks that are made when all is in."""
    last = list(_last_checks(view, width))
    below = titled(_("Last checks, when it is together"), last, width) if last else ()
    return Sheet(_("ASSEMBLY"), [*_sequence(view, width), *below])


def _sequence(view: JobView, width: float) -> Iterator[Strip]:
    columns = (
        Column(_("NO."), 11),
        Column(_("STEP"), 16.5),
        Column(_("PART"), 58),
        Column(_("WHICH WAY, CLOCK"), 56),
        Column(_("MUST BE IN FIRST, AND WHY"), 70),
        Column(_("IN"), 11.5, "tick"),
        Column(_("CHECKED"), 14, "tick"),
        Column(_("BY, REMARK"), 0, "write"),
    )
    yield from unit_cautions(view, width, "assembly")
    table = Table(columns, width, "assembly")
    told = _("Nothing goes in before what is named here is in and checked, if possible by a second person.")
    yield note_strip(f"{wording.frame_words(view.profile.unit)} {told}", width)
    yield table.head
    begun, inner = False, captured_first(view.order)
    for group, members in groupby(enumerate(view.order, start=1), key=lambda member: member[1].group):
        placed = list(members)
        rows = (
            strip
            for number, each in placed
            for strip in (*_captured(view, table, inner.get(each.bin.step, ())), *_part(view, table, each, number))
        )
        if group:
            yield from _group(view, table, placed[0][1], rows)
        else:
            if begun:
                yield table.line_strip(thick=True)
            yield from rows
        begun = True
    yield table.line_strip()


def _group(view: JobView, table: Table, placed: Placed, rows: Iterable[Strip]) -> Iterator[Strip]:
    """Yield what goes in together, inside the table; a page that begins among it says so again."""
    told, because = together_words(view.profile, placed)
    yield replace(title_strip(told, table.width, f"group {placed.group}"), head=table.head)
    if because:
        yield replace(note_strip(because, table.width), head=table.head)
    together = _("Together: {group}").format(group=placed.group)
    again = title_strip(_("{title}, continued").format(title=together), table.width)
    for strip in rows:
        yield replace(strip, head=stacked(table.head, again))


def _part(view: JobView, table: Table, placed: Placed, number: int) -> Iterator[Strip]:
    each = placed.bin
    hazards = step_cautions(view, each, table, "assembly")
    yield from hazards
    name = part_pieces(view, each)
    tray = view.tray_words(each)
    found = [_("on tray {place}").format(place=tray) if tray else _("on no tray")]
    found += [_("group {group}").format(group=placed.group)] if placed.group else []
    if each.part.tightened:
        found.append(_("see TORQUE"))
    if pack_of(view.teardown, each):
        found.append(_("see PLATE ORDER"))
    for share in view.profile.fits_of(each.part.id):
        found += [_("set by measuring, see FIT: {fit}").format(fit=share.name)] if share.sets else []
    name.append(Say("; ".join(found), SMALL))
    for captured in view.inside.get(each.step, ()):
        name.append(bold(_("inside it: {part}").format(part=captured.part.name), SMALL))
    for other in parted_by(view.order, each.step):
        told = _("not all of it before {part}: the rest goes in after that")
        name.append(bold(told.format(part=f"{other.step_words} {name_of(other.part)}"), SMALL))
    cells: list[list[Piece]] = [
        [OneLine(str(number), 2.4)],
        step_pieces(each, alert=is_alert(hazards_of(view, each, "assembly"))),
        name,
        [*way_pieces(each), *seat_pieces(view, each)],
        list(_first(view, placed)),
    ]
    yield from table.row(each.step, cells, rule=not hazards)


def _captured(view: JobView, table: Table, inner: Sequence[Within]) -> Iterator[Strip]:
    """Yield the parts that stay inside another, which go in before a step where they are renewed."""
    for each in inner:
        step = view.teardown.step_holding(each.item)
        first: list[Piece] = [
            piece
            for other in inner
            if (why := each.after.get(other.item.ordinal))
            for piece in (bold(name_of(other.item.part)), Say(why_words(why), SMALL))
        ]
        cells: list[list[Piece]] = [
            [],
            [OneLine(_("in {step}").format(step=step))] if step else [],
            [bold(each.item.part.name), Say(_("only where it is renewed: else it stays inside"), SMALL)],
            [*way_pieces(each.item), *seat_pieces(view, each.item)],
            first or [Say(_("nothing"))],
        ]
        yield from table.row(f"inside {each.item.part.id}", cells)


def _first(view: JobView, placed: Placed) -> Iterator[Piece]:
    """Yield what must be in first, steps with one reason together."""
    reasons: dict[str, list[Bin]] = {}
    for need in placed.needs:
        each = view.teardown.at(need.step)
        if need.some:
            yield bold(_("some of {part}").format(part=f"{each.step_words} {name_of(each.part)}"))
            yield Say(why_words(need.why), SMALL)
        else:
            reasons.setdefault(need.why, []).append(each)
    for why, bins in reasons.items():
        # Where there are many the steps alone are told; their names stand at their own lines.
        several = len(bins) > 2
        named = [each.step_words + f" {name_of(each.part)}" * (not several) for each in bins]
        yield bold(", ".join(named))
        yield Say(why_words(why), SMALL)
    for inner in view.renewed_first(placed):
        yield bold(_("where renewed: {part}").format(part=name_of(inner.item.part)))
        yield Say(why_words(inner.why), SMALL)
    if not placed.needs and not placed.within:
        yield Say(_("nothing"))


def _last_checks(view: JobView, width: float) -> Iterator[Strip]:
    found = list(checks_of(view, "assembled"))
    if not found:
        return
    table = check_table(width, "last")
    yield table.head
    for holder, each, checks in found:
        named = holder if holder is not None and each is holder else None
        hazards = step_cautions(view, named, table, "inspection") if named else []
        yield from hazards
        for number, check in enumerate(checks):
            cells = check_cells(view, each, check, named=not number)
            yield from table.row(f"{each.part.id} {number}", cells, rule=bool(number) or not hazards)
    yield table.line_strip()
