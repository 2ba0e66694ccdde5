"""Which column of a table of parts is which: by the names that people use, or by a file that maps the rest."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from typing import Final

from labelkit.errors import InputErrors, allowed_text, printable, shortened
from labelkit.load.partcolumns import COLUMNS, NAMES, TWO_WAYS, Column, column_of
from labelkit.load.table import Row, Table, slip_of
from labelkit.load.yamltree import parse
from labelkit.model.formwords import folded

_ID: Final = "id"  # a part's id, or an inside diameter
_SHORTEST_SLIP: Final = 4  # letters; of shorter names everything is near
_SHOWN: Final = 8  # headings that a message quotes


def read_mapping(data: bytes, file: str) -> dict[str, str]:
    """Return the headings of a mapping file, `heading: column` in YAML, by the names of columns.

    Raises:
        InputErrors: not such a file, or a column that there is none of.
    """
    tree = parse(data, file)
    problems = list(tree.problems)
    if not isinstance(tree.data, dict):
        raise InputErrors(
            [*problems, tree.problem((), "is no mapping of headings to columns, as in `Benennung: name`")]
        )
    found: dict[str, str] = {}
    for heading, column in tree.data.items():
        if column is None:
            found[heading] = ""
        elif isinstance(column, str) and column in COLUMNS:
            found[heading] = column
        else:
            given = column if isinstance(column, str) else "a list or mapping"
            message = f'found "{given}"; {allowed_text(str(given), COLUMNS, most=len(COLUMNS))}'
            problems.append(tree.problem((heading,), message))
    if problems:
        raise InputErrors(problems)
    return found


@dataclass(slots=True)
class Headings:
    """The columns of a table.

    Attributes:
        known: headings that the mapping file names, folded, by the name of the column; empty: not read.
        columns: by its name in the template, the number of each column, the column and the unit in its heading.
        ignored: headings of columns that are not read.
        doubts: those that nobody left out on purpose, by their number.
        shown: every heading as the table has it.
    """

    known: Mapping[str, str]
    columns: dict[str, tuple[int, Column, str]] = field(default_factory=dict)
    ignored: list[str] = field(default_factory=list)
    doubts: list[tuple[int, str]] = field(default_factory=list)
    shown: list[str] = field(default_factory=list)

    def names(self, heading: str) -> bool:
        """Say whether a heading is one of a column."""
        return folded(heading) in self.known or column_of(heading)[0] is not None or folded(heading) == _ID

    def read(self, table: Table, header: Row) -> None:
        """Find out which column is which.

        Raises:
            InputErrors: none of them is the name of the parts.
        """
        self.shown = [printable(heading) for heading in header.cells]
        taken = {column.name for heading in header.cells if (column := self._column(heading)[0])}
        inside = "outside diameter" in taken and "inside diameter" not in taken
        for index, heading in enumerate(header.cells):
            column, unit = self._column(heading)
            if column is None and folded(heading) == _ID:
                if inside:
                    words = "can be read in two ways; call it part id or inside diameter"
                    table.fault(header, index, "", f'the column "{heading}" {words}')
                    continue
                column = COLUMNS["part"]
            if column is None:
                self._unknown(table, header, index, taken)
            elif column.name in self.columns:
                other = header.cells[self.columns[column.name][0]]
                same = f'the columns "{other}" and "{heading}" say the same, {column.name}; keep one'
                help_ = "call the other what labelkit import --template calls it, or say in a mapping file what it is"
                table.fault(header, index, "", f"{same}, or {help_}")
            else:
                self.columns[column.name] = index, column, unit
        if "name" not in self.columns:
            named = header.cells
            found = shortened(" | ".join(named[:_SHOWN]), 200) + f" | ... ({len(named)} in all)" * (len(named) > _SHOWN)
            help_ = "labelkit import --template shows the names of columns, and a mapping file adds others"
            table.fault(header, 0, "", f"no column is named name; found: {found}; {help_}")
            raise InputErrors(table.told())

    def _column(self, heading: str) -> tuple[Column | None, str]:
        if (name := self.known.get(folded(heading))) is not None:
            return COLUMNS.get(name), ""
        return column_of(heading)

    def _unknown(self, table: Table, header: Row, index: int, taken: set[str]) -> None:
        heading = header.cells[index]
        key = folded(heading)
        if not heading or self.known.get(key) == "":
            return
        if key in TWO_WAYS:
            table.fault(header, index, "", f'the column "{heading}" can be read in two ways; call it {TWO_WAYS[key]}')
            return
        self.ignored.append(heading)
        free = {name for name, column in NAMES.items() if column in taken}
        near = slip_of(key, NAMES, free) if len(key) >= _SHORTEST_SLIP else None
        column = f", which is the column {NAMES[near]}" if near and near != NAMES[near] else ""
        meant = f"; did you mean {near}{column}?" if near else ""
        self.doubts.append((index, f'the column "{heading}" is not read{meant}'))
