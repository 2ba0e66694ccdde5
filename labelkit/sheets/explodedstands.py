"""Where the parts of an exploded view stand: on the axis, round it or screwed in from the side; and their marks."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import replace
from typing import Final

from labelkit import forms
from labelkit.calc.assembly import partners
from labelkit.calc.seatingpieces import screwed_in
from labelkit.calc.steps import Bin
from labelkit.forms.shapes import mm
from labelkit.language import gettext as _
from labelkit.language import noop
from labelkit.model.form import Carrier, Drum, Hub, Lever, Outline, Shaft
from labelkit.model.formbase import Form
from labelkit.model.hardwareform import Key, Nut, Screw
from labelkit.model.part import Part
from labelkit.model.scalars import Clock
from labelkit.sheets import waywords, wording
from labelkit.sheets.explodedslots import Mark, Slot
from labelkit.sheets.jobview import JobView
from labelkit.sheets.silhouette import Extent, extent

# A part that is longer than this many times the strip's largest diameter is broken off, to the second figure.
_LONG: Final = (8.0, 6.0)
# A part without a form is a dashed box of this size on paper.
_UNKNOWN: Final = Extent(9.0, 4.0)
# Marks that the legend explains; translated when they are drawn.
NEW: Final = noop("NEW")
UP: Final = noop("UP ?")
END: Final = noop("END ?")


def slots_of(view: JobView, bins: Sequence[Bin]) -> tuple[Slot, ...]:
    """Return the parts of one strip, each in its place beside the axis."""
    inner = _inner_steps(view)
    slots = [_plain(each, inner.get(each.step, "")) for each in bins]
    _hold(slots)
    _follow(slots)
    _hold(slots)
    widest = 2 * max((slot.size.reach for slot in slots if slot.bin.part.form), default=0.0)
    return tuple(_marked(view, _broken(slot, widest)) for slot in slots)


def _inner_steps(view: JobView) -> Mapping[str, str]:
    """Return the steps inside each sub-assembly, in words."""
    found: dict[str, list[str]] = {}
    for each in view.teardown.bins:
        if each.parent:
            found.setdefault(each.parent, []).append(each.step)
    return {step: _range(inner) for step, inner in found.items()}


def _range(steps: Sequence[str]) -> str:
    """Return steps inside one sub-assembly in words, as `8.1-4`."""
    return steps[0] if len(steps) == 1 else f"{steps[0]}-{steps[-1].rpartition('.')[2]}"


def _plain(each: Bin, opens: str) -> Slot:
    part, form = each.part, each.part.form
    if form is None:
        return Slot(each, _UNKNOWN, opens=opens)
    slot = Slot(each, extent(form), opens=opens)
    if _from_the_side(part, form):
        clock = part.sits.clock if part.sits else None
        below = isinstance(clock, Clock) and 90 < clock.degrees < 270
        return replace(slot, stands="below" if below else "above")
    several = part.qty not in (1, "set")
    at_an_hour = part.sits is not None and isinstance(part.sits.clock, Clock)
    if form.aside and (several or at_an_hour or isinstance(form, Lever)):
        return replace(slot, stands="round")
    return slot


def _from_the_side(part: Part, form: Form) -> bool:
    """Say whether a part goes in at right angles to the axis: a key, or screwed in with no face to the unit's up."""
    if isinstance(form, Key):
        return True
    # A nut of its own is a shaft nut.
    return screwed_in(part) and ((form.aside and not isinstance(form, Nut)) or forms.sided(form))


def _follow(slots: list[Slot]) -> None:
    """Put what belongs to a part off the axis, as the ring under a plug, beside the axis as well."""
    at = {slot.bin.part.id: number for number, slot in enumerate(slots)}
    for _round in range(2):
        for number, slot in enumerate(slots):
            if slot.stands != "axis" or slot.bin.part.form is None:
                continue
            for name in _companions(slot.bin.part):
                other = slots[at[name]] if name in at else slot
                if other.stands != "axis" and slot.size.reach <= 1.6 * max(other.size.reach, other.size.length):
                    slots[number] = replace(slot, stands=other.stands)
                    break


def _companions(part: Part) -> Iterator[str]:
    yield from (name for name in (part.carried_by, part.sits.on if part.sits else None) if name)
    if part.out and part.out.together:
        yield part.out.together


def _hold(slots: list[Slot]) -> None:
    """Give each part off the axis the circle that it stands on; where there is nothing on the axis, it stands there."""
    central = [number for number, slot in enumerate(slots) if slot.stands == "axis"]
    for number, slot in enumerate(slots):
        if slot.stands == "axis":
            continue
        seat = _seat(slots, slot, central)
        if seat is None and slot.stands == "round":
            seat = min(central, key=lambda other: (other < number, abs(other - number)), default=None)
            # What stands alone in a sub-assembly, as the planets of a carrier, is drawn on the axis itself.
            if seat is None or slots[seat].size.reach <= slot.size.reach:
                slots[number] = replace(slot, stands="axis")
                continue
        if seat is None:
            continue
        holder = slots[seat].bin.part.form
        if holder is not None:
            hub = _circle(holder) if slot.stands == "round" else extent(holder).reach
            slots[number] = replace(slot, hub=hub, leftward=seat < number)


def _seat(slots: Sequence[Slot], slot: Slot, central: Sequence[int]) -> int | None:
    """Return the part on the axis that a part lies on, over the parts off the axis between them."""
    by_name = {each.bin.part.id: number for number, each in enumerate(slots)}
    seen = {slot.bin.part.id}
    names = list(_companions(slot.bin.part))
    while names:
        name = names.pop(0)
        if name in seen or name not in by_name:
            continue
        seen.add(name)
        if by_name[name] in central:
            return by_name[name]
        names += _companions(slots[by_name[name]].bin.part)
    return None


def _circle(form: Form) -> float:
    """Return the radius on which screws, springs or planets of a part stand, mm; proportions by convention."""
    reach = extent(form).reach
    if isinstance(form, Hub) and form.flange_od:
        return (mm(form.od) + mm(form.flange_od)) / 4
    if isinstance(form, Drum):
        return mm(form.od) / 2 - mm(form.wall) / 2
    if isinstance(form, Carrier):
        return mm(form.od) / 2 - mm(form.planet_od) / 2
    if isinstance(form, Outline):
        return max((hole.box().right for hole in forms.plan(form).holes), default=0.85 * reach) * 0.95
    return 0.72 * reach


def _broken(slot: Slot, widest: float) -> Slot:
    """Break a long part off in its longest plain step, so that it does not make everything beside it small."""
    form = slot.bin.part.form
    most, kept = _LONG
    if not isinstance(form, Shaft) or slot.stands != "axis" or slot.size.length <= most * widest:
        return slot
    z, runs = slot.size.length, []
    for step, length in form.steps:
        z -= mm(length)
        runs.append((mm(length) - mm(step), z + mm(length) / 2))
    spare, middle = max(runs)
    left_out = min(spare, slot.size.length - kept * widest)
    if left_out <= 0.5 * slot.size.length:
        return slot
    return replace(slot, cut=(middle - left_out / 2, middle + left_out / 2))


def _marked(view: JobView, slot: Slot) -> Slot:
    return replace(slot, marks=tuple(_marks(view, slot)))


def _marks(view: JobView, slot: Slot) -> Iterator[Mark]:
    """Yield what must be seen at the part itself."""
    part = slot.bin.part
    if part.qty != 1:
        yield Mark("words", wording.quantity_words(part))
    if part.new_only:
        yield Mark("tag", _(NEW))
    if part.thread == "left":
        yield Mark("tag", _("LEFT-HAND"))
    captured = [each.part for each in view.inside.get(slot.bin.step, ())]
    if any(hazard.hurts for each in (part, *captured) for hazard in each.hazards):
        yield Mark("alert")
    if words := doubt(slot):
        yield Mark("words", words)
    if part.sits and isinstance(part.sits.clock, Clock):
        yield Mark("dial", waywords.hour_words(part))
    if captured:
        yield Mark("words", _("+{count} inside").format(count=len(captured)))
    if slot.cut[1] > slot.cut[0]:
        yield Mark("words", wording.size_words(part.form))
    if slot.stands != "axis" and (seat := step_below(view, slot.bin)):
        yield Mark("words", _("on {step}").format(step=seat))


def doubt(slot: Slot) -> str:
    """Return the mark of what nobody recorded: which way up the part is, or which end of the drawing that is."""
    part = slot.bin.part
    way = waywords.way(part)
    if way.known == "missing":
        return _(UP)
    told = way.known == "free" or way.opens is not None
    screw = isinstance(part.form, Screw) and slot.standing
    return _(END) if part.form and forms.sided(part.form) and not screw and (slot.standing or not told) else ""


def step_below(view: JobView, each: Bin) -> str:
    """Return the step of what a part lies on; empty when that is not recorded, stays inside or is not in this job."""
    sits = each.part.sits
    found = partners(view.teardown, each, sits.on) if sits and sits.on else ()
    return found[0].step_words if found else ""
