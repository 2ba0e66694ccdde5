"""What deviates of what is there, and what of pieces that went out; common practice, no source."""

from __future__ import annotations

from tests.shop import profile_of
from tests.walk import Walk

UNIT = """\
format: 1
unit: {mark: T1, name: Test, up: top}
parts:
- {id: cover, name: Cover}
- {id: washer, name: Washer, qty: 3}
"""
NOTED = {"what": "scored", "reason": "shallow", "agreed": "J. Owner"}


def numbers(walk: Walk) -> tuple[list[int], list[int]]:
    """Return the numbers of the deviations of what is there, and of what went out."""
    record = walk.record
    return [e.number for e in record.deviations], [e.number for e in record.past_deviations]


def test_a_deviation_goes_out_with_its_piece() -> None:
    """The old cover was scored and agreed on, then it is condemned; so is its new one later, in the unit."""
    walk = Walk(profile_of(UNIT))
    walk.take_apart()
    old = walk.do("deviation", "cover", **NOTED).number
    assert numbers(walk) == ([old], [])
    walk.do("condemned", "cover", why="cracked")
    assert numbers(walk) == ([], [old])
    walk.do("installed", "cover", new=True)
    new = walk.do("deviation", "cover", **NOTED).number
    assert numbers(walk) == ([new], [old])
    walk.do("removed", "cover", count=1)
    walk.do("installed", "cover", new=True)
    assert numbers(walk) == ([new], [old]), "the same one is in again"
    walk.do("condemned", "cover", why="warped")
    assert numbers(walk) == ([], [old, new])


def test_what_is_replaced_or_sent_back_without_a_verdict_takes_its_deviation_along() -> None:
    """A new part in place of an old one that nobody condemned; it goes back, and the old one is in again."""
    walk = Walk(profile_of(UNIT))
    walk.take_apart()
    old = walk.do("deviation", "cover", **NOTED).number
    walk.do("installed", "cover", new=True)
    assert numbers(walk) == ([], [old])
    new = walk.do("deviation", "cover", **NOTED).number
    walk.do("removed", "cover", count=1)
    walk.do("returned", "cover", pieces=1, counted=1, why="too low")
    walk.do("installed", "cover")
    assert numbers(walk) == ([old], [new])


def test_of_some_pieces_and_of_the_job_deviations_stay() -> None:
    """Nobody knows which of three washers was meant."""
    walk = Walk(profile_of(UNIT))
    walk.take_apart()
    of_job, some = walk.do("deviation", **NOTED).number, walk.do("deviation", "washer", **NOTED).number
    walk.do("condemned", "washer", why="worn", pieces=1)
    walk.do("installed", "washer", new=True, pieces=1)
    assert numbers(walk) == ([of_job, some], [])
