"""PDFs read back by independent implementations: pdfium, poppler, Ghostscript, zxing."""

import gc
import io
import shutil
import subprocess

import numpy as np
import pypdfium2.raw as pdfium
import pytest
import zxingcpp
from PIL import Image

from labelkit.drawing import qr, text
from labelkit.drawing.page import (
    Box,
    Group,
    Page,
    Path,
    Pen,
    Symbol,
    line,
    moved,
    rectangle,
)
from labelkit.errors import OutputError
from labelkit.language import speaking
from labelkit.render.pdf import write_pdf

CARD = "http://192.168.1.20:8080/7K3M9Q2XF41"
# Modules in whole dots of thermal (203.2, 300 dpi) and laser (600 dpi) printers. Common practice, no source.
GRIDS = [(203.2, 3), (203.2, 4), (300, 5), (300, 6), (600, 10), (600, 12)]
LEFT, TOP, SIDE = 37, 51, 600  # dots from the corner of the page to the modules; dots along the page


def aligned(dpi, dots, frame=0.7):
    """Return a page with a symbol whose modules lie on the dots of a printer, and its matrix."""
    matrix = qr.encode(CARD, "H")
    dot = 25.4 / dpi
    module = dots * dot
    margin = 4 * module + frame
    symbol = Symbol(LEFT * dot - margin, TOP * dot - margin, matrix, module, frame, CARD)
    return Page(SIDE * dot, SIDE * dot, (symbol,)), matrix


def wrong_dots(picture, matrix, dots):
    """Count the dots of a printed symbol that are not as its modules say."""
    side = matrix.size * dots
    expected = np.array([[matrix.dark(x // dots, y // dots) for x in range(side)] for y in range(side)])
    return int(((picture[TOP : TOP + side, LEFT : LEFT + side] < 128) != expected).sum())


def by_poppler(data, dpi, folder, *options):
    """Return a page as poppler paints it."""
    if not shutil.which("pdftoppm"):
        pytest.skip("poppler's pdftoppm is not installed")
    (folder / "page.pdf").write_bytes(data)
    subprocess.run(["pdftoppm", *options, "-r", str(dpi), "page.pdf", "page"], cwd=folder, check=True)
    return np.array(Image.open(next(folder.glob("page-*"))).convert("L"))


def by_ghostscript(data, dpi, folder):
    """Return a page as Ghostscript paints it for a printer that knows black and white."""
    if not shutil.which("gs"):
        pytest.skip("Ghostscript is not installed")
    (folder / "page.pdf").write_bytes(data)
    command = ["gs", "-q", "-dNOPAUSE", "-dBATCH", "-dSAFER", "-sDEVICE=pbmraw", f"-r{dpi}"]
    subprocess.run([*command, "-sOutputFile=page.pbm", "page.pdf"], cwd=folder, check=True)
    return np.array(Image.open(folder / "page.pbm").convert("L"))


def test_same_pages_give_the_same_bytes(read_back, sheet):
    """Nothing in the file depends on the clock, the machine or the run."""
    assert read_back(sheet()).data == read_back(sheet()).data


def test_other_pages_have_another_fingerprint(read_back, sheet):
    """The file's identifier follows its content. Source: ISO 32000-1, file identifiers."""
    first, second = (read_back(sheet(number)).data for number in (1, 2))

    assert first[first.rindex(b"/ID") :] != second[second.rindex(b"/ID") :]


@pytest.mark.parametrize(("width", "height"), [(210, 297), (297, 210), (101.6, 50.8), (62, 1000), (12.3, 45.6)])
def test_page_size_is_exact(read_back, width, height):
    """The sheet is as large as it was drawn, to 0.01 mm."""
    assert read_back(Page(width, height, ())).size() == pytest.approx((width, height), abs=0.01)


@pytest.mark.parametrize("dpi", [203.2, 300, 600])
def test_a_page_of_whole_dots_gets_no_dot_more(read_back, dpi):
    """A page that is 600 dots wide is 600 dots wide when it is painted."""
    page, _ = aligned(dpi, 3)

    assert read_back(page).dots(dpi).shape == (SIDE, SIDE)


def test_a_long_line_is_true_to_length(read_back):
    """500 mm are 500 mm to a hundredth, at the place where they were drawn."""
    reader = read_back(Page(600, 100, (rectangle(Box(50.123, 40, 500, 0.5), fill="#000000"),)))

    assert reader.boxes() == [pytest.approx((50.123, 40, 550.123, 40.5), abs=0.01)]


def test_a_stroke_ends_where_it_is_drawn(read_back):
    """A line is exactly as long as its ends say and as wide as its pen: 20 x 2 mm."""
    picture = read_back(Page(40, 40, (line(10, 20, 30, 20, Pen(2)),))).dots(254)
    rows, columns = np.nonzero(picture < 128)

    assert (columns.min(), columns.max() + 1) == (100, 300)
    assert (rows.min(), rows.max() + 1) == (190, 210)


def test_dashes_have_their_lengths(read_back):
    """3 mm of ink, 2 mm of none, beginning with ink."""
    picture = read_back(Page(40, 20, (line(0, 10, 40, 10, Pen(2, dash=(3, 2))),))).dots(254)

    dark = picture[100] < 128
    expected = [x % 50 < 30 for x in range(400)]

    assert (dark != expected).sum() <= 16  # one dot at either end of a dash


def test_solid_lines_follow_dashed_ones(read_back):
    """A dash ends with the line that asked for it."""
    items = (line(0, 5, 40, 5, Pen(2, dash=(3, 2))), line(0, 15, 40, 15, Pen(2)))

    assert (read_back(Page(40, 20, items)).dots(254)[150] < 128).all()


def test_holes_stay_open(read_back):
    """An outline inside an outline is a hole whichever way round it runs (even-odd)."""
    outer = rectangle(Box(5, 5, 30, 30)).d
    inner = rectangle(Box(15, 15, 10, 10)).d
    reader = read_back(Page(40, 40, (Path((*outer, *inner), None, "#3366cc"),)))

    assert reader.colour_at(10, 10) == (0x33, 0x66, 0xCC)
    assert reader.colour_at(20, 20) == (255, 255, 255)


def test_a_path_is_filled_below_its_line(read_back):
    """Fill and pen have their own colours, and the line lies on top."""
    reader = read_back(Page(40, 40, (rectangle(Box(5, 5, 30, 30), Pen(2, "#ff0000"), "#00ff00"),)))

    assert [reader.colour_at(x, 20) for x in (3, 5, 20)] == [(255, 255, 255), (255, 0, 0), (0, 255, 0)]


def test_curves_bend(read_back):
    """A quarter circle of 20 mm radius, as one cubic, passes its middle at 45 degrees.

    Source: common practice, factor 0.5523 for a quarter circle.
    """
    k = 20 * (1 - 0.5523)
    arc = Path((("M", 5, 25), ("C", 5, 5 + k, 5 + k, 5, 25, 5)), Pen(0.6))
    middle = 25 - 20 / 2**0.5

    assert read_back(Page(40, 40, (arc,))).colour_at(middle, middle) == (0, 0, 0)


def test_groups_move_turn_and_scale(read_back):
    """A matrix takes the group's frame to the page's: turned a quarter to the right, doubled, shifted."""
    group = Group((rectangle(Box(1, 2, 5, 3), fill="#000000"),), matrix=(0, 2, -2, 0, 50, 10))
    inner = Group((group,), matrix=moved(3, 4))
    reader = read_back(Page(100, 100, (inner,)))

    # (1, 2) and (6, 5) go to (-4, 2) and (-10, 12), then by (50, 10) and (3, 4).
    expected = [10 * edge for edge in (43, 16, 49, 26)]

    rows, columns = np.nonzero(reader.dots(254) < 128)

    assert [columns.min(), rows.min(), columns.max() + 1, rows.max() + 1] == pytest.approx(expected, abs=1)


def test_a_group_leaves_no_trace(read_back):
    """Colour, pen and font set inside a moved group do not reach what comes after it."""
    black = rectangle(Box(0, 0, 5, 5), fill="#000000")
    red = Group((rectangle(Box(0, 0, 5, 5), fill="#ff0000"),), matrix=moved(10, 0))
    after = rectangle(Box(20, 0, 5, 5), fill="#000000")
    red_after = rectangle(Box(30, 0, 5, 5), fill="#ff0000")
    reader = read_back(Page(40, 10, (black, red, after, red_after)))

    assert [reader.colour_at(x, 2) for x in (2, 12, 22, 32)] == [
        (0, 0, 0),
        (255, 0, 0),
        (0, 0, 0),
        (255, 0, 0),
    ]


def test_viewers_do_not_scale_the_print(read_back):
    """The file asks for no scaling. Source: ISO 32000-1, viewer preferences, PrintScaling None."""
    reader = read_back(Page(50, 50, ()))

    assert not pdfium.FPDF_VIEWERREF_GetPrintScaling(reader.document.raw)


def test_the_file_says_what_it_is_and_not_who_made_it(read_back):
    """Title and subject are there; author, dates and keywords are not."""
    reader = read_back(Page(50, 50, ()))
    said = reader.document.get_metadata_dict(skip_empty=True)

    assert said.pop("Title") == "Test"
    assert said.pop("Subject") == "of the writer"
    assert said.keys() <= {"Creator", "Producer"}
    assert b"/Author" not in reader.data


def test_fonts_are_embedded_in_part(read_back, sheet):
    """Every font travels with the file, and of each only the letters used: 40 kB hold three faces."""
    reader = read_back(sheet())
    fonts = [pdfium.FPDFTextObj_GetFont(thing.raw) for thing in reader.page.get_objects(filter=[1], max_depth=3)]

    assert len(fonts) >= 24 * 6
    assert all(pdfium.FPDFFont_GetIsEmbedded(font) for font in fonts)
    assert len(reader.data) < 40_000


@pytest.mark.parametrize(
    "words",
    [
        "Input shim",
        "".join(map(chr, range(33, 127))),
        "(a) \\ b (c \\( d)",
        "Прокладка регулировочная",
        "Παξιμάδι Ω",
        "Ø 72 × 2.60 ±0.01 mm – ½ °C ‹›",
        "Łożysko, kroužek, Größe",
    ],
)
def test_text_reads_back_as_it_was_drawn(read_back, words):
    """What a search or a screen reader finds is what the label says."""
    reader = read_back(Page(400, 20, (text.line(words, 5, 10, 4),)))

    assert reader.page.get_textpage().get_text_range() == words


def test_no_letter_is_lost_where_it_stands_twice(read_back, tmp_path):
    """A letter's number in its font may be that of a line feed, of which Ghostscript makes one out of two."""
    if not shutil.which("gs"):
        pytest.skip("Ghostscript is not installed")
    words = "".join(3 * chr(code) for code in range(48, 123) if chr(code).isalnum())
    (tmp_path / "page.pdf").write_bytes(read_back(Page(400, 20, (text.line(words, 5, 10, 3),))).data)

    command = ["gs", "-q", "-dNOPAUSE", "-dBATCH", "-dSAFER", "-sDEVICE=txtwrite", "-sOutputFile=page.txt", "page.pdf"]
    subprocess.run(command, cwd=tmp_path, check=True)

    assert (tmp_path / "page.txt").read_text("utf-8").split() == [words]


def test_more_letters_than_one_font_holds_read_back(read_back):
    """A PDF font of one byte a letter holds 256: with 600 letters the face is split, and all can be read."""
    letters = [chr(code) for code in (*range(0x100, 0x240), *range(0x400, 0x500)) if chr(code).isalpha()]
    rows = ["".join(letters[start : start + 40]) for start in range(0, len(letters), 40)]
    items = tuple(text.line(row, 5, 10 + 8 * number, 4, "bold") for number, row in enumerate(rows))

    found = read_back(Page(400, 297, items)).page.get_textpage().get_text_range()

    assert len(letters) > 512
    assert found.split() == rows


@pytest.mark.parametrize(("face", "anchor"), [("regular", "start"), ("bold", "end"), ("regular", "middle")])
def test_text_is_as_wide_as_it_was_measured(read_back, face, anchor):
    """The line begins and ends where its box says, to 0.02 mm. Source: pdfium, boxes of letters."""
    drawn = text.line("H 2.60 – Selective shim Ж H", 100, 10, 6, face, anchor)
    reader = read_back(Page(200, 20, (drawn,)))
    page = reader.page.get_textpage()
    boxes = [page.get_charbox(number, loose=True) for number in range(page.count_chars())]

    assert boxes[0][0] * 25.4 / 72 == pytest.approx(drawn.box.x, abs=0.02)
    assert boxes[-1][2] * 25.4 / 72 == pytest.approx(drawn.box.right, abs=0.02)


def test_text_is_as_tall_as_it_was_measured(read_back):
    """Ink reaches from the top of the box to its bottom: capitals 14 mm, and the depth of the p."""
    drawn = text.line("Hp", 5, 25, text.size_for_cap(14), "regular")
    rows = np.nonzero((read_back(Page(60, 40, (drawn,))).dots(254) < 128).any(axis=1))[0]

    assert rows.min() == pytest.approx(drawn.box.y * 10, abs=1)
    assert rows.max() + 1 == pytest.approx(drawn.box.bottom * 10, abs=1)


def test_a_letter_that_no_face_has_shows_as_a_box(read_back):
    """Something is drawn in its place, so that nobody takes the text for complete."""
    assert (read_back(Page(20, 20, (text.line("\N{SNOWMAN}", 5, 15, 10),))).dots(100) < 128).any()


@pytest.mark.parametrize(("dpi", "dots"), GRIDS)
def test_modules_are_whole_dots_in_pdfium(read_back, dpi, dots):
    """A symbol on the printer's grid has not one wrong dot."""
    page, matrix = aligned(dpi, dots)

    assert wrong_dots(read_back(page).dots(dpi), matrix, dots) == 0


@pytest.mark.parametrize(("dpi", "dots"), GRIDS)
def test_modules_are_whole_dots_in_poppler(read_back, dpi, dots, tmp_path):
    """Not one wrong dot, also where every dot that is touched is painted."""
    page, matrix = aligned(dpi, dots)

    assert wrong_dots(by_poppler(read_back(page).data, dpi, tmp_path, "-mono"), matrix, dots) == 0


@pytest.mark.parametrize(("dpi", "dots"), [(203.2, 3), (300, 5), (600, 10)])
def test_modules_are_whole_dots_in_ghostscript(read_back, dpi, dots, tmp_path):
    """Not one wrong dot in a printer's black and white."""
    page, matrix = aligned(dpi, dots)

    assert wrong_dots(by_ghostscript(read_back(page).data, dpi, tmp_path), matrix, dots) == 0


@pytest.mark.parametrize("renderer", ["pdfium", "poppler"])
def test_dark_areas_have_no_seams(read_back, tmp_path, renderer):
    """No line shows between rectangles that touch, at any scale: inside, dark is at most 1/8 grey."""
    matrix = qr.encode(CARD, "H")
    reader = read_back(Page(50, 50, (Symbol(3.3, 4.7, matrix, 1.137, 0, CARD),)))
    dpi = 187.0
    dots = reader.dots(dpi) if renderer == "pdfium" else by_poppler(reader.data, dpi, tmp_path, "-gray")
    module = 1.137 / 25.4 * dpi
    left, top = ((corner + 4 * 1.137) / 25.4 * dpi for corner in (3.3, 4.7))
    seams = []
    for y in range(matrix.size - 1):
        for x in range(matrix.size - 1):
            if all(matrix.dark(x + i, y + j) for i in (0, 1) for j in (0, 1)):
                rows = slice(round(top + (y + 0.5) * module), round(top + (y + 1.5) * module))
                columns = slice(round(left + (x + 0.5) * module), round(left + (x + 1.5) * module))
                seams.append(int(dots[rows, columns].max()))

    assert len(seams) > 50
    assert max(seams) <= 32


@pytest.mark.parametrize("dpi", [150, 203.2, 300, 600])
def test_every_symbol_of_a_sheet_decodes(read_back, sheet, dpi):
    """24 labels, 24 texts, whatever the resolution. Source: zxing-cpp, an independent reader."""
    expected = {f"http://192.168.1.20:8080/7K3M9Q2X{number:04d}" for number in range(1, 25)}

    found = zxingcpp.read_barcodes(read_back(sheet()).dots(dpi), formats=zxingcpp.BarcodeFormat.QRCode)

    assert {symbol.text for symbol in found if symbol.valid} == expected


def test_a_turned_symbol_decodes(read_back):
    """A symbol in a turned group says the same."""
    symbol = Symbol(0, 0, qr.encode(CARD, "Q"), 0.8, 0, CARD)
    page = Page(60, 60, (Group((symbol,), matrix=(0.8, 0.6, -0.6, 0.8, 28, 5)),))

    found = zxingcpp.read_barcodes(read_back(page).dots(300), formats=zxingcpp.BarcodeFormat.QRCode)

    assert [one.text for one in found] == [CARD]


def test_the_quiet_zone_is_white_on_any_ground(read_back):
    """Four modules round the symbol are white and the frame lies outside them."""
    symbol = Symbol(5, 5, qr.encode(CARD, "Q"), 1, 0.7, CARD)
    ground = rectangle(Box(0, 0, 60, 60), fill="#808080")
    picture = read_back(Page(60, 60, (ground, symbol))).dots(254)[:, 200]

    assert [picture[10 * y + 5] for y in (1, 4)] == [0x80, 0x80]
    assert (picture[51:56] < 20).all()  # frame: 5.0 to 5.7 mm
    assert (picture[58:96] == 255).all()  # quiet zone: 5.7 to 9.7 mm
    assert symbol.inner.y == pytest.approx(9.7)


def test_a_rich_label_costs_little(read_back, sheet):
    """Six lines of text, a frame and a symbol take less than 1 kB once the fonts are in the file."""
    one, three = read_back(sheet()).data, read_back(sheet(1), sheet(25), sheet(49)).data

    assert (len(three) - len(one)) / 48 < 1000


def test_pages_are_written_as_they_come(sheet):
    """A page is let go before the next but one is made: ten thousand labels need no more room than a few."""
    alive = []

    def pages():
        for number in range(4):
            gc.collect()
            alive.append(sum(isinstance(thing, Page) for thing in gc.get_objects()))
            yield sheet(24 * number)

    gc.freeze()  # what was there before is not looked through
    try:
        write_pdf(pages(), io.BytesIO(), title="many")
    finally:
        gc.unfreeze()

    assert max(alive) - alive[0] <= 1


def test_a_document_names_its_language(sheet):
    """ISO 32000-1, 14.9.2: a voice that reads it aloud speaks the language that the catalogue names."""
    with speaking("de"):
        write_pdf([sheet()], stream := io.BytesIO(), title="Etiketten")

    assert b"/Lang (de)" in stream.getvalue()


def test_no_page_is_an_error():
    """A file without a page would not open; the error names it."""
    with pytest.raises(OutputError, match="Bin labels: there is no page"):
        write_pdf([], io.BytesIO(), title="Bin labels")
