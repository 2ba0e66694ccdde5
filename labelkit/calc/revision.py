"""What a new revision of a profile changes for the bench: parts, order, limits and every other field, in words."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass, replace
from difflib import SequenceMatcher
from typing import Any, Final

from labelkit.calc.assembly import assembly_order
from labelkit.calc.steps import Teardown, choose, teardown
from labelkit.model.part import Part, dump
from labelkit.model.profile import Profile

_Flat = dict[tuple[str, ...], str]

# What each field of a part is about, and its name for people; the topics stand in the order in which they are told.
PART_FIELDS: Final = {
    "qty": ("parts", "quantity"),
    "used": ("parts", "how many times it is there"),
    "only": ("parts", "only with"),
    "out": ("removal", "comes out"),
    "held": ("removal", "held"),
    "carried_by": ("removal", "carried by"),
    "sits": ("seat", "sits"),
    "stack": ("seat", "order of the pack"),
    "stack_from": ("seat", "pack begins at"),
    "hazards": ("cautions", "caution"),
    "thread": ("cautions", "thread"),
    "look_alike": ("cautions", "taken easily for"),
    "keep_with": ("cautions", "keep with"),
    "pair": ("cautions", "matched with"),
    "check": ("limits", "check"),
    "fasten": ("tightening", "tightening"),
    "wash": ("wash", "wash"),
    "number": ("ordering", "number"),
    "pack": ("ordering", "pieces in a pack"),
    "series": ("ordering", "series"),
    "renew": ("ordering", "renewed"),
    "one_time": ("ordering", "used once only"),
    "form": ("drawing", "form"),
    "mass": ("drawing", "mass"),
    "lay": ("drawing", "lies on the tray"),
    "photo": ("drawing", "photo"),
    "name": ("names", "name"),
    "short": ("names", "name on labels"),
}
_OF_PROFILE: Final = {
    "hazards": ("cautions", "caution of the whole unit"),
    "fits": ("limits", "fit"),
    "series": ("ordering", "series"),
    "assembly": ("assembly", "rule"),
    "options": ("parts", "option"),
    "tools": ("removal", "tool"),
    "unit": ("names", "unit"),
}
TOPICS: Final = (
    *("parts", "order", "removal", "seat", "cautions", "limits", "tightening", "assembly"),
    *("wash", "ordering", "drawing", "names"),
)
# Fields that name other parts by their ids.
_OF_OTHERS: Final = ("carried_by", "keep_with", "on", "pair", "part", "stack", "with")
# What tells the items of a list apart, so that one that is changed is not taken for another that is gone.
_KEYS: Final = ("look", "measure", "text")


@dataclass(frozen=True, slots=True)
class Change:
    """One thing that the new revision says otherwise.

    Attributes:
        topic: one of `TOPICS`.
        part: id of the part; empty: the unit.
        field: what is changed, for people; empty where the words say all.
        was: what the old revision says; None: nothing.
        now: what the new one says; None: nothing.
    """

    topic: str
    part: str
    field: str
    was: str | None
    now: str | None

    @property
    def words(self) -> str:
        """The change in one line."""
        if self.now is None:
            return f"{self.field}: not recorded any more (was {self.was})"
        return f"{self.field}: {self.now} (was {self.was or 'not recorded'})"


def changes(old: Profile, new: Profile) -> tuple[Change, ...]:
    """Return everything that differs, by topic, then in the order of the new profile.

    Parts are the same where their ids are: another id is another part. The order of assembly is compared under the
    options that each profile takes by default.
    """
    found = [*_parts(old, new), *_order(old, new), *_fields(old, new), *_before(old, new), *_of_unit(old, new)]
    return tuple(sorted(found, key=lambda change: TOPICS.index(change.topic)))


def _parts(old: Profile, new: Profile) -> Iterator[Change]:
    """Yield what is new and what is gone."""
    there, before = _walked(new), _walked(old)
    for part, (_, after) in there.items():
        if part not in before:
            yield Change("parts", part, "new part", "not there", f"{new.names[part]}, {_behind(new, after)}")
    for part in before:
        if part not in there:
            yield Change("parts", part, "part", old.names[part], "gone")


def _order(old: Profile, new: Profile) -> Iterator[Change]:
    """Yield the parts that come out at another moment, as few as tell all of it."""
    there, before = _walked(new), _walked(old)
    names = [part for part in before if part in there]
    others = [part for part in there if part in before]
    matcher = SequenceMatcher(None, names, others, autojunk=False)
    kept = {names[block.a + k] for block in matcher.get_matching_blocks() for k in range(block.size)}
    for part in others:
        (parent, after), (was_parent, was_after) = there[part], before[part]
        if part not in kept or parent != was_parent:
            yield Change("order", part, "comes out", _within(old, was_parent, was_after), _within(new, parent, after))


def _fields(old: Profile, new: Profile) -> Iterator[Change]:
    there = {part.id: part for _, part in old.walk()}
    for _, part in new.walk():
        if part.id in there:
            for path, change in _differing(_flat_part(there[part.id]), _flat_part(part), PART_FIELDS, part.id):
                yield _by_name(change, path, old, new)


def _by_name(change: Change, path: tuple[str, ...], old: Profile, new: Profile) -> Change:
    """Return a change in which other parts are called by their names, where these tell what is changed."""
    if path[0] == "look_alike":
        name = {**old.names, **new.names}[path[1]]
        return replace(change, field=f"{PART_FIELDS[path[0]][1]} {name}")
    if path[-1] not in _OF_OTHERS:
        return change
    was, now = (
        ids and ", ".join(profile.names.get(each, each) for each in ids.split(", "))
        for ids, profile in ((change.was, old), (change.now, new))
    )
    return change if was == now else replace(change, was=was, now=now)


def _before(old: Profile, new: Profile) -> Iterator[Change]:
    """Yield the parts that wait for others than before when the unit is put together."""
    was, now = _needed(old), _needed(new)
    both = was.keys() & now.keys()
    for part in (part for part in now if part in both):
        gone, more = (was[part] - now[part]) & both, (now[part] - was[part]) & both
        if gone or more:
            first = [", ".join(sorted(new.names[each] for each in needed & both)) for needed in (was[part], now[part])]
            yield Change("assembly", part, "what must be in first", *(words or "nothing" for words in first))


def _of_unit(old: Profile, new: Profile) -> Iterator[Change]:
    yield from (change for _, change in _differing(_flat_unit(old), _flat_unit(new), _OF_PROFILE, ""))


def _flat_unit(profile: Profile) -> _Flat:
    return _flat({field: dump(getattr(profile, field)) for field in _OF_PROFILE} | {"assembly": _rules(profile)})


def _rules(profile: Profile) -> dict[str, str]:
    """Return the reason of each rule of assembly by what it says."""
    return {
        f"{rule.first} before {rule.then}" if rule.first else f"{' and '.join(rule.join)} together": rule.because
        or "yes"
        for rule in profile.assembly
    }


def _differing(
    was: _Flat, now: _Flat, fields: Mapping[str, tuple[str, str]], part: str
) -> Iterator[tuple[tuple[str, ...], Change]]:
    for path in dict.fromkeys((*now, *was)):
        if was.get(path) != now.get(path):
            topic, name = fields[path[0]]
            told = " ".join((name, *(step.replace("_", " ") for step in path[1:])))
            yield path, Change(topic, part, told, was.get(path), now.get(path))


def _flat_part(part: Part) -> _Flat:
    alike = {other.part: other.tell or "yes" for other in part.look_alike}
    return _flat({field: dump(getattr(part, field)) for field in PART_FIELDS} | {"look_alike": alike})


def _flat(data: Any, path: tuple[str, ...] = ()) -> _Flat:
    """Return every value under the way to it; of a list of plain values all together."""
    if data is None or data in ({}, [], ()):
        return {}
    if isinstance(data, Mapping):
        pairs = list(data.items())
    elif isinstance(data, list) and isinstance(data[0], Mapping):
        pairs = [_keyed(item) for item in data]
    else:
        return {path: _plain(data)}
    found: _Flat = {}
    for key, item in pairs:
        found |= _flat(item, (*path, key))
    return found


def _keyed(item: Mapping[str, Any]) -> tuple[str, Any]:
    """Return what tells an item apart, and what it says beside that."""
    key = next(key for key in _KEYS if key in item)
    rest = {name: value for name, value in item.items() if name != key and value is not False}
    return f'"{item[key]}"', rest or "yes"


def _plain(value: Any) -> str:
    """Return a value in words: steps and points as `16 mm x 30 mm; 30 mm x 22 mm`."""
    if isinstance(value, list):
        nested = isinstance(value[0], list)
        return "; ".join(" x ".join(map(_plain, each)) for each in value) if nested else ", ".join(map(_plain, value))
    return {True: "yes", False: "no"}[value] if isinstance(value, bool) else str(value)


def _walked(profile: Profile) -> dict[str, tuple[str | None, str | None]]:
    """Return of every part its sub-assembly and the part before it there, in the order of removal."""
    found: dict[str, tuple[str | None, str | None]] = {}

    def walk(parts: tuple[Part, ...], parent: str | None) -> None:
        before = None
        for part in parts:
            found[part.id] = (parent, before)
            before = part.id
            walk(part.parts, part.id)

    walk(profile.parts, None)
    return found


def _behind(profile: Profile, after: str | None) -> str:
    return "first" if after is None else f"after {profile.names[after]}"


def _within(profile: Profile, parent: str | None, after: str | None) -> str:
    inside = f" of {profile.names[parent]}" if parent else ""
    return f"{_behind(profile, after)}{inside}"


def _needed(profile: Profile) -> dict[str, set[str]]:
    removal: Teardown = teardown(profile, choose(profile, {}))
    found: dict[str, set[str]] = {}
    for entry in assembly_order(profile, removal):
        needs = {removal.at(need.step).part.id for need in entry.needs if need.step in removal.places}
        found.setdefault(entry.bin.part.id, set()).update(needs)
    return found
