"""What goes into the washer, and what is in it."""

from __future__ import annotations

from labelkit.calc.washing import in_washer, washable
from tests.walk import Walk


def test_a_sub_assembly_that_is_nothing_but_its_parts_is_not_washed_itself() -> None:
    """Once they are all out; a body that lost its parts still is. Common practice, no source."""
    walk = Walk("marine-gear", {"pto": "none"})
    walk.take_apart(but=("ahead-shaft",))

    assert walk.place("ahead-assy") in set(washable(walk.record)), "its shaft is still in it"
    walk.do("removed", "ahead-shaft", count=1)
    washed = set(washable(walk.record))
    assert walk.place("ahead-assy") not in washed
    assert {walk.place("ahead-shaft"), walk.place("pump-body"), walk.place("main-housing")} <= washed


def test_the_washer_holds_what_went_in_until_it_is_clean() -> None:
    """What was marked clean, or came out of the unit anew, is not in it."""
    walk = Walk("marine-gear", {"pto": "none"})
    walk.do("removed", "pump-body", count=1)
    walk.do("removed", "seal-carrier", count=1)
    both = walk.place("pump-body"), walk.place("seal-carrier")
    walk.do("wash_started", places=list(both))

    assert in_washer(walk.record) == set(both)
    walk.do("washed", "pump-body")
    assert in_washer(walk.record) == {both[1]}
    walk.do("removed", "seal-carrier", count=1)
    assert in_washer(walk.record) == set()
