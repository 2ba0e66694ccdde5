"""Every label and every sticker of both demo units on every shipped stock, at three resolutions, read by two decoders.

Run by hand: python -m tests.bench.bench_prints [STOCK...]
"""

from __future__ import annotations

import itertools
import sys
from collections.abc import Iterator

from labelkit.load.stock import all_stock
from labelkit.model.media import Printable
from tests.bench.rows import Row
from tests.prints import RESOLUTIONS, misread, misread_stickers
from tests.shop import DEMO_UNITS, demo, view_of

READERS = {"labels": misread, "stickers": misread_stickers}


def printable(wanted: list[str]) -> dict[str, Printable]:
    """Return the shipped stock that can be printed on, by name: of these names, or all."""
    known = {name: stock for name, stock in all_stock().items() if isinstance(stock, Printable)}
    return {name: stock for name, stock in sorted(known.items()) if not wanted or name in wanted}


def read_back(what: str, stock: Printable, most: int | None) -> tuple[int, list[str]]:
    """Print one kind of piece of both units at each resolution; return how many symbols there are, and what fails.

    Args:
        what: labels or stickers.
        stock: what they are printed on.
        most: pieces of each unit; None: all.
    """
    total, faults = 0, []
    for unit, dpi in itertools.product(DEMO_UNITS, RESOLUTIONS):
        count, found = READERS[what](view_of(demo(unit)), stock, dpi, most=most)
        total += count
        faults += found
    return total, faults


def rows(quick: bool) -> Iterator[Row]:
    """Yield the rows of the benchmark table: a few pieces on every stock; all of them are read by hand."""
    most = 1 if quick else 6
    stocks = printable([])
    for what in READERS:
        found = [read_back(what, stock, most) for stock in stocks.values()]
        for fault in itertools.chain.from_iterable(faults for _, faults in found):
            print(fault)
        sample = f"{sum(count for count, _ in found):,} symbols: the first {most} of each unit, {len(stocks)} stocks, "
        sample += "203, 300 and 600 dpi, two decoders"
        yield Row(f"{what} misread", sum(len(faults) for _, faults in found), bar=0, sample=sample)


def main() -> None:
    """Print a line for each stock."""
    for name, stock in printable(sys.argv[1:]).items():
        for what in READERS:
            total, faults = read_back(what, stock, None)
            told = "".join(f"\n    {fault}" for fault in faults[:5])
            print(f"{name:24} {what:9} {total - len(faults)} of {total}{told}", flush=True)


if __name__ == "__main__":
    main()
