"""Faces: where they are, which letters they have, how wide these are."""

import subprocess
import sys

import pytest
from fontTools.ttLib import TTFont
from reportlab.pdfbase.ttfonts import TTFont as ReportlabFont

from labelkit.drawing import fonts
from labelkit.errors import NotFoundError, UsageError


@pytest.mark.parametrize("face", fonts.FACES)
def test_widths_are_those_of_the_pdf_library(face):
    """Every letter is exactly as wide here as the PDF writer sets it. Source: reportlab, TTFont widths."""
    library = ReportlabFont(face, str(fonts.font_file(face))).face
    expected = {chr(code): width / 1000 for code, width in library.charWidths.items() if code in library.charToGlyph}

    assert {letter: fonts.metrics(face).letter(letter)[0] for letter in expected} == pytest.approx(expected)


def test_a_missing_letter_has_the_width_of_the_box_that_the_pdf_draws():
    """A letter that no face has takes the room of the box. Source: reportlab, width of glyph 0."""
    expected = ReportlabFont("regular", str(fonts.font_file("regular"))).face.defaultWidth / 1000

    face, width, _, _ = fonts.setting("regular")["\N{SNOWMAN}"]

    assert (face, width) == ("regular", expected)


@pytest.mark.parametrize("face", fonts.FACES)
def test_names_are_those_of_the_files(face):
    """Family and weight are what the font files say of themselves. Source: fontTools, name and OS/2."""
    font = TTFont(fonts.font_file(face))
    expected = (font["name"].getDebugName(1), font["OS/2"].usWeightClass)

    assert (fonts.FAMILY[face], fonts.WEIGHT[face]) == expected


@pytest.mark.parametrize("face", fonts.FACES)
def test_sizes_are_fractions_of_the_em(face):
    """Capitals are some seven tenths of the em, small letters half; some reach below the line."""
    sizes = fonts.metrics(face)

    assert 0.6 < sizes.cap_height < 0.75
    assert 0.45 < sizes.letter("x")[1] < 0.6
    assert sizes.letter("g")[2] < 0


@pytest.mark.parametrize(
    ("letter", "face", "expected"),
    [
        ("A", "regular", "regular"),
        ("A", "bold", "bold"),
        ("Ж", "regular", "fallback"),
        ("ά", "bold", "fallback"),
        ("\N{SNOWMAN}", "bold", "bold"),
    ],
)
def test_a_letter_comes_from_its_face_or_from_the_fallback(letter, face, expected):
    """The face asked for comes first, then the fallback; a letter of neither stays with the face."""
    assert fonts.setting(face)[letter][0] == expected


def test_the_trade_s_signs_are_in_both_faces():
    """Diameter, degrees, tolerance, times, newton-metre's dot, fractions, dashes: no fallback is needed."""
    signs = "Ø°±×·½¼¾µ²³–—…≤≥≈−ÄÖÜäöüßÉéÅåŁłŻżČčŘř"

    assert {fonts.setting("regular")[sign][0] for sign in signs} == {"regular"}
    assert {fonts.setting("bold")[sign][0] for sign in signs} == {"bold"}


def test_missing_letters_are_named_once_in_order():
    """What no face has is listed, so that a sheet can warn; what is written otherwise is not missing."""
    assert fonts.missing_letters("a\N{SNOWMAN}Ж⌀→\N{BLACK STAR}\N{SNOWMAN}") == [
        "\N{SNOWMAN}",
        "\N{BLACK STAR}",
    ]


def test_nothing_is_missing_in_plain_text():
    """An empty text and plain words miss nothing."""
    assert fonts.missing_letters("") == fonts.missing_letters("Input shim") == []


@pytest.mark.parametrize(
    ("text", "expected"),
    [
        ("plain", "plain"),
        ("Å", "Å"),
        ("a\tb\nc\r", "a b c "),
        ("Dicht\u00adring\u200b", "Dichtring"),
        ("12\u00a0kg", "12\u00a0kg"),
        ("⌀ 72 → out", "Ø 72 -> out"),
        ("\u202eabc\x00\x1b", "abc"),
        ("\ud800", "\ufffd"),
        ("two\u2028lines", "two lines"),
    ],
)
def test_text_is_cleaned_before_it_is_set(text, expected):
    """Accents join, line breaks become spaces, what cannot be seen goes. Source: Unicode categories, NFC."""
    assert fonts.clean(text) == expected


def test_an_unknown_face_is_refused():
    """The error says what was given, what is allowed and what was meant."""
    with pytest.raises(UsageError, match=r"'blod'.*regular, bold, fallback.*did you mean bold"):
        fonts.font_file("blod")


def test_a_missing_package_is_named(monkeypatch):
    """Where a font package is not installed, the error names it."""
    monkeypatch.setattr(fonts, "find_spec", lambda name: None)

    with pytest.raises(NotFoundError, match=r"NotoSans.*fontpkg-noto-sans"):
        fonts.font_file("fallback")


def test_the_fallback_is_not_read_for_plain_text():
    """Plain words read the two small faces alone, and no PDF library with them."""
    script = """
import sys
from labelkit.drawing import fonts
read = []
real = fonts.font_file
fonts.font_file = lambda face: read.append(face) or real(face)
from labelkit.drawing.text import measure
measure("Input shim 2.60 mm ±0.01", "regular", 4)
measure("12", "bold", 20)
print(read, "reportlab" in sys.modules, "fontTools" in sys.modules)
measure("Ж", "bold", 20)
print(read[2:])
"""
    run = subprocess.run([sys.executable, "-c", script], capture_output=True, text=True, check=True)

    assert run.stdout.splitlines() == ["['regular', 'bold'] False False", "['fallback']"]
