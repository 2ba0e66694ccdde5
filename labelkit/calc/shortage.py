"""What of an order is still missing, which step waits for it, and what can be built on the bench meanwhile."""

from __future__ import annotations

from collections.abc import Container, Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from decimal import Decimal
from typing import TypeVar

from labelkit.calc.assembly import Placed
from labelkit.calc.needs import Needs, reduced
from labelkit.calc.pulling import Choices
from labelkit.calc.renewal import Use
from labelkit.calc.steps import Bin

T = TypeVar("T")
# Where pieces lie: a place and their size, or a number that goes to any place.
_Where = tuple[int, Decimal | None] | str | None


@dataclass(frozen=True, slots=True)
class Missing:
    """Pieces that one place still waits for.

    Attributes:
        use: the place.
        pieces: that are missing; None: some of what has no fixed count, since its size is not chosen and none came; 0:
            none, but the place is on hold.
        when: the choices of open options under which that many are; empty: whatever they are.
        held: its place is on hold, so that it waits whatever came.
    """

    use: Use
    pieces: int | None
    when: Choices
    held: bool

    @property
    def is_short(self) -> bool:
        """Whether some of it is not here."""
        return self.pieces != 0


@dataclass(frozen=True, slots=True)
class Group:
    """What is built on the bench: parts that the profile joins, or a sub-assembly.

    Attributes:
        name: of the group or sub-assembly.
        steps: its members, or the sub-assembly itself.
        joined: the profile joins them.
        missing: what its build waits for.
        after: what must be in the unit before some of it.
        incomplete: its parts of which pieces are not there, and no new ones are to come.
        built: it is: all that is joined is, or is in; all parts of a sub-assembly are in it.
    """

    name: str
    steps: tuple[str, ...]
    joined: bool
    missing: tuple[Missing, ...]
    after: tuple[Bin, ...]
    incomplete: tuple[Bin, ...]
    built: bool

    @property
    def can_be_built(self) -> bool:
        """Whether it is not built yet, and waits for nothing."""
        return not (self.built or self.missing or self.after or self.incomplete)

    @property
    def follows(self) -> tuple[str, ...]:
        """Names of the other parts that must be in the unit first."""
        lacks = {each.use.name for each in self.missing}
        return tuple(dict.fromkeys(each.name for each in self.after if each.name not in lacks))


@dataclass(frozen=True, slots=True)
class Shortage:
    """What is missing or on hold, and what it stops.

    Attributes:
        missing: in the order of assembly; the first one blocks the first step.
        groups: in the order of assembly.
        unsettled: uses that nobody can count or name yet: no fixed count, or the size is not chosen.
    """

    missing: tuple[Missing, ...]
    groups: tuple[Group, ...]
    unsettled: tuple[Use, ...]


def shortage(
    needs: Needs,
    order: Sequence[Placed],
    have: Mapping[str, int],
    new_at: Mapping[tuple[int, Decimal | None], int] | None = None,
    placed: Container[int] = (),
    joined: Container[int] = (),
    incomplete: Container[int] = (),
    held: Container[int] = (),
) -> Shortage:
    """Return what is missing or on hold, and what it stops. Pieces of one number go to the step that needs them first.

    What has no size yet is missing, too, as long as its place has no new pieces: whatever is chosen, they must come.

    Args:
        needs: the order.
        order: the order of assembly, of the same teardown.
        have: pieces by number that lie ready for any place, as `Needs.shelf` gives them.
        new_at: pieces that came for their place, by its ordinal and their size, mm; None: they have none.
        placed: ordinals of what is in.
        joined: ordinals of what is joined on the bench.
        incomplete: ordinals of what lacks pieces that nobody is to order.
        held: ordinals of what is on hold.
    """
    uses = needs.uses
    stock = dict[_Where, int](have.items()) | dict(new_at or {})
    lacks = [_lacks(uses, bit, dict(stock)) for bit in range(len(needs.ways))]
    missing = []
    for number, use in enumerate(uses):
        on_hold = use.item.ordinal in held
        told = reduced(needs.ways, [(lack[number], on_hold and use.ways >> bit & 1) for bit, lack in enumerate(lacks)])
        for when, (pieces, waits) in told:
            if pieces or waits:
                missing.append(Missing(use, None if pieces and not use.pieces else pieces, when, on_hold))
    unsettled = tuple(use for use in needs.uses if use.pieces is None or use.unsized)
    return Shortage(tuple(missing), tuple(_groups(order, missing, placed, joined, incomplete)), unsettled)


def _lacks(uses: Iterable[Use], bit: int, stock: dict[_Where, int]) -> list[int]:
    """Return how many pieces each use lacks under one way; takes what it gives out of the stock."""
    found = []
    for use in uses:
        lack = (use.pieces or int(use.unsized)) if use.ways >> bit & 1 else 0
        place = use.item.ordinal
        came = [key for key in stock if isinstance(key, tuple) and key[0] == place] if use.unsized else []
        for key in (*came, (place, use.grade), use.number):
            taken = min(lack, stock.get(key, 0))
            stock[key] = stock.get(key, 0) - taken
            lack -= taken
        found.append(lack)
    return found


def _within(use: Use) -> set[str]:
    """Return the steps a use belongs to: its own, the one that waits for it, and every one these are inside."""
    return _outward(use.step, use.item.step if isinstance(use.item, Bin) else use.item.parent)


def _outward(*steps: str | None) -> set[str]:
    """Return steps, and every one these are inside."""
    found: set[str] = set()
    for step in filter(None, steps):
        pieces = step.split(".")
        found |= {".".join(pieces[: level + 1]) for level in range(len(pieces))}
    return found


def _groups(
    order: Sequence[Placed],
    missing: Sequence[Missing],
    there: Container[int],
    joined: Container[int],
    incomplete: Container[int],
) -> list[Group]:
    """Return every joined group and sub-assembly, where the last of its parts goes in; `there`: what is in."""
    bins = {each.bin.step: each.bin for each in order}
    waiting = _by_step((_within(each.use), each) for each in missing)
    lacking = _by_step((_outward(step), each) for step, each in bins.items() if each.ordinal in incomplete)
    inside = _by_step((_outward(each.bin.parent), each) for each in order)
    members: dict[str, list[str]] = {}
    for placed in order:
        if placed.group is not None:
            members.setdefault(placed.group, []).append(placed.bin.step)
    found = []
    for placed in order:
        named = [(placed.bin.name, [placed.bin.step], False)] * bool(placed.bin.part.parts)
        if placed.group is not None and members[placed.group][-1] == placed.bin.step:
            named.append((placed.group, members[placed.group], True))
        for name, steps, together in named:
            waits, lacks = _at(waiting, steps), _at(lacking, steps)
            # What is joined on the bench waits there for nothing in the unit; a stack may be laid into it only.
            inner = () if together else _at(inside, steps)
            after = {step: bins[step] for step in _outside(inner, steps[0])}
            absent = tuple(each for each in after.values() if each.ordinal not in there)
            # One whose parts all stay captured has none to build it of: it is when it is in itself.
            parts = [each.bin.ordinal for each in inner] or [bins[step].ordinal for step in steps]
            done = all(part in there or (not inner and part in joined) for part in parts)
            found.append(Group(name, tuple(steps), together, waits, absent, lacks, done and not waits))
    return found


def _by_step(some: Iterable[tuple[set[str], T]]) -> dict[str, dict[int, T]]:
    """Return things by the steps that they belong to, and there by their turn."""
    found: dict[str, dict[int, T]] = {}
    for turn, (steps, each) in enumerate(some):
        for step in steps:
            found.setdefault(step, {})[turn] = each
    return found


def _at(by_step: Mapping[str, Mapping[int, T]], steps: Iterable[str]) -> tuple[T, ...]:
    """Return what belongs to some steps, in turn."""
    found: dict[int, T] = {}
    for step in steps:
        found.update(by_step.get(step, {}))
    return tuple(found[turn] for turn in sorted(found))


def _outside(inner: Iterable[Placed], whole: str) -> Iterator[str]:
    """Yield the steps outside a sub-assembly that must be in before something inside it."""
    for placed in inner:
        yield from (n.step for n in placed.needs if n.step != whole and not n.step.startswith(f"{whole}."))
