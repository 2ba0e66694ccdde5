"""What stands in each stretch of an exploded view's axis: the part, where it lies beside the axis, and its marks."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from functools import cached_property, lru_cache
from typing import Final, Literal

from labelkit import forms
from labelkit.calc.steps import Bin
from labelkit.drawing.page import Box
from labelkit.drawing.text import measure, size_for_cap
from labelkit.forms.shapes import mm
from labelkit.language import gettext as _
from labelkit.language import noop
from labelkit.model.form import Carrier, Drum, Form, Hub, Shaft
from labelkit.model.part import Part
from labelkit.model.scalars import Clock
from labelkit.sheets import wording
from labelkit.sheets.jobview import JobView
from labelkit.sheets.legible import em
from labelkit.sheets.silhouette import Extent, crest, extent, landing

BALLOON: Final = 4.6  # radius, mm
APART: Final = (1.2, 0.7)  # circles, with room and without
BETWEEN: Final = (3.2, 1.8)  # parts
ARROW: Final = 3.2  # the centre line of a part off the axis, on either side
# A mark below a part: height of a row, of its capitals; between two marks.
ROW: Final = 3.5
CAP: Final = 2.0
SPACE: Final = 1.2
BRACKET: Final = 4.6  # with the steps that are opened, whose capitals are
OPENS: Final = 1.8
UNDER: Final = 1.2  # between a part and its marks
# A part off the axis keeps this far from it.
_OFF: Final = 1.2
# A part that is longer than this many times the strip's largest diameter is broken off, to the second figure.
_LONG: Final = (8.0, 6.0)
GAP: Final = 2.5

# A part without a form is a dashed box of this size on paper.
UNKNOWN: Final = Extent(9.0, 4.0)
_OFF_AXIS: Final = frozenset(("bolt", "plug", "pin", "ball", "block", "lever", "coil_spring", "gear", "nut", "key"))
_SCREWED_IN: Final = frozenset(("plug", "bolt", "block", "pin", "lever"))

Stands = Literal["axis", "round", "above", "below"]
# Marks that the legend explains; translated when they are drawn.
NEW: Final = noop("NEW")
UP: Final = noop("UP ?")
END: Final = noop("END ?")


@dataclass(frozen=True, slots=True)
class Mark:
    """A mark below a part: words, words white on black, a clock dial, or the sign that something can hurt."""

    kind: Literal["words", "tag", "dial", "alert"]
    text: str = ""

    @property
    def width(self) -> float:
        """Its width on paper, mm."""
        return _mark_width(self.kind, self.text)


@lru_cache(maxsize=4096)
def _mark_width(kind: str, text: str) -> float:
    words = measure(text, "bold", em(CAP, "bold"))[0]
    return words + {"words": 0.0, "tag": 1.6, "dial": 3.8, "alert": 3.4}[kind]


@dataclass(frozen=True)
class Slot:
    """One part in its stretch of the axis.

    Attributes:
        bin: the part's.
        size: its view's extent at 1:1; of a part without a form, on paper.
        stands: on the axis, round it, or screwed in from the side, above or below the axis.
        hub: radius at 1:1 of the circle it stands on, or of what it is screwed into; None when not known.
        leftward: what it belongs to stands left of it.
        cut: heights between which a long part is left out.
        opens: the steps of its parts, shown again further on; empty for none.
        marks: what stands below it.
    """

    bin: Bin
    size: Extent
    stands: Stands = "axis"
    hub: float | None = None
    leftward: bool = False
    cut: tuple[float, float] = (0.0, 0.0)
    opens: str = ""
    marks: tuple[Mark, ...] = ()

    @property
    def standing(self) -> bool:
        """Whether its own axis runs up and down the page."""
        return self.stands in ("above", "below")

    @cached_property
    def flipped(self) -> bool:
        """Whether its `way` end is at the right."""
        return not self.standing and wording.way(self.bin.part).opens == "down"

    def box(self, scale: float, reach: float) -> Box:
        """Return the box of its view on paper; x from its left end, y from the unit's axis.

        Args:
            scale: of the strip.
            reach: how far the parts of its row reach from its axis on paper.
        """
        scale = scale if self.bin.part.form else 1.0
        length, half = self.size.length * scale, self.size.reach * scale
        low, high = self.cut
        if high > low:
            length += GAP - (high - low) * scale
        if self.stands == "axis":
            return Box(0.0, -half, length, 2 * half)
        if self.stands == "round":
            least = half + _OFF
            line = min(max((self.hub or 0.0) * scale, least), max(reach - half, least))
            return Box(0.0, -line - half, length, 2 * half)
        wanted = reach - length if self.hub is None else self.hub * scale + _OFF
        inner = min(max(wanted, 2.0), max(reach - length, 2.0))
        return Box(0.0, inner if self.stands == "below" else -inner - length, 2 * half, length)

    def lands(self, scale: float) -> tuple[float, float, float]:
        """Return where its leader meets it on paper, from the left top corner of its box, and how thick it is there."""
        form = self.bin.part.form
        if form is None:
            return self.size.length / 2, 0.0, self.size.reach
        if self.standing:
            r = crest(form, top=self.stands == "above")
            return (self.size.reach + r) * scale, 0.0, self.size.length * scale
        low, high = self.cut
        long = high > low
        found = landing(form, high if long else None)
        along = (found.z if self.flipped else self.size.length - found.z) * scale
        if long and self.flipped:
            along += GAP - (high - low) * scale
        return along, (self.size.reach - found.r) * scale, found.depth * scale

    def sides(self, scale: float, *, tight: bool = False) -> tuple[float, float]:
        """Return how long its stretch is on paper left and right of its circle, which stands over the leader's end.

        Args:
            scale: of the strip.
            tight: everything as near to its neighbours as it may be.
        """
        width, at = self.box(scale, 0.0).width, self.lands(scale)[0]
        beside = ARROW if self.stands == "round" else BETWEEN[tight] / 2
        least = max((balloon_width(self.label) + APART[tight]) / 2, self._widest / 2)
        return max(at + beside, least), max(width - at + beside, least)

    @cached_property
    def _widest(self) -> float:
        widths = [mark.width for mark in self.marks]
        if self.opens:
            widths.append(measure(self.opens, "regular", em(OPENS))[0])
        return max(widths) + SPACE if widths else 0.0

    @property
    def label(self) -> str:
        """What stands in its circle: its step, with a question mark where an option is open."""
        return self.bin.step + "?" * self.bin.doubtful

    def rows(self, width: float) -> list[list[Mark]]:
        """Return its marks in rows of this width."""
        rows: list[list[Mark]] = []
        taken = 0.0
        for mark in self.marks:
            if not rows or taken + SPACE + mark.width > width - SPACE + 1e-6:
                rows.append([])
                taken = -SPACE
            rows[-1].append(mark)
            taken += SPACE + mark.width
        return rows

    def foot(self, box: Box, width: float) -> tuple[float, float]:
        """Return top and bottom of what stands below it, from the axis down.

        Args:
            box: of its view, from the axis.
            width: what there is for it.
        """
        high = BRACKET * bool(self.opens) + ROW * len(self.rows(width))
        top = box.bottom + UNDER
        if not high or (self.stands == "round" and top + high <= -_OFF):
            return top, top + high
        top = max(top, 1.0 + UNDER)
        return top, top + high


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
        return Slot(each, UNKNOWN, opens=opens)
    slot = Slot(each, extent(form), opens=opens)
    if _from_the_side(part, form):
        clock = part.sits.clock if part.sits else None
        below = isinstance(clock, Clock) and 90 < clock.degrees < 270
        return replace(slot, stands="below" if below else "above")
    several = part.qty not in (1, "set")
    at_an_hour = part.sits is not None and isinstance(part.sits.clock, Clock)
    if form.kind in _OFF_AXIS and (several or at_an_hour or form.kind == "lever"):
        return replace(slot, stands="round")
    return slot


def _from_the_side(part: Part, form: Form) -> bool:
    """Say whether a part goes in at right angles to the axis: a key, or screwed in with no face to the unit's up."""
    if form.kind == "key":
        return True
    screwed = part.held is not None and part.held.by == "screwed"
    free = part.sits is not None and part.sits.up == "free" and part.sits.opens is None
    return screwed and free and (form.kind in _SCREWED_IN or forms.direction(form))


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
    if form.kind == "outline":
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
    if part.renew == "always" or part.one_time:
        yield Mark("tag", _(NEW))
    if part.thread == "left":
        yield Mark("tag", _("LEFT-HAND"))
    captured = [each.part for each in view.inside.get(slot.bin.step, ())]
    if any(hazard.signal != "notice" for each in (part, *captured) for hazard in each.hazards):
        yield Mark("alert")
    if words := doubt(slot):
        yield Mark("words", words)
    if part.sits and isinstance(part.sits.clock, Clock):
        yield Mark("dial", wording.hour_words(part))
    if captured:
        yield Mark("words", _("+{count} inside").format(count=len(captured)))
    if slot.cut[1] > slot.cut[0]:
        yield Mark("words", wording.size_words(part.form))
    if slot.stands != "axis" and (seat := seat_of(view, slot.bin)):
        yield Mark("words", _("on {step}").format(step=seat))


def doubt(slot: Slot) -> str:
    """Return the mark of what nobody recorded: which way up the part is, or which end of the drawing that is."""
    part = slot.bin.part
    way = wording.way(part)
    if way.known == "missing":
        return _(UP)
    told = way.known == "free" or way.opens is not None
    screw = part.form is not None and part.form.kind in ("bolt", "plug") and slot.standing
    return _(END) if part.form and forms.direction(part.form) and not screw and (slot.standing or not told) else ""


def seat_of(view: JobView, each: Bin) -> str:
    """Return the step of what a part lies on; empty when that is not recorded, stays inside or is not in this job."""
    sits = each.part.sits
    for other in view.teardown.of(sits.on) if sits and sits.on else ():
        if other.copies == 1 or other.copy == each.copy:
            return other.step
    return ""


def step_size(step: str) -> float:
    """Return the em of a step in its circle: 12 larger than 25.10.1."""
    return size_for_cap(3.6 if len(step) <= 2 else 2.8 if len(step) <= 4 else 2.2, "bold")


def balloon_width(step: str) -> float:
    """Return the width of the circle round a step; it is drawn out where the step is long."""
    return max(2 * BALLOON, measure(step, "bold", step_size(step))[0] + 2.2)
