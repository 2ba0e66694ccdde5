"""What of an order is still missing, which step waits for it, and what can be built on the bench meanwhile."""

from __future__ import annotations

from collections.abc import Container, Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from decimal import Decimal

from labelkit.calc.assembly import Placed
from labelkit.calc.needs import Needs, reduced
from labelkit.calc.pulling import Choices
from labelkit.calc.renewal import Use
from labelkit.calc.steps import Bin

# Where pieces lie: a place and their size, or a number that goes to any place.
_Where = tuple[int, Decimal | None] | str | None


@dataclass(frozen=True, slots=True)
class Missing:
    """Pieces that one place still waits for.

    Attributes:
        use: the place.
        pieces: that are missing.
        when: the choices of open options under which that many are; empty: whatever they are.
    """

    use: Use
    pieces: int
    when: Choices


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
    def lacks(self) -> tuple[str, ...]:
        """Names of the new parts that its build waits for."""
        return tuple(dict.fromkeys(each.use.name for each in self.missing))

    @property
    def follows(self) -> tuple[str, ...]:
        """Names of the other parts that must be in the unit first."""
        return tuple(dict.fromkeys(each.name for each in self.after if each.name not in self.lacks))


@dataclass(frozen=True, slots=True)
class Shortage:
    """What is missing, and what it stops.

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
) -> Shortage:
    """Return what is missing, and what it stops. Pieces of one number go to the step that needs them first.

    Args:
        needs: the order.
        order: the order of assembly, of the same teardown.
        have: pieces by number that lie ready for any place, as `Needs.shelf` gives them.
        new_at: pieces that came for their place, by its ordinal and their size, mm; None: they have none, or nobody
            knows it.
        placed: ordinals of what is in.
        joined: ordinals of what is joined on the bench.
        incomplete: ordinals of what lacks pieces that nobody is to order.
    """
    uses = [use for use in needs.uses if use.pieces is not None and not use.unsized]
    stock = dict[_Where, int](have.items()) | dict(new_at or {})
    lacks = [_lacks(uses, bit, dict(stock)) for bit in range(len(needs.ways))]
    missing = []
    for number, use in enumerate(uses):
        told = reduced(needs.ways, [lack[number] for lack in lacks])
        missing += [Missing(use, pieces, when) for when, pieces in told if pieces]
    unsettled = tuple(use for use in needs.uses if use.pieces is None or use.unsized)
    return Shortage(tuple(missing), tuple(_groups(order, missing, placed, joined, incomplete)), unsettled)


def _lacks(uses: Iterable[Use], bit: int, stock: dict[_Where, int]) -> list[int]:
    """Return how many pieces each use lacks under one way; takes what it gives out of the stock."""
    found = []
    for use in uses:
        lack = (use.pieces or 0) if use.ways >> bit & 1 else 0
        for key in ((use.item.ordinal, use.grade), (use.item.ordinal, None), use.number):
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
    within = [(_within(each.use), each) for each in missing]
    lacking = [(_outward(step), each) for step, each in bins.items() if each.ordinal in incomplete]
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
            waits = tuple(each for inside, each in within if not inside.isdisjoint(steps))
            lacks = tuple(each for inside, each in lacking if not inside.isdisjoint(steps))
            # What is joined on the bench waits there for nothing in the unit; a stack may be laid into it only.
            after = {} if together else {step: bins[step] for step in _outside(order, steps[0])}
            absent = tuple(each for each in after.values() if each.ordinal not in there)
            # One whose parts all stay captured has none to build it of: it is when it is in itself.
            inner = [] if together else [step for step in bins if step.startswith(f"{steps[0]}.")]
            parts = [bins[step].ordinal for step in inner or steps]
            done = all(part in there or (not inner and part in joined) for part in parts)
            found.append(Group(name, tuple(steps), together, waits, absent, lacks, done and not waits))
    return found


def _outside(order: Sequence[Placed], whole: str) -> Iterator[str]:
    """Yield the steps outside a sub-assembly that must be in before something inside it."""
    for placed in order:
        if placed.bin.step.startswith(f"{whole}."):
            yield from (n.step for n in placed.needs if n.step != whole and not n.step.startswith(f"{whole}."))
