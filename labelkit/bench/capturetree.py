"""A unit as it is captured: its parts in the order they come out, and what can be done with that order.

Every part keeps the number it was captured under, wherever it is moved to; steps are its place now.
"""

from __future__ import annotations

import json
from collections.abc import Callable, Iterator, Mapping, Sequence
from dataclasses import asdict, dataclass, field, fields, replace
from typing import Any, Final

from labelkit.bench.typed import whole
from labelkit.errors import UsageError
from labelkit.language import gettext as _

# A code is kept for each number; parts that were captured and taken out again use one up, too.
MOST_PARTS: Final = 1000
NEXT: Final = "next"
RELATED: Final = ("held_part", "keep_with", "pair")
"""Fields of `Captured.more` that name another part by its number."""


@dataclass(frozen=True, slots=True)
class Captured:
    """One part as somebody told it; an empty text is not recorded.

    Attributes:
        number: its own, from 1, given once.
        name: as typed.
        kind: of form.
        sizes: as typed, by the form's names of them.
        qty: how many, or `set`.
        way: where its end points: `up`, `down`, or `free`: either way is right.
        said: words of the button that was tapped for an end, in the language of who did: `LIP DOWN`.
        face: the face that points up, where its form has no ends.
        clock: `6:00`, or `free`.
        on: number of the part it lies on; NEXT: the one that comes out after it, whichever that is as the list stands.
        along: number of the part it came out with.
        mass: of one, as typed.
        order: number to order it by.
        remark: for whoever comes after.
        photos: SHA-256 of each, the first is shown.
        more: what is asked on a later page only, by the field of `capturemore`; another part by its number.
        parts: what is inside it, in the order it comes out.
    """

    number: int
    name: str
    kind: str = ""
    sizes: Mapping[str, str] = field(default_factory=dict)
    qty: str = "1"
    way: str = ""
    said: str = ""
    face: str = ""
    clock: str = ""
    on: str = ""
    along: str = ""
    mass: str = ""
    order: str = ""
    remark: str = ""
    photos: tuple[str, ...] = ()
    more: Mapping[str, str] = field(default_factory=dict)
    parts: tuple[Captured, ...] = ()


@dataclass(frozen=True, slots=True)
class Unit:
    """What is captured.

    Attributes:
        mark, name, up, clock_from, lengths: as in a profile's header; `clock_from` may be empty.
        more: what is asked on a later page only, by the field of `capturemore`.
        parts: in the order they come out.
    """

    mark: str
    name: str
    up: str
    clock_from: str = ""
    lengths: str = "mm"
    more: Mapping[str, str] = field(default_factory=dict)
    parts: tuple[Captured, ...] = ()

    def walk(self) -> Iterator[tuple[str, Captured]]:
        """Yield every part with its step, parents first."""
        yield from _walk(self.parts, "")

    def steps(self) -> dict[int, str]:
        """Return the step of every part by its number."""
        return {part.number: step for step, part in self.walk()}

    def numbers(self) -> dict[str, str]:
        """Return the number of every part by its step, as `Captured` names other parts."""
        return {step: str(part.number) for step, part in self.walk()}

    def step_of(self, number: str) -> str:
        """Return the step of a part by its number, as `Captured` names other parts; empty where there is none."""
        return next((step for step, part in self.walk() if str(part.number) == number), "")

    def find(self, number: int) -> Captured:
        """Return a part by its number.

        Raises:
            UsageError: there is none.
        """
        for _step, part in self.walk():
            if part.number == number:
                return part
        raise UsageError(_("this part is not in the capture any more: somebody took it out, or undid it"))

    def latest(self, fits: Callable[[Captured], object]) -> tuple[str, Captured] | None:
        """Return the part that was captured last of those that fit, with its step."""
        found = [(step, part) for step, part in self.walk() if fits(part)]
        return max(found, key=lambda pair: pair[1].number, default=None)

    def level(self, parent: int | None) -> tuple[Captured, ...]:
        """Return the parts inside another, or those at the top."""
        return self.parts if parent is None else self.find(parent).parts

    def place(self, number: int) -> tuple[int | None, tuple[Captured, ...], int]:
        """Return the number of what a part is inside, None at the top; all parts in there; and which of them it is.

        Raises:
            UsageError: there is no such part.
        """
        self.find(number)
        inside = (each.number for _step, each in self.walk() if number in {part.number for part in each.parts})
        beside = self.level(above := next(inside, None))
        return above, beside, [part.number for part in beside].index(number)

    def seated(self) -> Unit:
        """Return the unit in which what lies on the next one out lies on the one that it is now, or on none."""
        return replace(self, parts=_seated(self.parts))

    def before(self, number: int) -> Captured | None:
        """Return the part before another in the same sub-assembly; None for the first."""
        _above, beside, place = self.place(number)
        return beside[place - 1] if place else None


def add(unit: Unit, part: Captured, *, inside: int | None = None, before: int | None = None) -> Unit:
    """Return a unit with one more part: before another one, or as the last of its sub-assembly, or of all."""
    if before is not None:
        return _put(unit, before, part)
    return _with_level(unit, inside, (*unit.level(inside), part))


def change(unit: Unit, part: Captured) -> Unit:
    """Return a unit in which a part is told anew; what is inside it stays."""
    return replace(unit, parts=_changed(unit.parts, replace(part, parts=unit.find(part.number).parts)))


def remove(unit: Unit, number: int) -> Unit:
    """Return a unit without a part and what is inside it; nothing lies on it any more, or came out with it."""
    part, rest = _lifted(unit, number)
    return replace(rest, parts=_forgotten(rest.parts, {str(each.number) for _step, each in _walk((part,), "")}))


def nudge(unit: Unit, number: int, places: int) -> Unit:
    """Return a unit in which a part changed places with its neighbour; at the end of its sub-assembly it stays.

    Args:
        unit: the unit.
        number: of the part.
        places: -1: with the one before it; 1: with the one after it.
    """
    above, beside, place = unit.place(number)
    other = place + places
    if not 0 <= other < len(beside):
        return unit
    turned = list(beside)
    turned[place], turned[other] = beside[other], beside[place]
    return _with_level(unit, above, tuple(turned))


def move(unit: Unit, number: int, step: str) -> Unit:
    """Return a unit in which a part has another step, also inside a sub-assembly; the others close up.

    Args:
        unit: the unit.
        number: of the part.
        step: `4`, or `7.2`; one past the last is the end.

    Raises:
        UsageError: no such step, or one inside the part itself.
    """
    part, rest = _lifted(unit, number)
    head, last = step.strip().rpartition(".")[::2]
    parent = whole(unit.numbers().get(head, ""))
    mine = unit.steps()[number]
    if head and (head == mine or head.startswith(f"{mine}.")):
        raise UsageError(_("step {step} is inside the part itself; move it beside another one").format(step=step))
    beside = rest.level(parent) if parent is not None or not head else ()
    place = (whole(last) or 0) - 1
    if (head and parent is None) or not 0 <= place <= len(beside):
        wrong = _('there is no step "{step}"; allowed: a step of the list, or one past the last')
        raise UsageError(wrong.format(step=step))
    return _with_level(rest, parent, (*beside[:place], part, *beside[place:]))


def put_before(unit: Unit, number: int, before: int | None) -> Unit:
    """Return a unit in which a part comes right before another one, in its sub-assembly; None: as the last of all.

    Raises:
        UsageError: that one is not there, or is the part itself or inside it.
    """
    part, rest = _lifted(unit, number)
    if before is None:
        return replace(rest, parts=(*rest.parts, part))
    if before in {each.number for _step, each in _walk((part,), "")}:
        raise UsageError(_("a part cannot come before itself, or before what is inside it"))
    return _put(rest, before, part)


def into(unit: Unit, number: int) -> Unit:
    """Return a unit in which a part is the last inside the one before it.

    Raises:
        UsageError: it is the first.
    """
    holder, (part, rest) = unit.before(number), _lifted(unit, number)
    if holder is None:
        raise UsageError(_("nothing comes out before this part in its sub-assembly, so it cannot be inside it"))
    # What came out next is not inside: there the holder is what it lies on.
    return add(rest, replace(part, on=str(holder.number) if part.on == NEXT else part.on), inside=holder.number)


def out_of(unit: Unit, number: int) -> Unit:
    """Return a unit in which a part comes right after the sub-assembly that it was inside.

    Raises:
        UsageError: it is inside none.
    """
    above, _beside, _place = unit.place(number)
    if above is None:
        raise UsageError(_("this part is inside no sub-assembly"))
    part, rest = _lifted(unit, number)
    return _put(rest, above, part, places=1)


def gather(unit: Unit, first: int, last: int, holder: Captured) -> Unit:
    """Return a unit in which parts that follow each other are inside a new sub-assembly, which takes their place.

    Args:
        unit: the unit.
        first: number of the first part.
        last: number of the last one, beside it.
        holder: the sub-assembly.

    Raises:
        UsageError: the two are not beside each other, or the wrong way round.
    """
    above, beside, start = unit.place(first)
    end = next((place for place, part in enumerate(beside, 1) if part.number == last), 0)
    if end <= start:
        steps = unit.steps()
        wrong = _(
            "steps {first} to {last} do not follow each other in one sub-assembly; "
            "allowed: this step, or a later one beside it"
        )
        raise UsageError(wrong.format(first=steps[first], last=steps.get(last, "?")))
    inside = (*beside[start : end - 1], _last(unit, beside[end - 1]))
    return _with_level(unit, above, (*beside[:start], replace(holder, parts=inside), *beside[end:]))


def _last(unit: Unit, part: Captured) -> Captured:
    """Return a part as the last inside a sub-assembly: what it lies on comes out after that one."""
    return replace(part, on=unit.seated().find(part.number).on or part.on)


def unit_text(unit: Unit) -> str:
    """Return a unit as text that `unit_of` reads."""
    return json.dumps(asdict(unit), ensure_ascii=False, separators=(",", ":"))


def unit_of(text: str) -> Unit:
    """Return the unit of a text that `unit_text` wrote."""
    data = json.loads(text)
    return Unit(**{**_known(Unit, data), "parts": tuple(map(_captured, data["parts"]))})


def _captured(data: dict[str, Any]) -> Captured:
    inside = {"photos": tuple(data["photos"]), "parts": tuple(map(_captured, data["parts"]))}
    return Captured(**{**_known(Captured, data), **inside})


def _known(kind: type, data: Mapping[str, Any]) -> dict[str, Any]:
    return {each.name: data[each.name] for each in fields(kind) if each.name in data}


def _walk(parts: tuple[Captured, ...], lead: str) -> Iterator[tuple[str, Captured]]:
    for place, part in enumerate(parts, 1):
        yield f"{lead}{place}", part
        yield from _walk(part.parts, f"{lead}{place}.")


def _seated(parts: tuple[Captured, ...]) -> tuple[Captured, ...]:
    return tuple(
        replace(part, on=_next_out(part, parts[place + 1 :]) if part.on == NEXT else part.on, parts=_seated(part.parts))
        for place, part in enumerate(parts)
    )


def _next_out(part: Captured, after: Sequence[Captured]) -> str:
    """Return the number of the next part that comes out by itself: what came out with one is no seat of it."""
    along = {str(part.number)}
    for each in after:
        if each.along not in along:
            return str(each.number)
        along.add(str(each.number))
    return ""


def _lifted(unit: Unit, number: int) -> tuple[Captured, Unit]:
    """Return a part, and the unit without it."""
    return unit.find(number), replace(unit, parts=_without(unit.parts, number))


def _put(unit: Unit, other: int, part: Captured, *, places: int = 0) -> Unit:
    """Return a unit with one more part right before another one, or so many places later."""
    above, beside, place = unit.place(other)
    place += places
    return _with_level(unit, above, (*beside[:place], part, *beside[place:]))


def _with_level(unit: Unit, parent: int | None, parts: tuple[Captured, ...]) -> Unit:
    if parent is None:
        return replace(unit, parts=parts)
    return replace(unit, parts=_changed(unit.parts, replace(unit.find(parent), parts=parts)))


def _changed(parts: tuple[Captured, ...], new: Captured) -> tuple[Captured, ...]:
    return tuple(new if part.number == new.number else replace(part, parts=_changed(part.parts, new)) for part in parts)


def _without(parts: tuple[Captured, ...], number: int) -> tuple[Captured, ...]:
    return tuple(replace(part, parts=_without(part.parts, number)) for part in parts if part.number != number)


def _forgotten(parts: tuple[Captured, ...], gone: set[str]) -> tuple[Captured, ...]:
    return tuple(
        replace(
            part,
            on="" if part.on in gone else part.on,
            along="" if part.along in gone else part.along,
            more={key: each for key, each in part.more.items() if key not in RELATED or each not in gone},
            parts=_forgotten(part.parts, gone),
        )
        for part in parts
    )
