"""The check sheet: true in its file, complete on every paper, and said in words that can be typed."""

from __future__ import annotations

import io
import re

import numpy as np
import pytest

from labelkit.drawing.page import Box, Page, Symbol, Text
from labelkit.errors import CapacityError
from labelkit.language import LANGUAGES, speaking
from labelkit.load.stock import find_stock
from labelkit.model.printer import CheckMark, Factors
from labelkit.proof.decode import read_symbols
from labelkit.proof.raster import pictures_of
from labelkit.render import write
from labelkit.sheets.legible import LEAST
from labelkit.sheets.printersheet import check_sheet
from labelkit.sheets.ruler import FREE
from tests.checksheets import crosses_in, distances_in, sheet_pdf
from tests.shop import apply

PAPERS = ["a4", "letter", "legal", "a3", "tabloid", "b4"]
SHEETS = [
    (paper, landscape, printer) for paper in PAPERS for landscape in (False, True) for printer in (None, "laser-2")
]


def page_of(paper: str, landscape: bool = False, printer: str | None = None, factors: Factors | None = None) -> Page:
    return check_sheet(find_stock(paper, ("paper",)), landscape=landscape, printer=printer, factors=factors)


def words_on(page: Page) -> str:
    return " ".join(item.string for item, _ in page.walk() if isinstance(item, Text))


@pytest.mark.parametrize(
    ("x", "y", "expected"), [(1, 1, (140, 140)), (1.004, 0.997, (140.56, 139.58)), (0.9851, 1.0149, (137.914, 142.086))]
)
@pytest.mark.parametrize("landscape", [False, True])
def test_the_file_holds_the_factors(x: float, y: float, expected: tuple[float, float], landscape: bool) -> None:
    """Distances of the crosses read back from the file by pdfium: 140 mm times the factor of each axis."""
    assert expected == pytest.approx(distances_in(sheet_pdf(landscape=landscape, printer="p", x=x, y=y)), abs=0.005)


@pytest.mark.parametrize(("paper", "landscape", "printer"), SHEETS)
def test_every_sheet_is_complete(paper: str, landscape: bool, printer: str | None) -> None:
    """Four crosses, two rulers, its symbol, four steps, paper and page orientation, on every paper."""
    page = page_of(paper, landscape, printer)
    said = words_on(page)
    (symbol,) = (item for item, _ in page.walk() if isinstance(item, Symbol))

    assert page.find("ruler x")
    assert page.find("ruler y")
    assert all(page.find(f"check {number}") for number in range(1, 5))
    assert all(page.find(name) for name in ("printer", "caliper", "keyboard", "true page"))
    assert CheckMark(paper, landscape, printer) == CheckMark.of(symbol.text)
    assert ("landscape" if landscape else "portrait") in said
    assert (paper.upper() if any(letter.isdigit() for letter in paper) else paper.capitalize()) in said
    assert "1 2 3 4" == " ".join(word for word in said.split() if word in "1234")


@pytest.mark.parametrize(("paper", "landscape", "printer"), SHEETS)
def test_words_have_room_and_can_be_read(paper: str, landscape: bool, printer: str | None) -> None:
    """No line runs into another or off the paper (7 mm stay free), none is cut or smaller than can be read."""
    has_room(page_of(paper, landscape, printer and "the-printer-in-the-office-upstairs"))


@pytest.mark.parametrize("code", [code for code in LANGUAGES if code != "en"])
@pytest.mark.parametrize(("landscape", "printer"), [(False, None), (True, None), (False, "laser-2"), (True, "laser-2")])
def test_words_have_room_in_every_language(code: str, landscape: bool, printer: str | None) -> None:
    """No sentence is left in English, commands stay as they are typed, and the symbol does not know the language."""
    plain = page_of("a4", landscape, printer)
    with speaking(code):
        page = page_of("a4", landscape, printer)
    ours, english = words_on(page), words_on(plain)

    has_room(page)
    assert [item for item, _ in page.walk() if isinstance(item, Symbol)] == [
        item for item, _ in plain.walk() if isinstance(item, Symbol)
    ]
    assert re.findall("--[a-z]+", english) == re.findall("--[a-z]+", ours)
    assert not {"print", "readings", "sheet", "paper", "scan", "printer"} & {
        word.strip(".:,") for word in re.sub(r"--\w+|labelkit printer", "", ours).split()
    }


def has_room(page: Page) -> None:
    lines = []
    for item, matrix in page.walk():
        if isinstance(item, Text) and matrix[1] == 0:
            x, y = apply(matrix, item.box.x, item.box.y)
            lines.append((item, Box(x, y, item.box.width, item.box.height)))
    free = Box(0, 0, page.width, page.height).inset(7)

    for number, (text, box) in enumerate(lines):
        assert free.holds(box), text.string
        assert [other.string for other, there in lines[:number] if there.overlaps(box)] == [], text.string
        assert "…" not in text.string
        assert text.size * 0.66 > LEAST, text.string


@pytest.mark.parametrize(("paper", "landscape", "printer"), SHEETS)
def test_nothing_touches_a_check_cross(paper: str, landscape: bool, printer: str | None) -> None:
    """Within 7 mm of its middle there is the cross and nothing else; it is 7 mm from the edge of the paper."""
    page = page_of(paper, landscape, printer)
    stream = io.BytesIO()
    write([page], ".pdf", stream, title="x")
    (picture,) = pictures_of(stream.getvalue(), "x.pdf", dpi=254)
    free = round(FREE * 10)
    for x, y in crosses_in(stream.getvalue()):
        column, row = round(x * 10), round(y * 10)
        near = picture.pixels[row - free : row + free, column - free : column + free] < 200
        near[free - 2 : free + 2, :] = near[:, free - 2 : free + 2] = False

        assert near.shape == (2 * free, 2 * free)
        assert not near.any()


@pytest.mark.parametrize("landscape", [False, True])
def test_the_symbol_is_read_from_the_print(landscape: bool) -> None:
    """At 150 dpi, the coarsest scan that is measured."""
    (picture,) = pictures_of(
        sheet_pdf("letter", landscape=landscape, printer="laser-2", x=1.004, y=0.997), "x", dpi=150
    )
    (reading,) = read_symbols(picture.pixels, thorough=False)

    assert CheckMark("letter", landscape, "laser-2", Factors(1.004, 0.997)) == CheckMark.of(reading.text)


def test_the_first_sheet_says_what_to_type() -> None:
    """The command for its paper and page orientation, then the one for the second sheet."""
    said = words_on(page_of("a4", landscape=True))

    assert "labelkit printer NAME --paper a4 --landscape --read X Y" in said
    assert "labelkit printer NAME --paper a4 --landscape --sheet check.pdf" in said
    assert "Print this page at 100 %" in said


def test_the_second_sheet_says_for_whom_it_is() -> None:
    """Its printer and factors, and the command that judges it."""
    said = words_on(page_of("letter", printer="laser-2", factors=Factors(1.004, 0.997)))

    assert "SECOND CHECK" in said
    assert "Drawn with the factors of laser-2, x 1.0040 y 0.9970. Both axes must now read 140.0 ± 0.2 mm." in said
    assert "labelkit printer laser-2 --paper letter --again X Y" in said


@pytest.mark.parametrize("factor", [0.9851, 1.0149])
def test_a_scaled_sheet_stays_on_the_paper(factor: float) -> None:
    """The room shrinks with the factor: what is printed keeps its distance from the edges."""
    (picture,) = pictures_of(sheet_pdf("letter", printer="p", x=factor, y=factor), "x", dpi=127)
    rows, columns = np.nonzero(picture.pixels < 128)

    assert min(rows.min(), columns.min()) / 5 >= 7
    assert (columns.max() + 1) / 5 <= 215.9 - 7
    assert (rows.max() + 1) / 5 <= 279.4 - 7


@pytest.mark.parametrize(("paper", "landscape"), [("a5", False), ("a5", True), ("b5", True), ("a6", False)])
def test_paper_that_is_too_small_is_told(paper: str, landscape: bool) -> None:
    """With the least size that would do."""
    with pytest.raises(CapacityError, match=rf"{paper} (portrait|landscape), .* is too small for crosses 140 mm apart"):
        page_of(paper, landscape)


def test_the_sheet_can_be_an_svg() -> None:
    """The same page through the other writer."""
    stream = io.BytesIO()
    write([page_of("a4")], ".svg", stream, title="check sheet")

    assert b'width="210mm"' in stream.getvalue()
