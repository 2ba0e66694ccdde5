"""Sheets printed by reportlab with symbols by segno, drawn by pdfium, read, and held against what was meant."""

from collections.abc import Callable, Sequence
from dataclasses import replace

import numpy as np
import pytest
import segno
from PIL import Image

from labelkit.proof.compare import Expected, PageReadings, compare
from labelkit.proof.decode import read_symbols
from labelkit.proof.raster import pictures_of

PrintSheet = Callable[..., bytes]
PLACES = [(15.0 + 65 * column, 15.0 + 60 * row) for row in range(5) for column in range(3)]
TEXTS = [f"http://192.168.1.20:8080/7K3M9Q2X{number:03d}" for number in range(len(PLACES))]
MODULE_MM = 0.5


def meant(texts: Sequence[str], places: Sequence[tuple[float, float]], page: int = 1) -> list[Expected]:
    """Say what should be on a page."""
    return [
        Expected(page, text, x, y, MODULE_MM * segno.make(text, error="h", boost_error=False).symbol_size(border=0)[0])
        for text, (x, y) in zip(texts, places, strict=True)
    ]


def seen(pdf: bytes, *, dpi: float = 150, turns: int = 0) -> PageReadings:
    """Draw a page, turn it by quarters and read it."""
    (picture,) = pictures_of(pdf, "sheet.pdf", dpi=dpi)
    pixels = np.ascontiguousarray(np.rot90(picture.pixels, turns))
    return PageReadings("sheet", read_symbols(pixels, thorough=False), picture.dpi)


@pytest.fixture(scope="module")
def sheet(print_sheet: PrintSheet) -> PageReadings:
    """The whole sheet as it was meant."""
    return seen(print_sheet(TEXTS, PLACES))


def test_a_true_sheet_passes(sheet: PageReadings) -> None:
    """Every symbol in its place: module in dots, contrast, and a scale of one."""
    report = compare([sheet], meant(TEXTS, PLACES))

    assert report.passed
    assert [symbol.expected.text for symbol in report.decoded] == TEXTS
    assert all(symbol.module_dots == pytest.approx(0.5 * 150 / 25.4, rel=0.01) for symbol in report.decoded)
    assert {symbol.grade for symbol in report.decoded} == {"A"}
    assert max(symbol.off_mm for symbol in report.decoded) < 0.02
    assert (report.scale_x, report.scale_y) == pytest.approx((1, 1), abs=2e-4)


@pytest.mark.parametrize("count", [15, 1])
def test_the_scale_of_a_sheet_is_measured_back(print_sheet: PrintSheet, count: int) -> None:
    """1.004 and 0.997, crooked by a degree, at 300 dpi: to 0.05 %, and no worse from a single symbol."""
    texts, places = TEXTS[:count], PLACES[:count]
    pdf = print_sheet(texts, places, scale=(1.004, 0.997), turn_deg=1.0)

    report = compare([seen(pdf, dpi=300)], meant(texts, places))

    assert report.scale_x == pytest.approx(1.004, rel=5e-4)
    assert report.scale_y == pytest.approx(0.997, rel=5e-4)


def test_a_scan_is_measured_like_a_print(print_sheet: PrintSheet) -> None:
    """Through a picture file with its dpi, upside down and grainy, at 200 dpi."""
    (page,) = pictures_of(print_sheet(TEXTS, PLACES, scale=(0.99, 1.01)), "x.pdf", dpi=200)
    grain = np.random.default_rng(11).normal(0, 12, page.pixels.shape)
    scan = np.clip(page.pixels * 0.7 + 30 + grain, 0, 255).astype(np.uint8)[::-1, ::-1]
    readings = read_symbols(np.ascontiguousarray(scan), thorough=False)

    report = compare([PageReadings("scan", readings, (200.0, 200.0))], meant(TEXTS, PLACES))

    assert report.passed
    assert (report.scale_x, report.scale_y) == pytest.approx((0.99, 1.01), rel=1e-3)


def test_pages_are_known_by_their_texts(print_sheet: PrintSheet) -> None:
    """Two pages scanned in the wrong order, one of them lying on its side."""
    expected = [*meant(TEXTS[:6], PLACES[:6], 1), *meant(TEXTS[6:12], PLACES[:6], 2)]
    pictures = [seen(print_sheet(TEXTS[6:12], PLACES[:6]), turns=1), seen(print_sheet(TEXTS[:6], PLACES[:6]))]

    report = compare(pictures, expected)

    assert report.passed
    assert [page.page for page in report.pages] == [2, 1]
    assert [symbol.picture for symbol in report.decoded] == [1] * 6 + [0] * 6


def test_missing_wrong_and_extra_symbols_are_told_apart(print_sheet: PrintSheet) -> None:
    """One left out, one swapped for another label's, one too many in a free place."""
    places = [*PLACES[:4], PLACES[5], (150.0, 200.0)]
    printed = [*TEXTS[:3], "WRONG", TEXTS[5], "EXTRA"]

    report = compare([seen(print_sheet(printed, places))], meant(TEXTS[:6], PLACES[:6]))

    assert not report.passed
    assert [symbol.expected.text for symbol in report.decoded] == [*TEXTS[:3], TEXTS[5]]
    assert [symbol.text for symbol in report.missing] == [TEXTS[4]]
    assert [(wrong.expected.text, wrong.found) for wrong in report.wrong] == [(TEXTS[3], "WRONG")]
    assert [extra.text for extra in report.extra] == ["EXTRA"]


def test_two_symbols_of_one_text_are_two(print_sheet: PrintSheet) -> None:
    """A label with a symbol at either end, several such labels, and one of the symbols left out."""
    places = [(x, y) for y in (20.0, 80.0, 140.0) for x in (20.0, 160.0)]
    texts = [TEXTS[0], TEXTS[0], TEXTS[1], TEXTS[1], TEXTS[2], TEXTS[2]]
    expected = meant(texts, places)

    whole = compare([seen(print_sheet(texts, places))], expected)
    partly = compare([seen(print_sheet(texts[:-1], places[:-1]))], expected)

    assert whole.passed
    assert max(symbol.off_mm for symbol in whole.decoded) < 0.02
    assert partly.missing == (expected[-1],)


def test_a_symbol_once_too_often_is_extra(print_sheet: PrintSheet) -> None:
    """The same label printed twice: the one in its place counts."""
    pdf = print_sheet([*TEXTS[:4], TEXTS[0]], [*PLACES[:4], (100.0, 200.0)])

    report = compare([seen(pdf)], meant(TEXTS[:4], PLACES[:4]))

    assert [extra.text for extra in report.extra] == [TEXTS[0]]
    assert max(symbol.off_mm for symbol in report.decoded) < 0.02


def test_a_sheet_in_two_pictures_is_whole(sheet: PageReadings) -> None:
    """Each picture shows a part; what both show counts once, and none of it is extra."""
    halves = [PageReadings("left", sheet.readings[:9], sheet.dpi), PageReadings("right", sheet.readings[6:], sheet.dpi)]

    assert compare(halves, meant(TEXTS, PLACES)).passed


def test_a_photograph_is_compared_but_not_measured(sheet: PageReadings) -> None:
    """Without dots per inch there is no scale; the texts are held against the kit all the same."""
    report = compare([PageReadings("photo", sheet.readings, None)], meant(TEXTS, PLACES))

    assert report.passed
    assert (report.scale_x, report.scale_y, report.pages[0].fit) == (None, None, None)
    assert report.decoded[0].off_mm is None


def test_nothing_read_and_nothing_meant() -> None:
    """No picture at all: no page is seen; an empty page is none of the kit's, and so not right."""
    expected = meant(TEXTS[:2], PLACES[:2])
    blank = compare([PageReadings("blank", [], (300.0, 300.0))], expected)

    assert compare([], []).passed
    assert (compare([], expected).missing, compare([], expected).unseen) == ((), (1,))
    assert (blank.pages[0].page, blank.unseen, blank.passed) == (None, (1,), False)


def test_a_page_of_another_kit_is_extra(print_sheet: PrintSheet) -> None:
    """It shares no text with any page."""
    report = compare([seen(print_sheet(TEXTS[:2], PLACES[:2]))], meant(TEXTS[2:4], PLACES[:2]))

    assert [extra.text for extra in report.extra] == TEXTS[:2]
    assert (report.missing, report.unseen) == ((), (1,))
    assert not report.passed


def test_pages_that_no_picture_shows_are_not_missing(print_sheet: PrintSheet) -> None:
    """One page of three was scanned: it is judged, and the two others are named as unseen."""
    expected = [each for page in (1, 2, 3) for each in meant(TEXTS[5 * page - 5 : 5 * page], PLACES[:5], page)]
    whole = seen(print_sheet(TEXTS[5:10], PLACES[:5]))
    partly = PageReadings("sheet", whole.readings[1:], whole.dpi)

    assert (compare([whole], expected).passed, compare([whole], expected).unseen) == (True, (1, 3))
    assert [symbol.page for symbol in compare([partly], expected).missing] == [2]
    assert not compare([partly], expected).passed


@pytest.mark.parametrize(
    ("scale", "scaled"),
    [((0.95, 0.95), True), ((0.983, 0.983), True), ((0.987, 0.987), False), ((1.013, 1), False), ((1, 1.017), True)],
)
def test_a_page_that_a_dialog_scaled_does_not_pass(
    print_sheet: PrintSheet, scale: tuple[float, float], scaled: bool
) -> None:
    """Beyond 1.5 percent on an axis; what a printer does by itself is only told. Limits: common practice, no source."""
    report = compare([seen(print_sheet(TEXTS[:6], PLACES[:6], scale=scale))], meant(TEXTS[:6], PLACES[:6]))

    assert (report.pages[0].flat, report.pages[0].scaled, report.right, report.passed) == (
        True,
        scaled,
        True,
        not scaled,
    )


def test_dots_per_inch_of_a_photograph_tell_no_scale(sheet: PageReadings) -> None:
    """A camera writes 300 whatever it sees: askew, or at a scale of no print, the page is not measured."""
    askew = [replace(each, corners=each.corners * (1 + each.corners[:, 1:] / 9000)) for each in sheet.readings]
    near = [replace(each, corners=each.corners * 4) for each in sheet.readings]

    for readings in (askew, near):
        report = compare([PageReadings("photo.jpg", readings, sheet.dpi)], meant(TEXTS, PLACES))
        assert (report.pages[0].flat, report.pages[0].scaled, report.passed) == (False, False, True)


@pytest.mark.parametrize("dpi", [203.2, 300.0, 600.0])
def test_every_symbol_of_a_clean_sheet_is_read(print_sheet: PrintSheet, dpi: float) -> None:
    """The round trip at the resolutions of label and office printers."""
    texts, places = TEXTS[:4], [(x, y) for y in (10.0, 45.0) for x in (10.0, 60.0)]
    pdf = print_sheet(texts, places, size_mm=(100, 75))

    assert compare([seen(pdf, dpi=dpi)], meant(texts, places)).passed


def test_a_faint_print_is_graded_down(print_sheet: PrintSheet) -> None:
    """Black that is a dark grey: 45 % contrast is a C. Source: ISO/IEC 15415, symbol contrast."""
    (page,) = pictures_of(print_sheet(TEXTS[:3], PLACES[:3]), "x.pdf", dpi=203.2)
    pale = Image.fromarray((page.pixels * 0.45 + 100).astype(np.uint8))

    report = compare(
        [PageReadings("pale", read_symbols(np.asarray(pale), thorough=False), page.dpi)], meant(TEXTS[:3], PLACES[:3])
    )

    assert {symbol.grade for symbol in report.decoded} == {"C"}
    assert report.decoded[0].contrast == pytest.approx(45, abs=0.5)
