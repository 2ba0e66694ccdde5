"""The parts list: every bin once, in order, with where it lies and on which sheet it is drawn."""

from __future__ import annotations

import pytest

from labelkit.drawing.page import Group, Page, Text
from labelkit.sheets import wording
from labelkit.sheets.jobview import JobView
from tests.explodedsheets import demo_pages, faults, lists, parts_of, unit_of, view_on
from tests.shop import DEMO_UNITS, demo, view_of
from tests.traysheets import walk

CASES = [(unit, name) for unit in DEMO_UNITS for name in ("a4", "a3", "a6")]


def part(ident: str, **fields: object) -> dict[str, object]:
    return {"id": ident, "name": ident.capitalize(), **fields}


def listed(pages: tuple[Page, ...] | list[Page]) -> dict[str, list[str]]:
    """Return the words of each row by the step in it, in the order of the list; what stays inside by its name."""
    found: dict[str, list[str]] = {}
    for page in lists(pages):
        for item, _ in page.walk():
            if isinstance(item, Group) and item.name.startswith("listed"):
                words = [each.string for each, _ in walk(item.items) if isinstance(each, Text)]
                name = item.name.partition(" ")[2] or words[0]
                assert name not in found
                found[name] = words
    return found


@pytest.fixture(params=CASES, ids=["-".join(case) for case in CASES])
def case(request: pytest.FixtureRequest) -> tuple[JobView, tuple[Page, ...]]:
    unit, name = request.param
    return view_of(demo(unit)), demo_pages(unit, name)


def test_every_bin_is_listed_once_in_removal_order(case: tuple[JobView, tuple[Page, ...]]) -> None:
    """Column by column, page by page, with the question mark of an open option."""
    view, pages = case
    steps = [step for step in listed(pages) if not step.startswith("inside")]

    assert steps == [each.step + "?" * each.doubtful for each in view.teardown.bins]


def test_a_row_says_what_the_part_is_and_where_it_lies(case: tuple[JobView, tuple[Page, ...]]) -> None:
    """Step, name, quantity, size, tray and place, what it lies on, the sheet."""
    view, pages = case
    rows = listed(pages)
    sheet = {each.step: number for number, page in enumerate(pages, 1) for each in parts_of(page)}
    for each in view.teardown.bins:
        row = rows[each.step + "?" * each.doubtful]

        assert row[1] == wording.short_name(each.part)
        assert row[2] == str(each.part.qty)
        assert (view.tray_words(each) or "none") in row
        assert row[-1] == str(sheet[each.step])


def test_what_is_opened_altogether_lies_where_its_parts_do() -> None:
    """A shaft of 18 kg lies on no tray as a whole, and least of all where its first ring does."""
    view = view_of(demo("marine-gear"))
    shaft, pack = view.teardown.of("ahead-assy")[0], view.teardown.of("ahead-pack")[0]
    shafts, packs = (
        [tray.letter for tray in view.trays.trays if any(p.bin.step.startswith(f"{step}.") for p in tray.places)]
        for step in (shaft.step, pack.step)
    )

    assert len(shafts) > 1 == len(packs)
    assert view.place_words(shaft) == f"in parts on trays {shafts[0]} to {shafts[-1]}"
    assert view.place_words(pack) == f"in parts on tray {packs[0]}"
    assert (view.tray_words(shaft), view.tray_words(pack)) == (f"{shafts[0]}-{shafts[-1]}", packs[0])


def test_a_row_names_the_step_that_a_part_lies_on() -> None:
    """In the same copy of a sub-assembly that is there twice; nothing where nothing is recorded."""
    inner = [part("lid", sits={"on": "cup"}), part("cup")]
    rows = listed(list(view_on(unit_of([part("box", used="2", parts=inner), part("base")]), "a4").pages()))

    assert rows["1.1"] == ["1.1", "Lid", "1", "A1", "1.2", "1"]
    assert rows["2.1"][4:] == ["2.2", "1"]
    assert rows["3"][4:] == ["1"]


def test_a_row_says_whether_a_part_is_renewed() -> None:
    """Always, if worn, with another, never; a part used once only is always renewed."""
    parts = [
        part("a", renew="always"),
        part("b", renew="if_worn"),
        part("c", renew={"with": "a"}),
        part("d", renew="never"),
        part("e", one_time="true"),
        part("f"),
    ]
    rows = listed(list(view_on(unit_of(parts), "a4").pages()))

    assert [rows[str(number)][4:-1] for number in range(1, 7)] == [
        ["NEW"],
        ["if worn"],
        ["with 1"],
        ["no"],
        ["NEW"],
        [],
    ]


def test_what_stays_inside_is_listed_below_its_bin() -> None:
    """It has no step: whoever looks for it must not look for a bin."""
    rows = listed(demo_pages("planetary-reducer", "a4"))
    steps = [*rows]

    assert steps[steps.index("16") + 1] == "inside: Circlip 80 x 2.5"
    assert rows["inside: Circlip 80 x 2.5"][-1] == "stays"


def test_all_rows_are_set_in_one_size(case: tuple[JobView, tuple[Page, ...]]) -> None:
    """A cell that is long makes no letters smaller than those of its neighbours."""
    _, pages = case
    sizes = {
        each.size
        for page in lists(pages)
        for item, _ in page.walk()
        if isinstance(item, Group) and item.name.startswith("listed")
        for each, _ in walk(item.items)
        if isinstance(each, Text) and {run.face for run in each.runs} == {"regular"}
    }

    assert len(sizes) == 1


def test_pages_of_a_long_list_are_equally_full() -> None:
    """Three hundred parts: as few pages as there can be, none of them with a handful of rows."""
    view = unit_of([part(f"p{number}") for number in range(300)])
    pages = lists(list(view_on(view, "a4").pages()))
    rows = [
        sum(isinstance(item, Group) and item.name.startswith("listed") for item, _ in page.walk()) for page in pages
    ]

    assert sum(rows) == 300
    assert min(rows) > 0.8 * max(rows)
    assert faults(pages) == []
