"""Labels whose symbols carry the card's own words, for phones without network."""

from __future__ import annotations

import re
from dataclasses import replace

import pypdfium2
import pytest
import zxingcpp
from hypothesis import given
from hypothesis import strategies as st

from labelkit.calc.codes import read_code
from labelkit.load.stock import find_stock
from labelkit.sheets.cards import Card, Caution, card, cards
from labelkit.sheets.jobview import JobView
from labelkit.sheets.kit import KitOrder, make_kit
from labelkit.sheets.offline import LONGEST, card_text, code_in
from tests.bench_app.workshop import PUMP, bin_of, code_of, pump
from tests.shop import DEMO_UNITS, demo, view_of


@pytest.fixture(scope="module")
def view() -> JobView:
    return view_of(pump())


def offline_labels(view: JobView, stock: str) -> list[str]:
    """Return what zxing-cpp reads from the printed pages of an offline kit, at 300 dpi."""
    order = KitOrder(
        view=view,
        bins=view.teardown.bins,
        label_stock=find_stock(stock),
        first_label=1,
        offline_cards=True,
        documents=frozenset({"labels"}),
        photo=lambda _path: b"",
        paper=find_stock("a4", ("paper",)),
    )
    files, _ = make_kit(order)
    document = pypdfium2.PdfDocument(files["labels.pdf"])
    pictures = [page.render(scale=300 / 72, grayscale=True).to_numpy() for page in document]
    document.close()
    return [symbol.text for picture in pictures for symbol in zxingcpp.read_barcodes(picture) if symbol.valid]


@pytest.mark.parametrize("unit", DEMO_UNITS)
def test_every_card_fits_and_ends_with_its_code(unit: str) -> None:
    """On both demo units no text is longer than a symbol of 30 mm takes, and a scan of it finds the full card."""
    for shown in cards(view_of(demo(unit))):
        text = card_text(shown)
        assert len(text.encode()) <= LONGEST
        assert shown.code == read_code(code_in(text))
        assert shown.code_text == text.splitlines()[-1]


def test_it_begins_with_the_step(view: JobView) -> None:
    """A phone takes a beginning such as `Step:` for the scheme of an address and offers to open it.

    Source: RFC 3986, section 3.1: a scheme is letters, digits, +, - and . up to the first colon.
    """
    for shown in cards(view):
        text = card_text(shown)
        assert text.startswith(f"{shown.step} {shown.name} {shown.quantity}\n")
        assert re.match(r"[A-Za-z][A-Za-z0-9+.-]*:", text) is None


def test_way_and_clock_are_always_said(view: JobView) -> None:
    """Known, free and not recorded read differently, with what they are about."""
    expected = {
        "cover": ["FLAT FACE UP", "AT 6 o'clock"],
        "seal": ["LIP UP", "CLOCK FREE"],
        "gears": ["EITHER WAY", "AT 6:30"],
        "plug": ["WAY UP NOT RECORDED", "CLOCK NOT RECORDED"],
    }

    for part, lines in expected.items():
        assert set(lines) <= set(card_text(card(view, bin_of(view, part))).splitlines())


def test_the_worst_caution_and_loud_words_come_before_the_rest(view: JobView) -> None:
    """Danger first, then what is shouted, then way and clock, then the loud lines."""
    lines = card_text(card(view, bin_of(view, "cover-screws"))).splitlines()

    assert [
        "1 Cover screw M8 x 30 × 6",
        "DANGER The spring pushes the cover up",
        "LEFT-HAND THREAD",
        "HEAD UP",
        "CLOCK FREE",
        "CAUTION Fingers out of the joint",
        "Not the same as: step 7 · Plug M10; the plug has no head",
    ] == lines[:7]


def test_what_is_left_out_leaves_an_ellipsis(view: JobView) -> None:
    """A reader can tell a whole card from one that had no room."""
    for shown in cards(view):
        text = card_text(shown)
        everything = all(line.text in text for section in shown.sections for line in section.lines)
        assert everything != ("…" in text)


LETTERS = st.text(st.sampled_from("abc de×·Öя轴"), min_size=1, max_size=400).filter(lambda text: bool(text.strip()))


@given(name=LETTERS.map(lambda text: text[:80]), caution=LETTERS, loud=st.lists(st.just("OUT BEFORE WASH"), max_size=3))
def test_no_words_are_too_many(name: str, caution: str, loud: list[str]) -> None:
    """Whatever the profile says, in whatever letters: the limit holds in bytes, and way, clock and code stay."""
    view = view_of(pump())
    shown = card(view, bin_of(view, "cover"))
    shown = replace(shown, name=name, hazards=(Caution("danger", "", caution),), loud=tuple(loud))
    text = card_text(shown)

    assert len(text.encode()) <= LONGEST
    assert text.endswith(shown.code_text)
    assert {"FLAT FACE UP", "AT 6 o'clock", *loud} <= set(text.splitlines())
    assert "\nDANGER " in text


def test_a_cut_caution_says_so(view: JobView) -> None:
    """A long caution is cut at a word and ends in an ellipsis, never in the middle of a letter."""
    shown: Card = card(view, bin_of(view, "cover"))
    shown = replace(shown, hazards=(Caution("danger", "", "Größe " * 60),))
    line = card_text(shown).splitlines()[1]

    assert re.fullmatch(r"DANGER( Größe)+…", line)


@pytest.mark.parametrize(
    ("text", "found"),
    [
        ("7K3M-9Q2X-F4H", "7K3M-9Q2X-F4H"),
        (" 7k3m 9q2x f4h\n", "7k3m 9q2x f4h"),
        ("http://10.0.0.5:8080/7K3M9Q2XF4H", "http://10.0.0.5:8080/7K3M9Q2XF4H"),
        ("12 Shim × 1\nFREE\n7K3M-9Q2X-F4H\n", "7K3M-9Q2X-F4H"),
        ("12 Shim × 1 FREE 7k3m-9q2x-f4h", "7k3m-9q2x-f4h"),
        ("X7K3M-9Q2X-F4H", "X7K3M-9Q2X-F4H"),
        ("", ""),
    ],
)
def test_a_code_is_found_at_the_end_of_a_card_s_words(text: str, found: str) -> None:
    """Only whole words count: a letter too many is not silently dropped."""
    assert found == code_in(text)


@pytest.mark.parametrize("stock", ["a4-3x8-70x37", "a4-2x5-99x56"])
def test_the_printed_symbols_say_the_card_s_words(stock: str) -> None:
    """Read from the PDF by an independent decoder, each symbol says exactly its card, also in other letters."""
    text = PUMP.replace("name: Cover\n", "name: Крышка насоса Größe 4 °\n").replace("drain notch", "日本 ④")
    view = view_of(pump(text))
    expected = {card_text(shown) for shown in cards(view)}

    read = offline_labels(view, stock)

    assert expected == set(read)
    assert any("Крышка насоса Größe 4 °" in each for each in read)
    assert code_of(view, "cover") in {read_code(code_in(each)) for each in read}
