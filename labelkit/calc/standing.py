"""What goes on no tray, why, and what would help."""

from __future__ import annotations

import math
from collections.abc import Callable, Iterable
from dataclasses import dataclass
from decimal import Decimal

from labelkit.calc import packing
from labelkit.calc.cells import cell_modes, smallest_gap
from labelkit.calc.footprint import Footprint
from labelkit.calc.steps import Bin
from labelkit.model.laying import Laying, Spacing, TrayKind
from labelkit.model.part import Part

Shelf = Callable[[], Iterable[TrayKind]]


@dataclass(frozen=True, slots=True)
class Standing:
    """What goes on no tray: the bin, and why, with what would help."""

    bin: Bin
    reason: str


def floor_of(tray: TrayKind) -> packing.Floor:
    """Return a kind of tray as the packing counts: in whole mm and grams, rounded down."""
    width, depth = tray.size_mm
    return packing.Floor(math.floor(width), math.floor(depth), int(tray.limit * 1000))


def reason(part: Part, thing: Footprint, grams: int, laying: Laying, shelf: Shelf) -> str:
    """Return why a part goes on no tray, and what would help."""
    whole = " with its parts" if part.parts else ""
    mass = f"{Decimal(grams).scaleb(-3).normalize():f} kg{whole}"
    strong = [tray for tray in laying.trays if grams <= tray.limit * 1000]
    if not strong:
        limit = max(tray.limit for tray in laying.trays)
        return f"{mass}, more than a tray may hold ({limit:f} kg): lift it with help"
    box = thing.outer.box()
    what = f"{thing.count} × " if thing.count > 1 else ""
    size = f"{what}{box.width:.0f} × {box.height:.0f} mm"
    weak = "" if len(strong) == len(laying.trays) else f", and {mass} is more than the others may hold"
    return f"{size} fits no tray in use: {_sizes(strong)}{weak}; {_help(thing, grams, strong, laying.spacing, shelf)}"


def _sizes(trays: Iterable[TrayKind]) -> str:
    return ", ".join(f"{tray.name} ({tray.size_mm[0]:g} × {tray.size_mm[1]:g} mm)" for tray in trays)


def _help(thing: Footprint, grams: int, trays: Iterable[TrayKind], spacing: Spacing, shelf: Shelf) -> str:
    """Say which gap, or which tray of the stock, would take a thing that is too large."""
    for tray in trays:
        floor = floor_of(tray)
        gap = smallest_gap(thing, spacing, (floor.width, floor.depth))
        if gap:
            return f"a gap of {gap:g} mm would do"
    for tray in sorted(shelf(), key=lambda tray: math.prod(tray.size_mm)):
        floor = floor_of(tray)
        modes = cell_modes(thing, spacing, [(floor.width, floor.depth)])
        if packing.fits(packing.Item(tuple((m.width, m.depth) for m in modes), grams), floor):
            return f"a tray {tray.name} would do"
    return "no tray of the stock takes it: give it a place on the floor or on a pallet"
