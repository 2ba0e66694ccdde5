"""The list for the washer: what must be out before the wash, what never goes in, and what comes back from a basket."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from typing import Final

from labelkit.calc.steps import Bin
from labelkit.calc.washing import ever_washed, treatment
from labelkit.language import gettext as _
from labelkit.language import noop
from labelkit.model.part import SIGNALS
from labelkit.sheets import wording
from labelkit.sheets.jobview import JobView
from labelkit.sheets.worksheet import Sheet, Strip, note_strip, title_strip, titled
from labelkit.sheets.worksheetcells import Piece, Say, bold
from labelkit.sheets.worksheetfacts import cautions, hazards_of, name_of, part_pieces, step_pieces, unit_cautions
from labelkit.sheets.worksheettable import Column, Table, beside, doubled

_GAP: Final = 6.0
_TITLES: Final = {
    "before": noop("Out before the wash: the washer does not start before every line is ticked"),
    "no_solvent": noop("No solvent: hand wipe or clean oil only"),
    "not_washed": noop("Not washed"),
    "wipe": noop("Wiped by hand"),
    None: noop("How it is washed: {unknown}. Ask before it goes in"),
    "small_basket": noop("Small parts basket, with a lid"),
    "basket": noop("Basket"),
}


def wash_sheet(view: JobView, width: float) -> Sheet:
    """Return the list, what must be out first at its top."""
    return Sheet(_("BEFORE THE WASH"), list(_wash(view, width)))


def _wash(view: JobView, width: float) -> Iterator[Strip]:
    yield from unit_cautions(view, width, "wash")
    told = _(
        "Listed only where they must be out before the wash: parts that must be new in any case, and sub-assemblies "
        "that are nothing but their parts."
    )
    yield note_strip(told, width, kept=False)
    record = view.record(())
    listed = {
        each.step
        for each in view.teardown.bins
        if ever_washed(record, record.at(each.ordinal)) and each.step not in view.trays.opened
    }
    for wash, title in _TITLES.items():
        bins = [each for each in view.teardown.bins if treatment(each.part, view.parts_inside(each)).wash == wash]
        if wash != "before":
            bins = [each for each in bins if each.step in listed]
        if not bins:
            if wash == "before":
                yield title_strip(_("Out before the wash"), width)
                yield note_strip(_("The profile names no part that must be out before the wash."), width, kept=False)
            continue
        yield from titled(_(title).format(unknown=wording.not_recorded()), _bins(view, wash, bins, width), width)


def _bins(view: JobView, wash: str | None, bins: Sequence[Bin], width: float) -> Iterator[Strip]:
    half = (width - _GAP) / 2
    # Of a whole group they stand together, the worst first as everywhere.
    found = [(hazard, each.step) for each in bins for hazard in hazards_of(view, each, "wash")]
    for hazard, step in sorted(found, key=lambda pair: SIGNALS.index(pair[0].signal)):
        yield from cautions([hazard], width, step=step)
    last = (_("BACK"), 20.0, "count") if wash in ("small_basket", "basket") else (_("DONE"), 20.0, "tick")
    columns = (
        Column(_("STEP"), 16.5),
        Column(_("PART"), 0),
        Column(_("COUNT"), 13),
        Column(_("OUT") if wash == "before" else _("SORTED"), 13, "tick"),
        Column(*last),
    )
    table = Table(columns, half, f"wash {wash or 'unknown'}")
    yield doubled(table.head, half + _GAP) if len(bins) > 1 else table.head
    rows = [strip for each in bins for strip in table.row(each.step, _cells(view, each))]
    yield from beside(rows, half + _GAP)


def _cells(view: JobView, each: Bin) -> list[list[Piece]]:
    name: list[Piece] = (
        [bold(name_of(each.part))] if not each.doubtful else part_pieces(view, each, count=False, shout=False)
    )
    if each.part.wash == "before" and each.part.sits and each.part.sits.on:
        name.append(Say(_("on {part}").format(part=view.profile.names.get(each.part.sits.on, each.part.sits.on))))
    if because := treatment(each.part, view.parts_inside(each)).because:
        names = ", ".join(dict.fromkeys(map(name_of, because)))
        name.append(Say(_("for what stays inside it: {parts}").format(parts=names)))
    return [step_pieces(each), name, [bold(wording.quantity_words(each.part))]]
