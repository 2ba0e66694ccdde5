"""What no single field can tell: that names exist, counts agree and rules do not run in a ring.

Names are looked up in the file as it is written, so that a fault in one field does not hide those between others.
"""

from __future__ import annotations

import itertools
from collections import Counter
from collections.abc import Iterable, Iterator
from pathlib import Path
from typing import Any, Final

from labelkit import units
from labelkit.errors import Problem, allowed_text
from labelkit.load import companions
from labelkit.load.companions import Fault
from labelkit.load.yamltree import FieldPath, Tree
from labelkit.model import relations
from labelkit.model.part import Part
from labelkit.model.plates import is_friction, touching
from labelkit.model.profile import Profile
from labelkit.model.relations import part_path

# Every combination of choices is tried up to this many; beyond it, the defaults and each single change from them.
MOST_COMBINATIONS: Final = 256
# Parts with their copies; more than any unit that is taken apart on a bench.
MOST_PLACES: Final = 50_000

# Where an id stands for something defined elsewhere, and for what; * is every entry of a list.
_OF_PARTS: Final = (
    ("series", "series"),
    ("carried_by", "part"),
    ("sits.on", "part"),
    ("held.part", "part"),
    ("out.tool", "tool"),
    ("out.with", "part"),
    ("renew.with", "part"),
    ("keep_with.*", "part"),
    ("pair.*", "part"),
    ("look_alike.*.part", "part"),
)
_OF_FITS: Final = (("set_by", "part"), ("of", "part"), ("chain.*", "part"))
_OF_RULES: Final = (("first", "part"), ("then", "part"), ("join.*", "part"), ("tool", "tool"))


def faults(tree: Tree, profile: Profile | None, folder: Path | None) -> list[Problem]:
    """Return every fault between the fields of a profile.

    Args:
        tree: the file.
        profile: the model read from it, or from what of it is sound; None when nothing is: counts and rules are left
            out then.
        folder: where photos are looked for; None: not checked.
    """
    if not isinstance(tree.data, dict):
        return []
    twice = list(_ids(tree))
    checks = [twice, _names(tree), _doubles(tree), _options(tree), _only(tree), _stack_names(tree), _carriers(tree)]
    if folder is not None:
        checks.append(_photos(tree, folder))
    if profile is not None:
        checks += [_stacks(profile), _copies(profile)]
        checks += [] if twice else [companions.faults(tree, profile), _rings(tree, profile)]
    found = [tree.problem(path, message) for path, message in itertools.chain(*checks)]
    if profile is not None:
        found += [tree.problem(path, message, key=True) for path, message in _sizes(profile)]
    return found


def _parts(tree: Tree) -> Iterator[tuple[FieldPath, dict[str, Any]]]:
    """Yield every part as it is written, parents first."""
    waiting: list[tuple[FieldPath, Any]] = [((), tree.data)]
    while waiting:
        path, node = waiting.pop()
        if path and isinstance(node, dict):
            yield path, node
        inside = node.get("parts") if isinstance(node, dict) else None
        if isinstance(inside, list):
            waiting += [((*path, "parts", k), inside[k]) for k in reversed(range(len(inside)))]


def _texts(node: Any, field: tuple[str, ...], path: FieldPath) -> Iterator[tuple[FieldPath, str]]:
    """Yield the texts at a field like ("look_alike", "*", "part"), each with its path."""
    if not field:
        if isinstance(node, str):
            yield path, node
    elif field[0] == "*":
        for k, item in enumerate(node if isinstance(node, list) else ()):
            yield from _texts(item, field[1:], (*path, k))
    elif isinstance(node, dict):
        yield from _texts(node.get(field[0]), field[1:], (*path, field[0]))


def _table(tree: Tree, name: str) -> dict[str, Any]:
    table = tree.data.get(name)
    return table if isinstance(table, dict) else {}


def _ids(tree: Tree) -> Iterator[Fault]:
    seen: dict[str, FieldPath] = {}
    for path, part in _parts(tree):
        for place, name in _texts(part, ("id",), path):
            if name in seen:
                first = tree.place(seen[name])[0]
                yield place, f"the id {name} is already that of the part in line {first}; ids are unique"
            seen.setdefault(name, path)


def _names(tree: Tree) -> Iterator[Fault]:
    ids = dict.fromkeys(name for _, part in _parts(tree) for _, name in _texts(part, ("id",), ()))
    tables: dict[str, Iterable[str]] = {"part": ids, "tool": _table(tree, "tools"), "series": _table(tree, "series")}
    for path, kind, name, own in _references(tree):
        if name not in tables[kind]:
            yield path, f"found {name}; there is no {kind} of that id; {allowed_text(name, tables[kind], most=6)}"
        elif kind == "part" and name == own:
            yield path, f"found {name}, the part itself"


def _references(tree: Tree) -> Iterator[tuple[FieldPath, str, str, str | None]]:
    """Yield (path, kind of thing, id, id of the part that says so) of every id that stands for something else."""
    rules = tree.data.get("assembly")
    holders = (
        (_OF_PARTS, _parts(tree)),
        (_OF_FITS, ((("fits", name), fit) for name, fit in _table(tree, "fits").items())),
        (_OF_RULES, ((("assembly", k), rule) for k, rule in enumerate(rules if isinstance(rules, list) else ()))),
    )
    for fields, nodes in holders:
        for path, node in nodes:
            own = node.get("id") if isinstance(node, dict) and path[0] == "parts" else None
            for field, kind in fields:
                for place, name in _texts(node, tuple(field.split(".")), path):
                    yield place, kind, name, own


def _doubles(tree: Tree) -> Iterator[Fault]:
    """Yield parts that a list of a part names again."""
    for path, part in _parts(tree):
        for field, _kind in _OF_PARTS:
            seen: set[str] = set()
            for place, name in _texts(part, tuple(field.split(".")), path):
                if name in seen:
                    yield place, f"found {name} again; name a part once"
                seen.add(name)


def _options(tree: Tree) -> Iterator[Fault]:
    for group, option in _table(tree, "options").items():
        choices = option.get("choices") if isinstance(option, dict) else None
        for path, default in _texts(option, ("default",), ("options", group)):
            if isinstance(choices, dict) and default not in choices:
                yield path, f"found {default}; {allowed_text(default, choices)}"


def _only(tree: Tree) -> Iterator[Fault]:
    options = _table(tree, "options")
    for path, part in _parts(tree):
        only = part.get("only")
        for group, wanted in only.items() if isinstance(only, dict) else ():
            here = (*path, "only", group)
            if group not in options:
                yield here, f"found {group}; there is no such option; {allowed_text(group, options)}"
                continue
            choices = options[group].get("choices") if isinstance(options[group], dict) else None
            if not isinstance(choices, dict):
                continue
            for place, choice in [*_texts(wanted, (), here), *_texts(wanted, ("*",), here)]:
                if choice not in choices:
                    yield place, f"found {choice}; {group} has no such choice; {allowed_text(choice, choices)}"


def _stack_names(tree: Tree) -> Iterator[Fault]:
    for path, part in _parts(tree):
        plates = [name for _, name in _texts(part, ("parts", "*", "id"), ())]
        for place, name in _texts(part, ("stack", "*"), path):
            if name not in plates:
                yield place, f"found {name}; {part.get('id')} has no such part; {allowed_text(name, plates)}"


def _stacks(profile: Profile) -> Iterator[Fault]:
    for place, part in profile.walk():
        if not part.stack:
            continue
        path = (*part_path(place), "stack")
        plates = {child.id: child for child in part.parts}
        for name, count in Counter(part.stack).items():
            plate = plates.get(name)
            if plate and plate.qty != "set" and count != plate.qty:
                yield path, f"{name} stands {count} time{'s' * (count != 1)} in the stack; its qty is {plate.qty}"
        # The last entries may be a ring or seal of the pack that is no plate of the stack.
        for name, plate in plates.items():
            if name not in part.stack and _is_plate(plate):
                yield path, f"{name} is a plate of {part.id} and does not stand in its stack"
        frictions = {name for name, plate in plates.items() if is_friction(plate)}
        for one, two in touching(part.stack, frictions):
            yield (*path, one), f"two frictions touch at places {one} and {two}; a steel belongs between"


def _copies(profile: Profile) -> Iterator[Fault]:
    """Refuse copies of copies of copies beyond all reason: each has a bin and a code."""
    copies: dict[tuple[int, ...], int] = {(): 1}
    total = 0
    for place, part in profile.walk():
        copies[place] = copies[place[:-1]] * part.used
        total += copies[place]
        if total > MOST_PLACES:
            yield (
                (*part_path(place), "used"),
                f"with its copies the unit has over {MOST_PLACES} parts; is `used` right?",
            )
            return


def _is_plate(part: Part) -> bool:
    return part.form is not None and part.form.kind in ("friction_plate", "steel_plate")


def _photos(tree: Tree, folder: Path) -> Iterator[Fault]:
    below = folder if folder.name else "the folder of the profile"  # `.` at the end of a sentence is read as its end
    for path, part in _parts(tree):
        for place, photo in _texts(part, ("photo",), path):
            if not _is_file(folder / photo):
                yield place, f"found {photo}; there is no such file below {below}"


def _is_file(path: Path) -> bool:
    try:
        return path.is_file()
    except OSError:  # a name that the file system does not allow
        return False


def _sizes(profile: Profile) -> Iterator[Fault]:
    """Yield each key of a series' tables that is none of its sizes."""
    for name, series in profile.series.items():
        sizes = [size.value for size in series.listed()]
        for table, entries in (("numbers", series.numbers), ("marks", series.marks)):
            for key in entries:
                try:
                    known = units.number(key) in sizes
                except units.UnitError:
                    known = False
                if not known:
                    allowed = allowed_text(key, map(str, sizes))
                    yield ("series", name, table, key), f'found the size "{key}"; it is not in the series; {allowed}'


def _carriers(tree: Tree) -> Iterator[Fault]:
    """Yield each ring of parts that carry, or hold, each other."""
    for field, words in (("carried_by", "carried by"), ("held.part", "held by")):
        edges: dict[tuple[str, str], FieldPath] = {}
        for path, part in _parts(tree):
            own, held = part.get("id"), part.get("held")
            fast = isinstance(held, dict) and held.get("by") in ("ring", "behind")
            for place, other in _texts(part, tuple(field.split(".")), path):
                if isinstance(own, str) and own != other and (fast or field == "carried_by"):
                    edges[own, other] = place
        for ring in _all_rings(edges):
            paths = [edges[arrow] for arrow in ring]
            lines = (tree.place(path)[0] for path in paths)
            told = ", ".join(
                f"{one} {words} {other} (line {line})" for (one, other), line in zip(ring, lines, strict=True)
            )
            yield _last(tree, paths), f"runs in a ring: {told}; one of them must stand by itself"


def _last(tree: Tree, paths: Iterable[FieldPath]) -> FieldPath:
    """Return which field of a ring stands last in the file: that closes it, and there it is told, once."""
    return max(paths, key=tree.place)


def _all_rings(edges: Iterable[tuple[str, str]]) -> Iterator[list[tuple[str, str]]]:
    """Yield rings as their arrows in order, until none is left when the last arrow of each is taken out."""
    left = dict.fromkeys(edges)
    while nodes := relations.ring(left):
        ring = list(zip(nodes, nodes[1:] + nodes[:1], strict=True))
        yield ring
        del left[ring[-1]]


def _rings(tree: Tree, profile: Profile) -> Iterator[Fault]:
    """Yield each ring of rules once, for whichever choice of options it first shows under."""
    told: set[frozenset[str]] = set()
    for chosen in combinations(profile):
        present = _present(profile.parts, chosen)
        groups = enumerate(relations.groups(profile, present))
        group_of = {part: f"group {number}" for number, (_, ids) in groups for part in ids}
        edges: dict[tuple[str, str], relations.Before] = {}
        for edge in relations.relations(profile, present):
            ends = group_of.get(edge.first, edge.first), group_of.get(edge.then, edge.then)
            if ends[0] != ends[1]:
                edges.setdefault(ends, edge)
        for ring in _all_rings(edges):
            used = [edges[arrow] for arrow in ring]
            if all(rule.path[-2:] == ("held", "part") for rule in used):
                continue  # told already: parts that hold each other
            if (nodes := frozenset(itertools.chain(*ring))) not in told:
                told.add(nodes)
                rules = "; ".join(f"{e.first} before {e.then} ({e.why}, line {tree.place(e.path)[0]})" for e in used)
                yield (
                    _last(tree, (rule.path for rule in used)),
                    f"the rules run in a ring: {rules}; take one of them out, or join the parts as a group",
                )


def _present(parts: Iterable[Part], chosen: dict[str, str | None]) -> dict[str, Part]:
    """Return the parts that are there under these options, by id; one inside a part that is not there is not either."""
    found = {}
    for part in parts:
        if part.matches(chosen):
            found[part.id] = part
            found |= _present(part.parts, chosen)
    return found


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
    yield from single_changes(profile)


def single_changes(profile: Profile) -> Iterator[dict[str, str | None]]:
    """Yield the choices by default, the first of a group that has none, and then each other choice alone."""
    usual: dict[str, str | None] = {
        name: option.default or next(iter(option.choices)) for name, option in profile.options.items()
    }
    yield usual
    for name, option in profile.options.items():
        yield from ({**usual, name: choice} for choice in option.choices if choice != usual[name])
