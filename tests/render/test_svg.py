"""SVG read back as XML, by fontTools, and as a browser shows it."""

import io
import re
from base64 import b64decode
from xml.etree import ElementTree

import numpy as np
import pytest
import zxingcpp
from fontTools.ttLib import TTFont
from PIL import Image

from labelkit.drawing import qr, text
from labelkit.drawing.fonts import font_file
from labelkit.drawing.page import Box, Group, Page, Path, Pen, Symbol, line, moved, rectangle
from labelkit.render.svg import font_face_css, letters_used, svg_fragment, svg_text, write_svg
from tests.bench_app.phones import a_screen

CARD = "http://192.168.1.20:8080/7K3M9Q2XF41"
SVG = "{http://www.w3.org/2000/svg}"
XML = "{http://www.w3.org/XML/1998/namespace}"


def parsed(*items):
    """Return the root element of a page of 100 x 50 mm."""
    return ElementTree.fromstring(svg_text(Page(100, 50, items), title="Test").encode())


def symbol(module=1.0, frame=0.7):
    """Return a symbol 2 mm from the left, 3 mm from the top."""
    return Symbol(2, 3, qr.encode(CARD, "Q"), module, frame, CARD)


@pytest.fixture(scope="module")
def screen(browser):
    """Return a page of Chromium at 4 dots per CSS pixel."""
    with a_screen(browser, device_scale_factor=4, viewport={"width": 400, "height": 300}) as page:
        yield page


def show(screen, content):
    """Show some HTML or SVG."""
    screen.set_content(content)
    screen.evaluate("document.fonts.ready")


def picture(screen, mode="L"):
    """Return what the browser shows, as an array of grey values or colours."""
    return np.array(Image.open(io.BytesIO(screen.screenshot())).convert(mode))


def test_same_page_gives_the_same_text(sheet):
    """Nothing depends on the run."""
    assert svg_text(sheet(), title="Test") == svg_text(sheet(), title="Test")


def test_size_is_in_mm():
    """One unit of the drawing is one millimetre on paper."""
    root = parsed()

    assert (root.get("width"), root.get("height"), root.get("viewBox")) == ("100mm", "50mm", "0 0 100 50")


def test_the_file_is_utf8_with_a_header():
    """What is written to a stream are the bytes of the text."""
    stream = io.BytesIO()
    write_svg(Page(20, 10, (text.line("Ж", 1, 5, 4),)), stream, title="Вал")

    assert stream.getvalue().startswith(b'<?xml version="1.0" encoding="UTF-8"?>\n<svg ')
    assert "Вал" in stream.getvalue().decode("utf-8")


def test_words_are_escaped():
    """Angle brackets, ampersands and quotes are letters, in text and title alike."""
    words = "<b> & \"quoted\" 'too'"
    root = ElementTree.fromstring(
        svg_text(Page(100, 50, (text.line(words, 1, 2, 3),)), title=words, subject="a < b").encode()
    )

    assert root.find(f"{SVG}text").text == words
    assert root.find(f"{SVG}title").text == words
    assert root.find(f"{SVG}desc").text == "a < b"


def test_text_has_its_place_and_its_measured_length():
    """Whatever letters a viewer has, the line begins at its place and keeps its measured length."""
    drawn = text.line("Input shim", 60, 20, 4, "bold", "end")
    found = parsed(drawn).find(f"{SVG}text")

    assert float(found.get("x")) == pytest.approx(drawn.left, abs=0.0005)
    assert float(found.get("textLength")) == pytest.approx(drawn.width, abs=0.0005)
    assert (found.get("y"), found.get("font-size"), found.get("font-weight")) == ("20", "4", "700")


def test_a_line_of_two_faces_is_one_text():
    """It can be copied in one piece, and the letters of the fallback ask for their family."""
    found = parsed(text.line("M8 Болт", 1, 2, 3)).find(f"{SVG}text")

    assert "".join(found.itertext()) == "M8 Болт"
    assert [part.get("font-family") for part in found] == [None, "Noto Sans, sans-serif"]


def test_spaces_are_kept_where_they_count():
    """Two spaces in a row, and one at the end, are as wide as they were measured."""
    ends, plain = parsed(text.line("a  b ", 1, 2, 3), text.line("a b", 1, 2, 3)).findall(f"{SVG}text")

    assert ends.get(f"{XML}space") == "preserve"
    assert plain.get(f"{XML}space") is None


def test_a_symbol_is_one_path_without_snapped_edges():
    """All modules are one path: no seams, and no edges moved by the screen."""
    root = parsed(symbol())

    assert len(root.findall(f".//{SVG}path")) == 1
    assert "crispEdges" not in ElementTree.tostring(root).decode()


def test_paths_have_pen_fill_and_dash():
    """Every property of a path arrives."""
    found = parsed(Path((("M", 1, 2), ("C", 1, 2, 3, 4, 5, 6.5), ("Z",)), Pen(0.35, "#112233", (2, 1)), "#445566"))

    assert found.find(f"{SVG}path").attrib == {
        "d": "M1 2C1 2 3 4 5 6.5Z",
        "fill": "#445566",
        "fill-rule": "evenodd",
        "stroke": "#112233",
        "stroke-width": "0.35",
        "stroke-dasharray": "2 1",
    }


def test_groups_carry_their_matrix():
    """A moved group is one element, a group that does not move is none."""
    inner = Group((line(0, 0, 1, 1, Pen(1)),), matrix=moved(3, 4))
    root = parsed(Group((inner,)))

    assert [group.get("transform") for group in root.iter(f"{SVG}g")] == ["matrix(1 0 0 1 3 4)"]


def test_used_letters_are_embedded_with_their_widths():
    """The file brings every letter that it uses, as wide as in the whole font. Source: fontTools."""
    css = font_face_css(letters_used([Group((text.line("Ab Ж", 0, 0, 4), text.line("Z", 0, 0, 4, "bold")))]))
    rules = re.findall(r"font-family:'(.+?)';font-weight:(\d+);src:url\(data:font/ttf;base64,(.+?)\)", css)
    found = {}
    for family, weight, data in rules:
        font = TTFont(io.BytesIO(b64decode(data)))
        letters = {chr(code): font["hmtx"][name][0] for code, name in font.getBestCmap().items()}
        found[family, weight] = letters

    def whole(face, letters):
        font = TTFont(font_file(face))
        return {letter: font["hmtx"][font.getBestCmap()[ord(letter)]][0] for letter in letters}

    assert found == {
        ("Atkinson Hyperlegible", "400"): whole("regular", "Ab "),
        ("Atkinson Hyperlegible", "700"): whole("bold", "Z"),
        ("Noto Sans", "400"): whole("fallback", "Ж"),
    }


def test_a_page_without_text_brings_no_font():
    """There is nothing to embed."""
    assert parsed(symbol()).find(f".//{SVG}style") is None


def test_a_fragment_is_a_named_picture_in_the_page_s_ink():
    """It has no header, says what it shows, and black and white follow the page."""
    items = (rectangle(Box(0, 0, 9, 9), Pen(1), "#ffffff"), rectangle(Box(0, 0, 2, 2), fill="#cc0000"))
    fragment = svg_fragment(items, Box(-1, -1, 11, 11), title="Ring & washer, seen from above")
    root = ElementTree.fromstring(fragment)

    assert fragment.startswith("<svg")
    assert (root.get("role"), root.get("viewBox")) == ("img", "-1 -1 11 11")
    assert (root[0].tag, root[0].text) == ("title", "Ring & washer, seen from above")
    assert [(path.get("stroke"), path.get("fill")) for path in root.iter("path")] == [
        ("currentColor", "var(--paper, #ffffff)"),
        (None, "#cc0000"),
    ]


def test_a_symbol_in_a_fragment_stays_black_on_white():
    """Scanners read dark on light only, whatever the page."""
    root = ElementTree.fromstring(svg_fragment((symbol(),), Box(0, 0, 60, 60), title="QR"))

    assert [part.get("fill") for part in (*root.iter("rect"), *root.iter("path"))] == ["#ffffff", "#000000"]


def test_a_browser_shows_a_symbol_that_decodes(screen):
    """What the screen shows can be scanned. Source: Chromium and zxing-cpp."""
    show(screen, svg_fragment((symbol(0.4),), Box(0, 0, 30, 30), title="QR"))

    found = zxingcpp.read_barcodes(picture(screen), formats=zxingcpp.BarcodeFormat.QRCode)

    assert [one.text for one in found] == [CARD]


@pytest.mark.parametrize(("face", "words"), [("regular", "AV To Selective shim fi 2.60"), ("bold", "Прокладка Ω 12")])
def test_a_browser_sets_text_as_wide_as_it_was_measured(screen, face, words):
    """With the embedded letters, and without being told the length, a browser sets the same width to 0.3 %.

    Source: Chromium, getComputedTextLength. The PDF is held to the same measure in test_pdf.
    """
    drawn = text.line(words, 2, 12, 5, face)
    show(screen, svg_text(Page(100, 20, (drawn,)), title="Test"))

    found = screen.evaluate("""() => {
        const line = document.querySelector("text");
        line.removeAttribute("textLength");
        return line.getComputedTextLength();
    }""")

    assert found == pytest.approx(drawn.width, rel=0.003)


def test_a_browser_paints_a_fragment_in_the_colours_of_a_dark_page(screen):
    """Lines take the page's ink, white areas its paper."""
    items = (rectangle(Box(0, 0, 20, 20), fill="#ffffff"), rectangle(Box(5, 5, 5, 5), fill="#000000"))
    dark = "<body style='margin:0;background:#000;color:#ffcc00;--paper:#202020'>"
    show(screen, dark + svg_fragment(items, Box(0, 0, 20, 20), title="dark"))
    dots = picture(screen, "RGB")
    mm = 4 * 96 / 25.4

    assert tuple(dots[int(2 * mm), int(2 * mm)]) == (0x20, 0x20, 0x20)
    assert tuple(dots[int(7 * mm), int(7 * mm)]) == (0xFF, 0xCC, 0x00)
