"""Parts of a profile as a table for a spreadsheet, one line each, and the template of such a table.

A table holds what one cell can say of a part. Inspection points, hazards and look-alikes are lists of several things
each and stay in the profile; `labelkit.load.importing` puts a table back onto it.
"""

from __future__ import annotations

import re
from collections.abc import Iterator
from decimal import Decimal
from typing import Any, Final

from labelkit.load.partcolumns import COLUMNS, Column
from labelkit.load.sizetext import sizes_text
from labelkit.load.table import Cell, csv_bytes
from labelkit.model.catalogue import DecimalSign
from labelkit.model.part import Part, RenewWith
from labelkit.model.profile import Header, Profile
from labelkit.units import Quantity

# Columns of the template; those of single sizes are another way of saying `sizes`.
_TEMPLATE: Final = tuple(column for column in COLUMNS.values() if column.kind != "size")
_ALWAYS: Final = ("part", "name", "in", "qty", "form", "sizes")
# Invented, as every demo unit is.
_EXAMPLES: Final = (
    {"part": "cover-bolts", "name": "Cover bolt M8 x 30", "qty": 6, "form": "bolt", "sizes": "8 x 30", "up": "head"},
    {"part": "cover", "name": "Cover", "qty": 1, "form": "hub", "sizes": "od=120; h=18; bore=40", "clock": "6:00"},
    {"part": "cover-seal", "name": "Shaft seal 40 x 62 x 8", "in": "cover", "qty": 1, "form": "lip_seal"}
    | {"sizes": "40 x 62 x 8", "renew": "always", "opens": "down", "clock": "free"},
)


def template_csv(*, delimiter: str = ",", decimal: DecimalSign = ".") -> bytes:
    """Return a table with every column and three lines to write over."""
    rows: list[list[Cell]] = [[column.name for column in _TEMPLATE]]
    rows += [[line.get(column.name) for column in _TEMPLATE] for line in _EXAMPLES]  # type: ignore[misc]
    return csv_bytes(rows, delimiter=delimiter, decimal=decimal)


def parts_csv(profile: Profile, *, delimiter: str = ",", decimal: DecimalSign = ".") -> bytes:
    """Return the parts of a profile as a table with the columns that something stands in."""
    lines = [_line(profile.unit, part, inside, decimal) for part, inside in _parts(profile.parts, None)]
    columns = [column for column in _TEMPLATE if column.name in _ALWAYS or any(line[column.name] for line in lines)]
    rows: list[list[Cell]] = [[column.name for column in columns]]
    rows += [[line[column.name] for column in columns] for line in lines]
    return csv_bytes(rows, delimiter=delimiter, decimal=decimal)


def _parts(parts: tuple[Part, ...], inside: str | None) -> Iterator[tuple[Part, str | None]]:
    for part in parts:
        yield part, inside
        yield from _parts(part.parts, part.id)


def _line(header: Header, part: Part, inside: str | None, decimal: DecimalSign) -> dict[str, Cell]:
    found: dict[str, Cell] = {column.name: _cell(header, column, _value(part, column), decimal) for column in _TEMPLATE}
    found["in"] = inside
    found["form"] = part.form.kind if part.form else None
    found["sizes"] = _signed(sizes_text(part.form, header.lengths), decimal) if part.form else None
    return found


def _value(part: Part, column: Column) -> Any:
    """Return what a part says in a column; None where it says the default."""
    node: Any = part
    for key in column.path:
        fields = {info.alias or name: (name, info) for name, info in type(node).model_fields.items()} if node else {}
        if key not in fields:
            return None
        name, info = fields[key]
        node = getattr(node, name)
        if not info.is_required() and node == info.default and column.name != "qty":
            return None
    return node


def _cell(header: Header, column: Column, value: Any, decimal: DecimalSign) -> Cell:
    if isinstance(value, bool):
        return "yes" if value else "no"
    if isinstance(value, Quantity):
        unit = getattr(header, column.unit) if column.unit else "deg"
        return value.value if value.unit == unit else _signed(f"{value.value:f} {value.unit}", decimal)
    if isinstance(value, dict):
        return "; ".join(
            f"{group}={wanted if isinstance(wanted, str) else '|'.join(wanted)}" for group, wanted in value.items()
        )
    if isinstance(value, tuple):
        if column.kind == "list":
            return _signed(" ".join(map(_plain, value)), decimal)
        return (" " if column.kind == "word" else ", ").join(map(str, value))
    if isinstance(value, RenewWith):
        return f"with {value.part}"
    return value if isinstance(value, int) or value is None else str(value)


def _plain(value: Any) -> str:
    return f"{value:f}" if isinstance(value, Decimal) else str(value)


def _signed(text: str, decimal: DecimalSign) -> str:
    return text if decimal == "." else re.sub(r"(?<=\d)\.(?=\d)", decimal, text)
