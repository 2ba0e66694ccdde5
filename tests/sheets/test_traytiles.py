"""A tray at 1:1 on office paper: counts, crosses, what a person with scissors needs, and the files read back."""

from __future__ import annotations

import ctypes
import io
import itertools
import json
import math
import re
from collections.abc import Iterator
from dataclasses import dataclass, replace
from functools import cache
from pathlib import Path as FilePath
from typing import Any
from xml.etree import ElementTree

import cv2
import numpy as np
import pypdfium2
import pytest
import shapely
import shapely.affinity
from click.testing import CliRunner
from hypothesis import example, given, settings
from hypothesis import strategies as st
from numpy.typing import NDArray
from PIL import Image
from pypdfium2 import raw

from labelkit.calc import packing
from labelkit.calc.trays import LaidTray
from labelkit.cli.kit import kit
from labelkit.drawing.page import Box, Group, Page, Path
from labelkit.errors import CapacityError, NotFoundError
from labelkit.language import LANGUAGES, speaking
from labelkit.load.stock import PRINTABLE, find_stock
from labelkit.model.laying import Laying, TrayKind
from labelkit.model.printer import Factors
from labelkit.render import write
from labelkit.sheets.jobview import JobView
from labelkit.sheets.kit import DOCUMENTS, KitOrder, make_kit
from labelkit.sheets.legible import LEAST
from labelkit.sheets.ruler import FREE
from labelkit.sheets.traytiles import MARGIN, OVERLAP, TrayTiles, sheet_words, whole_tray
from tests.bench_app.phones import a_screen
from tests.shop import DEMO_UNITS
from tests.traysheets import body_of, box_of, demo_on, flag_of, job_of, paper, points_of, walk, whole_page, words_of

MM = 72 / 25.4
PAPERS = ["a4", "letter", "a3", "legal", "tabloid"]
TRUE = (Factors(), Factors())
PART = "- {id: a, name: Part, mass: 1, form: {ring: {od: 40, id: 5, t: 5}}}\n"
Point = tuple[float, float]


def empty(width: float, depth: float) -> LaidTray:
    """Return a tray that is used to its walls."""
    (place,) = some_job().trays.trays[0].places
    return LaidTray("A", TrayKind("t", (width, depth), 10), 0, (replace(place, cell=(0, 0, width, depth)),), ())  # type: ignore[arg-type]


def tiles_of(view: JobView, name: str = "a4", factors: tuple[Factors | None, Factors | None] = TRUE) -> TrayTiles:
    return TrayTiles(view, view.trays, paper(name), factors)


@cache
def some_job() -> JobView:
    return job_of(PART)


@cache
def demo_tiles(unit: str = "planetary-reducer", name: str = "a4") -> TrayTiles:
    return tiles_of(demo_on(unit, "tray-600x400"), name)


@cache
def demo_pages(unit: str = "planetary-reducer", name: str = "a4") -> tuple[Page, ...]:
    return tuple(demo_tiles(unit, name).pages())


def sheet_of(page: Page) -> tuple[str, int, int]:
    """Return tray, row and column of a page, from 0."""
    found = re.fullmatch(r"tray (\w+) row (\d+) column (\d+)", page.name)
    assert found
    return found[1], int(found[2]) - 1, int(found[3]) - 1


# --- how many sheets -------------------------------------------------------------------------------------------------

# Sheets for a tray used to its front wall: window = paper - 2 x 7 mm margin - 12 mm strip, drawing 1 mm beyond the
# walls, overlap 10 mm, the better page orientation. Source: worked out apart, ceil((side + 2 - 10) / (window - 10)).
COUNTS = {
    (600, 400): (8, 8, 4, 6, 3),
    (530, 325): (4, 6, 2, 3, 3),
    (565, 365): (8, 6, 3, 4, 3),
    (400, 300): (4, 4, 2, 3, 2),
    (600, 250): (4, 4, 2, 4, 2),
    (300, 200): (2, 2, 1, 2, 1),
}


@pytest.mark.parametrize(
    ("size", "name", "count"),
    [(size, name, count) for size, counts in COUNTS.items() for name, count in zip(PAPERS, counts, strict=True)],
)
def test_counts(size: Point, name: str, count: int) -> None:
    """As many sheets as the better page orientation takes, and not one more."""
    assert tiles_of(some_job(), name).sheets(empty(*size)) == count


def test_no_sheet_is_empty() -> None:
    """The last of each row shows ink of a part or its flag that no other shows; nothing is on none of them."""
    for tray in demo_on("planetary-reducer", "tray-600x400").trays.trays:
        shown = {sheet_of(page): shapely.box(*window_of(page)) for page in demo_pages()}
        shown = {sheet: window for sheet, window in shown.items() if sheet[0] == tray.letter}
        things = shapely.union_all([shape for place in tray.places for shape in (body_of(place), flag_of(place))])
        ink = shapely.affinity.translate(things, 1, 1)  # the drawing begins 1 mm outside the walls
        assert shapely.union_all(list(shown.values())).buffer(1e-6).covers(ink)
        last = {row: column for _, row, column in sorted(shown)}
        for sheet in ((tray.letter, *place) for place in last.items()):
            others = shapely.union_all([window for other, window in shown.items() if other != sheet])
            assert ink.difference(others).area > 0, sheet
    assert tiles_of(some_job()).sheets(*some_job().trays.trays) == 1


@pytest.mark.parametrize("name", PAPERS)
def test_overlaps_are_wide_enough(name: str) -> None:
    """At least 10 mm, so that tape and crosses have room."""
    for size in COUNTS:
        tiling = tiles_of(some_job(), name).tiling(empty(*size))
        for starts, room in ((tiling.columns, tiling.window[0]), (tiling.rows, tiling.window[1])):
            assert all(before + room - after >= OVERLAP - 1e-9 for before, after in itertools.pairwise(starts))


def test_the_number_of_sheets_is_said_before_they_are_printed() -> None:
    """Of all trays and of each."""
    words = sheet_words(demo_tiles())
    said = {letter: int(count) for letter, count in re.findall(r"\b([A-Z]) (\d+)", words)}
    found = [sheet_of(page)[0] for page in demo_pages()]

    assert words.startswith(f"{len(found)} sheets of a4 at 1:1")
    assert said == {letter: found.count(letter) for letter in dict.fromkeys(found)}


@pytest.mark.parametrize("name", ["a5", "a6", "b6"])
def test_paper_without_room_for_the_check_crosses_is_refused(name: str) -> None:
    """140 mm apart, whatever else is on the sheet; the error names the paper and what to do."""
    with pytest.raises(CapacityError, match=f"paper {name}.*--map-only"):
        tiles_of(some_job(), name)


# --- crosses, seams and cuts -----------------------------------------------------------------------------------------


def crosses(page: Page, name: str) -> list[Point]:
    """Return the middles of the crosses of a name on the page, by the ink of their strokes."""
    found = []
    for item, matrix in page.walk():
        if isinstance(item, Group) and item.name == name:
            strokes = [points_of(stroke, matrix) for stroke in item.items if isinstance(stroke, Path)]
            xs, ys = zip(*itertools.chain(*strokes), strict=True)
            found.append(((min(xs) + max(xs)) / 2, (min(ys) + max(ys)) / 2))
    return found


def matches(page: Page) -> set[Point]:
    """Return the match crosses of a sheet in the drawing's frame, by what the page itself shows of the drawing."""
    _, matrix = page.find("window")
    return {((x - matrix[4]) / matrix[0], (y - matrix[5]) / matrix[3]) for x, y in crosses(page, "match")}


def shared(one: Page, other: Page) -> list[Point]:
    """Return the crosses that two sheets have in common, in the drawing's frame, to a thousandth of a millimetre."""
    return [p for p in matches(one) if any(math.dist(p, q) < 1e-3 for q in matches(other))]


def window_of(page: Page) -> tuple[float, float, float, float]:
    group, _ = page.find("window")
    assert group.clip
    return group.clip.x, group.clip.y, group.clip.right, group.clip.bottom


def kept(page: Page, pages: dict[tuple[int, int], Page]) -> shapely.Polygon:
    """Return what is left of a sheet, in the drawing's frame, when it is cut through the crosses of its neighbours."""
    _, row, column = sheet_of(page)
    left, top, right, bottom = window_of(page)
    if column:
        left = through(shared(page, pages[row, column - 1]), 0)
    if (row + 1, column) in pages:
        bottom = through(shared(page, pages[row + 1, column]), 1)
    return shapely.box(left, top, right, bottom)


def through(points: list[Point], axis: int) -> float:
    """Return where a line along a seam runs that has the most crosses on it."""
    on = [[other[axis] for other in points if abs(other[axis] - one[axis]) < 1e-3] for one in points]
    return max(on, key=len)[0]


@settings(max_examples=15, deadline=None)
@given(
    width=st.integers(150, 1000),
    depth=st.integers(100, 700),
    name=st.sampled_from(["a4", "letter", "a3", "b4", "b5", "legal"]),
    factors=st.builds(Factors, st.floats(0.985, 1.015), st.floats(0.985, 1.015)),
)
@example(width=223, depth=228, name="b5", factors=Factors())
def test_neighbours_have_their_crosses_at_the_same_places(width: int, depth: int, name: str, factors: Factors) -> None:
    """Two at least, far apart, at the same drawing coordinates on both sheets; none where a cut takes it away."""
    tiles = tiles_of(job_of_size(width, depth), name, (factors, factors))
    pages = {sheet_of(page)[1:]: page for page in tiles.pages()}
    for (row, column), page in pages.items():
        assert all(kept(page, pages).distance(shapely.Point(point)) < 1e-3 for point in matches(page))
        for neighbour in ((row, column - 1), (row + 1, column)):
            if neighbour in pages:
                left = kept(page, pages).intersection(kept(pages[neighbour], pages).buffer(1e-6))
                common = shared(page, pages[neighbour])
                points = [point for point in common if left.distance(shapely.Point(point)) < 1e-3]
                apart = max((math.dist(p, q) for p, q in itertools.combinations(points, 2)), default=0)
                assert apart >= 35, (sheet_of(page), neighbour, points)


def job_of_size(width: float, depth: float) -> JobView:
    """Return a job with one block nearly as large as its tray."""
    part = f"- {{id: a, name: Part, mass: 1, form: {{block: {{l: {width - 9}, w: {depth - 31}, h: 5}}}}}}\n"
    return job_of(part, Laying((TrayKind("t", (width, depth), 10),)))  # type: ignore[arg-type]


def test_a_dashed_line_shows_where_to_cut() -> None:
    """Through the crosses: every sheet but the first of a row at its left, all but the front row at their front.

    The last of a row that ends before the row in front of it loses its border at the right, which would cover that.
    """
    pages = {sheet_of(page)[1:]: page for page in demo_pages() if sheet_of(page)[0] == "A"}
    for page in pages.values():
        group, _ = page.find("window")
        paths = [item for item, _ in walk(group.items) if isinstance(item, Path)]
        dashed = [points_of(path) for path in paths if path.pen and path.pen.dash]
        left, top, right, bottom = kept(page, pages).bounds
        _, row, column = sheet_of(page)
        ends = (row, column + 1) not in pages and (row + 1, column + 1) in pages
        lines = [[(x, top), (x, window_of(page)[3])] for x in (*[left] * (column > 0), *[right] * ends)]
        if bottom < window_of(page)[3]:
            lines.append([(window_of(page)[0], bottom), (window_of(page)[2], bottom)])
        assert dashed == [[pytest.approx(point) for point in line] for line in lines]


@pytest.mark.parametrize("unit", DEMO_UNITS)
def test_every_cut_can_be_seen_and_no_cross_runs_through_words(unit: str) -> None:
    """No dashes within a millimetre of the thick line of a band or a wall; each cross clear of words and flags."""
    trays = {tray.letter: tray for tray in demo_tiles(unit).plan.trays}
    for page in demo_pages(unit):
        group, _ = page.find("window")
        tray = trays[sheet_of(page)[0]]
        width, depth = tray.stock.size_mm
        walls = [(0, 0, width, 0), (0, depth, width, depth), (0, 0, 0, depth), (width, 0, width, depth)]
        thick = [shapely.LineString([(x1 + 1, y1 + 1), (x2 + 1, y2 + 1)]) for x1, y1, x2, y2 in (*tray.rules, *walls)]
        cuts = [item for item in group.items if isinstance(item, Path) and item.pen and item.pen.dash]
        for (x1, y1), (x2, y2) in map(points_of, cuts):
            along = [each for each in thick if (each.bounds[0] == each.bounds[2]) == (x1 == x2)]
            assert all(each.distance(shapely.LineString([(x1, y1), (x2, y2)])) > 1 for each in along), sheet_of(page)
        flags = [shapely.affinity.translate(flag_of(place), 1, 1) for place in tray.places]
        said = shapely.union_all([*(line.box for line in words_of(group.items)), *flags])
        for x, y in matches(page):
            arms = shapely.MultiLineString([[(x - 4, y), (x + 4, y)], [(x, y - 4), (x, y + 4)]])
            assert said.distance(arms) > 0.3, (sheet_of(page), x, y)


def test_cut_sheets_lie_side_by_side() -> None:
    """What is left of all sheets covers the drawing once: no strip is missing, and none is there twice."""
    pages = {sheet_of(page)[1:]: page for page in demo_pages() if sheet_of(page)[0] == "A"}
    left_over = shapely.union_all([kept(page, pages) for page in pages.values()])
    bounds = shapely.union_all([shapely.box(*window_of(page)) for page in pages.values()])

    # A row lies on the one in front of it, a sheet on its left neighbour: their right and back edges are not cut.
    assert left_over.area == pytest.approx(bounds.area)


def test_the_first_sheet_says_so_and_the_others_say_what_to_do() -> None:
    """The front row first, from the left; each says on which neighbours it is laid."""
    sheets = {sheet_of(page) for page in demo_pages()}
    for page in demo_pages():
        letter, row, column = sheet_of(page)
        front = (letter, row + 1, column) in sheets
        words = " ".join(line.said for line in words_of(page.items))
        assert "…" not in words
        assert ("lay this sheet down first" in words) == (column == 0 and not front)
        assert ("the sheet on its left" in words) == (column > 0)
        assert ("the sheet in front" in words) == front


@pytest.mark.parametrize("language", LANGUAGES)
@pytest.mark.parametrize("unit", DEMO_UNITS)
def test_every_sheet_says_of_which_job_it_is(unit: str, language: str) -> None:
    """Also where there is little room beside the window: the revision gives way, and then how it is printed."""
    view = demo_on(unit, "tray-600x400")
    named = JobView(replace(view.job, number=4711), view.profile, view.secret)
    with speaking(language):
        for page in TrayTiles(named, view.trays, paper("a4"), TRUE).pages():
            (line,) = (line.said for line in words_of(page.items) if "4711" in line.said)
            assert "100 %" in line
            assert "…" not in line


# --- what stands beside the window -----------------------------------------------------------------------------------

SHEETS = list(itertools.product(("a4", "letter", "a3"), (Factors(), Factors(1.015, 1.015), Factors(0.985, 1.015))))


@cache
def sheets_of(name: str, factors: Factors) -> tuple[Page, ...]:
    """Return the first sheets of a demo unit: those of one tray upright, of the next lying."""
    pages = tiles_of(demo_on("planetary-reducer", "tray-600x400"), name, (factors, factors)).pages()
    return tuple(itertools.islice(pages, 9))


@pytest.mark.parametrize(("name", "factors"), SHEETS, ids=str)
def test_every_sheet_can_be_checked(name: str, factors: Factors) -> None:
    """Crosses 140 mm apart on both axes times the factors, one ruler on each axis, and its name."""
    for page in sheets_of(name, factors):
        ((x, y),) = crosses(page, "check corner")
        ((right, level),) = crosses(page, "check x")
        ((plumb, top),) = crosses(page, "check y")
        letter, row, _ = sheet_of(page)

        assert (right - x, y - top) == pytest.approx((140 * factors.x, 140 * factors.y))
        assert (level, plumb) == pytest.approx((y, x))
        assert page.find("ruler x")
        assert page.find("ruler y")
        assert any(line.said.startswith(f"TRAY {letter}  row {row + 1}/") for line in words_of(page.items))


@pytest.mark.parametrize(("name", "factors"), SHEETS, ids=str)
def test_nothing_is_printed_where_a_printer_cannot(name: str, factors: Factors) -> None:
    """The margin stays free, also on a sheet that is enlarged."""
    for page in sheets_of(name, factors):
        # The figure 100 of the upright ruler stands a little outside.
        allowed = whole_page(page).buffer(0.9 - MARGIN, join_style="mitre")
        _, matrix = page.find("window")
        left, top, right, bottom = window_of(page)
        window = box_of(Box(left, top, right - left, bottom - top), matrix)
        assert allowed.covers(window)
        for shape in beside(page):
            assert allowed.covers(shape)


def beside(page: Page) -> Iterator[shapely.Geometry]:
    """Yield all ink of a sheet that is not in its window, on the page."""
    (sheet,) = page.items
    assert isinstance(sheet, Group)
    for item, matrix in walk(sheet.items[1:], sheet.matrix):
        if isinstance(item, Path):
            yield shapely.MultiPoint(points_of(item, matrix)).envelope
    for line in words_of([Group(sheet.items[1:], matrix=sheet.matrix)]):
        yield line.box


@pytest.mark.parametrize(("name", "factors"), SHEETS, ids=str)
def test_nothing_beside_the_window_lies_in_it(name: str, factors: Factors) -> None:
    """Rulers, names and check crosses are no part of the drawing."""
    for page in sheets_of(name, factors):
        _, matrix = page.find("window")
        left, top, right, bottom = window_of(page)
        window = box_of(Box(left, top, right - left, bottom - top), matrix)
        assert not any(shape.intersection(window.buffer(-0.05)).length for shape in beside(page))


@pytest.mark.parametrize(("name", "factors"), SHEETS, ids=str)
def test_words_beside_the_window_are_legible_and_apart(name: str, factors: Factors) -> None:
    """No word on another. Source: NUREG-0700 rev. 3 for the height."""
    for page in sheets_of(name, factors):
        (sheet,) = page.items
        assert isinstance(sheet, Group)
        lines = words_of([Group(sheet.items[1:], matrix=sheet.matrix)])
        assert [line.said for line in lines if line.cap < LEAST * 0.98] == []
        pairs = itertools.combinations(lines, 2)
        assert [(a.said, b.said) for a, b in pairs if a.box.intersection(b.box).area > 1e-3] == []


@pytest.mark.parametrize("name", ["a4", "letter", "a3"])
def test_round_a_check_cross_there_is_light(name: str) -> None:
    """Within 7 mm of its middle there is nothing but its arms: the proof looks for light there."""
    for page in sheets_of(name, Factors()):
        _, matrix = page.find("window")
        left, top, right, bottom = window_of(page)
        window = box_of(Box(left, top, right - left, bottom - top), matrix)
        for middle in itertools.chain(*(crosses(page, f"check {kind}") for kind in ("corner", "x", "y"))):
            around = shapely.Point(middle).buffer(FREE - 0.01)
            others = [shape for shape in beside(page) if shape.distance(shapely.Point(middle)) > 1e-6]
            assert not window.intersects(around)
            assert not any(shape.intersects(around) for shape in others)


def test_the_key_map_shows_this_sheet_in_black() -> None:
    """As many boxes as there are sheets, one of them black: this one, as the sheets lie row by row."""
    for letter in ("A", "B"):
        pages = [page for page in demo_pages() if sheet_of(page)[0] == letter]
        for number, page in enumerate(pages):
            boxes = [item for item in page.find("key")[0].items if isinstance(item, Path)]
            assert [k == number for k in range(len(pages))] == [item.fill is not None for item in boxes]


# --- a printer that is not true --------------------------------------------------------------------------------------


def pdf_of(pages: list[Page] | tuple[Page, ...]) -> bytes:
    stream = io.BytesIO()
    write(pages, ".pdf", stream, title="tiles")
    return stream.getvalue()


def crosses_by_pdfium(pdf: bytes, page: int = 0) -> list[Point]:
    """Return the middles of all crosses of 8 mm that stand in a file, mm from the left top corner. Source: pdfium."""
    document = pypdfium2.PdfDocument(pdf)
    found = []
    for thing in document[page].get_objects(max_depth=1):
        left, bottom, right, top = (length / MM for length in thing.get_bounds())
        if 7.8 < right - left < 8.5 and 7.8 < top - bottom < 8.5:
            found.append(((left + right) / 2, document[page].get_height() / MM - (top + bottom) / 2))
    document.close()
    return found


def check_distances(pdf: bytes) -> Point:
    """Return how far the check crosses are apart: of the three that stand farthest left and below."""
    found = crosses_by_pdfium(pdf)
    corner = min(found, key=lambda place: place[0] - place[1])
    level = [x for x, y in found if abs(y - corner[1]) < 0.05 and x > corner[0] + 1]
    plumb = [y for x, y in found if abs(x - corner[0]) < 0.05 and y < corner[1] - 1]
    assert len(level) == len(plumb) == 1
    return level[0] - corner[0], corner[1] - plumb[0]


@pytest.mark.parametrize(
    ("factors", "apart"),
    [(Factors(), (140, 140)), (Factors(1.004, 0.997), (140.56, 139.58)), (Factors(0.985, 1.015), (137.9, 142.1))],
    ids=str,
)
def test_the_file_holds_the_factors(factors: Factors, apart: Point) -> None:
    """140 mm times the factor of each axis, read back from the file. Source: pdfium."""
    (first, *_) = tiles_of(some_job(), "a4", (factors, factors)).pages()

    assert check_distances(pdf_of([first])) == pytest.approx(apart, abs=0.005)


@pytest.mark.parametrize("landscape", [False, True])
def test_the_window_shrinks_by_the_factor(landscape: bool) -> None:
    """What an enlarged sheet shows fits the printable area after it is enlarged. Source: (210 - 14) / 1.004 - 12."""
    known = Factors(1.004, 0.997)
    tiling = tiles_of(some_job(), "a4", (None, known) if landscape else (known, None)).tiling(empty(600, 400))
    width, height = (297, 210) if landscape else (210, 297)

    assert tiling.landscape == landscape
    assert tiling.window == pytest.approx(((width - 14) / 1.004 - 12, (height - 14) / 0.997 - 12))


def test_an_orientation_that_was_not_measured_is_not_used() -> None:
    """Better more sheets than false ones."""
    upright = tiles_of(some_job(), "a4", (Factors(), None)).tiling(empty(530, 325))
    lying = tiles_of(some_job(), "a4", (None, Factors())).tiling(empty(530, 325))

    assert (upright.landscape, upright.sheets) == (False, 6)
    assert (lying.landscape, lying.sheets) == (True, 4)


# --- the files read back ---------------------------------------------------------------------------------------------


@cache
def kit_of(unit: str) -> dict[str, bytes]:
    """Return the tray sheets of a demo unit with their manifest."""
    view = demo_on(unit, "tray-600x400")

    def no_photo(path: str) -> bytes:
        raise NotFoundError(path)

    assert "trays" in DOCUMENTS
    order = KitOrder(
        view=view,
        bins=view.teardown.bins,
        label_stock=find_stock("a4-3x8-70x37", PRINTABLE),  # type: ignore[arg-type]
        first_label=1,
        offline_cards=False,
        documents=frozenset({"trays"}),
        photo=no_photo,
        paper=paper("a4"),
    )
    files, _ = make_kit(order)
    return files


def outlines_in(manifest: dict[str, Any], tray: str) -> list[NDArray[np.float64]]:
    """Return all outlines of a tray as the manifest says them, piece by piece."""
    (entry,) = (entry for entry in manifest["trays"] if entry["tray"] == tray)
    pieces = [piece for place in entry["places"] for piece in place.get("pieces_mm", [place["outline_mm"]])]
    return [np.array(piece) for piece in pieces]


def paths_in(document: pypdfium2.PdfDocument, number: int) -> list[NDArray[np.float64]]:
    """Return the corners of every path on a page, mm from its left top corner. Source: pdfium."""
    page = document[number]
    things = [raw.FPDFPage_GetObject(page.raw, k) for k in range(raw.FPDFPage_CountObjects(page.raw))]
    points = [path for thing in things for path in paths_of(thing, np.eye(3))]
    return [np.column_stack((path[:, 0], page.get_height() - path[:, 1])) / MM for path in points]


def paths_of(thing: Any, frame: NDArray[np.float64]) -> Iterator[NDArray[np.float64]]:
    """Yield the corners of a path, or of all paths of a form, which is drawn once and shown on many pages."""
    matrix = raw.FS_MATRIX()
    raw.FPDFPageObj_GetMatrix(thing, matrix)
    frame = np.array([[matrix.a, matrix.b, 0], [matrix.c, matrix.d, 0], [matrix.e, matrix.f, 1]]) @ frame
    kind = raw.FPDFPageObj_GetType(thing)
    if kind == raw.FPDF_PAGEOBJ_FORM:
        for number in range(raw.FPDFFormObj_CountObjects(thing)):
            yield from paths_of(raw.FPDFFormObj_GetObject(thing, number), frame)
    elif kind == raw.FPDF_PAGEOBJ_PATH:
        x, y = ctypes.c_float(), ctypes.c_float()
        points = []
        for number in range(raw.FPDFPath_CountSegments(thing)):
            raw.FPDFPathSegment_GetPoint(raw.FPDFPath_GetPathSegment(thing, number), x, y)
            points.append((x.value, y.value, 1.0))
        yield (np.array(points) @ frame)[:, :2]


def fitted(path: NDArray[np.float64], outline: NDArray[np.float64], scale: float) -> NDArray[np.float64] | None:
    """Return where the tray's corner must be for a path to be this outline; None where it is another shape."""
    if len(path) not in (len(outline), len(outline) + 1):
        return None
    shift = path[: len(outline)] - scale * outline
    return shift.mean(axis=0) if np.abs(shift - shift.mean(axis=0)).max() <= 0.02 * scale else None


def corner_on(
    document: pypdfium2.PdfDocument, number: int, outlines: list[NDArray[np.float64]], scale: float = 1.0
) -> tuple[NDArray[np.float64], set[int]]:
    """Return where on a page the tray's left back corner is, or would be, and which outlines lie as they should.

    Many parts have one shape: the corner is the one from which most outlines lie where the manifest says, to 0.02 mm of
    the tray.
    """
    paths = paths_in(document, number)
    shapes = [(k, fitted(path, outline, scale)) for path in paths for k, outline in enumerate(outlines)]
    fits = [(k, corner) for k, corner in shapes if corner is not None]
    there = [{k for k, other in fits if math.dist(corner, other) <= 0.02 * scale} for _, corner in fits]
    best = max(range(len(fits)), key=lambda k: len(there[k]))
    return fits[best][1], there[best]


@pytest.mark.parametrize("unit", DEMO_UNITS)
def test_outlines_of_the_maps_are_those_of_the_manifest(unit: str) -> None:
    """All of them, in order, with one corner of the tray and one scale, to 0.02 mm of the tray. Source: pdfium."""
    files = kit_of(unit)
    manifest = json.loads(files["kit.json"])
    document = pypdfium2.PdfDocument(files["trays.pdf"])
    for number, entry in enumerate(manifest["trays"]):
        outlines = outlines_in(manifest, entry["tray"])
        assert corner_on(document, number, outlines, 1 / 3)[1] == set(range(len(outlines)))
    document.close()


@pytest.mark.parametrize("unit", DEMO_UNITS)
def test_outlines_of_the_sheets_are_those_of_the_manifest(unit: str) -> None:
    """Every outline is on a sheet, true to size, and every sheet has one place for the tray. Source: pdfium."""
    files = kit_of(unit)
    manifest = json.loads(files["kit.json"])
    names = [sheet_of(page)[0] for page in demo_pages(unit)]
    document = pypdfium2.PdfDocument(files["trays.pdf"])
    first = len(document) - len(names)
    for letter in dict.fromkeys(names):
        outlines = outlines_in(manifest, letter)
        seen: set[int] = set()
        for number in (first + number for number, name in enumerate(names) if name == letter):
            corner, found = corner_on(document, number, outlines)
            width, height = (side / MM for side in document[number].get_size())
            window = shapely.box(MARGIN + 12.5, MARGIN + 0.5, width - MARGIN - 0.5, height - MARGIN - 12.5)
            visible = {k for k, outline in enumerate(outlines) if window.intersects(shapely.Polygon(outline + corner))}
            assert visible <= found
            seen |= found
        assert seen == set(range(len(outlines)))
    document.close()


SVG = "{http://www.w3.org/2000/svg}"


def numbers(d: str) -> NDArray[np.float64]:
    return np.array([float(word) for word in re.findall(r"-?\d+(?:\.\d+)?", d)]).reshape(-1, 2)


@pytest.mark.parametrize("unit", DEMO_UNITS)
def test_outlines_of_the_svg_are_those_of_the_manifest(unit: str) -> None:
    """Found by their ids, one unit of the picture a millimetre, to 0.02 mm. Source: the file as XML."""
    files = kit_of(unit)
    manifest = json.loads(files["kit.json"])
    for entry in manifest["trays"]:
        root = ElementTree.fromstring(files[f"tray-{entry['tray']}.svg"])
        groups = {group.get("id"): group for group in root.iter(f"{SVG}g")}
        width, depth = entry["inside_mm"]
        assert (root.get("width"), root.get("viewBox")) == (f"{width:g}mm", f"0 0 {width:g} {depth + 20:g}")
        assert not any(group.get("transform") for group in groups.values())
        for place in entry["places"]:
            for k, outline in enumerate(place.get("pieces_mm", [place["outline_mm"]])):
                group = groups[f"outline-{place['step']}" + (f"-{k + 1}" if k else "")]
                (line, *_) = (path for path in group.iter(f"{SVG}path") if path.get("stroke"))
                assert np.abs(numbers(line.get("d", "")) - np.array(outline)).max() <= 0.02
            x, y, wide, high = place["flag_mm"]
            flag = [path for path in groups[f"place-{place['step']}"].findall(f"{SVG}path") if path.get("stroke")]
            corners = numbers(flag[0].get("d", ""))
            assert np.abs(corners - [(x, y), (x + wide, y), (x + wide, y + high), (x, y + high)]).max() <= 0.02


@pytest.mark.parametrize("unit", DEMO_UNITS)
def test_ids_are_unique(unit: str) -> None:
    """Source: SVG 1.1, 5.10.1: ids are unique in a document."""
    for name, data in kit_of(unit).items():
        if name.endswith(".svg"):
            ids = [element.get("id") for element in ElementTree.fromstring(data).iter() if element.get("id")]
            assert len(set(ids)) == len(ids)


def test_the_same_job_gives_the_same_sheets() -> None:
    """Printing again changes not one byte of trays.pdf and the trays' pictures."""
    first = kit_of("planetary-reducer")
    kit_of.cache_clear()
    demo_on.cache_clear()
    second = kit_of("planetary-reducer")

    assert {"trays.pdf", "tray-A.svg", "tray-F.svg"} <= set(first)
    assert first == second


def test_a_tray_that_fails_its_check_leaves_the_old_kit(monkeypatch: pytest.MonkeyPatch, tmp_path: FilePath) -> None:
    """`labelkit kit` ends with the fault; every file of the kit that was there is as it was."""
    monkeypatch.chdir(tmp_path)
    monkeypatch.setenv("LABELKIT_STORE", "store.sqlite")
    command = ["planetary-reducer", "--map-only", "--only", "trays"]
    assert CliRunner().invoke(kit, command).exit_code == 0
    before = {path.name: path.read_bytes() for path in FilePath("kit").iterdir()}
    whole = packing.pack

    def pack(*given: object, **more: object) -> tuple[packing.Packed, ...]:
        return tuple(overlapping(filled) for filled in whole(*given, **more))  # type: ignore[arg-type]

    monkeypatch.setattr(packing, "pack", pack)
    failed = CliRunner().invoke(kit, [*command, "--gap", "9"])

    assert isinstance(failed.exception, CapacityError)
    assert "failed its check and is not printed" in str(failed.exception)
    assert {path.name: path.read_bytes() for path in FilePath("kit").iterdir()} == before
    assert [path.name for path in tmp_path.iterdir() if path.is_dir()] == ["kit"]


def overlapping(filled: packing.Packed) -> packing.Packed:
    """Lay the second thing of a tray on the first."""
    first, second, *rest = filled.cells
    return replace(filled, cells=(first, replace(second, x=first.x + 5, y=first.y), *rest))


def test_the_plotter_s_page_is_the_tray_and_a_title() -> None:
    """600 x 420 mm: the tray in its own frame, words below it only."""
    view = demo_on("planetary-reducer", "tray-600x400")
    for tray in view.trays.trays:
        page = whole_tray(view, view.trays, tray)
        below = [line for line in words_of(page.items) if line.box.bounds[1] > 400]

        assert (page.width, page.height) == (600, 420)
        assert f"TRAY {tray.letter}" in [line.said for line in below]
        assert all(whole_page(page).covers(line.box) for line in words_of(page.items))


# --- the sheets put together -----------------------------------------------------------------------------------------

DOTS = 10  # in a millimetre


def by_chromium(browser: Any, svg: bytes, width: float, height: float) -> NDArray[np.uint8]:
    """Return a picture as Chromium paints it, 10 dots in a millimetre, grey values."""
    view = {"width": math.ceil(width * 96 / 25.4), "height": math.ceil(height * 96 / 25.4)}
    with a_screen(browser, device_scale_factor=DOTS * 25.4 / 96, viewport=view) as page:
        page.set_content(f"<style>body{{margin:0}}svg{{display:block}}</style>{svg.decode().partition('?>')[2]}")
        shot = page.screenshot()
    picture = np.array(Image.open(io.BytesIO(shot)).convert("L"))
    return picture[: round(height * DOTS), : round(width * DOTS)]


@dataclass(frozen=True)
class Table:
    """Sheets laid on each other.

    Attributes:
        picture: what one sees, grey values, the tray's left back corner at the top left.
        marks: where a cut or a cross is, which are no part of the tray.
    """

    picture: NDArray[np.uint8]
    marks: NDArray[np.uint8]


def joined(pdf: bytes, pages: dict[tuple[int, int], int], outlines: list[NDArray[np.float64]]) -> Table:
    """Cut sheets and lay them on each other by their crosses, as a person does: the front row first, from the left.

    Args:
        pdf: the file.
        pages: its pages of one tray by row and column.
        outlines: of the tray; the first sheet is laid so that its own are in their places, the others are not asked.
    """
    document = pypdfium2.PdfDocument(pdf)
    seen = {sheet: crosses_by_pdfium(pdf, number) for sheet, number in pages.items()}
    front = max(row for row, _ in pages)
    table = np.full((420 * DOTS, 600 * DOTS), 255, np.uint8)
    marks = np.zeros_like(table)
    # Each sheet's own left top corner on the table, mm.
    at: dict[tuple[int, int], NDArray[np.float64]] = {(front, 0): -corner_on(document, pages[front, 0], outlines)[0]}
    for row, column in sorted(pages, key=lambda sheet: (-sheet[0], sheet[1])):
        here = row, column
        dots = document[pages[here]].render(scale=DOTS * 25.4 / 72, grayscale=True).to_numpy().squeeze()
        left_over = np.full_like(dots, 255)
        if here not in at:
            onto = (row, column - 1) if column else (row + 1, 0)
            at[here] = at[onto] + laid_on(in_line(seen[onto], column > 0), in_line(seen[here], column > 0), column > 0)
        if (row + 1, column) in pages:
            left_over[round(common(seen, at, here, (row + 1, column))[1] * DOTS) :] = 0
        if (row + 1, column + 1) in pages and (row, column + 1) not in pages:
            left_over[:, round(dots.shape[1] - MARGIN * DOTS) :] = 0
        if column:
            left_over[:, : round(common(seen, at, here, (row, column - 1))[0] * DOTS)] = 0
        # Only the part of the table under the sheet is looked at; what hangs over its edge is left out.
        x0, y0 = (max(0, math.floor(start * DOTS) - 5) for start in at[here])
        under = np.s_[y0 : y0 + dots.shape[0] + 10, x0 : x0 + dots.shape[1] + 10]
        move = np.array([[1, 0, at[here][0] * DOTS - x0], [0, 1, at[here][1] * DOTS - y0]])
        size = table[under].shape[::-1]
        paper_here = cv2.warpAffine(left_over, move, size, flags=cv2.INTER_NEAREST) > 0
        moved = cv2.warpAffine(dots, move, size, flags=cv2.INTER_LINEAR, borderValue=255.0)
        table[under][paper_here] = moved[paper_here]
        edges = cv2.morphologyEx(paper_here.astype(np.uint8), cv2.MORPH_GRADIENT, np.ones((3, 3), np.uint8))
        marks[under] |= cv2.dilate(edges, np.ones((7, 7), np.uint8))
        for x, y in seen[here]:
            x, y = np.round((at[here] + (x, y)) * DOTS).astype(int)
            cv2.line(marks, (x - 42, y), (x + 42, y), 1, 7)
            cv2.line(marks, (x, y - 42), (x, y + 42), 1, 7)
    document.close()
    return Table(table, marks)


def in_line(found: list[Point], upright: bool) -> list[Point]:
    """Return the crosses that stand in one line with another: one above the other, or side by side."""
    axis = 0 if upright else 1
    return [one for one in found if any(one != other and abs(one[axis] - other[axis]) < 0.01 for other in found)]


def laid_on(below: list[Point], above: list[Point], beside: bool) -> NDArray[np.float64]:
    """Return how far a sheet is moved from the one it is laid on: to the right of it, or behind it.

    Of all ways to lay a cross on a cross, most crosses agree on the true one.
    """
    ways = [np.subtract(one, other) for one in below for other in above]
    ways = [(x, y) for x, y in ways if (abs(y) < 0.02 and x > 5 if beside else abs(x) < 0.02 and y < -5)]
    same = [[way for way in ways if math.dist(way, other) < 0.01] for other in ways]
    best = max(same, key=len)
    assert len(best) >= 2
    return np.mean(best, axis=0)


def common(
    seen: dict[tuple[int, int], list[Point]],
    at: dict[tuple[int, int], NDArray[np.float64]],
    here: tuple[int, int],
    there: tuple[int, int],
) -> NDArray[np.float64]:
    """Return the middle of the crosses of a sheet that lie on crosses of another: through it the sheet is cut."""
    below = [at[there] + other for other in seen[there]]
    shared = [one for one in seen[here] if any(math.dist(at[here] + one, other) < 0.05 for other in below)]
    assert len(shared) >= 2
    return np.median(shared, axis=0)


def test_the_sheets_put_together_are_the_tray(browser: Any) -> None:
    """Sheets cut and laid on their crosses: no outline is off by more than 0.1 mm over 600 mm. Source: Chromium.

    A dot of ink on an outline of one picture has ink of the other within 0.1 mm and half a dot: one of its neighbours.
    """
    files = kit_of("planetary-reducer")
    pages = demo_pages()
    document = pypdfium2.PdfDocument(files["trays.pdf"])
    first = len(document) - len(pages)
    document.close()
    numbered = {sheet_of(page): first + number for number, page in enumerate(pages)}
    outlines = outlines_in(json.loads(files["kit.json"]), "A")
    whole = by_chromium(browser, files["tray-A.svg"], 600, 420)
    table = joined(files["trays.pdf"], {each[1:]: n for each, n in numbered.items() if each[0] == "A"}, outlines)

    near = np.zeros(whole.shape, np.uint8)
    for outline in outlines:
        cv2.polylines(near, [np.round(outline * DOTS).astype(np.int32)], True, 1, thickness=DOTS)
    for one, other, asked in (
        (whole, table.picture, near > 0),
        (table.picture, whole, (near > 0) & (table.marks == 0)),
    ):
        around = cv2.erode(other, np.ones((3, 3), np.uint8)) < 128
        ink = (one < 128) & asked
        assert ink.sum() > 100_000
        assert around[ink].all()
