"""What was signed or verified before something else came; common practice, no source."""

from __future__ import annotations

from labelkit.calc.openpoints import open_points
from tests.shop import profile_of
from tests.walk import Walk

UNIT = """\
format: 1
unit: {mark: T1, name: Test, up: top}
parts:
- {id: screws, name: Screws, qty: 6, fasten: {torque: 25},
   check: [{look: threads, at: clean}, {look: marked, at: assembled}]}
"""


def told(walk: Walk, kind: str) -> list[str]:
    return [point.text for point in open_points(walk.record) if point.kind == kind]


def together() -> Walk:
    walk = Walk(profile_of(UNIT))
    walk.take_apart()
    walk.do("inspected", "screws", check=0, verdict="reuse")
    walk.put_in("screws")
    walk.do("inspected", "screws", check=1, verdict="reuse")
    return walk


def test_what_is_tightened_or_looked_at_after_it_was_verified_is_verified_again() -> None:
    """The last check, when it is together, comes after that anyhow."""
    for kind, fields in (("torque_signed", {}), ("inspected", {"check": 0, "verdict": "reuse"})):
        walk = together()
        assert open_points(walk.record) == ()
        number = walk.do(kind, "screws", who="Ben", **fields).number
        again = f"1 Screws: Ana verified it before event {number} by Ben: look at that, and verify it again"
        assert told(walk, "not_verified") == [again]
        walk.allowed("verified", "screws")
        assert open_points(walk.record) == ()


def test_a_signature_that_is_older_than_what_it_is_about_is_told_until_it_is_given_again() -> None:
    """It stops the closing, and not that it is given again; a note beside it says nothing of the unit."""
    walk = together()
    walk.allowed("signature", statement="all is in")
    walk.do("noted", note="label on the shelf")
    assert walk.ask("closed").allowed
    number = walk.do("inspected", "screws", check=1, verdict="reuse", who="Ben").number
    before = f"Ana signed before event {number} by Ben: look at that, and sign again"
    assert told(walk, "signed") == [before]
    assert before in walk.ask("closed").refusal
    walk.allowed("signature", statement="all is in")
    assert told(walk, "signed") == []
    assert walk.ask("closed").allowed
    walk.do("correction", of=number, why="slip", who="Ben")
    assert len(told(walk, "signed")) == 1
