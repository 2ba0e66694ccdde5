"""A catalogue of 100,000 numbers: read, joined with an order, written; and the order of a unit of 10,000 parts.

Run by hand: python -m tests.bench.bench_orders
"""

from __future__ import annotations

import time
from collections.abc import Callable
from typing import TypeVar

from labelkit.calc.assembly import assembly_order
from labelkit.calc.needs import roll_up, shortage
from labelkit.calc.steps import teardown
from labelkit.load.catalogue import catalogue_csv, parse_catalogue
from labelkit.model.catalogue import Catalogue
from labelkit.model.profile import Profile

LINES = 100_000
T = TypeVar("T")


def timed(what: str, call: Callable[[], T]) -> T:
    """Print the least processor time of three runs, s; return what the last one gave."""
    least = float("inf")
    for _ in range(3):
        start = time.process_time()
        found = call()
        least = min(least, time.process_time() - start)
    print(f"{what:44}{least:8.2f} s")
    return found


def catalogue_text() -> bytes:
    """Return a catalogue as a counter exports it."""
    rows = (
        f"N{k:06};Ring {k};S{k % 50};{k % 9 + 1};{k % 977},{k % 100:02};{k % 40};R{k % 60}-{k % 9};EUR"
        for k in range(LINES)
    )
    return "\n".join(["number;name;supplier;pack;price;on shelf;location;currency", *rows]).encode()


def unit(parts: int) -> Profile:
    """Return a unit of so many parts in sub-assemblies of ten, every third of them always renewed."""
    groups = [
        {
            "id": f"g{group}",
            "name": f"G{group}",
            "parts": [
                {
                    "id": f"p{group}-{k}",
                    "name": f"P{group}-{k}",
                    "number": f"N{(group * 9 + k) * 7 % LINES:06}",
                    "renew": "always" if k % 3 == 0 else "if_worn",
                }
                for k in range(9)
            ],
        }
        for group in range(parts // 10)
    ]
    header = {"mark": "T1", "name": "Test", "up": "top"}
    return Profile.model_validate({"format": "1", "unit": header, "parts": groups})


def main() -> None:
    """Print the times."""
    data = catalogue_text()
    catalogue = timed(f"read {LINES} numbers ({len(data) / 1e6:.1f} MB)", lambda: parse_catalogue(data, "x")).catalogue
    timed("write them", lambda: catalogue_csv(catalogue))
    for parts in (100, 10_000):
        order_times(parts, catalogue)


def order_times(parts: int, catalogue: Catalogue) -> None:
    """Print the times of a unit of so many parts."""
    profile = unit(parts)
    removal = teardown(profile, {})
    order = assembly_order(profile, removal)
    needs = timed(f"order of {parts} parts", lambda: roll_up(profile, removal, order, catalogue=catalogue))
    timed(f"shortage of {parts} parts", lambda: shortage(needs, order, {}))


if __name__ == "__main__":
    main()
