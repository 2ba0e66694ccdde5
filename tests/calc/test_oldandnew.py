"""What of a place is old and what is new, also once the new one is out again.

What must be kept to the sign-off is common practice, no source.
"""

from __future__ import annotations

from labelkit.calc.oldandnew import old_replaced
from tests.shop import profile_of
from tests.walk import Walk

UNIT = """\
format: 1
unit: {mark: T1, name: Test, up: top}
parts:
- {id: washer, name: Washer, qty: 3}
- {id: grease, name: Shims, qty: set}
"""


def kept(walk: Walk, part: str = "washer") -> int | None:
    return old_replaced(walk.record.at(walk.place(part)))


def test_old_pieces_stay_out_for_good_while_their_new_ones_are_out_again() -> None:
    """Two new washers and an old one go in, all come out, one new one goes back: two old ones are still to be kept."""
    walk = Walk(profile_of(UNIT))
    walk.take_apart()
    assert kept(walk) == 0
    walk.do("condemned", "washer", why="worn", pieces=2)
    walk.do("received", "washer", pieces=2)
    walk.do("staged", "washer", pieces=2)
    assert kept(walk) == 2
    walk.do("installed", "washer", new=True, pieces=2)
    walk.do("installed", "washer", pieces=1)
    walk.do("removed", "washer", count=3)
    assert kept(walk) == 2
    walk.do("returned", "washer", pieces=1, counted=1, why="too thin")
    assert kept(walk) == 2


def test_what_goes_in_again_after_all_is_not_kept_apart() -> None:
    """The new ones are wrong and the old ones are in again, of a set as of what has a count."""
    walk = Walk(profile_of(UNIT))
    walk.take_apart()
    for part in ("washer", "grease"):
        walk.do("installed", part, new=True)
        walk.do("removed", part, count=3)
        assert kept(walk, part) != 0
        walk.do("installed", part)
        assert kept(walk, part) == 0
