"""What somebody tells of one part, read from the form of the capture; and what the form asks, by the kind of part."""

from __future__ import annotations

import re
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from typing import Final, Literal, get_args, get_origin

from labelkit.bench.capturemore import named_more, no_step, others, told_more, typed_more
from labelkit.bench.capturepictures import way_words
from labelkit.bench.captureprofile import as_part, bare_units, step_pairs
from labelkit.bench.capturetree import NEXT, Captured, Unit
from labelkit.bench.capturewords import problem_words, size_words
from labelkit.bench.typed import as_meant, figures
from labelkit.errors import UsageError
from labelkit.language import gettext as _
from labelkit.load.sizetext import read_sizes
from labelkit.load.validate import validate
from labelkit.load.yamltree import Tree
from labelkit.model.facewords import looking, points
from labelkit.model.form import FORMS
from labelkit.model.formwords import first_sizes, folded
from labelkit.model.part import Part
from labelkit.units import UnitError, pointed

# Asked for in this order where nothing else says it. A free outline cannot be told by three figures.
KINDS: Final = tuple(kind for kind in FORMS if kind != "outline")
_PLAIN: Final = ("teeth", "planets", "coils", "lugs", "waves", "ears")
_LEFT_OUT: Final = ("splines", "points", "holes")
# Figures with a cross between them, or a thread, at the end of a name.
_IN_NAME: Final = re.compile(r"(\bM?\d[\d.,/ ]*(\s*[x×]\s*\d[\d.,/ ]*)+|\bM\d+)\s*(mm|in)?$")
HOURS: Final = tuple(f"{hour}:00" for hour in (12, *range(1, 12)))
"""The hours of the dial, from the top clockwise."""
COUNTS: Final = ("1", "2", "3", "4", "5", "6", "8", "10", "12", "set")
"""Quantities that have a button."""
# A bare figure: what somebody types on a keypad that has no letters.
_BARE: Final = re.compile(r"[\d.,/ ]+")
# A module is in millimetres whatever the unit's lengths are. Source: ISO 54 (from memory).
_ALWAYS_MM: Final = "module"
# Where a field of a profile is asked under another name.
_FIELDS: Final = {
    "qty": "qty_other",
    "clock": "clock_other",
    "number": "order",
    "note": "remark",
    "up": "face",
    "text": "caution",
}


@dataclass(frozen=True, slots=True)
class Size:
    """One size that the form asks for.

    Attributes:
        name: of the field: `od`.
        words: for people.
        choices: where it is one of a few words; empty for a figure.
        first: it is one of those without which there is no drawing and no outline.
        plain: a whole number, not a length.
    """

    name: str
    words: str
    choices: tuple[str, ...]
    first: bool
    plain: bool


def sizes_of(kind: str) -> tuple[Size, ...]:
    """Return what is asked of a kind, what it cannot be without before the rest; nothing where it is not known."""
    if not kind:
        return ()
    needed = {name for name, info in FORMS[kind].model_fields.items() if info.is_required()}
    needed.add(FORMS[kind].counted or "")
    found = []
    for name, info in FORMS[kind].model_fields.items():
        if name in _LEFT_OUT:
            continue
        choices = tuple(str(each) for each in _words(info.annotation))
        plain = name in _PLAIN
        found.append(Size(name, size_words(kind, name), choices, name in needed or name in first_sizes(kind), plain))
    return tuple(sorted(found, key=lambda each: not each.first))


def _words(annotation: object) -> Iterator[object]:
    """Yield the words of a field that is one of a few."""
    if get_origin(annotation) is Literal:
        yield from get_args(annotation)
    else:
        for inner in get_args(annotation):
            yield from _words(inner)


def typed_of(part: Captured, unit: Unit) -> dict[str, str]:
    """Return the fields of the form as they stand for a part that is told already."""
    before = unit.before(part.number)
    near = {"", NEXT, str(before.number) if before else ""}
    some = part.qty in COUNTS
    return {
        "name": part.name,
        **{f"size-{name}": text for name, text in part.sizes.items()},
        "qty": part.qty if some else "other",
        "qty_other": "" if some else part.qty,
        "way": part.way,
        "face": part.face,
        "clock": part.clock if part.clock in (*HOURS, "free", "") else "other",
        "clock_other": "" if part.clock in (*HOURS, "free") else part.clock,
        "on": part.on if part.on in near else "other",
        "on_step": "" if part.on in near else unit.step_of(part.on),
        "along": part.along if part.along in near else "other",
        "along_step": "" if part.along in near else unit.step_of(part.along),
        "mass": part.mass,
        "order": part.order,
        "remark": part.remark,
        **typed_more(part, unit),
    }


def sizes_in(name: str, kind: str) -> dict[str, str]:
    """Return the sizes that a name tells, as fields of the form; none where it tells none.

    >>> sizes_in("Cover bolt M8 x 30", "bolt"), sizes_in("Planet 3", "gear")
    ({'size-d': '8', 'size-l': '30'}, {})
    """
    match = _IN_NAME.search(name) if kind else None
    if match is None:
        return {}
    try:
        read = read_sizes(pointed(match[0]), kind)
    except UnitError:
        return {}
    sure = {} if read.doubts else read.found
    return {f"size-{size}": text for size, text in sure.items() if isinstance(text, str)}


def alike(unit: Unit, part: Captured, kind: str) -> tuple[str, Captured] | None:
    """Return the last part that has sizes, the same kind, and the same name but for a number, with its step."""
    return unit.latest(
        lambda each: kind == each.kind and each.sizes and each.number != part.number and _stem(each) == _stem(part)
    )


def _stem(part: Captured) -> str:
    return re.sub(r"[\W\d_]+", " ", folded(part.name)).strip()


def told(
    form: Mapping[str, str], unit: Unit, part: Captured, kind: str, photos: Sequence[str]
) -> tuple[Captured, dict[str, str]]:
    """Return a part as the form tells it, and what is wrong with which field.

    Args:
        form: what was sent.
        unit: what is captured so far.
        part: as it was told before; a new one has its number and nothing else.
        kind: of form.
        photos: SHA-256 of each.
    """
    text = _quickly({key: " ".join(value.split()) for key, value in form.items()})
    faults: dict[str, str] = {}
    same = text.get("same", "")
    known = next((each.sizes for _, each in unit.walk() if str(each.number) == same and each.kind == kind), {})
    sizes = dict(known)
    for size in sizes_of(kind):
        typed = form.get(f"size-{size.name}", "").strip() if size.name == "steps" else text.get(f"size-{size.name}", "")
        if typed:
            typed = typed if size.plain or size.choices else as_meant(typed, "length")
            sizes[size.name] = _with_unit(size, typed, text.get("figures_in", ""), unit.lengths)
            _check_size(size, sizes[size.name], unit.lengths, faults)
    steps = unit.numbers()
    qty, clock = _typed_or(text, "qty", "1"), _typed_or(text, "clock", "")
    way = text.get("way", "")
    more = {**named_more(text.get("name", ""), kind), **part.more}
    if "more" in text:
        more, wrong = told_more(text, unit, part)
        faults |= wrong
    new = replace(
        part,
        name=text.get("name", ""),
        kind=kind,
        sizes=sizes,
        qty=qty or "1",
        way="free" if way == "any" else way,
        said=way_words(kind, way) if kind and way in ("up", "down") else "",
        face="" if way else _face(text.get("face", ""), faults),
        clock=f"{clock}:00" if clock.isdigit() else clock or ("free" if way == "any" else ""),
        on=_other(text, "on", steps, faults),
        along=_other(text, "along", steps, faults),
        mass=text.get("mass", ""),
        order=text.get("order", ""),
        remark=text.get("remark", ""),
        photos=tuple(photos),
        more=more,
    )
    if not new.name:
        faults["name"] = _("type what it is called, also in your own words")
    for relation in ("on", "along"):
        if getattr(new, relation) == str(part.number):
            faults[f"{relation}_step"] = _("this is the part itself")
    return new, dict(_faults_of(new, unit)) | faults


def _quickly(text: dict[str, str]) -> dict[str, str]:
    """Return the fields of a form with how a part sat, where that was told in one tap and nothing else says it."""
    way, clock, on, face = (*text.get("quick", "").split(";", 3), "", "", "")[:4]
    turned = text.get("way") or text.get("face")
    known = {} if turned else {"way": way, "face": face}
    known |= {} if text.get("clock") or text.get("clock_other") else {"clock": clock}
    known |= {} if text.get("on") or text.get("on_step") else {"on": on}
    return text | {key: value for key, value in known.items() if value}


def _typed_or(text: Mapping[str, str], name: str, usual: str) -> str:
    """Return what was typed beside the buttons of a question, where that was chosen or none of them was tapped."""
    chosen, typed = text.get(name, usual), text.get(f"{name}_other", "")
    return typed if chosen == "other" or (typed and chosen == usual) else chosen


def _face(typed: str, faults: dict[str, str]) -> str:
    """Return the face that is up, without the word that it is; of one that looks down, ask which one is up then."""
    face, way = looking(typed)
    if way == "down" and face:
        wrong = _('"{typed}" is what looks down; type the face that is up, as in "side opposite {face}"')
        faults["face"] = wrong.format(typed=typed, face=face)
    elif points(face) or (typed and not face):
        faults["face"] = _('"{typed}": type only the face that is up, as in "marked side"').format(typed=typed)
    return face


def _with_unit(size: Size, typed: str, unit: str, lengths: str) -> str:
    """Return a size with the unit that was chosen for bare figures, where that is not the unit's own."""
    wanted = "mm" if size.name == _ALWAYS_MM else unit if unit in ("mm", "in") else lengths
    if wanted == lengths or size.plain or size.choices:
        return typed
    if size.name == "steps":
        figure = re.compile(r"(?<![\w.,/])[\d.,/]+(?: \d+/\d+)?(?=\s*([x×*;\n]|$))")
        return figure.sub(rf"\g<0> {wanted}", typed)
    return f"{typed} {wanted}" if _BARE.fullmatch(typed) else typed


def _check_size(size: Size, typed: str, lengths: str, faults: dict[str, str]) -> None:
    field = f"size-{size.name}"
    try:
        if size.name == "steps":
            for pair in step_pairs(typed):
                ends = re.split(r"\s*[x×*]\s*", pair)
                if len(ends) != 2:
                    raise UsageError(
                        _('found "{pair}"; allowed: diameter x length, as 40 x 20; 30 x 55').format(pair=pair)
                    )
                for end in ends:
                    figures(end, lengths)
        elif not size.plain and not size.choices and len(figures(typed, lengths)) != 1:
            wrong = _('found "{typed}"; allowed: one figure, as 72.1, or with its unit, as 3/32 in')
            raise UsageError(wrong.format(typed=typed))
    except UsageError as error:
        faults[field] = str(error)


def _other(text: Mapping[str, str], name: str, steps: Mapping[str, str], faults: dict[str, str]) -> str:
    """Return which part another one is named by: a button, or the step that was typed."""
    chosen = text.get(name, "")
    step = text.get(f"{name}_step", "")
    if chosen != "other" and not (chosen == "" and step):
        known = chosen in ("", NEXT) or chosen in steps.values()
        return chosen if known else ""  # what it lay on was taken out meanwhile
    if step in steps:
        return steps[step]
    faults[f"{name}_step"] = no_step(step, steps) if step else _("type the step of that part")
    return ""


def _faults_of(part: Captured, unit: Unit) -> Iterator[tuple[str, str]]:
    """Yield what a profile would say against a part, by the field of the form; a name may be missing."""
    ids = dict.fromkeys(others(part), "other") | {str(part.number): "part"}
    data = {"name": "?"} | as_part(replace(part, on="", along="", parts=()), ids)
    _, problems = validate(Tree("part", data), Part, bare_units(unit))
    for problem in problems:
        path = problem.path.replace("[", ".").split(".")
        words = problem_words(problem, part.kind)
        if path[0] == "form":
            # One of sizes that are wrong together stands at the first that it names.
            named = [each for _place, each in problem.values if each in part.sizes]
            yield f"size-{path[2] if len(path) > 2 else next(iter(named or part.sizes))}", words
        else:
            yield _FIELDS.get(path[-1], path[-1]), words
