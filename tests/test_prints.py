"""Prints read back: labels and stickers decode on every stock that is theirs, with two decoders that share no code.

The whole matrix, every label and sticker of both units at every resolution, is `python -m tests.bench.bench_prints`.
"""

from __future__ import annotations

import pytest

from labelkit.load.stock import all_stock
from labelkit.model.media import Printable
from tests.prints import RESOLUTIONS, misread, misread_stickers
from tests.shop import demo, view_of

STOCK = {name: stock for name, stock in all_stock().items() if isinstance(stock, Printable)}


@pytest.mark.parametrize("name", sorted(STOCK))
def test_labels_decode_on_every_stock(name: str) -> None:
    """The first labels of the reducer on this stock read right at one resolution; the stocks take turns."""
    dpi = RESOLUTIONS[sorted(STOCK).index(name) % len(RESOLUTIONS)]

    count, faults = misread(view_of(demo("planetary-reducer")), STOCK[name], dpi, most=6)
    assert count >= 6
    assert faults == []


STICKERS = sorted(name for name, stock in STOCK.items() if stock.kind == "stickers")


@pytest.mark.parametrize("name", STICKERS)
def test_stickers_decode_on_every_sticker_stock(name: str) -> None:
    """The first stickers of the reducer read right at one resolution; the stocks take turns."""
    dpi = RESOLUTIONS[STICKERS.index(name) % len(RESOLUTIONS)]

    count, faults = misread_stickers(view_of(demo("planetary-reducer")), STOCK[name], dpi, most=8)
    assert count == 8
    assert faults == []
