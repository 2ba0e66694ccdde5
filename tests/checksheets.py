"""Check sheets for several tests: written, read back by pdfium, and scanned as a flatbed would."""

from __future__ import annotations

import io
from functools import lru_cache
from pathlib import Path

import cv2
import numpy as np
import pypdfium2
from numpy.typing import NDArray
from PIL import Image

from labelkit.load.stock import find_stock
from labelkit.model.printer import Factors
from labelkit.render import write
from labelkit.sheets.printersheet import check_sheet

MM = 72 / 25.4
_FINEST_DPI = 600


@lru_cache(maxsize=16)
def sheet_pdf(
    paper: str = "a4", *, landscape: bool = False, printer: str | None = None, x: float = 1, y: float = 1
) -> bytes:
    """Return the file of a check sheet, drawn with factors x and y."""
    stream = io.BytesIO()
    page = check_sheet(find_stock(paper, ("paper",)), landscape=landscape, printer=printer, factors=Factors(x, y))
    write([page], ".pdf", stream, title="check sheet")
    return stream.getvalue()


def crosses_in(pdf: bytes) -> list[tuple[float, float]]:
    """Return the middles of the crosses of 8 mm that stand in a file, mm, row by row from the left; by pdfium."""
    document = pypdfium2.PdfDocument(pdf)
    page = document[0]
    found = []
    for thing in page.get_objects():
        left, bottom, right, top = (length / MM for length in thing.get_bounds())
        if 8.0 < right - left < 8.5 and 8.0 < top - bottom < 8.5:  # with the width of its lines
            found.append(((left + right) / 2, page.get_height() / MM - (top + bottom) / 2))
    document.close()
    return sorted(found, key=lambda place: (round(place[1]), place[0]))


def distances_in(pdf: bytes) -> tuple[float, float]:
    """Return how far apart the crosses of a file are, mm, along x and y; there must be four, as a rectangle."""
    (left, top), (right, level), (below, low), fourth = crosses_in(pdf)
    assert np.allclose([level, below, *fourth], [top, left, right, low], atol=0.01)
    return right - left, low - top


@lru_cache(maxsize=4)
def _drawn(pdf: bytes, dpi: float) -> tuple[NDArray[np.uint8], NDArray[np.float64]]:
    """Return a page as dots, and its size in mm."""
    document = pypdfium2.PdfDocument(pdf)
    dots = document[0].render(scale=dpi / 72, grayscale=True).to_numpy().squeeze().copy()
    size = np.array(document[0].get_size()) / MM
    document.close()
    return dots, size


def scanned(
    pdf: bytes,
    *,
    dpi: float = 300,
    turn_deg: float = 0.7,
    print_x: float = 1.0,
    print_y: float = 1.0,
    quarters: int = 0,
    blur: float = 0.8,
    noise: float = 6.0,
    contrast: float = 0.82,
) -> NDArray[np.uint8]:
    """Print a file and scan it: scaled by the printer, laid askew on the glass, out of focus, grey, with noise.

    Args:
        pdf: the file.
        dpi: of the scan.
        turn_deg: how far the sheet lies askew, clockwise.
        print_x: what the printer makes of a length along the page's x axis.
        print_y: the same along y.
        quarters: quarter turns of the sheet on the glass, counterclockwise.
        blur: radius of the blur, dots.
        noise: standard deviation, grey levels.
        contrast: of ink against paper, 0 to 1.
    """
    return _scan(pdf, dpi, turn_deg, print_x, print_y, quarters, blur, noise, contrast).copy()


@lru_cache(maxsize=4)
def _scan(
    pdf: bytes,
    dpi: float,
    turn_deg: float,
    print_x: float,
    print_y: float,
    quarters: int,
    blur: float,
    noise: float,
    contrast: float,
) -> NDArray[np.uint8]:
    fine_dpi = min(2 * dpi, _FINEST_DPI)
    fine, size = _drawn(pdf, fine_dpi)
    # From dots of the drawing to mm, through the printer and onto the glass, to dots finer than the scanner's.
    drawn = np.array(fine.shape[::-1]) / size  # the renderer rounds a page up to whole dots
    turn = np.radians(turn_deg)
    turned = np.array([[np.cos(turn), -np.sin(turn)], [np.sin(turn), np.cos(turn)]])
    matrix = turned @ np.diag([print_x, print_y])
    dots = fine_dpi / 25.4
    linear = dots * matrix @ np.diag(1 / drawn)
    shift = dots * (size / 2 - matrix @ size / 2) + linear @ np.full(2, 0.5) - 0.5
    times = round(fine_dpi / dpi)
    assert times * dpi == fine_dpi
    whole = [int(side * dots) // times * times for side in size]
    askew = cv2.warpAffine(fine, np.column_stack((linear, shift)), whole, flags=cv2.INTER_CUBIC, borderValue=255.0)
    seen = cv2.resize(askew, (whole[0] // times, whole[1] // times), interpolation=cv2.INTER_AREA)
    seen = cv2.GaussianBlur(seen, (0, 0), blur)
    cv2.setRNGSeed(7)
    grain = cv2.randn(np.empty(seen.shape, np.int8), 0, noise)
    seen = cv2.add(cv2.convertScaleAbs(seen, alpha=contrast, beta=245 - 255 * contrast), grain, dtype=cv2.CV_8U)
    return np.rot90(seen, quarters).astype(np.uint8, copy=False)


def save_scan(path: Path, pixels: NDArray[np.uint8], dpi: float | None = 300) -> Path:
    """Write a scan as a PNG that says its dots per inch, or not."""
    Image.fromarray(pixels).save(path, compress_level=0, **({} if dpi is None else {"dpi": (dpi, dpi)}))
    return path
