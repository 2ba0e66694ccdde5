"""The seat as a drawing: true at a stated scale, mating faces on both parts, and what is not known is not drawn."""

from __future__ import annotations

from collections.abc import Iterator

import pytest
from shapely import LineString, Polygon

from labelkit.drawing.page import Box, Group, Item, Page, Path, Text
from labelkit.model.part import Part
from labelkit.sheets.seat import neighbour, seat_of
from labelkit.sheets.seatview import seat_view
from tests.shop import DEMO_UNITS, demo, profile_of, view_of

CARD = Box(0, 0, 40, 31)
FACE = 1.0
UNIT = """
format: 1
unit: {mark: P7, name: Pump, up: drive side}
parts:
  - {id: cover, name: Cover, form: {hub: {od: 60, h: 40, bore: 20, flange_od: 100, flange_t: 10}},
     sits: {up: boss, opens: up, on: body, clock: free}}
  - {id: body, name: Body, form: {drum: {od: 90, h: 50, wall: 20}}, sits: {up: mouth, opens: up, clock: free}}
"""


def parts(text: str = UNIT) -> tuple[Part, ...]:
    return profile_of(text).profile.parts


def walk(items: tuple[Item, ...]) -> Iterator[Item]:
    return (item for item, _ in Page(1, 1, items).walk())


def strokes(drawn: Group, width: float) -> list[LineString]:
    """Return the straight lines of this width."""
    return [
        LineString([command[1:3] for command in item.d])  # type: ignore[misc]
        for item in walk(drawn.items)
        if isinstance(item, Path) and item.pen and item.pen.width == width and len(item.d) == 2
    ]


def corners(group: Item) -> list[tuple[float, float]]:
    assert isinstance(group, Group)
    return [
        (command[-2], command[-1])  # type: ignore[misc]
        for item in walk(group.items)
        if isinstance(item, Path)
        for command in item.d
        if len(command) > 1
    ]


def test_mating_faces_are_marked_on_both_parts() -> None:
    """The flange lies on the rim between two radii: two heavy lines on each side of the axis, one above the other."""
    cover, body = parts()
    ends = [(line.bounds[0], line.bounds[2]) for line in strokes(seat_view(cover, CARD, body), FACE)]
    middle = CARD.x + CARD.width / 2
    left, also_left, right, also_right = sorted((low - middle, high - middle) for low, high in ends)

    assert left == also_left == pytest.approx((-right[1], -right[0]))
    assert right == also_right
    assert 4 * [True] == [low < high for low, high in (left, also_left, right, also_right)]


def test_arrowheads_point_at_each_other_in_the_gap() -> None:
    """One on each part, tip to tip, on both sides of the axis."""
    cover, body = parts()
    drawn = seat_view(cover, CARD, body)
    heads = [
        Polygon([command[1:3] for command in item.d[:-1]])  # type: ignore[misc]
        for item in drawn.items
        if isinstance(item, Path) and item.fill
    ]
    faces = sorted(line.bounds[1] for line in strokes(drawn, FACE))

    assert 4 == len(heads)
    assert all(faces[0] - 1 <= head.bounds[1] and head.bounds[3] <= faces[-1] + 1 for head in heads)
    assert 2 == len({round(head.centroid.x, 3) for head in heads})


@pytest.mark.parametrize("unit", DEMO_UNITS)
def test_everything_stays_on_the_card(unit: str) -> None:
    """What is below is cropped to its window; nothing else leaves the box."""
    job = view_of(demo(unit))
    for each in job.teardown.bins:
        drawn = seat_view(each.part, CARD, neighbour(job, each))
        assert drawn.box == CARD
        for item in drawn.items:
            if isinstance(item, Group) and item.clip:
                assert CARD.holds(item.clip, 1e-3)
                continue
            for x, y in corners(item if isinstance(item, Group) else Group((item,))):
                assert CARD.holds(Box(x, y, 0, 0), 1e-3), (each.step, x, y)


@pytest.mark.parametrize("unit", DEMO_UNITS)
def test_what_is_below_never_hides_the_part(unit: str) -> None:
    """The part is drawn after it."""
    job = view_of(demo(unit))
    for each in job.teardown.bins:
        other = neighbour(job, each)
        drawn = seat_view(each.part, CARD, other)
        names = [item.name for item in drawn.items if isinstance(item, Group) and item.name]
        assert names in (["below", "part"], ["part"], [])
        assert ("below" in names) == (seat_of(each.part, other) is not None and "part" in names)


def test_turned_over_shows_the_other_face() -> None:
    """The flange of the cover is below when its boss is up, and above when it is down."""
    cover, body = parts()
    assert cover.sits
    heights = []
    for way in ("up", "down"):
        part = cover.model_copy(update={"sits": cover.sits.model_copy(update={"opens": way})})
        drawn = seat_view(part, CARD, body)
        points = corners(next(i for i in drawn.items if isinstance(i, Group) and i.name == "part"))
        widest = max(x for x, _ in points)
        flange = [y for x, y in points if x > widest - 0.02]
        heights.append((sum(flange) / len(flange), sum(y for _, y in points) / len(points)))

    assert heights[0][0] > heights[0][1]
    assert heights[1][0] < heights[1][1]


def test_not_recorded_is_a_question_mark_here_too() -> None:
    """A card says no more than the label."""
    cover, body = parts()
    drawn = seat_view(cover.model_copy(update={"sits": None}), CARD, body)

    assert ["?"] == [item.string for item in drawn.items if isinstance(item, Text)]
