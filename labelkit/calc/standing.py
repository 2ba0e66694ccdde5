"""What goes on no tray, why, and what would help."""

from __future__ import annotations

import math
from collections.abc import Callable, Iterable
from dataclasses import dataclass, field
from decimal import Decimal

from labelkit.calc import packing
from labelkit.calc.cells import cell_modes, smallest_gap
from labelkit.calc.footprint import Footprint
from labelkit.calc.steps import Bin
from labelkit.language import gettext as _
from labelkit.model.laying import Laying, Spacing, TrayKind
from labelkit.model.part import Part

Shelf = Callable[[], Iterable[TrayKind]]


@dataclass(frozen=True, slots=True)
class Standing:
    """What goes on no tray.

    Attributes:
        bin: it stands in.
        say: returns why in the language that is spoken then: a plan is kept for all who read it.
    """

    bin: Bin
    say: Callable[[], str] = field(compare=False)

    @property
    def reason(self) -> str:
        """Why, with what would help."""
        return self.say()


def floor_of(tray: TrayKind) -> packing.Floor:
    """Return a kind of tray as the packing counts: in whole mm and grams, rounded down."""
    width, depth = tray.size_mm
    return packing.Floor(math.floor(width), math.floor(depth), int(tray.limit * 1000))


def reason(part: Part, thing: Footprint, grams: int, laying: Laying, shelf: Shelf) -> str:
    """Return why a part goes on no tray, and what would help.

    Args:
        part: the part.
        thing: what is laid down of it.
        grams: its mass with all that is in it.
        laying: the trays in use.
        shelf: gives the others there are.
    """
    mass = f"{Decimal(grams).scaleb(-3).normalize():f} kg"
    if part.parts:
        mass = _("{mass} with its parts").format(mass=mass)
    strong = [tray for tray in laying.trays if grams <= tray.limit * 1000]
    if not strong:
        limit = max(tray.limit for tray in laying.trays)
        told = _("{mass}, more than a tray may hold ({limit}): lift it with help")
        return told.format(mass=mass, limit=f"{limit:f} kg")
    box = thing.outer.box()
    what = f"{thing.count} × " if thing.count > 1 else ""
    size = f"{what}{box.width:.0f} × {box.height:.0f} mm"
    told = _("{size} fits no tray in use: {trays}; {help}")
    if len(strong) < len(laying.trays):
        told = _("{size} fits no tray in use: {trays}, and {mass} is more than the others may hold; {help}")
    more = _help(thing, grams, strong, laying.spacing, shelf)
    return told.format(size=size, trays=_sizes(strong), mass=mass, help=more)


def _sizes(trays: Iterable[TrayKind]) -> str:
    return ", ".join(f"{tray.name} ({tray.size_mm[0]:g} × {tray.size_mm[1]:g} mm)" for tray in trays)


def _help(thing: Footprint, grams: int, trays: Iterable[TrayKind], spacing: Spacing, shelf: Shelf) -> str:
    """Say which gap, or which tray of the stock, would take a thing that is too large."""
    for tray in trays:
        floor = floor_of(tray)
        gap = smallest_gap(thing, spacing, (floor.width, floor.depth))
        if gap:
            return _("a gap of {gap} would do").format(gap=f"{gap:g} mm")
    for tray in sorted(shelf(), key=lambda tray: math.prod(tray.size_mm)):
        floor = floor_of(tray)
        modes = cell_modes(thing, spacing, [(floor.width, floor.depth)])
        if packing.fits(packing.Item(tuple((m.width, m.depth) for m in modes), grams), floor):
            return _("a tray {tray} would do").format(tray=tray.name)
    return _("no tray of the stock takes it: give it a place on the floor or on a pallet")
