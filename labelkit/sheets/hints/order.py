"""Hints at order: what goes in with what, what is bought, and what the profile names but never uses."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from typing import Final

from labelkit import forms
from labelkit.load.companions import Entry, gaps
from labelkit.load.yamltree import FieldPath
from labelkit.model import relations
from labelkit.model.part import Part, RenewWith, wanted_choices
from labelkit.model.ringform import FrictionPlate, SnapRing, SteelPlate
from labelkit.sheets.hints.subject import Found, Rule, Subject, at, listed
from labelkit.sheets.hints.words import ONCE


def not_always_there(subject: Subject) -> Iterator[Found]:
    """What a part lies on, or comes out with, is missing in some version: the print says nothing of it there."""
    for gap in gaps(subject.profile):
        yield (
            gap.path,
            f"{gap.other} is not there with {gap.when}: the print then says nothing here of {gap.part}; write "
            f"{gap.part} once for each version, with only:, where another part takes its place",
        )


def comes_with_unordered(subject: Subject) -> Iterator[Found]:
    """Two that come out together cannot go in one after the other, as the plain reverse would have it.

    What came out as one was put together where it can be reached no more once it is in: it has to be said whether one
    carries the other, lies on it, is held by it, or both are joined before.
    """
    for entry in subject.entries:
        name = entry.part.out.together if entry.part.out else None
        other = subject.known.get(name or "")
        if other is None or other in entry.above or entry in other.above or _related(subject, entry, other):
            continue
        yield (
            at(entry, "out", "with"),
            f"{entry.part.id} comes out with {other.part.id}, and nothing says how the two go in: plain reverse puts "
            f"in one by one what may not be reached then; write carried_by: {other.part.id}, or sits: {{on: ...}}, or "
            f"under assembly: {{join: [{entry.part.id}, {other.part.id}], because: ...}}",
        )


def _related(subject: Subject, one: Entry, other: Entry) -> bool:
    both = {one.part.id, other.part.id}
    for entry, its in ((one.part, other.part.id), (other.part, one.part.id)):
        seat, held = entry.sits and entry.sits.on, entry.held and entry.held.part
        if its in (entry.carried_by, seat, held):
            return True
    return any(both <= set(rule.join) or {rule.first, rule.then} == both for rule in subject.profile.assembly)


def ring_holds_nothing(subject: Subject) -> Iterator[Found]:
    """A retaining ring goes in after what it holds, and nothing says what that is."""
    held = {entry.part.held.part for entry in subject.entries if entry.part.held and entry.part.held.part}
    later = {rule.then for rule in subject.profile.assembly} | {
        name for r in subject.profile.assembly for name in r.join
    }
    for entry in subject.entries:
        part = entry.part
        if isinstance(part.form, SnapRing) and part.id not in held | later and not (part.sits and part.sits.on):
            yield (
                at(entry),
                f"nothing says what {part.id} holds: it may be put in before it; write held: "
                f"{{by: ring, part: {part.id}}} at the part that it holds, or sits: {{on: that part}} here",
            )


def number_missing(subject: Subject) -> Iterator[Found]:
    """The parts person needs a number for what is always bought: its own, or one for each size of its series."""
    for entry in subject.entries:
        part = entry.part
        graded = subject.profile.series[part.series].numbers if part.series else {}
        if part.new_only and not part.number and not graded:
            why = "always renewed" if part.renew == "always" else "used once only"
            number = f"{subject.profile.unit.mark}-1107"
            yield at(entry), f"{part.id} is {why} and has no number to order it by; write number: {number}, or its own"


def seal_reused(subject: Subject) -> Iterator[Found]:
    """A seal, lock plate or split pin that is put in again leaks or lets go."""
    for entry in subject.entries:
        part = entry.part
        if part.renew == "always" or isinstance(part.renew, RenewWith):
            continue
        if (part.form and "rubber" in forms.materials(part.form)) or ONCE.search(part.name):
            yield (
                at(entry, "renew") if part.renew else at(entry),
                f"{part.id} seals or locks by being squeezed or bent, and is not always renewed: put in again it "
                f"leaks or lets go; write renew: always and one_time: true",
            )


def old_one_accepted(subject: Subject) -> Iterator[Found]:
    """A new one is bought, and nothing refuses the old one at assembly."""
    for entry in subject.entries:
        if entry.part.renew == "always" and not entry.part.one_time:
            yield (
                at(entry, "renew"),
                f"{entry.part.id} is always renewed, but the old one is not refused when somebody scans it in; write "
                f"one_time: true",
            )


def one_time_not_renewed(subject: Subject) -> Iterator[Found]:
    """The old one is refused at assembly and a new one is ordered, and card and sheet say the contrary, too."""
    for entry in subject.entries:
        if entry.part.one_time and entry.part.renew in ("if_worn", "never"):
            yield (
                at(entry, "renew"),
                f"{entry.part.id} is used once, so that the old one is refused at assembly and a new one is ordered, "
                f"and cards say renew: {entry.part.renew} as well; write renew: always, or renew: {{with: id}}",
            )


def renewed_in_a_ring(subject: Subject) -> Iterator[Found]:
    """Each is renewed when another is, and none of them ever is."""
    told: set[str] = set()
    for entry in subject.entries:
        trail: list[str] = []
        part: Part | None = entry.part
        while part and isinstance(part.renew, RenewWith) and part.id not in trail:
            trail.append(part.id)
            following = subject.known.get(part.renew.part)
            part = following.part if following else None
        if part and part.id == entry.part.id and trail and part.id not in told:
            told.update(trail)
            names = " with ".join([*trail, entry.part.id])
            yield (
                at(entry, "renew"),
                f"{names}: each is renewed only when the other is, so that none ever is; write renew: if_worn at the "
                f"one that is inspected",
            )


def stack_missing(subject: Subject) -> Iterator[Found]:
    """Clutch plates whose order nobody wrote down go back with two linings touching, or a plate short."""
    for entry in subject.entries:
        kinds = {type(child.form) for child in entry.part.parts}
        if FrictionPlate in kinds and SteelPlate in kinds and not entry.part.stack:
            yield (
                at(entry),
                f"the order of the plates of {entry.part.id} is not recorded: a wrong place or two linings that touch "
                f"burn the pack; write stack: [id, id, ...] as they come out, and stack_from: what the first lies "
                f"against",
            )


def stack_start_missing(subject: Subject) -> Iterator[Found]:
    """An order that can be read from either end is no order."""
    for entry in subject.entries:
        if entry.part.stack and entry.part.stack_from is None:
            yield (
                at(entry, "stack"),
                f"nothing says at which end the stack of {entry.part.id} begins: it can be built the wrong way round; "
                f"write stack_from: piston, or what the first plate lies against",
            )


def rule_unexplained(subject: Subject) -> Iterator[Found]:
    """Whoever is refused a step wants to know why."""
    for index, rule in enumerate(subject.profile.assembly):
        if rule.because is None:
            names = " before ".join(filter(None, (rule.first, rule.then))) or f"join {', '.join(rule.join)}"
            yield (
                ("assembly", index),
                f"{names}: the bench refuses another order and can only say that the profile wants it; write because:",
            )


def rule_idle(subject: Subject) -> Iterator[Found]:
    """A rule between parts that are never there together orders nothing."""
    for index, rule in enumerate(subject.profile.assembly):
        names = [name for name in (rule.first, rule.then, *rule.join) if name]
        entries = [subject.known[name] for name in names]
        if not any(one.meets(other) for k, one in enumerate(entries) for other in entries[k + 1 :]):
            yield (
                ("assembly", index),
                f"{' and '.join(names)} are never there together (see their only:): this rule orders nothing; write "
                f"then: or join: with the part of the same version, or take the rule out",
            )


def rule_overruled(subject: Subject) -> Iterator[Found]:
    """Of parts that are joined, a rule is not kept that the seats contradict: nobody is told, for they go in at once.

    Rules that contradict only each other say that none of the parts can be the first, and are right.
    """
    told: set[FieldPath] = set()
    for removal, _ in subject.versions:
        present = {item.part.id: item.part for item in removal.items.values()}
        found = relations.relations(subject.profile, present)
        after: dict[str, list[str]] = {}
        for edge in found:
            if edge.path[0] != "assembly":
                after.setdefault(edge.first, []).append(edge.then)
        for edge in found:
            if edge.path[0] != "assembly" or edge.path in told or edge.some:
                continue
            if way := _way(edge.then, edge.first, after):
                told.add(edge.path)
                yield (
                    edge.path,
                    f"{edge.first} before {edge.then} is not kept: what lies on what (sits.on), or is held by it, says "
                    f"{' before '.join(way)}; take the rule out, or correct the seat",
                )


def _way(start: str, end: str, after: Mapping[str, list[str]]) -> list[str]:
    """Return a way along the arrows, empty where there is none."""
    came_from = {start: ""}
    waiting = [start]
    while waiting:
        node = waiting.pop()
        if node == end:
            way = [end]
            while came_from[way[0]]:
                way.insert(0, came_from[way[0]])
            return way
        new = [each for each in after.get(node, ()) if each not in came_from]
        came_from |= dict.fromkeys(new, node)
        waiting += new
    return []


def version_unused(subject: Subject) -> Iterator[Found]:
    """A choice that changes no part makes people decide for nothing, or a part was forgotten."""
    for group, option in subject.profile.options.items():
        shown: dict[tuple[str, ...], list[str]] = {}
        for choice in option.choices:
            there = tuple(
                entry.part.id
                for entry in subject.entries
                if group in entry.part.only and choice in wanted_choices(entry.part.only[group])
            )
            shown.setdefault(there, []).append(choice)
        for choices in shown.values():
            if len(choices) > 1:
                yield (
                    ("options", group),
                    f"with {listed(choices)} the same parts are there: the choice changes nothing; write only: "
                    f"{{{group}: {choices[0]}}} at the parts that belong to one of them, or take the choice out",
                )


def never_used(subject: Subject) -> Iterator[Found]:
    """A tool or series that nothing names was meant for some part."""
    profile = subject.profile
    tools = {entry.part.out.tool for entry in subject.entries if entry.part.out}
    tools |= {rule.tool for rule in profile.assembly}
    series = {entry.part.series for entry in subject.entries}
    for table, names, used, write in (
        ("tools", profile.tools, tools, "out: {tool: NAME} at the part that needs it"),
        ("series", profile.series, series, "series: NAME at the part that comes in these sizes"),
    ):
        for name in names:
            if name not in used:
                yield (
                    (table, name),
                    f"nothing names {name}: a part that needs it says nothing of it; write "
                    f"{write.replace('NAME', name)}, or take it out",
                )


RULES: Final[Mapping[str, Rule]] = {
    "not-always-there": not_always_there,
    "comes-with": comes_with_unordered,
    "ring-holds-nothing": ring_holds_nothing,
    "number-missing": number_missing,
    "seal-reused": seal_reused,
    "old-one-accepted": old_one_accepted,
    "one-time-not-renewed": one_time_not_renewed,
    "renewed-in-a-ring": renewed_in_a_ring,
    "stack-missing": stack_missing,
    "stack-start-missing": stack_start_missing,
    "rule-unexplained": rule_unexplained,
    "rule-idle": rule_idle,
    "rule-overruled": rule_overruled,
    "version-unused": version_unused,
    "never-used": never_used,
}
