"""What may go in now, and what must be in before a part: the order of assembly read against the record."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping
from functools import cached_property
from typing import Final

from labelkit.calc.apart import first_out
from labelkit.calc.assembly import Placed, captured_first, parted_by
from labelkit.calc.closing import closed_by
from labelkit.calc.covering import Cover, cover_of
from labelkit.calc.doing import Allowed, Missing, again, choose, measure, swap, take_out, verify, wait
from labelkit.calc.fitpoints import chosen_not_in, stays_off, unchosen
from labelkit.calc.listed import first_of
from labelkit.calc.placerecord import OUT, PlaceRecord
from labelkit.calc.record import Record
from labelkit.calc.steps import Bin
from labelkit.language import gettext as _
from labelkit.model.relations import why_words

_SHOWN: Final = 3


class Assembly:
    """The order of assembly against one state of the record.

    Args:
        record: of the job.
    """

    def __init__(self, record: Record) -> None:
        self.record = record
        self.placed: Mapping[str, Placed] = {each.bin.step: each for each in record.order}
        self.captured = captured_first(record.order)
        turns = (
            ordinal
            for each in record.order
            for ordinal in (*(w.item.ordinal for w in self.captured.get(each.bin.step, ())), each.bin.ordinal)
        )
        self.turn = {ordinal: turn for turn, ordinal in enumerate(turns)}

    @cached_property
    def groups(self) -> Mapping[str, tuple[Placed, ...]]:
        """The joined groups, each with its members in their order."""
        found: dict[str, tuple[Placed, ...]] = {}
        for each in self.record.order:
            if each.group is not None:
                found[each.group] = (*found.get(each.group, ()), each)
        return found

    @cached_property
    def _to_measure(self) -> tuple[str, ...]:
        """Fits that are read as soon as all their parts are in, and are not."""
        fits = self.record.profile.fits.items()
        return tuple(
            name
            for name, fit in fits
            if fit.read.again == "at_once" and self.record.fits[name].after is None and self._steps_of(name)
        )

    @cached_property
    def _not_right(self) -> tuple[tuple[Cover, Missing], ...]:
        """The fits that nothing may hide yet, each with what would, and with what is to be done first.

        They are known to be wrong, and nobody agreed to that; or they are not read, while they still can be.
        """
        found = []
        for name, fit in self.record.profile.fits.items():
            if wrong := self._to_set(name):
                found.append((cover_of(self.record, name), wrong))
            elif name in self._to_measure and fit.read.stops and not self._left_in(self._steps_of(name)):
                cover = cover_of(self.record, name)
                unread = Missing(None, _("it cannot be read afterwards"), measure(name).text)
                found += [] if cover.hides else [(cover, unread)]
        return tuple(found)

    def _to_set(self, name: str) -> Missing | None:
        """Return what is to be done with a fit that is known to be wrong; None where none is known to be."""
        if (piece := chosen_not_in(self.record, name)) is not None:
            return Missing(None, _("it cannot be set afterwards"), swap(self.record, piece).text)
        off = stays_off(self.record, name)
        return Missing(None, off, again(self.record, name).text) if off else None

    def _steps_of(self, name: str) -> set[str]:
        return {each.step for each in self.record.teardown.of(*self.record.profile.fits[name].parts)}

    def place(self, step: str) -> PlaceRecord:
        """Return the record of a step."""
        return self.record.at_step(step)

    def missing(self, step: str, *, joining: bool = False) -> list[Missing]:
        """Return what must be done before a step, directly.

        A part that is built into its group on the bench waits for the members before it only; the group goes into the
        unit when everything is there that any of its members waits for.

        Args:
            step: that is to go in.
            joining: into its group on the bench.
        """
        found: dict[str, Missing] = {}
        for each in self._waits_for(step, joining=joining):
            found.setdefault(each.key, each)
        return sorted(found.values(), key=self._turn)

    def _turn(self, each: Missing) -> tuple[bool, int]:
        """Return what puts missing things in their order: first, in reverse, what comes out; fits as they are."""
        turn = self.turn[each.place.item.ordinal] if each.place else 0
        return (False, -turn) if each.out else (True, turn)

    def is_free(self, step: str, *, joining: bool = False) -> bool:
        """Say whether nothing must be done before a step; arguments as for `missing`."""
        return next(self._waits_for(step, joining=joining), None) is None

    def _waits_for(self, step: str, *, joining: bool) -> Iterator[Missing]:
        """Yield what must be done before a step, some of it more than once."""
        placed = self.placed[step]
        members = self.groups.get(placed.group or "", (placed,))
        steps = {each.bin.step for each in members}
        yield from self._to_come_out(self.place(step))
        for member in (placed,) if joining else members:
            for need in member.needs:
                place, inner = self.place(need.step), need.step in steps
                outer = joining and not inner and not need.step.startswith(f"{step}.")
                if not (
                    outer
                    or self.record.is_done(place.item.ordinal)
                    or (need.some and place.placed)
                    or (inner and (member is not placed or place.stage in ("joined", "installed")))
                ):
                    yield self._missing(place, need.why)
            for each in member.within:
                own = f"{each.item.parent}.".startswith(f"{step}.")
                if (own or not joining) and not self.record.is_done(each.item.ordinal):
                    yield self._missing(self.record.at(each.item.ordinal), each.why)
        if not joining:
            yield from self._unjoined(placed, members)
            yield from (missing for cover, missing in self._not_right if cover.over & steps and not cover.under & steps)

    def _missing(self, place: PlaceRecord, why: str) -> Missing:
        """Return that a place is not done, for the reason of its relation; what stays in it comes out first."""
        return self._out(place) if place.stays_in else Missing(place, why_words(why))

    def _to_come_out(self, place: PlaceRecord) -> Iterator[Missing]:
        """Yield what comes out before something goes in at a place, in that order."""
        why = _("{part} goes in before it").format(part=place.name)
        for each in first_out(self.record, place):
            yield self._out(each) if each.stays_in else Missing(each, why, take_out(each).text, out=True)

    def _out(self, place: PlaceRecord) -> Missing:
        """Return that a part that stays in by the record comes out."""
        renewed = place.item.ordinal in self.record.uses
        why = _("it is to be new") if renewed else _("it keeps in what is to be new")
        return Missing(place, why, take_out(place).text, out=True)

    def _unjoined(self, placed: Placed, members: Iterable[Placed]) -> Iterator[Missing]:
        """Yield the other members of a group that are not built into it, as long as nothing of it is in the unit."""
        others = [self.place(each.bin.step) for each in members if each != placed and not each.bin.doubtful]
        if not any(place.is_in for place in others):
            for place in others:
                if place.is_apart:
                    yield Missing(place, _("they go in together"))

    def _is_done(self, step: str) -> bool:
        return self.record.is_done(self.place(step).item.ordinal)

    def _is_in(self, steps: set[str]) -> bool:
        return all(self._is_done(step) for step in steps) and not self._left_in(steps)

    def _left_in(self, steps: set[str]) -> bool:
        return all(self.place(step).stage == "left_in" for step in steps)

    def before(self, step: str, *, joining: bool = False) -> list[Missing]:
        """Return everything that must be done before a step, in the order of assembly, and then what is done with fits.

        What goes in together with it is built first, itself among that: no part waits for itself.
        """
        found: dict[str, Missing] = {}
        waiting = [(step, joining)]
        while waiting:
            name, bench = waiting.pop()
            for each in self.missing(name, joining=bench):
                if each.key not in found:
                    found[each.key] = each
                    if each.place and isinstance(each.place.item, Bin) and not (each.out or each.place.is_in):
                        other, group = each.place.item.step, self.placed[step].group
                        waiting.append((other, group is not None and group == self.placed[other].group))
        built = {} if joining else self._to_build(step)
        if found.keys() & built.keys():
            found |= built
        return sorted(found.values(), key=lambda each: (each.place is None, self._turn(each)))

    def _to_build(self, step: str) -> dict[str, Missing]:
        """Return that the group of a step is built, for each of its parts that lies there; empty where it has none."""
        group = self.placed[step].group or ""
        build, why = _("build {group} on the bench").format(group=group), _("they go in together")
        places = (self.place(each.bin.step) for each in self.groups.get(group, ()) if not each.bin.doubtful)
        found = (Missing(place, why, build) for place in places if place.is_apart)
        return {each.key: each for each in found}

    def allowed(self) -> list[Allowed]:
        """Return what may be done now: what is to be measured or looked at first, then what may go in."""
        return [each for each in self._all if each.what != "wait"]

    def jumps(self, each: Allowed) -> str:
        """Return what still lies on the bench and comes before something that may be done now, as `passed` says it.

        Nothing where all of that goes in after it: the rest of a place of which some is in.
        """
        place = self.record.at(each.place) if each.what == "install" and each.place is not None else None
        if place is None or not isinstance(place.item, Bin):
            return ""
        split = {need.step for need in self.placed[place.item.step].needs if need.some and self.place(need.step).placed}
        return self.passed(place) if any(other.step not in split for other in self._passed(place.item)) else ""

    def waiting(self) -> list[Allowed]:
        """Return what may be done as soon as its new parts are here."""
        return [each for each in self._all if each.what == "wait"]

    def doable(self) -> list[Allowed]:
        """Return both: what may be done now, and then what waits for its new parts."""
        return [*self.allowed(), *self.waiting()]

    @cached_property
    def _all(self) -> list[Allowed]:
        fits = self.record.profile.fits
        swaps = {name: place for name in fits if (place := chosen_not_in(self.record, name)) is not None}
        found = [again(self.record, name) for name in fits if stays_off(self.record, name)]
        found += [swap(self.record, place) for place in swaps.values()]
        found += [take_out(place) for place in self.outs()]
        measured = (name for name in self._to_measure if name not in swaps)
        found += [measure(name) for name in measured if self._is_in(self._steps_of(name))]
        found += [each for each in self._end_plays() if each.fit not in swaps]
        building: set[str | None] = set()
        rest: list[Allowed] = []
        for placed in self.record.order:
            found += self._inner(placed)
            step, place = placed.bin.step, self.place(placed.bin.step)
            if place.holds or placed.bin.doubtful:
                continue
            if place.stage == "installed":
                found.append(verify(place))
            elif self._is_short(step):
                found += [wait(place)] if self.is_built(place) or (place.is_out and self.is_free(step)) else []
            elif self.is_built(place):
                text = _("build {group} on the bench: {part}").format(group=placed.group, part=place.name)
                found += [Allowed("join", text, place.item.ordinal)] if placed.group not in building else []
                building.add(placed.group)
            elif place.is_out and self.is_free(step):
                goes_in = self._to_choose(place) or [Allowed("install", place.name, place.item.ordinal)]
                (rest if place.placed and self.parted_by(step) else found).extend(goes_in)
        return [*found, *rest]

    def parted_by(self, step: str) -> list[PlaceRecord]:
        """Return what goes in between the pieces of a step, some of which are in before it, and is not in yet."""
        between = (self.record.at(each.ordinal) for each in parted_by(self.record.order, step))
        return [each for each in between if not (each.is_in or self.record.is_done(each.item.ordinal))]

    def outs(self) -> list[PlaceRecord]:
        """Return what comes out next for a new part, of its own or inside it; not what the teardown leads to."""
        found: dict[int, PlaceRecord] = {}
        for ordinal, place in self.record.places.items():
            reached = place.item.parent is None or self.place(place.item.parent).stage != "in_unit"
            if reached and (place.is_apart or ordinal in self.record.to_come_out):
                found |= {each.item.ordinal: each for each in first_out(self.record, place)[:1]}
        return [each for each in found.values() if each.stage != "in_unit" and not each.holds]

    def _to_choose(self, place: PlaceRecord) -> list[Allowed]:
        """Return the fits for which another size is chosen before the piece that sets them goes in again."""
        return [choose(name) for name, _why in unchosen(self.record, place.item.ordinal)]

    def _end_plays(self) -> Iterator[Allowed]:
        """Yield the end plays that are closed in place; the last of all where the profile does not say by what."""
        for name, fit in self.record.profile.fits.items():
            own = self._steps_of(name)
            if fit.read.again != "closed" or self.record.fits[name].after or not own or self._left_in(own):
                continue
            closed = closed_by(self.record.teardown, self.record.order, fit)
            if all(self._is_done(step) for step in closed or self.placed):
                yield measure(name)

    def _inner(self, placed: Placed) -> Iterator[Allowed]:
        """Yield the captured parts before a bin that are renewed and free to go in, or are as soon as they are here."""
        for each in self.captured.get(placed.bin.step, ()):
            place = self.record.at(each.item.ordinal)
            if place.holds or self.before_captured(place):
                continue
            if place.stage == "installed":
                yield verify(place)
            elif place.is_out and self.record.has_new(each.item.ordinal):
                yield Allowed("install", place.name, each.item.ordinal)
            elif place.is_out:
                yield wait(place)

    def before_captured(self, place: PlaceRecord) -> list[Missing]:
        """Return what must be done before a captured part goes in: what comes out, then the captured parts under it."""
        order = [each for inner in self.captured.values() for each in inner]
        after: Mapping[int, str] = next((each.after for each in order if each.item == place.item), {})
        waiting = {each.key: each for each in self._to_come_out(place)}
        for ordinal, why in after.items():
            if not self.record.is_done(ordinal):
                missing = self._missing(self.record.at(ordinal), why)
                waiting.setdefault(missing.key, missing)
        return sorted(waiting.values(), key=self._turn)

    def _is_short(self, step: str) -> bool:
        """Say whether a step waits for new parts that are not here; what is built into its group has them."""
        return step in self._short and self.place(step).stage != "joined"

    @cached_property
    def _short(self) -> frozenset[str]:
        """Steps that wait for new parts which are not here."""
        uses = (use for uses in self.record.uses.values() for use in uses)
        return frozenset(use.step for use in uses if use.step and not self.record.lies_for(use))

    def passed(self, place: PlaceRecord) -> str:
        """Return in one line what still lies on the bench and comes before a place in the order of assembly, beside it.

        Nothing that the profile says makes one wait for the other; it may cover it all the same. Empty: nothing does.
        """
        names = [each.full_name for each in self._passed(place.item)] if isinstance(place.item, Bin) else []
        told = _("Not in yet, and before it in the order of assembly: {parts}. Look whether it covers them")
        return told.format(parts=first_of(names, _SHOWN, "; ")) if names else ""

    def _passed(self, item: Bin) -> list[Bin]:
        group = self.placed[item.step].group
        before = (
            each.bin
            for each in self.record.order
            if each.bin.parent == item.parent and not each.bin.doubtful and (group is None or each.group != group)
            if self.turn[each.bin.ordinal] < self.turn[item.ordinal]
        )
        return [each for each in before if self.place(each.step).is_apart]

    def is_built(self, place: PlaceRecord) -> bool:
        """Say whether a part is built into its group on the bench now: nothing of that is in the unit."""
        if not isinstance(place.item, Bin) or not place.is_apart:
            return False
        step = place.item.step
        group = self.groups.get(self.placed[step].group or "", ())
        lie = all(self.place(each.bin.step).stage in (*OUT, "left_in") for each in group)
        return len(group) > 0 and lie and self.is_free(step, joining=True)

    def words(self, before: list[Missing]) -> str:
        """Return what must be done first, and what is allowed now, in one line."""
        # Of several that are built into one group the building is told once.
        todo = {each.text: each.why for each in before}
        steps, now = list(todo), self.now_words(before)
        if len(steps) > _SHOWN:  # why the last of those shown comes first is for one that is not
            told = _("first {steps}. Allowed now: {now}")
        else:
            told = _("first {steps} ({why}). Allowed now: {now}")
        told = told.format(steps=first_of(steps, _SHOWN, _(", then ")), why=todo[steps[-1]], now=now)
        if any(each.place and each.place.stage == "in_unit" for each in before):
            told += ". " + _("By the record some of these never came out: record that it did, or that it stays in")
        return told

    def now_words(self, before: Iterable[Missing] = (), *, without: int | None = None) -> str:
        """Return what is allowed now.

        Args:
            before: what is to be done first; what leads on to it is named alone, where anything does.
            without: the ordinal of a place that is not named.
        """
        everything = [each for each in self.doable() if without is None or each.place != without]
        first = list(before)
        wanted = {each.place.item.ordinal for each in first if each.place} | {each.do for each in first if each.do}
        leading = [each for each in everything if each.place in wanted or each.text in wanted]
        chosen = leading or [each for each in everything if each.what != "wait"] or everything
        return first_of([each.text for each in chosen], _SHOWN, "; ") or _("nothing")
