"""What is open in a job as pages list it: by kind, with what to do, each point with the page where that is done."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final

from flask import url_for

from labelkit.calc.openpoints import Kind, Open
from labelkit.calc.record import Record
from labelkit.calc.steps import Bin, Inside
from labelkit.calc.usedup import is_used_up
from labelkit.language import gettext as _
from labelkit.language import noop
from labelkit.sheets.jobview import JobView

# In the order in which they are shown: what means a second teardown first. With what to do.
_KINDS: Final[dict[Kind, tuple[str, str]]] = {
    "fit": (noop("Fits"), noop("Look first for what the difference tells, then measure it again")),
    "choose": (noop("Fits outside their target"), noop("Choose another size, or agree on a deviation")),
    "unread": (noop("Fits to measure"), noop("Not measured yet: measure it once it is together")),
    "unmeasured": (noop("New pieces not measured"), noop("Measure it; what it measures is asked when it goes in")),
    "not_empty": (noop("Bins that are not empty"), noop("Look into the bin, put in what lies there")),
    "still_in": (noop("Still in, and to come out"), noop("Take it out, and put in what goes there")),
    "missing": (noop("Not there"), noop("Order it, and put the new one in")),
    "hold": (noop("On hold"), noop("Release it, with a reason")),
    "ask": (noop("Ask first"), noop("Ask who decides, then record the verdict")),
    "limit": (noop("Out of limits"), noop("Replace it, repair it, or agree on a deviation")),
    "seen": (noop("Seen otherwise than the card says"), noop("Look again how it sits, or agree on a deviation")),
    "count": (noop("Counts"), noop("Look for the piece, or set the option")),
    "torque": (noop("Torques not signed"), noop("Tighten it and sign")),
    "not_verified": (noop("In, but not verified"), noop("Look, then verify")),
    "not_out": (noop("Not out, nor left in"), noop("Record that it came out, or that it was left in")),
    "check": (noop("Not inspected"), noop("Look or measure, and record it")),
    "at_end": (noop("Last checks, when it is together"), noop("Look or measure, and record it")),
    "option": (noop("Options"), noop("Look at the unit, and set the option")),
    "signed": (noop("Signed before something else"), noop("Look at what came since, and sign again")),
    "stray": (noop("At a part that is not there"), noop("Correct the event")),
}


@dataclass(frozen=True, slots=True)
class Point:
    """One open point: its words, and the page where something is done about it; None: that of the job."""

    text: str
    address: str | None


@dataclass(frozen=True, slots=True)
class Points:
    """Open points of one kind: the kind, a title, what to do, and each point."""

    kind: Kind
    title: str
    do: str
    points: tuple[Point, ...]


def listed_points(view: JobView, points: tuple[Open, ...]) -> list[Points]:
    """Return open points of a job by kind; kinds of which nothing is open are left out."""
    found = []
    for kind, (title, do) in _KINDS.items():
        if same := tuple(Point(each.text, _address(view, each)) for each in points if each.kind == kind):
            found.append(Points(kind, _(title), _(do), same))
    return found


def _address(view: JobView, point: Open) -> str | None:
    if point.fit is not None:
        return url_for("fit", number=view.job.number, name=point.fit)
    if point.kind == "signed":
        return url_for("sign_off", number=view.job.number)
    if point.kind == "unmeasured" and point.place is not None:
        return url_for("show", code=view.new_code(view.teardown.items[point.place]))
    return place_address(view, point.place)


def place_address(view: JobView, ordinal: int | None) -> str | None:
    """Return the address of the card on which a place stands; None where it stands on none, or there is no place."""
    each = None if ordinal is None else view.teardown.items.get(ordinal)
    found = view.bin_holding(each) if each else None
    inside = ordinal if isinstance(each, Inside) else None
    return url_for("show", code=view.code(found), inside=inside) if found else None


def way_in(view: JobView, record: Record, each: Bin | Inside) -> tuple[str, bool]:
    """Return the address of the card on which a part goes in, and whether that is the card of its new one's sticker."""
    used_up = is_used_up(record, record.at(each.ordinal)) if isinstance(each, Bin) else each.ordinal in record.uses
    if not used_up and (address := place_address(view, each.ordinal)):
        return address, False
    return url_for("show", code=view.new_code(each)), True
