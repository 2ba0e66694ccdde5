"""The first pages of the worksheets: what is known before the teardown, and the traveller, one line for each bin."""

from __future__ import annotations

from collections.abc import Iterator

from labelkit.calc.steps import Bin, Inside
from labelkit.language import gettext as _
from labelkit.sheets import wording
from labelkit.sheets.jobview import JobView
from labelkit.sheets.worksheet import SMALL, STEP, Sheet, Strip, note_strip, title_strip
from labelkit.sheets.worksheetcells import Boxes, OneLine, Piece, Say, Ticks, bold
from labelkit.sheets.worksheetfacts import (
    cautions,
    hazards_of,
    is_alert,
    part_pieces,
    step_cautions,
    step_pieces,
    steps_words,
    unit_cautions,
    way_pieces,
)
from labelkit.sheets.worksheettable import Column, Table, pieces_strip


def start_sheet(view: JobView, width: float) -> Sheet:
    """Return what is settled before anything is loosened: the plate, the version, the tools, the cautions."""
    return Sheet(_("BEFORE THE TEARDOWN"), list(_start(view, width)))


def _start(view: JobView, width: float) -> Iterator[Strip]:
    header = view.profile.unit
    yield from unit_cautions(view, width, "teardown")
    yield title_strip(_("Nameplate and complaint"), width)
    plate = (*header.nameplate, _("complaint"), _("oil: look and smell"), _("missing outside"))
    across = min(5, len(plate))
    yield from pieces_strip([Boxes(plate, ((width - 1.6 * (across - 1)) / across, 10.0))], width)
    yield note_strip("; ".join(_facts(view)), width, kept=False)
    if view.profile.options:
        yield from _options(view, width)
    if view.profile.tools:
        yield title_strip(_("Tools that must be to hand"), width)
        tools = tuple(dict.fromkeys(view.profile.tools.values()))
        yield from pieces_strip([Ticks(tools, columns=4)], width, name="tools")


def _facts(view: JobView) -> Iterator[str]:
    header = view.profile.unit
    unknown = wording.not_recorded()
    yield _("up is: {end}").format(end=header.up)
    yield _("clock read from: {end}").format(end=header.clock_from or unknown)
    yield _("12 o'clock is: {where}").format(where=header.twelve or unknown)
    yield _("mass of the unit: {mass}").format(mass=header.mass or unknown)
    yield _("oil: {oil}").format(oil=_oil(view))


def _oil(view: JobView) -> str:
    oil = view.profile.unit.oil
    if oil is None:
        return wording.not_recorded()
    much = f"{oil.volume_l} l" if oil.volume_l else _("quantity {unknown}").format(unknown=wording.not_recorded())
    return f"{oil.kind}, {much}"


def _options(view: JobView, width: float) -> Iterator[Strip]:
    yield title_strip(_("Which version is it: tick what you see, not what is expected"), width)
    columns = (
        Column(_("OPTION"), 30),
        Column(_("HOW TO TELL"), 62),
        Column(_("CHOICES"), 140),
        Column(_("HOW IT WAS SEEN"), 0, "write"),
    )
    table = Table(columns, width, "option")
    yield table.head
    for group, option in view.profile.options.items():
        choice = view.job.options.get(group)
        taken = _("OPEN: both ways are printed, marked ?")
        if choice:
            taken = _("taken for this kit: {choice}").format(choice=option.choices[choice])
        cells: list[list[Piece]] = [
            [bold(option.name)],
            [Say(option.tell or wording.not_recorded()), bold(taken, SMALL)],
            [Ticks(tuple(option.choices.values()))],
        ]
        yield from table.row(group, cells)
    yield table.line_strip()


def traveller_sheet(view: JobView, width: float) -> Sheet:
    """Return the traveller: a line for each bin in removal order, with what is known and boxes for what is found."""
    return Sheet(_("TEARDOWN TRAVELLER"), list(_traveller(view, width)))


def _traveller(view: JobView, width: float) -> Iterator[Strip]:
    columns = (
        Column(_("STEP"), 16.5),
        Column(_("PART"), 55),
        Column(_("EXPECT"), 13),
        Column(_("WHICH WAY, CLOCK"), 45),
        Column(_("HOW IT COMES OUT"), 64),
        Column(_("SEEN SO"), 11.5, "tick"),
        Column(_("OUT, IN BIN"), 11.5, "tick"),
        Column(_("FOUND"), 20, "count"),
        Column(_("REMARK: ODD, MISSING, EXTRA"), 0, "write"),
    )
    table = Table(columns, width, "traveller")
    header = view.profile.unit
    told = wording.frame_words(header)
    at_removal = [hazard for hazard in view.profile.hazards if hazard.at == "removal"]
    yield from cautions(at_removal, width, kept=False)
    note = _("One bin, one line. {frame} What is not found, or too many, goes into the remark.").format(frame=told)
    yield note_strip(note, width)
    yield table.head
    for each in view.teardown.bins:
        hazards = step_cautions(view, each, table, "teardown", "removal")
        yield from hazards
        alert = is_alert(hazards_of(view, each, "teardown", "removal"))
        cells: list[list[Piece]] = [
            step_pieces(each, alert=alert),
            part_pieces(view, each, count=False),
            [OneLine(wording.quantity_words(each.part), STEP * 0.85)],
            way_pieces(each),
            _out(view, each),
        ]
        yield from table.row(each.step, cells, rule=not hazards)
        for captured in view.inside.get(each.step, ()):
            yield from _inside(view, table, captured, each.step)
    for captured in view.inside.get("", ()):
        yield from _inside(view, table, captured, "")
    yield table.line_strip()


def _out(view: JobView, each: Bin) -> list[Piece]:
    part, out = each.part, each.part.out
    words: list[str] = []
    if out and out.by:
        words.append(out.by)
    if part.held and part.held.by != "loose":
        by = f" {steps_words(view, each, part.held.part)}" if part.held.part else ""
        words.append(_(wording.HELD[part.held.by]) + by)
    if out and out.tool:
        words.append(view.profile.tools[out.tool])
    if not words and part.held:
        words.append(_(wording.HELD[part.held.by]))
    pieces: list[Piece] = [Say("; ".join(words) or wording.not_recorded())]
    if out and out.look_under:
        pieces.append(bold(_("LOOK UNDERNEATH: {what}").format(what=out.look_under)))
    if out and out.together:
        told = _("comes out with {part}").format(part=steps_words(view, each, out.together))
        pieces.append(bold(told, SMALL))
    alike = _("do not mix up with {part}: {tell}")
    in_unit = {other.name for other in view.teardown.bins}
    for other in part.look_alike:
        # The same part stands in the profile once for each version.
        if view.teardown.of(other.part) or view.profile.names.get(other.part) not in in_unit:
            told = alike.format(part=steps_words(view, each, other.part), tell=other.tell or _("looks alike"))
            pieces.append(bold(told, SMALL))
    for label, names in ((_("matched with"), part.pair), (_("keep with"), part.keep_with)):
        here = [steps_words(view, each, name) for name in names if view.teardown.of(name)]
        if here:
            pieces.append(bold(f"{label} {'; '.join(here)}", SMALL))
    if out and out.note:
        pieces.append(Say(out.note, SMALL))
    return pieces


def _inside(view: JobView, table: Table, captured: Inside, step: str) -> Iterator[Strip]:
    where = _("in step {step}").format(step=step) if step else _("in the unit")
    behind = view.profile.names.get(captured.behind, captured.behind)
    cells: list[list[Piece]] = [
        [],
        part_pieces(view, captured, count=False, shout=False),
        [bold(wording.quantity_words(captured.part), STEP * 0.85)],
        [Say(_("{where}, behind {part}").format(where=where, part=behind), SMALL)],
        [Say(_("feel it, do not hunt for it: no bin"), SMALL)],
    ]
    yield from table.row(f"inside {captured.part.id}", cells)
