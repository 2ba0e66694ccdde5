"""How much processor time the worksheets of a unit take, from the profile in memory to the bytes of the PDF.

Run by hand: `python -m tests.bench.bench_worksheets`.
"""

from __future__ import annotations

import io
import time

from labelkit.load.stock import find_stock
from labelkit.model.stock import Paper
from labelkit.render import write
from labelkit.sheets.jobview import JobView
from labelkit.sheets.worksheets import worksheet_pages
from tests.shop import DEMO_UNITS, demo, view_of


def main() -> None:
    """Print the best of five runs for each demo unit, trays and order worked out before, as in a kit."""
    paper = find_stock("a4", ("paper",))
    assert isinstance(paper, Paper)
    for unit in DEMO_UNITS:
        view = view_of(demo(unit))
        assert view.order
        assert view.trays
        best = min(_run(view, paper) for _ in range(5))
        print(f"{unit}: {best:.3f} s")


def _run(view: JobView, paper: Paper) -> float:
    start = time.process_time()
    write(worksheet_pages(view, paper), ".pdf", io.BytesIO(), title="worksheets")
    return time.process_time() - start


if __name__ == "__main__":
    main()
