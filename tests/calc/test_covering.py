"""What goes in over a fit: refused while the fit is known to be wrong, or not read, and nobody agreed to that.

That an adjustment must be right before it is hidden is common practice, no source.
"""

from __future__ import annotations

from typing import Any

import pytest

from labelkit.calc.allowed import Assembly
from labelkit.calc.covering import cover_of
from labelkit.calc.gate import judge
from labelkit.model.events import act_of
from tests.shop import profile_of
from tests.walk import Walk

PRELOAD: dict[str, Any] = {"fit": "output-preload", "at": "assembled", "values": ["4.23"], "unit": "N·m"}
STROKE: dict[str, Any] = {"fit": "brake-stroke", "at": "assembled", "values": ["2.02"], "unit": "mm", "state": "flat"}
END_PLAY: dict[str, Any] = {"fit": "carrier-end-play", "at": "assembled", "values": ["0.71"] * 3, "unit": "mm"}
STAYS = {"what": "it stays so", "reason": "no other size this week", "agreed": "Bo"}


def built(unit: str, until: str, *readings: dict[str, Any]) -> Walk:
    """A unit of which everything before a part is in, and what was read then."""
    walk = Walk(unit, {"breather": "std"} if unit == "planetary-reducer" else None)
    walk.take_apart()
    walk.put_in_until(until)
    for reading in readings:
        walk.do("reading", **reading)
    return walk


def over_it(walk: Walk, part: str) -> str:
    """What stands against a part that goes in, of the fits under it."""
    return "; ".join(each.text + f" ({each.why})" for each in Assembly(walk.record).before(walk.bin(part).step))


@pytest.mark.parametrize(
    ("reading", "hides", "todo"),
    [
        (PRELOAD, "carrier-2", "choose output preload (output preload is 4.23 N·m, the target is 2.5 N·m to 4.0 N·m)"),
        (STROKE, "brake-piston", "choose brake stroke (brake stroke is 2.02 mm, the target is 1.40 mm to 1.80 mm)"),
        (END_PLAY, "backing-plate", "choose carrier end play (carrier end play is 0.71 mm"),
    ],
)
def test_what_hides_a_fit_that_was_read_outside_its_target_is_refused(
    reading: dict[str, Any], hides: str, todo: str
) -> None:
    """Whatever kind of fit it is; a reason and a name are enough, and inside the target nothing is asked."""
    walk = built("planetary-reducer", hides)
    others = [PRELOAD | {"values": ["3.2"]}] if reading is not PRELOAD else []
    for other in others:
        walk.do("reading", **other)
    inside = {"output-preload": "3.2", "brake-stroke": "1.60", "carrier-end-play": "0.45"}[reading["fit"]]
    walk.do("reading", **reading | {"values": [inside] * 3})
    assert not over_it(walk, hides)

    walk.do("reading", **reading)

    assert over_it(walk, hides).startswith(todo)
    ruling = walk.ask("installed", hides, new=True)
    assert not ruling.allowed
    assert ruling.overridable
    assert f"Allowed now: choose {reading['fit'].replace('-', ' ')}" in ruling.refusal
    assert not any(each.place == walk.place(hides) for each in Assembly(walk.record).allowed())


def test_what_lies_over_what_is_over_the_fit_is_refused_too() -> None:
    """The piston was in before the stroke was read: the springs would only go on hiding it."""
    walk = built("planetary-reducer", "brake-springs-12", STROKE)

    assert "choose brake stroke" in over_it(walk, "brake-springs-12")
    assert not over_it(walk, "cover-oring"), "it goes in beside"


def test_what_goes_in_over_any_part_of_a_fit_is_asked_for_its_reading() -> None:
    """The cover lies on the hub, not on the ring that goes in last: it is asked there, not at the cap only."""
    walk = Walk(
        profile_of(
            """\
format: 1
unit: {mark: T1, name: Test, up: top}
series: {rings: {sizes: ["3.00", "3.20"]}}
parts:
- {id: cap, name: Cap, sits: {on: ring}}
- {id: cover, name: Cover, sits: {on: hub}}
- {id: bracket, name: Bracket, sits: {on: body}}
- {id: ring, name: Ring, series: rings, sits: {on: plate}}
- {id: plate, name: Plate, sits: {on: hub}}
- {id: hub, name: Hub, sits: {on: body}}
- {id: body, name: Body}
fits:
  gap: {kind: clearance, target: ["0.20", "0.40"], set_by: ring, thicker: reduces, chain: [plate, hub]}
"""
        )
    )
    walk.take_apart()
    assert not over_it(walk, "plate").count("measure")
    walk.put_in("body", "hub", "plate", "ring")
    for part in ("cover", "cap"):
        assert over_it(walk, part) == "measure gap (it cannot be read afterwards)"
    assert not over_it(walk, "bracket"), "it goes in beside"
    walk.do("reading", fit="gap", at="assembled", values=["0.30"], unit="mm", verdict="ok")
    assert not over_it(walk, "cover")


@pytest.mark.parametrize("place", [None, "preload-spacer"])
def test_a_deviation_that_was_noted_since_lets_it_be(place: str | None) -> None:
    """Of the job or of the piece that sets it, after the last reading; what is said of another part says nothing."""
    walk = built("planetary-reducer", "carrier-2")
    walk.do("deviation", place, **STAYS)
    walk.do("reading", **PRELOAD)
    walk.do("deviation", "oil-plugs", **STAYS)
    assert over_it(walk, "carrier-2")
    walk.do("deviation", place, **STAYS)
    assert not over_it(walk, "carrier-2")
    walk.do("reading", **PRELOAD | {"values": ["4.30"]})
    assert over_it(walk, "carrier-2")


def test_who_went_on_against_the_gate_is_not_asked_again_until_it_is_open_again() -> None:
    """The reason stands with the part that hides the fit; what was done all the same of another fit says nothing."""
    walk = built("planetary-reducer", "carrier-2", PRELOAD)
    told = {"reason": "trial fit", "agreed": "Owner", "refusal": "Not yet"}
    walk.do("reading", fit="carrier-end-play", at="assembled", values=["0.45"] * 3, unit="mm", override=told)
    assert over_it(walk, "carrier-2")
    walk.do("installed", "carrier-2", override=told)
    walk.do("verified", "carrier-2")

    assert not over_it(walk, "lock-plate")
    assert "choose" not in Assembly(walk.record).allowed()[0].text
    walk.do("removed", "carrier-2", count=1)
    assert "choose output preload" in over_it(walk, "carrier-2")


def test_a_size_that_is_chosen_and_not_in_holds_up_what_would_hide_it() -> None:
    """The choice alone sets nothing: the other piece comes out first. A stack that was never read stops nothing."""
    walk = Walk("planetary-reducer", {"breather": "std"})
    walk.take_apart()
    walk.put_in_until("selective-steel")
    walk.do("installed", "selective-steel", new=True, sizes=["2.00"])
    walk.do("verified", "selective-steel")
    walk.put_in("friction-disc", "steel-disc", "pressure-plate", "brake-pack", new=True)
    walk.put_in("piston-backup-small", "piston-oring-small", "piston-backup-large", "piston-oring-large", new=True)
    assert not over_it(walk, "brake-piston")
    walk.do("reading", **STROKE)
    walk.do("fit_chosen", fit="brake-stroke", sizes=["2.40"], predicted="1.62")

    disc = walk.bin("selective-steel").full_name
    assert over_it(walk, "brake-piston") == f"take out {disc}; chosen is 2.40 mm (it cannot be set afterwards)"
    act = act_of({"kind": "installed", "new": True})
    refusal = judge(Assembly(walk.record), act, walk.place("brake-piston"), "Ana").refusal
    assert f"Allowed now: take out {disc}; chosen is 2.40 mm" in refusal


def test_what_is_left_in_goes_in_over_nothing() -> None:
    """Of a play that is read closed it is what goes in over the last of what closes it, the bolts."""
    walk = built("planetary-reducer", "through-bolts")
    bins = {each.step: each.part.id for each in walk.view.teardown.bins}
    cover = cover_of(walk.record, "carrier-end-play")

    assert {"brake-housing", "through-bolts", "end-play-washer", "thrust-needles", "thrust-race"} == {
        bins[step] for step in cover.under
    }
    assert {"backing-plate", "brake-pack", "input-cover"} <= {bins[step] for step in cover.over}
    assert not {"cover-oring", "brake-hub", "brake-port"} & {bins[step] for step in cover.over}
    walk.do("left_in", "backing-plate")
    assert "selective-steel" not in {bins[step] for step in cover_of(walk.record, "carrier-end-play").over}
