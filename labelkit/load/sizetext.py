"""Sizes as people write them on one line: `72 x 50 x 2.6`, `M8 x 30`, `od=72; id=50`, for the kind of form they are of.

Source: metric threads as ISO 261 writes them, M d x pitch, from memory; ring and seal sizes in common order, no source.
"""

from __future__ import annotations

import re
from collections.abc import Mapping
from dataclasses import dataclass, field
from decimal import Decimal
from typing import Any, Final, get_args

from labelkit import units
from labelkit.errors import allowed_text
from labelkit.model.form import FORMS
from labelkit.model.formbase import Form
from labelkit.model.formwords import folded, sizes_of
from labelkit.model.hardwareform import Threaded
from labelkit.units import Quantity, UnitError

_WORD_SIZES: Final[Mapping[str, Mapping[str, str]]] = {
    "fits": {"shaft": "shaft welle eje arbol", "bore": "bore bohrung agujero alojamiento"},
    "head": {
        "hex": "hex hexagon sechskant hexagonal",
        "socket": "socket innensechskant allen",
        "countersunk": "countersunk senkkopf avellanado",
        "flange": "flange bundkopf flanschkopf",
    },
    "lip": {"inner": "inner innen interior", "outer": "outer aussen exterior"},
}
_NUMBERED: Final = {
    "teeth": "teeth z zaehne dientes",
    "lugs": "lugs tabs nasen lappen orejetas",
    "coils": "coils windungen espiras",
    "waves": "waves wellen ondas",
    "planets": "planets planeten satelites",
    "ears": "ears ohren",
    "module": "m modul modulo",
    "od": "da aussen",
    "id": "di innen",
}
_LISTS: Final = ("steps", "splines", "points", "holes")
_EXAMPLES: Final = {"steps": "45x76+50x86", "points": "0x0+40x0+40x30"}
_FIGURE = r"[+-]?(?:\d+[ -]\d+/\d+|\d+/\d+|\d*\.?\d+)"
_PIECE: Final = re.compile(rf"\s*([MØø⌀]?)\s*({_FIGURE})\s*([a-zµ\"″]{{0,6}})\s*", re.ASCII | re.IGNORECASE)
_COUNTED: Final = re.compile(r"(?:^|[\s,;])(\d+)\s*([^\W\d_]+)\s*(?=$|[,;])")


@dataclass(slots=True)
class Sizes:
    """What a text says of a form's sizes.

    Attributes:
        found: the sizes, as the profile's file has them.
        doubts: what was read in a way that somebody should look at.
    """

    found: dict[str, Any] = field(default_factory=dict)
    doubts: list[str] = field(default_factory=list)


def read_sizes(text: str, kind: str) -> Sizes:
    """Read the sizes of a form from one line.

    Args:
        text: figures with a decimal point, the unit behind each, behind the last for all, or none.
        kind: name of the form.

    Raises:
        UnitError: it cannot be read so; the text of the error is for people.

    >>> read_sizes("72 x 50 x 2.60", "ring").found
    {'od': '72', 'id': '50', 't': '2.60'}
    >>> read_sizes("M8 x 1.25 x 30 socket", "bolt").found
    {'head': 'socket', 'd': '8', 'l': '30'}
    """
    if re.search(r"[=:]", text):
        return _named(text, kind)
    sizes = Sizes()
    rest = _words(text, kind, sizes)
    if kind == "shaft":
        sizes.found["steps"] = _pieces(rest, kind)
    else:
        _in_order(rest, kind, sizes)
    return sizes


def _named(text: str, kind: str) -> Sizes:
    """Read `od=72; id=50; steps=40x20+35x60`."""
    sizes = Sizes()
    allowed = FORMS[kind].model_fields
    for piece in filter(None, map(str.strip, re.split(r"[;,](?!\d)", text))):
        name, _, value = piece.replace(":", "=", 1).partition("=")
        own, value = _size_name(name), value.strip()
        if own not in allowed or not value:
            hint = f"{allowed_text(name, allowed)}, as in {next(iter(allowed))}=5"
            raise UnitError(f'"{piece[:40]}" is no size of a {kind}; {hint}')
        if own in sizes.found:
            raise UnitError(f"{own} stands twice")
        words = _spellings(own)
        if own in _LISTS:
            sizes.found[own] = value.split("+") if own == "splines" else _pieces(value, kind)
        else:
            sizes.found[own] = words.get(folded(value), value)
    return sizes


def _size_name(name: str) -> str:
    plain = folded(name).replace(" ", "_")
    return next((own for own, words in _NUMBERED.items() if plain in words.split()), plain)


def _spellings(size: str) -> dict[str, str]:
    return {spelling: word for word, words in _WORD_SIZES.get(size, {}).items() for spelling in words.split()}


def _pieces(text: str, kind: str) -> list[Any]:
    """Read `40x20 + 35x60` into lists of figures."""
    return [[value for _, value in _figures(group, kind)] for group in re.split(r"(?<=[\d\s\"a-z])\+", text)]


def _words(text: str, kind: str, sizes: Sizes) -> str:
    """Take the words and counted things out of a text; return what is left."""
    fields = FORMS[kind].model_fields
    for match in list(_COUNTED.finditer(text)):
        name = _size_name(match[2])
        if name in fields and len(match[2]) > 1:
            sizes.found[name] = match[1]
            text = text.replace(match[0], " ", 1)
    for size in _WORD_SIZES:
        for word, meant in _spellings(size).items() if size in fields else ():
            pattern = re.compile(rf"\b{word}\b", re.IGNORECASE)
            if pattern.search(text):
                sizes.found[size] = meant
                text = pattern.sub(" ", text)
    return text.strip(" ,;")


def _figures(text: str, kind: str) -> list[tuple[str, str]]:
    """Return the figures of `72 x 50 x 2.6 mm`, each with the sign in front of it (M, Ø or none)."""
    found = []
    for piece in re.split(r"\s*[x×*]\s*", text, flags=re.IGNORECASE):
        match = _PIECE.fullmatch(piece)
        if match is None:
            example = written(kind, "steps") if kind == "shaft" else " x ".join(_plain_sizes(kind))
            raise UnitError(f'"{piece[:40]}" is no figure; write the sizes of a {kind} as {example}')
        found.append((match[1].upper(), match[2], match[3]))
    last = found[-1][2]
    shared = last if last and not any(unit for _, _, unit in found[:-1]) else ""
    for _, _, unit in found:
        if unit:
            units.unit(unit, "length")
    return [(sign, f"{value} {unit or shared}".strip()) for sign, value, unit in found]


def told_by_figures(kind: str) -> bool:
    """Say whether a row of figures can be all the sizes of a form; those of an outline are places.

    >>> told_by_figures("ring"), told_by_figures("shaft"), told_by_figures("outline")
    (True, True, False)
    """
    required = (name for name, info in FORMS[kind].model_fields.items() if info.is_required())
    return kind == "shaft" or set(required) <= set(sizes_of(kind))


def _plain_sizes(kind: str) -> list[str]:
    return [size for size in sizes_of(kind) if size not in _WORD_SIZES]


def _in_order(text: str, kind: str, sizes: Sizes) -> None:
    wanted = [size for size in _plain_sizes(kind) if size not in sizes.found]
    if not text:
        return
    figures = _figures(text, kind)
    if issubclass(FORMS[kind], Threaded) and figures[0][0] == "M" and len(figures) > 1:
        thread, pitch = (units.parse(value, "length", "mm").mm for _, value in figures[:2])
        # No bolt is shorter than half its thread, and no pitch that coarse.
        if len(figures) > len(wanted) or pitch * 2 < thread:
            sizes.doubts.append(f"{figures[1][1]} is read as the pitch, which a {kind} has no field for")
            del figures[1]
    if len(figures) > len(wanted):
        raise UnitError(f'"{text[:40]}" has {len(figures)} figures; the form {kind} has {" x ".join(wanted)}')
    sizes.found.update(zip(wanted, (value for _, value in figures), strict=False))
    _turned(sizes, kind)


def _turned(sizes: Sizes, kind: str) -> None:
    """Put an inside diameter that is the larger one where it belongs, and say so."""
    outside, inside = sizes.found.get("od"), sizes.found.get("id")
    if outside and inside and units.parse(inside, "length", "mm").mm > units.parse(outside, "length", "mm").mm:
        sizes.found |= {"od": inside, "id": outside}
        sizes.doubts.append(f"a {kind} is written od x id or id x od: read as inside {outside}, outside {inside}")


def written(kind: str, size: str) -> str:
    """Return how a size of a form is named in a text: a list as an example, a word with all that it may be.

    >>> written("shaft", "steps"), written("snap_ring", "fits"), written("snap_ring", "d")
    ('steps=45x76+50x86', 'fits=shaft or fits=bore', 'd')
    """
    if size in _EXAMPLES:
        return f"{size}={_EXAMPLES[size]}"
    kinds = get_args(FORMS[kind].model_fields[size].annotation)
    return " or ".join(f"{size}={each}" for each in kinds) or size


def sizes_text(form: Form, unit: str) -> str:
    """Return a form's sizes on one line, so that `read_sizes` reads them back.

    Args:
        form: the form.
        unit: of bare lengths.
    """
    values = {name: getattr(form, name) for name, info in type(form).model_fields.items()}
    said = {name: value for name, value in values.items() if value is not None and value != ()}
    plain = _plain_sizes(form.kind)[: len(said)]
    bare = all(isinstance(value, Quantity) and value.unit == unit for value in said.values())
    if list(said) == plain and bare and len(said) <= 3 and form.kind not in ("plug", "nut"):
        return " x ".join(f"{value.value:f}" for value in said.values())
    return "; ".join(f"{name}={_value(value, unit)}" for name, value in said.items() if value != _default(form, name))


def _default(form: Form, name: str) -> Any:
    info = type(form).model_fields[name]
    return None if info.is_required() else info.default


def _value(value: Any, unit: str) -> str:
    if isinstance(value, tuple):
        between = "x" if value and not isinstance(value[0], tuple | int) else "+"
        # A unit behind the last alone would be that of all.
        mixed = any(isinstance(item, Quantity) and item.unit != unit for item in value)
        return between.join(_value(item, "" if mixed else unit) for item in value)
    if isinstance(value, Quantity):
        return f"{value.value:f}" if value.unit == unit else f"{value.value:f} {value.unit}"
    return f"{value:f}" if isinstance(value, Decimal) else str(value)
