"""Order, shortage and pick list as data for JSON: amounts and sizes are texts."""

from __future__ import annotations

from typing import Any

from labelkit.calc.needs import Line, Needs, Way
from labelkit.calc.renewal import Use
from labelkit.calc.shortage import Missing, Shortage
from labelkit.model.catalogue import Money
from labelkit.sheets.picklist import Pick


def pick_data(pick: Pick, needs: Needs) -> dict[str, Any]:
    """Return one pick as data for JSON."""
    return {
        "tray": pick.tray,
        "place": pick.place,
        "group": pick.group,
        "step": pick.step,
        **_use_data(pick.use, needs),
        "blocks": pick.blocks[0] or None,
        "missing": pick.missing,
        "state": pick.state,
        "held": pick.held,
        "location": pick.line.entry.location if pick.line.entry else None,
        "supplier": pick.line.entry.supplier if pick.line.entry else None,
    }


def needs_data(needs: Needs) -> dict[str, Any]:
    """Return an order as data for JSON; amounts are decimal texts."""
    return {
        "lines": [_line_data(line, needs) for line in needs.lines],
        "totals": [
            {"when": dict(each.when), "cost": _money(each.cost), "unpriced": list(each.unpriced)}
            for each in needs.totals
        ],
        "unjudged": [each.part.id for each in needs.unjudged],
        "notes": list(needs.notes),
    }


def _line_data(line: Line, needs: Needs) -> dict[str, Any]:
    return {
        "number": line.number,
        "name": line.name,
        "pack": line.pack,
        "shelf": line.shelf,
        "sizes": [{"size": size, "number": number} for size, number in line.sizes],
        "ways": [_way_data(way) for way in line.ways],
        "as_needed": line.as_needed,
        "uses": [_use_data(use, needs) for use in line.uses],
        "notes": list(line.notes),
    }


def _way_data(way: Way) -> dict[str, Any]:
    counts = {"need": way.need, "short": way.short, "packs": way.packs, "spare": way.spare}
    return {"when": dict(way.when), **counts, "cost": _money(way.cost)}


def _use_data(use: Use, needs: Needs) -> dict[str, Any]:
    """Return one use as data for JSON."""
    return {
        "part": use.part.id,
        "name": use.name,
        "number": use.number,
        "size": str(use.size) if use.size else None,
        "pieces": use.pieces,
        "reason": use.reason,
        "causes": list(use.causes),
        "pairs": list(use.pairs),
        "blocks": use.step,
        "when": [dict(choices) for choices in needs.when(use)],
    }


def shortage_data(short: Shortage) -> dict[str, Any]:
    """Return a shortage as data for JSON; `first` is the first step that is blocked."""
    return {
        "first": short.missing[0].use.step if short.missing else None,
        "missing": [_missing_data(each) for each in short.missing],
        "groups": [
            {
                "name": each.name,
                "steps": list(each.steps),
                "joined": each.joined,
                "built": each.built,
                "missing": [waits.use.part.id for waits in each.missing],
                "incomplete": [lacks.part.id for lacks in each.incomplete],
            }
            for each in short.groups
        ],
        "unsettled": [use.part.id for use in short.unsettled],
    }


def _missing_data(each: Missing) -> dict[str, Any]:
    use = each.use
    what = {"part": use.part.id, "name": use.name, "number": use.number}
    return {**what, "pieces": each.pieces, "held": each.held, "blocks": use.step, "when": dict(each.when)}


def _money(money: Money | None) -> dict[str, str] | None:
    return {"amount": f"{money.amount:f}", "currency": money.currency} if money else None
