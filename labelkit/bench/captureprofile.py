"""From what is captured to a profile: its file, its photos, which code each part has, and what is still open."""

from __future__ import annotations

import re
from collections import Counter
from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from typing import Any

from labelkit.bench.capturemore import as_header, as_more, ident, tools
from labelkit.bench.capturetree import Captured, Unit
from labelkit.bench.capturewords import problem_words, size_words
from labelkit.errors import InputErrors
from labelkit.forms import sided
from labelkit.language import gettext
from labelkit.load.profile import LoadedProfile, parse_profile
from labelkit.load.validate import validate
from labelkit.load.writer import profile_yaml, scalar
from labelkit.load.yamltree import Tree
from labelkit.model.form import FORMS
from labelkit.model.part import Part
from labelkit.model.profile import Header, Profile
from labelkit.model.unrecorded import of_part, of_unit
from labelkit.units import pointed


@dataclass(frozen=True, slots=True)
class Open:
    """What is not recorded of a part.

    Attributes:
        measured: of what the capture asks, what a caliper tells: sizes.
        asked: what is seen and told: kind, which way up, clock, what it lies on.
        later: of the rest.
    """

    measured: tuple[str, ...]
    asked: tuple[str, ...]
    later: tuple[str, ...]

    @property
    def all(self) -> tuple[str, ...]:
        """Everything that is not recorded."""
        return (*self.measured, *self.asked, *self.later)


@dataclass(frozen=True)
class Made:
    """A profile that was captured.

    Attributes:
        loaded: the profile with its file.
        photos: SHA-256 of each picture by its path beside the file, those that the profile does not name included.
        indices: which number of the job's codes each part has, in the order of the profile.
        open: what is not recorded, by the number of the part, 0 the unit; parts that lack nothing are left out.
    """

    loaded: LoadedProfile
    photos: Mapping[str, str]
    indices: tuple[int, ...]
    open: Mapping[int, Open]

    @property
    def shown(self) -> dict[str, str]:
        """The pictures that the profile names."""
        named = {part.photo for _, part in self.loaded.profile.walk()}
        return {path: name for path, name in self.photos.items() if path in named}


def made(unit: Unit) -> Made:
    """Return the profile of a unit that has one part at least.

    Raises:
        InputErrors: parts contradict each other: sizes, or what lies on what.
    """
    ids = _ids(unit)
    photos = {path: name for _, part in unit.walk() for path, name in _paths(part, ids)}
    data: dict[str, Any] = {"format": "1", "unit": _header(unit) | as_header(unit), "tools": tools(unit)}
    data["parts"] = [as_part(each, ids) for each in unit.seated().parts]
    profile, problems = validate(Tree(file_name(unit), data), Profile, bare_units(unit))
    if profile is None:
        raise InputErrors(problems)
    source = profile_yaml(profile, heading="\n".join(_heading(unit)), beside=_other_photos(unit, ids))
    numbers = [part.number for _, part in unit.walk()]
    points: dict[int, Open] = {0: Open((), (), tuple(gettext(point.words) for point in of_unit(profile.unit)))}
    for (_, part), (_, captured) in zip(profile.walk(), unit.walk(), strict=True):
        points[captured.number] = _open(part, captured)
    still = {number: each for number, each in points.items() if each.all}
    loaded = parse_profile(source, file_name(unit), None)
    return Made(loaded, photos, tuple(number - 1 for number in numbers), still)


def _open(part: Part, captured: Captured) -> Open:
    points = {point.field: gettext(point.words) for point in of_part(part)}
    measured: tuple[str, ...] = ()
    if captured.kind and (missing := (*_lacking(captured), *_uncounted(captured))):
        points.pop("form", None)
        measured = tuple(size_words(captured.kind, name) for name in missing)
    asked = [field for field in points if field == "form" or field.startswith("sits.")]
    later = [field for field in points if field not in asked]
    return Open(measured, tuple(points[field] for field in asked), tuple(points[field] for field in later))


def file_name(unit: Unit) -> str:
    """Return the name of the profile's file."""
    return f"{unit.mark.strip('-').lower() or 'unit'}.yaml"


def bare_units(unit: Unit) -> dict[str, str]:
    """Return the units of bare figures, by the fields of the header that would state them."""
    return {"lengths": unit.lengths, "masses": "kg", "torques": "N·m"}


def empty_source(unit: Unit) -> bytes:
    """Return the file of a unit that has no part yet: whoever reads it is told that one is wanted."""
    header = ", ".join(f"{key}: {scalar(value)}" for key, value in _header(unit).items())
    return f"# Nothing is captured yet.\nformat: 1\nunit: {{{header}}}\nparts: []\n".encode()


def _form_of(part: Captured) -> dict[str, dict[str, Any]] | None:
    """Return the form as a profile says it; None as long as a size is missing that it cannot be without."""
    if not part.kind or _lacking(part):
        return None
    return {part.kind: {name: _size(name, text) for name, text in part.sizes.items() if text}}


def _shows_its_end(part: Captured) -> bool:
    """Say whether the form tells which end is which: it is there, and with the sizes that are known its ends differ."""
    told = _form_of(part)
    tree = Tree("part", told[part.kind] if told else {})
    form, _ = validate(tree, FORMS[part.kind], {"lengths": "mm"}) if told else (None, ())
    return form is not None and sided(form)


def _size(name: str, text: str) -> Any:
    if name == "steps":
        return [[pointed(each) for each in re.split(r"\s*[x×*]\s*", pair)] for pair in step_pairs(text)]
    return pointed(text)


def step_pairs(text: str) -> list[str]:
    """Return the steps of a shaft: semicolons or line breaks between them, one blank at most in each.

    >>> step_pairs("40  x 20 ; 30 x 50")
    ['40 x 20', '30 x 50']
    """
    return [" ".join(piece.split()) for piece in re.split(r"[;\n]", text) if piece.strip()]


def _lacking(part: Captured) -> list[str]:
    """Return the sizes that the form cannot be without and that are not recorded."""
    fields = FORMS[part.kind].model_fields if part.kind else {}
    return [name for name, info in fields.items() if info.is_required() and not part.sizes.get(name)]


def _uncounted(part: Captured) -> list[str]:
    """Return the size without which the form is drawn plain, where it is not recorded."""
    count = FORMS[part.kind].counted
    return [count] if count and not part.sizes.get(count) else []


def _heading(unit: Unit) -> Iterator[str]:
    yield f"{unit.name}: captured at the bench, part by part, as it came apart."
    for step, part in unit.walk():
        if part.kind and _lacking(part):
            known = ", ".join(f"{name} {text}" for name, text in part.sizes.items() if text)
            has = f"{part.kind}, {known}" if known else part.kind
            yield f"Step {step}, {part.name}: {has}; not recorded: {', '.join(_lacking(part))}"


def _other_photos(unit: Unit, ids: Mapping[str, str]) -> dict[str, str]:
    """Return which further photos lie beside the one that each part names, by its id: a profile names one."""
    others = {ids[str(part.number)]: [path for path, _ in _paths(part, ids)][1:] for _, part in unit.walk()}
    return {name: f"more photos of it: {', '.join(paths)}" for name, paths in others.items() if paths}


def _header(unit: Unit) -> dict[str, str]:
    header = {"mark": unit.mark, "name": unit.name, "up": unit.up, "lengths": unit.lengths}
    return header | ({"clock_from": unit.clock_from} if unit.clock_from else {})


def as_part(part: Captured, ids: Mapping[str, str]) -> dict[str, Any]:
    """Return a part as a profile says it, without what is not recorded."""
    up = "free" if part.way == "free" else part.face
    opens = part.way if part.way in ("up", "down") else ""
    more = as_more(part, ids)
    out = {"with": ids.get(part.along, ""), "note": part.remark, **more.pop("out", {})}
    sits = {"up": up, "opens": opens, "on": ids.get(part.on, ""), "clock": part.clock}
    if opens and part.said and not _shows_its_end(part):
        sits["tell"] = part.said  # without its form nobody would know which end that is
    named = next(iter(_paths(part, ids)), None)
    told: dict[str, Any] = {
        **more,
        "id": ids[str(part.number)],
        "name": part.name,
        "qty": part.qty or "1",
        "form": _form_of(part),
        "mass": pointed(part.mass),
        "number": part.order,
        "out": {key: value for key, value in out.items() if value},
        "sits": {key: value for key, value in sits.items() if value},
        "photo": named[0] if named else "",
        "parts": [as_part(each, ids) for each in part.parts],
    }
    return {key: value for key, value in told.items() if value}


def _paths(part: Captured, ids: Mapping[str, str]) -> Iterator[tuple[str, str]]:
    for name in part.photos:
        yield f"photos/{ids[str(part.number)]}-{name[:8]}.jpg", name


def _ids(unit: Unit) -> dict[str, str]:
    """Return the id of every part by its number: its name, and which one of that name in the order of capture."""
    names = {part.number: ident(part.name, "part") for _, part in unit.walk()}
    again: Counter[str] = Counter()
    ids: dict[str, str] = {}
    taken: set[str] = set()
    for number, name in sorted(names.items()):
        each = name
        while each in taken:
            again[name] += 1
            each = f"{name}-{again[name] + 1}"
        taken.add(each)
        ids[str(number)] = each
    return ids


def header_faults(unit: Unit) -> dict[str, str]:
    """Return what is wrong with the header of a unit, by the field of the form."""
    _, problems = validate(Tree(file_name(unit), _header(unit) | as_header(unit)), Header, bare_units(unit))
    wanted = {
        "mark": gettext("2 to 8 letters and digits"),
        "name": gettext("what people call it"),
        "up": gettext("an end of the unit, in your words"),
        "unit-oil.kind": gettext("which one it is"),
    }
    nothing = gettext("nothing is typed; needed: {what}")
    faults: dict[str, str] = {}
    for problem in problems:
        name = problem.path if hasattr(unit, problem.path) else f"unit-{problem.path}"
        empty = name in wanted and not getattr(unit, name, unit.more.get(name))
        faults[name] = nothing.format(what=wanted[name]) if empty else problem_words(problem)
    return faults
