"""Read the check sheet of a printer from a scan: what it says about itself, and how far its crosses are apart."""

from __future__ import annotations

from dataclasses import dataclass
from pathlib import Path
from typing import Final

from labelkit.errors import InputError
from labelkit.model.printer import CheckMark
from labelkit.proof.crosses import Dpi, find_crosses
from labelkit.proof.decode import Reading, read_symbols
from labelkit.proof.raster import PRINT_DPI, Picture, read_pictures

_SCAN: Final = "scan the whole sheet flat on the glass, at 300 dpi or more, in grey"
_PDF: Final = b"%PDF-"
_OURS: Final = b"/Creator (labelkit)"  # as labelkit.render.pdf writes it


@dataclass(frozen=True, slots=True)
class ScannedSheet:
    """A check sheet as measured.

    Attributes:
        mark: what its symbol says: paper, page orientation, and the printer whose factors it was drawn with.
        x_mm: distance of its crosses along the page's x axis.
        y_mm: the same along the y axis.
        drawn: this is the sheet's own file and no scan of a print.
    """

    mark: CheckMark
    x_mm: float
    y_mm: float
    drawn: bool


def read_check_sheet(file: Path, *, dpi: float | None = None) -> ScannedSheet:
    """Measure a scanned check sheet, whichever edge lay at the top of the glass.

    Args:
        file: a picture or a PDF; of several pages the first counts.
        dpi: true dots per inch of a picture; None: as the file says. A page of a PDF has its own size.

    Raises:
        InputError: not readable, no check sheet, not all of it, no flat scan, or a file that does not say its dpi.
    """
    picture = next(read_pictures(file, dpi=dpi or PRINT_DPI))
    across = picture.dpi if dpi is None or _is_pdf(file) else (dpi, dpi)
    if across is None:
        raise InputError(f"{file}: does not say how many dots per inch it has; give them with --dpi")
    found = _marked(picture)
    if found is None:
        raise InputError(f"{file}: the symbol of a check sheet is not read; {_SCAN}")
    x_mm, y_mm = _distances(picture, across, found[1])
    return ScannedSheet(found[0], x_mm, y_mm, is_drawn(file))


def is_drawn(file: Path) -> bool:
    """Say whether a file is a PDF of ours, and so no scan of a print."""
    return _is_pdf(file) and _OURS in file.read_bytes()


def _is_pdf(file: Path) -> bool:
    with file.open("rb") as stream:
        return _PDF in stream.read(1024)


def _distances(picture: Picture, dpi: Dpi, symbol: Reading) -> tuple[float, float]:
    """Return the distances of the crosses along the x and y axis of the page, which the symbol shows."""
    crosses = find_crosses(picture.pixels, dpi)
    if crosses is None:
        raise InputError(
            f"{picture.name}: the crosses of the check sheet are not found at {dpi[0]:.0f} dpi; {_SCAN}, "
            "straight to some degrees; is the dpi right?"
        )
    if not crosses.flat:
        raise InputError(f"{picture.name}: the crosses stand askew, as in a photograph; a lens is not true: {_SCAN}")
    along_x = symbol.corners[1] - symbol.corners[0]
    upright = abs(along_x[0]) >= abs(along_x[1])
    return (crosses.x_mm, crosses.y_mm) if upright else (crosses.y_mm, crosses.x_mm)


def _marked(picture: Picture) -> tuple[CheckMark, Reading] | None:
    for thorough in (False, True):
        for reading in read_symbols(picture.pixels, thorough=thorough):
            if mark := CheckMark.of(reading.text):
                return mark, reading
    return None
