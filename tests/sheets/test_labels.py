"""Bin labels on every shipped stock."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

import pytest

from labelkit.drawing.page import BLACK, WHITE, Box, Group, Page, Path, Symbol, Text
from labelkit.drawing.text import cap_for_size
from labelkit.errors import UsageError
from labelkit.load.stock import all_stock
from labelkit.model.media import Printable
from labelkit.sheets import wording
from labelkit.sheets.kit import label_texts
from labelkit.sheets.labelface import Face
from labelkit.sheets.labels import LabelSheets
from labelkit.sheets.legible import ARMS_LENGTH, MUST, letter_height
from tests.kitchecks import label_faults, texts
from tests.shop import DEMO_UNITS, demo, profile_of, view_of

STOCK = {name: stock for name, stock in all_stock().items() if isinstance(stock, Printable)}


def sheets(unit: str, stock: Printable, **options: int) -> LabelSheets:
    view = view_of(demo(unit))
    return LabelSheets(
        view, view.teardown.bins, stock, texts=label_texts(view, view.teardown.bins, offline=False), **options
    )


def labels(page: Page) -> Iterator[Group]:
    return (item for item in page.items if isinstance(item, Group) and item.name.startswith("label "))


@dataclass
class Made:
    """All labels of a unit on one stock."""

    sheets: LabelSheets
    labels: list[Group]


@dataclass
class Printed:
    """All labels of both demo units on one stock."""

    stock: Printable
    units: dict[str, Made]


@pytest.fixture(scope="module", params=sorted(STOCK))
def printed(request: pytest.FixtureRequest) -> Printed:
    """Of each stock in turn; made once for all that is asked of it."""
    units = {}
    for unit in DEMO_UNITS:
        made = sheets(unit, STOCK[request.param])
        units[unit] = Made(made, [group for page in made.pages() for group in labels(page)])
    return Printed(STOCK[request.param], units)


@pytest.mark.parametrize("unit", DEMO_UNITS)
def test_nothing_overflows_or_touches(printed: Printed, unit: str) -> None:
    """On every stock every text and symbol stays in its label, clear of every other, and can be read."""
    faults = [fault for group in printed.units[unit].labels for fault in label_faults(group)]

    assert faults == []


def test_every_label_says_step_and_code(printed: Printed) -> None:
    """However small the stock: the step and the whole code are there; from 25 mm on whose label it is, too."""
    made = printed.units["planetary-reducer"]
    view = view_of(demo("planetary-reducer"))

    assert [group.name for group in made.labels] == [f"label {each.step}" for each in view.teardown.bins]
    for each, group in zip(view.teardown.bins, made.labels, strict=True):
        words = [text.string for text in texts(group)]
        assert words[0].startswith(each.step)
        assert any(word.replace("-", "") == view.code(each) for word in words)
        if min(printed.stock.piece_size) >= 25:
            assert any("G2B r5" in word for word in words)
            assert any("invented" in word for word in words)


def test_step_is_the_loudest(printed: Printed) -> None:
    """On every stock all other letters are a quarter lower at least than those of the step number.

    A quarter: common practice, no source.
    """
    for group in [*printed.units["planetary-reducer"].labels, *printed.units["marine-gear"].labels]:
        step, *others = texts(group)
        assert all(0.751 * step.size >= text.size for text in others if text.string != "?"), step.string


def test_every_label_shouts_what_must_be_shouted(printed: Printed) -> None:
    """However small the stock, a band begins with the worst, whole; what it leaves out is told."""
    for unit, made in printed.units.items():
        view = view_of(demo(unit))
        for group, placed in zip(made.labels, made.sheets.placed, strict=True):
            inside = [captured.part for captured in view.inside.get(placed.of.step, ())]
            facts = wording.loud_facts(placed.of.part, inside)
            band = " ".join(text.string for text in texts(group) if text.fill == WHITE)
            told = [fact for fact in facts if fact.words in band or fact.short in band]

            assert bool(facts) == bool(band)
            assert facts[:1] == tuple(told[:1])
            assert placed.shortened == () or {fact.words for fact in facts} - set(placed.shortened) == {
                fact.words for fact in told
            }


@pytest.mark.parametrize("step", ["25", "34", "36"])
def test_a_line_takes_what_the_band_would_leave_empty(step: str) -> None:
    """Below two lines of the largest band there was the height of one more line, and it stayed blank."""
    made = sheets("planetary-reducer", STOCK["a4-2x5-99x56"])
    (group,) = (each for page in made.pages() for each in labels(page) if each.name == f"label {step}")

    assert any(text.string.startswith("Wash: basket") for text in texts(group))


def test_only_the_smallest_stickers_cut_words(printed: Printed) -> None:
    """From 25 mm on every label of both units says everything whole; of a caution the smallest say the signal word."""
    for made in printed.units.values():
        cut = [words for placed in made.sheets.placed for words in placed.shortened]
        dots = [text for group in made.labels for text in texts(group) if "…" in text.string]
        names = [each.part.name for each in made.sheets.bins]
        own = [text for text in dots if not any(name.startswith(text.string[:6]) for name in names)]

        if min(printed.stock.piece_size) >= 25:
            assert [] == cut
        assert len(own) <= len(cut)
        signals = [text for text in dots if text.string.startswith(("DANGER", "WARNING", "CAUTION"))]
        assert len(signals) <= len([words for words in cut if " · " in words])


def test_a_wide_label_says_where_its_part_lies(printed: Printed) -> None:
    """From 99 mm on every label of both units names the place on its tray, whatever else it has to say."""
    if printed.stock.piece_size[0] >= 99:
        for unit, made in printed.units.items():
            view = view_of(demo(unit))
            for each, group in zip(made.sheets.bins, made.labels, strict=True):
                assert any(f"Place {view.place_words(each)}" in text.string for text in texts(group)), each.step


def test_further_lines_of_a_tall_label_are_large_and_of_one_size() -> None:
    """On 199 x 143 mm facts share lines rather than being small: letters above 3 mm (a choice; 4 is arm's length)."""
    for page in sheets("marine-gear", STOCK["a4-1x2-199x143"]).pages():
        for group in labels(page):
            begins = ("Wash: ", "Place ", "Belongs to ", "Comes out with ", "Do not mix up ")
            sizes = {round(text.size, 6) for text in texts(group) if text.string.startswith(begins)}
            assert len(sizes) == 1
            assert cap_for_size(min(sizes)) > 3.0


def test_step_and_name_are_read_from_afar_where_the_stock_allows() -> None:
    """On 99 x 56 mm the step is 12 mm tall at least, as a bin number read across the bench has to be."""
    for page in sheets("planetary-reducer", STOCK["a4-2x5-99x56"]).pages():
        for group in labels(page):
            step = next(texts(group))
            assert cap_for_size(step.size) >= 11.9 or step.width > 30


def test_letter_heights_follow_the_published_angles() -> None:
    """16 minutes at 500 mm are 2.33 mm, 20 minutes at 700 mm 4.07 mm (2 d tan(a/2)).

    Source: NUREG-0700 rev. 3, 11.4.1.5-1: labels at least 15, preferably 20 minutes of arc.
    """
    assert round(letter_height(500, 16), 2) == 2.33
    assert round(MUST, 2) == 4.07


def test_a_started_sheet_goes_on_at_its_first_free_label() -> None:
    """`--first-label 7` leaves six places free."""
    made = sheets("planetary-reducer", STOCK["a4-3x8-70x37"], first=7)
    list(made.pages())

    places = STOCK["a4-3x8-70x37"].positions()
    assert made.placed[0].box == Box(*places[6])
    assert made.placed[18].page == 2
    assert made.placed[18].box == Box(*places[0])


def test_a_place_that_no_sheet_has_is_refused() -> None:
    """The message says how many labels a sheet has."""
    with pytest.raises(UsageError, match="24 labels; allowed: 1 to 24"):
        sheets("planetary-reducer", STOCK["a4-3x8-70x37"], first=99)


# --- the rows of a label

ARM = letter_height(ARMS_LENGTH)
LARGE = [name for name, stock in STOCK.items() if min(stock.piece_size) >= 37]
WIDE = [name for name, stock in STOCK.items() if stock.piece_size[0] >= 99]


def label(stock: str, fields: str, name: str = "Brake nut M28", place: int = 0) -> tuple[Group, Face]:
    """Return a label of a part with these fields, written as in a profile, on the first place of a stock."""
    text = (
        f"format: 1\nunit: {{mark: P7, name: Pump, up: drive side}}\nparts:\n  - {{id: part, name: {name}, {fields}}}\n"
    )
    view = view_of(profile_of(text))
    each, paper = view.teardown.bins[place], STOCK[stock]
    box = Box(*paper.positions()[0]).inset(paper.margin_mm)
    face = Face(view, each, view.url(each), box, paper.true_dpi)
    return face.group(), face


def band_of(group: Group) -> tuple[Path, list[Text]]:
    """Return the black band and the white lines on it."""
    (band,) = [item for item in group.items if isinstance(item, Path) and item.fill == BLACK]
    return band, [text for text in texts(group) if text.fill == WHITE]


LOUD = "thread: left, renew: always, hazards: [{signal: warning, at: removal, text: x}]"
SITS = "form: {nut: {d: 28}}, sits: {up: arrow, clock: free}"


@pytest.mark.parametrize("name", LARGE)
def test_many_loud_words_are_read_at_arms_length(name: str) -> None:
    """Three of them stand on as many lines as it takes; on stock of 37 mm and more none gets small.

    Source: NUREG-0700 rev. 3, 11.4.1.5-1: 15 minutes of arc at least; here of 0.7 m on stock that has the room for it,
    and never less than of 0.45 m. Distances: common practice, no source.
    """
    _, lines = band_of(label(name, f"{SITS}, {LOUD}")[0])
    far = ARM if min(STOCK[name].piece_size) >= 56 else letter_height(450)

    assert ["WARNING: SCAN FIRST", "LEFT-HAND THREAD", "NEW ONLY"] == [
        fact for text in lines for fact in text.string.split(" · ")
    ]
    assert all(cap_for_size(text.size, "bold") >= far for text in lines)


@pytest.mark.parametrize("name", sorted(STOCK))
def test_the_band_holds_its_words(name: str) -> None:
    """White words are never outside their black, on no stock and with no number of loud words."""
    for fields in ("renew: always", "mass: 20, renew: always", LOUD, f"{LOUD}, mass: 20, wash: before"):
        group, _ = label(name, fields)
        bands = [item for item in group.items if isinstance(item, Path) and item.fill == BLACK]
        for text in texts(group):
            if text.fill == WHITE:
                (left, top), (right, bottom) = bands[0].d[0][1:3], bands[0].d[2][1:3]
                assert Box(left, top, right - left, bottom - top).holds(text.box, 1e-3)


@pytest.mark.parametrize("loud", ["", "renew: always", "hazards: [{signal: danger, at: removal, text: x}]"])
@pytest.mark.parametrize("name", LARGE)
def test_a_loud_band_does_not_cost_the_drawing(name: str, loud: str) -> None:
    """From 70 x 37 mm on a label with one loud word still shows which way by a drawing, and the clock by a dial."""
    group, _ = label(name, ", ".join(filter(None, (SITS, loud))))

    assert {"orientation", "dial"} == {item.name for item in group.items if isinstance(item, Group)}


@pytest.mark.parametrize("name", WIDE)
def test_a_wide_label_has_one_left_edge(name: str) -> None:
    """With a symbol at either end, step, name and drawing begin where the label begins, and nothing is beside them."""
    group, face = label(name, SITS)
    step, _, part, *_ = texts(group)
    symbols = [item for item in group.items if isinstance(item, Symbol)]

    assert 2 == len(symbols)
    assert step.left == pytest.approx(face.box.x)
    assert part.left == pytest.approx(face.box.x)
    assert part.box.bottom <= symbols[1].box.y
    (drawing,) = [item for item in group.items if isinstance(item, Group) and item.name == "orientation"]
    assert drawing.box is not None
    # Above the second symbol where there is room for it, which there is from 56 mm on, else beside it.
    above = drawing.box.bottom <= symbols[1].box.y
    assert above or STOCK[name].piece_size[1] < 56
    assert drawing.box.x == pytest.approx(face.box.x) if above else drawing.box.x >= symbols[1].box.right


@pytest.mark.parametrize("name", sorted(STOCK))
def test_a_clock_that_is_not_recorded_is_never_silent(name: str) -> None:
    """Where there is a row for how the part sits, it tells a missing clock from a free one."""
    missing, _ = label(name, "sits: {up: lid}")
    free, _ = label(name, "sits: {up: lid, clock: free}")
    words = " ".join(text.string for text in texts(missing))

    assert "LID" not in words or "?" in words or "NOT REC" in words
    assert "?" not in " ".join(text.string for text in texts(free))


def test_a_label_warns_of_what_is_captured_inside() -> None:
    """A captured part has no bin and no label; the label of what holds it says SCAN FIRST for it."""
    inside = (
        "{id: bearing, name: Bearing, held: {by: behind, part: ring}, sits: {on: part}, "
        "hazards: [{signal: warning, at: removal, text: Springs out}]}"
    )
    parts = f"parts: [{{id: ring, name: Ring, held: {{by: screwed}}}}, {inside}]"
    _, lines = band_of(label("a4-2x5-99x56", f"sits: {{up: lid}}, {parts}")[0])

    assert ["WARNING: SCAN FIRST", "1 STAYS INSIDE"] == " · ".join(text.string for text in lines).split(" · ")


def test_a_second_copy_is_not_read_as_a_fraction() -> None:
    """A bin of the second of two equal sub-assemblies says 2 of 2, and no 2/2 that could be a size in inches."""
    group, _ = label("a4-2x5-99x56", "used: 2, parts: [{id: ball, name: Ball}]", name="Relief valve 1/2", place=2)
    words = " ".join(text.string for text in texts(group))

    assert "Relief valve 1/2 (2\u00a0of\u00a02)" in words
    assert "2/2" not in words
