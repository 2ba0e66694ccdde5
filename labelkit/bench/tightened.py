"""The form of a pass of tightening: what the wrench showed, or by how much all were turned on."""

from __future__ import annotations

from decimal import Decimal
from typing import Any, Final

from labelkit.bench.about import About, Typed, Wanted
from labelkit.bench.typed import figure
from labelkit.calc.passes import Pass, passes_of
from labelkit.calc.placerecord import turned_on
from labelkit.errors import UsageError
from labelkit.language import gettext as _
from labelkit.sheets.reportwords import wanted_figure
from labelkit.units import Quantity

TURNED: Final = "turned"
"""What the form of a torque calls the pass behind the last torque, in which all are turned on by an angle."""


def torque(about: About, form: Typed) -> Wanted:
    """Return what the form of one pass of tightening asks for: a torque, or the angle behind the last one."""
    found = Wanted()
    data: dict[str, Any] = {name: form.get(name, "") for name in ("share", "wrench", "note")}
    degrees = turned_on(about.place.item)
    if data["share"] == TURNED and degrees is not None:
        # What the wrench showed was signed before.
        data["share"] = ""
        asked = _("by how many degrees were they turned on? Wanted: {degrees}°").format(degrees=degrees)
        if typed := _tightened("angle", "deg", asked, form, found):
            data["angle"] = str(typed.value)
    else:
        unit = form.get("unit", "") or about.profile.unit.torques
        if typed := _tightened("torque", unit, _wanted_torque(about, data["share"]), form, found):
            data |= {"torque": str(typed.value), "unit": typed.unit}
        if oiled := form.get("oiled", ""):
            data["oiled"] = oiled == "oiled"
    found.wishes.append(about.wish("torque_signed", **data))
    return found


def _wanted_torque(about: About, share: str) -> str:
    """Return what a pass is asked for whose torque was not typed; empty where its torque is not recorded.

    Args:
        about: the place.
        share: of the pass, as the form names it; it does not where there is one only.
    """
    fasten = about.place.item.part.fasten
    if fasten is None or fasten.torque is None:
        return ""
    named = (each for each in passes_of(about.place) if each.degrees is None and str(each.share) == share)
    torque = wanted_figure(about.place, next(named, Pass(Decimal(1))))
    return _("what did the wrench show? Wanted: {torque}").format(torque=torque)


def _tightened(name: str, unit: str, asked: str, form: Typed, found: Wanted) -> Quantity | None:
    """Return the figure of a pass as it was typed; None where none was, which is a fault where one is asked for."""
    if text := form.get(name, "").strip():
        try:
            return figure(text, unit)
        except UsageError as error:
            found.faults[name] = str(error)
    elif asked:
        found.faults[name] = asked
    return None
