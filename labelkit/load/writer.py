"""Profiles and stock to YAML: in the format's order of fields, lengths as they were typed, open points as comments.

What is written reads back to an equal one, also by programs that guess types: whatever they would take for a
number, a time of day, a yes or a no stands in quotes. The text is our own, for PyYAML writes no comments.

Source: YAML 1.2.2 for plain and double-quoted scalars; the words for yes and no of YAML 1.1, which many programs read.
"""

from __future__ import annotations

import re
from collections.abc import Iterable, Iterator, Mapping
from decimal import Decimal
from typing import Any, Final

from labelkit import units
from labelkit.model import unrecorded
from labelkit.model.formbase import Form
from labelkit.model.media import Paper, Stock
from labelkit.model.part import Check, Part
from labelkit.model.profile import Fit, Profile
from labelkit.model.scalars import Model
from labelkit.units import Quantity

WIDTH: Final = 118
_INDENT: Final = "  "
# Fields of the profile that stand open, one entry a line.
_OPENED: Final = ("unit", "options", "tools", "series", "fits")
# Written though they are the default: a reader need not know it.
_ALWAYS: Final = {"format", "mark", "name", "revision", "lengths", "masses", "torques", "id"}
_PLAIN: Final = re.compile(r"[^\W\d_](?:[\w .+/()'°²³·×-]*[\w.+/()'°²³·×-])?", re.UNICODE)
_LONGEST_PLAIN: Final = 90  # longer ones are quoted, so that they can be folded
_NO_WORDS: Final = frozenset(["y", "n", "yes", "no", "on", "off", "true", "false", "null", "none", "nan", "inf"])
_WHOLE: Final = re.compile("0|-?[1-9][0-9]{0,8}", re.ASCII)

# A tree whose scalars are written already; a scalar in double quotes may be folded at its spaces.
_Node = str | list[Any] | dict[str, Any]


def profile_yaml(profile: Profile, *, heading: str = "", beside: Mapping[str, str] | None = None) -> bytes:
    """Return a profile as YAML that reads back to an equal one; the same profile gives the same bytes.

    Args:
        profile: the profile.
        heading: lines of comment above it.
        beside: a comment below the photo of a part, by its id.
    """
    lines = [f"# {line}".rstrip() for line in heading.splitlines()]
    header = profile.unit
    bare = {"length": header.lengths, "mass": header.masses, "torque": header.torques, "angle": "deg"}
    for key, value in _fields(profile):
        lines += [""] if lines else []
        if key == "format":
            lines.append(f"{key}: {value}")
        elif key == "parts":
            lines.append("parts:")
            for index, part in enumerate(profile.parts):
                lines += [""] * (index > 0)
                lines += _part(profile, part, bare, WIDTH, beside or {})
        else:
            lines += _entry(key, _node(value, bare), 0)
        if key == "unit" and (note := _comment(unrecorded.of_unit(header))):
            lines += [f"{_INDENT}{line}" for line in _wrapped(note, WIDTH - len(_INDENT))]
    return ("\n".join(lines) + "\n").encode()


def stock_yaml(stock: Stock) -> str:
    """Return a stock as a file that holds it alone and reads back to an equal one, with what is so unless stated."""
    its = type(stock)
    bare = {"length": "mm", "mass": "kg"}
    lines = ["format: 1", "stock:", f"{_INDENT}{scalar(stock.name)}:"]
    # What makes it this kind of stock first, then what all kinds share.
    for key in dict.fromkeys(("kind", *its.__annotations__, *its.model_fields)):
        value = getattr(stock, key)
        if value is not None:
            node = scalar(value.name) if isinstance(value, Paper) else _node(value, bare)
            lines += _entry(key, node, 2)
    return "\n".join(lines) + "\n"


def scalar(text: str) -> str:
    """Return a text as YAML that every reader takes for this text.

    >>> scalar("Ring, large"), scalar("12:00"), scalar("00123"), scalar("yes"), scalar("Seal 45 x 62")
    ('"Ring, large"', '"12:00"', '"00123"', '"yes"', 'Seal 45 x 62')
    """
    if len(text) <= _LONGEST_PLAIN and _PLAIN.fullmatch(text) and text.casefold() not in _NO_WORDS:
        return text
    return '"' + "".join(map(_quoted, text)) + '"'


def _quoted(letter: str) -> str:
    if letter in '"\\':
        return f"\\{letter}"
    if letter.isprintable():
        return letter
    number = ord(letter)
    return f"\\x{number:02x}" if number < 0x100 else f"\\u{number:04x}" if number < 0x10000 else f"\\U{number:08x}"


def _fields(model: Model) -> Iterator[tuple[str, Any]]:
    """Yield a model's fields by their names in the file, without what is not recorded or the default."""
    for name, info in type(model).model_fields.items():
        value = getattr(model, name)
        default = info.get_default(call_default_factory=True) if not info.is_required() else None
        if value is not None and (value != default or name in _ALWAYS):
            yield info.alias or name, value


def _node(value: Any, bare: Mapping[str, str]) -> _Node:
    """Return a value with its scalars written; `bare` are the units that need not be."""
    if isinstance(value, Fit):
        return _fit(value, bare)
    if isinstance(value, Model):
        known = {"length": bare["length"]} if isinstance(value, Check) else bare
        fields = {key: _node(item, known) for key, item in _fields(value)}
        return {value.kind: fields} if isinstance(value, Form) else fields
    if isinstance(value, Mapping):
        return {_figure(str(key)): _node(item, bare) for key, item in value.items()}
    if isinstance(value, tuple | list):
        return [_node(item, bare) for item in value]
    if isinstance(value, bool):
        return "true" if value else "false"
    if isinstance(value, Quantity):
        figure = f"{value.value:f}"
        return _figure(figure) if bare.get(value.kind) == value.unit else scalar(f"{figure} {value.unit}")
    if isinstance(value, int):
        return str(value)
    return _figure(f"{value:f}") if isinstance(value, Decimal) else scalar(str(value))


def _fit(fit: Fit, bare: Mapping[str, str]) -> _Node:
    """Return a fit; bare figures of what it sets are in its own unit, where it states one, and other ones lengths."""
    lengths: dict[str, str] = {"length": bare["length"]}
    own: dict[str, str] = {units.FACTORS[fit.unit][0]: fit.unit} if fit.unit else lengths
    figures = ("target", "aim", "spread")
    return {key: _node(value, own if key in figures else lengths) for key, value in _fields(fit)}


def _figure(text: str) -> str:
    """Return a figure: whole ones as they are, others in quotes, so that no reader drops a nought."""
    return text if _WHOLE.fullmatch(text) else scalar(text)


def _part(profile: Profile, part: Part, bare: Mapping[str, str], room: int, beside: Mapping[str, str]) -> Iterator[str]:
    """Yield a part's lines as an entry of a list, those inside it below it, none wider than `room`."""
    series = profile.series.get(part.series or "")
    note = _comment(unrecorded.of_part(part, numbered=bool(series and series.numbers)))
    inside = room - 2 * len(_INDENT)
    lead = f"{_INDENT}- "
    for key, value in _fields(part):
        lines: Iterable[str] = _entry(key, _node(value, bare), 0, inside) if key != "parts" else [f"{key}:"]
        for line in lines:
            yield lead + line
            lead = _INDENT * 2
        if key == "name" and note:
            yield from (lead + line for line in _wrapped(note, inside))
        if key == "photo" and part.id in beside:
            yield from (lead + line for line in _wrapped(beside[part.id], inside))
        if key == "parts":
            yield from (lead + line for each in value for line in _part(profile, each, bare, inside, beside))


def _comment(points: tuple[unrecorded.Unrecorded, ...]) -> str:
    return f"NOT RECORDED: {', '.join(point.words for point in points)}" if points else ""


def _wrapped(text: str, width: int) -> Iterator[str]:
    """Yield a comment's lines."""
    line = "#"
    for word in text.split():
        if len(line) + 1 + len(word) > width and line != "#":
            yield line
            line = "#  "
        line += f" {word}"
    yield line


def _entry(key: str, node: _Node, depth: int, room: int = WIDTH) -> Iterator[str]:
    """Yield the lines of one field: on one line where it has room, else opened below its name."""
    lead = _INDENT * depth
    flow = _flow(node)
    opened = depth == 0 and isinstance(node, dict) and key in _OPENED
    if isinstance(node, str):
        yield from _folded(f"{lead}{key}: ", node, lead + _INDENT, room)
    elif not opened and len(lead) + len(key) + 2 + len(flow) <= room:
        yield f"{lead}{key}: {flow}"
    elif isinstance(node, list) and all(isinstance(item, list) for item in node):
        yield from _filled(f"{lead}{key}: [", [_flow(item) for item in node], room)
    else:
        yield f"{lead}{key}:"
        yield from _opened(node, depth + 1, room)


def _opened(node: _Node, depth: int, room: int) -> Iterator[str]:
    """Yield the lines of a mapping or list that stands open."""
    lead = _INDENT * depth
    if isinstance(node, dict):
        for key, value in node.items():
            yield from _entry(key, value, depth, room)
        return
    for item in node:
        flow = _flow(item)
        if isinstance(item, dict) and len(lead) + 2 + len(flow) > room:
            first, *rest = _opened(item, 0, room - len(lead) - 2)
            yield f"{lead}- {first}"
            yield from (f"{lead}{_INDENT}{line}" for line in rest)
        else:
            yield from _folded(f"{lead}- ", flow, lead + _INDENT, room)


def _flow(node: _Node) -> str:
    """Return a tree on one line."""
    if isinstance(node, dict):
        return "{" + ", ".join(f"{key}: {_flow(value)}" for key, value in node.items()) + "}"
    return "[" + ", ".join(map(_flow, node)) + "]" if isinstance(node, list) else node


def _filled(lead: str, items: list[str], room: int) -> Iterator[str]:
    """Yield a list's lines, as many entries on each as there is room for."""
    line = lead
    for index, item in enumerate(items):
        piece = item + (", " if index < len(items) - 1 else "]")
        if len(line) + len(piece.rstrip()) > room and line.strip():
            yield line.rstrip()
            line = " " * len(lead)
        line += piece
    yield line


def _folded(lead: str, text: str, next_lead: str, room: int) -> Iterator[str]:
    """Yield a scalar's lines; a quoted one of single spaces is folded at them, which reads back the same."""
    line = lead + text
    while text.startswith('"') and "  " not in text and len(line) > room:
        cut = line.rfind(" ", len(lead) + 1, room)
        if cut < 0:
            break
        yield line[:cut]
        line, lead = next_lead + line[cut + 1 :], next_lead
    yield line
