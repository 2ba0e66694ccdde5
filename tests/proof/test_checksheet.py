"""A scanned check sheet says which sheet it is, and is measured along its own axes."""

from __future__ import annotations

import io
from pathlib import Path

import cv2
import numpy as np
import pytest
from PIL import Image

from labelkit.errors import InputError
from labelkit.model.printer import CheckMark, Factors
from labelkit.proof.checksheet import is_drawn, read_check_sheet
from tests.checksheets import save_scan, scanned, sheet_pdf

A4 = sheet_pdf()
DPI = 150  # of the scans here, the least that is promised; tests of the crosses try others
SECOND = sheet_pdf("letter", landscape=True, printer="laser-2", x=1.004, y=0.997)


@pytest.mark.parametrize("quarters", range(4))
def test_whichever_edge_lay_at_the_top(tmp_path: Path, quarters: int) -> None:
    """x is the page's x axis, also where it runs down the scan; a printer off by 0.5 and -0.3 percent."""
    pixels = scanned(A4, print_x=1.005, print_y=0.997, quarters=quarters, dpi=DPI)
    found = read_check_sheet(save_scan(tmp_path / "scan.png", pixels, DPI))

    assert CheckMark("a4", False) == found.mark
    assert (140.7, 139.58) == pytest.approx((found.x_mm, found.y_mm), rel=0.0005)
    assert not found.drawn


def test_the_second_sheet_says_for_whom_it_was_drawn(tmp_path: Path) -> None:
    """Printer, paper, page orientation and factors; a printer with just this error makes it true."""
    pixels = scanned(SECOND, print_x=1 / 1.004, print_y=1 / 0.997, dpi=DPI)
    found = read_check_sheet(save_scan(tmp_path / "scan.png", pixels, DPI))

    assert CheckMark("letter", True, "laser-2", Factors(1.004, 0.997)) == found.mark
    assert (140, 140) == pytest.approx((found.x_mm, found.y_mm), rel=0.0005)


def test_the_dpi_given_count(tmp_path: Path) -> None:
    """A scan that says no dpi, or wrong ones, is measured by those that the user gives."""
    for number, said in enumerate((None, 600)):
        path = save_scan(tmp_path / f"{number}.png", scanned(A4, dpi=DPI), said)

        assert (140, 140) == pytest.approx((read_check_sheet(path, dpi=DPI).x_mm,) * 2, rel=0.0005)


def test_a_scan_in_a_pdf_has_its_own_size(tmp_path: Path) -> None:
    """As many scanners save it; dpi only say how finely it is looked at."""
    stream = io.BytesIO()
    Image.fromarray(scanned(A4, dpi=DPI)).save(stream, "PDF", resolution=DPI)
    (tmp_path / "scan.pdf").write_bytes(stream.getvalue())

    for dpi in (None, 400.0):
        found = read_check_sheet(tmp_path / "scan.pdf", dpi=dpi)
        assert (140, 140) == pytest.approx((found.x_mm, found.y_mm), rel=0.0005)
        assert not found.drawn


def test_the_file_itself_is_no_scan(tmp_path: Path) -> None:
    """Whoever measures the drawing learns nothing of the printer."""
    (tmp_path / "check.pdf").write_bytes(A4)
    found = read_check_sheet(tmp_path / "check.pdf")

    assert found.drawn
    assert (140, 140) == pytest.approx((found.x_mm, found.y_mm), rel=0.0002)
    assert is_drawn(tmp_path / "check.pdf")


def refused(path: Path, **how: float) -> str:
    with pytest.raises(InputError) as error:
        read_check_sheet(path, **how)
    return str(error.value)


def test_a_scan_without_dpi_is_refused(tmp_path: Path) -> None:
    """Dots alone have no length."""
    path = save_scan(tmp_path / "scan.png", scanned(A4, dpi=150), None)

    assert f"{path}: does not say how many dots per inch it has; give them with --dpi" == refused(path)


def test_another_page_is_refused(tmp_path: Path) -> None:
    """Without the sheet's symbol nobody knows which axis is which."""
    path = save_scan(tmp_path / "scan.png", np.full((1500, 1200), 255, np.uint8))

    assert "the symbol of a check sheet is not read; scan the whole sheet flat on the glass" in refused(path)


@pytest.mark.parametrize("dpi", [None, 75.0])
def test_a_scan_that_lacks_a_cross_is_refused(tmp_path: Path, dpi: float | None) -> None:
    """Cut off on the right, or of all crosses where the dpi are not those of the scan."""
    pixels = scanned(A4, dpi=DPI)
    path = save_scan(tmp_path / "scan.png", pixels if dpi else pixels[:, : pixels.shape[1] * 8 // 10].copy(), DPI)

    assert "the crosses of the check sheet are not found at " in refused(path, **({"dpi": dpi} if dpi else {}))


def test_a_photograph_is_refused(tmp_path: Path) -> None:
    """Seen a little from below: a lens says nothing about a printer."""
    pixels = scanned(A4, dpi=DPI)
    height, width = pixels.shape
    corners = np.array([[0, 0], [width, 0], [width, height], [0, height]], np.float32)
    seen = corners + np.array([[12, 0], [-12, 0], [0, 0], [0, 0]], np.float32)
    photo = cv2.warpPerspective(pixels, cv2.getPerspectiveTransform(corners, seen), (width, height), borderValue=255.0)

    assert "the crosses stand askew, as in a photograph" in refused(save_scan(tmp_path / "p.png", photo, DPI))
