"""A unit as it is captured: its parts in the order they come out, and what can be done with that order.

Every part keeps the number it was captured under, wherever it is moved to; steps are its place now.
"""

from __future__ import annotations

import json
from collections.abc import Iterator, Mapping
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


class SeatRing(UsageError):
    """Report parts of which each lies on the next, in a ring."""

    def __init__(self, step: str, part: Captured) -> None:
        self.part = part
        told = _(
            "step {step} {name} is told to lie on this part, so this one does not lie on it: say here that nobody "
            "looked, or change what {name} lay on"
        )
        super().__init__(told.format(step=step, name=part.name))


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
        on: number of the part it lies on; NEXT: the one that comes out after it.
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
        parts: in the order they come out.
    """

    mark: str
    name: str
    up: str
    clock_from: str = ""
    lengths: str = "mm"
    parts: tuple[Captured, ...] = ()

    def walk(self) -> Iterator[tuple[str, Captured, Captured | None]]:
        """Yield every part with its step and the part it is inside, parents first."""
        yield from _walk(self.parts, "", None)

    def steps(self) -> dict[int, str]:
        """Return the step of every part by its number."""
        return {part.number: step for step, part, _ in self.walk()}

    def find(self, number: int) -> Captured:
        """Return a part by its number.

        Raises:
            UsageError: there is none.
        """
        for _step, part, _above in self.walk():
            if part.number == number:
                return part
        raise UsageError(_("this part is not in the capture any more: somebody took it out, or undid it"))

    def parent(self, number: int) -> Captured | None:
        """Return the part that another is inside; None at the top."""
        return next((above for _, part, above in self.walk() if part.number == number), None)

    def level(self, parent: int | None) -> tuple[Captured, ...]:
        """Return the parts inside another, or those at the top."""
        return self.parts if parent is None else self.find(parent).parts

    def before(self, number: int) -> Captured | None:
        """Return the part before another in the same sub-assembly; None for the first."""
        beside = self.level(_number(self.parent(number)))
        place = [part.number for part in beside].index(number)
        return beside[place - 1] if place else None


def add(unit: Unit, part: Captured, *, inside: int | None = None, before: int | None = None) -> Unit:
    """Return a unit with one more part: before another one, or as the last of its sub-assembly, or of all.

    A part before it in the same sub-assembly that lies on the next one out lies on this one.
    """
    if before is not None:
        return _put(unit, before, replace(part, on=str(before)) if part.on == NEXT else part)
    beside = unit.level(inside)
    if beside and beside[-1].on == NEXT:
        beside = (*beside[:-1], replace(beside[-1], on=str(part.number)))
    return _with_level(unit, inside, (*beside, part))


def change(unit: Unit, part: Captured) -> Unit:
    """Return a unit in which a part is told anew; what is inside it stays, and the next one out is known by now."""
    old = unit.find(part.number)
    beside = [each.number for each in unit.level(_number(unit.parent(part.number)))]
    after = beside[beside.index(part.number) + 1 :]
    part = replace(part, on=str(after[0])) if part.on == NEXT and after else part
    return replace(unit, parts=_changed(unit.parts, replace(part, parts=old.parts)))


def remove(unit: Unit, number: int) -> Unit:
    """Return a unit without a part and what is inside it; nothing lies on it any more, or came out with it."""
    gone = {str(part.number) for _, part, _ in _walk((unit.find(number),), "", None)}
    return replace(unit, parts=_forgotten(_without(unit.parts, number), gone))


def no_ring(unit: Unit, number: int) -> None:
    """Refuse a part that lies on another one which lies on it, by itself or over others.

    Raises:
        SeatRing: there is such a one.
    """
    known = {str(part.number): (step, part) for step, part, _ in unit.walk()}
    seen: set[str] = set()
    at = str(number)
    while at in known and at not in seen:
        seen.add(at)
        step, part = known[at]
        if part.on == str(number):
            raise SeatRing(step, part)
        at = part.on


def nudge(unit: Unit, number: int, *, up: bool) -> Unit:
    """Return a unit in which a part changed places with its neighbour; at the end of its sub-assembly it stays."""
    above = _number(unit.parent(unit.find(number).number))
    beside = list(unit.level(above))
    place = [part.number for part in beside].index(number)
    other = place - 1 if up else place + 1
    if not 0 <= other < len(beside):
        return unit
    beside[place], beside[other] = beside[other], beside[place]
    return _with_level(unit, above, tuple(beside))


def move(unit: Unit, number: int, step: str) -> Unit:
    """Return a unit in which a part has another step, also inside a sub-assembly; the others close up.

    Args:
        unit: the unit.
        number: of the part.
        step: `4`, or `7.2`; one past the last is the end.

    Raises:
        UsageError: no such step, or one inside the part itself.
    """
    part = unit.find(number)
    rest = replace(unit, parts=_without(unit.parts, number))
    head, last = step.strip().rpartition(".")[::2]
    numbers = {place: each.number for place, each, _ in unit.walk()}
    parent = numbers.get(head)
    mine = unit.steps()[number]
    if head and (head == mine or head.startswith(f"{mine}.")):
        raise UsageError(_("step {step} is inside the part itself; move it beside another one").format(step=step))
    beside = rest.level(parent) if parent is not None or not head else ()
    most = len(beside) + 1
    wanted = whole(last) or 0
    if (head and parent is None) or not 1 <= wanted <= most:
        wrong = _('there is no step "{step}"; allowed: a step of the list, or one past the last')
        raise UsageError(wrong.format(step=step))
    place = wanted - 1
    return _with_level(rest, parent, (*beside[:place], part, *beside[place:]))


def put_before(unit: Unit, number: int, before: int | None) -> Unit:
    """Return a unit in which a part comes right before another one, in its sub-assembly; None: as the last of all.

    Raises:
        UsageError: that one is not there, or is the part itself or inside it.
    """
    part = unit.find(number)
    if before is None:
        return replace(unit, parts=(*_without(unit.parts, number), part))
    unit.find(before)
    if before in {each.number for _step, each, _above in _walk((part,), "", None)}:
        raise UsageError(_("a part cannot come before itself, or before what is inside it"))
    return _put(replace(unit, parts=_without(unit.parts, number)), before, part)


def into(unit: Unit, number: int) -> Unit:
    """Return a unit in which a part is the last inside the one before it.

    Raises:
        UsageError: it is the first.
    """
    part, holder = unit.find(number), unit.before(number)
    if holder is None:
        raise UsageError(_("nothing comes out before this part in its sub-assembly, so it cannot be inside it"))
    return add(replace(unit, parts=_without(unit.parts, number)), part, inside=holder.number)


def out_of(unit: Unit, number: int) -> Unit:
    """Return a unit in which a part comes right after the sub-assembly that it was inside.

    Raises:
        UsageError: it is inside none.
    """
    part, above = unit.find(number), unit.parent(number)
    if above is None:
        raise UsageError(_("this part is inside no sub-assembly"))
    return _put(replace(unit, parts=_without(unit.parts, number)), above.number, part, places=1)


def gather(unit: Unit, first: int, last: int, whole: Captured) -> Unit:
    """Return a unit in which parts that follow each other are inside a new sub-assembly, which takes their place.

    Args:
        unit: the unit.
        first: number of the first part.
        last: number of the last one, beside it.
        whole: the sub-assembly.

    Raises:
        UsageError: the two are not beside each other, or the wrong way round.
    """
    above = _number(unit.parent(unit.find(first).number))
    beside = unit.level(above)
    numbers = [part.number for part in beside]
    if last not in numbers or numbers.index(last) < numbers.index(first):
        steps = unit.steps()
        wrong = _(
            "steps {first} to {last} do not follow each other in one sub-assembly; "
            "allowed: this step, or a later one beside it"
        )
        raise UsageError(wrong.format(first=steps[first], last=steps.get(last, "?")))
    start, end = numbers.index(first), numbers.index(last) + 1
    return _with_level(unit, above, (*beside[:start], replace(whole, parts=beside[start:end]), *beside[end:]))


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


def _walk(
    parts: tuple[Captured, ...], lead: str, above: Captured | None
) -> Iterator[tuple[str, Captured, Captured | None]]:
    for place, part in enumerate(parts, 1):
        yield f"{lead}{place}", part, above
        yield from _walk(part.parts, f"{lead}{place}.", part)


def _number(part: Captured | None) -> int | None:
    return None if part is None else part.number


def _put(unit: Unit, other: int, part: Captured, *, places: int = 0) -> Unit:
    """Return a unit with one more part right before another one, or so many places later."""
    above = _number(unit.parent(unit.find(other).number))
    beside = unit.level(above)
    place = [each.number for each in beside].index(other) + places
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
