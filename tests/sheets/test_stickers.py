"""Stickers for new parts: which there are, what they say, and that nobody takes one for a bin label."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator

import pytest

from labelkit.calc.codes import grouped
from labelkit.drawing.page import BLACK, WHITE, Box, Group, Page, Path, Symbol, Text
from labelkit.drawing.text import cap_for_size
from labelkit.errors import UsageError
from labelkit.load.stock import PRINTABLE, all_stock, find_stock
from labelkit.model.media import Printable
from labelkit.sheets.jobview import JobView
from labelkit.sheets.kit import label_texts
from labelkit.sheets.labels import LabelSheets
from labelkit.sheets.legible import LEAST
from labelkit.sheets.newparts import NewParts, new_parts
from labelkit.sheets.stickers import StickerSheets, blank_page
from tests.shop import DEMO_UNITS, demo, profile_of, view_of
from tests.walk import Walk

STOCKS = sorted(name for name, stock in all_stock().items() if stock.kind == "stickers")
REDUCER = {
    "input-bearing": "condemned",
    "upper-cone": "condemned",
    "preload-spacer": "condemned",
    "breather-std": "lost",
}


def everything(view: JobView) -> NewParts:
    """Return what must be new where all is condemned."""
    names = [each.step for each in view.teardown.bins] + [each.part.id for each in view.teardown.inside]
    return new_parts(view, dict.fromkeys(names, "condemned"))


def printed(view: JobView, new: NewParts, stock: str, first: int = 1) -> tuple[StickerSheets, list[Page]]:
    sheets = StickerSheets(view, new.picks, new.needs, find_stock(stock, PRINTABLE), first=first)
    return sheets, list(sheets.pages())


@pytest.fixture(scope="module")
def reducer() -> tuple[JobView, NewParts]:
    view = view_of(demo("planetary-reducer"))
    return view, new_parts(view, REDUCER)  # type: ignore[arg-type]


def faces(pages: list[Page]) -> Iterator[Group]:
    for page in pages:
        yield from (item for item in page.items if isinstance(item, Group))


def words(face: Group) -> list[str]:
    return [item.string for item in face.items if isinstance(item, Text)]


@pytest.mark.parametrize("unit", DEMO_UNITS)
def test_there_is_a_sticker_for_every_place_in_the_order_of_the_trays(unit: str) -> None:
    """Tray by tray and place by place as they lie; what lies on no tray comes last. By the tray plan, not by picks."""
    view = view_of(demo(unit))
    new = everything(view)
    sheets, _ = printed(view, new, "a4-4x12-46x21")
    lie = [place.name for tray in view.trays.trays for place in tray.places]
    seen = [sticker.of.place for sticker in sheets.placed]

    assert Counter(id(use) for use in new.needs.uses) == Counter(id(each.of.use) for each in sheets.placed)
    on_trays = [name for name in seen if name]
    assert on_trays == sorted(on_trays, key=lie.index)
    assert "" not in seen[: len(on_trays)]


def test_a_sticker_says_new_step_number_name_count_place_and_code(reducer: tuple[JobView, NewParts]) -> None:
    """Two O-rings of the ring-gear housing. Number and count are those of the profile."""
    view, new = reducer
    sheets, pages = printed(view, new, "a4-3x15-62x18")
    found = dict(zip((each.of.use.part.id for each in sheets.placed), faces(pages), strict=True))
    ring = next(each for each in view.teardown.bins if each.part.id == "ring-oring")

    assert {"NEW", ring.step, "G2B-1107", "× 2", "O-ring 212 x 3.55, ring-gear housing"} <= set(
        words(found["ring-oring"])
    )
    assert {f"{view.tray_words(ring)} on tray {view.tray_words(ring)[0]}", grouped(view.new_code(ring))} <= set(
        words(found["ring-oring"])
    )


def test_a_sticker_names_the_revision_where_there_is_room() -> None:
    """Before it says that the unit is invented; with a name of two rows too, and `job 1` is the last to go."""
    view = view_of(demo("marine-gear"))
    sheets, pages = printed(view, new_parts(view, {}), "a4-4x12-46x21")
    for each, face in zip(sheets.placed, faces(pages), strict=True):
        assert any("MR3 r2 · job 1" in line for line in words(face)), each.of.use.name


def test_what_is_not_plain_is_said(reducer: tuple[JobView, NewParts]) -> None:
    """A part that goes inside another; one that may not be there; a matched one; one whose size is chosen later."""
    view, new = reducer
    sheets, pages = printed(view, new, "letter-3x10-66x25")
    found = {each.of.use.part.id: words(face) for each, face in zip(sheets.placed, faces(pages), strict=True)}

    assert "in 16" in found["input-bearing"]
    assert {"3?", "if Breather std"} <= set(found["breather-std"])
    assert {"Serial:", "Pair with 36.1"} <= set(found["upper-cone"])
    assert {"No. by size", "Size:"} <= set(found["preload-spacer"])


@pytest.mark.parametrize("name", STOCKS)
def test_everything_stands_inside_its_sticker_and_can_be_read(name: str) -> None:
    """On every sticker stock: within the margin, nothing over the symbol, no letters below the legible size; the code
    can be typed from all but some of the narrowest, which are told."""
    view = view_of(demo("marine-gear"))
    sheets, pages = printed(view, everything(view), name)

    for placed, face in zip(sheets.placed, faces(pages), strict=True):
        inside = placed.box.inset(sheets.stock.margin_mm)
        (symbol,) = (item for item in face.items if isinstance(item, Symbol))
        texts = [item for item in face.items if isinstance(item, Text)]
        assert inside.holds(symbol.box)
        for text in texts:
            assert inside.holds(text.box, slack=0.35), text.string  # a comma hangs below its line
            assert not text.box.overlaps(symbol.box), text.string
            assert cap_for_size(text.size) >= LEAST - 0.02, text.string
        assert sum(text.string == "NEW" for text in texts) == 1
        code = grouped(view.new_code(placed.of.use.item))
        assert (code in [text.string for text in texts]) != (code in placed.shortened)
        assert code not in placed.shortened or name == "a4-5x13-38x21"


def test_a_sticker_is_told_from_a_label_by_its_black_head(reducer: tuple[JobView, NewParts]) -> None:
    """NEW and the step are white on black, on a block at the top left; a label shows its step black on white there."""
    view, new = reducer
    stock = find_stock("a4-4x12-46x21", PRINTABLE)
    _, pages = printed(view, new, stock.name)
    labels = LabelSheets(view, view.teardown.bins, stock, texts=label_texts(view, view.teardown.bins, offline=False))

    for face in faces(pages):
        head = next(item for item in face.items if isinstance(item, Path))
        white = [item for item in face.items if isinstance(item, Text) and item.fill == WHITE]
        assert (head.fill, head.d[0][1:]) == (BLACK, (face.box.x + 1.5, face.box.y + 1.5))  # type: ignore[union-attr]
        new_word, step = white
        assert new_word.string == "NEW"
        assert step.box.x - new_word.box.right > 0.35 * new_word.size  # or NEW 11.1 is read as one word
    for label in faces(list(labels.pages())):
        assert "NEW" not in words(label)


def test_a_sticker_has_a_code_of_its_own(reducer: tuple[JobView, NewParts]) -> None:
    """No new part shares its code with a bin; a code says whose it is, and leads to the bin it goes to."""
    view, _ = reducer
    places = [*view.teardown.items.values()]
    new = [view.new_code(each) for each in places]

    assert len({*new, *map(view.code, view.teardown.bins)}) == len(places) + len(view.teardown.bins)
    assert [view.new_part(code) for code in new] == places
    assert [view.bin_of(view.new_code(each)) for each in view.teardown.bins] == [*view.teardown.bins]
    assert {view.bin_of(view.new_code(each)).step for each in view.teardown.inside} == {"16"}  # type: ignore[union-attr]
    assert not any(view.new_part(view.code(each)) for each in view.teardown.bins)


def test_a_started_sheet_goes_on_at_its_first_free_sticker(reducer: tuple[JobView, NewParts]) -> None:
    """The 47th of 48: two on this sheet, the others on the next one."""
    view, new = reducer
    sheets, pages = printed(view, new, "a4-4x12-46x21", first=47)
    slots = [Box(*slot) for slot in sheets.stock.positions()]

    assert [each.box for each in sheets.placed[:3]] == [slots[46], slots[47], slots[0]]
    assert [each.page for each in sheets.placed[:3]] == [1, 1, 2]
    assert len(pages) == 2
    with pytest.raises(UsageError, match="--first-sticker 49: a sheet of a4-4x12-46x21 has 48 stickers"):
        printed(view, new, "a4-4x12-46x21", first=49)


@pytest.mark.parametrize("name", STOCKS)
def test_blank_stickers_have_lines_to_write_on_and_no_code(name: str) -> None:
    """A whole sheet of them; step, count, number, name, tray and place are asked for, and whose they are is said."""
    view = view_of(demo("planetary-reducer"))
    stock = find_stock(name, PRINTABLE)
    page = blank_page(view, stock)
    found = list(faces([page]))

    assert len(found) == stock.per_page
    for face in found:
        assert {"NEW", "Step", "Qty", "No.", "Part", "Tray", "Place"} < set(words(face))
        assert any("job 1" in text for text in words(face))
        assert not any(isinstance(item, Symbol) for item in face.items)
        assert all(face.box.holds(item.box) for item in face.items if isinstance(item, Text))  # type: ignore[union-attr]


def test_what_has_no_room_is_told() -> None:
    """On the smallest sticker there is none for a serial number: whoever prints it hears of it."""
    view = view_of(
        profile_of(
            "format: 1\nunit: {mark: T1, name: Test, up: top}\nparts:\n"
            "- {id: cup, name: Cup, number: N1, renew: always, pair: [cone]}\n- {id: cone, name: Cone, number: N2}\n"
        )
    )
    sheets, _ = printed(view, new_parts(view, {}), "letter-4x16-46x16")

    assert {each.of.use.part.id: each.shortened for each in sheets.placed} == {
        "cup": ("Serial:", "Pair with 2", "T1 r1 · job 1"),
        "cone": ("Serial:", "Pair with 1", "T1 r1 · job 1"),
    }


def test_a_chosen_size_stands_behind_the_name() -> None:
    """The discs look alike; on every sticker stock the size tells which one it is."""
    walk = Walk("planetary-reducer", {"breather": "std"})
    walk.do("fit_chosen", fit="output-preload", sizes=["5.25"], predicted="3.2")
    new = new_parts(walk.view, {}, record=walk.record)
    for stock in STOCKS:
        sheets, pages = printed(walk.view, new, stock)
        (face,) = (face for each, face in zip(sheets.placed, faces(pages), strict=True) if each.of.use.size)
        assert "5.25 mm" in " ".join(words(face)), stock


def test_label_stock_serves_for_stickers() -> None:
    """Also a roll: each sticker is a page, with a line to cut along where the stock has none."""
    view = view_of(demo("planetary-reducer"))
    roll: Printable = find_stock("roll-60", PRINTABLE)
    new = new_parts(view, {})
    _, pages = printed(view, new, "roll-60")

    assert len(pages) == len(new.picks)
    assert all(page.height == roll.page_size[1] for page in pages)
