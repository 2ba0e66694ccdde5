"""The section of the assembled unit: true to scale in the file, its leaders apart, and clear about what it lacks."""

from __future__ import annotations

import math
import re
from collections.abc import Iterator
from typing import Any

import pytest
import shapely
from shapely import LineString

from labelkit import forms
from labelkit.calc.seating import in_order, seating
from labelkit.drawing.page import IDENTITY, Affine, Group, Page, Path, Text
from labelkit.sheets.jobview import JobView
from labelkit.sheets.sectionleaders import Aim, circles
from tests.explodedsheets import (
    demo_pages,
    faults,
    points_in_pdf,
    points_of,
    random_unit,
    said,
    sections,
    unit_of,
    view_on,
)
from tests.forms.strategies import build
from tests.shop import DEMO_UNITS, apply, demo, view_of
from tests.traysheets import walk

CASES = [(unit, name) for unit in DEMO_UNITS for name in ("a4", "a3", "a6")]


def pages_of(view: JobView, name: str = "a4") -> list[Page]:
    return sections([*view_on(view, name).pages()])


def figures(page: Page) -> Iterator[tuple[Group, Affine]]:
    for item, matrix in page.walk():
        if isinstance(item, Group) and item.name.startswith("figure "):
            yield item, matrix


def named(group: Group, word: str, matrix: Affine = IDENTITY) -> list[tuple[str, Group, Affine]]:
    """Return the groups in a figure that are named by this word: step, group, matrix of its frame."""
    return [
        (item.name.partition(" ")[2], item, inner)
        for item, inner in walk(group.items, matrix)
        if isinstance(item, Group) and item.name.startswith(f"{word} ")
    ]


def crossings(page: Page) -> list[str]:
    """Return leaders that cross or nearly touch each other, or a circle that is not theirs. Source: shapely."""
    found = []
    for figure, _ in figures(page):
        lines, rounds = {}, {}
        for step, group, matrix in named(figure, "leader"):
            thread = group.items[0]
            assert isinstance(thread, Path)
            lines[step] = LineString(points_of(thread, matrix))
        for step, group, _ in named(figure, "circle"):
            assert group.box is not None
            box = group.box
            rounds[step] = shapely.box(box.x, box.y, box.right, box.bottom)
        for number, (one, line) in enumerate(lines.items()):
            others = [*lines.items()][number + 1 :]
            found += [f"leaders {one} and {other}" for other, beside in others if line.distance(beside) < 0.2]
            found += [f"leader {one} on {other}" for other, box in rounds.items() if other != one and line.crosses(box)]
    return found


@pytest.mark.parametrize(("unit", "name"), CASES)
def test_leaders_of_the_demo_units_do_not_cross(unit: str, name: str) -> None:
    """Nor run through the circle of another part; words are free of each other (ISO 6433 practice, from memory)."""
    pages = sections(demo_pages(unit, name))

    assert pages
    assert [crossing for page in pages for crossing in crossings(page)] == []
    assert faults(pages) == []


def pile(seed: int) -> JobView:
    """Return a unit of 30 rings of changing size, each on the one before it, in a drum."""
    sizes = [(150 - (number * seed) % 90, 1 + (number * 7 + seed) % 9) for number in range(30)]
    parts: list[dict[str, Any]] = [
        {"id": "drum", "name": "Drum", "form": build("drum", od=200, h=400, wall=15), "sits": {"opens": "up"}}
    ]
    for number, (od, t) in enumerate(sizes):
        sits = {"up": "free", "on": parts[-1]["id"]}
        parts.append({"id": f"p{number}", "name": f"P{number}", "form": build("ring", od=od, id=30, t=t), "sits": sits})
    return unit_of(parts[::-1])


@pytest.mark.parametrize("name", ["a4", "a6"])
def test_leaders_of_many_thin_parts_do_not_cross(name: str) -> None:
    """Thirty rings side by side, and whatever of random units is together; each has a circle in one of the drawings."""
    for view in (*map(pile, (7, 11, 23)), *map(random_unit, range(20))):
        pages = pages_of(view, name)
        found = seating(view.teardown, in_order(view.profile, view.teardown))
        marked = [step for page in pages for figure, _ in figures(page) for step, _, _ in named(figure, "circle")]

        assert [crossing for page in pages for crossing in crossings(page)] == []
        assert faults(pages) == []
        assert sorted(marked) == sorted({piece.bin.step for axis in found.axes for piece in axis.seated})


def test_circles_stand_as_near_to_their_parts_as_the_others_allow() -> None:
    """By hand: two parts 2 mm apart have circles one pitch apart, half of it on either side; a lone one is above it."""
    (each,) = unit_of([{"id": "a", "name": "A"}]).teardown.bins
    near = tuple(Aim(each, x, 1.0, 1.0, 1.0) for x in (50.0, 52.0, 90.0))
    first, second, third = circles(near, 0.0, 200.0)

    assert (first + second) / 2 == pytest.approx(51)
    assert second - first == pytest.approx(10.2)  # a circle of 9.2 mm and the 1 mm between two
    assert third == pytest.approx(90)


def scale_of(figure: Group) -> float:
    """Return the scale that a figure states."""
    (stated,) = [i.string for i in figure.items if isinstance(i, Text) and re.fullmatch(r"[\d.]+:[\d.]+", i.string)]
    paper, real = stated.split(":")
    return float(paper) / float(real)


@pytest.mark.parametrize("unit", DEMO_UNITS)
def test_corners_of_the_cut_parts_lie_in_the_pdf_where_they_stand(unit: str) -> None:
    """Every corner within 0.02 mm of where form and seat put it, at the stated scale. Source: pdfium."""
    view, pages = view_of(demo(unit)), sections(demo_pages(unit, "a4"))
    axes = seating(view.teardown, in_order(view.profile, view.teardown)).axes
    kinds = {"ring", "drum", "hub", "piston", "taper_cone", "steel_plate"}
    checked = 0
    for page, points in zip(pages, points_in_pdf(pages), strict=True):
        there = shapely.STRtree(shapely.points(points))
        for figure, matrix in figures(page):
            shown = {step for step, _, _ in named(figure, "cut")}
            (axis,) = [axis for axis in axes if shown == {piece.bin.step for piece in axis.seated}]
            scale = scale_of(figure)
            # Where z = 0 and the axis are on paper, from one part alone; all others have to agree with it.
            lowest = min(axis.seated, key=lambda piece: piece.z)
            (box,) = (group.box for step, group, _ in named(figure, "cut") if step == lowest.bin.step)
            assert box is not None
            zero, level = box.right, box.y + box.height / 2
            for piece in axis.seated:
                if piece.form.kind not in kinds:
                    continue
                section = forms.section(piece.form)
                for face in section.faces:
                    for r, z, _ in face.contour.vertices:
                        up = piece.z + (section.height - z if piece.flipped else z)
                        x, y = apply(matrix, zero - up * scale, level - r * scale)
                        nearest = points[int(there.nearest(shapely.Point(x, y)))]
                        assert math.dist((x, y), nearest) < 0.02, piece.bin.step
                        checked += 1

    assert checked > 60


@pytest.mark.parametrize("unit", DEMO_UNITS)
def test_every_part_is_drawn_or_listed_with_its_reason(unit: str) -> None:
    """None is forgotten, and none is both."""
    view, pages = view_of(demo(unit)), sections(demo_pages(unit, "a4"))
    drawn = {step for page in pages for figure, _ in figures(page) for step, _, _ in named(figure, "cut")}
    words = " ".join(" ".join(said(page)) for page in pages)
    words = words[words.index("NOT DRAWN HERE, AND WHY") :]
    listed = {each.step for each in view.teardown.bins if re.search(rf"(?<![\d.]){re.escape(each.step)}\?? \S", words)}
    holders = {each.parent for each in view.teardown.bins}
    missing = {each.step for each in view.teardown.bins} - drawn - listed

    assert missing <= holders
    assert len(drawn) > 15


def test_neighbours_are_hatched_differently() -> None:
    """Two housings that touch have other directions (ISO 128-3, from memory)."""
    drum = {"od": 100, "h": 40, "wall": 20}
    parts = [
        {"id": "b", "name": "B", "form": build("drum", **drum), "sits": {"opens": "up", "up": "x", "on": "a"}},
        {"id": "a", "name": "A", "form": build("drum", **drum), "sits": {"opens": "up", "up": "x"}},
    ]
    (page,) = pages_of(unit_of(parts))
    ((figure, _),) = figures(page)
    slopes = set()
    for _, group, _ in named(figure, "cut"):
        hatching = next(item for item in group.items if isinstance(item, Path) and len(item.d) > 20)
        (_, x1, y1), (_, x2, y2) = hatching.d[0], hatching.d[1]  # type: ignore[misc]
        slopes.add(round(math.degrees(math.atan2(y2 - y1, x2 - x1))) % 180)

    assert len(slopes) == 2


def test_what_lies_inside_hides_what_is_behind_it() -> None:
    """On the side that is cut the shaft is painted after its housing, on the other side before it."""
    parts = [
        {
            "id": "s",
            "name": "S",
            "form": build("shaft", steps=[[30, 80]]),
            "sits": {"up": "x", "opens": "up", "on": "d"},
        },
        {"id": "d", "name": "D", "form": build("drum", od=100, h=40, wall=20), "sits": {"opens": "up", "up": "x"}},
    ]
    (page,) = pages_of(unit_of(parts))
    names = [item.name for item, _ in page.walk() if isinstance(item, Group)]

    assert names.index("cut 2") < names.index("cut 1")
    assert names.index("outside 1") < names.index("outside 2")


RING = {"up": "free"}
NOTHING = "No two parts can be shown together"


@pytest.mark.parametrize(
    ("parts", "words"),
    [
        ([{"id": "a", "name": "A"}], NOTHING),
        ([{"id": "a", "name": "A"}], "No form:"),
        (
            [
                {"id": name, "name": name, "form": build("ring", od=50, id=20, t=5), "sits": {**RING, "on": other}}
                for name, other in (("a", "b"), ("b", "a"))
            ],
            "in a ring:",
        ),
        (
            [
                *(
                    {
                        "id": f"w{k}",
                        "name": f"W{k}",
                        "form": build("ring", od=50, id=20, t=5),
                        "sits": {**RING, "on": "d"},
                    }
                    for k in range(60)
                ),
                {"id": "d", "name": "D", "form": build("drum", od=90, h=50, wall=10), "sits": {"opens": "up"}},
            ],
            "labelkit check --hints tells which:",
        ),
    ],
    ids=["nothing", "no form", "a ring of seats", "60 on one seat"],
)
def test_a_unit_that_cannot_be_put_together_says_why(parts: list[dict[str, Any]], words: str) -> None:
    """A message on the sheet, or a picture with a list beside it; the exploded view is drawn all the same."""
    pages = [*view_on(unit_of(parts), "a4").pages()]

    assert words in " ".join(" ".join(said(page)) for page in sections(pages))
    assert faults(pages) == []


def test_one_part_is_drawn_alone() -> None:
    """With its circle, and no list."""
    (page,) = pages_of(unit_of([{"id": "a", "name": "A", "form": build("ring", od=50, id=20, t=5), "sits": RING}]))

    assert [step for figure, _ in figures(page) for step, _, _ in named(figure, "circle")] == ["1"]
    assert "NOT DRAWN HERE, AND WHY" not in said(page)


def test_figures_stand_above_the_columns_of_the_list() -> None:
    """One grid: on the last sheet each figure begins where a column of words begins."""
    page = sections(demo_pages("marine-gear", "a4"))[-1]
    lines = [(item, apply(matrix, item.x, item.y)) for item, matrix in page.walk() if isinstance(item, Text)]
    lowest = max(y for _, (_, y) in lines)
    columns = {round(x, 3) for item, (x, y) in lines if y > lowest - 20 and item.string}
    starts = [round(matrix[4], 3) for _, matrix in figures(page)]

    assert len(starts) == len(set(starts)) == 3
    assert set(starts) <= columns
