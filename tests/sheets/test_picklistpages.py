"""The printed pick list: a line with its boxes for every place, under its tray and group."""

from __future__ import annotations

from collections.abc import Iterator

import pytest

from labelkit.drawing.page import Box, Group, Page, Path, Text
from labelkit.drawing.text import cap_for_size
from labelkit.errors import CapacityError
from labelkit.load.stock import find_stock
from labelkit.model.catalogue import Catalogue, CatalogueEntry
from labelkit.sheets.jobview import JobView
from labelkit.sheets.legible import LEAST
from labelkit.sheets.newparts import NewParts, new_parts
from labelkit.sheets.picklistpages import picklist_pages
from labelkit.sheets.worksheet import MARGIN
from tests.shop import DEMO_UNITS, apply, demo, profile_of, view_of
from tests.walk import Walk

SHELF = Catalogue({"G2B-1107": CatalogueEntry("G2B-1107", None, "Seal house", shelf=1, location="R1-4")})
REDUCER = {
    "input-bearing": "condemned",
    "upper-cone": "condemned",
    "preload-spacer": "condemned",
    "breather-std": "lost",
}


def pages_of(view: JobView, new: NewParts, paper: str = "a4") -> list[Page]:
    return list(picklist_pages(view, new, find_stock(paper, ("paper",))))


def blocks(pages: list[Page]) -> Iterator[Group]:
    for page in pages:
        yield from (item for item in page.items if isinstance(item, Group) and item.name)


def words(items: Iterator[object]) -> list[str]:
    return [item.string for item in items if isinstance(item, Text)]


def row(pages: list[Page], name: str) -> list[str]:
    return next(words(iter(block.items)) for block in blocks(pages) if block.name == name)


@pytest.fixture(scope="module")
def reducer() -> tuple[list[Page], NewParts]:
    view = view_of(demo("planetary-reducer"))
    new = new_parts(view, REDUCER, SHELF)  # type: ignore[arg-type]
    return pages_of(view, new), new


@pytest.mark.parametrize("paper", ["a4", "letter"])
@pytest.mark.parametrize("unit", DEMO_UNITS)
def test_every_place_has_a_line_with_two_boxes_and_nothing_leaves_the_page(unit: str, paper: str) -> None:
    """All is condemned: several pages, in the order of the pick list; words within the margins and legible."""
    view = view_of(demo(unit))
    names = [each.step for each in view.teardown.bins] + [each.part.id for each in view.teardown.inside]
    new = new_parts(view, dict.fromkeys(names, "condemned"))
    pages = pages_of(view, new, paper)
    lines = [block for block in blocks(pages) if block.name.startswith("pick ")]

    assert [block.name for block in lines] == [f"pick {pick.step} {pick.use.part.id}" for pick in new.picks]
    for block in lines:
        boxes = [item for item in block.items if isinstance(item, Path) and len(item.d) == 5]
        assert len(boxes) == 2
    assert len(pages) > 2
    for page in pages:
        room = Box(0, 0, page.width, page.height).inset(MARGIN)
        for item, matrix in page.walk():
            if isinstance(item, Text):
                x, y = apply(matrix, item.box.x, item.box.y)
                assert room.holds(Box(x, y, item.box.width, item.box.height), slack=0.2), (
                    item.string
                )  # round letters overshoot
                assert cap_for_size(item.size) >= LEAST - 0.02, item.string


def test_every_page_says_again_which_tray_and_group_it_goes_on_with(reducer: tuple[list[Page], NewParts]) -> None:
    """The first thing on a page is the heading of a tray, and headings never stand last."""
    pages, _ = reducer

    assert len(pages) == 2
    for page in pages:
        named = [item.name for item in page.items if isinstance(item, Group) and item.name]
        assert next(name for name in named if not name.startswith("built ")).startswith("tray ")
        assert named[-1].startswith("pick ")


def test_a_line_says_what_is_picked_where_from_and_whom_it_blocks(reducer: tuple[list[Page], NewParts]) -> None:
    """One of three O-rings is on the shelf, for the place that needs it first; the captured bearing blocks a ring."""
    pages, _ = reducer

    first = {"G2B-1107", "26", "2", "1", "step 26", "from R1-4, Seal house", "always renewed"}
    assert first <= set(row(pages, "pick 26 ring-oring"))
    assert {"in 16", "G2B-1211", "condemned", "step 16.1", "Oil guide ring"} <= set(row(pages, "pick 16 input-bearing"))


@pytest.fixture(scope="module")
def going_on() -> tuple[list[Page], NewParts]:
    """A list that is printed later: a cup taken from the shelf lies ready, one of two races does, a washer is at the
    door, a seal is in, and of three shims for one place one came."""
    walk = Walk("marine-gear")
    walk.take_apart()
    for part in ("large-cup-ahead", "thrust-ahead"):
        walk.do("condemned", part, why="blue")
    walk.do("fit_chosen", fit="ahead-end-play", sizes=["0.10", "0.20", "0.50"], predicted="0.07")
    walk.do("received", "large-cup-ahead", pieces=1, source="shelf")
    for part in ("large-cup-ahead", "race-ahead"):
        walk.do("staged", part, pieces=1)
    walk.do("received", number="MR3-2118", pieces=1)
    walk.do("installed", "input-seal", new=True)
    walk.do("received", "ahead-shims", pieces=1, measured="t 0.20 mm")
    number = str(walk.bin("large-cup-ahead").part.number)
    shelf = Catalogue({number: CatalogueEntry(number, None, "Bearing house", shelf=1, location="R3-F1")})
    new = new_parts(walk.view, {}, shelf, walk.record)
    return pages_of(walk.view, new), new


def marks(pages: list[Page], name: str, which: int = 0) -> int:
    """Return how many boxes of a row are ticked."""
    block = [block for block in blocks(pages) if block.name == name][which]
    return sum(isinstance(item, Path) and len(item.d) == 3 for item in block.items)


@pytest.mark.parametrize(
    ("name", "which", "ticked", "said", "not_said"),
    [
        ("pick 21.1 large-cup-ahead", 0, 2, "ready", "from R3-F1, Bearing house"),
        ("pick 26.1 input-seal", 0, 2, "in", "ready"),
        ("pick 13 coupling-lock", 0, 1, "always renewed", "ready"),
        ("pick 23.6 race-ahead", 0, 0, "1 of 2 here", "ready"),
        ("pick 21.2 ahead-shims", 0, 0, "size chosen by measuring", "here"),
        ("pick 21.2 ahead-shims", 1, 1, "here", "1 of 1 here"),
        ("pick 9 valve-gasket", 0, 0, "1", "ready"),
    ],
)
def test_what_is_here_already_is_ticked_and_not_fetched_again(
    going_on: tuple[list[Page], NewParts], name: str, which: int, ticked: int, said: str, not_said: str
) -> None:
    """Both boxes where it lies ready or is in, one where it is at the door or at its place and not laid ready."""
    block = [block for block in blocks(going_on[0]) if block.name == name][which]
    told = words(iter(block.items))

    assert (ticked, True, False) == (marks(going_on[0], name, which), said in told, not_said in told)


def test_places_are_counted_and_not_their_rows(going_on: tuple[list[Page], NewParts]) -> None:
    """Three sizes for one place are three rows; what is ready or in is not to be filled any more."""
    pages, new = going_on
    places = len({pick.use.item.ordinal for pick in new.picks})
    assert len(new.picks) == places + 2
    told = " ".join(words(item for page in pages for item, _ in page.walk()))

    assert f"{places - 2} places to fill, " in told
    assert "; 2 are ready or in" in told
    assert "TRAY C 1 of 3 ready" in told


def test_a_line_says_that_a_trial_used_a_new_piece_up() -> None:
    """It is short again, though one came."""
    walk = Walk("planetary-reducer")
    walk.take_apart()
    for kind, fields in (("received", {"pieces": 1}), ("installed", {"new": True}), ("removed", {"count": 1})):
        walk.do(kind, "tab-washer", **fields)
    pages = pages_of(walk.view, new_parts(walk.view, {}, record=walk.record))

    assert "always renewed; 1 new one out of use" in " ".join(
        row(pages, f"pick {walk.bin('tab-washer').step} tab-washer")
    )


def with_shims() -> Walk:
    """A job that chose three shims for one place: one lies ready, one of another size was rejected; a graded spacer
    came and was measured though its size is not chosen, and a washer that lies ready is on hold."""
    walk = Walk("marine-gear")
    walk.take_apart()
    walk.do("fit_chosen", fit="ahead-end-play", sizes=["0.10", "0.20", "0.50"], predicted="0.07")
    for size in ("0.20", "0.50"):
        walk.do("staged", "ahead-shims", pieces=1, measured=f"t {size} mm")
    walk.do("condemned", "ahead-shims", why="bent", pieces=1, size="0.50", new=True)
    for part in ("end-ring-ahead", "end-ring-astern"):
        walk.do("condemned", part, why="blue")
    walk.do("received", "end-ring-ahead", pieces=1, measured="t 3.4 mm")
    walk.do("staged", "coupling-lock", pieces=1)
    walk.do("hold", "coupling-lock", why="is it the right one?")
    return walk


@pytest.fixture(scope="module")
def shims() -> list[Page]:
    walk = with_shims()
    return pages_of(walk.view, new_parts(walk.view, {}, record=walk.record))


def test_each_size_of_a_stack_is_ticked_for_itself(shims: list[Page]) -> None:
    """What lies ready is, and its step does not wait for it; the size that was rejected says so, and no other does."""
    name, rejected = "pick 21.2 ahead-shims", "1 new one out of use"
    told = [" ".join(words(iter(block.items))) for block in blocks(shims) if block.name == name]

    assert [0, 2, 0] == [marks(shims, name, each) for each in range(3)]
    assert [False, False, True] == [rejected in each for each in told]
    assert [True, False, True] == ["step 21.2" in each for each in told]


def test_a_graded_part_that_was_measured_is_printed_as_its_size(shims: list[Page]) -> None:
    """By its number; one that did not come has the sizes that it may have, in columns, and a line to write on."""
    came, awaited = (row(shims, f"pick {step}") for step in ("23.7 end-ring-ahead", "25.8 end-ring-astern"))

    assert "MR3-2323" in came
    assert any(each.endswith(", 3.4 mm") for each in came)
    assert not {"by size", "Size chosen:", "?"} & {*came}
    assert {"by size", "Size chosen:", "?"} <= {*awaited}
    block = next(block for block in blocks(shims) if block.name == "pick 25.8 end-ring-astern")
    sizes = [each for each in block.items if isinstance(each, Text) and each.string.startswith("3.")]
    lines = sorted({each.y for each in sizes})
    first, second = ([each.x for each in sizes if each.y == y] for y in lines[:2])
    assert len(sizes) > len(first) > 1
    assert first[: len(second)] == second, "one below the other"


def test_what_is_on_hold_is_not_ticked_as_lying_ready(shims: list[Page]) -> None:
    """It is here, and its step waits."""
    name = "pick 13 coupling-lock"
    assert (1, True) == (marks(shims, name), {"ON HOLD", "step 13"} <= {*row(shims, name)})
    assert ", 1 on hold; " in " ".join(words(item for item, _ in shims[0].walk()))


def test_what_is_written_down_has_a_line(reducer: tuple[list[Page], NewParts]) -> None:
    """A matched part its serial number, a graded one its size; a doubtful one says when it is needed."""
    pages, _ = reducer

    assert "Serial:" in row(pages, "pick 32 upper-cone")
    assert "Serial:" in row(pages, "pick 36.1 upper-cup")
    assert {"by size", "?", "Size chosen:"} <= set(row(pages, "pick 33 preload-spacer"))
    assert any(words.startswith("? only if Breather = ") for words in row(pages, "pick 3 breather-std"))
    assert "Serial:" not in row(pages, "pick 26 ring-oring")


def test_the_first_page_says_what_is_short_and_what_can_be_built(reducer: tuple[list[Page], NewParts]) -> None:
    """As the shortage of the same order says it; the brake housing waits for its captured bearing."""
    pages, new = reducer
    built = {block.name: words(iter(block.items)) for block in blocks(pages) if block.name.startswith("built ")}
    said = words(item for item, _ in pages[0].walk())

    assert any("the first step that waits is 36.1, for Tapered bearing cup 125 (upper)" in line for line in said)
    assert "Deep-groove ball bearing 50 x 80 x 16" in " ".join(built["built Brake housing"])
    assert built["built Output shaft, flange"] == ["Output shaft, flange", "can be built"]
    assert len(built) == len(new.short.groups)
    assert said.index("Built on the bench") + 1 == said.index(new.short.groups[0].name), "and not in the unit"


@pytest.mark.parametrize("paper", ["a6", "b5"])
def test_paper_with_no_room_for_names_is_refused(reducer: tuple[list[Page], NewParts], paper: str) -> None:
    """The other columns take 133 mm: found by hostile profiles, printed on A6 with names over numbers."""
    with pytest.raises(CapacityError, match=f"{paper}: too small for a pick list; allowed: from 195 mm wide, as a4"):
        pages_of(view_of(demo("planetary-reducer")), reducer[1], paper)


def test_nothing_new_is_no_page() -> None:
    """A unit of which nothing is renewed has no pick list."""
    view = view_of(
        profile_of("format: 1\nunit: {mark: T1, name: T, up: top}\nparts: [{id: a, name: A, renew: never}]\n")
    )

    assert pages_of(view, new_parts(view, {})) == []
