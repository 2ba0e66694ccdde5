"""How much processor time the worksheets of a unit take, from the profile in memory to the bytes of the PDF.

Run by hand: `python -m tests.bench.bench_worksheets`.
"""

from __future__ import annotations

import io
from collections.abc import Iterator
from functools import partial

from labelkit.load.stock import find_stock
from labelkit.model.media import Paper
from labelkit.render import write
from labelkit.sheets.jobview import JobView
from labelkit.sheets.worksheets import worksheet_pages
from tests.bench.rows import Row, least
from tests.shop import DEMO_UNITS, demo, view_of


def rows(quick: bool) -> Iterator[Row]:
    """Yield the best of some runs for each demo unit, trays and order worked out before, as in a kit."""
    paper = find_stock("a4", ("paper",))
    times = 1 if quick else 5
    for unit in DEMO_UNITS:
        view = view_of(demo(unit))
        assert view.order
        assert view.trays
        seconds, count = least(partial(_pages, view, paper), times)
        yield Row("worksheets", seconds, "s", sample=f"{unit}, {count} pages, best of {times}, processor time")


def _pages(view: JobView, paper: Paper) -> int:
    pages = [*worksheet_pages(view, paper)]
    write(pages, ".pdf", io.BytesIO(), title="worksheets")
    return len(pages)


def main() -> None:
    """Print the rows."""
    for row in rows(quick=False):
        print(f"{row.name:14}{row.measured:>10}  {row.sample}")


if __name__ == "__main__":
    main()
