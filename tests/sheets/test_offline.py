"""Labels whose symbols carry the card's own words, for phones without network."""

from __future__ import annotations

import re
from collections.abc import Iterator
from dataclasses import replace

import pypdfium2
import pytest
import zxingcpp
from hypothesis import given
from hypothesis import strategies as st

from labelkit.calc.codes import grouped, read_code
from labelkit.drawing.page import Group, Text
from labelkit.load.stock import find_stock
from labelkit.sheets.cards import Card, Caution, card
from labelkit.sheets.jobview import JobView
from labelkit.sheets.kit import KitOrder, make_kit
from labelkit.sheets.labels import LabelSheets
from labelkit.sheets.offline import LONGEST, code_in, left_out_words, offline_card
from labelkit.sheets.wording import loud_facts
from tests.bench_app.workshop import PUMP, bin_of, code_of, pump
from tests.shop import DEMO_UNITS, cards_of, demo, view_of


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
    for shown in cards_of(view_of(demo(unit))):
        text = offline_card(shown).text
        assert len(text.encode()) <= LONGEST
        assert shown.code == read_code(code_in(text))
        assert shown.code_text == text.splitlines()[-1]


def test_it_begins_with_the_step(view: JobView) -> None:
    """A phone takes a beginning such as `Step:` for the scheme of an address and offers to open it.

    Source: RFC 3986, section 3.1: a scheme is letters, digits, +, - and . up to the first colon.
    """
    for shown in cards_of(view):
        text = offline_card(shown).text
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
        assert set(lines) <= set(offline_card(card(view, bin_of(view, part))).text.splitlines())


def test_what_nobody_works_without_comes_before_the_rest(view: JobView) -> None:
    """Danger first, then what is shouted, way and clock, torque, the other cautions, then the rest."""
    lines = offline_card(card(view, bin_of(view, "cover-screws"))).text.splitlines()

    assert [
        "1 Cover screw M8 x 30 × 6",
        "DANGER The spring pushes the cover up",
        "LEFT-HAND THREAD",
        "HEAD UP",
        "CLOCK FREE",
        "Tighten: 25 N·m, passes 50 %, 100 %, crosswise, oiled",
        "In first: 2",
        "CAUTION Fingers out of the joint",
        "…",
        grouped(code_of(view, "cover-screws")),
    ] == lines


def needed(unit: JobView) -> Iterator[tuple[Card, str, set[str]]]:
    """Yield each card, its text, and what of it nobody should work without: words that must be there, by the profile.

    Read from the profile itself, not from the card.
    """
    for each in unit.teardown.bins:
        part = each.part
        words = {f"{hazard.signal.upper()} {hazard.text}" for hazard in part.hazards if hazard.signal != "notice"}
        if part.fasten and part.fasten.torque:
            words.add(f"Tighten: {part.fasten.torque}")
        bounds = [bound for check in part.check for bound in (check.min, check.max) if bound]
        words |= {str(bound.value) for bound in bounds}
        words |= {need.step for need in unit.placed[each.step][1].needs if not need.step.startswith(f"{each.step}.")}
        yield card(unit, each), offline_card(card(unit, each)).text, words


@pytest.mark.parametrize("unit", DEMO_UNITS)
def test_no_caution_torque_rule_or_limit_is_missing_in_silence(unit: str) -> None:
    """On every card of both demo units it is in the text, or the text says that there is more of its kind."""
    silent, told = [], 0
    for shown, text, words in needed(view_of(demo(unit))):
        body = text.partition("\n")[2].rpartition("\n")[0]
        missing = {piece for piece in words if piece not in body}
        told += bool(missing)
        if missing and "READ THE CARD: " not in text:
            silent.append((shown.step, missing))
        assert bool(offline_card(shown).missing) == ("READ THE CARD: " in text)

    assert [] == silent
    assert told > 0


@pytest.mark.parametrize("unit", DEMO_UNITS)
def test_the_kinds_that_are_missing_are_named(unit: str) -> None:
    """A caution that is not there in full is named by its signal word, a torque as torque, a limit as limits."""
    for shown, text, _ in needed(view_of(demo(unit))):
        short = offline_card(shown)
        for hazard in shown.hazards:
            if hazard.signal != "notice":
                assert (f"{hazard.signal.upper()} {hazard.text}" in text) or hazard.signal.upper() in short.missing
        torques = [line for section in shown.sections for line in section.lines if line.label == "Tighten"]
        assert not torques or "\nTighten: " in text or "torque" in short.missing
        rules = [line for section in shown.sections for line in section.lines if line.label == "Must be in first"]
        assert not rules or re.search("(In|Must be in) first: ", text) or "in first" in short.missing
        if short.missing:
            assert f"\nREAD THE CARD: {', '.join(short.missing)}\n" in text


def test_what_is_less_important_gives_way_first() -> None:
    """Where torque or a rule has no room, no line that may drop out has any."""
    shown = next(each for each in cards_of(view_of(demo("planetary-reducer"))) if each.step == "7")
    lines = offline_card(shown).text.splitlines()

    assert ("DANGER", "WARNING", "torque") == offline_card(shown).missing
    assert ["7", "DANGER", "HEAD", "CLOCK", "In", "READ", shown.code_text] == [line.split(" ")[0] for line in lines]
    assert lines[1].endswith("…")


def test_a_bolt_s_torque_and_angle_are_on_its_label() -> None:
    """60 N·m and 90 degrees, in one unit: the label is for the wrench that the shop has."""
    shown = next(each for each in cards_of(view_of(demo("planetary-reducer"))) if each.step == "15")

    assert "\nTighten: 60 N·m, then 90°, passes 50 %, 100 %, crosswise, dry\n" in offline_card(shown).text


def test_the_parts_of_a_sub_assembly_stand_as_one() -> None:
    """Nineteen of them would leave room for nothing else."""
    shown = next(each for each in cards_of(view_of(demo("planetary-reducer"))) if each.step == "12")

    assert "\nIn first: 16, its own parts\n" in offline_card(shown).text


def test_a_card_with_room_says_everything_as_it_is(view: JobView) -> None:
    """Torque in all units, what must be in first with the reason."""
    shown = card(view, bin_of(view, "cover-screws"))
    few = [section for section in shown.sections if section.title == "Tighten"]
    text = offline_card(replace(shown, hazards=(), sections=tuple(few))).text

    assert "Tighten: 25 N·m (18.4 lbf·ft, 221 lbf·in), passes 50 %, 100 %, crosswise, oiled" in text
    assert "…" not in text


def test_the_kit_names_the_steps_whose_symbols_lack_something() -> None:
    """One warning for each kind of gap, and none for cards that lack nothing that matters."""
    short = [offline_card(shown) for shown in cards_of(view_of(demo("planetary-reducer")))]
    warnings = left_out_words(short)
    steps = [step for warning in warnings for step in re.split(", ", re.split("of step | has no", warning)[1])]

    assert sorted(each.step for each in short if each.missing) == sorted(steps)
    assert (
        "offline cards: the symbol of step 7 has no room for all of: DANGER, WARNING, torque; "
        "it says so, and cards.html has everything"
    ) in warnings
    assert [] == left_out_words(each for each in short if not each.missing)


def test_what_is_left_out_leaves_an_ellipsis(view: JobView) -> None:
    """A reader can tell a whole card from one that had no room."""
    for shown in cards_of(view):
        text = offline_card(shown).text
        everything = all(line.words in text for section in shown.sections for line in section.lines)
        assert everything != ("…" in text or "READ THE CARD: " in text)


LETTERS = st.text(st.sampled_from("abc de×·Öя轴"), min_size=1, max_size=400).filter(lambda text: bool(text.strip()))


@given(name=LETTERS.map(lambda text: text[:80]), caution=LETTERS, loud=st.lists(st.just("OUT BEFORE WASH"), max_size=3))
def test_no_words_are_too_many(name: str, caution: str, loud: list[str]) -> None:
    """Whatever the profile says, in whatever letters: the limit holds in bytes, and way, clock and code stay."""
    view = view_of(pump())
    shown = card(view, bin_of(view, "cover"))
    shown = replace(shown, name=name, hazards=(Caution("danger", "", caution),) * 3, loud=tuple(loud))
    text = offline_card(shown).text

    assert len(text.encode()) <= LONGEST
    assert text.endswith(shown.code_text)
    assert {"FLAT FACE UP", "AT 6 o'clock", *loud} <= set(text.splitlines())
    assert re.search("\n(DANGER |READ THE CARD: DANGER)", text)


@given(way=LETTERS, name=LETTERS)
def test_not_even_a_long_way_up_is_too_long(way: str, name: str) -> None:
    """A face that is described in a whole sentence is cut and says so; the code stays."""
    view = view_of(pump())
    shown = card(view, bin_of(view, "cover-screws"))
    shown = replace(shown, name=name, way=replace(shown.way, text=way), loud=("LEFT-HAND THREAD", "NEW ONLY") * 3)
    text = offline_card(shown).text

    assert len(text.encode()) <= LONGEST
    assert text.endswith(f"\n{shown.code_text}")


def test_a_cut_caution_says_so(view: JobView) -> None:
    """A long caution is cut at a word and ends in an ellipsis, never in the middle of a letter."""
    shown: Card = card(view, bin_of(view, "cover"))
    shown = replace(shown, hazards=(Caution("danger", "", "Größe " * 60),))
    line = offline_card(shown).text.splitlines()[1]

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
    expected = {offline_card(shown).text for shown in cards_of(view)}

    read = offline_labels(view, stock)

    assert expected == set(read)
    assert any("Крышка насоса Größe 4 °" in each for each in read)
    assert code_of(view, "cover") in {read_code(code_in(each)) for each in read}


@pytest.mark.parametrize("unit", DEMO_UNITS)
@pytest.mark.parametrize("stock", ["a4-3x8-70x37", "letter-3x8-66x32", "roll-60"])
def test_a_dense_symbol_leaves_room_for_the_loud_band(unit: str, stock: str) -> None:
    """What must be shouted stands on the paper too, on the smallest stocks that take such a symbol."""
    view = view_of(demo(unit))
    texts = {shown.step: offline_card(shown).text for shown in cards_of(view)}
    sheets = LabelSheets(view, view.teardown.bins, find_stock(stock), texts=texts, card=True)
    groups = [item for page in sheets.pages() for item in page.items if isinstance(item, Group)]
    words = {group.name: " ".join(item.string for item in group.items if isinstance(item, Text)) for group in groups}
    silent = []
    for each in view.teardown.bins:
        inside = [captured.part for captured in view.inside.get(each.step, ())]
        for fact, _short in loud_facts(each.part, inside):
            if not all(word in words[f"label {each.step}"] for word in fact.split()):
                silent.append((each.step, fact))

    assert [] == silent
