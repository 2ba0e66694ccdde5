"""Other numbers of pieces than the profile has, and pieces that nobody counted.

What came out may be another version of the unit, and one that is missing may lie in it, so that is asked about; what
goes in is never more than there is room for, so that is refused.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from typing import Final

from labelkit.calc.newpieces import REJECTED
from labelkit.calc.oldandnew import has_some_new
from labelkit.calc.placerecord import PlaceRecord
from labelkit.calc.record import Record
from labelkit.calc.renewal import pieces_of
from labelkit.calc.steps import Bin, Inside
from labelkit.language import gettext as _
from labelkit.language import noop
from labelkit.model.act import Act
from labelkit.model.acts import Condemned, Deviation, Installed, Received, Returned, Staged, rejects_new
from labelkit.model.part import Part

_TOO_MANY: Final[Mapping[type[Act], str]] = {
    Received: noop(
        "{part}: {count} new would be here, and {most} go in. "
        "Allowed now: {left} here, the rest by its number on the parts page"
    ),
    Staged: noop("{part}: {count} new would lie ready, and {most} go in. Allowed now: {left}"),
    Returned: noop("{part}: {count} new would go back, and no more than {most} came. Allowed now: {left}"),
    Installed: noop("{part}: {count} would be in, and there are {most}. Allowed now: {left}"),
    Condemned: noop("{part}: {count} would be condemned, and there are {most}. Allowed now: {left}"),
}


def too_many(record: Record, place: PlaceRecord, act: Act) -> str:
    """Return that an act counts more pieces than there can be, and how many there may; empty where it does not."""
    told, pieces = _TOO_MANY.get(type(act)), getattr(act, "pieces", None)
    if told is None or pieces is None:
        return ""
    before, most = _room(record, place, act)
    if not most or before + pieces <= most:
        return ""
    return _(told).format(part=place.name, count=before + pieces, most=most, left=most - before)


def _room(record: Record, place: PlaceRecord, act: Act) -> tuple[int, int]:
    """Return how many pieces were counted before an act, and how many there can be; 0 where nobody can say."""
    wanted = pieces_of(record.uses.get(place.item.ordinal, ()))
    there = max(place.expected or wanted, place.count or 0)
    if isinstance(act, Returned):
        known = record.arrivals_of(act.number)
        return 0, max(there, known.kept, known.loose) if there else 0
    if isinstance(act, Installed):
        placed = 0 if place.is_in else place.placed or 0
        if 0 < wanted < (place.expected or 0):  # some are new: no more than these, and no more old ones than the rest
            return (place.new, wanted) if act.new else (max(placed - place.new, 0), there - wanted)
        return placed, there
    if isinstance(act, Condemned):
        if act.new and not place.is_in:
            return 0, sum(lot.here for size, lot in place.lots.items() if act.size in (None, size))
        before = place.finding.pieces if place.finding and place.is_condemned else None
        return 0 if place.staged is not None or place.new else before or 0, there
    if not there:
        return 0, 0
    if isinstance(act, Staged):
        return place.staged or 0, wanted if 0 < wanted < (place.expected or 0) else max(there, wanted)
    # Those of a size that was chosen before are not in their way.
    lots = record.lots(place.item.ordinal)
    told = (sum(lot.counted(kind, place.since) for lot in lots) for kind in ("received", "returned", REJECTED))
    came, back, gone = told
    return max(came - back - gone, 0), max(there, wanted)


def none_to_reject(place: PlaceRecord, act: Act) -> str:
    """Return that new pieces are condemned of which none is here; empty where some are."""
    if not rejects_new(act) or place.is_in or has_some_new(place):
        return ""
    told = _(
        "{part}: no new one is here. Allowed now: receive it first; the old one is condemned by the label of its bin"
    )
    return told.format(part=place.name)


def left_text(record: Record, place: PlaceRecord, act: Installed) -> str:
    """Return that fewer pieces of a set go in than came out, though no others were chosen; empty where all do."""
    pieces, chosen = act.pieces or len(act.sizes), record.chosen.get(place.item.ordinal)
    if place.expected is not None or place.count is None or act.new or chosen or place.is_condemned:
        return ""
    told = _("{part}: {count} came out, in again: {pieces}. Where is the rest?")
    return told.format(part=place.name, count=place.count, pieces=pieces) if 0 < pieces < place.count else ""


def not_there(record: Record, place: PlaceRecord) -> int:
    """Return how many pieces of a place are neither there nor to come new, while nobody has decided on it."""
    ordinal = place.item.ordinal
    if place.count is None or place.expected is None or record.is_thrown_away(ordinal):
        return 0
    if not count_question(record, place):
        return 0
    condemned = place.finding.pieces or 0 if place.finding and place.is_condemned else 0
    new = max(record.received.get(ordinal, 0), pieces_of(record.uses.get(ordinal, ())))
    return max(place.expected - (place.count - condemned) - new, 0)


def count_question(record: Record, place: PlaceRecord) -> str:
    """Return what to ask when another number came out than the profile has, or nobody counted how many did.

    Empty when it is right, or decided on. That all of them go in counts none: nobody said how many lay there.
    """
    if place.expected is None or place.count == place.expected or (place.count is None and not place.is_uncounted):
        return ""
    if place.is_lost or any(isinstance(e.act, Deviation) and e.number >= place.since for e in place.events):
        return ""
    if place.count is None:
        told = _("{part}: nobody has counted what came out, the profile has {expected}: count it, or note a deviation")
        return told.format(part=place.name, expected=place.expected)
    return count_text(record, place.item, place.count)


def count_text(record: Record, item: Bin | Inside, count: int) -> str:
    """Return the question for a count that is not the profile's: it may be the sign of another version of the unit."""
    name, expected = item.part.name, item.part.qty
    for group, choice, other in _versions(record, item.part):
        if other.qty == count:
            option = record.profile.options[group]
            told = _(
                "{part}: {count} came out, the profile has {expected}; {version} would have {count}: is the option set "
                "right? {option}: {tell}; if so set {setting} and print the label again"
            )
            return told.format(
                part=name,
                count=count,
                expected=expected,
                version=option.choices[choice],
                option=option.name,
                tell=option.tell or _("look again"),
                setting=f"{group}={choice}",
            )
    if count < int(expected):
        told = _(
            "{part}: {count} came out, the profile has {expected}: look where the others are, record them as lost, "
            "so that new ones are ordered ({form}), or note a deviation"
        )
    else:
        told = _(
            "{part}: {count} came out, the profile has {expected}: look where the others belong, or note a deviation"
        )
    return told.format(part=name, count=count, expected=expected, form=lost_form())


def lost_form() -> str:
    """Return what the form is called by which pieces that are not there are renewed."""
    return _("Condemn pieces, or lost")


def _versions(record: Record, part: Part) -> Iterator[tuple[str, str, Part]]:
    """Yield the same part in other versions: group, choice and the entry of the profile."""
    for other in (part for _place, part in record.profile.walk()):
        same = part.number is not None and other.number == part.number
        if other.id == part.id or not same or len(other.only) != 1 or other.only.keys() != part.only.keys():
            continue
        for group, wanted in other.only.items():
            choice = wanted if isinstance(wanted, str) else wanted[0]
            if choice != record.teardown.chosen.get(group):
                yield group, choice, other
