"""Tables as CSV: records with the place of every cell, and rows written so that a spreadsheet takes them as they are.

A table has its names of columns in its first filled line; cells stand apart by comma, semicolon or tab. Texts are
never run: what a spreadsheet would take for a formula is written with an apostrophe in front, and read as text.

Source: RFC 4180 for quotes and line ends; cells that a spreadsheet would run by the OWASP page on CSV injection, from
memory: they begin with = + - @, a tab or a line end, and an apostrophe in front makes them text.
"""

from __future__ import annotations

import csv
import difflib
import io
import itertools
import re
from collections.abc import Callable, Container, Iterable, Iterator
from dataclasses import dataclass, field, replace
from decimal import Decimal
from pathlib import Path
from typing import Final

from labelkit.errors import InputError, InputErrors, Problem, UsageError, printable
from labelkit.load.textfile import Place, decoded, end_of, read_bytes, shown_path
from labelkit.model.catalogue import DecimalSign, figure_text, text_cell

Cell = str | int | Decimal | None

LARGEST_FILE: Final = 32_000_000  # bytes; 100,000 order numbers with names have about 10 million
MOST_PROBLEMS: Final = 200
_MOST_COLUMNS: Final = 200
_DELIMITERS: Final = (",", ";", "\t")
_SLIP: Final = 0.8  # a name as near as this to one of a column is taken for a slip of the keyboard


@dataclass(frozen=True, slots=True)
class Row:
    """One record: its first line, where its text starts in the file, and its cells, each on one line."""

    line: int
    start: int
    cells: list[str]


def read_table(path: Path) -> tuple[bytes, str]:
    """Return a CSV file's bytes and its name for messages.

    Raises:
        InputError: missing, a folder or not readable.
    """
    shown = shown_path(path)
    return read_bytes(path, shown, "CSV", LARGEST_FILE), shown


def checked_sign(decimal: str | None) -> None:
    """Refuse what is no decimal sign.

    Raises:
        UsageError: neither point nor comma, nor None.
    """
    if decimal not in (None, ".", ","):
        raise UsageError(f'the decimal sign "{decimal}"; allowed: . or ,')


@dataclass(slots=True)
class Table:
    """A table's text, and the faults that are found in it.

    Attributes:
        file: its name for messages.
        text: what it holds.
        delimiter: what stands between its cells.
        skipped: lines in front that say what that is.
        problems: the faults told, up to a number.
    """

    file: str
    text: str
    delimiter: str
    skipped: int
    problems: list[Problem] = field(default_factory=list)
    _untold: int = 0

    @staticmethod
    def of(data: bytes, file: str, known: Callable[[str], bool]) -> Table:
        """Return the table of a file's bytes.

        Args:
            data: CSV in UTF-8, with or without byte-order mark.
            file: its name for messages.
            known: says whether a text is the name of a column; the delimiter is the one that makes most of them.

        Raises:
            InputError: too large, empty, or no UTF-8.
        """
        if len(data) > LARGEST_FILE:
            raise InputError(f"{file}: the file has over {LARGEST_FILE / 1e6:.0f} MB; no table of parts is that large")
        text = decoded(data, file, "CSV")
        if not text.strip():
            raise InputError(f"{file}: the file is empty")
        return Table(file, text, *_delimiter(text, known))

    def records(self) -> tuple[Row, Iterator[Row]]:
        """Return the line with the names of the columns, and the filled ones below it.

        Raises:
            InputErrors: there is no such line, or it names too many columns.
        """
        rows = (row for row in self._rows() if row.line > self.skipped and any(row.cells))
        header = next(rows, None)
        if header is None:
            raise InputErrors(self.problems or [Problem(self.file, 1, 1, "", "holds no line with names of columns")])
        if len(header.cells) > _MOST_COLUMNS:
            message = f"the first line names {len(header.cells)} columns; allowed: {_MOST_COLUMNS}"
            raise InputErrors([Problem(self.file, header.line, 1, "", message)])
        return header, rows

    def told(self) -> list[Problem]:
        """Return the problems, the last of them saying how many more there are."""
        if not self._untold:
            return self.problems
        last = max(self.problems)
        return [*self.problems, replace(last, path="", message=f"and {self._untold} more faults below")]

    def fault(self, row: Row, index: int, column: str, message: str) -> None:
        """Note a fault of the cell of this index, where it starts; `column` is its name, empty for none."""
        if len(self.problems) < MOST_PROBLEMS:
            self._add(*self.place(row, index), column, message)
        else:
            self._untold += 1

    def overflow(self, row: Row, width: int) -> bool:
        """Note a cell behind the last column; say whether there is one."""
        over = next(filter(None, row.cells[width:]), None)
        if over is None:
            return False
        index = row.cells.index(over, width)
        self.fault(row, index, "", f'found "{over[:40]}" behind the last column; is a cell not in quotes?')
        return True

    def place(self, row: Row, index: int) -> Place:
        """Return line and column where a cell starts; of one that is not there, where the last one does."""
        at = row.start
        for _ in range(min(index, len(row.cells) - 1)):
            at = self._cell_end(at) + 1
        return end_of(self.text[row.start : at], (row.line, 1))

    def places(self, row: Row) -> list[Place]:
        """Return line and column where each cell starts."""
        at, place, found = row.start, (row.line, 1), [(row.line, 1)]
        for _ in row.cells[1:]:
            behind = self._cell_end(at) + 1
            place = end_of(self.text[at:behind], place)
            found.append(place)
            at = behind
        return found

    def _rows(self) -> Iterator[Row]:
        """Yield the records; a quote that is never closed ends them with a fault."""
        lines, at = 0, 0

        def feed() -> Iterator[str]:
            nonlocal lines, at
            for line in io.StringIO(self.text, newline=""):
                lines, at = lines + 1, at + len(line)
                yield line

        records = csv.reader(feed(), delimiter=self.delimiter, strict=True)
        while True:
            line, start = lines + 1, at
            try:
                cells = next(records)
            except StopIteration:
                return
            except csv.Error as error:
                reason = "a quote is opened and not closed" if "end of data" in str(error) else str(error)
                self._add(line, 1, "", f"is not CSV from here on: {reason}; a quote inside a cell is written twice")
                return
            yield Row(line, start, [flat(cell) for cell in cells])

    def _add(self, line: int, column: int, path: str, message: str) -> None:
        if len(self.problems) >= MOST_PROBLEMS:
            self._untold += 1
        else:
            self.problems.append(Problem(self.file, line, column, path, printable(message)))

    def _cell_end(self, at: int) -> int:
        """Return where the delimiter behind the cell stands that starts here."""
        if self.text[at] == '"':
            at += 1
            while self.text[at] != '"' or self.text[at : at + 2] == '""':
                at += 2 if self.text[at] == '"' else 1
            at += 1
        return self.text.index(self.delimiter, at)


def slip_of(name: str, names: Iterable[str], taken: Container[str]) -> str | None:
    """Return the name of a column that another was probably meant to be; None when none is near, or it is taken."""
    close = difflib.get_close_matches(name, names, n=1, cutoff=_SLIP)
    return close[0] if close and close[0] not in taken else None


def flat(cell: str) -> str:
    """Return a cell on one line, without what marks it as text.

    >>> flat("'00123"), flat('="0045"'), flat(" two\\nlines ")
    ('00123', '0045', 'two lines')
    """
    if cell.isalnum():
        return cell
    text = " ".join(cell.split())
    if text[:1] == "'":
        return text[1:].strip()
    return text[2:-1].replace('""', '"').strip() if len(text) > 2 and text[:2] == '="' and text[-1] == '"' else text


def _delimiter(text: str, known: Callable[[str], bool]) -> tuple[str, int]:
    """Return what stands between the cells, and how many lines say so: `sep=;`, as spreadsheets write it."""
    if match := re.match("sep=([,;\t])(\r\n|\r|\n)", text, re.IGNORECASE):
        return match[1], 1
    head = [line for line in text[:10_000].splitlines() if line.strip()]
    first = next((line for line in head if line.strip(" ,;\t\"'")), "".join(head[:1]))
    cells = [next(csv.reader([first], delimiter=delimiter), []) for delimiter in _DELIMITERS]
    counts = [(sum(map(known, itertools.islice(found, _MOST_COLUMNS))), len(found)) for found in cells]
    return _DELIMITERS[counts.index(max(counts))], 0


def csv_bytes(rows: Iterable[Iterable[Cell]], *, delimiter: str = ",", decimal: DecimalSign = ".") -> bytes:
    """Return rows of texts, figures and empty cells (None) as CSV that a spreadsheet opens; texts stay texts."""
    stream = io.StringIO(newline="")
    writer = csv.writer(stream, delimiter=delimiter, lineterminator="\r\n")
    for row in rows:
        writer.writerow([text_cell(c) if isinstance(c, str) else figure_text(c, decimal) for c in row])
    return stream.getvalue().encode("utf-8-sig")
