"""The shipped layouts are what their names and the published standards say."""

import re
from decimal import ROUND_HALF_UP, Decimal
from pathlib import Path

import jsonschema
import pytest
import yaml
from reportlab.lib import pagesizes
from shapely.geometry import box
from shapely.strtree import STRtree

from labelkit.load.schema import SCHEMAS
from labelkit.model.media import Paper
from labelkit.model.stock import LabelSheet, Roll, Tray

LAYOUTS = Path(__file__).resolve().parent.parent / "layouts"


@pytest.fixture
def sheets(stock):
    """The sheets of labels and stickers among it."""
    return [entry for entry in stock.values() if isinstance(entry, LabelSheet)]


def _papers(stock) -> dict[str, tuple[float, float]]:
    return {name: entry.size_mm for name, entry in stock.items() if isinstance(entry, Paper)}


ISO_216 = {
    "a0": (841, 1189),
    "a1": (594, 841),
    "a2": (420, 594),
    "a3": (297, 420),
    "a4": (210, 297),
    "a5": (148, 210),
    "a6": (105, 148),
    "b2": (500, 707),
    "b3": (353, 500),
    "b4": (250, 353),
    "b5": (176, 250),
    "b6": (125, 176),
}


def test_papers_agree_with_iso_216(stock):
    """Series A and B have the sizes of ISO 216:2007 (A checked against two packages; B from memory)."""
    found = {name: size for name, size in _papers(stock).items() if re.fullmatch(r"[ab]\d", name)}

    assert found == ISO_216


@pytest.mark.parametrize("series", ["a", "b"])
def test_each_iso_size_is_half_the_one_before(stock, series):
    """Halving across, rounded down to whole mm, gives the next size (the rule of ISO 216:2007)."""
    sizes = [_papers(stock)[name] for name in sorted(_papers(stock)) if re.fullmatch(rf"{series}\d", name)]

    assert [(height // 2, width) for width, height in sizes[:-1]] == sizes[1:]


@pytest.mark.parametrize(
    ("name", "inches"),
    [
        ("letter", ("8.5", "11")),
        ("legal", ("8.5", "14")),
        ("tabloid", ("11", "17")),
        ("ansi-c", ("17", "22")),
        ("ansi-d", ("22", "34")),
    ],
)
def test_us_papers_are_their_inches(stock, name, inches):
    """Sizes by ANSI/ASME Y14.1 (legal: a trade size, not in Y14.1), 25.4 mm to the inch."""
    expected = tuple(float(Decimal(side) * Decimal("25.4")) for side in inches)

    assert _papers(stock)[name] == expected


@pytest.mark.parametrize("name", ["a3", "a4", "a5", "b4", "b5", "letter", "legal", "tabloid"])
def test_papers_agree_with_an_independent_table(stock, name):
    """The page sizes of reportlab, in points, are the same to a twentieth of a millimetre."""
    table = {"letter": pagesizes.LETTER, "legal": pagesizes.LEGAL, "tabloid": pagesizes.TABLOID}
    points = table.get(name) or getattr(pagesizes, name.upper())
    expected = tuple(side / 72 * 25.4 for side in points)

    assert _papers(stock)[name] == pytest.approx(expected, abs=0.05)


def _box(piece):
    return box(piece.x, piece.y, piece.x + piece.width, piece.y + piece.height)


def test_every_label_lies_on_its_paper(sheets):
    """Judged by shapely: the paper covers every label of every sheet."""
    for sheet in sheets:
        paper = box(0, 0, *sheet.page_size).buffer(1e-9)
        outside = [piece for piece in sheet.positions() if not paper.covers(_box(piece))]

        assert outside == [], sheet.name


def test_no_label_overlaps_another(sheets):
    """Judged by shapely: no two labels of a sheet share an area."""
    for sheet in sheets:
        boxes = [_box(piece) for piece in sheet.positions()]
        pairs = zip(*STRtree(boxes).query(boxes), strict=True)
        shared = [(a, b) for a, b in pairs if a < b and boxes[a].intersection(boxes[b]).area > 1e-9]

        assert shared == [], sheet.name


def test_every_sheet_is_the_same_upside_down(sheets):
    """A block of labels stands in the middle, so that a sheet fed the wrong way round is not lost."""
    for sheet in sheets:
        (width, height), first, last = sheet.page_size, sheet.positions()[0], sheet.positions()[-1]
        expected = (width - last.x - last.width, height - last.y - last.height)

        assert (first.x, first.y) == pytest.approx(expected), sheet.name


def test_the_print_keeps_clear_of_the_edge_of_the_paper(sheets):
    """At least 4.2 mm: what office laser printers leave blank (common practice, no source)."""
    for sheet in sheets:
        first = sheet.positions()[0]

        assert min(first.x, first.y) + sheet.margin_mm >= 4.2, sheet.name


def test_sizes_run_from_small_stickers_to_half_a_sheet(sheets):
    """At least eight geometries, 38 x 21 mm to 199 x 143 mm, on A4 and on Letter."""
    sizes = sorted({sheet.piece_size for sheet in sheets}, key=lambda size: size[0] * size[1])

    assert len(sizes) >= 8
    assert {(38, 21), (199, 143)} <= set(sizes)
    assert {sheet.paper.name for sheet in sheets if sheet.kind == "labels"} == {"a4", "letter"}
    assert sum(sheet.kind == "stickers" for sheet in sheets) >= 3


def test_rolls_come_in_both_kinds_and_resolutions(stock):
    """Continuous and die-cut, 203 and 300 dpi."""
    kinds = {(roll.die_cut, roll.dpi) for roll in stock.values() if isinstance(roll, Roll)}

    assert kinds == {(True, 203), (True, 300), (False, 203), (False, 300)}


def _whole(length: float) -> int:
    return int(Decimal(str(length)).quantize(Decimal(1), ROUND_HALF_UP))


def test_names_are_the_geometry_and_nothing_else(stock):
    """Every name but a standard paper's can be worked out from the figures: no maker's code hides in one."""
    papers = set(ISO_216) | {"letter", "legal", "tabloid", "ansi-c", "ansi-d"}
    for name, entry in stock.items():
        size = "x".join(str(_whole(side)) for side in entry.size_mm)
        if isinstance(entry, LabelSheet):
            expected = f"{entry.paper.name}-{entry.columns}x{entry.rows}-{size}"
        elif isinstance(entry, Roll):
            expected = f"roll-{size if entry.die_cut else _whole(entry.size_mm[0])}"
            expected += "-300dpi" if entry.dpi == 300 else ""
        elif isinstance(entry, Tray):
            expected = f"tray-{size}"
        else:
            expected = name if name in papers else f"a standard paper, not {name}"

        assert name == expected


@pytest.mark.parametrize("path", sorted(LAYOUTS.glob("*.yaml")), ids=lambda path: path.stem)
def test_editors_accept_the_shipped_files(path):
    """The JSON Schema holds for the file as a YAML editor reads it, and refuses it with a misspelt field."""
    document = yaml.safe_load(path.read_text(encoding="utf-8"))
    validator = jsonschema.Draft202012Validator(SCHEMAS["stock"]())

    assert list(validator.iter_errors(document)) == []
    next(iter(document["stock"].values()))["sise"] = 1
    assert list(validator.iter_errors(document)) != []
