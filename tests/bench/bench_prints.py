"""Every label and every sticker of both demo units on every shipped stock, at three resolutions, read by two decoders.

Run by hand: python -m tests.bench.bench_prints [STOCK...]
"""

from __future__ import annotations

import sys

from labelkit.load.stock import all_stock
from labelkit.model.stock import Printable
from tests.prints import report
from tests.shop import DEMO_UNITS, demo, view_of


def main() -> None:
    """Print the table."""
    wanted = sys.argv[1:]
    stocks = {
        name: stock
        for name, stock in all_stock().items()
        if isinstance(stock, Printable) and (not wanted or name in wanted)
    }
    for line in report({unit: view_of(demo(unit)) for unit in DEMO_UNITS}, stocks):
        print(line, flush=True)


if __name__ == "__main__":
    main()
