"""Parts from a table, one line each: as spreadsheets write them, under the headings that people use.

A line becomes a part of the profile's own tree, whose values keep the place of their cell. The profile's own checks
then tell every fault by line and column. What was read in a way that somebody should look at is a doubt, never silent.
"""

from __future__ import annotations

import re
from collections.abc import Callable, Container, Iterator, Mapping
from copy import deepcopy
from dataclasses import dataclass, field, replace
from functools import partial
from typing import Any, Final

from labelkit.errors import Problem, allowed_text, printable
from labelkit.load.partcells import CellError, Cells, read_cell
from labelkit.load.partcolumns import COLUMNS, NOTHING, Column
from labelkit.load.partforms import form_of
from labelkit.load.partheadings import Headings
from labelkit.load.profile import LoadedProfile, judged
from labelkit.load.table import Row, Table, checked_sign
from labelkit.load.textfile import Place
from labelkit.load.yamltree import FieldPath, Tree, parse
from labelkit.model.catalogue import DecimalSign
from labelkit.model.facewords import points
from labelkit.model.formwords import folded
from labelkit.model.profile import Profile
from labelkit.model.scalars import IDENT

_DEEPEST: Final = 8
_LONGEST_ID: Final = 40
_OF_FORM: Final = ("size", "sizes", "form")  # kinds of columns that make the form together


@dataclass(slots=True)
class Line:
    """One line of the table, as it is understood.

    Attributes:
        row: the record.
        data: the part, as a profile's file has it.
        cells: of each of its fields, by path, the number of the cell it comes from.
        within: the sub-assembly that it is in; None: none.
        inside: the lines of the parts inside it.
    """

    row: Row
    data: dict[str, Any] = field(default_factory=dict)
    cells: dict[tuple[str, ...], int] = field(default_factory=dict)
    within: str | None = None
    inside: list[Line] = field(default_factory=list)


@dataclass(frozen=True, slots=True)
class ImportedTable:
    """A table of parts as it is understood.

    Attributes:
        lines: every line, in the order of the table.
        columns: names of the columns that were read, as the table calls them, by the template's names.
        ignored: names of the columns that were not.
        doubts: what somebody should look at, by line and column.
        faults: what stops it from being a profile.
        profile: None when there are faults.
    """

    lines: tuple[Line, ...]
    columns: Mapping[str, str]
    ignored: tuple[str, ...]
    doubts: tuple[Problem, ...]
    faults: tuple[Problem, ...]
    profile: Profile | None


def import_parts(
    data: bytes,
    file: str,
    header: Mapping[str, str],
    *,
    decimal: DecimalSign | None = None,
    mapping: Mapping[str, str] | None = None,
    onto: LoadedProfile | None = None,
) -> ImportedTable:
    """Read a table of parts into a profile.

    Args:
        data: CSV in UTF-8, with or without byte-order mark; cells apart by comma, semicolon or tab; names of the
            columns in the first line.
        file: its name for messages.
        header: fields of the profile's header: mark, name, up and others.
        decimal: the decimal sign of its figures; None: as the file shows without doubt.
        mapping: headings of this table, by the name of the column they are; an empty name leaves the column out.
        onto: the profile that has what the table does not: header, options, tools, series, fits, rules, and of parts
            of the same id the fields that the table has no column for.

    Raises:
        InputError: no CSV, or without a column of names. Other faults are in what is returned.
        UsageError: no such decimal sign.
    """
    checked_sign(decimal)
    headings = Headings({folded(heading): column for heading, column in (mapping or {}).items()})
    table = Table.of(data, file, headings.names)
    return _Importer(table, headings, decimal, header, onto).read()


@dataclass(slots=True)
class _Importer:
    table: Table
    headings: Headings
    decimal: DecimalSign | None
    header: Mapping[str, str]
    onto: LoadedProfile | None
    doubts: list[tuple[Row, int, str]] = field(default_factory=list)
    tree: Tree = field(default_factory=lambda: Tree(""))
    base: dict[str, dict[str, Any]] = field(default_factory=dict)
    titles: dict[Place, str] = field(default_factory=dict)

    def read(self) -> ImportedTable:
        """Return the table as it is understood."""
        header, rows = self.table.records()
        self.headings.read(self.table, header)
        self.doubts += [(header, index, words) for index, words in self.headings.doubts]
        self._top()
        filled = [row for row in rows if not self.table.overflow(row, len(header.cells))]
        cells = Cells(self.decimal)
        for row in filled:
            cells.look_at(row, self.columns)
        lines = [line for row in filled if (line := self._line(row, cells))]
        self._named(lines)
        self._placed(header, self._nested(lines))
        profile, problems = self._checked()
        faults = sorted([*self.table.told(), *problems])
        return ImportedTable(
            tuple(lines),
            {name: self.headings.shown[at] for name, (at, _, _) in self.columns.items()},
            tuple(self.headings.ignored),
            tuple(sorted(self._doubt(header, *doubt) for doubt in self.doubts)),
            tuple(faults),
            None if faults else profile,
        )

    @property
    def columns(self) -> dict[str, tuple[int, Column, str]]:
        """The columns by their names in the template."""
        return self.headings.columns

    def _fault(self, row: Row, index: int, message: str) -> None:
        self.table.fault(row, index, self.headings.shown[index], message)

    def _doubt(self, header: Row, row: Row, index: int, words: str) -> Problem:
        title = "" if row is header else self.headings.shown[index]
        return Problem(self.table.file, *self.table.place(row, index), printable(title), printable(words))

    def _top(self) -> None:
        """Start the profile: what the table is put onto, or a header alone."""
        if self.onto is None:
            self.tree = Tree(self.table.file, {"format": "1", "unit": dict(self.header)})
            return
        data = deepcopy(parse(self.onto.source, self.onto.file).data)
        data["unit"] |= self.header
        self.base = {part["id"]: part for part in _walk(data.get("parts") or [])}
        self.tree = Tree(self.table.file, data)

    def _line(self, row: Row, cells: Cells) -> Line | None:
        """Read a line's cells; sizes wait until its form is known."""
        line = Line(row)
        sizes: dict[str, tuple[int, str]] = {}
        for index, column, unit in self.columns.values():
            text = row.cells[index] if index < len(row.cells) else ""
            if text.casefold() in NOTHING:
                continue
            if text[0] in "=@" and column.kind in ("size", "sizes", "figure", "qty"):
                message = f'found "{text[:40]}": a formula is never run; save the table with its values'
                self._fault(row, index, message)
                continue
            if text[0] in "=@":
                self.doubts.append((row, index, f'"{text[:40]}" looks like a formula; it is kept as text, never run'))
            try:
                value = read_cell(column, text, unit, cells)
            except CellError as error:
                self._fault(row, index, str(error))
                continue
            if column.kind in _OF_FORM:
                sizes[column.name] = index, value
            elif column.kind == "tool":
                self._set(line, column, index, self._tool(value))
            else:
                self._set(line, column, index, value)
        if not line.data and not sizes:
            return None
        named = str(line.data.get("name", ""))
        up = str(line.data.get("sits", {}).get("up", ""))
        if points(up):
            words = (
                f'"{up[:40]}" says a way and names no face: labels print it as it stands; write the face that is up, '
            )
            self.doubts.append(
                (row, line.cells["sits", "up"], f"{words}and up or down, for its end, in a column opens")
            )
        for fault_at, words, doubt in form_of(line.data, line.cells, sizes, named, "form" in self.columns):
            if doubt:
                self.doubts.append((row, fault_at, words))
            else:
                self._fault(row, fault_at, words)
        return line

    def _set(self, line: Line, column: Column, index: int, value: Any) -> None:
        node = line.data
        for key in column.path[:-1]:
            node = node.setdefault(key, {})
        node[column.path[-1]] = value
        for depth in range(1, len(column.path) + 1):
            line.cells.setdefault(column.path[:depth], index)

    def _tool(self, text: str) -> str:
        """Return the id of a tool; what the profile does not list is added to its tools."""
        tools = self.tree.data.setdefault("tools", {})
        if text in tools:
            return text
        same = next((key for key, words in tools.items() if folded(str(words)) == folded(text)), None)
        if same is None:
            same = _fresh(text, tools, "tool")
            tools[same] = text
        return same

    def _named(self, lines: list[Line]) -> None:
        """Give every line an id, and turn names into the ids that they stand for."""
        ids = {line.data["id"] for line in lines if "id" in line.data}
        meant: dict[str, str] = {}
        for line in lines:
            if "id" not in line.data:
                line.data["id"] = _fresh(str(line.data.get("name", "part")), ids, "part")
                ids.add(line.data["id"])
            for key in ("short", "name"):
                meant.setdefault(folded(str(line.data.get(key, ""))), line.data["id"])
            line.data.setdefault("name", line.data["id"])
        names = {line.data["id"]: line.data["name"] for line in lines}
        for line in lines:
            for path in _REFERENCES:
                at = line.cells.get(path, line.cells.get(path[:1], 0))
                _replace(line.data, path, partial(self._called, line.row, at, names, meant))

    def _called(self, row: Row, at: int, names: Mapping[str, str], meant: Mapping[str, str], text: str) -> str | None:
        """Return the id of the part that a cell means; what cannot be an id and is no name is a fault, and None.

        Args:
            row, at: the cell.
            names: of the parts, by id.
            meant: ids by what their parts are called, folded.
            text: what the cell says.
        """
        found = text if text in names else meant.get(folded(text))
        if found is None and not re.fullmatch(IDENT, text):
            words = f'found "{text[:40]}"; no part of the table is called so; write its id or its whole name'
            self._fault(row, at, f"{words}; {allowed_text(text, names.values(), most=6)}")
            return None
        return found or text

    def _nested(self, lines: list[Line]) -> list[Line]:
        """Put every line inside the one it names; return those that stand outside."""
        by_id: dict[str, Line] = {}
        for line in lines:
            by_id.setdefault(line.data["id"], line)
        top: list[Line] = []
        stood = {inner["id"]: part["id"] for part in self.base.values() for inner in part.get("parts") or []}
        for line in lines:
            line.within = line.data.pop("in", None) if "in" in self.columns else stood.get(line.data["id"])
        for line in lines:
            parent = by_id.get(line.within or "")
            fault = ""
            if line.within and parent is None and "in" in self.columns:
                fault = f'"{line.within}" is no part here; {allowed_text(line.within, by_id)}'
            elif parent is not None and self._too_deep(line, by_id):
                fault = f"{line.data['id']} would stand inside itself, or more than {_DEEPEST} deep"
            if fault:
                self._fault(line.row, self.columns["in"][0] if "in" in self.columns else 0, fault)
            (parent.inside if parent and not fault else top).append(line)
        return top

    def _too_deep(self, line: Line, by_id: Mapping[str, Line]) -> bool:
        at: Line | None = line
        for _ in range(_DEEPEST):
            at = by_id.get(at.within or "") if at else None
            if at is None:
                break
        return at is not None

    def _placed(self, header: Row, top: list[Line]) -> None:
        """Write the lines into the tree, each value with the place of its cell."""
        places = self.tree.places
        places[()] = places[("parts",)] = self.table.place(header, 0)
        left = set(self.base)

        def put(lines: list[Line], path: FieldPath) -> list[dict[str, Any]]:
            found = []
            for k, line in enumerate(lines):
                here = (*path, k)
                starts = self.table.places(line.row)
                places[here] = starts[0]
                for field_path, index in line.cells.items():
                    place = places[(*here, *field_path)] = starts[min(index, len(starts) - 1)]
                    self.titles[place] = self.headings.shown[index]
                left.discard(line.data["id"])
                part = _joined(self.base.get(line.data["id"], {}), line.data, self._read_paths())
                if inside := put(line.inside, (*here, "parts")):
                    part["parts"] = inside
                found.append(part)
            return found

        self.tree.data["parts"] = put(top, ("parts",))
        for name in sorted(left):
            self.doubts.append((header, 0, f"the profile's part {name} has no line here: it is left out"))

    def _read_paths(self) -> list[tuple[str, ...]]:
        """Return the fields of a part that the table has a column for."""
        columns = [column for _, column, _ in self.columns.values()]
        return list(dict.fromkeys(("form",) if column.kind in _OF_FORM else column.path for column in columns))

    def _checked(self) -> tuple[Profile | None, list[Problem]]:
        """Return what of the profile is sound, and its faults, told by the names of the columns."""
        if not self.tree.data["parts"]:
            return None, [Problem(self.table.file, 1, 1, "", "holds no line with a part")]
        profile, problems = judged(self.tree, self.onto.folder if self.onto else None)
        return profile, [replace(p, path=self.titles.get((p.line, p.column), p.path)) for p in problems]


_NO_PARTS: Final = ("part", "series")
_REFERENCES: Final = (
    *(column.path for column in COLUMNS.values() if column.kind.startswith("ident") and column.name not in _NO_PARTS),
    ("renew", "with"),
)


def _walk(parts: list[dict[str, Any]]) -> Iterator[dict[str, Any]]:
    for part in parts:
        yield part
        yield from _walk(part.get("parts") or [])


def _fresh(text: str, taken: Container[str], otherwise: str) -> str:
    """Return an id made of a text that is not taken yet."""
    stem = re.sub(r"[^a-z0-9]+", "-", folded(text).encode("ascii", "ignore").decode()).strip("-")
    if len(stem) > _LONGEST_ID:
        stem = stem[:_LONGEST_ID].rpartition("-")[0] or stem[:_LONGEST_ID]
    stem = stem or otherwise
    name, number = stem, 2
    while name in taken:
        name, number = f"{stem}-{number}", number + 1
    return name


def _replace(node: Any, path: tuple[str, ...], change: Callable[[str], str | None]) -> None:
    """Change the text, or each text of the list, at a path, where there is one; what becomes None is left out."""
    for key in path[:-1]:
        node = node.get(key) if isinstance(node, dict) else None
    if isinstance(node, dict) and path[-1] in node:
        value = node[path[-1]]
        new = [kept for item in value if (kept := change(item))] if isinstance(value, list) else change(value)
        if new:
            node[path[-1]] = new
        else:
            del node[path[-1]]


def _joined(base: dict[str, Any], own: dict[str, Any], paths: list[tuple[str, ...]]) -> dict[str, Any]:
    """Return a part of what the table says, and of the profile's own what it has no column for."""
    part = deepcopy({key: value for key, value in base.items() if key != "parts"})
    for path in paths:
        node: Any = part
        for key in path[:-1]:
            node = node.get(key) if isinstance(node, dict) else None
        if isinstance(node, dict):
            node.pop(path[-1], None)
    for key, value in own.items():
        known = part.get(key)
        part[key] = known | value if isinstance(known, dict) and isinstance(value, dict) and key != "form" else value
    return {key: value for key, value in part.items() if value != {} or own.get(key) == {}}
