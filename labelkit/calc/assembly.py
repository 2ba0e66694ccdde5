"""The order of assembly: the reverse of the removal, changed only as far as the rules demand.

Source: topological order as in any textbook on directed graphs; it exists exactly when no ring of rules does.
"""

from __future__ import annotations

import heapq
from collections.abc import Iterable
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
        why: the reason, for people.
    """

    step: str
    why: str


@dataclass(frozen=True, slots=True)
class Placed:
    """One bin in the order of assembly.

    Attributes:
        bin: the bin.
        group: name of the joined group it goes in with, None when it goes in alone.
        needs: what must be in before it, directly.
    """

    bin: Bin
    group: str | None
    needs: tuple[Need, ...]


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
        items: list[Bin | Inside] = [*teardown.bins, *teardown.inside]
        self.items = sorted(items, key=lambda item: -item.ordinal)
        self.nodes: dict[str, list[int]] = {}
        for index, item in enumerate(self.items):
            self.nodes.setdefault(item.part.id, []).append(index)
        present = {item.part.id: item.part for item in items}
        self.edges: dict[tuple[int, int], str] = {}
        for rule in relations.relations(profile, present):
            for first, then in self._pairs(rule.first, rule.then):
                self.edges.setdefault((first, then), rule.why)
        self.group_of: dict[int, int] = {}
        self.groups: list[tuple[str, list[int]]] = []
        for name, ids in relations.groups(profile, present):
            members = [node for part in ids for node in self.nodes[part]]
            self.group_of.update(dict.fromkeys(members, len(self.groups)))
            self.groups.append((name, members))

    def _pairs(self, first: str, then: str) -> Iterable[tuple[int, int]]:
        """Yield the copies that a rule between two parts joins: the same copy where both are copied."""
        ones, others = self.nodes[first], self.nodes[then]
        for one in ones:
            for other in others:
                if len(ones) != len(others) or self.items[one].copy == self.items[other].copy:
                    yield one, other

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
        return f"no order of assembly exists: {' before '.join([*names, names[0]])}"

    def needs(self, node: int) -> tuple[Need, ...]:
        """Return what must be in before a node, directly; captured parts stand for what they need themselves."""
        found: dict[str, str] = {}
        self._collect(node, found, set())
        return tuple(Need(step, why) for step, why in found.items())

    def _collect(self, node: int, found: dict[str, str], seen: set[int]) -> None:
        for (first, then), why in self.edges.items():
            if then != node or first in seen:
                continue
            seen.add(first)
            item = self.items[first]
            if isinstance(item, Bin):
                found.setdefault(item.step, why)
            else:
                self._collect(first, found, seen)


def assembly_order(profile: Profile, teardown: Teardown) -> tuple[Placed, ...]:
    """Return the bins in the order in which they go in.

    Raises:
        RuleRing: the rules contradict each other.
    """
    graph = _Graph(profile, teardown)
    placed = []
    for node in graph.order():
        item = graph.items[node]
        if isinstance(item, Bin):
            group = graph.groups[graph.group_of[node]][0] if node in graph.group_of else None
            placed.append(Placed(item, group, graph.needs(node)))
    return tuple(placed)


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
