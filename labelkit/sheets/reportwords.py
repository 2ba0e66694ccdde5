"""What the report says of one reading, of one point, and of what is new in a place."""

from __future__ import annotations

from collections.abc import Iterator
from decimal import Decimal
from typing import Final

from labelkit.calc.figures import as_read
from labelkit.calc.limits import Limits
from labelkit.calc.measured import differences, measured_words
from labelkit.calc.oldandnew import came_here, old_replaced, still_counts
from labelkit.calc.openpoints import is_done, readings_wanted
from labelkit.calc.passes import Pass
from labelkit.calc.placerecord import PlaceRecord
from labelkit.calc.record import Record
from labelkit.calc.verdicts import VERDICT_WORDS, value_of
from labelkit.language import gettext as _
from labelkit.language import noop
from labelkit.model.acts import Deviation, Inspected, Installed, Received, Staged, TorqueSigned
from labelkit.model.events import Event
from labelkit.model.part import Check
from labelkit.model.readings import Reading
from labelkit.sheets import keptnotes, wording
from labelkit.units import Quantity

NOT_READ: Final = noop("not read")
# Lines of a cell stand below each other.
BREAK: Final = "\n"


def read_words(act: Reading, limits: Limits, *, mean: bool) -> str:
    """Return the figures of a reading as they were read, and the value that counts as all pages tell it."""
    figures = " ".join(str(as_read(Quantity(each, act.unit))) for each in act.values)
    if not mean and act.result is None:
        return f"{figures} {act.unit}"
    return f"{figures} {act.unit} = {value_of(act, limits)} {act.unit}"


def judged_words(place: PlaceRecord, number: int, check: Check) -> str:
    """Return what became of a point: inside, or outside and what was decided; the note of a verdict on it, too."""
    events = place.readings(number)
    last = events[-1].act if events else None
    if not isinstance(last, Reading):
        return _(NOT_READ)
    if not is_done(place, number, check):
        count = sum(len(e.act.values) for e in events if isinstance(e.act, Reading) and still_counts(place, e))
        return _("{count} of {wanted} read").format(count=count, wanted=readings_wanted(place, check))
    bad = [str(value) for value in last.values if not Limits(check.min, check.max).allow(value, last.unit)]
    decided = [e.act for e in place.events if e.number > events[-1].number]
    notes = (act.note for act in reversed(decided) if isinstance(act, Inspected) and act.check == number)
    note = keptnotes.said(next(notes, None))
    if not bad and last.verdict != "out":
        limited = check.min is not None or check.max is not None
        verdict = _("OK") if limited else _(VERDICT_WORDS[last.verdict or "no_limit"])
        return BREAK.join(filter(None, (verdict, note)))
    out = _(VERDICT_WORDS["out"])
    if any(isinstance(act, Deviation) or (isinstance(act, Inspected) and act.override) for act in decided):
        return out + BREAK + _("agreed, see deviations")
    if place.is_condemned:
        return out + BREAK + _("replaced")
    repaired = any(isinstance(act, Inspected) and act.verdict == "repair" for act in decided)
    return BREAK.join(filter(None, (out, _("repaired") if repaired else "", note)))


def tightened_words(act: TorqueSigned) -> str:
    """Return what was signed of a pass: `50 %: 30 N·m`, `60 N·m`, `90° further`."""
    torque = f"{act.torque} {act.unit}" if act.torque is not None else ""
    angle = _("{degrees}° further").format(degrees=act.angle) if act.angle is not None else ""
    figures = ", ".join(filter(None, (torque, angle))) or _("as wanted")
    return figures if act.share == 1 else f"{wording.plain(act.share * 100)} %: {figures}"


def wanted_figure(place: PlaceRecord, each: Pass) -> str:
    """Return to what a pass is tightened, as `tightened_words` says what was signed of it."""
    fasten = place.item.part.fasten
    if each.degrees is not None:
        return each.words
    if fasten is None or fasten.torque is None:
        return wording.not_recorded()
    torque = Decimal(wording.plain(fasten.torque.value * each.share))
    return tightened_words(TorqueSigned(torque=torque, unit=fasten.torque.unit, share=each.share))


def now_words(record: Record, place: PlaceRecord) -> str:
    """Return what lies in a place now: new, or the old part."""
    if place.item.ordinal in record.to_come_out:
        return _("THE OLD PART IS IN")
    if not place.is_in:
        return _("ready, not in") if place.staged is not None else _("not in")
    if place.is_condemned_in:
        return _("CONDEMNED, STILL IN")
    if not place.new:
        return _("THE OLD PART IS IN")
    some = place.placed is not None and place.new < place.placed
    now = _("{count} of {total} new").format(count=place.new, total=place.placed) if some else _("new")
    return BREAK.join((now, *_went_in(place)))


def size_now_words(record: Record, place: PlaceRecord, size: Decimal | None) -> str:
    """Return the same of the new pieces of one size of a stack, mm, with what these measure; None: nobody knows it."""
    lot, grades = place.lot(size), place.grades
    if grades is None or place.is_condemned_in or place.item.ordinal in record.to_come_out:
        return now_words(record, place)
    if not (place.is_in and lot.new):
        return _("ready, not in") if lot.staged is not None else _("not in")
    installs = [e for e in place.events if e.number >= place.since and isinstance(e.act, Installed) and e.act.new]
    each = ((read, e.number) for e in installs if isinstance(e.act, Installed) for read in e.act.sizes)
    read = " + ".join(str(mm) for mm, number in each if size is not None and grades.nearest(mm, number) == size)
    return BREAK.join(filter(None, (_("new"), f"{read} mm" if read else "")))


def _went_in(place: PlaceRecord) -> Iterator[str]:
    """Yield the measured sizes and the serial numbers of the new pieces that are in."""
    came = list(_came(place))
    yield from came
    # What went in before it last came out is of another one, where a new one was in.
    since = place.since if any(isinstance(e.act, Installed) and e.act.new for e in _before(place)) else 0
    events = [event for event in place.events if event.number >= since]
    for sizes in (e.act.sizes for e in events if isinstance(e.act, Installed) and e.act.new and e.act.sizes):
        told = f"{' + '.join(map(str, sizes))} mm"
        if not any(told in line for line in came):
            yield told
    for serial in dict.fromkeys(keptnotes.serials_of(events, new=True)):
        yield _("serial {serial}").format(serial=serial)


def _came(place: PlaceRecord) -> Iterator[str]:
    """Yield what the new pieces measured as they came, and how they differ, or that they were looked at."""
    for act in (event.act for event in reversed([*came_here(place)])):
        if isinstance(act, Received | Staged) and act.measured:
            measured = measured_words(act.measured, place.item.part, keptnotes.said(act.note))
            yield from filter(None, (measured, *map(keptnotes.said, differences(act.note))))
        elif looked := keptnotes.looked_in(act.note):
            yield looked


def _before(place: PlaceRecord) -> list[Event]:
    return [event for event in place.events if event.number < place.since]


def marks_words(record: Record) -> str:
    """Return the serial numbers and pair marks of the parts that came out, by step; empty where nobody wrote one.

    Of a part that is renewed it is the new one's, with that of the old one beside it.
    """
    return "; ".join(f"{place.name}: {told}" for place in record.places.values() if (told := _marks(place)))


def _marks(place: PlaceRecord) -> str:
    old, new = (", ".join(dict.fromkeys(keptnotes.serials_of(place.events, new=new))) for new in (False, True))
    if old_replaced(place) == 0 or not old:
        return old
    return _("{new} (the old part had {old})").format(new=new or wording.not_recorded(), old=old)
