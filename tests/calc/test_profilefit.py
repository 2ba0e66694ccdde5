"""What a profile says of a fit, as it would be typed; `tests/cli/test_fit.py` works the answers out."""

from __future__ import annotations

from decimal import Decimal

from labelkit.calc.profilefit import given_of
from labelkit.units import Quantity
from tests.shop import demo, profile_of

TWO_PACKS = """\
format: 1
unit: {mark: W1, name: Packs, up: top}
series: {steps: {from: "2.00", to: "2.60", step: "0.15", pieces: 2}}
parts:
  - id: plain
    name: Plain pack
    stack: [steel, friction]
    parts:
      - {id: steel, name: Steel, form: {steel_plate: {od: 90, id: 70, t: "2.0", lugs: 6}}}
      - {id: friction, name: Friction, form: {friction_plate: {od: 88, id: 68, t: "2.5", teeth: 30}}}
  - id: sprung
    name: Sprung pack
    stack: [wave, flat]
    parts:
      - {id: wave, name: Wave plate, form: {wave_spring: {od: 90, id: 70, t: "1.80", h: "2.60", waves: 4}}}
      - {id: flat, name: Flat, form: {steel_plate: {od: 90, id: 70, t: "2.0", lugs: 6}}}
  - {id: washer, name: Washer, series: steps}
  - {id: race, name: Race, form: {steel_plate: {od: 70, id: 50, t: "1.0", lugs: 6}}}
fits:
  plain-gap: {kind: clearance, of: plain, state: all plates flat, target: ["1.40", "1.80"]}
  sprung-gap: {kind: clearance, of: sprung, state: all plates flat, target: ["1.40", "1.80"]}
  play: {kind: end_play, target: ["0.40", "0.60"], set_by: washer, thicker: reduces, chain: [washer, race]}
"""


def test_a_pack_whose_plates_are_all_flat_has_no_wave_plate_to_ask_for() -> None:
    """`all plates flat` is no word of a wave plate there; where the pack has one it says how the limit means it."""
    profile = profile_of(TWO_PACKS).profile

    plain, sprung = (given_of(profile, profile.fits[name], {}) for name in ("plain-gap", "sprung-gap"))

    assert ("none", "none") == (plain["limit_state"], plain["state"])
    assert "wave" not in plain
    assert ("flat", "0.80 mm") == (sprung["limit_state"], sprung["wave"])
    assert "state" not in sprung


def test_a_pack_is_read_at_four_places_whatever_its_profile_says() -> None:
    """More are asked for, fewer are not: the sum would refuse them."""
    wanted = []
    for said in ("", ", readings: 3", ", readings: 6"):
        profile = profile_of(TWO_PACKS.replace('"1.80"]}\n  sprung', f'"1.80"]{said}}}\n  sprung')).profile
        wanted.append(given_of(profile, profile.fits["plain-gap"], {})["readings"])

    assert [4, 4, 6] == wanted


def test_steps_stay_steps_and_what_is_in_counts_in_the_chain() -> None:
    """A series of steps is asked for its list; the washers that are in stand in the chain, not a nominal size."""
    profile = profile_of(TWO_PACKS).profile
    sizes = [Quantity(Decimal(text), "mm") for text in ("2.15", "2.30")]

    bare, fitted = (given_of(profile, profile.fits["play"], {}, known) for known in ((), sizes))

    assert "2.00 mm:2.60 mm:0.15 mm" == bare["series"]
    assert ["Race=1.0 mm"] == bare["chain"]
    assert ["Washer=2.15 mm reduces", "Washer=2.30 mm reduces", "Race=1.0 mm"] == fitted["chain"]


def test_every_fit_of_the_demo_units_is_said() -> None:
    """None of them lacks what its sum needs; a listed series stays a list."""
    for unit in ("planetary-reducer", "marine-gear"):
        profile = demo(unit).profile
        for fit in profile.fits.values():
            assert {"target", "aim", "unit"} <= given_of(profile, fit, {}).keys()
    marine = demo("marine-gear").profile
    assert "3.0 mm,3.2 mm" in given_of(marine, marine.fits["clutch-clearance-ahead"], {})["series"]
