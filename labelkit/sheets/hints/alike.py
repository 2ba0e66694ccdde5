"""Hints at parts that are taken for each other, or written down as two where they are one."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from decimal import Decimal
from typing import Final

from labelkit.load.companions import Entry
from labelkit.load.yamltree import FieldPath
from labelkit.sheets.hints.subject import Found, Rule, Subject, at, listed, sizes

# Sizes nearer to each other than this are not told apart by eye. Common practice, no source.
_NEAR: Final = Decimal("0.1")


def look_alikes(subject: Subject) -> Iterator[Found]:
    """Two parts of one kind whose sizes differ by less than a tenth are swapped sooner or later.

    What bears one number is one part and may be swapped; a sub-assembly is not taken for what is inside it.
    """
    by_kind: dict[str, list[tuple[Entry, tuple[object, ...]]]] = {}
    for entry in subject.labelled:
        form = entry.part.form
        if form is None:
            continue
        own = tuple(sizes(form))
        seen = by_kind.setdefault(form.kind, [])
        near = [other for other, its in seen if _near(own, its) and _confused(entry, other)]
        if near:
            first = near[0].part.id
            yield (
                at(entry),
                f"{entry.part.id} and {listed([each.part.id for each in near])} differ by less than 10 % in size: they "
                f'are taken for each other; write look_alike: [{{part: {first}, tell: "what to look at"}}], and the '
                f"same at {first}",
            )
        seen.append((entry, own))


def _confused(one: Entry, other: Entry) -> bool:
    """Say whether two parts may lie on one bench, are not the same, and do not say that they look alike."""
    a, b = one.part, other.part
    marked = b.id in {each.part for each in a.look_alike} or a.id in {each.part for each in b.look_alike}
    if marked or not one.meets(other) or other in one.above or one in other.above:
        return False
    if a.number is not None or b.number is not None:
        return a.number != b.number
    # Without numbers, equal ones may be the same part; graded ones are not.
    return a.form != b.form or bool(a.series and a.series == b.series)


def _near(mine: tuple[object, ...], its: tuple[object, ...]) -> bool:
    return len(mine) == len(its) and all(_close(a, b) for a, b in zip(mine, its, strict=True))


def _close(a: object, b: object) -> bool:
    if a is None or b is None or a == b:
        return True
    if not isinstance(a, Decimal | int) or not isinstance(b, Decimal | int):
        return False
    one, two = Decimal(a), Decimal(b)
    return abs(one - two) < _NEAR * max(abs(one), abs(two))


def look_alike_untold(subject: Subject) -> Iterator[Found]:
    """The warning without the difference helps nobody who holds the part."""
    for entry in subject.entries:
        for index, alike in enumerate(entry.part.look_alike):
            if alike.tell is None:
                yield (
                    at(entry, "look_alike", index),
                    f"{entry.part.id} is easily taken for {alike.part}, and nothing says how to tell: write tell: what "
                    f"to measure or to look at",
                )


def look_alike_one_way(subject: Subject) -> Iterator[Found]:
    """The label of the other one does not warn."""
    for entry in subject.entries:
        for index, alike in enumerate(entry.part.look_alike):
            other = subject.known.get(alike.part)
            back = {each.part for each in other.part.look_alike} if other else set()
            if other and other.meets(entry) and entry.part.id not in back:
                yield (
                    at(entry, "look_alike", index),
                    f"the label of {entry.part.id} warns of {alike.part}, that of {alike.part} says nothing; write "
                    f"look_alike: [{{part: {entry.part.id}, tell: ...}}] at {alike.part}",
                )


def pair_one_way(subject: Subject) -> Iterator[Found]:
    """The card of the other one does not say that it is matched."""
    for entry in subject.entries:
        for index, name in enumerate(entry.part.pair):
            other = subject.known.get(name)
            if other and entry.part.id not in other.part.pair:
                yield (
                    at(entry, "pair", index),
                    f"the card of {entry.part.id} says that it is matched with {name}, that of {name} says nothing; "
                    f"write pair: [{entry.part.id}] at {name}",
                )


def _of_one_number(subject: Subject) -> Iterator[tuple[Entry, Entry]]:
    """Yield each entry that has the number of an earlier one, with the first of these."""
    first: dict[str, Entry] = {}
    for entry in subject.entries:
        if entry.part.number is not None and (other := first.setdefault(entry.part.number, entry)) is not entry:
            yield entry, other


def number_shared(subject: Subject) -> Iterator[Found]:
    """One number buys one part: parts of different sizes cannot both be it."""
    for entry, other in _of_one_number(subject):
        part = entry.part
        if part.form and other.part.form and part.form != other.part.form:
            yield (
                at(entry, "number"),
                f"{part.number} is the number of {other.part.id} ({_told(other)}) and of {part.id} ({_told(entry)}), "
                f"which have other sizes: one of them would be bought wrong; correct number: or form: of one",
            )


def _told(entry: Entry) -> str:
    form = entry.part.form
    if form is None:
        return ""
    named = ((name, getattr(form, name)) for name in type(form).model_fields)
    return " ".join((form.kind, *(f"{name} {value}" for name, value in named if value is not None and value != ())))


def pack_differs(subject: Subject) -> Iterator[Found]:
    """One number is sold in one pack: the order rounds up by it."""
    for entry, other in _of_one_number(subject):
        part = entry.part
        if part.pack != other.part.pack:
            packs = [f"pack: {each.part.pack or 'not recorded'} at {each.part.id}" for each in (other, entry)]
            yield (
                at(entry, "pack" if part.pack else "number"),
                f"{part.number} has {' and '.join(packs)}: the order can be rounded up by one pack only; write the "
                f"same pack: at both",
            )


def listed_twice(subject: Subject) -> Iterator[Found]:
    """The same part at the same place twice is counted, labelled and bought twice."""
    first: dict[tuple[object, ...], Entry] = {}
    for entry in subject.entries:
        part = entry.part
        if part.number is None or part.sits is None:
            continue
        above: FieldPath = entry.place[:-1]
        other = first.setdefault((above, part.number, part.form, part.sits), entry)
        if other is not entry and other.meets(entry):
            yield (
                at(entry),
                f"{part.id} and {other.part.id} are one number, of one size, and sit alike on the same part: is it "
                f"listed twice? Write it once with qty: {_sum(part.qty, other.part.qty)}, or say with sits: and name: "
                f"what differs",
            )


def _sum(one: int | str, other: int | str) -> str:
    return str(one + other) if isinstance(one, int) and isinstance(other, int) else "how many there are"


RULES: Final[Mapping[str, Rule]] = {
    "look-alikes": look_alikes,
    "look-alike-untold": look_alike_untold,
    "look-alike-one-way": look_alike_one_way,
    "pair-one-way": pair_one_way,
    "number-shared": number_shared,
    "pack-differs": pack_differs,
    "listed-twice": listed_twice,
}
