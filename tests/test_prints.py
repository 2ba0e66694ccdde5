"""Prints read back: labels on every shipped stock decode with two decoders that share no code.

The whole matrix, every label of both units at every resolution, is `python -m tests.bench.bench_prints`.
"""

from __future__ import annotations

import pytest

from labelkit.load.stock import all_stock
from labelkit.model.stock import Printable
from tests.prints import RESOLUTIONS, misread
from tests.shop import demo, view_of

STOCK = {name: stock for name, stock in all_stock().items() if isinstance(stock, Printable)}


@pytest.mark.parametrize("name", sorted(STOCK))
def test_labels_decode_on_every_stock(name: str) -> None:
    """The first labels of the reducer on this stock read right at one resolution; the stocks take turns."""
    dpi = RESOLUTIONS[sorted(STOCK).index(name) % len(RESOLUTIONS)]

    count, faults = misread(view_of(demo("planetary-reducer")), STOCK[name], dpi, most=6)
    assert count >= 6
    assert faults == []
