"""What of a job must be new, and why: always, condemned, lost, used once only, with another part, or as a pair.

Every place is judged under every way in which the options that are still open may be chosen, so that a part that may
not be there is never counted in silence.
"""

from __future__ import annotations

import itertools
import math
from collections import Counter, deque
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, field
from decimal import Decimal
from typing import Final, Literal

from labelkit.calc.assembly import Placed
from labelkit.calc.steps import Bin, Chosen, Inside, Teardown
from labelkit.calc.trays import nothing_but_parts
from labelkit.errors import UsageError, allowed_text
from labelkit.model.catalogue import order_number
from labelkit.model.part import Part, RenewWith, wanted_choices
from labelkit.model.profile import Profile
from labelkit.units import Quantity

Verdict = Literal["ok", "condemned", "lost"]
Reason = Literal["always", "one_time", "condemned", "lost", "size", "with", "pair"]
# Choices of open options: (group, choice) of each; empty: whatever they are.
Choices = tuple[tuple[str, str], ...]

# Ways of choosing the open options that are looked at: ten groups of two choices, more than any unit leaves open.
MOST_WAYS: Final = 1024
_MOST_PIECES: Final = 9999  # as for a quantity of the profile


@dataclass(frozen=True, slots=True)
class Finding:
    """What the inspection found at one place, in so many of its pieces; None: in all."""

    verdict: Verdict
    pieces: int | None = None


# By the ordinal of their place; sizes in mm.
Found = Mapping[int, Finding]
Sizes = Mapping[int, Sequence[Decimal]]


@dataclass(frozen=True, slots=True)
class Use:
    """One place where new pieces go.

    Attributes:
        item: the bin, or the part that stays inside another.
        name: its name, saying which copy it is.
        number: the order number; None when the profile has none, or the size that decides it is not chosen.
        pieces: how many; None: as needed, the profile has no fixed count.
        reason: why; `one_time` with causes: it has to come out to get at them.
        causes: names of the parts that pull it.
        size: the chosen size of a graded part.
        unsized: graded, and the size is chosen later.
        pairs: names of the parts with which it is ordered as a pair.
        step: the first step in the order of assembly that cannot be done without it; None: no step waits for it.
        position: place of that step in the order of assembly, from 0.
        ways: bit k says that it is needed under way k of the open options.
    """

    item: Bin | Inside
    name: str
    number: str | None
    pieces: int | None
    reason: Reason
    causes: tuple[str, ...]
    size: Quantity | None
    unsized: bool
    pairs: tuple[str, ...]
    step: str | None
    position: int
    ways: int

    @property
    def part(self) -> Part:
        """The entry of the profile."""
        return self.item.part


@dataclass(frozen=True, slots=True)
class Renewal:
    """What must be new.

    Attributes:
        uses: in the order of assembly.
        ways: every way of choosing the open options on which anything depends; one empty way when none is open.
        unjudged: what is renewed if worn, and nobody has judged.
        notes: what the profile leaves open about it, for people.
    """

    uses: tuple[Use, ...]
    ways: tuple[Choices, ...]
    unjudged: tuple[Bin | Inside, ...]
    notes: tuple[str, ...]


def renewal(profile: Profile, teardown: Teardown, order: Sequence[Placed], found: Found, sizes: Sizes) -> Renewal:
    """Return what must be new.

    Args:
        profile: of the unit.
        teardown: its parts under the job's options.
        order: the order of assembly.
        found: what the inspection found.
        sizes: of graded parts that are to be new: one size is that of all pieces.

    Raises:
        UsageError: as for `calc.needs.roll_up`.
    """
    tree = _Tree(profile, teardown.chosen)
    needs = tree.needs(found)
    maker = _Uses(tree, teardown, order, found, sizes)
    uses = [use for spot in tree.spots for use in maker.of(spot, needs.get(spot.ordinal, _Need()))]
    uses.sort(key=lambda use: (use.position, use.item.ordinal))
    judged = {*needs, *found, *sizes}
    unjudged = [
        maker.items[spot.ordinal]
        for spot in tree.spots
        if spot.there and spot.ordinal not in judged and spot.part.renew in (None, "if_worn")
        if not tree.is_its_parts(spot.part)
    ]
    return Renewal(tuple(uses), tree.ways, tuple(unjudged), tuple(maker.notes(needs)))


@dataclass(frozen=True, slots=True, eq=False)
class _Spot:
    """One place of the profile.

    Attributes:
        ordinal: as the removal order counts.
        above: the sub-assemblies it is inside, outermost first.
        copy: as for a bin.
        pieces: product of the counts down to it; None when one of them is not fixed.
        there: bit k says that it is there under way k.
    """

    ordinal: int
    part: Part
    above: tuple[_Spot, ...]
    copy: int
    pieces: int | None
    there: int

    def of_one_copy(self, other: _Spot) -> bool:
        """Say whether both are inside the same copy of every sub-assembly that both are inside."""
        mine = {each.part.id: each for each in (*self.above, self)}
        return all(mine.get(each.part.id, each) is each for each in (*other.above, other))


@dataclass(slots=True)
class _Need:
    """What is needed at one spot.

    Attributes:
        reason: its own, None when it is only pulled.
        own: ways in which all pieces are needed for that reason.
        some: ways in which only the pieces of its finding are.
        pulled: ways in which another part pulls it, and so all of it.
        by: what pulls it, and why.
    """

    reason: Reason | None = None
    own: int = 0
    some: int = 0
    pulled: int = 0
    by: list[tuple[_Spot, Reason]] = field(default_factory=list)

    @property
    def ways(self) -> int:
        return self.own | self.some | self.pulled


class _Tree:
    """All spots of a profile, and which of them pull which."""

    def __init__(self, profile: Profile, chosen: Chosen) -> None:
        self.profile, self.chosen = profile, chosen
        self.ways = _open_ways(profile, chosen)
        everywhere = (1 << len(self.ways)) - 1
        # Under which ways a choice is made.
        self.made = {(group, choice): everywhere for group, choice in chosen.items() if choice is not None}
        for bit, choice in ((bit, choice) for bit, way in enumerate(self.ways) for choice in way):
            self.made[choice] = self.made.get(choice, 0) | 1 << bit
        self.spots: list[_Spot] = []
        self._visit(profile.parts, (), 1, 1, everywhere)
        self.by_id: dict[str, list[_Spot]] = {}
        for spot in self.spots:
            if spot.there:
                self.by_id.setdefault(spot.part.id, []).append(spot)
        self.pulls: dict[int, dict[_Spot, Reason]] = {}
        self.pairs: dict[int, list[_Spot]] = {}
        for spot in itertools.chain(*self.by_id.values()):
            self._tie(spot)

    def _visit(
        self, parts: Sequence[Part], above: tuple[_Spot, ...], copy: int, pieces: int | None, there: int
    ) -> None:
        for part in parts:
            own = there
            for group, wanted in part.only.items():
                own &= sum(self.made.get((group, choice), 0) for choice in set(wanted_choices(wanted)))
            count = None if pieces is None or part.qty == "set" else pieces * part.qty
            for turn in range(1, part.used + 1):
                spot = _Spot(len(self.spots), part, above, turn if part.used > 1 else copy, count, own)
                self.spots.append(spot)
                self._visit(part.parts, (*above, spot), spot.copy, count, own)

    def _tie(self, spot: _Spot) -> None:
        """Note what pulls a spot and what it pulls."""
        part = spot.part
        if isinstance(part.renew, RenewWith):
            for cause in self.partners(spot, part.renew.part):
                self._pull(cause, spot, "with")
        for other in itertools.chain(*(self.partners(spot, name) for name in part.pair)):
            for one, its in ((spot, other), (other, spot)):
                self.pairs.setdefault(one.ordinal, []).append(its)
                self._pull(one, its, "pair")
        for captor in self.captors(spot):
            if captor.part.one_time:
                self._pull(spot, captor, "one_time")
        if spot.above and self.is_its_parts(spot.above[-1].part):
            self._pull(spot.above[-1], spot, "with")

    def _pull(self, cause: _Spot, spot: _Spot, reason: Reason) -> None:
        self.pulls.setdefault(cause.ordinal, {}).setdefault(spot, reason)

    def partners(self, spot: _Spot, name: str) -> list[_Spot]:
        """Return the spots of a part id that a spot has to do with: where both are copied, those of its own copy."""
        own, others = self.by_id[spot.part.id], self.by_id.get(name, [])
        numbered = len(own) == len(others)
        return [each for each in others if (not numbered or spot.copy == each.copy) and spot.of_one_copy(each)]

    def captors(self, spot: _Spot) -> list[_Spot]:
        """Return what must come out to get at a spot, the nearest first; empty when it is not captured."""
        found: dict[_Spot, None] = {}
        waiting = deque([spot])
        while waiting:
            inner = waiting.popleft()
            for each in (inner, *reversed(inner.above)):
                new = self.partners(each, str(each.part.holder)) if each.part.captured else []
                waiting.extend(captor for captor in new if captor not in found)
                found |= dict.fromkeys(new)
        return list(found)

    def is_its_parts(self, part: Part) -> bool:
        """Say whether a sub-assembly has no number and no substance of its own, so that its parts stand for it."""
        if not part.parts or part.number is not None or part.series is not None:
            return False
        return nothing_but_parts(part, self.chosen)

    def needs(self, found: Found) -> dict[int, _Need]:
        """Return what is needed, by ordinal, with everything that one need pulls after it."""
        needs: dict[int, _Need] = {}
        for spot in self.spots:
            finding = found.get(spot.ordinal, Finding("ok"))
            most = spot.pieces or _MOST_PIECES
            if finding.pieces is not None and not 1 <= finding.pieces <= most:
                raise UsageError(f"{spot.part.id}: found {finding.pieces} pieces; allowed: 1 to {most}")
            reason = _own_reason(spot, finding)
            if spot.there and reason is not None:
                some = reason == finding.verdict and finding.pieces not in (None, spot.pieces)
                needs[spot.ordinal] = _Need(reason, *((0, spot.there) if some else (spot.there, 0)))
        waiting = deque(needs)
        while waiting:
            ordinal = waiting.popleft()
            for spot, reason in self.pulls.get(ordinal, {}).items():
                need = needs.setdefault(spot.ordinal, _Need())
                before = need.ways
                if new := needs[ordinal].ways & spot.there & ~(need.own | need.pulled):
                    need.pulled |= new
                    need.by.append((self.spots[ordinal], reason))
                if need.ways != before:
                    waiting.append(spot.ordinal)
        return {ordinal: need for ordinal, need in needs.items() if need.ways}


def _open_ways(profile: Profile, chosen: Chosen) -> tuple[Choices, ...]:
    asked = {group for _, part in profile.walk() for group in part.only}
    still = {name: option for name, option in profile.options.items() if name in asked and chosen.get(name) is None}
    if math.prod(len(option.choices) for option in still.values()) > MOST_WAYS:
        raise UsageError(f"the options {', '.join(still)} are open: over {MOST_WAYS} ways to order; choose some first")
    ways = itertools.product(*(option.choices for option in still.values()))
    return tuple(tuple(zip(still, choices, strict=True)) for choices in ways)


def _own_reason(spot: _Spot, finding: Finding) -> Reason | None:
    """Return why a part is renewed whatever happens to others; a captured one does not come out without need."""
    part = spot.part
    if part.renew == "always":
        return "always"
    captured = any(each.part.captured for each in (*spot.above, spot))
    if part.one_time and not captured and not isinstance(part.renew, RenewWith):
        return "one_time"
    return None if finding.verdict == "ok" else finding.verdict


class _Uses:
    """Makes uses of needs."""

    def __init__(self, tree: _Tree, teardown: Teardown, order: Sequence[Placed], found: Found, sizes: Sizes) -> None:
        self.tree, self.found, self.sizes = tree, found, sizes
        self.items: dict[int, Bin | Inside] = {each.ordinal: each for each in teardown.bins}
        self.items |= {each.ordinal: each for each in teardown.inside}
        self.positions = {placed.bin.step: position for position, placed in enumerate(order)}

    def of(self, spot: _Spot, need: _Need) -> Iterator[Use]:
        """Yield the uses of one spot: all its pieces under some ways, a few of them under others."""
        if self.tree.is_its_parts(spot.part):
            return
        full = need.own | need.pulled
        reason: Reason = need.reason or (need.by[0][1] if need.by else "size")
        if full:
            yield from self._sized(spot, full, spot.pieces, reason, need)
        if some := need.some & ~full:
            yield from self._sized(spot, some, self.found[spot.ordinal].pieces, reason, need)
        if spot.ordinal in self.sizes and (rest := spot.there & ~need.ways):
            yield from self._sized(spot, rest, spot.pieces, "size", _Need())

    def _sized(self, spot: _Spot, ways: int, pieces: int | None, reason: Reason, need: _Need) -> Iterator[Use]:
        """Yield a use for each size; one without a size where none is chosen."""
        profile, part = self.tree.profile, spot.part
        series = profile.series.get(part.series or "")
        step, position = self.blocks(spot)
        pairs = [other for other in self.tree.pairs.get(spot.ordinal, ()) if other.there & ways]
        for size, count in self._counted(spot, pieces).items():
            unsized = series is not None and size is None
            yield Use(
                item=self.items[spot.ordinal],
                name=self.name(spot),
                number=None if unsized else order_number(profile, part, size),
                pieces=count,
                reason=reason,
                causes=() if need.reason else tuple(dict.fromkeys(self.name(cause) for cause, _ in need.by)),
                size=size,
                unsized=unsized,
                pairs=tuple(dict.fromkeys(map(self.name, pairs))),
                step=step,
                position=position,
                ways=ways,
            )

    def _counted(self, spot: _Spot, pieces: int | None) -> Mapping[Quantity | None, int | None]:
        """Return the pieces by size."""
        chosen, part = self.sizes.get(spot.ordinal, ()), spot.part
        if not chosen:
            return {None: pieces}
        series = self.tree.profile.series.get(part.series or "")
        if series is None:
            raise UsageError(f"{part.id} has no graded sizes: it belongs to no series of the profile")
        known = {size.mm: size for size in series.listed()}
        for size in chosen:
            if size not in known:
                raise UsageError(f"{part.id}: found {size} mm; {allowed_text(str(size), map(str, known.values()))}")
        return {known[chosen[0]]: pieces or 1} if len(chosen) == 1 else Counter(known[size] for size in chosen)

    def name(self, spot: _Spot) -> str:
        """Return a spot's name, saying which copy it is."""
        item = self.items[spot.ordinal]
        if isinstance(item, Bin):
            return item.name
        copies = self.tree.by_id[spot.part.id]
        return spot.part.name + (f" ({copies.index(spot) + 1} of {len(copies)})" if len(copies) > 1 else "")

    def blocks(self, spot: _Spot) -> tuple[str | None, int]:
        """Return the first step that cannot be done without a part, and its place in the order of assembly.

        A captured part has no step: it goes in before what captures it and before its sub-assembly is built.
        """
        item = self.items[spot.ordinal]
        if isinstance(item, Bin):
            return item.step, self.positions[item.step]
        outer = [self.items[captor.ordinal] for captor in self.tree.captors(spot)]
        steps = [each.step for each in outer if isinstance(each, Bin)] + [item.parent] * bool(item.parent)
        found = [(self.positions[step], step) for step in steps if step is not None]
        position, first = min(found, default=(len(self.positions), None))
        return first, position

    def notes(self, needs: Mapping[int, _Need]) -> Iterator[str]:
        """Yield what the profile leaves open about the sub-assemblies that are needed."""
        inner = {spot.above[-1] for spot in self.tree.spots if spot.there and spot.above}
        for spot in (spot for spot in self.tree.spots if spot in inner and spot.ordinal in needs):
            if self.tree.is_its_parts(spot.part):
                yield f"{self.name(spot)} has no order number of its own: its parts are ordered in its place"
            else:
                number = f" ({spot.part.number})" if spot.part.number else ""
                yield f"{self.name(spot)}{number}: whether its parts come with it is not recorded; they are not counted"
