"""What was said of a new part that came, read: the acts it makes, how it differs, and what is wrong with it.

The page of a sticker and `labelkit scan` both come here, so that a delivery is recorded in one way.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from decimal import Decimal
from typing import Any, Final

from labelkit.bench.serials import lacks, note_of, unlike
from labelkit.bench.sources import source_of
from labelkit.bench.typed import figures_alike, whole
from labelkit.calc.arrivals import At
from labelkit.calc.fitsizes import set_with, unmeasured
from labelkit.calc.measured import measured_text, one_for_each
from labelkit.calc.newsizes import Size, difference, sizes_of
from labelkit.calc.placerecord import PlaceRecord
from labelkit.calc.record import Record
from labelkit.errors import UsageError
from labelkit.language import gettext as _
from labelkit.language import ngettext, speaking
from labelkit.model.catalogue import Catalogue
from labelkit.sheets import keptnotes
from labelkit.units import Quantity

SIZE: Final = "size-"
"""What the name of the field of a size begins with."""


LOOKED: Final = "looked-"
"""What the name of the tick begins with that it was looked at as the profile says of its points, by their number."""


@dataclass
class Delivery:
    """What was said of a part that came.

    Attributes:
        acts: kind and fields of each, as `model.events.act_of` takes them.
        differences: in English, as the record keeps it, what is not as it should be, by the name of its size.
        faults: what is wrong, by field.
        tells: what to say besides when it is kept.
    """

    acts: list[dict[str, Any]] = field(default_factory=list)
    differences: dict[str, str] = field(default_factory=dict)
    faults: dict[str, str] = field(default_factory=dict)
    tells: tuple[str, ...] = ()


def delivery(record: Record, ordinal: int, form: Mapping[str, str], catalogue: Catalogue) -> Delivery:
    """Return what was said of a new part.

    Args:
        record: of the job.
        ordinal: of the place it goes to.
        form: `do` (both, received, staged, back), `pieces`, `source` (order, shelf), `size-t` and so on, `serial`,
            `note`; `looked-0` and so on for the points of the profile, and `accept`: `yes` when it is the right part
            although it differs.
        catalogue: of the parts counter; without one nothing is on the shelf.
    """
    came, what = Delivery(), form.get("do", "both")
    measured: dict[str, tuple[Quantity, ...] | int] = {}
    pieces = form.get("pieces", "").strip()
    for size in sizes_of(record, ordinal):
        if typed := form.get(f"{SIZE}{size.name}", "").strip():
            _read(size, typed, came, measured, whole(pieces) or 1)
    came.faults |= _figures_left_out(measured, whole(pieces) or 0)
    checks = enumerate(record.at(ordinal).item.part.check)
    looked = [keptnotes.looked(each.look or each.measure or "") for k, each in checks if form.get(f"{LOOKED}{k}")]
    sent = _sent(record.at(ordinal), measured) if what == "back" else None
    # What goes back as the size that it is differs from nothing: of a stack each piece is another one.
    unlike_it = came.differences.values() if sent is None else ()
    told = note_of(form, before=(*unlike_it, *looked))
    if what == "back":
        if not told:
            came.faults["note"] = _("say why it goes back")
        if not pieces:
            came.faults["pieces"] = _("how many go back?")
        if not came.faults:
            came.acts.append({**_back(record, ordinal, pieces, sent), "why": told})
        return came
    came.faults |= unlike(record, ordinal, form, new=True)
    source = _source(record, ordinal, form, catalogue, came)
    if form.get("accept", "") != "yes":
        other = _of_another_number(record, ordinal) if source != "shelf" else ""
        differs = _("it differs: is it the right part all the same, or does it go back?") if came.differences else ""
        came.faults |= {f"{SIZE}{name}": keptnotes.said(words) for name, words in came.differences.items()}
        if other or differs:
            came.faults["accept"] = " ".join(filter(None, (other, differs)))
    if not pieces and what != "staged":
        came.faults["pieces"] = _("how many came?")
    try:
        line = measured_text(measured)
    except UsageError as error:
        line, most = "", max(measured, key=lambda name: len(form[f"{SIZE}{name}"]))
        came.faults[f"{SIZE}{most}"] = str(error)
    said = {"source": source, "measured": line, "note": told}
    if what in ("both", "received"):
        came.acts.append({"kind": "received", "pieces": pieces, **said})
    if what in ("both", "staged"):
        came.faults |= lacks(record, ordinal, form)
        known = "t" in measured or (what == "staged" and not unmeasured(record, ordinal))
        if (fits := set_with(record, ordinal)) and not known:
            unread = _("{fits} needs it: measure it before it lies ready")
            came.faults.setdefault(f"{SIZE}t", unread.format(fits=fits))
        came.acts.append({"kind": "staged", "pieces": pieces, **(said if what == "staged" else {})})
    return came


def _of_another_number(record: Record, ordinal: int) -> str:
    """Return that nothing of the numbers of a place is on its way, but of one that no list has since a revision."""
    needed = {use.number for uses in record.uses.values() for use in uses}
    mine = sorted({use.number for use in record.uses.get(ordinal, ()) if use.number})
    others = sorted(number for number, each in record.arrivals.items() if number not in needed and each.coming(0))
    if not mine or not others or any(record.arrivals_of(number).coming(0) for number in mine):
        return ""
    told = _(
        "nothing of {mine} is on its way, but of {others}, which no list has any more: look at the number on the piece"
        ". Is it the right part all the same, or does it go back?"
    )
    return told.format(mine=", ".join(mine), others=", ".join(others))


def _source(record: Record, ordinal: int, form: Mapping[str, str], catalogue: Catalogue, came: Delivery) -> str:
    """Return where pieces are from that were not counted before; note it as a fault where somebody has to say."""
    here, staged = record.received.get(ordinal, 0), form.get("do") == "staged"
    counted = record.count_new(ordinal, lambda lot: (lot.staged or 0) if staged else lot.came)
    more = counted + (whole(form.get("pieces", "").strip()) or 0) - here
    told, bag = form.get("source", ""), record.loose_for(ordinal)
    if told != "shelf" and 0 < bag < more:
        words = ngettext(
            "{more} more than was counted from the bag came now",
            "{more} more than were counted from the bag came now",
            more - bag,
        )
        came.tells = (words.format(more=more - bag),)
    try:
        return source_of(record, ordinal, more, told, catalogue)
    except UsageError as error:
        came.faults["source"] = str(error)
        return ""


def _figures_left_out(measured: Mapping[str, tuple[Quantity, ...] | int], pieces: int) -> dict[str, str]:
    """Return the fault of each size with several figures, but not one for each of several pieces."""
    wrong = _("found {count} figures for {pieces} pieces; allowed: one, or one for each")
    return {
        f"{SIZE}{name}": wrong.format(count=len(found), pieces=pieces)
        for name, found in measured.items()
        if isinstance(found, tuple) and 1 < pieces != len(found) > 1
    }


def _sent(place: PlaceRecord, measured: Mapping[str, tuple[Quantity, ...] | int]) -> Decimal | None:
    """Return the size, mm, of the graded pieces lying there which is what was measured of those that go back.

    None where nothing was measured, or none of that size is known to lie there.
    """
    read = measured.get("t")
    if place.grades is None or not isinstance(read, tuple):
        return None
    mean = sum((each.mm for each in read), Decimal(0)) / len(read)
    nearest = min(place.grades.series.thicknesses(), key=lambda size: abs(size - mean))
    lot = place.lot(nearest)
    return nearest if lot.lying > lot.new else None


def _back(record: Record, ordinal: int, pieces: str, sent: Decimal | None) -> dict[str, Any]:
    """Return the act of sending pieces back: those that are still to come first, then those that are here.

    What was measured is sent back as the size that it is. Else of several sizes those go back of which nobody knows it,
    under the number of that which they are taken for; where all of these are in, it is what lies there of a size that
    was chosen before.
    """
    place, uses = record.at(ordinal), record.uses.get(ordinal, ())
    count = whole(pieces) or 0
    mine, others = ([size for size in place.lots if place.wants(size) is wanted] for wanted in (True, False))
    here = sum(place.lot(size).lying for size in mine)
    to_come = max(max((use.pieces or 0 for use in uses), default=0) - here, 0)
    numbers = [use.number for use in uses if use.number]
    first = numbers[0] if numbers else place.item.part.number
    number = next((each for each in numbers if record.arrivals_of(each).kept), first)
    for each in numbers:
        at = At.of(place, each, [use for use in uses if use.number == each], ())
        number = at.formerly[-1] if at.former else number
    if place.grades and place.lot(None).lying and (taken := record.taken.get(ordinal)):
        number = place.grades.number(taken[0])
    left = [size for size in others if size and place.lot(size).lying]
    if sent is None and left and here + to_come <= sum(place.lot(size).new for size in mine):
        sent = left[-1]
    if place.grades and sent is not None:
        number, here, to_come = place.grades.number(sent), place.lot(sent).lying, 0
    return {
        "kind": "returned",
        "number": number,
        "pieces": pieces,
        "counted": str(min(max(count - to_come, 0), here)),
    }


def _read(size: Size, typed: str, came: Delivery, measured: dict[str, tuple[Quantity, ...] | int], pieces: int) -> None:
    """Read one size into what was measured; note what is wrong with it, or how it differs."""
    try:
        found = _count(typed, size) if size.counted else _lengths(typed, size)
    except UsageError as error:
        came.faults[f"{SIZE}{size.name}"] = str(error)
        return
    measured[size.name] = found
    with speaking("en"):
        words = difference(size, one_for_each(found, pieces) if size.stack and isinstance(found, tuple) else found)
    if words:
        came.differences[size.name] = words


def _count(typed: str, size: Size) -> int:
    if not (typed.isascii() and typed.isdigit() and len(typed) < 5):
        wrong = _('found "{typed}"; allowed: a number of {things}')
        raise UsageError(wrong.format(typed=typed[:20], things=_(size.words)))
    return int(typed)


def _lengths(typed: str, size: Size) -> tuple[Quantity, ...]:
    read = figures_alike(typed, size.unit)
    if bad := next((each for each in read if each.value <= 0), None):
        raise UsageError(_("found {size}; a {name} is more than 0").format(size=bad, name=_(size.words)))
    return read
