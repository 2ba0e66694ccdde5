"""Which part must be in before which, and why: the relations that decide the order of assembly.

Four relations are kept apart, because the seat alone makes loops (a part pressed on its shaft lies on it and goes in
with it): what a part lies `on` is in before it, unless one is carried in by the other; what a ring holds, or another
part captures, is in before that ring or part; a sub-assembly's parts are built before it goes in; and the profile's
own rules.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass, replace
from typing import Final

from labelkit.language import gettext as _
from labelkit.language import noop
from labelkit.model.facewords import looks_toward
from labelkit.model.part import Part, Sits
from labelkit.model.profile import Profile

_ON: Final = noop("it lies on {part}")
_HOLDS: Final = noop("it holds {part}")
_BELONGS: Final = noop("it belongs to {part}")
_SAYS: Final = noop("the profile says so")


@dataclass(frozen=True, slots=True)
class Before:
    """`first` must be in before `then`.

    Attributes:
        first: id of a part.
        then: id of a part.
        why: the reason, in English; `why_words` says it in the language that is spoken.
        path: the field of the profile that says so.
        some: `first` has several pieces on either side of `then`: some of them are in before it, the rest after it.
    """

    first: str
    then: str
    why: str
    path: tuple[str | int, ...]
    some: bool = False


def part_path(place: tuple[int, ...]) -> tuple[str | int, ...]:
    """Return the path of a part's field from its place in the tree: (3, 0) is parts[3].parts[0]."""
    path: tuple[str | int, ...] = ()
    for index in place:
        path = (*path, "parts", index)
    return path


def relations(profile: Profile, present: Mapping[str, Part]) -> list[Before]:
    """Return every relation between the parts that are there.

    Args:
        profile: the profile.
        present: the parts of this version of the unit, by id.
    """
    found: list[Before] = []
    # First, so that of two reasons for one pair the author's own is told.
    for index, rule in enumerate(profile.assembly):
        if rule.first in present and rule.then in present:
            because = rule.because or _SAYS
            found.append(Before(str(rule.first), str(rule.then), because, ("assembly", index)))
    parents: dict[str, str] = {}
    for place, part in profile.walk():
        if part.id not in present:
            continue
        path = part_path(place)
        seat = part.sits.on if part.sits else None
        if seat is not None and seat in present and not _carried(part, present[seat]):
            found.append(Before(seat, part.id, _ON.format(part=present[seat].name), (*path, "sits", "on")))
        holder = part.holder
        if holder is not None and holder in present and not _carried(part, present[holder]):
            found.append(Before(part.id, holder, _HOLDS.format(part=part.name), (*path, "held", "part")))
        for child in part.parts:
            if child.id in present:
                parents[child.id] = part.id
                found.append(Before(child.id, part.id, _BELONGS.format(part=part.name), path))
    # A part that lies on its own sub-assembly's outside, or is the ring that holds it, would wait for itself.
    fields = ("on", "part")
    found = [edge for edge in found if not (edge.path[-1] in fields and _inside(edge.then, edge.first, parents))]
    between = set(_between(present, found))
    return [replace(edge, some=True) if (edge.first, edge.then) in between else edge for edge in found]


def _between(present: Mapping[str, Part], edges: Iterable[Before]) -> Iterator[tuple[str, str]]:
    """Yield the parts of several pieces with the part that lies between these.

    They lie on it, and yet must be in before it; it lies on them, and so does what goes in after it; or nothing but it
    lies on two of them, whose faces are told by what they look to. Common practice, no source.
    """
    after: dict[str, set[str]] = {}
    for edge in edges:
        after.setdefault(edge.first, set()).add(edge.then)
    for part in present.values():
        if part.qty == "set" or part.qty < 2:
            continue
        sits = part.sits or Sits()
        if sits.on in after.get(part.id, ()):
            yield part.id, str(sits.on)
        lying = [each.id for each in present.values() if each.sits and each.sits.on == part.id]
        both_ways = len(lying) == 1 and part.qty == 2 and looks_toward(sits.up or "")
        for each in lying:
            if both_ways or not _following(each, after).isdisjoint(lying):
                yield part.id, each


def _following(part: str, after: Mapping[str, set[str]]) -> set[str]:
    """Return everything that must be in after a part."""
    found: set[str] = set()
    waiting = [part]
    while waiting:
        new = after.get(waiting.pop(), set()) - found
        found |= new
        waiting += new
    return found


def why_words(why: str) -> str:
    """Return the reason of a relation in the language that is spoken; a profile's own words stay as they are.

    >>> why_words("it lies on Case"), why_words("the seal is torn otherwise")
    ('it lies on Case', 'the seal is torn otherwise')
    """
    for told in (_ON, _HOLDS, _BELONGS):
        start = told.partition("{")[0]
        if why.startswith(start):
            return _(told).format(part=why.removeprefix(start))
    return _(why) if why == _SAYS else why


def _carried(part: Part, seat: Part) -> bool:
    return part.carried_by == seat.id or seat.carried_by == part.id


def _inside(part: str, other: str, parents: Mapping[str, str]) -> bool:
    while part in parents:
        part = parents[part]
        if part == other:
            return True
    return False


def groups(profile: Profile, present: Mapping[str, Part]) -> list[tuple[str, tuple[str, ...]]]:
    """Return the joined groups (name, ids) of the parts that are there; groups that share a part become one."""
    merged: list[tuple[str, tuple[str, ...]]] = []
    for rule in profile.assembly:
        ids = tuple(part for part in rule.join if part in present)
        if len(ids) < 2:
            continue
        name = rule.name or " + ".join(present[part].name for part in ids)
        for other in [group for group in merged if set(group[1]) & set(ids)]:
            merged.remove(other)
            name, ids = f"{other[0]} + {name}", tuple(dict.fromkeys(other[1] + ids))
        merged.append((name, ids))
    return merged


def ring(edges: Iterable[tuple[str, str]]) -> list[str]:
    """Return the nodes of one closed ring of arrows, in order, or an empty list when there is none.

    >>> ring([("a", "b"), ("b", "c"), ("c", "a"), ("c", "d")])
    ['a', 'b', 'c']
    """
    following: dict[str, list[str]] = {}
    for first, then in edges:
        following.setdefault(first, []).append(then)
        following.setdefault(then, [])
    done: set[str] = set()
    for start in following:
        trail: list[str] = []
        on_trail: dict[str, int] = {}
        stack = [iter([start])]
        while stack:
            node = next(stack[-1], None)
            if node is None:
                stack.pop()
                if trail and len(stack) == len(trail):
                    done.add(left := trail.pop())
                    del on_trail[left]
            elif node in on_trail:
                return trail[on_trail[node] :]
            elif node not in done:
                on_trail[node] = len(trail)
                trail.append(node)
                stack.append(iter(following[node]))
    return []
