"""What is still open in a job: all that stops its signature, what to measure now, what must be out before the wash."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from decimal import Decimal
from typing import Final, Literal

from labelkit.calc.assembly import partners
from labelkit.calc.fingerprint import Link, suspects
from labelkit.calc.limits import Limits
from labelkit.calc.placerecord import PlaceRecord
from labelkit.calc.record import FitRecord, Record
from labelkit.calc.selective import Thicker
from labelkit.calc.showing import USUAL_SHOW
from labelkit.calc.steps import Bin, Inside
from labelkit.language import gettext as _
from labelkit.language import ngettext
from labelkit.model.acts import Deviation, FitChosen, Inspected, Reading
from labelkit.model.part import Check, Part
from labelkit.model.profile import Fit
from labelkit.units import FACTORS, Quantity

Kind = Literal[
    "option", "stray", "hold", "not_out", "count", "not_empty", "not_verified", "torque", "check", "limit", "fit"
]
# How far a play may be from what was predicted where the fit states no spread, mm. Common practice, no source.
_NEAR: Final = Decimal("0.05")


@dataclass(frozen=True, slots=True)
class Open:
    """One point that is open.

    Attributes:
        kind: of the point.
        text: a line for people.
        place: the ordinal of the place it is about; None: the job.
        fit: id of the fit it is about.
    """

    kind: Kind
    text: str
    place: int | None = None
    fit: str | None = None


def open_points(record: Record) -> tuple[Open, ...]:
    """Return everything that stops the signature: of the job, then of each place, then of the fits."""
    return (
        *_of_the_job(record),
        *(point for place in record.places.values() for point in place_points(record, place)),
        *(point for name in record.fits for point in fit_points(record, name)),
    )


def not_empty(record: Record) -> tuple[PlaceRecord, ...]:
    """Return the places of which something still lies on the bench."""
    return tuple(place for place in record.places.values() if place.is_out)


def next_out(record: Record) -> Bin | None:
    """Return the bin that comes out next, the first of which nothing is recorded; None: none is left."""
    for each in record.teardown.bins:
        if record.at(each.ordinal).stage == "in_unit":
            return each
    return None


def before_teardown(record: Record) -> tuple[str, ...]:
    """Return the fits that are read while the unit is together and have no reading of that time."""
    return tuple(
        name
        for name, fit in record.fits.items()
        if fit.before is None and record.profile.fits[name].kind in ("end_play", "preload")
    )


def still_readable(record: Record) -> tuple[str, ...]:
    """Return those of them that can still be read: nothing that ends it has come out."""
    ends = {name: opened_by(record, name) for name in before_teardown(record)}
    return tuple(name for name, end in ends.items() if end is None or record.at(end.ordinal).stage == "in_unit")


def opened_by(record: Record, name: str) -> Bin | None:
    """Return what may not come out before a fit is read: its first part, or the whole that this comes out in."""
    fit = record.profile.fits[name]
    parts = [each for part in (fit.set_by, *fit.chain, fit.of) if part for each in record.teardown.of(part)]
    first = min(parts, key=lambda each: record.teardown.places[each.step], default=None)
    while first and first.parent:
        first = record.teardown.at(first.parent)
    return first


def measure_now(record: Record, ordinal: int) -> tuple[tuple[int, Check], ...]:
    """Return the points of a part that can be judged only while it comes apart, and have not been, by number."""
    place = record.at(ordinal)
    return tuple(
        (number, check)
        for number, check in enumerate(place.item.part.check)
        if check.at in ("removal", "apart") and not is_done(place, number, check)
    )


def before_wash(record: Record) -> tuple[PlaceRecord, ...]:
    """Return the parts that must be out and counted before the wash, and are not."""
    return tuple(
        place for place in record.places.values() if place.item.part.wash == "before" and not _is_bagged(place)
    )


def hosts(record: Record, item: Bin | Inside) -> frozenset[int]:
    """Return the places a small part may lie in: what it lies on or comes out with, and its sub-assembly."""
    found = set()
    part = item.part
    for name in (part.sits.on if part.sits else None, part.out.together if part.out else None):
        if name is not None and isinstance(item, Bin):
            found |= {other.ordinal for other in partners(record.teardown, item, name)}
    above = item.parent
    while above is not None:
        parent = record.teardown.at(above)
        found.add(parent.ordinal)
        above = parent.parent
    return frozenset(found)


def _is_bagged(place: PlaceRecord) -> bool:
    if place.stage in ("in_unit", "removed"):
        return False
    lost = place.finding is not None and place.finding.verdict == "lost"
    short = place.expected is not None and place.count is not None and place.count < place.expected
    return place.is_done or place.stage in ("installed", "staged") or not short or lost


def _of_the_job(record: Record) -> Iterator[Open]:
    for group, choice in record.teardown.chosen.items():
        option, seen = record.profile.options[group], record.options_seen.get(group)
        if choice is None:
            told = _("{option} is still open: {tell}") if option.tell else _("{option} is still open")
            yield Open("option", told.format(option=option.name, tell=option.tell))
        elif seen is not None and getattr(seen.act, "choice", None) not in (None, choice):
            found = option.choices.get(str(getattr(seen.act, "choice", "")), _("something else"))
            told = _("{option}: {who} saw {found}, the job is set to {choice}").format(
                option=option.name, who=seen.who, found=found, choice=option.choices[choice]
            )
            yield Open("option", told)
    for stray in {event.place: event for event in record.strays}.values():
        told = _(
            "event {number} by {who} is of a part that the options leave out: "
            "correct it, and record it again at the right bin"
        )
        yield Open("stray", told.format(number=stray.number, who=stray.who))
    for hold in record.holds:
        yield Open("hold", _("on hold by {who}: {why}").format(who=hold.who, why=getattr(hold.act, "why", "")))


def place_points(record: Record, place: PlaceRecord) -> Iterator[Open]:
    """Yield what is open about one place."""
    ordinal, name = place.item.ordinal, place.name
    for hold in place.holds:
        told = _("{part} is on hold by {who}: {why}")
        yield Open("hold", told.format(part=name, who=hold.who, why=getattr(hold.act, "why", "")), ordinal)
    if place.stage == "in_unit":
        told = _("{part}: nobody recorded that it came out or was left in")
        yield Open("not_out", told.format(part=name), ordinal)
        return
    if counted := count_question(record, place):
        yield Open("count", counted, ordinal)
    if place.is_out:
        yield Open("not_empty", left_text(place), ordinal)
    elif place.stage == "installed":
        yield Open("not_verified", _("{part} is in, but nobody has verified it").format(part=name), ordinal)
    fasten = place.item.part.fasten
    if fasten and fasten.torque and place.stage in ("installed", "verified") and place.torque is None:
        told = _("{part}: the torque, {torque}, is not signed")
        yield Open("torque", told.format(part=name, torque=fasten.torque), ordinal)
    yield from _checks(place)


def left_text(place: PlaceRecord) -> str:
    """Return what of a bin lies on the bench: `19 Thrust race: 1 of 2 is in, 1 lies in the bin`."""
    whole = place.expected
    if whole is not None and place.placed:
        left = whole - place.placed
        told = ngettext(
            "{part}: {count} of {whole} is in, {left} not",
            "{part}: {count} of {whole} are in, {left} not",
            place.placed,
        )
        return told.format(part=place.name, count=place.placed, whole=whole, left=left)
    return _("{part}: the bin is not empty").format(part=place.name)


def _checks(place: PlaceRecord) -> Iterator[Open]:
    """Yield the points of a part that nobody has judged, and those outside their limits that nobody has decided on."""
    part, renewed = place.item.part, place.finding is not None and place.finding.verdict != "ok" and place.new
    gone = place.finding is not None and place.finding.verdict != "ok" and place.finding.pieces is None
    for number, check in enumerate(part.check):
        at_end = check.at == "assembled"
        if not at_end and (place.stage == "left_in" or gone or renewed or (part.one_time and place.new)):
            continue
        what = check.look or check.measure or ""
        if not is_done(place, number, check):
            yield Open("check", f"{place.name}: {what}", place.item.ordinal)
        elif outside := _outside(place, number, check):
            told = _("{part}: {what}: {outside}; replace, repair or agree on it")
            yield Open("limit", told.format(part=place.name, what=what, outside=outside), place.item.ordinal)


def is_done(place: PlaceRecord, number: int, check: Check) -> bool:
    """Say whether a point was looked at, or read as often as is wanted."""
    inspected = any(
        isinstance(e.act, Inspected) and (e.act.check == number and e.act.verdict != "ask") for e in place.events
    )
    if check.look is not None:
        return inspected
    acts = [e.act for e in place.readings(number)]
    values = sum(len(act.values) for act in acts if isinstance(act, Reading))
    wanted = (check.each or 1) * (check.readings or 1)
    return inspected or values >= wanted or (values > 0 and wanted == 1)


def _outside(place: PlaceRecord, number: int, check: Check) -> str:
    """Return which of the last readings of a point is outside its limits; empty when none is, or it was decided on."""
    last = next(iter(reversed(place.readings(number))), None)
    if last is None or not isinstance(last.act, Reading):
        return ""
    decided = (Inspected, Deviation)
    if any(e.number > last.number and isinstance(e.act, decided) for e in place.events):
        return ""
    if place.finding is not None and place.finding.verdict != "ok":
        return ""
    bad = [str(value) for value in last.act.values if not within(check, value, last.act.unit)]
    if not bad and last.act.verdict != "out":
        return ""
    read = f"{', '.join(bad) or last.act.value} {last.act.unit}"
    if check.min and check.max:
        told = _("read {read}, allowed {low} to {high}")
    elif check.min:
        told = _("read {read}, allowed at least {low}")
    else:
        told = _("read {read}, allowed at most {high}") if check.max else _("read {read}, allowed less")
    return told.format(read=read, low=check.min, high=check.max)


def within(check: Check, value: Decimal, unit: str) -> bool:
    """Say whether a value is inside the limits of a point, both ends allowed, compared unrounded.

    A value in a unit that the limits cannot be compared with is outside of none: a person judges it.
    """
    limits = [limit for limit in (check.min, check.max) if limit is not None]
    if unit not in FACTORS or any(limit.kind != FACTORS[unit][0] for limit in limits):
        return True
    return not Limits(check.min, check.max).beyond(Quantity(value, unit).base)


def fit_points(record: Record, name: str) -> Iterator[Open]:
    """Yield what is open about a fit: not read after the assembly, outside its target, or not as predicted."""
    fit, seen = record.profile.fits[name], record.fits[name]
    words = name.replace("-", " ")
    if not _is_there(record, fit):
        return
    if seen.after is None or not isinstance(seen.after.act, Reading):
        if not _untouched(record, fit):
            yield Open("fit", _("{fit} is not read after the assembly").format(fit=words), fit=name)
        return
    act = seen.after.act
    if act.verdict in ("out", "none", "refused", "ask") or not _on_target(fit, act):
        told = _("{fit} is {value}, the target is {low} to {high}")
        low, high = fit.target
        yield Open("fit", told.format(fit=words, value=f"{act.value} {act.unit}", low=low, high=high), fit=name)
    if hint := not_as_predicted(record, fit, seen):
        yield Open("fit", f"{words}: {hint}", fit=name)


def _on_target(fit: Fit, act: Reading) -> bool:
    low, high = fit.target
    if act.unit not in FACTORS or FACTORS[act.unit][0] != low.kind:
        return True
    return not Limits(low, high).beyond(Quantity(act.value, act.unit).base)


def _members(record: Record, fit: Fit) -> list[PlaceRecord]:
    parts = dict.fromkeys(filter(None, (fit.set_by, fit.of, *fit.chain)))
    return [record.at(each.ordinal) for part in parts for each in record.teardown.of(part)]


def _is_there(record: Record, fit: Fit) -> bool:
    return bool(_members(record, fit))


def _untouched(record: Record, fit: Fit) -> bool:
    return all(place.stage == "left_in" for place in _members(record, fit))


def not_as_predicted(record: Record, fit: Fit, seen: FitRecord) -> str:
    """Return what a play that is not as predicted looks like: a part of the chain that is missing, or there twice.

    Only a hint. Tolerance: the fit's spread, else 0.05 mm. Empty when it is as predicted, or nothing was.
    """
    if seen.chosen is None or seen.after is None:
        return ""
    chosen, after = seen.chosen.act, seen.after.act
    if not isinstance(chosen, FitChosen) or not isinstance(after, Reading) or chosen.predicted is None:
        return ""
    if fit.kind == "preload" or "length" not in (kinds := _kinds(chosen.unit, after.unit)) or len(kinds) > 1:
        return ""
    measured, predicted = Quantity(after.value, after.unit), Quantity(chosen.predicted, chosen.unit)
    off = measured.mm - predicted.mm
    near = fit.spread.mm if fit.spread is not None else _NEAR
    if abs(off) <= near:
        return ""
    hints = [each.words(USUAL_SHOW) for each in suspects(off, tuple(_chain(record, fit, chosen)), near)]
    told = _("measured {measured}, predicted {predicted}: difference {off}").format(
        measured=measured, predicted=predicted, off=f"{off:+} mm"
    )
    return f"{told}; {hints[0]}" if hints else told


def _kinds(*names: str) -> set[str]:
    return {FACTORS[name][0] if name in FACTORS else "" for name in names}


def _chain(record: Record, fit: Fit, chosen: FitChosen) -> Iterator[Link]:
    """Yield the thin parts of a fit's chain: graded ones with the sizes that were chosen."""
    thicker: Thicker = fit.thicker or "reduces"
    for part in (part for _place, part in record.profile.walk() if part.id in {fit.set_by, *fit.chain}):
        size = getattr(part.form, "t", None)
        if part.series is not None:
            yield from (Link(part.name, Quantity(each, chosen.unit).mm, thicker) for each in chosen.sizes)
        elif isinstance(size, Quantity):
            yield Link(part.name, size.mm, thicker)


def count_question(record: Record, place: PlaceRecord) -> str:
    """Return what to ask when another number came out than the profile has; empty when it is right, or decided on."""
    if place.count is None or place.expected is None or place.count == place.expected:
        return ""
    if place.finding is not None and place.finding.verdict == "lost":
        return ""
    if any(isinstance(e.act, Deviation) and e.number >= place.since for e in place.events):
        return ""
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
        told = _("{part}: {count} came out, the profile has {expected}: look where the others are, or note a deviation")
    else:
        told = _(
            "{part}: {count} came out, the profile has {expected}: look where the others belong, or note a deviation"
        )
    return told.format(part=name, count=count, expected=expected)


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
