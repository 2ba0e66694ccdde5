"""Pictures of symbols and sheets, drawn by segno and reportlab: nothing that the readers share."""

from __future__ import annotations

import io
from collections.abc import Callable, Sequence

import numpy as np
import pytest
import segno
from numpy.typing import NDArray
from reportlab.pdfgen.canvas import Canvas

MM = 72 / 25.4
MODULE_MM = 0.5


def dark_modules(text: str, *, level: str = "h") -> NDArray[np.bool_]:
    """Return the modules of a text's symbol."""
    return np.array(segno.make(text, error=level, micro=False, boost_error=False).matrix, dtype=bool)


def picture_of(text: str, *, px: int = 4, frame_px: int = 0, around_px: int = 12) -> NDArray[np.uint8]:
    """Draw a symbol with its quiet zone, and a frame around that, on white."""
    symbol = np.kron(np.pad(~dark_modules(text), 4, constant_values=True), np.ones((px, px))) * 255
    framed = np.pad(symbol, frame_px, constant_values=0)
    return np.pad(framed, around_px, constant_values=255).astype(np.uint8)


def sheet_pdf(
    texts: Sequence[str],
    places: Sequence[tuple[float, float]],
    *,
    scale: tuple[float, float] = (1.0, 1.0),
    turn_deg: float = 0.0,
    size_mm: tuple[float, float] = (210.0, 297.0),
) -> bytes:
    """Print symbols, corners in mm from the top left; the whole page scaled and turned about its middle."""
    stream = io.BytesIO()
    width, height = size_mm
    canvas = Canvas(stream, pagesize=(width * MM, height * MM))
    canvas.translate(0, height * MM)
    canvas.scale(MM, -MM)
    canvas.translate(width / 2, height / 2)
    canvas.rotate(turn_deg)
    canvas.scale(*scale)
    canvas.translate(-width / 2, -height / 2)
    for text, (x, y) in zip(texts, places, strict=True):
        path = canvas.beginPath()
        for row, column in np.argwhere(dark_modules(text)).tolist():
            path.rect(x + column * MODULE_MM, y + row * MODULE_MM, MODULE_MM, MODULE_MM)
        canvas.drawPath(path, fill=1, stroke=0)
    canvas.showPage()
    canvas.save()
    return stream.getvalue()


@pytest.fixture(scope="session")
def draw() -> Callable[..., NDArray[np.uint8]]:
    """Draw a symbol on white."""
    return picture_of


@pytest.fixture(scope="session")
def print_sheet() -> Callable[..., bytes]:
    """Print a sheet of symbols as PDF."""
    return sheet_pdf
