"""What must be measured or looked at before and while the unit comes apart: afterwards nobody can."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from typing import Final

from labelkit.calc.apart import held_by
from labelkit.calc.steps import Bin, Inside
from labelkit.language import gettext as _
from labelkit.language import noop
from labelkit.model.part import Check
from labelkit.model.profile import Fit
from labelkit.sheets import wording
from labelkit.sheets.fitsheet import has_fit
from labelkit.sheets.jobview import JobView
from labelkit.sheets.worksheet import SMALL, WORDS, Sheet, Strip, note_strip, titled
from labelkit.sheets.worksheetcells import Boxes, OneLine, Piece, Say, bold
from labelkit.sheets.worksheetfacts import (
    checks_of,
    limit_pieces,
    part_pieces,
    reading_pieces,
    series_boxes,
    spread_words,
    step_cautions,
    step_pieces,
)
from labelkit.sheets.worksheetlimits import check_limits, fit_limits
from labelkit.sheets.worksheettable import Column, Table

# When it is too late afterwards.
NOW: Final = ("before", "removal", "apart")
_TITLES: Final = {
    "before": noop("Before the teardown"),
    "removal": noop("While it comes out"),
    "apart": noop("When it is apart, before it goes into the basket"),
}


def measure_sheet(view: JobView, width: float) -> Sheet:
    """Return the sheet of what is measured at the teardown; plays and preloads as they are found stand first."""
    return Sheet(_("MEASURE NOW"), list(_measure(view, width)))


def check_table(width: float, name: str) -> Table:
    """Return the table in which checks stand: what, its limits, boxes for readings, the verdict."""
    columns = (
        Column(_("STEP"), 16.5),
        Column(_("WHAT"), 61),
        Column(_("LIMITS, TOOL"), 42),
        Column(_("READINGS"), 0),
        Column(_("OK"), 11.5, "tick"),
        Column(_("NOT OK"), 11.5, "tick"),
    )
    return Table(columns, width, name)


def check_cells(view: JobView, each: Bin | Inside, check: Check, *, named: bool) -> list[list[Piece]]:
    """Return the cells of a check in that table.

    Args:
        view: the job.
        each: whose check it is.
        check: the check.
        named: the row names step and part; otherwise it stands below one that does.
    """
    what: list[Piece] = []
    if named:
        what += part_pieces(view, each, shout=False)
    if check.look:
        what.append(Say(_("Look: {look}").format(look=check.look)))
    else:
        of = _(", at each of {count}").format(count=check.each) if check.each else ""
        what.append(Say(_("Measure {what}").format(what=check.measure) + of))
    feeds = ", ".join(share.name for share in view.profile.fits_of(each.part.id))
    if check.keep and feeds:
        what.append(Say(_("kept for the fit sheet: {fits}").format(fits=feeds), SMALL))
    if check.otherwise:
        what.append(bold(_("if not: {what}").format(what=check.otherwise), SMALL))
    limits = limit_pieces(check_limits(check)) if check.measure else []
    if check.tool or check.measure:
        unknown = _("tool {unknown}").format(unknown=wording.not_recorded())
        limits.append(Say(_("with {tool}").format(tool=check.tool) if check.tool else unknown, SMALL))
    step = step_pieces(each) if named and isinstance(each, Bin) else []
    return [step, what, limits, reading_pieces(check, each.part)]


def _measure(view: JobView, width: float) -> Iterator[Strip]:
    table = check_table(width, "measure")
    fits = [(name, fit) for name, fit in view.profile.fits.items() if fit.read.found and has_fit(view, fit)]
    if fits:
        yield from titled(_("As found, with everything still in place"), _as_found(view, table, fits), width)
    for time in NOW:
        if found := list(checks_of(view, time)):
            yield from titled(_(_TITLES[time]), _checks(view, table, time, found), width)


def _as_found(view: JobView, table: Table, fits: Sequence[tuple[str, Fit]]) -> Iterator[Strip]:
    told = _("Cold, seated and zeroed; every reading is written down, also one that looks wrong.")
    yield note_strip(told, table.width)
    yield table.head
    for name, fit in fits:
        yield from table.row(f"fit {name}", _fit_cells(view, name, fit))
    yield table.line_strip()


def _checks(
    view: JobView, table: Table, time: str, found: Sequence[tuple[Bin | None, Bin | Inside, list[Check]]]
) -> Iterator[Strip]:
    yield table.head
    for holder, each, checks in found:
        hazards = step_cautions(view, holder, table, "removal") if holder and each is holder else []
        if time == "removal":
            yield from hazards
        for number, check in enumerate(checks):
            cells = check_cells(view, each, check, named=not number)
            rule = bool(number) or time != "removal" or not hazards
            yield from table.row(f"{each.part.id} {time} {number}", cells, rule=rule)
    yield table.line_strip()


def _fit_cells(view: JobView, name: str, fit: Fit) -> list[list[Piece]]:
    what: list[Piece] = [bold(f"{name.replace('-', ' ')}: {_(wording.FIT_KINDS[fit.kind])}")]
    if fit.state:
        what.append(Say(_("state: {state}").format(state=fit.state)))
    what += [Say(f"{number}. {step}", SMALL) for number, step in enumerate(fit.seat, start=1)]
    if not fit.seat:
        what.append(Say(_("how to seat it: {unknown}").format(unknown=wording.not_recorded()), SMALL))
    if held := held_by(view.teardown, view.order, fit):
        what.append(bold(_("at the latest before step {step} comes out").format(step=held[0].step_words), SMALL))
    spread = spread_words(fit.spread)
    return [
        [OneLine(_("FIT"), WORDS)],
        what,
        limit_pieces(fit_limits(fit)),
        [Boxes((*series_boxes(fit.readings or 3, spread).labels, _("gauge")))],
    ]
