"""The order of assembly: the reverse of the removal, changed only as far as the rules demand.

Source: topological order as in any textbook on directed graphs; it exists exactly when no ring of rules does.
"""

from __future__ import annotations

import heapq
import itertools
from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass

from labelkit.calc.steps import Bin, Inside, Teardown
from labelkit.errors import LabelkitError
from labelkit.model import relations
from labelkit.model.profile import Profile


class RuleRing(LabelkitError):
    """Report rules that wait for each other, so that no order exists."""


@dataclass(frozen=True, slots=True)
class Need:
    """Something that must be in first.

    Attributes:
        step: its step.
        why: the reason, as `model.relations.why_words` says it.
        some: some of its pieces are, and the rest goes in after.
    """

    step: str
    why: str
    some: bool = False


@dataclass(frozen=True, slots=True)
class Within:
    """A part that stays inside another; where it is renewed it must be in before a bin.

    Attributes:
        item: the captured part.
        why: as of a need.
        after: why captured parts must be in before it, by their ordinals.
    """

    item: Inside
    why: str
    after: Mapping[int, str]


@dataclass(frozen=True, slots=True)
class Placed:
    """One bin in the order of assembly.

    Attributes:
        bin: the bin.
        group: name of the joined group it goes in with, None when it goes in alone.
        needs: what must be in before it, directly.
        within: captured parts that must be in before it where they are renewed, in the order in which they go in.
    """

    bin: Bin
    group: str | None
    needs: tuple[Need, ...]
    within: tuple[Within, ...] = ()


@dataclass(frozen=True, slots=True)
class FailingPair:
    """A pair that plain reverse gets wrong: `first` must be in before `then`, but was removed before it."""

    first: str
    then: str
    why: str


class _Graph:
    """Parts and copies as numbered nodes in reverse removal order, with the rules between them."""

    def __init__(self, profile: Profile, teardown: Teardown) -> None:
        # A sub-assembly is listed before its parts; in reverse its parts come first, as they are built first.
        self.items = [each for _ordinal, each in sorted(teardown.items.items(), reverse=True)]
        self.chosen = teardown.chosen
        self.nodes: dict[str, list[int]] = {}
        for index, item in enumerate(self.items):
            self.nodes.setdefault(item.part.id, []).append(index)
        present = {item.part.id: item.part for item in teardown.items.values()}
        self.lineages = [_lineage(item, teardown) for item in self.items]
        self.edges: dict[tuple[int, int], str] = {}
        self.some: set[tuple[int, int]] = set()
        self.before: dict[int, list[int]] = {}
        for rule in relations.relations(profile, present):
            for first, then in self._pairs(rule.first, rule.then):
                if (first, then) not in self.edges:
                    self.edges[first, then] = rule.why
                    self.before.setdefault(then, []).append(first)
                    self.some |= {(first, then)} if rule.some else set()
        self.group_of: dict[int, int] = {}
        self.groups: list[tuple[str, list[int]]] = []
        for name, ids in relations.groups(profile, present):
            copies = self._copies_of_group(ids)
            for turn, members in enumerate(copies, start=1):
                self.group_of.update(dict.fromkeys(members, len(self.groups)))
                told = f"{name} ({turn} of {len(copies)})" if len(copies) > 1 else name
                self.groups.append((told, self._inner_order(members)))

    def _pairs(self, first: str, then: str) -> Iterator[tuple[int, int]]:
        """Yield the copies that a rule between two parts joins: those of one copy where both are copied."""
        ones, others = self.nodes[first], self.nodes[then]
        # All copies of one part are inside the same parts, each of its own copy of them.
        shared = sorted(self.lineages[ones[0]].keys() & self.lineages[others[0]].keys())
        numbered = len(ones) == len(others)

        def copy(node: int) -> tuple[object, ...]:
            lineage = self.lineages[node]
            return (self.items[node].copy if numbered else None, *(lineage[part] for part in shared))

        there: dict[tuple[object, ...], list[int]] = {}
        for other in others:
            there.setdefault(copy(other), []).append(other)
        for one in ones:
            for other in there.get(copy(one), ()):
                yield one, other

    def _copies_of_group(self, ids: tuple[str, ...]) -> list[list[int]]:
        """Return a joined group once for each copy of the sub-assembly it is inside, each in the order of its ids."""
        pairs = {node: {node} for part in ids for node in self.nodes[part]}
        for one, other in itertools.combinations(ids, 2):
            for a, b in self._pairs(one, other):
                pairs[a] |= pairs[b]
                for node in pairs[a]:
                    pairs[node] = pairs[a]
        found: dict[int, list[int]] = {}
        for node, members in pairs.items():
            found.setdefault(id(members), []).append(node)
        # In removal order, so that a group has the number of the copy its parts are of.
        return sorted(found.values(), key=lambda members: min(self.items[node].ordinal for node in members))

    def _inner_order(self, members: list[int]) -> list[int]:
        """Return a group as it is listed, changed as far as rules inside it demand and do not run in a ring."""
        left, done = list(members), []
        while left:
            free = (node for node in left if not any(first in left for first in self.before.get(node, ())))
            done.append(next(free, left[0]))
            left.remove(done[-1])
        return done

    def super_node(self, node: int) -> int:
        """Return a group's first member for its members, the node itself for others."""
        return self.groups[self.group_of[node]][1][0] if node in self.group_of else node

    def members(self, super_node: int) -> list[int]:
        return self.groups[self.group_of[super_node]][1] if super_node in self.group_of else [super_node]

    def order(self) -> list[int]:
        """Return the nodes in assembly order: of all that may go in next, the one removed last."""
        waiting: dict[int, set[int]] = {self.super_node(node): set() for node in range(len(self.items))}
        followers: dict[int, set[int]] = {node: set() for node in waiting}
        for first, then in self.edges:
            a, b = self.super_node(first), self.super_node(then)
            if a != b:
                waiting[b].add(a)
                followers[a].add(b)
        rank = {node: min(self.members(node)) for node in waiting}
        ready = [(rank[node], node) for node, before in waiting.items() if not before]
        heapq.heapify(ready)
        done: list[int] = []
        while ready:
            _, node = heapq.heappop(ready)
            done.extend(self.members(node))
            for follower in followers[node]:
                waiting[follower].discard(node)
                if not waiting[follower]:
                    heapq.heappush(ready, (rank[follower], follower))
        if len(done) < len(self.items):
            raise RuleRing(self._ring_text())
        return done

    def _ring_text(self) -> str:
        found = relations.ring(
            (str(self.super_node(a)), str(self.super_node(b)))
            for a, b in self.edges
            if self.super_node(a) != self.super_node(b)
        )
        names = [self.items[int(node)].part.id for node in found]
        told = f"no order of assembly exists: {' before '.join([*names, names[0]])}"
        still = ", ".join(group for group, choice in self.chosen.items() if choice is None)
        return told + (f"; the option {still} is open: choose it" if still else "")

    def needs(self, node: int) -> dict[int, str]:
        """Return the nodes that must be in before a node, directly, and why; a captured part brings what it needs.

        Parts of a group that need each other go in at once: none of them waits for one that is listed after it.
        """
        found: dict[int, str] = {}
        self._collect(node, found)
        return found

    def _later_in_group(self, node: int) -> list[int]:
        members = self.members(self.super_node(node))
        return members[members.index(node) + 1 :]

    def _collect(self, node: int, found: dict[int, str]) -> None:
        later = self._later_in_group(node)
        new = [first for first in self.before.get(node, ()) if first not in found and first not in later]
        found |= {first: self.edges[first, node] for first in new}
        for first in new:
            if isinstance(self.items[first], Inside):
                self._collect(first, found)

    def within(self, needed: Mapping[int, str]) -> Iterator[Within]:
        """Yield the captured parts among what must be in before a node."""
        for node, why in needed.items():
            if isinstance(item := self.items[node], Inside):
                inner = ((self.items[first], because) for first, because in self.needs(node).items())
                yield Within(item, why, {each.ordinal: told for each, told in inner if isinstance(each, Inside)})


def _lineage(item: Bin | Inside, teardown: Teardown) -> dict[str, str]:
    """Return which copy it is of itself and of every sub-assembly it is inside, by their ids."""
    found = {item.part.id: item.step if isinstance(item, Bin) else f"inside {item.ordinal}"}
    parent = item.parent
    while parent is not None:
        above = teardown.at(parent)
        found[above.part.id] = parent
        parent = above.parent
    return found


def _of_one_copy(mine: Mapping[str, str], its: Mapping[str, str]) -> bool:
    """Say whether two parts are inside the same copy of every sub-assembly that both are inside."""
    return all(mine[part] == its[part] for part in mine.keys() & its.keys())


def partners(teardown: Teardown, each: Bin | Inside, part: str) -> tuple[Bin, ...]:
    """Return the bins of a part id that one part has to do with: where both are copied, those of its own copy.

    Empty when the part is not there under these options, or stays inside another.
    """
    mine, own, found = _lineage(each, teardown), teardown.of(each.part.id), teardown.of(part)
    return tuple(
        other
        for other in found
        if (len(own) != len(found) or other.copy == each.copy) and _of_one_copy(mine, _lineage(other, teardown))
    )


def pack_of(teardown: Teardown, each: Bin) -> Bin | None:
    """Return the pack in whose order a plate lies; None where it lies in none."""
    packs = (other for other in teardown.bins if each.part.id in other.part.stack)
    return next((pack for pack in packs if each in partners(teardown, pack, each.part.id)), None)


def assembly_order(profile: Profile, teardown: Teardown) -> tuple[Placed, ...]:
    """Return the bins in the order in which they go in.

    Raises:
        RuleRing: the rules contradict each other.
    """
    graph = _Graph(profile, teardown)
    order = graph.order()
    turn = {graph.items[node].ordinal: place for place, node in enumerate(order)}
    placed = []
    for node in order:
        item = graph.items[node]
        if not isinstance(item, Bin):
            continue
        group = graph.groups[graph.group_of[node]][0] if node in graph.group_of else None
        needed = graph.needs(node)
        bins = ((graph.items[first], why, (first, node) in graph.some) for first, why in needed.items())
        needs = {first.step: Need(first.step, why, some) for first, why, some in bins if isinstance(first, Bin)}
        within = sorted(graph.within(needed), key=lambda each: turn[each.item.ordinal])
        placed.append(Placed(item, group, tuple(needs.values()), tuple(within)))
    return tuple(placed)


def parted_by(order: Iterable[Placed], step: str) -> tuple[Bin, ...]:
    """Return what goes in between the pieces of a step, some of which are in before it, in the order of assembly."""
    return tuple(each.bin for each in order for need in each.needs if need.some and need.step == step)


def captured_first(order: Iterable[Placed]) -> dict[str, tuple[Within, ...]]:
    """Return the captured parts by the step before which they go in, the first that cannot do without them."""
    found: dict[str, tuple[Within, ...]] = {}
    told: set[int] = set()
    for placed in order:
        if new := tuple(each for each in placed.within if each.item.ordinal not in told):
            found[placed.bin.step] = new
            told.update(each.item.ordinal for each in new)
    return found


def failing_pairs(profile: Profile, teardown: Teardown) -> tuple[FailingPair, ...]:
    """Return the pairs that refute plain reverse; empty when plain reverse is valid.

    Plain reverse is valid exactly when, of every pair where one must be in before the other, the other was
    removed before the one.
    """
    graph = _Graph(profile, teardown)
    failing = []
    for (first, then), why in graph.edges.items():
        one, other = graph.items[first], graph.items[then]
        if first > then and isinstance(one, Bin) and isinstance(other, Bin):
            failing.append(FailingPair(one.step, other.step, why))
    return tuple(failing)
