"""Reads prints of labels and stickers back: rasterises each page, and asks two decoders that share no code."""

from __future__ import annotations

import io

from labelkit.model.media import Printable
from labelkit.proof.decode import read_symbols
from labelkit.proof.raster import pictures_of
from labelkit.render import write
from labelkit.sheets.jobview import JobView
from labelkit.sheets.kit import label_texts
from labelkit.sheets.labels import LabelSheets
from labelkit.sheets.newparts import new_parts
from labelkit.sheets.stickers import StickerSheets
from tests.shop import second_decoder

RESOLUTIONS = (203.2, 300.0, 600.0)


def misread(view: JobView, stock: Printable, dpi: float, *, most: int | None = None) -> tuple[int, list[str]]:
    """Print the labels of a job and read them back.

    Returns:
        How many symbols there are, and a line for each that one of the decoders does not read as it should.
    """
    bins = view.teardown.bins[:most]
    sheets = LabelSheets(view, bins, stock, texts=label_texts(view, bins, offline=False))
    return _misread(sheets, dpi)


def misread_stickers(view: JobView, stock: Printable, dpi: float, *, most: int | None = None) -> tuple[int, list[str]]:
    """Print stickers for all parts of a job, as if everything were condemned, and read them back, as `misread`."""
    names = [each.step for each in view.teardown.bins] + [each.part.id for each in view.teardown.inside]
    new = new_parts(view, dict.fromkeys(names, "condemned"))
    return _misread(StickerSheets(view, new.picks[:most], new.needs, stock), dpi)


def _misread(sheets: LabelSheets | StickerSheets, dpi: float) -> tuple[int, list[str]]:
    stream = io.BytesIO()
    write(sheets.pages(), ".pdf", stream, title="print")
    count, faults = 0, []
    for picture in pictures_of(stream.getvalue(), "print.pdf", dpi=dpi):
        placed = [each for each in sheets.placed if each.page == picture.page]
        printed = round(max(box.bottom + box.width for piece in placed for box in piece.symbols) / 25.4 * dpi)
        first = {reading.text for reading in read_symbols(picture.pixels[:printed], thorough=False)}
        for piece in placed:
            for box in piece.symbols:
                count += 1
                margin = box.width * 0.14
                left, top = (int((value - margin) / 25.4 * dpi) for value in (box.x, box.y))
                side = int((box.width + 2 * margin) / 25.4 * dpi)
                crop = picture.pixels[max(0, top) : top + side, max(0, left) : left + side]
                second = second_decoder(crop)
                if piece.text not in first:
                    faults.append(f"{sheets.stock.name} {dpi:g} dpi {piece.text}: first decoder")
                if second != {piece.text}:
                    faults.append(f"{sheets.stock.name} {dpi:g} dpi {piece.text}: second decoder {second or ''}")
    return count, faults
