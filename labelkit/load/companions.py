"""What parts say of each other: whether both are there, which copy is meant, and which of two comes out first."""

from __future__ import annotations

import math
from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from functools import cached_property

from labelkit.load.yamltree import FieldPath, Tree
from labelkit.model.part import Part, wanted_choices
from labelkit.model.profile import Profile
from labelkit.model.relations import part_path

Fault = tuple[FieldPath, str]
# The choices of each option group under which a part is there; groups that it does not speak of are left out.
Versions = Mapping[str, frozenset[str]]


@dataclass(frozen=True, eq=False)
class Entry:
    """One entry of a profile with the sub-assemblies that it is inside, outermost first.

    Attributes:
        part: what it says.
        number: its place among all entries, from 0.
        place: its place in the tree.
        above: those sub-assemblies.
    """

    part: Part
    number: int
    place: tuple[int, ...]
    above: tuple[Entry, ...]

    @cached_property
    def versions(self) -> Versions:
        """When it is there: its own `only` and that of everything it is inside."""
        found: dict[str, frozenset[str]] = {}
        for each in (*self.above, self):
            for group, wanted in each.part.only.items():
                choices = frozenset(wanted_choices(wanted))
                found[group] = found.get(group, choices) & choices
        return found

    def meets(self, other: Entry) -> bool:
        """Say whether the two are ever there together."""
        both = (self.versions, other.versions)
        groups = self.versions.keys() | other.versions
        return all(frozenset.intersection(*(each[group] for each in both if group in each)) for group in groups)

    def copies_beside(self, other: Entry) -> int:
        """Return how many of it there are for each of the sub-assemblies that both are inside."""
        return math.prod(each.part.used for each in (*self.above, self) if each not in (*other.above, other))


@dataclass(frozen=True)
class Gap:
    """A part that names another which is not there under some choices.

    Attributes:
        path: the field that names it.
        part: id of the part that names it.
        other: id of the named one.
        when: under which choices it is missing, as `drum = grooved`.
        never: the two are never there together.
    """

    path: FieldPath
    part: str
    other: str
    when: str
    never: bool


def faults(tree: Tree, profile: Profile) -> Iterator[Fault]:
    """Yield each fault between two parts that are both in the file."""
    known = entries(profile)
    for gap in gaps(profile):
        if gap.never:
            yield gap.path, f"found {gap.other}, which is never there together with {gap.part}: see `only` of both"
        elif gap.path[-2:] == ("held", "part") and known[gap.part].part.captured:
            yield (
                gap.path,
                f"found {gap.other}, which is not there with {gap.when}: {gap.part} would stay inside "
                f"with nothing to keep it; list it once for each version, with `only`",
            )
    for entry in known.values():
        for path, name in _ties(entry):
            other = known.get(name)
            # Several may be matched with it or kept beside it; it lies on, or is held by, one.
            if other and isinstance(path[-1], str) and (message := _which_copy(entry, other)):
                yield path, message
        holder = known.get(entry.part.holder or "")
        if holder and _comes_out_too_soon(entry, holder) and not _holds_itself(entry, known):
            early, late = (_step_words(tree, profile, each, (entry, holder)) for each in (entry, holder))
            does = "captures" if entry.part.captured else "holds"
            yield (
                (*part_path(entry.place), "held", "part"),
                f"{early} stands in the removal order before {late}, which {does} it; list {holder.part.id} before "
                f"{entry.part.id}, or say what comes out together with out.with or carried_by",
            )


def gaps(profile: Profile) -> Iterator[Gap]:
    """Yield each part that names another which is not there under some choice of options."""
    known = entries(profile)
    for entry in known.values():
        for path, name in _ties(entry):
            other = known.get(name)
            if other is None or other is entry or path[len(part_path(entry.place))] == "pair":
                continue
            missing = {
                group: _choices(profile, entry.versions, group) - choices for group, choices in other.versions.items()
            }
            when = "; ".join(f"{group} = {' or '.join(sorted(left))}" for group, left in missing.items() if left)
            if when:
                yield Gap(path, entry.part.id, name, when, never=not entry.meets(other))


def entries(profile: Profile) -> dict[str, Entry]:
    """Return the entries of a profile by id."""
    found: dict[str, Entry] = {}
    at: dict[tuple[int, ...], Entry] = {}
    for number, (place, part) in enumerate(profile.walk()):
        above = tuple(at[place[:depth]] for depth in range(1, len(place)))
        at[place] = found[part.id] = Entry(part, number, place, above)
    return found


def _ties(entry: Entry) -> Iterator[tuple[FieldPath, str]]:
    """Yield each field by which a part is tied to another, with the other's id."""
    part, path = entry.part, part_path(entry.place)
    single = {
        ("sits", "on"): part.sits and part.sits.on,
        ("held", "part"): part.held and part.held.part,
        ("carried_by",): part.carried_by,
        ("out", "with"): part.out and part.out.together,
    }
    for field, name in single.items():
        if name:
            yield (*path, *field), name
    for key, names in (("keep_with", part.keep_with), ("pair", part.pair)):
        for index, name in enumerate(names):
            yield (*path, key, index), name


def _choices(profile: Profile, versions: Versions, group: str) -> frozenset[str]:
    """Return the choices of a group under which a part is there."""
    option = profile.options.get(group)
    return versions.get(group, frozenset(option.choices if option else ()))


def _which_copy(entry: Entry, other: Entry) -> str | None:
    """Return the fault of a part that names one of several copies without saying which."""
    theirs, mine = other.copies_beside(entry), entry.copies_beside(other)
    # Two on two pair off by their numbers, and a bin of six screws may hold three of each.
    if theirs == 1 or entry.part.qty == "set" or mine * entry.part.qty % theirs == 0:
        return None
    copied = next(each for each in (*other.above, other) if each.part.used > 1 and each not in (*entry.above, entry))
    whole = "" if copied is other else f" inside {copied.part.id}"
    return (
        f"found {other.part.id}, which is there {theirs} times{whole}: nobody knows which of them is meant; list "
        f"{copied.part.id} once for each copy, with ids of its own, instead of used: {copied.part.used}"
    )


def _comes_out_too_soon(entry: Entry, holder: Entry) -> bool:
    """Say whether a part stands before what holds it, and the two do not come out together."""
    part, its = entry.part, holder.part
    together = its.id in (part.carried_by, part.out and part.out.together)
    together = together or part.id in (its.carried_by, its.out and its.out.together)
    return entry.number < holder.number and not together and entry not in holder.above and entry.meets(holder)


def _holds_itself(entry: Entry, known: Mapping[str, Entry]) -> bool:
    """Say whether a part is held by what is held, in the end, by itself: no order would be right."""
    seen: set[str] = set()
    holder = entry.part.holder
    while holder is not None and holder in known and holder not in seen:
        seen.add(holder)
        holder = known[holder].part.holder
    return entry.part.id in seen


def _step_words(tree: Tree, profile: Profile, entry: Entry, both: tuple[Entry, Entry]) -> str:
    """Return id, step and line of an entry: `end-ring (step 26.1, line 1010)`, in a version that has both."""
    chosen = {group: option.default for group, option in profile.options.items()}
    for group in chosen:
        wanted = _choices(profile, both[0].versions, group) & _choices(profile, both[1].versions, group)
        if chosen[group] not in wanted and len(wanted) < len(profile.options[group].choices):
            chosen[group] = min(wanted)
    numbers, beside = [], profile.parts
    for index in entry.place:
        counted = [part for part in beside[:index] if part.matches(chosen) is not False and not part.captured]
        numbers.append(str(1 + sum(part.used for part in counted)))
        beside = beside[index].parts
    step = "" if any(each.part.captured for each in (*entry.above, entry)) else f"step {'.'.join(numbers)}, "
    return f"{entry.part.id} ({step}line {tree.place(part_path(entry.place))[0]})"
