"""What the rules look at: a valid profile with the place of each part, and who belongs to whom."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from decimal import Decimal
from functools import cached_property
from pathlib import Path
from typing import Any, TypeVar

from labelkit.calc.listed import first_of
from labelkit.calc.seating import in_order
from labelkit.calc.steps import Bin, Teardown, teardown
from labelkit.load.companions import Entry, entries
from labelkit.load.crosscheck import single_changes
from labelkit.load.yamltree import FieldPath, Key, Tree
from labelkit.model.formbase import Form
from labelkit.model.part import Check, Part
from labelkit.model.profile import Profile
from labelkit.model.relations import part_path
from labelkit.units import FACTORS, Quantity

F = TypeVar("F", bound=Form)

Found = tuple[FieldPath, str]
"""The field that a hint is about, and its words."""


@dataclass(frozen=True)
class Subject:
    """A profile as the rules see it.

    Attributes:
        profile: without faults.
        tree: the file it was read from.
        folder: where its photos are; None when it comes from a job's snapshot.
    """

    profile: Profile
    tree: Tree
    folder: Path | None = None

    @cached_property
    def known(self) -> Mapping[str, Entry]:
        """Every entry by id, in the order of the file."""
        return entries(self.profile)

    @cached_property
    def entries(self) -> tuple[Entry, ...]:
        """Every entry, in the order of the file."""
        return tuple(self.known.values())

    @cached_property
    def labelled(self) -> tuple[Entry, ...]:
        """The entries that have a label: neither they nor what they are inside stays inside another part."""
        return tuple(entry for entry in self.entries if not any(each.part.captured for each in (*entry.above, entry)))

    @cached_property
    def resting(self) -> Mapping[str, tuple[Entry, ...]]:
        """What lies on each part, by its id."""
        found: dict[str, tuple[Entry, ...]] = {}
        for entry in self.entries:
            if entry.part.sits and entry.part.sits.on:
                found[entry.part.sits.on] = (*found.get(entry.part.sits.on, ()), entry)
        return found

    @cached_property
    def versions(self) -> tuple[tuple[Teardown, Sequence[Bin]], ...]:
        """The usual version and each that differs from it in one choice: order of removal and order of assembly."""
        profile = self.profile
        removals = [teardown(profile, chosen) for chosen in single_changes(profile)]
        return tuple((removal, in_order(profile, removal)) for removal in removals)

    def seat(self, entry: Entry) -> Entry | None:
        """Return what an entry lies on; None when that is not recorded."""
        sits = entry.part.sits
        return self.known.get(sits.on) if sits and sits.on else None

    def lying(self, kind: type[F]) -> Iterator[tuple[Entry, F, Entry]]:
        """Yield each entry of a kind of form that lies on another part, with its form and that part."""
        for entry in self.entries:
            form, seat = entry.part.form, self.seat(entry)
            if isinstance(form, kind) and seat is not None:
                yield entry, form, seat

    def checks(self) -> Iterator[tuple[Entry, FieldPath, Check]]:
        """Yield every inspection point with its part and its place."""
        for entry in self.entries:
            for index, check in enumerate(entry.part.check):
                yield entry, (*at(entry), "check", index), check


Rule = Callable[[Subject], Iterator[Found]]


def at(entry: Entry, *field: Key) -> FieldPath:
    """Return the path of a field of a part."""
    return (*part_path(entry.place), *field)


def measured(part: Part) -> bool:
    """Say whether a size of the part is measured and kept for the sums."""
    return any(check.measure and check.keep for check in part.check)


def sizes(value: Any) -> Iterator[Any]:
    """Yield every size of a form one by one: lengths in mm, counts and words as they are; what is left out is None."""
    if isinstance(value, Form):
        for name in type(value).model_fields:
            yield from sizes(getattr(value, name))
    elif isinstance(value, tuple):
        for each in value:
            yield from sizes(each)
    else:
        yield value.mm if isinstance(value, Quantity) else value


def weighs(kg: float | Decimal, unit: str) -> str:
    """Return a mass in the unit of the one that it stands beside, with three digits.

    >>> weighs(8.754, "lb"), weighs(1500, "kg")
    ('19.3 lb', '1500 kg')
    """
    return f"{Decimal(f'{float(kg) / float(FACTORS[unit][1]):.3g}'):f} {unit}"


def listed(names: list[str]) -> str:
    """Return names as words: `a`, `a and b`, `a, b, c, and 4 more`.

    >>> listed(["a", "b"]), listed(["a", "b", "c", "d", "e"])
    ('a and b', 'a, b, c, and 2 more')
    """
    shown = names[:3]
    if len(names) > len(shown):
        return first_of(names, len(shown))
    return " and ".join(filter(None, (", ".join(shown[:-1]), shown[-1]))) if shown else ""
