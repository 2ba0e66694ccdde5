"""What keeps a part in, and what comes out all the same of what was left in or stays inside another."""

from __future__ import annotations

from labelkit.calc.allowed import Assembly
from labelkit.calc.keptin import kept_in_by
from labelkit.calc.openpoints import open_points
from tests.shop import profile_of
from tests.walk import Walk

VALVE = """\
format: 1
unit: {mark: V1, name: Check valve, revision: "1", source: invented, up: lid side}
parts:
  - id: body
    name: Body
    held: {by: loose}
    parts:
      - {id: lid-screws, name: Lid screw, qty: 2, held: {by: screwed}, sits: {on: lid}, fasten: {torque: 5}}
      - {id: lid, name: Lid, held: {by: screwed}}
      - {id: spring, name: Spring, held: {by: behind, part: lid}, sits: {on: seat}}
      - {id: seat, name: Seat, held: {by: behind, part: lid}}
"""


def valve() -> Walk:
    """Return a valve whose body came out and was not opened."""
    walk = Walk(profile_of(VALVE))
    walk.do("removed", "body", count=1)
    walk.do("left_closed", "body")
    return walk


def test_screws_hold_a_lid_and_a_lid_what_it_captures_with_what_lies_on_that() -> None:
    """Whether any of them is in or out just now is another question."""
    walk = valve()
    items = {each.part.id: each for each in walk.view.teardown.items.values()}

    def keeps(part: str) -> list[str]:
        return [each.part.id for each in kept_in_by(walk.view.teardown, walk.view.order, items[part])]

    assert [["lid-screws"], ["lid"], ["lid", "spring"], []] == [*map(keeps, ("lid", "spring", "seat", "body"))]


def test_what_keeps_in_a_part_that_is_renewed_comes_out_with_it_and_goes_in_again() -> None:
    """The seat is condemned in a body that nobody opened: screws, lid and spring come off it and go back as they were.

    One that is condemned alone leaves the others where they are.
    """
    walk = valve()
    assert frozenset() == walk.record.to_come_out
    walk.do("condemned", "lid-screws", why="bent")
    assert {walk.place("lid-screws")} == walk.record.to_come_out
    walk = valve()
    walk.do("condemned", "seat", why="worn")
    way = ("lid-screws", "lid", "spring", "seat")
    assert set(map(walk.place, way)) == walk.record.to_come_out
    told = "is still in, and what it keeps in is to be new: take it out"
    assert 3 == sum(told in point.text for point in open_points(walk.record))

    for part in way:
        assert [walk.place(part)] == [each.place for each in Assembly(walk.record).allowed() if each.what == "out"]
        later = way[way.index(part) + 1 :]
        assert all("holds it" in walk.ask("removed", each).refusal for each in later)
        walk.allowed("removed", part, count=walk.record.at(walk.place(part)).expected)
    assert frozenset() == walk.record.to_come_out
    walk.do("received", "seat", pieces=1)
    for part in reversed(way):
        assert walk.place(part) in [each.place for each in Assembly(walk.record).allowed() if each.what == "install"]
        walk.allowed("installed", part, new=part == "seat")
        if part == "lid-screws":
            walk.do("torque_signed", part)
        walk.allowed("verified", part)
    left = {walk.place("body")}
    assert left == {point.place for point in open_points(walk.record)}


def test_what_is_out_of_another_part_is_open_until_it_is_in_again() -> None:
    """A spring that came out of the body, good as it is, is asked for as anything that lies in a bin."""
    walk = valve()
    for part in ("lid-screws", "lid", "spring"):
        walk.do("removed", part, count=1)
    spring = walk.place("spring")

    assert ["Spring (inside step 1) is out, and not in again"] == [
        point.text for point in open_points(walk.record) if point.place == spring
    ]
    assert "first Spring" in walk.refused("installed", "lid")
