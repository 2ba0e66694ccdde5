"""The parts counter's catalogue, read from CSV with every fault at its place.

A column may stand anywhere and be named as the trade names it. Numbers and names stay the text that was typed; figures
that can be read in two ways are asked about, never guessed.
"""

from __future__ import annotations

import itertools
from collections.abc import Iterator
from dataclasses import dataclass, field
from decimal import Decimal
from pathlib import Path
from typing import Final

from labelkit.errors import InputErrors, UsageError
from labelkit.load.table import Row, Table, checked_sign, read_table, slip_of
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
    grouped,
    is_doubtful,
    price_fault,
    shown_sign,
)

_LONGEST_NUMBER: Final = 40  # letters, as in a profile
_LONGEST: Final = 200
_WORDS: Final = ("number", "name", "supplier", "location")


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
    data, shown = read_table(path)
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
    checked_sign(decimal)
    code = currency and currency_code(currency)
    table = Table.of(data, file, lambda cell: column_of(cell)[0] is not None)
    reader = _Reader(table, decimal, code)
    catalogue = reader.read()
    if table.problems:
        raise InputErrors(table.told())
    return LoadedCatalogue(catalogue, tuple(reader.ignored), table.delimiter)


@dataclass(slots=True)
class _Reader:
    table: Table
    decimal: DecimalSign | None
    currency: str | None
    columns: dict[str, int] = field(default_factory=dict)
    ignored: list[str] = field(default_factory=list)
    width: int = 0

    def read(self) -> Catalogue:
        """Return the catalogue; what is wrong with it is in the table's problems."""
        header, filled = self.table.records()
        self._header(header)
        if "number" not in self.columns:
            return Catalogue()
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
        return Catalogue(entries, self.currency if priced else None) if not self.table.problems else Catalogue()

    def _fault(self, row: Row, column: str | int, message: str) -> None:
        """Note a fault of a cell."""
        index, name = (self.columns[column], column) if isinstance(column, str) else (column, "")
        self.table.fault(row, index, name, message)

    def _header(self, row: Row) -> None:
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

    def _unknown(self, row: Row, index: int, shown: str) -> None:
        """Note a column that is not read: a fault where its name may be a slip of one that is missing."""
        key = shown.casefold()
        named = {column_of(cell)[0] for cell in row.cells}
        if key in TWO_WAYS:
            self._fault(row, index, f'the column "{shown}" can be read in two ways; call it {TWO_WAYS[key]}')
        elif close := slip_of(key, COLUMN_NAMES, {name for name, column in COLUMN_NAMES.items() if column in named}):
            self._fault(row, index, f'found the column "{shown}"; did you mean {close}? Else give it another name')
        elif shown:
            self.ignored.append(shown)

    def _same_currency(self, row: Row, column: str | int, text: str) -> None:
        try:
            code = currency_code(text)
        except UsageError as error:
            self._fault(row, column, str(error))
            return
        if self.currency not in (None, code):
            self._fault(row, column, f"found {code} beside {self.currency}; all prices are in one currency")
        self.currency = self.currency or code

    def _decimal_sign(self, rows: Iterator[Row]) -> list[Row]:
        """Find the decimal sign where nobody has said it, ask where no price shows it; return the rows it took."""
        column, looked_at = "price" if "price" in self.columns else "each", []
        doubt: tuple[Row, str] | None = None
        while self.decimal is None and column in self.columns and (row := next(rows, None)):
            looked_at.append(row)
            text = self._cell(row, column)
            self.decimal = shown_sign(text)
            if doubt is None and is_doubtful(text):
                doubt = (row, text)
        if self.decimal is None and doubt:
            row, text = doubt
            asked = "no price in the file shows it; write one as 12.50 or 12,50, or say --decimal . or ,"
            self._fault(row, column, f"found {text}: is the sign for decimals or for thousands? {asked}")
            self.decimal = "," if "," in text else "."
        return looked_at

    def _cell(self, row: Row, column: str) -> str:
        """Return a cell's text; empty when it is not there."""
        index = self.columns.get(column)
        return row.cells[index] if index is not None and index < len(row.cells) else ""

    def _entry(self, row: Row) -> CatalogueEntry | None:
        if self.table.overflow(row, self.width):
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
        if len(row.cells) == 1 < self.width and (wrong := next((each for each in ",;\t" if each in number), None)):
            apart = f"cells are apart by {self.table.delimiter!r} here, not by {wrong!r}"
            self._fault(row, "number", f'found "{number[:40]}"; {apart}')
            return None
        if not number:
            self._fault(row, "number", "the number is missing in a line that says something else")
            return None
        return CatalogueEntry(number, name or None, supplier or None, pack, price, shelf, location or None)

    def _check_words(self, row: Row) -> None:
        for column in _WORDS:
            text = self._cell(row, column)
            longest = _LONGEST_NUMBER if column == "number" else _LONGEST
            if len(text) > longest:
                self._fault(row, column, f"has {len(text)} letters; allowed: at most {longest}")
            elif bad := next((letter for letter in text if not letter.isprintable()), None):
                self._fault(row, column, f"holds the unprintable character U+{ord(bad):04X}; take it out")

    def _whole(self, row: Row, column: str, low: int, high: int) -> int | None:
        text = self._cell(row, column)
        if not text:
            return None
        if text.isascii() and text.isdigit() and len(text) < 8 and low <= int(text) <= high:
            return int(text)
        hint = "; thousands are not set apart" if grouped(text) else ""
        self._fault(row, column, f'found "{text[:40]}"; allowed: a whole number from {low} to {high}{hint}')
        return None

    def _price(self, row: Row, pack: int | None) -> Money | None:
        column = "price" if "price" in self.columns else "each"
        text = self._cell(row, column)
        if not text:
            return None
        if fault := price_fault(text, self.decimal or "."):
            self._fault(row, column, f'found "{text[:40]}"; {fault}')
            return None
        if self.currency is None:
            where = "name it in the header, as in price (EUR), in a column currency, or say --currency EUR"
            self._fault(row, column, f"the currency of the prices is not stated: {where}")
            self.currency = "XXX"  # no currency, by ISO 4217: told once
        amount = Decimal(text.replace(",", ".")) * ((pack or 1) if column == "each" else 1)
        if amount > MOST_AMOUNT:
            self._fault(row, column, f"a pack comes to {amount}; allowed: at most {MOST_AMOUNT}")
        return Money(amount, self.currency)
