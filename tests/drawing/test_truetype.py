"""A small reader of TrueType files, held against fontTools on the installed fonts."""

import io
import unicodedata

import pytest
from fontTools.pens.recordingPen import DecomposingRecordingPen
from fontTools.ttLib import TTFont

from labelkit.drawing.fonts import FACES, font_file
from labelkit.drawing.truetype import TrueType


@pytest.fixture(params=FACES)
def path(request):
    """Return the file of each face."""
    return font_file(request.param)


def outline(font, letter):
    """Return how fontTools draws a letter, its composites taken apart."""
    glyphs = font.getGlyphSet()
    pen = DecomposingRecordingPen(glyphs)
    glyphs[font.getBestCmap()[ord(letter)]].draw(pen)
    return pen.value


def test_knows_the_letters_of_the_font(path):
    """It finds every letter of a font and no other. Source: fontTools, best character map."""
    expected = TTFont(path).getBestCmap()
    glyph_names = TTFont(path).getGlyphOrder()

    found = {code: glyph_names[glyph] for code, glyph in TrueType(path.read_bytes()).letters.items()}

    assert found == expected


def test_reads_the_same_map_from_either_table():
    """Letters below U+10000 are the same in both maps: 16-bit numbers (format 4), 32-bit (format 12)."""
    font = TTFont(font_file("fallback"))
    only_16_bits = io.BytesIO()
    font["cmap"].tables = [table for table in font["cmap"].tables if table.format == 4]
    expected = {code for code in TrueType(font_file("fallback").read_bytes()).letters if code < 0x10000}

    font.save(only_16_bits)

    assert set(TrueType(only_16_bits.getvalue()).letters) == expected


def test_widths_are_those_of_the_font(path):
    """Every letter is as wide as fontTools says. Source: fontTools, hmtx."""
    theirs = TTFont(path)
    ours = TrueType(path.read_bytes())
    expected = {code: theirs["hmtx"][name][0] for code, name in theirs.getBestCmap().items()}

    assert {code: ours.advance(glyph) for code, glyph in ours.letters.items()} == expected


def test_heights_are_those_of_the_outlines(path):
    """Every letter reaches as high and as low as fontTools says. Source: fontTools, glyf."""
    theirs = TTFont(path)
    ours = TrueType(path.read_bytes())
    glyphs = {code: theirs["glyf"][name] for code, name in theirs.getBestCmap().items()}
    expected = {
        code: (getattr(glyph, "yMax", 0), getattr(glyph, "yMin", 0)) if glyph.numberOfContours else (0, 0)
        for code, glyph in glyphs.items()
    }

    assert {code: ours.reach(glyph) for code, glyph in ours.letters.items()} == expected


def test_capitals_and_em_are_those_of_the_font(path):
    """Height of capital letters, and the em. Source: fontTools, OS/2 and head."""
    font = TTFont(path)
    expected = (font["OS/2"].sCapHeight, font["head"].unitsPerEm)

    ours = TrueType(path.read_bytes())

    assert (ours.cap_height, ours.em) == expected


def test_a_letter_that_is_not_there_has_the_box():
    """A letter the font lacks is glyph 0. Source: ISO/IEC 14496-22, cmap: the missing character."""
    assert TrueType(font_file("regular").read_bytes()).glyph("Ж") == 0


def test_refuses_what_is_no_font():
    """Anything but a TrueType file is refused in words."""
    with pytest.raises(ValueError, match="not a TrueType font"):
        TrueType(b"%PDF-1.6 and so on")


@pytest.mark.parametrize(("face", "letters"), [("regular", "AÅé½gj "), ("bold", "Zß#"), ("fallback", "Жέẵ𝐀")])
def test_a_smaller_font_draws_its_letters_alike(face, letters):
    """The letters of a subset, accents included, have the outlines and widths of the whole font."""
    whole = TTFont(font_file(face))
    letters = "".join(letter for letter in letters if ord(letter) in whole.getBestCmap())
    expected = {letter: (outline(whole, letter), whole["hmtx"][whole.getBestCmap()[ord(letter)]]) for letter in letters}

    data = TrueType(font_file(face).read_bytes()).subset(letters)
    small = TTFont(io.BytesIO(data), checkChecksums=2)  # raises where a checksum is wrong

    names = {chr(code): name for code, name in small.getBestCmap().items()}
    assert {letter: (outline(small, letter), small["hmtx"][names[letter]]) for letter in names} == expected


def test_a_smaller_font_is_small():
    """Twenty letters cost less than a fifth of the font, and letters it lacks cost nothing."""
    data = font_file("fallback").read_bytes()
    letters = "".join(chr(code) for code in range(0x410, 0x424))

    assert len(TrueType(data).subset(letters + "\N{SNOWMAN}")) == len(TrueType(data).subset(letters))
    assert len(TrueType(data).subset(letters)) < len(data) / 5
    assert unicodedata.name(letters[0]) == "CYRILLIC CAPITAL LETTER A"
