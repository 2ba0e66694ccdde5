"""What no single field can tell: that names exist, counts agree and rules do not run in a ring."""

from __future__ import annotations

import itertools
from collections import Counter
from collections.abc import Iterable, Iterator
from pathlib import Path
from typing import Final

from labelkit.errors import Problem, allowed_text
from labelkit.load.yamltree import Key, Tree
from labelkit.model import relations
from labelkit.model.part import Part, RenewWith, wanted_choices
from labelkit.model.profile import Profile
from labelkit.model.relations import part_path

# Every combination of choices is tried up to this many; beyond it, the defaults and each single change from them.
MOST_COMBINATIONS: Final = 256

Path_ = tuple[Key, ...]


def faults(tree: Tree, profile: Profile, folder: Path | None) -> list[Problem]:
    """Return every fault between the fields of a profile that is well-formed field by field.

    Args:
        tree: the file, for places.
        profile: the model read from it.
        folder: where photos are looked for; None: not checked.
    """
    checks = itertools.chain(
        _ids(profile),
        _names(profile),
        _options(profile),
        _stacks(profile),
        _photos(profile, folder) if folder else (),
    )
    found = [tree.problem(path, message) for path, message in checks]
    return found or [tree.problem(path, message) for path, message in _rings(profile)]


def _ids(profile: Profile) -> Iterator[tuple[Path_, str]]:
    seen: dict[str, tuple[int, ...]] = {}
    for place, part in profile.walk():
        if part.id in seen:
            first = ".".join(str(index + 1) for index in seen[part.id])
            yield (
                (*part_path(place), "id"),
                f"the id {part.id} is already that of entry {first}; ids are unique",
            )
        seen.setdefault(part.id, place)


def _names(profile: Profile) -> Iterator[tuple[Path_, str]]:
    parts = [part.id for _, part in profile.walk()]
    known = set(parts)
    for path, kind, name in _references(profile):
        table: Iterable[str] = {"part": parts, "tool": profile.tools, "series": profile.series}[kind]
        if name not in (known if kind == "part" else table):
            yield path, f"found {name}; there is no {kind} of that id; {allowed_text(name, table, most=6)}"
    for place, part in profile.walk():
        path = part_path(place)
        own = {"sits.on": part.sits.on if part.sits else None, "carried_by": part.carried_by}
        for field, other in own.items():
            if other == part.id:
                yield (*path, *field.split(".")), f"found {other}, the part itself"


def _references(profile: Profile) -> Iterator[tuple[Path_, str, str]]:
    """Yield (path, kind of thing, id) of every id that stands for something defined elsewhere."""
    for place, part in profile.walk():
        path = part_path(place)
        for field, kind, name in _part_references(part):
            if name is not None:
                yield (*path, *field), kind, name
    for name, fit in profile.fits.items():
        path = ("fits", name)
        single = {"set_by": fit.set_by, "of": fit.of}
        yield from (((*path, key), "part", value) for key, value in single.items() if value)
        yield from (((*path, "chain", k), "part", value) for k, value in enumerate(fit.chain))
    for index, rule in enumerate(profile.assembly):
        path = ("assembly", index)
        pair = {"first": rule.first, "then": rule.then}
        yield from (((*path, key), "part", value) for key, value in pair.items() if value)
        yield from (((*path, "join", k), "part", value) for k, value in enumerate(rule.join))
        if rule.tool:
            yield (*path, "tool"), "tool", rule.tool


def _part_references(part: Part) -> Iterator[tuple[Path_, str, str | None]]:
    yield ("series",), "series", part.series
    yield ("carried_by",), "part", part.carried_by
    if part.sits:
        yield ("sits", "on"), "part", part.sits.on
    if part.held:
        yield ("held", "part"), "part", part.held.part
    if part.out:
        yield ("out", "tool"), "tool", part.out.tool
        yield ("out", "with"), "part", part.out.together
    if isinstance(part.renew, RenewWith):
        yield ("renew", "with"), "part", part.renew.part
    for field, ids in (("keep_with", part.keep_with), ("pair", part.pair)):
        yield from (((field, k), "part", name) for k, name in enumerate(ids))
    yield from ((("look_alike", k, "part"), "part", other.part) for k, other in enumerate(part.look_alike))


def _options(profile: Profile) -> Iterator[tuple[Path_, str]]:
    for group, option in profile.options.items():
        if option.default is not None and option.default not in option.choices:
            allowed = allowed_text(option.default, option.choices)
            yield ("options", group, "default"), f"found {option.default}; {allowed}"
    for place, part in profile.walk():
        for group, wanted in part.only.items():
            path = (*part_path(place), "only", group)
            if group not in profile.options:
                yield path, f"found {group}; there is no such option; {allowed_text(group, profile.options)}"
                continue
            choices = profile.options[group].choices
            for choice in wanted_choices(wanted):
                if choice not in choices:
                    yield path, f"found {choice}; {group} has no such choice; {allowed_text(choice, choices)}"


def _stacks(profile: Profile) -> Iterator[tuple[Path_, str]]:
    for place, part in profile.walk():
        if not part.stack:
            continue
        path = (*part_path(place), "stack")
        plates = {child.id: child for child in part.parts}
        for k, name in enumerate(part.stack):
            if name not in plates:
                yield (*path, k), f"found {name}; {part.id} has no such part; {allowed_text(name, plates)}"
        for name, count in Counter(part.stack).items():
            plate = plates.get(name)
            if plate and plate.qty != "set" and count != plate.qty:
                yield path, f"{name} stands {count} times in the stack; its qty is {plate.qty}"
        # The last entries may be a ring or seal of the pack that is no plate of the stack.
        for name, plate in plates.items():
            if name not in part.stack and _is_plate(plate):
                yield path, f"{name} is a plate of {part.id} and does not stand in its stack"
        for k, (one, two) in enumerate(itertools.pairwise(part.stack)):
            if _is_friction(plates.get(one)) and _is_friction(plates.get(two)):
                yield (
                    (*path, k + 1),
                    f"two frictions touch at places {k + 1} and {k + 2}; a steel belongs between",
                )


def _is_plate(part: Part) -> bool:
    return part.form is not None and part.form.kind in ("friction_plate", "steel_plate")


def _is_friction(part: Part | None) -> bool:
    return part is not None and part.form is not None and part.form.kind == "friction_plate"


def _photos(profile: Profile, folder: Path) -> Iterator[tuple[Path_, str]]:
    for place, part in profile.walk():
        if part.photo and not (folder / part.photo).is_file():
            yield (*part_path(place), "photo"), f"found {part.photo}; there is no such file below {folder}"


def _rings(profile: Profile) -> Iterator[tuple[Path_, str]]:
    """Yield each ring of rules once, for whichever choice of options it first shows under."""
    told: set[frozenset[str]] = set()
    for chosen in combinations(profile):
        present = {part.id: part for _, part in profile.walk() if part.matches(chosen)}
        edges = relations.relations(profile, present)
        group_of = {part: name for name, ids in relations.groups(profile, present) for part in ids}

        def node(part: str, group_of: dict[str, str] = group_of) -> str:
            return group_of.get(part, part)

        found = relations.ring((node(e.first), node(e.then)) for e in edges if node(e.first) != node(e.then))
        if found and frozenset(found) not in told:
            told.add(frozenset(found))
            steps = list(zip(found, found[1:] + found[:1], strict=True))
            used = [next(e for e in edges if (node(e.first), node(e.then)) == step) for step in steps]
            rules = "; ".join(f"{e.first} before {e.then} ({e.why})" for e in used)
            yield (
                used[-1].path,
                f"the rules run in a ring: {rules}; take one out, or join the parts as a group",
            )


def combinations(profile: Profile) -> Iterator[dict[str, str | None]]:
    """Yield choices of options: all of them when they are few, else the defaults and each single change."""
    groups = {name: list(option.choices) for name, option in profile.options.items()}
    total = 1
    for choices in groups.values():
        total *= len(choices)
    if total <= MOST_COMBINATIONS:
        yield from (
            dict[str, str | None](zip(groups, chosen, strict=True)) for chosen in itertools.product(*groups.values())
        )
        return
    usual: dict[str, str | None] = {
        name: option.default or next(iter(option.choices)) for name, option in profile.options.items()
    }
    yield usual
    for name, choices in groups.items():
        yield from ({**usual, name: choice} for choice in choices if choice != usual[name])
