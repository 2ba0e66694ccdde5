"""Cards as HTML: the one file with all of them, and the pages of the bench. A browser looks at both elsewhere."""

from __future__ import annotations

import base64
import io
import re

import pytest
from fontTools.ttLib import TTFont

from labelkit.errors import NotFoundError
from labelkit.sheets.cardpages import cards_document, css, entry, picture_type
from labelkit.sheets.jobview import JobView
from tests.bench_app.workshop import PUMP, bin_of, code_of, png, pump
from tests.shop import demo, view_of


def no_photo(path: str) -> bytes:
    raise NotFoundError(path)


@pytest.fixture(scope="module")
def view() -> JobView:
    return view_of(pump())


@pytest.fixture(scope="module")
def document(view: JobView) -> str:
    return cards_document(view, lambda _path: png())


def test_every_bin_has_its_card_and_its_line_in_the_list(view: JobView, document: str) -> None:
    """The file holds one card for each bin, found by its code, and one list of all."""
    codes = [view.code(each) for each in view.teardown.bins]

    assert codes == re.findall(r'<article class="one" id="([^"]+)">', document)
    assert codes == re.findall(r'<li><a href="#([^"]+)"><b>', document)


def test_the_file_holds_all_it_needs(document: str) -> None:
    """Style, letters and photos are inside; every address is a place in the file or data."""
    addresses = re.findall(r"""(?:href|src)=["']?([^"'> ]+)|url\(([^)]+)\)""", document)

    assert addresses
    assert all(re.match("#|data:", one or other) for one, other in addresses)
    assert "<script" not in document
    assert "<link" not in document
    assert css() in document


def test_the_photo_is_the_job_s(document: str) -> None:
    """The picture is embedded as it is."""
    data = re.search(r'<img class="photo" src="data:image/png;base64,([^"]+)"', document)
    assert data is not None

    assert png() == base64.b64decode(data.group(1))


def test_a_photo_that_is_gone_leaves_the_card(view: JobView) -> None:
    """A job opened without its pictures still has its cards."""
    document = cards_document(view, no_photo)

    assert "<img" not in document
    assert code_of(view, "cover") in document


def test_the_letters_of_every_word_are_inside() -> None:
    """Each letter of the cards that the faces have is in the embedded fonts, also rare ones of a profile."""
    text = PUMP.replace("Key 6 x 6 x 20", "Naßfeder Ø 6 œ")
    document = cards_document(view_of(pump(text)), no_photo)
    fonts = [
        set(TTFont(io.BytesIO(base64.b64decode(data))).getBestCmap())
        for data in re.findall(r"data:font/ttf;base64,([^)]+)\)", document)
    ]
    words = set(map(ord, re.sub(r"<style>.*?</style>|<[^>]*>", "", document, flags=re.S))) - {10}

    assert 2 == len(fonts)
    assert set(map(ord, "ßØœ")) <= words
    for letters in fonts:
        assert words <= letters


def test_the_same_job_gives_the_same_bytes(view: JobView) -> None:
    """No date and no chance in the file."""
    assert cards_document(view, no_photo) == cards_document(view_of(pump()), no_photo)


def test_drawings_say_in_words_what_they_show(view: JobView) -> None:
    """Who cannot see the drawing is told which way and which hour."""
    shown = entry(view, bin_of(view, "cover"), None)

    assert 'role="img"' in shown.way_svg
    assert "<title>Which way: FLAT FACE UP</title>" in shown.way_svg
    assert "<title>Clock: 6 o'clock</title>" in shown.dial_svg


def test_drawings_take_the_colours_of_the_page(view: JobView) -> None:
    """On a dark page a black drawing would not be seen: it takes ink and paper from the page."""
    for each in view.teardown.bins:
        drawn = entry(view, each, None)
        assert [] == re.findall(r'(?:fill|stroke)="#', drawn.way_svg + drawn.dial_svg)


@pytest.mark.parametrize(
    ("data", "kind"),
    [
        # First bytes by the formats' own specifications: PNG (W3C), JPEG (ISO/IEC 10918-1), WebP (RFC 9649)
        (b"\x89PNG\r\n\x1a\n rest", "image/png"),
        (b"\xff\xd8\xff\xe0 rest", "image/jpeg"),
        (b"RIFF\x10\x00\x00\x00WEBPVP8 ", "image/webp"),
        (b"<svg onload='x'>", "application/octet-stream"),
        (b"RIFF\x10\x00\x00\x00WAVE", "application/octet-stream"),
        (b"", "application/octet-stream"),
    ],
)
def test_a_picture_is_known_by_its_first_bytes(data: bytes, kind: str) -> None:
    """Only pictures are served as pictures; an SVG could hold a script and is none of them."""
    assert kind == picture_type(data)


def test_a_pack_is_shown_in_its_order_with_the_count_of_each_kind() -> None:
    """The card of a pack has its picture, what the first plate lies against, and a line and a way to each kind."""
    job = view_of(demo("planetary-reducer"))
    pack = next(each for each in job.teardown.bins if each.part.stack)
    drawn = entry(job, pack, None).pack
    assert drawn is not None
    letters = re.findall(r">([A-E])</tspan>|>([A-E])</text>", drawn.svg)

    assert "13 plates in the order they come out, the first against: piston" == drawn.title
    assert "ABCBCBCBCBCDE" == "".join(one or other for one, other in letters)
    assert {"A": 1, "B": 5, "C": 5, "D": 1, "E": 1} == {kind.letter: kind.number for kind, _ in drawn.kinds}
    assert [job.code(kind.bin) for kind, _ in drawn.kinds] == [code for _, code in drawn.kinds]
    text = cards_document(job, no_photo)
    card = text[text.index(f'id="{job.code(pack)}"') :]
    assert "PISTON" in card[: card.index("</article>")]
    assert card.count("<b>× 5</b>", 0, card.index("</article>")) == 2


def test_other_parts_have_no_pack() -> None:
    """A pack is what has a stack."""
    job = view_of(demo("planetary-reducer"))

    assert all((entry(job, each, None).pack is None) == (not each.part.stack) for each in job.teardown.bins[:20])
