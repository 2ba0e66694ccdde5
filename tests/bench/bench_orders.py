"""A catalogue of 100,000 numbers: read, joined with an order, written; and the order of a unit of 10,000 parts.

Run by hand: python -m tests.bench.bench_orders
"""

from __future__ import annotations

from collections.abc import Iterator
from functools import partial

from labelkit.calc.assembly import assembly_order
from labelkit.calc.needs import roll_up
from labelkit.calc.shortage import shortage
from labelkit.calc.steps import teardown
from labelkit.load.catalogue import parse_catalogue
from labelkit.model.profile import Profile
from tests.bench.rows import Row, least

LINES = 100_000
BAR = 2.0  # s


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


def rows(quick: bool) -> Iterator[Row]:
    """Yield the times, each the least processor time of three runs."""
    data = catalogue_text()
    reading, loaded = least(lambda: parse_catalogue(data, "x"), 1 if quick else 3)
    catalogue = loaded.catalogue
    sample = f"{LINES:,} lines, {len(data) / 1e6:.1f} MB, processor time"
    yield Row("catalogue read", reading, "s", sample=sample)
    for parts in (100, 10_000):
        profile = unit(parts)
        removal = teardown(profile, {})
        order = assembly_order(profile, removal)
        rolling, needs = least(partial(roll_up, profile, removal, order, catalogue=catalogue))
        yield Row("order, joined with the catalogue", rolling, "s", sample=f"a unit of {parts:,} parts")
        yield Row("shortage", least(partial(shortage, needs, order, {}))[0], "s", sample=f"a unit of {parts:,} parts")
    sample = f"{LINES:,} lines, a unit of 10,000 parts"
    yield Row("catalogue read and joined with an order", reading + rolling, "s", BAR, sample=sample)


def main() -> None:
    """Print the times."""
    for row in rows(quick=False):
        print(f"{row.name:44}{row.measured:>12}  {row.verdict:8}{row.sample}")


if __name__ == "__main__":
    main()
