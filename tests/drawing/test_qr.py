"""QR symbols: against the standard's example and tables, two other encoders, and two readers."""

import random
import subprocess
import sys

import cv2
import numpy as np
import pytest
import qrcode
import segno
import zxingcpp
from hypothesis import given, settings
from hypothesis import strategies as st
from qrcode import util

from labelkit.drawing import qr
from labelkit.drawing.segments import bits_needed, segments
from labelkit.errors import CapacityError, UsageError

# The worked example of ISO/IEC 18004 (Annex G of the edition of 2000, Annex I of 2006 and 2015): 01234567 at
# 1-M. Codewords as quoted from the annex in public test code; the standard itself was not opened.
EXAMPLE_DATA = "10 20 0C 56 61 80 EC 11 EC 11 EC 11 EC 11 EC 11"
EXAMPLE_CORRECTION = "A5 24 D4 C1 ED 36 C7 87 2C 55"
# Mask 2 is printed in the editions of 2006 and 2015, mask 3 in that of 2000. The modules are computed with
# segno 1.6.6 and decoded with zxing-cpp, not compared with the printed figures.
EXAMPLE_MODULES = {
    2: (
        "111111100101101111111",
        "100000100111101000001",
        "101110101000001011101",
        "101110101100001011101",
        "101110101011101011101",
        "100000101000101000001",
        "111111101010101111111",
        "000000001001100000000",
        "101111100100101111100",
        "000101011010100101100",
        "001000110101010011111",
        "000010000100000111100",
        "000111111001010010000",
        "000000001011111001100",
        "111111100110101100000",
        "100000101011111000101",
        "101110101000100101100",
        "101110101100100100000",
        "101110101011010010100",
        "100000100000000110110",
        "111111101111010010100",
    ),
    3: (
        "111111101101101111111",
        "100000101010001000001",
        "101110100110101011101",
        "101110101100001011101",
        "101110100110001011101",
        "100000100110001000001",
        "111111101010101111111",
        "000000001100000000000",
        "101101110010001001011",
        "000101011010100101100",
        "100101111000111110010",
        "110100010010110001010",
        "000111111001010010000",
        "000000001110010100001",
        "111111101000011010110",
        "100000101011111000101",
        "101110100101001000001",
        "101110101010010010110",
        "101110101011010010100",
        "100000100101101011011",
        "111111101001100100010",
    ),
}
# Fifteen bits, highest first: BCH(15, 5), generator 10100110111, XOR mask 101010000010010.
# Source: ISO/IEC 18004, format information; computed, generator and mask from memory.
FORMAT_BITS = {0: "101010000010010", 2: "101111001111100", 3: "101101101001011"}
# version, level, codewords, data codewords, most digits, most alphanumeric characters, most bytes.
# Source: ISO/IEC 18004, tables 7 and 9 (numbering of 2006 and 2015). Not read there: computed from codeword
# counts, and accepted exactly so by segno 1.6.6; the alphanumeric figures of L and M equal a public table.
CAPACITY = [
    (1, "L", 26, 19, 41, 25, 17),
    (1, "M", 26, 16, 34, 20, 14),
    (1, "Q", 26, 13, 27, 16, 11),
    (1, "H", 26, 9, 17, 10, 7),
    (2, "L", 44, 34, 77, 47, 32),
    (2, "M", 44, 28, 63, 38, 26),
    (2, "Q", 44, 22, 48, 29, 20),
    (2, "H", 44, 16, 34, 20, 14),
    (3, "L", 70, 55, 127, 77, 53),
    (3, "M", 70, 44, 101, 61, 42),
    (3, "Q", 70, 34, 77, 47, 32),
    (3, "H", 70, 26, 58, 35, 24),
    (4, "L", 100, 80, 187, 114, 78),
    (4, "M", 100, 64, 149, 90, 62),
    (4, "Q", 100, 48, 111, 67, 46),
    (4, "H", 100, 36, 82, 50, 34),
    (5, "L", 134, 108, 255, 154, 106),
    (5, "M", 134, 86, 202, 122, 84),
    (5, "Q", 134, 62, 144, 87, 60),
    (5, "H", 134, 46, 106, 64, 44),
    (6, "L", 172, 136, 322, 195, 134),
    (6, "M", 172, 108, 255, 154, 106),
    (6, "Q", 172, 76, 178, 108, 74),
    (6, "H", 172, 60, 139, 84, 58),
    (7, "L", 196, 156, 370, 224, 154),
    (7, "M", 196, 124, 293, 178, 122),
    (7, "Q", 196, 88, 207, 125, 86),
    (7, "H", 196, 66, 154, 93, 64),
    (8, "L", 242, 194, 461, 279, 192),
    (8, "M", 242, 154, 365, 221, 152),
    (8, "Q", 242, 110, 259, 157, 108),
    (8, "H", 242, 86, 202, 122, 84),
    (9, "L", 292, 232, 552, 335, 230),
    (9, "M", 292, 182, 432, 262, 180),
    (9, "Q", 292, 132, 312, 189, 130),
    (9, "H", 292, 100, 235, 143, 98),
    (10, "L", 346, 274, 652, 395, 271),
    (10, "M", 346, 216, 513, 311, 213),
    (10, "Q", 346, 154, 364, 221, 151),
    (10, "H", 346, 122, 288, 174, 119),
]
QRCODE_MODE = {"numeric": util.MODE_NUMBER, "alphanumeric": util.MODE_ALPHA_NUM, "byte": util.MODE_8BIT_BYTE}
QRCODE_LEVEL = {
    "L": qrcode.ERROR_CORRECT_L,
    "M": qrcode.ERROR_CORRECT_M,
    "Q": qrcode.ERROR_CORRECT_Q,
    "H": qrcode.ERROR_CORRECT_H,
}


def as_rows(modules):
    """Return rows of truth values as integers, the first module the highest bit."""
    return tuple(int("".join("1" if module else "0" for module in row), 2) for row in modules)


def picture(matrix, dots=8):
    """Return the symbol with its quiet zone as grey values, `dots` pixels a module."""
    dark = np.array([[matrix.dark(x, y) for x in range(matrix.size)] for y in range(matrix.size)])
    big = np.kron(np.pad(dark, qr.QUIET_ZONE), np.ones((dots, dots), dtype=bool))
    return np.where(big, 0, 255).astype(np.uint8)


def qrcode_symbol(text, level, version):
    """Return qrcode's own symbol of the same segments, with its own choice of mask."""
    symbol = qrcode.QRCode(version, QRCODE_LEVEL[level])
    for mode, data in segments(text, version):
        if mode != "eci":
            symbol.add_data(util.QRData(data, mode=QRCODE_MODE[mode]))
    if not text.isascii():
        symbol.data_cache = list(qr.codewords(text, level, version))  # the package knows no ECI header
    symbol.make(fit=False)
    return symbol


def random_text(rng):
    """Return an address, or up to 60 letters of everything that labels and cards say."""
    if rng.random() < 0.5:
        code = "".join(rng.choices("0123456789ABCDEFGHJKMNPQRSTVWXYZ", k=rng.randint(8, 12)))
        return f"http://192.168.{rng.randrange(256)}.{rng.randrange(256)}:{rng.choice([80, 8080])}/{code}"
    return "".join(rng.choices("0123456789ABCXYZ -./:abcxyz\nµ°ßЖ", k=rng.randint(1, 60)))


def test_the_codewords_of_the_standards_example():
    """01234567 at 1-M gives the sixteen data and ten correction codewords of the annex."""
    expected = bytes.fromhex(f"{EXAMPLE_DATA} {EXAMPLE_CORRECTION}")

    assert expected == qr.codewords("01234567", "M", 1)


@pytest.mark.parametrize("mask", EXAMPLE_MODULES)
def test_the_modules_of_the_standards_example(mask):
    """01234567 at 1-M with the mask of either edition is dark where the example is."""
    matrix = qr.encode("01234567", "M", mask=mask)

    assert EXAMPLE_MODULES[mask] == tuple(f"{row:021b}" for row in matrix.rows)


@pytest.mark.parametrize("mask", FORMAT_BITS)
def test_level_and_mask_stand_round_the_first_finder_pattern(mask):
    """The format bits lie along row 8 to the right, then up column 8, timing patterns left out."""
    matrix = qr.encode("01234567", "M", mask=mask)
    places = [(x, 8) for x in (0, 1, 2, 3, 4, 5, 7, 8)] + [(8, y) for y in (7, 5, 4, 3, 2, 1, 0)]

    assert FORMAT_BITS[mask] == "".join(str(int(matrix.dark(x, y))) for x, y in places)


@pytest.mark.parametrize(("version", "level", "total", "data", "digits", "letters", "others"), CAPACITY)
def test_a_symbol_holds_what_the_standard_says(version, level, total, data, digits, letters, others):
    """Exactly so many characters of each kind fit, and one more needs the next version."""
    assert 8 * data == qr.capacity_bits(version, level)
    assert total == len(qr.codewords("A", level, version))
    for letter, most in (("7", digits), ("A", letters), ("a", others)):
        assert version == qr.smallest_version(letter * most, level)
        assert version + 1 == qr.smallest_version(letter * (most + 1), level)


@pytest.mark.parametrize(("letters", "version"), [(1990, 26), (1991, 27), (2132, 27), (2133, 28), (4296, 40)])
def test_the_smallest_version_where_the_counts_grow_wider(letters, version):
    """Letters at level L. Source: ISO/IEC 18004, table 7 (from memory); segno agrees."""
    assert version == qr.smallest_version("A" * letters, "L")
    assert version == segno.make("A" * letters, error="L", mask=0, boost_error=False).version


@pytest.mark.parametrize("share", [0.02, 0.2, 0.4, 0.5, 0.6, 0.8, 0.98])
@pytest.mark.parametrize("version", [1, 7])
def test_a_mask_is_judged_as_qrcode_judges_it(version, share):
    """The penalty of modules at random, from nearly all light to nearly all dark. Source: qrcode, lost_point."""
    rng = random.Random(version)
    size = qr.symbol_size(version)
    for _ in range(5):
        modules = [[rng.random() < share for _ in range(size)] for _ in range(size)]
        whole = int("".join("1" if dark else "0" for row in modules for dark in row), 2)

        assert util.lost_point(modules) == qr._grid(version).penalty(whole)


@pytest.mark.parametrize("seed", range(4))
def test_the_matrix_is_the_one_that_qrcode_makes(seed):
    """75 random texts each, at random levels: equal in every module, its own choice of mask included."""
    rng = random.Random(seed)
    for _ in range(75):
        text, level = random_text(rng), rng.choice(qr.LEVELS)
        matrix = qr.encode(text, level)

        assert as_rows(qrcode_symbol(text, level, matrix.version).modules) == matrix.rows, (text, level)


@pytest.mark.parametrize("level", qr.LEVELS)
def test_every_version_is_the_one_that_another_encoder_makes(level):
    """Each version at two levels equals segno's, with the mask fixed: that choice is each library's own."""
    rng = random.Random(40)
    for version in range(1 + qr.LEVELS.index(level) // 2, 41, 2):
        mask = rng.randrange(8)
        most = (qr.capacity_bits(version, level) - 24) * 2 // 11
        text = "".join(rng.choices("ABCDEFGHJKMNPQRSTVWXYZ", k=rng.randint(most // 2, most)))
        # segno 1.6.6 adds eight zeros too many where the terminator ends on a whole codeword.
        while (bits_needed(text, version) + 4) % 8 == 0:
            text = text[:-1]
        expected = segno.make(text, version=version, error=level, mask=mask, boost_error=False, mode="alphanumeric")

        assert as_rows(expected.matrix) == qr.encode(text, level, version=version, mask=mask).rows, version


@pytest.mark.parametrize("level", qr.LEVELS)
def test_a_long_text_of_noughts_is_encoded(level):
    """Blocks of nothing but zeros, at which qrcode's own division stops, equal segno's."""
    expected = segno.make("0" * 600, version=16, error=level, mask=1, boost_error=False, mode="numeric")

    assert as_rows(expected.matrix) == qr.encode("0" * 600, level, version=16, mask=1).rows


def test_utf_8_is_announced_as_another_encoder_does():
    """Text outside ASCII equals segno's with its ECI header."""
    text = "Größe µ"
    expected = segno.make(
        text, version=2, error="M", mask=4, boost_error=False, mode="byte", encoding="utf-8", eci=True
    )

    assert as_rows(expected.matrix) == qr.encode(text, "M", version=2, mask=4).rows


@pytest.mark.parametrize(
    "text",
    [
        "http://192.168.1.20:8080/7K3M9Q2XF41",
        "0123456789" * 6,
        "step 7.1, thrust washer, LIP DOWN",
        "Größe 12,5 µm – Nabe oben",
        "Кольцо 3 × 72",
        "ступица 12: 齿轮",
    ],
)
@pytest.mark.parametrize("level", ["M", "H"])
def test_two_readers_read_what_was_written(text, level):
    """zxing-cpp and OpenCV both give the text back, UTF-8 included."""
    image = picture(qr.encode(text, level))
    first = [found.text for found in zxingcpp.read_barcodes(image) if found.valid]
    second, _, _ = cv2.QRCodeDetector().detectAndDecode(image)

    assert ([text], text) == (first, second)


@settings(max_examples=60, deadline=None)
@given(st.lists(st.integers(0, 2**21 - 1), min_size=21, max_size=21))
def test_runs_cover_the_dark_modules_once(rows):
    """Every dark module lies in exactly one rectangle, no light one in any; neighbours are merged."""
    matrix = qr.Matrix(1, "M", 0, tuple(rows))
    covered = np.zeros((21, 21), dtype=int)
    found = qr.runs(matrix)
    for x, y, width, height in found:
        covered[y : y + height, x : x + width] += 1
    dark = np.array([[int(matrix.dark(x, y)) for x in range(21)] for y in range(21)])

    assert (dark == covered).all()
    assert list(found) == sorted(found, key=lambda run: (run[1], run[0]))
    assert not {(x + w, y, h) for x, y, w, h in found} & {(x, y, h) for x, y, _, h in found}
    assert not {(x, w, y + h) for x, y, w, h in found} & {(x, w, y) for x, y, w, _ in found}


def test_runs_of_a_small_drawing():
    """A bar over two rows is one rectangle, a longer one below it another."""
    rows = (0b110, 0b110, 0b111, 0b001)
    matrix = qr.Matrix(1, "M", 0, tuple(row << 18 for row in rows) + (0,) * 17)
    expected = ((0, 0, 2, 2), (0, 2, 3, 1), (2, 3, 1, 1))

    assert expected == qr.runs(matrix)


def test_a_text_too_long_for_the_version_says_what_would_hold_it():
    """The message has the bits needed, the bits there are, and both ways out."""
    text = "http://192.168.1.20:8080/B/7K3M9Q2X"
    expected = (
        f"QR symbol: {text!r} (35 characters) needs {bits_needed(text, 3)} bits, but version 3 at level H "
        "holds 208; it would fit version 4 at level H or level Q at version 3"
    )
    with pytest.raises(CapacityError) as refusal:
        qr.encode(text, "H", version=3)

    assert expected == str(refusal.value)


def test_a_text_too_long_for_any_symbol_is_refused():
    """A byte more than the standard's 1273 at 40-H. Source: ISO/IEC 18004, table 7 (from memory)."""
    assert qr.smallest_version("a" * 1273, "H") == 40
    with pytest.raises(CapacityError, match=r"\(1274 characters\) needs 10212 bits.* holds 10208; .* level Q"):
        qr.encode("a" * 1274, "H")


@pytest.mark.parametrize(
    ("wanted", "said"),
    [
        ({"level": "h"}, "level 'h': allowed: L, M, Q, H"),
        ({"version": 41}, "QR version 41: allowed: whole numbers from 1 to 40"),
        ({"mask": 8}, "QR mask 8: allowed: whole numbers from 0 to 7"),
    ],
)
def test_what_the_standard_does_not_know_is_refused(wanted, said):
    """Level, version and mask name what is allowed."""
    with pytest.raises(UsageError) as refusal:
        qr.encode("A", **({"level": "M"} | wanted))

    assert said in str(refusal.value)


def test_a_command_without_symbols_does_not_load_the_encoder():
    """Importing the module leaves qrcode, and the imaging library behind it, for the first symbol."""
    code = "import sys, labelkit.drawing.qr; print(sorted({'qrcode', 'PIL'} & set(sys.modules)))"
    answer = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True)

    assert answer.stdout.strip() == "[]"
