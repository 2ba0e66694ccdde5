"""Hints at sizes of two parts that do not go together: rings, keys, bearings, gears and screws."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from typing import Final

from labelkit import forms
from labelkit.calc.onshaft import groove_thickness, has_groove, key_section, known_key, reach, standard_of
from labelkit.calc.seating import seating
from labelkit.calc.seatingfit import missing_step
from labelkit.forms.shapes import mm
from labelkit.load.companions import Entry
from labelkit.model.form import Body, Drum, Gear, Hub, Piston, Shaft, Toothed, size
from labelkit.model.formbase import Form
from labelkit.model.hardwareform import Bolt, Key, Threaded
from labelkit.model.ringform import Annular, ORing, Ring, Sleeve, SnapRing, TaperCone, TaperCup
from labelkit.sheets.hints.subject import Found, Rule, Subject, at

# Sizes that differ by less are one, mm: fits are written in whole figures.
_SAME: Final = 0.3
# Of a screw's diameter that must at least be in the thread. Common practice, no source.
_ENGAGED: Final = 0.5


def seats_disagree(subject: Subject) -> Iterator[Found]:
    """Parts that are pushed onto what they lie on, in any version, do not come home; told of a part once."""
    told: set[str] = set()
    for removal, order in subject.versions:
        for found in seating(removal, order).disagreements:
            if found.part not in told:
                told.add(found.part)
                yield at(subject.known[found.part], "sits", "on"), found.text


def shut_in(subject: Subject) -> Iterator[Found]:
    """A part that came out before the lid of its housing is shut out of it by the plain reverse.

    Looked at are round parts that lie in an open drum, wider than the bore of its floor and than the hole of what
    closes its mouth, in the order of assembly of each version.
    """
    found = [(*both, drum) for drum in subject.entries for both in _closed(subject, drum)]
    told: set[str] = set()
    for _, order in subject.versions if found else ():
        places = {each.part.id: place for place, each in enumerate(order)}
        for inner, lid, drum in found:
            name, its = inner.part.id, lid.part.id
            if name in told or places.get(its, len(places)) > places.get(name, -1):
                continue
            told.add(name)
            yield (
                at(inner, "sits", "on"),
                f"{name} lies inside {drum.part.id}, and {its}, which closes it, goes in before: it is shut out; write "
                f"under assembly: {{first: {name}, then: {its}, because: ...}}, or list {its} before {name}",
            )


def _closed(subject: Subject, drum: Entry) -> Iterator[tuple[Entry, Entry]]:
    """Yield what lies inside a drum that opens upwards with what closes its mouth and came out after it."""
    form, sits = drum.part.form, drum.part.sits
    if not isinstance(form, Drum) or sits is None or sits.opens != "up":
        return
    room, bore = mm(form.od) / 2 - mm(form.wall), mm(form.bore) / 2 if form.bore else 0.0
    resting = [
        (each, forms.section(each.part.form)) for each in subject.resting.get(drum.part.id, ()) if each.part.form
    ]
    for inner, its in resting:
        # What is screwed on stands outside, and screws stand off the axis.
        part = inner.part
        if isinstance(part.form, Threaded) or part.screwed or not its.axial or not bore + _SAME < its.reach <= room:
            continue
        for lid, cover in resting:
            if cover.axial and cover.reach > room and cover.bore < its.reach and inner.number < lid.number:
                yield inner, lid


def ring_thickness(subject: Subject) -> Iterator[Found]:
    """A ring as thick as no regular ring of its diameter does not go into the groove, or rattles in it.

    Graded rings have a thickness of their own, and those whose name says that they are heavy a groove of their own.
    """
    for entry in subject.entries:
        form = entry.part.form
        if not isinstance(form, SnapRing) or entry.part.series or "heavy" in entry.part.name.lower():
            continue
        sizes = groove_thickness(form)
        if sizes is None or abs(mm(form.t) - sizes[0]) <= 0.05:
            continue
        thick, wide = sizes
        what = "does not go into it" if mm(form.t) > wide else "has play in it"
        yield (
            at(entry, "form"),
            f"{standard_of(form)} makes the ring for a {form.fits} of {form.d} {_mm(thick)} thick, for a groove of "
            f"{_mm(wide)}; this one of {form.t} {what}: measure it and correct t: or d:; a ring of the heavy row says "
            f"heavy in its name",
        )


def ring_holds_nothing_of_its_size(subject: Subject) -> Iterator[Found]:
    """What the ring lies against must pass over the shaft, or through the bore, and not over the ring."""
    for entry, ring, seat in subject.lying(SnapRing):
        against, stands_out, d = seat.part.form, reach(ring), mm(ring.d)
        if against is None:
            continue
        # In a drum and round a shaft it may lie beside the bore.
        round_it = isinstance(against, Annular | Sleeve | Body) and not isinstance(against, Drum | Shaft)
        if ring.fits == "shaft" and round_it:
            hole = size(against, "id", "bore")
            wrong = hole and (d > mm(hole) + _SAME or (stands_out is not None and stands_out <= mm(hole)))
        elif ring.fits == "bore" and isinstance(against, Annular | Sleeve | Piston):
            hole = size(against, "od")
            wrong = hole and (d < mm(hole) - _SAME or (stands_out is not None and stands_out >= mm(hole)))
        else:
            continue
        if wrong:
            way = "inside" if ring.fits == "shaft" else "outside"
            out = f", stands out to {_mm(stands_out)} in its groove ({standard_of(ring)})" if stands_out else ""
            yield (
                at(entry, "form"),
                f"the ring for a {ring.fits} of {ring.d}{out} and cannot hold {seat.part.id}, {hole} {way}: correct d: "
                f"or the size of {seat.part.id}, or name in sits.on what the ring lies against",
            )


def ring_without_groove(subject: Subject) -> Iterator[Found]:
    """A shaft that has no step of the ring's diameter has no groove for it either."""
    for entry, ring, seat in subject.lying(SnapRing):
        if ring.fits != "shaft":
            continue
        below = seat if isinstance(seat.part.form, Shaft) else subject.seat(seat)
        if below and isinstance(below.part.form, Shaft) and not has_groove(below.part.form, ring):
            steps = ", ".join(f"{d.value:f}" for d, _ in below.part.form.steps)
            yield (
                at(entry, "form"),
                f"no step of {below.part.id} ({steps}) is {ring.d}, nor the groove of such a ring by DIN 471: there is "
                f"nothing for the ring to sit in; correct d: or the steps:",
            )


def bore_too_small(subject: Subject) -> Iterator[Found]:
    """What goes round a shaft passes over one of its ends."""
    for entry, form, seat in subject.lying(Form):
        shaft = seat.part.form
        if not isinstance(form, Sleeve | Gear | Hub) or not isinstance(shaft, Shaft) or missing_step(form, shaft):
            continue
        bore, steps = size(form, "id", "bore"), shaft.steps
        if bore and min(mm(steps[0][0]), mm(steps[-1][0])) > mm(bore) + _SAME:
            yield (
                at(entry, "form"),
                f"{entry.part.id} has a bore of {bore} and goes over neither end of {seat.part.id}, {steps[0][0]} and "
                f"{steps[-1][0]}: correct the bore or the steps:, or name in sits.on what it lies on",
            )


def outside_too_large(subject: Subject) -> Iterator[Found]:
    """What is put into a housing is smaller than the housing."""
    for entry, form, seat in subject.lying(Form):
        its = seat.part.form
        if form.stands not in ("bore", "either") or not isinstance(its, Body) or its.uncut:
            continue
        section = forms.section(its)
        outside, inside, reaches = size(form, "od"), size(form, "id"), 2 * section.reach
        # A bearing may go round a hub instead.
        if section.round and outside and inside and mm(outside) >= reaches and mm(inside) < reaches - _SAME:
            yield (
                at(entry, "form"),
                f"{entry.part.id} is {outside} outside and cannot sit in {seat.part.id}, which is {_mm(reaches)} in "
                f"all: correct od:, or the size of {seat.part.id}",
            )


def cone_and_cup(subject: Subject) -> Iterator[Found]:
    """The rollers of a cone run in its cup: larger than the cup's small end, smaller than the cup."""
    for entry, other in _pairs(subject):
        cone, cup = entry.part.form, other.part.form
        if isinstance(cone, TaperCone) and isinstance(cup, TaperCup) and not cup.id.mm < cone.od.mm < cup.od.mm:
            yield (
                at(entry, "form"),
                f"{entry.part.id} is {cone.od} over its rollers and is matched with {other.part.id}, {cup.id} inside "
                f"and {cup.od} outside: they cannot run in it; correct od: of the cone, which is "
                f"measured over the rollers and is not that of the whole bearing",
            )


def module_differs(subject: Subject) -> Iterator[Found]:
    """Gears of different modules do not mesh, whatever else is right."""
    for entry, other in _pairs(subject):
        one, two = entry.part.form, other.part.form
        if not isinstance(one, Toothed) or not isinstance(two, Toothed):
            continue
        if one.module.mm != two.module.mm and entry.number < other.number:
            yield (
                at(entry, "form"),
                f"{entry.part.id} has module {one.module} and {other.part.id}, with which it is matched, {two.module}: "
                f"they do not mesh; measure over the teeth: tip diameter = module x (teeth + 2)",
            )


def _pairs(subject: Subject) -> Iterator[tuple[Entry, Entry]]:
    for entry in subject.entries:
        yield from ((entry, subject.known[name]) for name in entry.part.pair if name in subject.known)


def screw_through_ring(subject: Subject) -> Iterator[Found]:
    """A washer, seal or lock plate under a head has the screw through it."""
    for entry in subject.entries:
        seat = subject.seat(entry)
        for screw, ring in ((entry, seat), (seat, entry)):
            if screw is None or ring is None:
                continue
            d, form = screw.part.form, ring.part.form
            if isinstance(d, Threaded) and isinstance(form, Ring) and mm(form.id) < mm(d.d) - _SAME:
                yield (
                    at(ring, "form"),
                    f"{ring.part.id} has a hole of {form.id}; {screw.part.id} of {d.d} does not pass through it: "
                    f"correct id: or d:",
                )


def screw_too_short(subject: Subject) -> Iterator[Found]:
    """A screw through a flange needs length for its thread, too."""
    for entry, screw, seat in subject.lying(Bolt):
        flange = seat.part.form.flange_t if isinstance(seat.part.form, Hub) else None
        if flange and mm(screw.l) < mm(flange) + _ENGAGED * mm(screw.d):
            yield (
                at(entry, "form"),
                f"{entry.part.id} is {screw.l} long and goes through a flange of {flange}: less than half its diameter "
                f"is left for the thread; measure l: under the head, and flange_t: of {seat.part.id}",
            )


def key_off_standard(subject: Subject) -> Iterator[Found]:
    """A parallel key has the section that its shaft asks for."""
    for entry in subject.entries:
        key, seat = entry.part.form, subject.seat(entry)
        if not isinstance(key, Key):
            continue
        shaft = seat.part.form if seat else None
        if not known_key(key):
            said = f"DIN 6885-1 has no key of {key.b} x {key.h}"
        elif isinstance(shaft, Shaft) and all(
            (key_section(mm(d)) or (mm(key.b), 0))[0] != mm(key.b) for d, _ in shaft.steps
        ):
            said = f"by DIN 6885-1 no step of {seat.part.id if seat else ''} takes a key {key.b} wide"
        else:
            continue
        yield at(entry, "form"), f"{said}: measure width b: and height h: again, or say in the name that it is special"


def key_too_long(subject: Subject) -> Iterator[Found]:
    """A key lies on one step of its shaft."""
    for entry, key, seat in subject.lying(Key):
        if isinstance(seat.part.form, Shaft):
            longest = max(length.mm for _, length in seat.part.form.steps)
            if key.l.mm > longest:
                yield (
                    at(entry, "form"),
                    f"{entry.part.id} is {key.l} long and lies on {seat.part.id}, whose longest step is "
                    f"{longest:f} mm: correct l: or the steps:",
                )


def o_ring_too_large(subject: Subject) -> Iterator[Found]:
    """An O-ring is stretched onto what carries it; one that is larger falls off."""
    for entry, ring, seat in subject.lying(ORing):
        outside = _outside(seat.part.form)
        if outside is not None and mm(ring.id) > outside + _SAME:
            yield (
                at(entry, "form"),
                f"{entry.part.id} is {ring.id} inside and lies on {seat.part.id}, {_mm(outside)} at most: it falls "
                f"off; correct id:, or name in sits.on what it lies on",
            )


def _outside(form: Form | None) -> float | None:
    if isinstance(form, Piston):
        return mm(form.od)
    return max(mm(d) for d, _ in form.steps) if isinstance(form, Shaft) else None


def _mm(length: float) -> str:
    return f"{length:.4g} mm"


RULES: Final[Mapping[str, Rule]] = {
    "seats-disagree": seats_disagree,
    "shut-in": shut_in,
    "ring-thickness": ring_thickness,
    "ring-other-size": ring_holds_nothing_of_its_size,
    "ring-without-groove": ring_without_groove,
    "bore-too-small": bore_too_small,
    "outside-too-large": outside_too_large,
    "cone-and-cup": cone_and_cup,
    "module-differs": module_differs,
    "screw-through-ring": screw_through_ring,
    "screw-too-short": screw_too_short,
    "key-off-standard": key_off_standard,
    "key-too-long": key_too_long,
    "o-ring-too-large": o_ring_too_large,
}
