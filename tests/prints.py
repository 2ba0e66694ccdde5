"""Reads label prints back: rasterises each page, and asks two decoders that share no code about each symbol."""

from __future__ import annotations

import io
from collections.abc import Iterator

from labelkit.model.stock import Printable
from labelkit.proof.decode import read_symbols
from labelkit.proof.raster import pictures_of
from labelkit.render import write
from labelkit.sheets.jobview import JobView
from labelkit.sheets.kit import label_texts
from labelkit.sheets.labels import LabelSheets
from tests.shop import second_decoder

RESOLUTIONS = (203.2, 300.0, 600.0)


def misread(view: JobView, stock: Printable, dpi: float, *, most: int | None = None) -> tuple[int, list[str]]:
    """Print the labels of a job and read them back.

    Returns:
        How many symbols there are, and a line for each that one of the decoders does not read as it should.
    """
    bins = view.teardown.bins[:most]
    sheets = LabelSheets(view, bins, stock, texts=label_texts(view, bins, offline=False))
    stream = io.BytesIO()
    write(sheets.pages(), ".pdf", stream, title="print")
    count, faults = 0, []
    for picture in pictures_of(stream.getvalue(), "labels.pdf", dpi=dpi):
        first = {reading.text for reading in read_symbols(picture.pixels, thorough=False)}
        for label in (each for each in sheets.placed if each.page == picture.page):
            for box in label.symbols:
                count += 1
                margin = box.width * 0.14
                left, top = (int((value - margin) / 25.4 * dpi) for value in (box.x, box.y))
                side = int((box.width + 2 * margin) / 25.4 * dpi)
                crop = picture.pixels[max(0, top) : top + side, max(0, left) : left + side]
                second = second_decoder(crop)
                if label.text not in first:
                    faults.append(f"{stock.name} {dpi:g} dpi step {label.bin.step}: first decoder")
                if second != {label.text}:
                    faults.append(f"{stock.name} {dpi:g} dpi step {label.bin.step}: second decoder {second or ''}")
    return count, faults


def report(views: dict[str, JobView], stocks: dict[str, Printable]) -> Iterator[str]:
    """Yield a line for each stock with the figures of every job and resolution."""
    for name, stock in sorted(stocks.items()):
        total, faults = 0, []
        for view in views.values():
            for dpi in RESOLUTIONS:
                count, found = misread(view, stock, dpi)
                total += count
                faults += found
        yield f"{name:24} {total - len(faults)} of {total}" + "".join(f"\n    {fault}" for fault in faults[:5])
