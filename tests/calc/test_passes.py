"""The passes in which fasteners are tightened: signed in their order, to the last."""

from __future__ import annotations

from labelkit.calc.openpoints import place_points
from labelkit.calc.passes import passes_of
from tests.walk import Walk


def test_all_passes_are_signed_in_their_order_and_the_angle_is_one() -> None:
    """Twelve bolts: half of 60 N·m, 60 N·m, then 90° further, by the profile; nothing is done before that is.

    Common practice, no source: a screw that is turned on has a fraction of its clamping force before.
    """
    walk = Walk("planetary-reducer", {"breather": "std"})
    walk.take_apart()
    walk.do("installed", "through-bolts", new=True)

    def still_open() -> list[str]:
        bolts = walk.record.at(walk.place("through-bolts"))
        return [each.text for each in place_points(walk.record, bolts) if each.kind == "torque"]

    assert ["the pass of 50 %", "the pass of 100 %", "90° further"] == [
        each.words for each in passes_of(walk.record.at(walk.place("through-bolts")))
    ]
    assert "the pass of 50 % not signed yet" in walk.refused("torque_signed", "through-bolts", torque="60")
    assert "60 N·m, 90° further, is not signed" in walk.refused("verified", "through-bolts")
    walk.allowed("torque_signed", "through-bolts", torque="30", share="0.5")
    assert "the pass of 100 % not signed yet" in walk.refused("torque_signed", "through-bolts", angle="90")
    walk.allowed("torque_signed", "through-bolts", torque="60")
    assert "the torque, 90° further, is not signed" in walk.refused("verified", "through-bolts")
    assert 1 == len(still_open())
    assert "50° further is 44 % under 90°" in walk.refused("torque_signed", "through-bolts", angle="50")
    assert "120° further is 33 % over 90°" in walk.refused("torque_signed", "through-bolts", angle="120")
    walk.allowed("torque_signed", "through-bolts", angle="90")
    assert ("", []) == (walk.refused("verified", "through-bolts"), still_open())
    walk.do("removed", "through-bolts", count=12)
    walk.do("installed", "through-bolts", new=True)
    assert "the pass of 50 % not signed yet" in walk.refused("torque_signed", "through-bolts", torque="60")
