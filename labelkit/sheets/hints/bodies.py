"""Hints at sizes, masses and counts of a part, or of a sub-assembly and its parts, that cannot all be right."""

from __future__ import annotations

import re
from collections.abc import Iterable, Iterator, Mapping
from decimal import Decimal
from typing import Final

from labelkit.calc.plausible import masses, rounding
from labelkit.load.sizetext import read_sizes
from labelkit.model.form import Carrier, size
from labelkit.model.hardwareform import Bolt, CoilSpring, Key
from labelkit.model.part import Check, Part
from labelkit.model.ringform import BallBearing, FrictionPlate, LipSeal, ORing, RollerBearing, SnapRing, SteelPlate
from labelkit.sheets.hints.subject import Found, Rule, Subject, at, weighs
from labelkit.units import Quantity, UnitError, parse

# Masses are weighed apart and rounded: what lacks less is no slip. Own choice.
_WEIGHED: Final = Decimal("0.95")
# A size in a name is a round figure, mm. Own choice.
_ROUNDED: Final = Decimal("0.1")
# A pile is as high as its plates, but for what is rounded.
_PILED: Final = Decimal("0.02")
# What a check says it measures, and the size of the form that it is.
_MEASURED: Final = (
    (re.compile(r"thickness\b(?! of)"), ("t",)),
    (re.compile(r"free length\b"), ("length",)),
    (re.compile(r"(?:free )?height\b(?! of)"), ("h", "l")),
    (re.compile(r"width\b(?! of)"), ("w", "width")),
    (re.compile(r"outside diameter\b"), ("od", "d")),
    (re.compile(r"(?:inside diameter|bore)\b"), ("id", "bore")),
)

# Bought by the sizes in its name, which are those of the part itself; of others the name may tell those of a neighbour.
_BOUGHT: Final = (BallBearing, RollerBearing, LipSeal, ORing, SnapRing, Key, Bolt)
_IN_NAME: Final = re.compile(r"\bM?\d+(?:[.,]\d+)?(?:\s*[x×]\s*\d+(?:[.,]\d+)?)+(?![\w/])", re.IGNORECASE)


def name_sizes_differ(subject: Subject) -> Iterator[Found]:
    """The storeman goes by the sizes in the name, tray and drawings by those of the form."""
    for entry in subject.entries:
        form, match = entry.part.form, _IN_NAME.search(entry.part.name)
        if not isinstance(form, _BOUGHT) or match is None or entry.part.series:
            continue
        try:
            told = read_sizes(match[0].replace(",", "."), form.kind).found
            named = {own: parse(text, "length", subject.profile.unit.lengths).mm for own, text in told.items()}
        except UnitError:
            continue  # more or other figures than the form has: of something else
        drawn = {own: size(form, own) for own in named}
        if any(each is None or abs(each.mm - named[own]) > _ROUNDED for own, each in drawn.items()):
            its = " x ".join(f"{each.value:f}" for each in drawn.values() if each)
            yield (
                at(entry, "form"),
                f"the name of {entry.part.id} says {match[0]}, its form {its} ({' x '.join(drawn)}): the wrong one is "
                f"bought or drawn; correct name: or form:",
            )


def mass_unlikely(subject: Subject) -> Iterator[Found]:
    """A mass that no material has at this size is a slip of the unit or the decimal point.

    Trays are loaded by it, and it says whether one person lifts the part.
    """
    for entry in subject.entries:
        part = entry.part
        bounds = masses(part.form) if part.form and part.mass and not part.parts else None
        if bounds is None or part.mass is None:
            continue
        mass, slack = float(part.mass.kg), rounding(part.mass)
        if not bounds.low - slack <= mass <= bounds.high + slack:
            side = "heavy" if mass > bounds.high else "light"
            yield (
                at(entry, "mass"),
                f"{part.mass} is too {side} for the form of {part.id}: at that size it weighs from "
                f"{weighs(bounds.low, part.mass.unit)} (light material, hollow) to "
                f"{weighs(bounds.high, part.mass.unit)} (bronze, solid); weigh it, and "
                f"correct mass: (of one piece) or the sizes of form:",
            )


def mass_below_parts(subject: Subject) -> Iterator[Found]:
    """What hangs on the hoist cannot be lighter than what is inside it."""
    profile = subject.profile
    groups: list[tuple[tuple[str | int, ...], str, Quantity | None, tuple[Part, ...]]] = [
        (at(entry, "mass"), entry.part.id, entry.part.mass, entry.part.parts) for entry in subject.entries
    ]
    groups.append((("unit", "mass"), "the unit", profile.unit.mass, profile.parts))
    for path, name, mass, parts in groups:
        inside = _least(parts)
        if mass is not None and mass.kg < inside * _WEIGHED:
            yield (
                path,
                f"{name} has {mass}, and its parts alone {weighs(inside, mass.unit)}: hoist and tray would be chosen "
                f"too weak; write the mass with everything that is inside, or correct that of a part (mass: is of one "
                f"piece)",
            )


def _least(parts: Iterable[Part]) -> Decimal:
    """Return what parts weigh together, as far as it is known, without those of some versions only."""
    return sum(
        (part.mass.kg * part.qty * part.used for part in parts if part.mass and part.qty != "set" and not part.only),
        Decimal(0),
    )


def spring_solid(subject: Subject) -> Iterator[Found]:
    """A spring whose coils touch when it is free has no travel."""
    for entry in subject.entries:
        form = entry.part.form
        if isinstance(form, CoilSpring) and form.coils and form.coils * form.wire.mm >= form.length.mm:
            yield (
                at(entry, "form"),
                f"{form.coils:f} coils of {form.wire} are {form.coils * form.wire.mm:f} mm, and {entry.part.id} is "
                f"{form.length} long: it would be solid; measure the free length:, and count the coils:",
            )


def pack_height(subject: Subject) -> Iterator[Found]:
    """A pack is as high as its plates together; its place in the section and in the drum depends on it."""
    for entry in subject.entries:
        pack, whole = entry.part, size(entry.part.form, "t")
        inside = {child.id: size(child.form, "t") for child in pack.parts}
        plates = [inside.get(name) for name in pack.stack]
        if whole is None or not plates or None in plates:
            continue
        piled = sum((plate.mm for plate in plates if plate), Decimal(0))
        if abs(piled - whole.mm) > _PILED * piled:
            yield (
                at(entry, "form"),
                f"{pack.id} is {whole} high, and the plates of its stack are {piled:f} mm together: a plate too many "
                f"or too few, or a thickness is wrong; correct t:, stack: or the t: of a plate",
            )


def plates_differ(subject: Subject) -> Iterator[Found]:
    """All plates of a pack slide on one hub and in one drum: same teeth, same lugs, and they overlap."""
    for entry in subject.entries:
        plates = [child for child in entry.part.parts if child.id in entry.part.stack]
        frictions = [(child, form) for child in plates if isinstance(form := child.form, FrictionPlate)]
        steels = [(child, form) for child in plates if isinstance(form := child.form, SteelPlate)]
        index = {child.id: place for place, child in enumerate(entry.part.parts)}
        counted = [(child.id, form.teeth, "teeth") for child, form in frictions]
        counted += [(child.id, form.lugs, "lugs") for child, form in steels]
        first: dict[str, tuple[str, int]] = {}
        for name, count, word in counted:
            if count is None:
                continue
            other, its = first.setdefault(word, (name, count))
            if count != its:
                yield (
                    at(entry, "parts", index[name], "form"),
                    f"{name} has {count} {word}, {other} of the same pack {its}: both slide in the same grooves; count "
                    f"them, and correct {word}:",
                )
        for lined, one in frictions:
            for steel, two in steels:
                if one.od.mm <= two.id.mm or one.id.mm >= two.od.mm:
                    yield (
                        at(entry, "parts", index[lined.id], "form"),
                        f"{lined.id} ({one.id} to {one.od}) and {steel.id} ({two.id} to {two.od}) do not overlap: no "
                        f"face of one touches the other; correct id: or od:",
                    )


def each_differs(subject: Subject) -> Iterator[Found]:
    """A reading at each piece asks for as many boxes as there are pieces."""
    for entry, path, check in subject.checks():
        part = entry.part
        pieces = part.qty if part.qty != 1 else part.form.planets if isinstance(part.form, Carrier) else None
        if check.each and isinstance(pieces, int) and check.each != pieces:
            yield (
                (*path, "each"),
                f"{check.measure or check.look} is asked for {check.each} times, and there are {pieces} of {part.id}: "
                f"boxes are left over or missing; write each: {pieces}",
            )


def limit_refuses_new(subject: Subject) -> Iterator[Found]:
    """A limit that the part misses at the size that the profile gives it condemns every new one."""
    for entry, path, check in subject.checks():
        new = _measured(entry.part, check)
        if new is None:
            continue
        low, high = (limit.mm if limit and limit.kind == "length" else None for limit in (check.min, check.max))
        if (low is not None and new.mm < low) or (high is not None and new.mm > high):
            limit, name = (check.min, "min") if low is not None and new.mm < low else (check.max, "max")
            yield (
                (*path, name),
                f"{check.measure}: {entry.part.id} is {new} by its form, and {name}: {limit} would condemn a new one; "
                f"correct {name}: or form:",
            )


def _measured(part: Part, check: Check) -> Quantity | None:
    """Return the size of the form that a check measures; None where it is none."""
    words = (check.measure or "").casefold()
    names = next((names for pattern, names in _MEASURED if pattern.match(words)), ())
    return size(part.form, *names)


RULES: Final[Mapping[str, Rule]] = {
    "name-sizes-differ": name_sizes_differ,
    "mass-unlikely": mass_unlikely,
    "mass-below-parts": mass_below_parts,
    "spring-solid": spring_solid,
    "pack-height": pack_height,
    "plates-differ": plates_differ,
    "each-differs": each_differs,
    "limit-refuses-new": limit_refuses_new,
}
