"""Plate packs: order, kinds and counts as the profile has them, thick and wave plates told apart."""

from __future__ import annotations

import itertools

import pytest

from labelkit.drawing.page import Box, Group, Item, Page, Path, Text
from labelkit.load.stock import find_stock
from labelkit.sheets.jobview import JobView
from labelkit.sheets.legible import LEAST
from labelkit.sheets.packs import kinds_of, pack_drawing, pack_pages, plates_drawing
from tests.shop import DEMO_UNITS, apply, demo, profile_of, view_of

PACK = """
format: 1
unit: {mark: PK1, name: Pack unit, up: piston side, source: invented}
parts:
  - id: pack
    name: Disc pack
    stack: [wave, thick, friction, steel, friction, steel]
    stack_from: piston
    parts:
      - {id: wave, name: Wave plate, form: {wave_spring: {od: 120, id: 90, t: 1, h: 3, waves: 3}}}
      - {id: thick, name: Thick steel, form: {steel_plate: {od: 120, id: 90, t: 6, lugs: 6}}}
      - {id: steel, name: Steel, qty: 2, form: {steel_plate: {od: 120, id: 90, t: 2, lugs: 6}}}
      - {id: friction, name: Friction, qty: 2, form: {friction_plate: {od: 114, id: 84, t: 2, teeth: 30}}}
"""
BOX = Box(0, 0, 200, 90)


def view() -> JobView:
    return view_of(profile_of(PACK))


def drawn(job: JobView, step: str = "1") -> Group:
    return pack_drawing(job, job.teardown.at(step), BOX)


def walked(items: tuple[Item, ...]) -> list[Item]:
    return [item for item, _ in Page(BOX.width, BOX.height, items).walk()]


def texts(items: tuple[Item, ...]) -> list[Text]:
    return [item for item in walked(items) if isinstance(item, Text)]


def test_letters_stand_in_the_order_of_the_stack() -> None:
    """The first kind that comes out is A; each plate bears the letter of its kind."""
    letters = [text for text in texts(drawn(view()).items) if text.anchor == "middle" and len(text.string) == 1]

    assert [text.string for text in sorted(letters, key=lambda text: text.x)] == ["A", "B", "C", "D", "C", "D"]


def test_plates_that_are_not_in_are_only_outlined() -> None:
    """Of six plates the last two are in: four broken outlines where the others will lie, every letter in its place."""
    job = view()
    pack = job.teardown.at("1")
    kinds = kinds_of(job, pack)

    some = plates_drawing(pack.part, kinds, BOX, range(4, 6))
    outlined = [item for item in walked((some,)) if isinstance(item, Path) and item.pen and item.pen.dash]

    assert len(outlined) == 4
    assert not any(isinstance(item, Path) and item.pen and item.pen.dash
                   for item in walked((plates_drawing(pack.part, kinds, BOX),)))  # fmt: skip
    letters = sorted((text.x, text.string) for text in texts((some,)) if len(text.string) == 1)
    assert [letter for _, letter in letters] == ["A", "B", "C", "D", "C", "D"]


def test_each_kind_is_listed_with_its_step_and_how_many() -> None:
    """Counts are those of the stack, which the check holds to the quantities."""
    strings = [text.string for text in texts(drawn(view()).items)]

    assert strings.count("× 2") == 2
    assert strings.count("× 1") == 2
    assert [string for string in strings if string.startswith("1.")] == ["1.1", "1.2", "1.4", "1.3"]


def test_a_thick_plate_is_wider_and_a_wave_plate_is_no_box() -> None:
    """At a glance: three times as thick is three times as wide; a wave is a zigzag line."""
    paths = [item for item in walked(drawn(view()).items) if isinstance(item, Path)]
    boxes = sorted(
        max(c[1] for c in path.d if len(c) == 3) - min(c[1] for c in path.d if len(c) == 3)
        for path in paths
        if path.pen and path.pen.width == 0.6 and path.d[-1] == ("Z",)
    )
    waves = [path for path in paths if path.pen and path.d[-1] != ("Z",) and len(path.d) == 8]

    assert boxes == pytest.approx([boxes[0], boxes[0], 3 * boxes[0]])
    assert len(waves) == 1


def test_a_thick_plate_bears_its_thickness() -> None:
    """The plate whose place is mixed up at a cost says how thick it is; thin ones where there is room."""
    job = view()
    for width, told in ((45, ["6 mm"]), (200, ["6 mm", "2 mm", "2 mm"])):
        strings = [text.string for text in texts(pack_drawing(job, job.teardown.at("1"), Box(0, 0, width, 90)).items)]
        assert told == [string for string in strings if string.endswith(" mm") and "," not in string]


@pytest.mark.parametrize("unit", DEMO_UNITS)
def test_no_words_overlap_or_are_too_small(unit: str) -> None:
    """On the sheets of both demo units."""
    for page in pack_pages(view_of(demo(unit)), find_stock("a4", ("paper",))):
        boxes = []
        for item, matrix in page.walk():
            if isinstance(item, Text) and item.string:
                assert item.ascent >= LEAST * 0.6
                x, y = apply(matrix, item.box.x, item.box.y)
                right, bottom = apply(matrix, item.box.right, item.box.bottom)
                boxes.append(Box(min(x, right), min(y, bottom), abs(right - x), abs(bottom - y)))
        assert [pair for pair in itertools.combinations(boxes, 2) if pair[0].overlaps(pair[1])] == []
        assert all(Box(0, 0, page.width, page.height).holds(box) for box in boxes)


def test_a_unit_without_a_pack_has_no_sheet() -> None:
    """Nothing is printed for nothing."""
    job = view_of(profile_of("format: 1\nunit: {mark: PK1, name: U, up: top}\nparts: [{id: a, name: A}]\n"))

    assert list(pack_pages(job, find_stock("a4", ("paper",)))) == []
