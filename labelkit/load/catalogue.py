"""The parts counter's catalogue as CSV: read with every fault at its place, written so that it reads back the same.

A column may stand anywhere and be named as the trade names it. Numbers and names stay the text that was typed; figures
that can be read in two ways are asked about, never guessed.

Source: RFC 4180 for quotes and line ends; cells that a spreadsheet would run by the OWASP page on CSV injection, from
memory: they begin with = + - @, a tab or a line end, and an apostrophe in front makes them text.
"""

from __future__ import annotations

import csv
import difflib
import io
import itertools
import re
from collections.abc import Iterable, Iterator
from dataclasses import dataclass, field, replace
from decimal import Decimal
from pathlib import Path
from typing import Final

from labelkit.errors import InputError, InputErrors, Problem, UsageError
from labelkit.load.yamltree import shown_path
from labelkit.model.catalogue import (
    COLUMN_NAMES,
    COLUMNS,
    MOST_AMOUNT,
    TWO_WAYS,
    Catalogue,
    CatalogueEntry,
    DecimalSign,
    Money,
    column_of,
    currency_code,
    figure_text,
    grouped,
    is_doubtful,
    price_fault,
    shown_sign,
    text_cell,
)

Cell = str | int | Decimal | None

LARGEST_FILE: Final = 32_000_000  # bytes; 100,000 numbers with names have about 10 million
MOST_PROBLEMS: Final = 200
_DELIMITERS: Final = (",", ";", "\t")
_LONGEST_NUMBER: Final = 40  # letters, as in a profile
_LONGEST: Final = 200
_MOST_COLUMNS: Final = 200
_WORDS: Final = ("number", "name", "supplier", "location")
_SLIP: Final = 0.8  # a name as near as this to one of a column is taken for a slip of the keyboard


@dataclass(frozen=True, slots=True)
class LoadedCatalogue:
    """A catalogue with what was left out of it.

    Attributes:
        catalogue: the entries.
        ignored: names of columns that are not read.
        delimiter: what stands between its cells.
    """

    catalogue: Catalogue
    ignored: tuple[str, ...]
    delimiter: str


def load_catalogue(path: Path, *, decimal: DecimalSign | None = None, currency: str | None = None) -> LoadedCatalogue:
    """Read a catalogue from a CSV file; arguments and errors as for `parse_catalogue`.

    Raises:
        InputError: also when the file is missing, a folder, not readable or too large.
    """
    shown = shown_path(path)
    try:
        with path.open("rb") as stream:
            data = stream.read(LARGEST_FILE + 1)
    except FileNotFoundError as error:
        raise InputError(f"{shown}: there is no such file") from error
    except IsADirectoryError as error:
        raise InputError(f"{shown}: is a folder; a CSV file is wanted here") from error
    except OSError as error:
        raise InputError(f"{shown}: cannot be read: {error.strerror}") from error
    return parse_catalogue(data, shown, decimal=decimal, currency=currency)


def parse_catalogue(
    data: bytes, file: str, *, decimal: DecimalSign | None = None, currency: str | None = None
) -> LoadedCatalogue:
    """Read a catalogue.

    Args:
        data: CSV in UTF-8, with or without byte-order mark; cells apart by comma, semicolon or tab; names of the
            columns in the first line.
        file: its name for messages.
        decimal: the decimal sign of the prices; None: as the file shows without doubt.
        currency: of the prices, where no column and no header names it.

    Raises:
        InputError: not text, or with faults (`InputErrors` holds all of them, up to a number).
        UsageError: no such decimal sign or currency.
    """
    if decimal not in (None, ".", ","):
        raise UsageError(f'the decimal sign "{decimal}"; allowed: . or ,')
    reader = _Reader(file, decimal, currency and currency_code(currency))
    catalogue = reader.read(_text(data, file))
    if reader.problems:
        raise InputErrors(reader.told())
    return LoadedCatalogue(catalogue, tuple(reader.ignored), reader.delimiter)


def _text(data: bytes, file: str) -> str:
    if len(data) > LARGEST_FILE:
        raise InputError(f"{file}: the file has over {LARGEST_FILE / 1e6:.0f} MB; no catalogue is that large")
    if data[:2] in (b"\xff\xfe", b"\xfe\xff"):
        raise InputError(f"{file}: is UTF-16 text; save it as CSV in UTF-8")
    if b"\0" in data:
        raise InputError(f"{file}: is a binary file; a CSV text file is wanted here")
    try:
        text = data.decode("utf-8-sig")
    except UnicodeDecodeError as error:
        before = error.object[: error.start].decode("utf-8-sig")
        message = f"holds the byte 0x{error.object[error.start]:02X}, which is not UTF-8; save the file as CSV in UTF-8"
        raise InputErrors([Problem(file, *_end_of(before, (1, 1)), "", message)]) from error
    if not text.strip():
        raise InputError(f"{file}: the file is empty")
    return text


def _end_of(text: str, start: tuple[int, int]) -> tuple[int, int]:
    """Return line and column just behind a text that starts there."""
    lines = re.split("\r\n|\r|\n", text)
    return start[0] + len(lines) - 1, len(lines[-1]) + (start[1] if len(lines) == 1 else 1)


@dataclass(frozen=True, slots=True)
class _Row:
    """One record: its first line, where its text starts, and its cells, each on one line."""

    line: int
    start: int
    cells: list[str]


@dataclass(slots=True)
class _Reader:
    file: str
    decimal: DecimalSign | None
    currency: str | None
    text: str = ""
    delimiter: str = ","
    columns: dict[str, int] = field(default_factory=dict)
    ignored: list[str] = field(default_factory=list)
    problems: list[Problem] = field(default_factory=list)
    untold: int = 0
    width: int = 0

    def read(self, text: str) -> Catalogue:
        """Return the catalogue; what is wrong with it is in `problems`."""
        self.text = text
        self.delimiter, skipped = _delimiter(text)
        rows = itertools.dropwhile(lambda row: row.line <= skipped or not any(row.cells), self._rows())
        header = next(rows, None)
        if header is None:
            raise InputErrors(self.problems or [Problem(self.file, 1, 1, "", "holds no line with names of columns")])
        if len(header.cells) > _MOST_COLUMNS:
            self._fault(header, 0, f"the first line names {len(header.cells)} columns; allowed: {_MOST_COLUMNS}")
        else:
            self._header(header)
        if "number" not in self.columns:
            return Catalogue()
        filled = (row for row in rows if any(row.cells))
        looked_at = self._decimal_sign(filled)
        entries: dict[str, CatalogueEntry] = {}
        lines: dict[str, int] = {}
        for row in itertools.chain(looked_at, filled):
            entry = self._entry(row)
            if entry is not None and lines.setdefault(entry.number, row.line) != row.line:
                message = f"{entry.number} stands already in line {lines[entry.number]}; keep one"
                self._fault(row, "number", message)
            elif entry is not None:
                entries[entry.number] = entry
        priced = any(entry.price for entry in entries.values())
        return Catalogue(entries, self.currency if priced else None) if not self.problems else Catalogue()

    def told(self) -> list[Problem]:
        """Return the problems, the last of them saying how many more there are."""
        if not self.untold:
            return self.problems
        last = max(self.problems)
        return [*self.problems, replace(last, path="", message=f"and {self.untold} more faults below")]

    def _rows(self) -> Iterator[_Row]:
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
            yield _Row(line, start, [_flat(cell) for cell in cells])

    def _add(self, line: int, column: int, path: str, message: str) -> None:
        if len(self.problems) >= MOST_PROBLEMS:
            self.untold += 1
            return
        shown = "".join(letter if letter.isprintable() else f"<U+{ord(letter):04X}>" for letter in message)
        self.problems.append(Problem(self.file, line, column, path, shown))

    def _fault(self, row: _Row, column: str | int, message: str) -> None:
        """Note a fault of a cell, where it starts."""
        at = row.start
        for _ in range(min(self.columns[column] if isinstance(column, str) else column, len(row.cells) - 1)):
            at = self._cell_end(at) + 1
        place = _end_of(self.text[row.start : at], (row.line, 1))
        self._add(*place, column if isinstance(column, str) else "", message)

    def _cell_end(self, at: int) -> int:
        """Return where the delimiter behind the cell stands that starts here."""
        if self.text[at] == '"':
            at += 1
            while self.text[at] != '"' or self.text[at : at + 2] == '""':
                at += 2 if self.text[at] == '"' else 1
            at += 1
        return self.text.index(self.delimiter, at)

    def _header(self, row: _Row) -> None:
        self.width = len(row.cells)
        for index, shown in enumerate(row.cells):
            column, currency = column_of(shown)
            if column is None:
                self._unknown(row, index, shown)
                continue
            if same := self.columns.keys() & (("price", "each") if column in ("price", "each") else (column,)):
                other = row.cells[self.columns[same.pop()]]
                self._fault(row, index, f'the columns "{other}" and "{shown}" say the same; keep one')
                continue
            self.columns[column] = index
            if currency is not None:
                self._same_currency(row, index, currency)
        if "number" not in self.columns:
            found = " | ".join(row.cells[:8])[:120]
            names = f"the first line names the columns; allowed: {', '.join(COLUMNS)}"
            self._fault(row, 0, f"no column is named number; found: {found}; {names}")

    def _unknown(self, row: _Row, index: int, shown: str) -> None:
        """Note a column that is not read: a fault where its name may be a slip of one that is missing."""
        key = shown.casefold()
        if key in TWO_WAYS:
            self._fault(row, index, f'the column "{shown}" can be read in two ways; call it {TWO_WAYS[key]}')
        elif (close := difflib.get_close_matches(key, COLUMN_NAMES, n=1, cutoff=_SLIP)) and not any(
            column_of(cell)[0] == COLUMN_NAMES[close[0]] for cell in row.cells
        ):
            self._fault(row, index, f'found the column "{shown}"; did you mean {close[0]}? Call it otherwise if not')
        elif shown:
            self.ignored.append(shown)

    def _same_currency(self, row: _Row, column: str | int, text: str) -> None:
        try:
            code = currency_code(text)
        except UsageError as error:
            self._fault(row, column, str(error))
            return
        if self.currency not in (None, code):
            self._fault(row, column, f"found {code} beside {self.currency}; all prices are in one currency")
        self.currency = self.currency or code

    def _decimal_sign(self, rows: Iterator[_Row]) -> list[_Row]:
        """Find the decimal sign where nobody has said it, ask where no price shows it; return the rows it took."""
        column, looked_at = "price" if "price" in self.columns else "each", []
        doubt: tuple[_Row, str] | None = None
        while self.decimal is None and column in self.columns and (row := next(rows, None)):
            looked_at.append(row)
            text = self._cell(row, column)
            self.decimal = shown_sign(text)
            if doubt is None and is_doubtful(text):
                doubt = (row, text)
        if self.decimal is None and doubt:
            row, text = doubt
            asked = "no price in the file shows it; say whether it has a decimal point or a decimal comma"
            self._fault(row, column, f"found {text}: is the sign for decimals or for thousands? {asked}")
            self.decimal = "," if "," in text else "."
        return looked_at

    def _cell(self, row: _Row, column: str) -> str:
        """Return a cell's text; empty when it is not there."""
        index = self.columns.get(column, _MOST_COLUMNS)
        return row.cells[index] if index < len(row.cells) else ""

    def _entry(self, row: _Row) -> CatalogueEntry | None:
        if len(row.cells) > self.width and (over := next(filter(None, row.cells[self.width :]), None)):
            index = row.cells.index(over, self.width)
            self._fault(row, index, f'found "{over[:40]}" behind the last column; is a cell not in quotes?')
            return None
        words = [self._cell(row, column) for column in _WORDS]
        if not "".join(words).isprintable() or max(map(len, words)) > _LONGEST_NUMBER:
            self._check_words(row)
        pack, shelf = self._whole(row, "pack", 1, 9999), self._whole(row, "on shelf", 0, 9_999_999)
        if (code := self._cell(row, "currency")) and code != self.currency:
            self._same_currency(row, "currency", code)
        price = self._price(row, pack)
        if price is not None and "each" in self.columns:
            pack = pack or 1
        number, name, supplier, location = words
        if not number:
            self._fault(row, "number", "the number is missing in a line that says something else")
            return None
        return CatalogueEntry(number, name or None, supplier or None, pack, price, shelf, location or None)

    def _check_words(self, row: _Row) -> None:
        for column in _WORDS:
            text = self._cell(row, column)
            longest = _LONGEST_NUMBER if column == "number" else _LONGEST
            if len(text) > longest:
                self._fault(row, column, f"has {len(text)} letters; allowed: at most {longest}")
            elif bad := next((letter for letter in text if not letter.isprintable()), None):
                self._fault(row, column, f"holds the unprintable character U+{ord(bad):04X}; take it out")

    def _whole(self, row: _Row, column: str, low: int, high: int) -> int | None:
        text = self._cell(row, column)
        if not text:
            return None
        if text.isascii() and text.isdigit() and len(text) < 8 and low <= int(text) <= high:
            return int(text)
        hint = "; thousands are not set apart" if grouped(text) else ""
        self._fault(row, column, f'found "{text[:40]}"; allowed: a whole number from {low} to {high}{hint}')
        return None

    def _price(self, row: _Row, pack: int | None) -> Money | None:
        column = "price" if "price" in self.columns else "each"
        text = self._cell(row, column)
        if not text:
            return None
        if fault := price_fault(text, self.decimal or "."):
            self._fault(row, column, f'found "{text[:40]}"; {fault}')
            return None
        if self.currency is None:
            where = "name it in the header, as in price (EUR), in a column currency, or when the file is read"
            self._fault(row, column, f"the currency of the prices is not stated: {where}")
            self.currency = "XXX"  # no currency, by ISO 4217: told once
        amount = Decimal(text.replace(",", ".")) * ((pack or 1) if column == "each" else 1)
        if amount > MOST_AMOUNT:
            self._fault(row, column, f"a pack comes to {amount}; allowed: at most {MOST_AMOUNT}")
        return Money(amount, self.currency)


def _flat(cell: str) -> str:
    """Return a cell on one line, without what marks it as text."""
    if cell.isalnum():
        return cell
    text = " ".join(cell.split())
    if text[:1] == "'":
        return text[1:].strip()
    return text[2:-1].replace('""', '"').strip() if len(text) > 2 and text[:2] == '="' and text[-1] == '"' else text


def _delimiter(text: str) -> tuple[str, int]:
    """Return what stands between the cells, and how many lines say so: `sep=;`, as spreadsheets write it."""
    if match := re.match("sep=([,;\t])(\r\n|\r|\n)", text, re.IGNORECASE):
        return match[1], 1
    head = [line for line in text[:10_000].splitlines() if line.strip()]
    first = next((line for line in head if line.strip(" ,;\t\"'")), "".join(head[:1]))
    cells = [next(csv.reader([first], delimiter=delimiter), []) for delimiter in _DELIMITERS]
    counts = [(sum(column_of(cell)[0] is not None for cell in found), len(found)) for found in cells]
    return _DELIMITERS[counts.index(max(counts))], 0


def csv_bytes(rows: Iterable[Iterable[Cell]], *, delimiter: str = ",", decimal: DecimalSign = ".") -> bytes:
    """Return rows of texts, figures and empty cells (None) as CSV that a spreadsheet opens; texts stay texts."""
    stream = io.StringIO(newline="")
    writer = csv.writer(stream, delimiter=delimiter, lineterminator="\r\n")
    for row in rows:
        writer.writerow([text_cell(c) if isinstance(c, str) else figure_text(c, decimal) for c in row])
    return stream.getvalue().encode("utf-8-sig")


def catalogue_csv(catalogue: Catalogue, *, delimiter: str = ",", decimal: DecimalSign = ".") -> bytes:
    """Return a catalogue as CSV that reads back to the same."""
    price = f"price ({catalogue.currency})" if catalogue.currency else "price"
    rows: list[list[Cell]] = [["number", "name", "supplier", "pack", price, "on shelf", "location"]]
    for entry in catalogue.entries.values():
        amount = entry.price.amount if entry.price else None
        rows.append([entry.number, entry.name, entry.supplier, entry.pack, amount, entry.shelf, entry.location])
    return csv_bytes(rows, delimiter=delimiter, decimal=decimal)
