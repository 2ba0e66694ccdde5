"""The torque sheet: numbers as calc.tightening has them, at the places they belong to, passes in three units."""

from __future__ import annotations

import math

import pytest

from labelkit.calc.tightening import order
from labelkit.drawing.page import Group, Text
from labelkit.sheets.torquesheet import order_of, pattern_drawing
from tests.shop import DEMO_UNITS, demo, profile_of, view_of
from tests.worksheetpages import boxes_on, demo_pages, pages_of, rows

UNIT = """
format: 1
unit: {{mark: AB1, name: U, up: top}}
parts:
  - {{id: screws, name: Screws, qty: {qty}, form: {{bolt: {{d: 8, l: 30}}}}, {more}}}
"""


def sheet(qty: int | str, more: str) -> str:
    return rows(pages_of(view_of(profile_of(UNIT.format(qty=qty, more=more)))), "torque")["1"]


def screws(kind: str, count: int) -> dict[int, tuple[float, float, int]]:
    """Return middle and number of each screw of a drawing by its place."""
    drawn = pattern_drawing(kind, order(kind if kind != "own" else range(count, 0, -1), count))
    assert drawn
    found = {}
    for item in drawn.items:
        if isinstance(item, Group) and item.name.startswith("screw "):
            (text,) = [each for each in item.items if isinstance(each, Text)]
            found[int(item.name.split()[1])] = (text.x, text.box.y + text.box.height / 2, int(text.string))
    return found


@pytest.mark.parametrize(("kind", "count"), [("circle", 8), ("circle", 5), ("row", 9), ("two_rows", 14), ("own", 17)])
def test_the_screw_tightened_nth_bears_the_number_n(kind: str, count: int) -> None:
    """Source: calc.tightening, which has its own sources."""
    wanted = order(kind if kind != "own" else range(count, 0, -1), count)

    assert [place for place, _ in sorted(screws(kind, count).items(), key=lambda item: item[1][2])] == list(wanted)


def test_places_run_clockwise_from_the_top() -> None:
    """Place 1 above, 3 of 8 at the right, 5 below: opposite screws follow each other."""
    found = screws("circle", 8)
    middle = (found[1][0], (found[1][1] + found[5][1]) / 2)
    angles = [math.degrees(math.atan2(x - middle[0], middle[1] - y)) % 360 for _, (x, y, _) in sorted(found.items())]

    assert angles == pytest.approx([45 * k for k in range(8)], abs=1)


def test_two_rows_are_counted_from_the_same_end() -> None:
    """The fourth of seven in the first row and the fourth of the second are one above the other."""
    found = screws("two_rows", 14)

    assert found[4][0] == found[11][0]
    assert found[4][1] < found[11][1]
    assert found[1][0] < found[7][0]


def test_screws_never_lie_on_each_other_and_too_many_are_not_drawn() -> None:
    """What cannot be drawn with numbers that are read is told as a list of places instead."""
    for count in range(2, 60):
        for kind in ("circle", "row", "own"):
            drawn = pattern_drawing(kind, range(1, count + 1))
            if drawn is None:
                continue
            middles = [(x, y) for x, y, _ in screws(kind, count).values()]
            assert min((math.dist(a, b) for k, a in enumerate(middles) for b in middles[:k]), default=9) >= 5.5
    assert pattern_drawing("circle", range(1, 49)) is None
    assert "places: 1-25-13-37-" in sheet(48, "fasten: {torque: 25, pattern: circle}")


@pytest.mark.parametrize("unit", DEMO_UNITS)
def test_every_group_of_a_demo_unit_is_numbered_by_the_sum(unit: str) -> None:
    """The list under each pattern is the order that calc.tightening gives, and each pass has a box for every screw."""
    pages = demo_pages(unit)
    lines = rows(pages, "torque")
    view = view_of(demo(unit))
    ticks = [box.said for page in pages for box in boxes_on(page) if box.said.startswith(("pass ", "angle"))]
    wanted = 0
    for each in view.teardown.bins:
        part = each.part
        if not part.tightened:
            continue
        if part.fasten and part.fasten.pattern and isinstance(part.qty, int) and part.qty > 1:
            numbers = "-".join(map(str, order(part.fasten.pattern, part.qty)))
            assert f"places: {numbers} " in lines[each.step]
            assert order_of(part) == order(part.fasten.pattern, part.qty)
        if isinstance(part.qty, int) and part.qty > 1:
            turned = bool(part.fasten and part.fasten.angle and part.fasten.angle.value)
            wanted += part.qty * (max(1, len(part.fasten.passes) if part.fasten else 0) + turned)
    assert len(ticks) == wanted


def test_passes_are_told_in_three_units() -> None:
    """30 % of 125 N·m is 37.5 N·m, 27.7 lbf·ft, 332 lbf·in. Source: factors of NIST SP 811, appendix B."""
    words = sheet(8, "fasten: {torque: 125, angle: 90, pattern: circle, passes: ['0.3', '1.0'], oiled: true}")

    assert "pass 1: 30 %: 37.5 N·m (27.7 lbf·ft, 332 lbf·in)" in words
    assert "pass 2: 100 %: 125 N·m (92.2 lbf·ft, 1110 lbf·in)" in words
    assert "then 90° further: 1.5 flats of a hexagon" in words  # 60 degrees are one flat
    assert ("turned by, °" in words, "turned by" in sheet(8, "fasten: {torque: 125}")) == (True, False)
    assert "OILED" in words


def test_what_is_not_recorded_says_so() -> None:
    """A screw without a torque still has its line: the torque, the order, dry or oiled."""
    words = sheet(4, "thread: left, one_time: true")

    assert "torque NOT RECORDED" in words
    assert "order of tightening: NOT RECORDED" in words
    assert "dry or oiled: NOT RECORDED" in words
    assert "LEFT-HAND THREAD" in words
    assert "turn counter-clockwise to tighten" in words
    assert "NEW ONLY" in words


def test_a_pattern_that_does_not_suit_is_not_drawn() -> None:
    """Seven screws in two rows have no order: the sheet says so, and nothing is printed for it."""
    assert "pattern two rows does not suit 7 screws: ask" in sheet(7, "fasten: {torque: 25, pattern: two_rows}")
