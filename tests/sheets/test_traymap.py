"""The map of a tray: true to its scale, complete, legible, and honest about what nobody recorded."""

from __future__ import annotations

import re
from collections.abc import Iterable, Iterator
from functools import cache

import pytest
import shapely
from shapely import Polygon

from labelkit.calc.trays import LaidTray, TrayPlan
from labelkit.drawing.page import BLACK, Box, Group, Page, Path
from labelkit.errors import CapacityError
from labelkit.model.laying import Laying, Spacing, TrayKind
from labelkit.sheets.jobview import JobView
from labelkit.sheets.legible import LEAST
from labelkit.sheets.traydrawing import shared_grounds
from labelkit.sheets.traymap import TrayMaps
from labelkit.sheets.worksheet import MARGIN
from tests.shop import DEMO_UNITS, apply
from tests.traysheets import Words, box_of, collisions, demo_on, job_of, paper, points_of, whole_page, words_of

TRAYS = ["tray-600x400", "tray-530x325", "tray-400x300"]
PAPERS = ["a4", "letter", "a3"]
CASES = [(unit, tray, name) for unit in DEMO_UNITS for tray in TRAYS for name in PAPERS]


def pages_of(view: JobView, name: str = "a4") -> list[Page]:
    return list(TrayMaps(view, view.trays, paper(name)).pages())


def on(page: Page) -> list[Words]:
    return words_of(page.items)


def said(pages: Page | Iterable[Page]) -> str:
    """Return all words of one page, or of several."""
    return " ".join(line.said for page in ([pages] if isinstance(pages, Page) else pages) for line in on(page))


def maps_of(view: JobView, name: str = "a4") -> Iterator[tuple[LaidTray, Page]]:
    """Yield each tray with its first page."""
    found = {page.name: page for page in pages_of(view, name)}
    for tray in view.trays.trays:
        yield tray, found[f"map {tray.letter} 1"]


@pytest.fixture(params=CASES, ids=["-".join(case) for case in CASES])
def case(request: pytest.FixtureRequest) -> tuple[TrayPlan, list[Page]]:
    """Return the trays of a demo unit and their maps on some paper."""
    return demo_maps(*request.param)


@cache
def demo_maps(unit: str, tray: str, name: str) -> tuple[TrayPlan, list[Page]]:
    view = demo_on(unit, tray)
    return view.trays, pages_of(view, name)


# --- legible ---------------------------------------------------------------------------------------------------------


def test_no_word_lies_on_another_or_across_a_flag_or_an_outline(case: tuple[TrayPlan, list[Page]]) -> None:
    """On every page, for every paper. Source: shapely, boxes of the ink."""
    plan, pages = case
    for page in pages:
        tray = next((tray for tray in plan.trays if page.name == f"map {tray.letter} 1"), None)
        if tray:
            _, matrix = page.find(f"tray {tray.letter}")
            assert collisions(on(page), tray, matrix) == []


def test_every_word_is_legible_and_on_the_paper(case: tuple[TrayPlan, list[Page]]) -> None:
    """Capitals as high as 15 minutes of arc in the hand. Source: NUREG-0700 rev. 3, 11.4.1.5-1."""
    _, pages = case
    for page in pages:
        # Ascenders reach a little over the height of capitals.
        allowed = box_of(Box(0, 0, page.width, page.height).inset(MARGIN - 0.8))
        assert [line.said for line in on(page) if line.cap < LEAST - 1e-6 or not allowed.covers(line.box)] == []


def test_the_map_lies_on_the_paper_beside_its_list(case: tuple[TrayPlan, list[Page]]) -> None:
    """All of the tray, and no word of the list or the foot on it."""
    plan, pages = case
    for tray in plan.trays:
        page = next(page for page in pages if page.name == f"map {tray.letter} 1")
        group, matrix = page.find(f"tray {tray.letter}")
        wall = box_of(Box(0, 0, *tray.stock.size_mm), matrix)
        inside = {line.said for line in words_of([group])}

        assert whole_page(page).buffer(-MARGIN, join_style="mitre").buffer(1e-6).covers(wall)
        assert [line.said for line in on(page) if line.box.intersects(wall) and line.said not in inside] == []


@pytest.mark.parametrize("name", ["a5", "a6", "b6"])
def test_paper_that_is_too_small_is_refused(name: str) -> None:
    """Rather than printing words on words."""
    view = demo_on("planetary-reducer", "tray-600x400")

    with pytest.raises(CapacityError, match=f"paper {name}"):
        TrayMaps(view, view.trays, paper(name))


# --- true ------------------------------------------------------------------------------------------------------------


@pytest.mark.parametrize("name", PAPERS)
@pytest.mark.parametrize("size", [(600.0, 400.0), (530.0, 325.0), (800.0, 300.0), (1200.0, 800.0), (60.0, 30.0)])
def test_the_map_is_reduced_as_it_says(name: str, size: tuple[float, float]) -> None:
    """MAP 1:3 is a third along both axes, and two black and white bars are 100 mm of the tray each."""
    part = "- {id: a, name: Part, form: {ring: {od: 20, id: 5, t: 5}}}\n"
    view = job_of(part, Laying((TrayKind("t", size, 10),), Spacing(flag=(0.0, 0.0))))  # type: ignore[arg-type]
    ((tray, page),) = maps_of(view, name)
    _, (a, b, c, d, *_) = page.find(f"tray {tray.letter}")
    reduced = re.search(r"MAP 1:([\d.]+)", said(page))
    assert reduced

    assert (b, c) == (0, 0)
    assert [a, d] == pytest.approx([1 / float(reduced[1])] * 2)
    bars = [Polygon(points_of(item)) for item in page.items if isinstance(item, Path) and len(item.d) == 5]
    sides = [(bar.bounds[2] - bar.bounds[0], bar.bounds[3] - bar.bounds[1]) for bar in bars]
    assert [width for width, height in sides if height == pytest.approx(2)] == pytest.approx([100 * a] * 2)


def test_the_map_is_as_large_as_it_can_be() -> None:
    """The next larger of the handy reductions would not leave room for list and foot: 1:3 for 600 x 400 on A4."""
    ((_, page), *_) = maps_of(demo_on("planetary-reducer", "tray-600x400"))

    assert "MAP 1:3 " in said(page)


# --- complete --------------------------------------------------------------------------------------------------------


def test_every_place_is_in_the_list(case: tuple[TrayPlan, list[Page]]) -> None:
    """Its name, its step and the part's short name, on the pages of its own tray."""
    plan, pages = case
    for tray in plan.trays:
        own = [page for page in pages if page.name.startswith(f"map {tray.letter} ")]
        lines = {line.said for page in own for line in on(page)}
        steps = {place.bin.step + "?" * place.bin.doubtful for place in tray.places}
        assert {place.name for place in tray.places} | steps <= lines


def test_the_title_block_says_which_tray() -> None:
    """Tray and how many there are, unit, mark, revision, job, options, mass."""
    for tray, page in maps_of(demo_on("planetary-reducer", "tray-600x400")):
        words = said(page)
        assert f"TRAY {tray.letter} of 6 Orvexal G2B-160, two-stage planetary reducer with wet brake" in words
        assert "G2B, revision 5, job 1, invented " in words
        assert "Breather: still open" in words


def test_a_long_list_goes_on_on_the_next_page() -> None:
    """150 balls on one tray: every place in a list, the map and its scale on the first page only."""
    view = job_of("".join(f"- {{id: b{n}, name: Ball {n}, form: {{ball: {{d: 5}}}}}}\n" for n in range(150)))
    (tray,) = view.trays.trays
    pages = pages_of(view)

    assert len(pages) > 1
    assert {place.name for place in tray.places} <= {line.said for page in pages for line in on(page)}
    assert ["MAP" in said(page) for page in pages] == [True] + [False] * (len(pages) - 1)
    assert all(f"TRAY {tray.letter}" in said(page) for page in pages)


def test_a_long_detail_takes_a_second_line() -> None:
    """What is not known of a part stands last in it, and an ellipsis would take just that."""
    view = job_of("- {id: a, name: Wheel, form: {ring: {id: 20, od: 60, t: 3}}, sits: {up: deeply stamped side}}\n")

    assert "DEEPLY STAMPED SIDE UP, clock NOT RECORDED" in said(pages_of(view))


@pytest.mark.parametrize("count", [1, 7, 24, 35, 36, 60])
def test_a_list_of_any_length_is_legible(count: int) -> None:
    """Rows become lower, never lower than their letters; none runs off the page."""
    text = "".join(f"- {{id: b{n}, name: Ball {n}, form: {{ball: {{d: 5}}}}}}\n" for n in range(count))
    view = job_of(text)
    for page in pages_of(view):
        tray = view.trays.trays[0]
        matrix = page.find("tray A")[1] if page.name == "map A 1" else (0.001, 0.0, 0.0, 0.001, -50.0, -50.0)
        assert collisions(on(page), tray, matrix) == []
        assert all(line.cap >= LEAST - 1e-6 for line in on(page))
        assert all(whole_page(page).covers(line.box) for line in on(page))


def test_every_pattern_has_a_key() -> None:
    """A swatch and the sub-assembly's step for each pattern on the map."""
    for tray, page in maps_of(demo_on("marine-gear", "tray-400x300")):
        words = {line.said.split(" ")[0] for line in on(page)}
        assert set(shared_grounds(tray)) <= words


MANY_GROUPS = "".join(
    f"- {{id: g{n}, name: Sub-assembly with a rather long name {n}, mass: '0.5', form: {{ball: {{d: 9}}}}, parts: ["
    f"{{id: p{n}, name: P, mass: '0.1', form: {{ball: {{d: 8}}}}}}]}}\n"
    for n in range(12)
)


def test_twelve_patterns_have_twelve_keys() -> None:
    """Also where the names have no room: then the steps alone."""
    view = job_of(MANY_GROUPS)
    ((tray, page),) = maps_of(view)
    groups = [item for item in page.items if isinstance(item, Group) and not item.name]
    swatches = [item for item in groups if item.matrix[0] == pytest.approx(1 / 3)]

    assert len(shared_grounds(tray)) == len(swatches) == 12
    assert collisions(on(page), tray, page.find("tray A")[1]) == []
    corners = [apply(swatch.matrix, x, y) for swatch in swatches for x, y in ((0, 0), (24, 12))]
    assert all(whole_page(page).covers(shapely.Point(corner)) for corner in corners)


def test_the_signs_are_explained() -> None:
    """Reading arrow, clock wedge, question mark: each by its picture and in words, on every map."""
    for _, page in maps_of(demo_on("marine-gear", "tray-400x300")):
        words = said(page)
        assert "a line begins" in words
        assert "12 at the back" in words
        assert "?  not recorded, or an option is open" in words
        wedges = [item for item in page.items if isinstance(item, Path) and item.fill == BLACK and len(item.d) == 4]
        assert len(wedges) == 2


# --- mass and lifting ------------------------------------------------------------------------------------------------

DISC = "- {{id: {}, name: Disc, mass: {}, form: {{ring: {{od: {}, id: 60, t: 5}}}}}}\n"


@pytest.mark.parametrize(
    ("mass", "words"), [("3.21", "3.3 kg"), ("3.3", "3.3 kg"), ("9.999", "10 kg"), ("0.004", "0.1 kg")]
)
def test_a_mass_is_rounded_up(mass: str, words: str) -> None:
    """Nobody lifts more than the sheet says."""
    ((_, page),) = maps_of(job_of(DISC.format("a", mass, 100)))

    assert words in [line.said for line in on(page)]


def test_masses_not_recorded_are_counted_beside_the_mass() -> None:
    """2 kg and two parts that nobody weighed."""
    part = "- {{id: {}, name: Part, form: {{ring: {{od: 50, id: 20, t: 5}}}}}}\n"
    ((_, page),) = maps_of(job_of(DISC.format("a", 2, 100) + part.format("b") + part.format("c")))

    assert "2 kg + 2 NOT RECORDED" in said(page)
    assert "By the recorded masses alone: one person may lift this" in said(page)


def test_a_tray_that_nobody_weighed_is_not_called_light() -> None:
    """No mass, no lifting index, no leave to lift it."""
    ((_, page),) = maps_of(job_of("- {id: a, name: Part, form: {ring: {od: 50, id: 20, t: 5}}}\n"))

    assert "1 NOT RECORDED No mass is recorded: weigh the tray before it is lifted." in said(page)
    assert " kg" not in said(page)
    assert "may lift" not in said(page)


@pytest.mark.parametrize(
    ("first", "second", "words"),
    [
        ("9", "0.1", "Heavy at the left and back"),
        ("0.1", "9", "Heavy at the back"),
    ],
)
def test_a_tray_that_tips_says_where_it_is_heavy(first: str, second: str, words: str) -> None:
    """One heavy disc in a corner; more than 15 % of a side off the middle. Source: common practice, no source."""
    ((_, page),) = maps_of(job_of(DISC.format("a", first, 200) + DISC.format("b", second, 150)))

    assert words in said(page)


def test_a_tray_in_balance_says_nothing_of_it() -> None:
    """A disc that fills the tray."""
    (_, page) = next(maps_of(job_of(DISC.format("a", 5, 290), Laying((TrayKind("t", (300.0, 300.0), 10),)))))  # type: ignore[arg-type]

    assert "Heavy at" not in said(page)


@pytest.mark.parametrize("unit", DEMO_UNITS)
def test_advice_on_lifting_is_never_cut_short(unit: str) -> None:
    """Limit, index, what is not counted, and that local rules come first: to the last word, for every tray."""
    for _, page in maps_of(demo_on(unit, "tray-600x400")):
        words = said(page)
        assert re.search(r"recommended limit [\d.]+ kg, lifting index [\d.]+\. The tray itself is not counted\.", words)
        assert "local rules come first." in words


# --- the floor -------------------------------------------------------------------------------------------------------


def test_what_goes_on_no_tray_has_its_own_page() -> None:
    """Step, name and the whole reason of each, and no map."""
    view = demo_on("planetary-reducer", "tray-600x400")
    (page,) = (page for page in pages_of(view) if page.name.startswith("floor"))
    words = said(page)

    assert "ON NO TRAY" in words
    assert len(view.trays.floor) == 4
    for each in view.trays.floor:
        assert each.bin.step in [line.said for line in on(page)]
        assert each.reason in words


def test_a_job_without_a_floor_list_has_no_page_for_it() -> None:
    """Nothing to say, nothing printed."""
    assert [page.name for page in pages_of(job_of(DISC.format("a", 1, 100)))] == ["map A 1"]


def test_a_job_that_goes_on_no_tray_at_all_has_only_that_page() -> None:
    """A unit of one part that is lifted with help."""
    assert [page.name for page in pages_of(job_of(DISC.format("a", 50, 100)))] == ["floor 1"]


def test_a_long_reason_is_not_cut_short() -> None:
    """Four kinds of tray in use: what would help stands at the end, and is printed."""
    kinds = tuple(TrayKind(f"tray-of-the-west-shop-{n}", (200.0 + n, 150.0), 10) for n in range(4))  # type: ignore[arg-type]
    view = job_of(DISC.format("a", 1, 190), Laying(kinds))
    (page,) = pages_of(view)
    (standing,) = view.trays.floor

    assert standing.reason in said(page)


def test_many_reasons_take_several_pages() -> None:
    """50 heavy parts: each on one page, none over the edge."""
    pages = pages_of(job_of("".join(DISC.format(f"a{n}", 50, 100) for n in range(50))))
    steps = [line.said for page in pages for line in on(page) if line.said.isdigit()]

    assert sorted(map(int, steps)) == list(range(1, 51))
    assert all(whole_page(page).covers(line.box) for page in pages for line in on(page))
