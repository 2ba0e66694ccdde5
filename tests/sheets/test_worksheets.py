"""The worksheets: complete, legible, and fit for a pencil in a glove."""

from __future__ import annotations

import io
import itertools
import re
from functools import cache

import pypdfium2
import pytest

from labelkit.drawing.page import BLACK, WHITE, Box, Group, Page, Path, Text
from labelkit.drawing.text import ELLIPSIS
from labelkit.errors import CapacityError
from labelkit.model.part import Hazard
from labelkit.render import write
from labelkit.sheets import waywords, wording
from labelkit.sheets.cards import card
from labelkit.sheets.legible import LEAST
from labelkit.sheets.washsheet import wash_sheet
from labelkit.sheets.worksheet import FIRST, MARGIN, Strip, broken, titled
from labelkit.sheets.worksheetcells import Boxes
from labelkit.sheets.worksheetfacts import cautions
from labelkit.sheets.worksheets import worksheets
from tests.shop import DEMO_UNITS, ROOT, demo, profile_of, view_of
from tests.worksheetpages import boxes_on, demo_pages, pages_of, rows, said, words_on

LONG = "Intermediate planetary carrier (lower) with its pins, thrust washers and needles"
TALL = " ".join(["spring-loaded lip toward the oil, never toward the motor"] * 7)
PAPERS = [("planetary-reducer", "a4"), ("planetary-reducer", "letter"), ("marine-gear", "a4"), ("marine-gear", "a3")]


def long_unit(parts: int) -> str:
    """Return a unit of long names and long words, every third part a group of screws, its option open."""
    lines = [
        f"format: 1\nunit: {{mark: LONG-1, name: '{LONG}', up: '{LONG}'}}",
        f"options: {{end: {{name: '{LONG}', tell: '{TALL}', choices: {{one: '{LONG}', two: '{LONG}'}}}}}}",
        "parts:",
    ]
    for number in range(1, parts + 1):
        lines += [
            f"  - id: p{number}",
            f"    name: '{LONG[: 76 - number % 30]} {number}'",
            f"    out: {{note: '{TALL}', look_under: '{TALL}'}}",
            f"    sits: {{up: '{LONG}', clock: '6:00', feature: '{TALL}', tell: '{TALL}', if_wrong: '{TALL}'}}",
            f"    check: [{{measure: '{TALL}', min: 1, max: 2, each: 5, readings: 3, tool: '{TALL}', at: apart}},",
            f"            {{look: '{TALL}', else: '{TALL}', at: clean}}]",
            f"    hazards: [{{signal: danger, text: '{TALL}'}}, {{signal: notice, at: removal, text: '{TALL}'}}]",
        ]
        if number % 3 == 0:
            lines += [f"    qty: {number}", "    fasten: {torque: 33, pattern: circle, passes: ['0.35', '1']}"]
        if number % 4 == 0:
            lines += ["    only: {end: one}"]
    return "\n".join(lines) + "\n"


@cache
def long_pages() -> tuple[Page, ...]:
    return pages_of(view_of(profile_of(long_unit(12))))


def on_paper(page: Page) -> Box:
    return Box(0, 0, page.width, page.height).inset(MARGIN - 0.4)


@cache
def read_back(unit: str) -> dict[str, str]:
    """Return the words of each kind of sheet as a PDF reader finds them. Source: pypdfium2, an independent reader."""
    stream = io.BytesIO()
    write(demo_pages(unit), ".pdf", stream, title="worksheets")
    found: dict[str, str] = {}
    for page in pypdfium2.PdfDocument(stream.getvalue()):
        words = " ".join(page.get_textpage().get_text_range().replace("\u0002", "-").split())
        title = re.match(r"[A-Z-]+", words)
        assert title
        found[title[0]] = found.get(title[0], "") + " " + words
    return found


def test_the_readme_names_every_worksheet() -> None:
    """One word of its row for each kind, those of the fits together: whoever adds one adds its word."""
    (row,) = re.findall(r"`worksheets.pdf` \| .*?: (.*) \|", (ROOT / "README.md").read_text(encoding="utf-8"))
    titles = {each.title.partition(":")[0] for unit in DEMO_UNITS for each in worksheets(view_of(demo(unit)), 190)}

    assert len(row.split(", ")) == len(titles), (row, titles)


@pytest.mark.parametrize(("unit", "paper"), [*PAPERS, ("long", "a4")])
def test_no_words_lie_on_others_or_in_a_box_or_off_the_paper(unit: str, paper: str) -> None:
    """On every page, for several papers, and for a unit of the longest words that a profile may have."""
    for page in long_pages() if unit == "long" else demo_pages(unit, paper):
        words, boxes = words_on(page), boxes_on(page)
        assert [word.said for word in words if not on_paper(page).holds(word.box)] == []
        assert [box.said for box in boxes if not on_paper(page).holds(box.box)] == []
        lying = sorted(words, key=lambda word: word.box.y)
        touching = []
        for number, one in enumerate(lying):
            for two in lying[number + 1 :]:
                if two.box.y >= one.box.bottom:
                    break
                if one.box.overlaps(two.box, 0.05):
                    touching.append((one.said, two.said))
        assert touching == []
        for box in boxes:
            inside = [word.said for word in words if word.box.overlaps(box.box)]
            assert not inside or box.said.startswith("sum "), (page.name, box, inside)


@pytest.mark.parametrize(("unit", "paper"), [*PAPERS, ("long", "a4")])
def test_boxes_do_not_touch_and_are_large_enough_for_a_glove(unit: str, paper: str) -> None:
    """Ticks at least 8 mm square, what is written in at least 18 by 9 mm. Common practice, no source."""
    for page in long_pages() if unit == "long" else demo_pages(unit, paper):
        boxes = boxes_on(page)
        assert [pair for pair in itertools.combinations(boxes, 2) if pair[0].box.overlaps(pair[1].box)] == []
        for box, name in boxes:
            least = (18, 9) if name.split()[0] in ("count", "box", "sum", "write") else (8, 8)
            assert box.width >= least[0] - 1e-6, name
            assert box.height >= least[1] - 1e-6, name


@pytest.mark.parametrize("unit", [*DEMO_UNITS, "long"])
def test_nothing_is_shortened_or_too_small_or_coloured(unit: str) -> None:
    """Every word is printed whole, in letters that are read in the hand. Source: NUREG-0700 rev. 3, 11.4.1.5-1."""
    for page in long_pages() if unit == "long" else demo_pages(unit):
        for item, _ in page.walk():
            if isinstance(item, Text):
                assert ELLIPSIS not in item.string
                assert item.size >= LEAST
                assert item.fill in (BLACK, WHITE)
            if isinstance(item, Path):
                assert {item.fill, item.pen.colour if item.pen else None} <= {BLACK, WHITE, None}


@pytest.mark.parametrize("unit", DEMO_UNITS)
def test_every_page_says_whose_it_is(unit: str) -> None:
    """Unit mark, revision, job, page n of m, a field for the serial number, and what comes before this sheet."""
    pages = demo_pages(unit)
    header = demo(unit).profile.unit
    for number, page in enumerate(pages, start=1):
        words = [word.said for word in words_on(page)]
        assert f"page {number} of {len(pages)}" in words
        assert any(said.startswith(f"{header.mark}, revision {header.revision}, job 1") for said in words)
        assert {"SERIAL", "BY", "DATE", FIRST} <= set(words)


@pytest.mark.parametrize("unit", DEMO_UNITS)
def test_every_bin_can_be_read_back_from_its_sheets(unit: str) -> None:
    """Each on the traveller, at the inspection and in the assembly, with its full name."""
    sheets = read_back(unit)
    for each in view_of(demo(unit)).teardown.bins:
        for title in ("TEARDOWN", "INSPECTION", "ASSEMBLY"):
            assert each.name in sheets[title], (title, each.step)


@pytest.mark.parametrize("unit", DEMO_UNITS)
def test_every_check_can_be_read_back(unit: str) -> None:
    """Those of the teardown on the sheet of what is measured now, the others at inspection or assembly."""
    sheets = read_back(unit)
    view = view_of(demo(unit))
    titles = {"clean": "INSPECTION", None: "INSPECTION", "assembled": "ASSEMBLY"}
    parts = [each.part for each in view.teardown.bins] + [each.part for each in view.teardown.inside]
    for part in parts:
        for check in part.check:
            assert str(check.look or check.measure) in sheets[titles.get(check.at, "MEASURE")], part.id


@pytest.mark.parametrize("unit", DEMO_UNITS)
def test_every_fit_and_group_of_screws_can_be_read_back(unit: str) -> None:
    """Nothing that the screen knows is only on the screen."""
    sheets = read_back(unit)
    view = view_of(demo(unit))
    for name, fit in view.profile.fits.items():
        assert name.replace("-", " ").upper() in sheets["FIT"]
        assert all(step in sheets["FIT"] for step in fit.seat)
    for each in view.teardown.bins:
        if each.part.tightened:
            assert each.name in sheets["TORQUE"]
            if each.part.fasten and each.part.fasten.torque:
                assert wording.torque_words(each.part.fasten.torque) in sheets["TORQUE"]


@pytest.mark.parametrize("unit", DEMO_UNITS)
def test_every_caution_stands_on_the_sheet_of_its_moment(unit: str) -> None:
    """With its signal word; one without a moment wherever the part is in hands."""
    sheets = read_back(unit)
    view = view_of(demo(unit))
    titles = {
        "teardown": ("TEARDOWN",),
        "removal": ("TEARDOWN",),
        "wash": ("BEFORE",),
        "inspection": ("INSPECTION",),
        "assembly": ("ASSEMBLY",),
        None: ("TEARDOWN", "ASSEMBLY"),
    }
    washed = _washed(unit)
    for each in view.teardown.bins:
        for hazard in each.part.hazards:
            for title in (*titles[hazard.at], *(("BEFORE",) if hazard.at is None and each.step in washed else ())):
                assert f"{hazard.signal.upper()} {hazard.text}" in sheets[title]
    for hazard in view.profile.hazards:
        for title in ("BEFORE",) if hazard.at in ("teardown", None) else titles[hazard.at]:
            assert f"{hazard.signal.upper()} {hazard.text}" in sheets[title]


def _washed(unit: str) -> set[str]:
    """Return the steps on the list for the washer."""
    return {name.split()[-1] for name in rows(demo_pages(unit), "wash")}


@pytest.mark.parametrize("unit", DEMO_UNITS)
def test_a_heavy_part_is_cautioned_on_every_sheet_by_which_it_is_lifted(unit: str) -> None:
    """The washer lifts it too, and whoever puts it in; what its label shouts says the row or a caution above it."""
    sheets, view, washed = read_back(unit), view_of(demo(unit)), _washed(unit)
    for each in view.teardown.bins:
        if each.part.lift:
            assert f"LIFT {each.part.lift}" in sheets["TEARDOWN"]
            assert f"LIFT {each.part.lift}" in sheets["ASSEMBLY"]
            assert each.part.lift in sheets["BEFORE"] or each.step not in washed


def test_the_worst_caution_stands_first() -> None:
    """However the profile has them; the order of the signal words is that of ANSI Z535.4 (from memory)."""
    given = [Hazard(text="it drips", signal=signal) for signal in ("notice", "caution", "danger", "warning")]
    told = [said(strip.items) for strip in cautions(given, 200)]

    assert ["DANGER", "WARNING", "CAUTION", "NOTICE"] == [words.partition(" ")[0] for words in told]


def test_the_worst_caution_of_a_whole_group_stands_first() -> None:
    """On the wash list, whose cautions stand above a table of many steps, as those of one step do."""
    view = view_of(demo("planetary-reducer"))
    strips = itertools.groupby(wash_sheet(view, 260).strips, lambda strip: strip.name.startswith("caution "))
    groups = [[said(strip.items).split()[2] for strip in group] for cautions, group in strips if cautions]

    assert [sorted(group, key=["WARNING", "CAUTION"].index) for group in groups] == groups
    assert any({"WARNING", "CAUTION"} == set(group) for group in groups)


def test_what_is_always_renewed_has_no_box_to_be_used_again() -> None:
    """A label says NEW ONLY, and the sheet offers nothing else."""
    found = rows(demo_pages("planetary-reducer"), "inspect")
    for each in view_of(demo("planetary-reducer")).teardown.bins:
        only = "NEW ONLY" in wording.loud_words(each.part)
        assert found[each.step].endswith("replace ask first" if only else "replace ask first repair good"), each.step


def test_a_caution_stands_above_its_step_on_the_same_page() -> None:
    """Read before the screw is loosened. Signal words, and the sign only where somebody can be hurt: ANSI Z535.4."""
    view = view_of(demo("planetary-reducer"))
    (screws,) = view.teardown.of("cover-screws")
    pages = demo_pages("planetary-reducer")
    for table in ("traveller", "assembly"):
        (page,) = [page for page in pages if f"{table} {screws.step}" in _named(page)]
        row = page.find(f"{table} {screws.step}")[1][5]
        cautions = page.find(f"caution {screws.step}")[1][5]
        assert cautions < row < cautions + 40


def _named(page: Page) -> set[str]:
    return {getattr(item, "name", "") for item, _ in page.walk()}


def test_a_table_goes_on_under_its_head() -> None:
    """Each page of the traveller says again what its columns are."""
    pages = [page for page in demo_pages("planetary-reducer") if rows([page], "traveller")]

    assert len(pages) > 2
    assert all({"STEP", "EXPECT", "FOUND"} <= {word.said for word in words_on(page)} for page in pages)


def test_a_unit_of_which_nothing_is_known_prints() -> None:
    """It says NOT RECORDED for way, clock and removal, and has no sheet for fits, packs or torque."""
    pages = pages_of(view_of(profile_of("format: 1\nunit: {mark: AB1, name: U, up: top}\nparts: [{id: a, name: A}]\n")))
    titles = {words_on(page)[1].said for page in pages}

    assert rows(pages, "traveller")["1"] == "1 A × 1 way NOT RECORDED clock NOT RECORDED NOT RECORDED"
    assert titles == {
        "BEFORE THE TEARDOWN", "TEARDOWN TRAVELLER", "BEFORE THE WASH", "INSPECTION", "WHICH WAY IT SITS", "ASSEMBLY",
        "SIGN-OFF",
    }  # fmt: skip


def test_three_hundred_parts_print_each_once() -> None:
    """A line of the traveller for each, in removal order, and a box for each bin at the sign-off."""
    parts = "".join(f"  - {{id: p{k}, name: Part {k}}}\n" for k in range(1, 301))
    pages = pages_of(view_of(profile_of(f"format: 1\nunit: {{mark: AB1, name: U, up: top}}\nparts:\n{parts}")))

    assert list(rows(pages, "traveller")) == [str(step) for step in range(1, 301)]
    assert sum(box.said == "tick 300" for page in pages for box in boxes_on(page)) == 1


def test_open_options_print_both_ways() -> None:
    """With a question mark, what tells them apart, and a box for each choice."""
    pages = demo_pages("planetary-reducer")
    lines = rows(pages, "traveller")

    assert {"3", "4"} <= set(lines)
    assert lines["3"].startswith("3? Breather G1/4 only if Breather = Breather on the output housing")
    assert "OPEN: both ways are printed, marked ?" in rows(pages, "option")["breather"]
    ticks = {box.said for box in boxes_on(pages[0])}
    assert {
        f"tick {choice}" for choice in demo("planetary-reducer").profile.options["breather"].choices.values()
    } <= ticks


def test_a_caution_without_a_moment_is_told_wherever_the_part_is_in_hands() -> None:
    """When it comes out, is washed and goes in; one of the removal is told there only."""
    text = "hazards: [{signal: danger, text: Sharp}, {signal: notice, at: removal, text: Oily}]"
    parts = f"  - {{id: a, name: A, {text}}}\n"
    pages = pages_of(view_of(profile_of(f"format: 1\nunit: {{mark: AB1, name: U, up: top}}\nparts:\n{parts}")))
    told = [word.said for page in pages for word in words_on(page)]

    assert told.count("Sharp") == told.count("DANGER") == 3
    assert told.count("Oily") == told.count("NOTICE") == 1


def test_captured_parts_have_a_line_and_no_bin() -> None:
    """STAYS INSIDE, under the bin they stay in; where renewed they go in before what closes them in."""
    pages = demo_pages("planetary-reducer")
    assert "STAYS INSIDE" in rows(pages, "traveller")["inside input-bearing"]
    order = list(rows(pages, "assembly"))
    assert ["inside input-bearing", "inside input-bearing-circlip", "16.1"] == order[order.index("17") + 1 :][:3]
    assert "where renewed: Circlip 80 x 2.5" in rows(pages, "assembly")["16.1"]


def test_pieces_on_either_side_of_a_part_are_not_told_to_go_in_at_once() -> None:
    """Sheet and card of the races and of what lies between them: some of them first, the rest after that."""
    pages, view = demo_pages("planetary-reducer"), view_of(demo("planetary-reducer"))
    race, needles = (view.teardown.of(part)[0] for part in ("thrust-race", "thrust-needles"))
    sheet = rows(pages, "assembly")

    assert f"not all of it before {needles.step} Thrust needles 50x70: the rest goes in after that" in sheet[race.step]
    assert f"some of {race.step} Thrust race 50 x 70 x 1" in sheet[needles.step]
    labels = [
        (line.label, line.text) for each in (race, needles) for s in card(view, each).sections for line in s.lines
    ]
    assert ("Not all of it before", f"step {needles.step} · Thrust needle cage 50 x 70 x 3") in labels
    assert ("Some of it must be in first", f"step {race.step} · Thrust race 50 x 70 x 1") in labels
    assert "some of" not in sheet[view.teardown.of("end-play-washer")[0].step]


def test_what_must_be_out_before_the_wash_stands_first() -> None:
    """A detent ball in a basket is a detent ball lost."""
    pages = demo_pages("marine-gear")
    view = view_of(demo("marine-gear"))
    before = {each.step for each in view.teardown.bins if each.part.wash == "before"}

    assert before
    assert set(rows(pages, "wash before")) == before


def test_a_housing_is_listed_with_what_its_bearing_bids() -> None:
    """The bearing inside 16 is not washed: no basket for the housing; because of what, sheet, card and label say."""
    pages, view = demo_pages("planetary-reducer"), view_of(demo("planetary-reducer"))
    told = "for what stays inside it: Circlip 80 x 2.5, Ball brg 50x80x16"

    assert told in rows(pages, "wash no_solvent")["16"]
    assert "16" not in rows(pages, "wash basket")
    housing = view.teardown.at("16")
    assert f"no solvent, {told}" == wording.wash_words(housing.part, view.parts_inside(housing))
    lines = [line for section in card(view, housing).sections for line in section.lines if line.label == "Wash"]
    assert [f"no solvent, {told}"] == [line.text for line in lines]
    assert "basket" == wording.wash_words(housing.part)


def test_what_is_thrown_away_is_not_listed_for_the_wash() -> None:
    """No part whose label says NEW ONLY, whatever its class, as on the bench; all others are, each once."""
    pages, view = demo_pages("planetary-reducer"), view_of(demo("planetary-reducer"))
    classes = ("before", "no_solvent", "not_washed", "wipe", "unknown", "small_basket", "basket")
    listed = [step for wash in classes for step in rows(pages, f"wash {wash}")]
    again = [each.step for each in view.teardown.bins if "NEW ONLY" not in wording.loud_words(each.part)]

    assert "13" not in listed, "the circlip of the hub"
    assert sorted(listed) == sorted(step for step in again if step not in view.trays.opened)


def test_what_is_thrown_away_is_listed_where_it_must_be_out_before_the_wash() -> None:
    """A seal that is always new is in the first list only, and the note above the lists says so."""
    seal = "- {id: seal, name: Seal, renew: always, wash: before}"
    text = f"format: 1\nunit: {{mark: T1, name: T, up: up}}\nparts:\n{seal}\n- {{id: hub, name: Hub, wash: basket}}\n"
    pages = pages_of(view_of(profile_of(text)))
    note = " ".join(word.said for page in pages for word in words_on(page))

    assert (["1"], ["2"]) == (list(rows(pages, "wash before")), list(rows(pages, "wash basket")))
    assert "Listed only where they must be out before the wash: parts that must be new in any case" in note


@pytest.mark.parametrize("unit", DEMO_UNITS)
def test_every_plate_has_a_box_out_and_a_box_in(unit: str) -> None:
    """In the order of the stack, and each kind its count. Source: the stacks of the profile."""
    pages, view = demo_pages(unit), view_of(demo(unit))
    packs = [each for each in view.teardown.bins if each.part.stack]
    plates = sum(len(each.part.stack) for each in packs)

    assert packs
    for way in ("out", "in"):
        assert sum(box.said == f"plate {way}" for page in pages for box in boxes_on(page)) == plates
    for pack in packs:
        kinds = rows(pages, f"plates {pack.step}")
        assert len(kinds) == len(set(pack.part.stack))
        for step, words in kinds.items():
            assert words.endswith(f"× {pack.part.stack.count(view.teardown.at(step).part.id)}")
            assert "see PLATE ORDER" in rows(pages, "assembly")[step]


@pytest.mark.parametrize("unit", DEMO_UNITS)
def test_every_reading_that_is_kept_has_a_before_and_an_after(unit: str) -> None:
    """At the sign-off, and every fit too."""
    pages, view = demo_pages(unit), view_of(demo(unit))
    kept = {
        f"{each.step} {check.measure}"
        for each in view.teardown.bins
        for check in each.part.check
        if check.keep and check.measure
    }

    assert kept
    assert kept | {f"fit {name}" for name in view.profile.fits} == set(rows(pages, "readings"))


def test_each_piece_to_be_measured_has_its_boxes() -> None:
    """Five friction discs at three places: fifteen readings, and mean and spread of each disc."""
    (page,) = [page for page in demo_pages("planetary-reducer") if "12.3" in _steps(page, "MEASURE NOW")]
    names = [box.said for box in boxes_on(page)]

    assert [names.count(f"box no. {disc}: 1") for disc in range(1, 6)] == [1] * 5
    words = rows([page], "measure")["friction-disc apart 0"]
    assert words.count("mean") == words.count("spread") == 5
    assert "at least 2.20 mm = at least 0.0867 in" in words  # 2.20 / 25.4 = 0.08661, never looser


def _steps(page: Page, title: str) -> set[str]:
    words = {word.said for word in words_on(page)}
    return words if title in words else set()


def test_a_strip_is_never_parted_and_its_head_comes_along() -> None:
    """What is kept together goes to the next page together; a closing line never begins one."""
    head = Strip(5, name="head", kept=True)
    rows_of_ten = [Strip(10, name=str(k), head=head) for k in range(4)]
    strips = [head, *rows_of_ten, Strip(10, name="caution", head=head, kept=True), Strip(10, name="row", head=head)]
    pages = [[strip.name for strip in page] for page in broken([*strips, Strip(1, closing=True)], 35)]

    assert pages == [["head", "0", "1", "2"], ["head", "3", "caution", "row"]]


def test_a_page_is_filled_before_the_next_begins_and_the_last_has_more_than_a_row() -> None:
    """Six rows of 10 fit on a page: thirteen are six, five and two, and not six, six and one."""
    strips = [*(Strip(10, name="row") for _ in range(13)), Strip(1, name="end", closing=True)]

    assert [6, 5, 3] == [len(page) for page in broken(strips, 61)]


def test_a_short_last_page_takes_rows_from_the_page_before_it() -> None:
    """Taking one from the first page would leave less blank, but where nobody expects it."""
    strips = [Strip(height, name="row") for height in (20, 20, 20, 19, 19, 19, 15)]

    assert [3, 2, 2] == [len(page) for page in broken(strips, 62)]


def test_a_table_that_fits_on_the_next_page_is_not_begun_with_a_row_on_this_one() -> None:
    """Whoever fills a tray by a page of the pick list would lay one part of four."""

    def table(name: str, count: int) -> list[Strip]:
        head = Strip(5, name=name, kept=True)
        return [head, *(Strip(10, name=name, head=head) for _ in range(count))]

    assert [{"A"}, {"B"}] == [{strip.name for strip in page} for page in broken([*table("A", 4), *table("B", 4)], 60)]
    assert [{"A", "B"}, {"B"}] == [
        {strip.name for strip in page} for page in broken([*table("A", 2), *table("B", 5)], 60)
    ]


def test_a_page_that_begins_below_a_heading_says_it_again() -> None:
    """What is not washed must not be taken for what is: the heading, then the head of the table."""
    rows_of_ten = [Strip(10, name=str(number), head=Strip(5, name="head")) for number in range(4)]
    _, page = broken(titled("Not washed", rows_of_ten, 200), 40)

    assert "Not washed, continued" == said(page[0].items)
    assert ["head", "2", "3"] == [strip.name for strip in page]


def test_no_box_stands_alone_on_a_line() -> None:
    """Seven of 18 mm stand on 137.2: of eight, the last takes another one along."""
    lines = Boxes(tuple("12345678")).lines(7 * 19.6)

    assert [6, 2] == [sum(isinstance(item, Group) for item in line.items) for line in lines]


def test_paper_that_is_too_small_is_refused() -> None:
    """And says what is large enough."""
    with pytest.raises(CapacityError, match="a6: too small for worksheets; allowed: from 270"):
        pages_of(view_of(demo("marine-gear")), "a6")


@pytest.mark.parametrize("unit", DEMO_UNITS)
def test_what_can_sit_wrong_is_drawn_and_what_cannot_is_not(unit: str) -> None:
    """A part has its seat drawn when it has a way up or an hour, or when that is not recorded; rows are full."""
    view = view_of(demo(unit))
    drawn = [*rows(demo_pages(unit), "seats").values()]
    seats = " ".join(drawn)
    figures = [row.count(" on: ") for row in drawn]

    for each in view.teardown.bins:
        wrong = waywords.way(each.part).known != "free" or waywords.clock_words(each.part)[1] != "free"
        assert (f"{each.step_words} {each.name}" in seats) == wrong, each.step
    assert set(figures[:-2]) == {4}
    assert min(figures) > 1
