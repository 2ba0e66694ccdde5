"""Where the parts of a unit stand on their axes when it is together: pushed along the axis until they meet their seats.

A part is pushed onto what it lies on, from above or from below, in the order of assembly, together with what is on it
already. What cannot be placed says why; sizes that cannot be right are told as disagreements.

Source: common practice, no source: a layout drawing is checked by laying the parts against each other.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass, replace
from operator import itemgetter
from typing import Final, Literal

from labelkit import forms
from labelkit.calc import seatingwords as words
from labelkit.calc.assembly import RuleRing, assembly_order, partners
from labelkit.calc.seatingbody import SAME, Stop, Way, solid
from labelkit.calc.seatingfit import Fit, depth_unknown, fits, missing_step, needs_mate
from labelkit.calc.seatingpieces import (
    Seated,
    aside,
    drawn_range,
    farthest,
    flipped,
    height,
    is_screw,
    meet,
    shared,
    within,
)
from labelkit.calc.steps import Bin, Teardown
from labelkit.calc.trays import nothing_but_parts
from labelkit.model.form import Shaft
from labelkit.model.part import Part
from labelkit.model.profile import Profile

# Two ways that engage as deeply as this, mm, are one: parts come off upwards.
_DEEPER: Final = 0.5


@dataclass(frozen=True, slots=True)
class Axis:
    """Parts that are together on one axis, in the order in which they were put there.

    Attributes:
        seated: their pieces, the lowest point of the lowest at z = 0.
        base: the part on which all others are, directly or not.
        why: why that has no place on another axis; empty for what the unit itself stands on.
    """

    seated: tuple[Seated, ...]
    base: Bin
    why: str


@dataclass(frozen=True, slots=True)
class Disagreement:
    """Dimensions of two parts that do not agree: id of the part whose `sits.on` shows it, and the words."""

    part: str
    text: str


@dataclass(frozen=True, slots=True)
class Seating:
    """What is known of the places of all parts.

    Attributes:
        axes: that of what the unit stands on first; then what is together but has no place on it, the most parts first.
        aside: what stands on none of them, in removal order, and why.
        disagreements: in the order of assembly.
    """

    axes: tuple[Axis, ...]
    aside: tuple[tuple[Bin, str], ...]
    disagreements: tuple[Disagreement, ...]


def seating(teardown: Teardown, order: Iterable[Bin]) -> Seating:
    """Return the place of every part that has one.

    Args:
        teardown: the parts of the job.
        order: all of its bins, in the order of assembly.
    """
    return _Pushing(teardown).run(order)


def in_order(profile: Profile, teardown: Teardown) -> Sequence[Bin]:
    """Return the bins in the order of assembly; where its rules contradict each other, in that of plain reverse."""
    try:
        return [placed.bin for placed in assembly_order(profile, teardown)]
    except RuleRing:
        return teardown.bins[::-1]


@dataclass(frozen=True, slots=True)
class _Push:
    """What comes of pushing one way.

    Attributes:
        kind: `home`: it meets its seat; `past`: it meets no face of it; `stopped`: by something else before;
            `loose`: its bore or outside does not fit there.
        shift: how far what is pushed has to be moved, mm.
        face: where it meets its seat.
        other: what stopped it.
        gap: how far it is from its seat then, mm.
        met: where it meets what stopped it.
        engaged: how much of the axis those share that meet, mm.
        on_shaft: nothing but a shaft of it meets its seat.
    """

    kind: Literal["home", "past", "stopped", "loose"]
    shift: float = 0.0
    face: Stop | None = None
    other: Seated | None = None
    gap: float = 0.0
    met: Stop | None = None
    engaged: float = 0.0
    on_shaft: bool = False


class _Pushing:
    """Pieces in clusters; each part's `on` joins two of them."""

    def __init__(self, teardown: Teardown) -> None:
        self._teardown = teardown
        self._clusters: dict[str, list[Seated]] = {}
        self._why: dict[str, str] = {}
        self._found: list[Disagreement] = []
        # Parts whose seats have been followed to the end.
        self._sound: set[str] = set()
        # What each part lies on, and with which faces.
        self._seat: dict[str, str] = {}
        self._faces: dict[str, Stop] = {}
        # Parts that find their place taken, by the step of the one that has it: that part, the seat, faces, the others.
        self._crowds: dict[str, tuple[Part, Part, Stop, list[Part]]] = {}
        self._inner: dict[str, list[Bin]] = {}
        for each in teardown.bins:
            if each.parent:
                self._inner.setdefault(each.parent, []).append(each)
        self._hollow = {each.step for each in teardown.bins if self._is_hollow(each)}
        self._stacked: set[str] = set()
        for each in teardown.bins:
            self._lay_out(each)

    def run(self, order: Iterable[Bin]) -> Seating:
        """Join all that can be joined."""
        bins = [*order]
        for each in bins:
            self._note_ring(each)
        for each in bins:
            if each.step not in self._stacked and self._why.get(each.step) != words.RING:
                self._join(each)
        for part, seat, met, others in self._crowds.values():
            self._found.append(Disagreement(others[0].id, words.one_place(part, others, seat, met)))
        return self._told()

    # --- what there is -----------------------------------------------------------------------------------------------

    def _is_hollow(self, each: Bin) -> bool:
        inner = self._inner.get(each.step, ())
        return any(child.part.form for child in inner) and nothing_but_parts(each.part, self._teardown.chosen)

    def _lay_out(self, each: Bin) -> None:
        """Give a part a cluster of its own; the plates of a pack one together, if all of them are there."""
        if each.step in self._stacked:
            return
        if each.part.stack and (plates := self._plates(each)):
            self._hollow.add(each.step)
            for plate in self._inner[each.step]:
                if plate.part.id in each.part.stack:
                    self._stacked.add(plate.step)
                    self._clusters[plate.step] = plates
            return
        if each.step in self._hollow:
            return
        why = words.OPEN if each.doubtful else self._aside(each.part)
        form, down = each.part.form, flipped(each.part)
        body = solid(form, flipped=down) if form and not why else None
        if form is None or body is None:
            self._why[each.step] = why or words.BESIDE
        else:
            self._clusters[each.step] = [Seated(each, form, 0.0, down, body)]

    def _aside(self, part: Part) -> str | None:
        """Return why a part stands on no axis; a back-up ring lies in the groove of the O-ring it is kept with."""
        beside = (other.part.form for name in part.keep_with for other in self._teardown.of(name))
        if part.form and part.form.kind == "ring" and any(form and form.kind == "o_ring" for form in beside):
            return words.GROOVE
        return aside(part)

    def _plates(self, pack: Bin) -> list[Seated]:
        """Return the plates of a pack piled up, none where one of them has no form or yields."""
        inner = {child.part.id: child for child in self._inner.get(pack.step, ())}
        piled: list[Seated] = []
        z = 0.0
        # The first entry came out first, so it is on top.
        for name in reversed(pack.part.stack):
            plate = inner.get(name)
            form = plate.part.form if plate else None
            down = flipped(plate.part) if plate else False
            body = solid(form, flipped=down) if form else None
            if plate is None or form is None or body is None or plate.doubtful:
                return []
            piled.append(Seated(plate, form, z, down, body))
            z += forms.section(form).height
        return piled

    def _cluster(self, each: Bin) -> list[Seated] | None:
        """Return the pieces that a part is together with; of a sub-assembly that is nothing but its parts, theirs."""
        if each.step not in self._hollow:
            return self._clusters.get(each.step)
        found = (self._cluster(child) for child in reversed(self._inner[each.step]))
        return next((cluster for cluster in found if cluster), None)

    # --- pushing -----------------------------------------------------------------------------------------------------

    def _join(self, each: Bin) -> None:
        sits, mine = each.part.sits, self._cluster(each)
        if mine is None:
            return
        if sits is None or sits.on is None:
            self._why[each.step] = words.NO_SEAT
            return
        seats = partners(self._teardown, each, sits.on)
        its = self._cluster(seats[0]) if len(seats) == 1 else None
        if its is None:
            gone = words.SEAT_ASIDE if len(seats) == 1 else words.ANYWHERE
            self._why[each.step] = gone if seats else words.SEAT_GONE
        elif its is mine:
            self._why[each.step] = words.NO_SEAT
        elif not self._alike(mine, its, seats[0]):
            self._why[each.step] = words.ANYWHERE
        else:
            self._seat[each.step] = seats[0].step
            self._push_home(each, seats[0], mine, its)

    def _alike(self, mine: list[Seated], its: list[Seated], seat: Bin) -> bool:
        """Say whether both are round, or both of one outline: else nobody knows where on a seat a part stands."""
        under = [piece for piece in its if within(piece, seat)] or its
        flat = [piece.form for piece in (*mine, *under) if piece.form.kind == "outline"]
        if not flat:
            return True
        return len(flat) == len(mine) + len(under) and len({forms.plan(form).outer for form in flat}) == 1

    def _push_home(self, each: Bin, seat: Bin, mine: list[Seated], its: list[Seated]) -> None:
        down, up = (self._pushed(each, seat, mine, its, way) for way in ("down", "up"))
        # Parts come off upwards; from below goes what goes into or round its seat there, and from above would only
        # stand on it, does not fit, or finds the way closed by something far off. Nothing hangs on its seat but what
        # finds it closed by more than the seat is high: that is no size that is wrong.
        hangs = False
        if down.kind == "stopped":
            from_below = down.gap > height(mine) and not self._crowded(down, seat)
            hangs = down.gap > height([piece for piece in its if within(piece, seat)])
        else:
            from_below = down.kind != "home" or down.engaged < SAME or (down.on_shaft and up.on_shaft)
        if from_below and up.kind == "home" and (hangs or up.engaged > down.engaged + _DEEPER):
            self._move(each, mine, its, up)
        elif down.kind == "home":
            self._move(each, mine, its, down)
        else:
            self._refuse(each, seat, mine, its, down, up)

    def _pushed(self, each: Bin, seat: Bin, mine: list[Seated], its: list[Seated], way: Way) -> _Push:
        sign = 1.0 if way == "down" else -1.0
        first: tuple[float, Stop, Seated, Seated] | None = None
        landed: list[tuple[float, Stop, Seated, Seated]] = []
        # The last that came is the likeliest to be in the way.
        for still in reversed(its):
            at_seat = within(still, seat)
            for moving in mine:
                own = at_seat and within(moving, each)
                if first and not own and farthest(moving, still, way) <= first[0]:
                    continue
                met = meet(moving, still, way)
                if met is None or (is_screw(still) and not at_seat):
                    continue
                far = sign * (met.shift + still.z - moving.z)
                if first is None or far > first[0] + SAME:
                    first = (far, met, moving, still)
                if own:
                    landed.append((far, met, moving, still))
        if first is None or not landed:
            return _Push("past")
        home, face, *_ = max(landed, key=itemgetter(0))
        far, met, _, still = first
        if far > home + SAME:
            return _Push("stopped", sign * home, face, still, far - home, met)
        moved = [(piece, replace(piece, z=piece.z + sign * home)) for piece in mine]
        # On a shaft there has to be a journal; elsewhere it may be a part that is not there yet, or come along.
        on_journal = isinstance(seat.part.form, Shaft)
        loose = (Fit.LOOSE, Fit.OPEN) if on_journal else (Fit.LOOSE,)
        for piece, there in moved:
            along = [] if on_journal else [other for own, other in moved if own is not piece]
            if within(piece, each) and fits(there, [*its, *along]) in loose:
                return _Push("loose", sign * home, face)
        # How deep it goes is told by what meets: a bearing below a floor hangs, however far its shaft goes up.
        meeting = [(moving, still) for far, _, moving, still in landed if far > home - SAME]
        on_shaft = all(isinstance(moving.form, Shaft) for moving, _ in meeting)
        engaged = max(shared(replace(moving, z=moving.z + sign * home), still) for moving, still in meeting)
        return _Push("home", sign * home, face, engaged=engaged, on_shaft=on_shaft)

    def _crowded(self, push: _Push, seat: Bin) -> bool:
        """Say whether what stopped a part lies on the same face of the same seat."""
        taken = self._faces.get(push.other.bin.step) if push.other else None
        if taken is None or push.face is None or push.other is None:
            return False
        same = self._seat[push.other.bin.step] == seat.step
        return same and taken.low < push.face.high and push.face.low < taken.high

    def _refuse(self, each: Bin, seat: Bin, mine: list[Seated], its: list[Seated], down: _Push, up: _Push) -> None:
        """Say why a part does not come home."""
        own = [piece for piece in mine if within(piece, each)]
        under = [piece for piece in its if within(piece, seat)]
        push = up if down.kind == "past" else down
        if push.face and push.met and push.other:
            self._why[each.step] = words.DISAGREES
            if self._crowded(push, seat):
                taken = self._crowds.setdefault(push.other.bin.step, (push.other.bin.part, seat.part, push.face, []))
                taken[3].append(each.part)
                return
            thing = words.Thing(own[0].bin.part, own[0].solid)
            text = words.in_the_way(thing, seat.part, push.other.bin.part, push.met, push.gap)
        elif (bore := missing_step(each.part.form, seat.part.form)) is not None:
            self._why[each.step] = words.DISAGREES
            text = words.no_step(each.part, seat.part, bore)
        elif any(depth_unknown(piece, under) for piece in own):
            self._why[each.step] = words.DEPTH
            return
        elif "loose" in (down.kind, up.kind) or needs_mate(each.part.form):
            # Housings have more bores than their forms can say.
            self._why[each.step] = words.NO_MATE
            return
        else:
            self._why[each.step] = words.DISAGREES
            its_solid = under[0] if under else its[0]
            text = words.no_face(
                words.Thing(own[0].bin.part, own[0].solid), words.Thing(its_solid.bin.part, its_solid.solid)
            )
        self._found.append(Disagreement(each.part.id, text))

    def _move(self, each: Bin, mine: list[Seated], its: list[Seated], push: _Push) -> None:
        if push.face:
            self._faces[each.step] = push.face
        its += [replace(piece, z=piece.z + push.shift) for piece in mine]
        for piece in mine:
            self._clusters[piece.bin.step] = its

    def _note_ring(self, each: Bin) -> None:
        """Note the ring in which parts lie on each other, if there is one from a part on; each ring once."""
        trail: list[Bin] = []
        while each not in trail:
            sits = each.part.sits
            below = partners(self._teardown, each, sits.on) if sits and sits.on else ()
            if len(below) != 1 or each.step in self._sound:
                self._sound.update(one.step for one in trail)
                return
            trail.append(each)
            each = below[0]
        found = trail[trail.index(each) :]
        self._sound.update(one.step for one in trail)
        self._why.update((one.step, words.RING) for one in found)
        self._found.append(Disagreement(each.part.id, words.ring([one.part for one in found])))

    # --- what is told ------------------------------------------------------------------------------------------------

    def _told(self) -> Seating:
        together = {id(cluster): cluster for cluster in self._clusters.values()}
        clusters = [cluster for cluster in together.values() if len({piece.bin.step for piece in cluster}) > 1]
        if not clusters:
            # What stands alone is a picture all the same where it is all there is.
            clusters = [*together.values()] if len(together) == 1 else []
        tops = [each for each in self._teardown.bins if each.parent is None]
        unit = self._cluster(tops[-1]) if tops else None
        clusters.sort(key=lambda cluster: (cluster is not unit, -len({piece.bin.step for piece in cluster})))
        drawn = {piece.bin.step for cluster in clusters for piece in cluster}
        left = [each for each in self._teardown.bins if each.step not in drawn and each.step not in self._hollow]
        axes = tuple(self._axis(cluster, unit) for cluster in clusters)
        why = tuple((each, self._why.get(each.step, words.NO_SEAT)) for each in left)
        return Seating(axes, why, tuple(self._found))

    def _axis(self, cluster: list[Seated], unit: list[Seated] | None) -> Axis:
        low, _ = drawn_range(cluster)
        base = cluster[0].bin
        why = "" if cluster is unit else self._why.get(base.step, words.NO_SEAT)
        # A sub-assembly that is nothing but its parts is said to have no place where its first part has none.
        if why == words.NO_SEAT and base.parent in self._hollow:
            why = self._why.get(base.parent, why)
        return Axis(tuple(replace(piece, z=piece.z - low) for piece in cluster), base, why)
