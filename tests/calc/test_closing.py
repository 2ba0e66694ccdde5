"""When an end play is read again: with what closes its chain in place, no earlier; late where nobody can tell.

Common practice, no source: a play is read with the joint closed and its screws tight.
"""

from __future__ import annotations

import pytest

from labelkit.calc.allowed import Assembly
from labelkit.calc.closing import closed_by
from tests.shop import demo, profile_of, view_of
from tests.walk import Walk

PUMP = """
format: 1
unit: {mark: P7, name: Pump, up: drive side}
series: {shims: {from: "1.0", to: "2.0", step: "0.1"}}
parts:
  - {id: cap, name: Cap, sits: {on: cover}}
  - TOP
  - {id: cover, name: Cover, held: HELD, sits: {on: shim}}
  - {id: shim, name: Shim, series: shims, held: {by: loose}}
  - {id: body, name: Body, held: {by: screwed}}
fits: {play: {kind: end_play, target: ["0.1", "0.2"], set_by: shim}}
"""
SCREWS = "{id: top, name: Screw, qty: 4, held: {by: screwed}, sits: {on: cover}, fasten: {torque: 25}}"
RING = "{id: top, name: Ring, held: {by: slip}, sits: {on: cover}}"


@pytest.mark.parametrize(
    ("unit", "fit", "closing"),
    [
        ("planetary-reducer", "carrier-end-play", {"brake-housing", "through-bolts"}),
        ("marine-gear", "ahead-end-play", {"aft-cover", "aft-cover-screws"}),  # its shims are inside the cover
        ("marine-gear", "output-end-play", {"seal-carrier", "carrier-screws"}),
    ],
)
def test_what_lies_on_the_chain_is_followed_to_its_screws(unit: str, fit: str, closing: set[str]) -> None:
    """The cover over the chain and the screws through it, by the profile; nothing that is built on later."""
    view = view_of(demo(unit))
    play = view.profile.fits[fit]

    found = closed_by(view.teardown, view.order, play)

    assert {view.teardown.at(step).part.id for step in found or ()} == closing | set(play.parts)


@pytest.mark.parametrize(
    ("top", "held", "closing"),
    [
        (SCREWS, "{by: screwed}", ["cover", "shim", "top"]),
        (RING, "{by: ring, part: top}", ["cover", "shim", "top"]),
        # Screwed, and nobody says by which screws; held by nothing, with a cap on it that nothing holds.
        (SCREWS.replace(", fasten: {torque: 25}", ""), "{by: screwed}", None),
        (RING, "{by: slip}", None),
    ],
)
def test_a_cover_is_kept_by_its_screws_or_its_ring(top: str, held: str, closing: list[str] | None) -> None:
    """The cap on the cover keeps nothing; where the profile does not say what keeps the cover, nobody can tell."""
    view = view_of(profile_of(PUMP.replace("TOP", top).replace("HELD", held)))

    found = closed_by(view.teardown, view.order, view.profile.fits["play"])

    assert closing == (found and sorted(view.teardown.at(step).part.id for step in found))


def test_the_play_is_asked_for_when_the_bolts_are_tight() -> None:
    """Washer and housing are in: not yet; the through bolts are signed and verified: now, and not again once read."""
    walk = Walk("planetary-reducer", {"breather": "std"})
    walk.take_apart()

    def asked() -> bool:
        return "carrier-end-play" in [each.fit for each in Assembly(walk.record).allowed()]

    seen = []
    for part in ("thrust-race", "thrust-needles", "end-play-washer", "brake-housing", "through-bolts"):
        walk.put_in(part)
        seen.append(asked())
    walk.do("reading", fit="carrier-end-play", at="assembled", values=["0.45"] * 3, unit="mm", verdict="ok")

    assert ([False] * 4 + [True], False) == (seen, asked())


def test_the_stroke_of_a_pack_is_asked_for_when_the_pack_is_in_and_stops_nothing() -> None:
    """It was worked out before; the springs hide the pack, and may go over it all the same."""
    walk = Walk("planetary-reducer", {"breather": "std"})
    walk.take_apart()

    walk.put_in_until("brake-pack")
    assert "brake-stroke" not in [each.fit for each in Assembly(walk.record).allowed()]
    walk.put_in("brake-pack")
    assert Assembly(walk.record).allowed()[0].fit == "brake-stroke"
    walk.put_in_until("brake-springs-12")
    assert walk.ask("installed", "brake-springs-12", new=True).allowed
