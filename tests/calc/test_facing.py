"""How a part was seen to sit beside what its card says: free text is compared generously, and nothing is buried."""

from __future__ import annotations

import pytest

from labelkit.calc.facing import otherwise, unsettled
from labelkit.calc.openpoints import place_points
from tests.shop import part_of
from tests.walk import Walk

HUB = "form: {hub: {od: 66, h: 48, bore: 50, flange_od: 92, flange_t: 30}}, sits: {up: short boss, opens: down}"
SEAL = "form: {lip_seal: {id: 25, od: 40, w: 7}}, sits: {opens: up}"
COVER = 'sits: {up: flat face, clock: "6:00", feature: drain slot}'


@pytest.mark.parametrize(
    ("fields", "up", "clock"),
    [
        (HUB, "SHORT BOSS UP", None),
        (HUB, " Short  boss", None),
        (HUB, "short boss nach oben", None),
        (HUB, "long boss down", None),
        (HUB, "lange Nabe unten", None),
        (SEAL, "lip", None),
        (SEAL, "Lippe oben", None),
        (SEAL, "labio hacia arriba", None),
        ("sits: {up: bronze toward planet}", "Bronze toward planet", None),
        (COVER, "flat face", "6"),
        (COVER, None, "auf 6 Uhr"),
        (COVER, None, "6 h"),
        (COVER, None, "6 en punto"),
        (COVER, None, "notch at 6:00"),
        (COVER, None, "Drain slot"),
        ("sits: {up: free, clock: free}", "any face", "7"),
        ("", "any face", "7"),
        (COVER, None, None),
    ],
)
def test_what_says_the_same_agrees(fields: str, up: str | None, clock: str | None) -> None:
    """In English, German or Spanish, by case and blanks, and the word of the face or of the mark alone; where the
    profile says nothing, or that either way is right, all of it does."""
    assert ("", "") == otherwise(part_of(fields), up, clock)


@pytest.mark.parametrize(
    ("fields", "up", "clock", "seen", "says"),
    [
        (HUB, "long", None, "long up", "SHORT BOSS UP"),
        (HUB, "short boss down", None, "short boss down", "SHORT BOSS UP"),
        (HUB, "LONG BOSS UP", "7", "LONG BOSS UP", "SHORT BOSS UP"),
        (SEAL, "lip down", None, "lip down", "LIP UP"),
        ("sits: {up: bronze toward planet}", "bronze", None, "bronze up", "BRONZE TOWARD PLANET"),
        (COVER, "flat face", "6:30", "at 6:30", "6 o'clock"),
        (COVER, "flat face", "toward the pump", "toward the pump", "6 o'clock"),
        (COVER, "ribs", "3", "ribs up, at 3", "FLAT FACE UP, 6 o'clock"),
    ],
)
def test_what_says_otherwise_is_told_beside_the_card(
    fields: str, up: str, clock: str | None, seen: str, says: str
) -> None:
    """Only that of both which differs: the hour of a part that may have any is no question."""
    assert (seen, says) == otherwise(part_of(fields), up, clock)


def asks(walk: Walk, part: str) -> list[str]:
    return [each.text for each in place_points(walk.record, walk.record.at(walk.place(part))) if each.kind == "seen"]


def test_a_face_that_was_seen_otherwise_is_open_until_a_look_agrees() -> None:
    """The last word on the face counts, whoever tells the hour after it; in a bin as in the unit."""
    walk = Walk("planetary-reducer", {"breather": "std"})
    walk.do("removed", "brake-hub", count=1)
    walk.do("side_seen", "brake-hub", up="long")
    walk.do("side_seen", "brake-hub", clock="7")

    name = walk.bin("brake-hub").full_name
    told = f"{name}: seen otherwise, long up; its card says SHORT BOSS UP"
    assert [f"{told}: look again how it sits and record it, or note a deviation"] == asks(walk, "brake-hub")
    walk.do("installed", "brake-hub", side="SHORT BOSS UP")
    assert 1 == len(asks(walk, "brake-hub")), "whoever puts it in by the card has not looked"
    walk.do("side_seen", "brake-hub", up="short boss")
    assert [] == asks(walk, "brake-hub")


def test_a_deviation_or_a_condemnation_since_settles_it() -> None:
    """A look after that asks anew: of the new part, too, that is in."""
    deviation = {"kind": "deviation", "what": "long boss up", "reason": "as found", "agreed": "Olga"}
    for settled in (deviation, {"kind": "condemned", "why": "worn"}):
        walk = Walk("planetary-reducer", {"breather": "std"})
        walk.do(part="brake-hub", **settled)
        walk.do("side_seen", "brake-hub", up="long")
        assert 1 == len(asks(walk, "brake-hub")), "what was said before a look is no answer to it"
        walk.do(part="brake-hub", **settled)
        assert [] == asks(walk, "brake-hub")
        walk.do("installed", "brake-hub", new=True)
        walk.do("side_seen", "brake-hub", up="long boss up")
        assert 1 == len(asks(walk, "brake-hub"))


def test_what_sits_otherwise_is_not_verified_without_an_override() -> None:
    """The refusal has both statements; an override lets it, and leaves the question to who signs."""
    walk = Walk("planetary-reducer", {"breather": "std"})
    walk.take_apart()
    walk.do("installed", "ring-housing")
    assert walk.ask("verified", "ring-housing").allowed
    ruling = walk.ask("side_seen", "ring-housing", up="75-tooth end", clock="3")
    assert ruling.allowed
    assert "seen otherwise, at 3; its card says 12 o'clock: look again" in ruling.told[0], "while somebody stands by it"
    walk.do("side_seen", "ring-housing", up="75-tooth end", clock="3")

    ruling = walk.ask("verified", "ring-housing")

    assert (False, True) == (ruling.allowed, ruling.overridable)
    assert "seen otherwise, at 3; its card says 12 o'clock. Allowed now: look again" in ruling.refusal
    override = {"reason": "trial fit", "agreed": "Olga", "refusal": ruling.refusal}
    walk.allowed("verified", "ring-housing", override=override)
    assert unsettled(walk.record.at(walk.place("ring-housing")))
