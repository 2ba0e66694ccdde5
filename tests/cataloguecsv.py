"""A catalogue as a parts counter's own program may write it, so that tests can read it back."""

from __future__ import annotations

from labelkit.load.table import Cell, csv_bytes
from labelkit.model.catalogue import Catalogue, DecimalSign


def catalogue_csv(catalogue: Catalogue, *, delimiter: str = ",", decimal: DecimalSign = ".") -> bytes:
    """Return a catalogue as CSV that reads back to the same."""
    price = f"price ({catalogue.currency})" if catalogue.currency else "price"
    rows: list[list[Cell]] = [["number", "name", "supplier", "pack", price, "on shelf", "location"]]
    for entry in catalogue.entries.values():
        amount = entry.price.amount if entry.price else None
        rows.append([entry.number, entry.name, entry.supplier, entry.pack, amount, entry.shelf, entry.location])
    return csv_bytes(rows, delimiter=delimiter, decimal=decimal)
