"""Places of a profile that need new pieces: for a reason of their own, or pulled by another place.

Every place is judged under every way in which the options that are still open may be chosen; a set of ways is a number
whose bit k stands for way k.
"""

from __future__ import annotations

import itertools
import math
from collections import deque
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from typing import Final, Literal
from weakref import WeakKeyDictionary

from labelkit.calc.steps import Chosen, Teardown
from labelkit.calc.trays import nothing_but_parts
from labelkit.errors import UsageError
from labelkit.model.part import Part, RenewWith, wanted_choices
from labelkit.model.profile import Profile

Verdict = Literal["ok", "condemned", "lost"]
Reason = Literal["always", "one_time", "condemned", "lost", "size", "with", "pair"]
# Choices of open options: (group, choice) of each; empty: whatever they are.
Choices = tuple[tuple[str, str], ...]

# Ways of choosing the open options that are looked at: ten groups of two choices, more than any unit leaves open.
MOST_WAYS: Final = 1024
_MOST_PIECES: Final = 9999  # as for a quantity of the profile


@dataclass(frozen=True, slots=True)
class Finding:
    """What the inspection found at one place, in so many of its pieces; None: in all.

    `one_time`: it came out and is used once only, also where it would have stayed in without need; `stays`: it was left
    in, so that it is renewed with others only, even where it always is once it is out.
    """

    verdict: Verdict | Literal["one_time", "stays"]
    pieces: int | None = None


# What was found, by the ordinal of its place.
Found = Mapping[int, Finding]


@dataclass(frozen=True, slots=True, eq=False)
class PartPlace:
    """One place of the profile.

    Attributes:
        ordinal: as the removal order counts.
        part: the entry of the profile.
        above: the sub-assemblies it is inside, outermost first.
        copy: as for a bin.
        pieces: product of the counts down to it; None when one of them is not fixed.
        there: bit k says that it is there under way k.
    """

    ordinal: int
    part: Part
    above: tuple[PartPlace, ...]
    copy: int
    pieces: int | None
    there: int

    def of_one_copy(self, other: PartPlace) -> bool:
        """Say whether both are inside the same copy of every sub-assembly that both are inside."""
        mine = {each.part.id: each for each in (*self.above, self)}
        return all(mine.get(each.part.id, each) is each for each in (*other.above, other))


@dataclass(slots=True)
class Need:
    """What is needed at one place.

    Attributes:
        reason: its own, None when it is only pulled.
        own: ways in which all pieces are needed for that reason.
        some: ways in which only the pieces of its finding are.
        pulled: ways in which another part pulls it, and so all of it.
        by: what pulls it, and why; that it came out and is used once says less than this.
    """

    reason: Reason | None = None
    own: int = 0
    some: int = 0
    pulled: int = 0
    by: list[tuple[PartPlace, Reason]] = field(default_factory=list)

    @property
    def ways(self) -> int:
        """Ways in which anything is needed."""
        return self.own | self.some | self.pulled


class Tree:
    """All places of a profile, and which of them pull which.

    Attributes:
        ways: every way of choosing the open options on which anything depends.
        places: in removal order.
        by_id: those that may be there, by the id of their part.
        pairs: by ordinal, what is ordered together with a place.

    Raises:
        UsageError: so many options are open that there are over `MOST_WAYS` ways.
    """

    def __init__(self, profile: Profile, chosen: Chosen) -> None:
        self.profile, self.chosen = profile, chosen
        self.ways = _open_ways(profile, chosen)
        everywhere = (1 << len(self.ways)) - 1
        # Under which ways a choice is made.
        self.made = {(group, choice): everywhere for group, choice in chosen.items() if choice is not None}
        for bit, choice in ((bit, choice) for bit, way in enumerate(self.ways) for choice in way):
            self.made[choice] = self.made.get(choice, 0) | 1 << bit
        self.places: list[PartPlace] = []
        self._visit(profile.parts, (), 1, 1, everywhere)
        self.by_id: dict[str, list[PartPlace]] = {}
        for place in self.places:
            if place.there:
                self.by_id.setdefault(place.part.id, []).append(place)
        self.pulls: dict[int, dict[PartPlace, Reason]] = {}
        self.pairs: dict[int, list[PartPlace]] = {}
        parts = {place.part.id: place.part for place in self.places if place.part.parts}
        self._its_parts = {name for name, part in parts.items() if self._stands_by_parts(part)}
        for place in itertools.chain(*self.by_id.values()):
            self._tie(place)

    def _visit(
        self, parts: Sequence[Part], above: tuple[PartPlace, ...], copy: int, pieces: int | None, there: int
    ) -> None:
        for part in parts:
            own = there
            for group, wanted in part.only.items():
                own &= sum(self.made.get((group, choice), 0) for choice in set(wanted_choices(wanted)))
            count = None if pieces is None or part.qty == "set" else pieces * part.qty
            for turn in range(1, part.used + 1):
                place = PartPlace(len(self.places), part, above, turn if part.used > 1 else copy, count, own)
                self.places.append(place)
                self._visit(part.parts, (*above, place), place.copy, count, own)

    def _tie(self, place: PartPlace) -> None:
        """Note what pulls a place and what it pulls."""
        part = place.part
        if isinstance(part.renew, RenewWith):
            for cause in self.partners(place, part.renew.part):
                self._pull(cause, place, "with")
        for other in itertools.chain(*(self.partners(place, name) for name in part.pair)):
            for one, its in ((place, other), (other, place)):
                self.pairs.setdefault(one.ordinal, []).append(its)
                self._pull(one, its, "pair")
        for captor in self.captors(place):
            if captor.part.one_time:
                self._pull(place, captor, "one_time")
        if place.above and self.is_its_parts(place.above[-1].part):
            self._pull(place.above[-1], place, "with")

    def _pull(self, cause: PartPlace, place: PartPlace, reason: Reason) -> None:
        self.pulls.setdefault(cause.ordinal, {}).setdefault(place, reason)

    def partners(self, place: PartPlace, name: str) -> list[PartPlace]:
        """Return the places of a part id that a place has to do with: where both are copied, those of its own copy."""
        own, others = self.by_id[place.part.id], self.by_id.get(name, [])
        numbered = len(own) == len(others)
        return [each for each in others if (not numbered or place.copy == each.copy) and place.of_one_copy(each)]

    def captors(self, place: PartPlace) -> list[PartPlace]:
        """Return what must come out to get at a place, the nearest first; empty when it is not captured."""
        found: dict[PartPlace, None] = {}
        waiting = deque([place])
        while waiting:
            inner = waiting.popleft()
            for each in (inner, *reversed(inner.above)):
                new = self.partners(each, str(each.part.holder)) if each.part.captured else []
                waiting.extend(captor for captor in new if captor not in found)
                found |= dict.fromkeys(new)
        return list(found)

    def is_its_parts(self, part: Part) -> bool:
        """Say whether a sub-assembly has no number and no substance of its own, so that its parts stand for it."""
        return part.id in self._its_parts

    def _stands_by_parts(self, part: Part) -> bool:
        return part.number is None and part.series is None and nothing_but_parts(part, self.chosen)

    def needs(self, found: Found) -> dict[int, Need]:
        """Return what is needed, by ordinal, with everything that one need pulls after it.

        Raises:
            UsageError: more pieces are found than are there.
        """
        needs: dict[int, Need] = {}
        for place in self.places:
            finding = found.get(place.ordinal, Finding("ok"))
            most = place.pieces or _MOST_PIECES
            if finding.pieces is not None and not 1 <= finding.pieces <= most:
                raise UsageError(f"{place.part.id}: found {finding.pieces} pieces; allowed: 1 to {most}")
            reason = _own_reason(place, finding)
            if place.there and reason is not None:
                some = reason == finding.verdict and finding.pieces not in (None, place.pieces)
                needs[place.ordinal] = Need(reason, *((0, place.there) if some else (place.there, 0)))
        waiting = deque(needs)
        while waiting:
            ordinal = waiting.popleft()
            for place, reason in self.pulls.get(ordinal, {}).items():
                need = needs.setdefault(place.ordinal, Need())
                before, pulled = need.ways, needs[ordinal].ways & place.there
                if new := pulled & ~(need.own | need.pulled):
                    need.pulled |= new
                    need.by.append((self.places[ordinal], reason))
                elif pulled and not need.by and need.reason == "one_time" and _own_reason(place, Finding("ok")) is None:
                    # It only came out for what pulls it, which is why.
                    need.by.append((self.places[ordinal], reason))
                if need.ways != before:
                    waiting.append(place.ordinal)
        return {ordinal: need for ordinal, need in needs.items() if need.ways}


_TREES: Final[WeakKeyDictionary[Teardown, Tree]] = WeakKeyDictionary()


def tree_of(profile: Profile, teardown: Teardown) -> Tree:
    """Return the tree of a job; made once for its removal order, since every state of its record asks for it.

    Raises:
        UsageError: as for a tree.
    """
    if (known := _TREES.get(teardown)) is None:
        known = _TREES[teardown] = Tree(profile, teardown.chosen)
    return known


def _open_ways(profile: Profile, chosen: Chosen) -> tuple[Choices, ...]:
    asked = {group for _, part in profile.walk() for group in part.only}
    still = {name: option for name, option in profile.options.items() if name in asked and chosen.get(name) is None}
    if math.prod(len(option.choices) for option in still.values()) > MOST_WAYS:
        raise UsageError(f"the options {', '.join(still)} are open: over {MOST_WAYS} ways to order; choose some first")
    ways = itertools.product(*(option.choices for option in still.values()))
    return tuple(tuple(zip(still, choices, strict=True)) for choices in ways)


def _own_reason(place: PartPlace, finding: Finding) -> Reason | None:
    """Return why a part is renewed whatever happens to others; a captured one does not come out without need."""
    part = place.part
    if finding.verdict == "stays":
        return None
    if part.renew == "always":
        return "always"
    captured = any(each.part.captured for each in (*place.above, place))
    if part.one_time and not captured and not isinstance(part.renew, RenewWith):
        return "one_time"
    return None if finding.verdict == "ok" else finding.verdict
