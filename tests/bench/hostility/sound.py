"""Profiles that load: pieces of known ones, changed within what each field allows, and small ones written whole.

Every value is made of the model's own types, so a field that is added to a profile is tried without a line here. What
no single field can tell (a part that is never there, a ring of rules) is taken out again where the loader points.
"""

from __future__ import annotations

import copy
import math
import re
from collections.abc import Callable, Iterator
from dataclasses import dataclass, field
from functools import cache
from random import Random
from types import UnionType
from typing import Annotated, Any, Final, Literal, Union, get_args, get_origin, get_type_hints

import yaml
from pydantic import Discriminator, ValidationError

from labelkit import units
from labelkit.errors import InputErrors
from labelkit.load.profile import read_profile
from labelkit.model import scalars
from labelkit.model.form import FORMS
from labelkit.model.formbase import Form
from labelkit.model.part import Part
from labelkit.model.profile import Header, Profile, Series
from labelkit.model.scalars import Model, Scalar

_ROUNDS: Final = 8  # of loading a profile and taking out what is refused
_DEEPEST: Final = 3  # sub-assemblies within each other, written whole
_PIECES: Final = (
    "Gehäuse", "Schraube", "ring", "O-ring 165 x 3.55", "M8 x 30", "Ø 25 H7/p6", "½ in", "±0,02", "straße", "ŁÓDŹ",
    "Donaudampfschifffahrtsgesellschaftskapitänskajütenschlüssel", "W" * 40, "i" * 40, "x" * 400, "e\u0301" * 6, "ﬃ",
    "Ελλάδα", "Привет", "漢字かな", "العربية", "עברית", "ไทย", "🦊", "−40 °C", "a/b\\c", "{x}", "%(step)s", "100 %",
    "<b>&amp;</b>", '"quoted"', "it's", "- x", "a: b", "#1", "[1]", "*", "&a", "!!int 5", "null", "true", "set",
    "1e5", "0x10", "12:30", "2026-01-01", "=1+1", ";", ",", "|", "…", "·", "→", "“”", "\u00a0", "(", "1",
)  # fmt: skip


@dataclass
class _Names:
    """What the ids of a profile may speak of."""

    parts: list[str]
    tools: list[str] = field(default_factory=lambda: ["t1"])
    series: list[str] = field(default_factory=lambda: ["s1"])
    options: dict[str, list[str]] = field(default_factory=dict)

    @classmethod
    def of(cls, tree: dict[str, Any]) -> _Names:
        options = {name: list(option["choices"]) for name, option in _table(tree, "options").items()}
        parts = [part["id"] for part in parts_of(tree)]
        return cls(parts or ["p1"], [*_table(tree, "tools"), "t1"], [*_table(tree, "series"), "s1"], options)


def _table(tree: dict[str, Any], name: str) -> dict[str, Any]:
    found = tree.get(name)
    return found if isinstance(found, dict) else {}


def parts_of(tree: dict[str, Any]) -> Iterator[dict[str, Any]]:
    """Yield every part of a profile, parents first."""
    for part in tree.get("parts", ()):
        yield part
        yield from parts_of(part)


# --- values of one field ----------------------------------------------------------------------------------------------


def _words(longest: int) -> Callable[[Random], str]:
    def made(random: Random) -> str:
        whole = " ".join(random.choice(_PIECES) for _ in range(random.choice((1, 1, 2, 3, 12, 60))))
        return whole[: random.choice((longest, longest, 12, 1))].strip().strip("-/?") or "x"

    return made


def _figure(random: Random, kinds: tuple[str, ...], most: float = 20_000) -> str:
    """Return a figure above zero: mostly one of a bench, now and then the least or the greatest there is."""
    usual = random.choice(
        (
            f"{random.uniform(1, 300):.{random.choice((0, 0, 1, 2, 3))}f}",
            f"{random.uniform(0.1, 10):.{random.choice((1, 2, 3))}f}",
            random.choice(("1/2", "3/4", "1 1/8", "2-3/16", "10", "50.000", "007", "1e1", "+5", ".5", "5.")),
        )
    )
    rare = random.choice(("0.001", "0.0011", "1e-3", "0.1", f"{most:.0f}", f"{most / 3:.4f}", "1999.9999999"))
    value = usual if random.random() < 0.9 else rare
    return f"{value} {random.choice(kinds)}" if random.random() < 0.15 else value


def _of_kind(*kinds: units.Kind, most: float = 20_000) -> Callable[[Random], str]:
    names = tuple(unit for kind in kinds for unit in units.units_of(kind))
    return lambda random: _figure(random, names, most)


def _clock(random: Random) -> str:
    return "free" if random.random() < 0.3 else f"{random.randrange(1, 13)}:{random.choice((0, 0, 30, 1, 59)):02d}"


def _count(random: Random) -> str:
    return str(random.choice((1, 1, 1, 2, 2, 3, 4, 6, 8, 12, 13, 40, 100, 100, 250)))


def _scalar(alias: Any) -> Scalar:
    return next(each for each in alias.__metadata__ if isinstance(each, Scalar))


_MADE: Final[dict[int, Callable[[Random], str]]] = {
    id(_scalar(alias)): made
    for alias, made in {
        scalars.Length: _of_kind("length"),
        scalars.LengthOrZero: lambda random: "0" if random.random() < 0.2 else _figure(random, ("mm", "in")),
        scalars.SignedLength: lambda random: random.choice(("", "-", "0.")) + str(random.randrange(200)),
        scalars.Mass: _of_kind("mass", most=50_000),
        scalars.Torque: _of_kind("torque", most=100_000),
        scalars.Degrees: lambda random: str(random.choice((0, 30, 90, "22.5", 360, 1080, "5 deg"))),
        scalars.AnyQuantity: _of_kind("length", "length", "length", "torque", "force", "mass", "angle", "pressure"),
        scalars.LengthUnit: lambda random: random.choice(("mm", "in", '"', "inches")),
        scalars.MassUnit: lambda random: random.choice(("kg", "g", "lb", "lbs")),
        scalars.TorqueUnit: lambda random: random.choice(("N·m", "Nm", "lbf·ft", "lb-ft", "lbf·in")),
        scalars.Count: _count,
        scalars.CountOrSet: lambda random: "set" if random.random() < 0.2 else _count(random),
        scalars.Aim: lambda random: random.choice(("middle", "low", "high", "0.05", "1")),
        scalars.Litres: lambda random: random.choice(("0.001", "3.1", "100000")),
        scalars.Coils: lambda random: random.choice(("0.01", "1", "7.5", "40", "1000")),
        scalars.Share: lambda random: random.choice(("0.01", "0.3", "0.5", "1", "1.0")),
        scalars.UnitName: lambda random: random.choice(("mm", "N·m", "lb-ft", "kN")),
        scalars.YesNo: lambda random: random.choice(("true", "false")),
        scalars.ClockOrFree: _clock,
        scalars.Words: _words(400),
        scalars.Name: _words(80),
        scalars.Short: _words(24),
        scalars.PartNumber: _words(40),
        scalars.Mark: lambda random: random.choice(("P7", "KR2", "--", "W" * 8, "00")),
        scalars.PhotoPath: lambda random: "photos/" + random.choice(("cover.png", "a b.jpg", "ü.webp", "x" * 200)),
    }.items()
}


class _Maker:
    """Makes values of the types of the models.

    Attributes:
        random: decides.
        names: what ids may speak of.
        fullness: how likely a field is that may be left out.
    """

    def __init__(self, random: Random, names: _Names, fullness: float) -> None:
        self.random, self.names, self.fullness = random, names, fullness

    def value(self, hint: Any, key: str = "", depth: int = 0) -> Any:
        """Return a value of a type, as the file has it: texts, lists and mappings."""
        random = self.random
        origin, inner = get_origin(hint), get_args(hint)
        if key == "used":
            return random.choice(("1", "2", "3", "7"))  # copies of copies are many soon
        if origin in (Union, UnionType):
            return self.value(random.choice([each for each in inner if each is not type(None)]), key, depth)
        if origin is Annotated:
            return self._annotated(hint, key, depth)
        if origin is Literal:
            return str(random.choice(inner))
        if origin is dict and key == "only":
            return {name: random.choice(self.names.options[name]) for name in self._few(list(self.names.options))}
        if origin is dict:
            count = random.choice((1, 2, 3))
            return {self.value(inner[0], "id"): self.value(inner[1], key, depth) for _ in range(count)}
        if origin is tuple:
            many = inner[-1] is Ellipsis
            each = [inner[0]] * random.choice((1, 1, 2, 3, 7)) if many else list(inner)
            return [self.value(one, key, depth) for one in each]
        assert isinstance(hint, type), hint
        return self._model(hint, depth) if issubclass(hint, Model) else "1"

    def _few(self, known: list[str]) -> list[str]:
        return self.random.sample(known, min(len(known), self.random.choice((1, 1, 2))))

    def _annotated(self, hint: Any, key: str, depth: int) -> Any:
        kind, *metadata = get_args(hint)
        scalar = next((each for each in metadata if isinstance(each, Scalar)), None)
        if any(isinstance(each, Discriminator) for each in metadata):
            name = self.random.choice(tuple(FORMS))
            return {name: self.form(FORMS[name])}
        if scalar is None:
            return self.value(kind, key, depth)
        if id(scalar) == id(_scalar(scalars.Ident)):
            return self._id(key)
        return _MADE[id(scalar)](self.random)

    def _id(self, key: str) -> str:
        random = self.random
        if key == "id":
            taken = f"n{random.randrange(10_000)}"
            return taken + "-x" * 20 if random.random() < 0.05 else taken
        known = {"tool": self.names.tools, "series": self.names.series}.get(key, self.names.parts)
        if key == "default":
            known = [choice for choices in self.names.options.values() for choice in choices]
        return random.choice(known) if known else "x"

    def _model(self, model: type[Model], depth: int) -> dict[str, Any]:
        """Return a model's fields; what does not go together is tried otherwise a few times."""
        made: dict[str, Any] = {}
        for _ in range(6):
            made = self._fields(model, depth)
            if _goes(model, made):
                break
        return made

    def _fields(self, model: type[Model], depth: int) -> dict[str, Any]:
        made: dict[str, Any] = {}
        for key, (hint, needed) in _hints(model).items():
            if key == "parts" and depth >= _DEEPEST:
                continue
            if needed or self.random.random() < (0.08 if key in ("parts", "used") else self.fullness):
                made[key] = self.value(hint, key, depth + (key == "parts"))
        if model is Series:
            first = self.random.randrange(1, 9)
            made = {"from": f"{first}.00", "to": f"{first}.50", "step": "0.05"} if self.random.random() < 0.5 else made
        return made

    def form(self, model: type[Form]) -> dict[str, Any]:
        """Return the sizes of a form: what must be smaller is, mostly."""
        made: dict[str, Any] = {}
        for _ in range(12):
            made = self._fields(model, 0)
            lengths = sorted((key for key in made if key in _RANKS), key=_RANKS.index)
            sizes = sorted((_figure(self.random, ("mm",)) for _ in lengths), key=_rough)
            made |= dict(zip(lengths, sizes, strict=True))
            if "points" in made and self.random.random() < 0.7:  # any points meet each other, mostly
                made |= self._star("holes" in made)
            if _goes(model, made):
                break
        return made

    def _star(self, holed: bool) -> dict[str, Any]:
        """Return a star about any place, seen whole from its middle, with or without a hole there."""
        random = self.random
        x, y, count = random.uniform(-50, 50), random.uniform(-50, 50), random.choice((3, 4, 7, 40))
        turns = [math.tau * k / count for k in range(count)]
        corners = [(random.uniform(40, 200), turn) for turn in turns]
        points = [[f"{x + r * math.cos(turn):.2f}", f"{y + r * math.sin(turn):.3f}"] for r, turn in corners]
        return {"points": points} | ({"holes": [[f"{x:.2f}", f"{y:.2f}", "12"]]} if holed else {})


# Sizes of forms, the smaller ones before those that they must be smaller than.
_RANKS: Final = ("wire", "wall", "t", "module", "flange_t", "floor", "h", "id", "bore", "planet_od", "od", "flange_od")


def _rough(text: str) -> float:
    return float(units.parse(text, "length", "mm").mm)


def _goes(model: type[Model], made: dict[str, Any]) -> bool:
    try:
        model.model_validate(made, context={})
    except ValidationError:
        return False
    return True


@cache
def _hints(model: type[Model]) -> dict[str, tuple[Any, bool]]:
    """Return the type of each field by its name in the file, and whether it must be there."""
    hints = get_type_hints(model, include_extras=True)
    return {each.alias or name: (hints[name], each.is_required()) for name, each in model.model_fields.items()}


# --- whole profiles ---------------------------------------------------------------------------------------------------


def written_whole(random: Random) -> dict[str, Any]:
    """Return a small profile of which every field is made up."""
    options = {
        f"o{number}": [f"c{k}" for k in range(random.choice((1, 2, 3)))] for number in range(random.randrange(3))
    }
    names = _Names([f"p{number}" for number in range(random.choice((1, 2, 4, 7, 12)))], options=options)
    maker = _Maker(random, names, random.choice((0.1, 0.35, 0.35, 0.7)))
    tree: dict[str, Any] = {"format": "1", "unit": maker.value(Header)}
    tree["options"] = {
        name: {"name": maker.value(scalars.Name), "choices": {choice: maker.value(scalars.Name) for choice in choices}}
        | ({"default": random.choice(choices)} if random.random() < 0.5 else {})
        for name, choices in options.items()
    }
    tree["tools"] = {name: maker.value(scalars.Words) for name in names.tools}
    tree["series"] = {name: maker.value(Series) for name in names.series}
    tree["parts"] = [maker.value(Part) | {"id": name} for name in names.parts]
    for key in ("hazards", "fits", "assembly"):
        if random.random() < 0.5:
            tree[key] = maker.value(_hints(Profile)[key][0], key)
    return mended(tree)


def changed(random: Random, tree: dict[str, Any], times: int) -> dict[str, Any]:
    """Return a profile with some of its fields changed as somebody might, however odd.

    Args:
        random: decides.
        tree: a profile that loads; stays as it is.
        times: how many changes.
    """
    tree = copy.deepcopy(tree)
    if len(tree["parts"]) > 8 and random.random() < 0.9:
        tree["parts"] = sorted(random.sample(tree["parts"], random.choice((1, 2, 4, 8))), key=tree["parts"].index)
        tree = mended(tree)
    for _ in range(times):
        _change(random, tree, _Maker(random, _Names.of(tree), 0.3))
    return mended(tree)


def _change(random: Random, tree: dict[str, Any], maker: _Maker) -> None:
    models, values, lists = [], [], []
    for holder, key, hint, owner in _places(tree, Profile):
        values.append((holder, key, hint, owner))
        if isinstance(holder[key], list) and len(holder[key]) > 1:
            lists.append(holder[key])
        if owner is not None:
            models.append((holder, owner))
    way = random.randrange(10)
    holder, key, hint, owner = random.choice(values)
    if way < 4:
        holder[key] = maker.value(hint, str(key))
    elif way < 7:
        there, model = random.choice(models)
        absent = [name for name in _hints(model) if name not in there]
        for name in random.sample(absent, min(len(absent), random.choice((1, 2)))):
            there[name] = maker.value(_hints(model)[name][0], name)
    elif way == 7:
        if owner is None or not _hints(owner)[str(key)][1]:
            del holder[key]
    elif way == 8:
        if lists:
            _reorder(random, random.choice(lists))
    else:
        _regroup(random, tree)


def _reorder(random: Random, items: list[Any]) -> None:
    one, other = random.sample(range(len(items)), 2)
    if random.random() < 0.7:
        items[one], items[other] = items[other], items[one]
    else:
        random.shuffle(items)


def _regroup(random: Random, tree: dict[str, Any]) -> None:
    """Double a part under other ids, put one inside another, or make a unit of copies."""
    known = list(parts_of(tree))
    if not known:
        return
    part, other = random.choice(known), random.choice(known)
    way = random.randrange(3)
    if way == 0:
        twin = copy.deepcopy(part)
        for number, each in enumerate((twin, *parts_of(twin))):
            each["id"] = f"{each['id'][:30]}-{number}-{random.randrange(1000)}"
        tree["parts"].insert(random.randrange(len(tree["parts"]) + 1), twin)
    elif way == 1 and part in tree["parts"] and all(each is not other for each in (part, *parts_of(part))):
        tree["parts"].remove(part)
        other.setdefault("parts", []).append(part)
    else:
        part["used"] = random.choice(("2", "3", "7"))


def _places(node: Any, hint: Any, owner: Any = None) -> Iterator[tuple[Any, Any, Any, type[Model] | None]]:
    """Yield (holder, key, type, model of the holder) of every value in a tree."""
    origin, inner = get_origin(hint), get_args(hint)
    if origin is Annotated and any(isinstance(each, Discriminator) for each in inner):
        for name in node if isinstance(node, dict) else ():
            if name in FORMS:
                yield from _places(node[name], FORMS[name])
        return
    if origin is Annotated:
        hint = inner[0]
        origin, inner = get_origin(hint), get_args(hint)
    if origin in (Union, UnionType):
        kinds = [each for each in inner if each is not type(None)]
        wanted = dict if isinstance(node, dict) else list if isinstance(node, list) else str
        kinds = [each for each in kinds if _shape(each) is wanted]
        if kinds:
            yield from _places(node, kinds[0], owner)
    elif origin is dict and isinstance(node, dict):
        for key in node:
            yield node, key, inner[1], None
            yield from _places(node[key], inner[1])
    elif origin is tuple and isinstance(node, list):
        kinds = [inner[0]] * len(node) if inner[-1] is Ellipsis else list(inner)
        for index, kind in enumerate(kinds[: len(node)]):
            if inner[-1] is Ellipsis:
                yield node, index, kind, None
            yield from _places(node[index], kind)
    elif isinstance(hint, type) and issubclass(hint, Model) and isinstance(node, dict):
        for key in node:
            if key in _hints(hint):
                yield node, key, _hints(hint)[key][0], hint
                yield from _places(node[key], _hints(hint)[key][0])


def _shape(hint: Any) -> type:
    origin, inner = get_origin(hint), get_args(hint)
    if origin is Annotated:
        return dict if any(isinstance(each, Discriminator) for each in inner) else _shape(inner[0])
    if origin is dict or (isinstance(hint, type) and issubclass(hint, Model)):
        return dict
    return list if origin is tuple else str


# --- what the loader refuses ------------------------------------------------------------------------------------------


def written(tree: Any) -> bytes:
    """Return a tree as YAML; what no text can hold is left out."""

    def plain(value: Any) -> Any:
        if isinstance(value, dict):
            return {plain(key): plain(item) for key, item in value.items()}
        if isinstance(value, list):
            return [plain(item) for item in value]
        return value.encode("utf-8", "ignore").decode() if isinstance(value, str) else value

    whole = yaml.dump(plain(tree), Dumper=yaml.CSafeDumper, sort_keys=False, allow_unicode=True, width=10_000)
    return whole.encode()


def mended(tree: dict[str, Any]) -> dict[str, Any]:
    """Return a tree without what the loader refuses, as far as it points there; the tree is changed.

    A loader that breaks is no matter here: whoever tries the tree meets it again.
    """
    for _ in range(_ROUNDS):
        try:
            _, problems = read_profile(written(tree), "unit.yaml", None)
        except InputErrors as error:
            problems = list(error.problems)
        except Exception:
            break
        if not problems:
            break
        # Later entries of a list first, so that earlier ones keep their places.
        for keys in sorted({_keys(problem.path) for problem in problems}, key=_order, reverse=True):
            _take_out(tree, keys)
    return tree


def _keys(path: str) -> tuple[str | int, ...]:
    """Return the steps of a path as a fault names it: `parts[3].sits.clock`."""
    return tuple(int(key) if bracket else key for bracket, key in re.findall(r"(\[)?([^.\[\]]+)", path))


def _order(keys: tuple[str | int, ...]) -> list[tuple[int, str]]:
    return [(key, "") if isinstance(key, int) else (-1, key) for key in keys]


def _take_out(tree: Any, keys: tuple[str | int, ...]) -> None:
    """Take a field out; where it is lacking, what lacks it."""
    way = [tree]
    for key in keys[:-1]:
        try:
            way.append(way[-1][key])
        except (KeyError, IndexError, TypeError):
            break
    for holder, key in reversed(list(zip(way, keys, strict=False))):
        try:
            del holder[key]
        except (KeyError, IndexError, TypeError):
            continue
        return
