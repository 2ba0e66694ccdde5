"""The planetary-reducer profile against published sizes: what a standard fixes is not invented."""

from __future__ import annotations

import math
from collections.abc import Iterator
from decimal import Decimal
from pathlib import Path
from typing import Any

import pytest
import yaml

PROFILE = Path(__file__).parents[1] / "unit_profiles" / "planetary-reducer.yaml"

# ISO 4762:2004, read in a public part library: plain head diameter dk, head height k, hexagon s; mm.
# Socket depth 0.5 d and tensile stress area (ISO 898-1; mm2): from memory.
SOCKET_HEADS = {12: (18, 12, 10, 84.3), 16: (24, 16, 14, 157.0)}
STEEL = 7.85e-6  # kg/mm3, common handbook value


def _walk(parts: list[Any]) -> Iterator[Any]:
    for part in parts:
        yield part
        yield from _walk(part.get("parts", []))


@pytest.fixture(scope="module")
def parts() -> dict[str, Any]:
    """Return the profile's parts by id, every scalar as the text that was typed."""
    tree = yaml.load(PROFILE.read_text(encoding="utf-8"), Loader=yaml.BaseLoader)
    return {part["id"]: part for part in _walk(tree["parts"])}


def _decimals(*sizes: int | str) -> tuple[Decimal, ...]:
    return tuple(map(Decimal, sizes))


def _sizes(part: Any, form: str, *names: str) -> tuple[Decimal, ...]:
    return tuple(Decimal(part["form"][form][name]) for name in names)


@pytest.mark.parametrize(
    ("part", "size"),
    [
        # ISO 15:2017, diameter series 0 (bore code 10), read in two public tables that cite it
        ("input-bearing", (50, 80, 16)),
        # ISO 15:2017, diameter series 2 (bore code 16), from memory
        ("extension-bearing", (80, 140, 26)),
    ],
)
def test_ball_bearings_have_boundary_sizes_of_iso_15(
    parts: dict[str, Any], part: str, size: tuple[int, int, int]
) -> None:
    """A deep-groove ball bearing has a bore, outside diameter and width that ISO 15 lists together."""
    expected = _decimals(*size)

    assert expected == _sizes(parts[part], "ball_bearing", "id", "od", "w")


@pytest.mark.parametrize(
    ("part", "fits", "d", "thickness"),
    [
        # DIN 471:2011, read in two public tables
        ("hub-circlip", "shaft", 50, "2.0"),
        ("sun-2-circlip", "shaft", 40, "1.75"),
        # DIN 472:2011, read in two public tables
        ("input-bearing-circlip", "bore", 80, "2.5"),
        # DIN 472, from memory
        ("extension-circlip", "bore", 140, "4.0"),
    ],
)
def test_circlips_have_the_thickness_of_din_471_and_472(
    parts: dict[str, Any], part: str, fits: str, d: int, thickness: str
) -> None:
    """A circlip's thickness is the one its standard gives for that shaft or bore."""
    expected = _decimals(d, thickness)

    assert expected == _sizes(parts[part], "snap_ring", "d", "t")
    assert fits == parts[part]["form"]["snap_ring"]["fits"]


@pytest.mark.parametrize(
    ("bearing", "circlip"),
    [("input-bearing", "input-bearing-circlip"), ("extension-bearing", "extension-circlip")],
)
def test_bore_circlips_are_those_of_their_bearing(parts: dict[str, Any], bearing: str, circlip: str) -> None:
    """A circlip that holds a bearing in a bore is nominated by that bearing's outside diameter (DIN 472)."""
    expected = _sizes(parts[bearing], "ball_bearing", "od")

    assert expected == _sizes(parts[circlip], "snap_ring", "d")


@pytest.mark.parametrize(
    ("part", "size"),
    [
        # DIN 3760, read in a public part library that lists the common sizes
        ("input-seal", (45, 62, 8)),
        # DIN 3760, from memory
        ("output-seal-splined", (80, 110, 10)),
        ("output-seal-flange", (110, 140, 12)),
    ],
)
def test_shaft_seals_have_sizes_of_din_3760(parts: dict[str, Any], part: str, size: tuple[int, int, int]) -> None:
    """A radial shaft seal has a shaft, bore and width that DIN 3760 lists together."""
    expected = _decimals(*size)

    assert expected == _sizes(parts[part], "lip_seal", "id", "od", "w")


def test_thrust_needle_bearing_has_sizes_of_din_5405(parts: dict[str, Any]) -> None:
    """Needle cage and races have the sizes of DIN 5405-2 and -3 for a 50 mm shaft (cage 3: from memory)."""
    cage, race = _decimals(50, 70, 3), _decimals(50, 70, 1)

    assert cage == _sizes(parts["thrust-needles"], "thrust_bearing", "id", "od", "t")
    assert race == _sizes(parts["thrust-race"], "ring", "id", "od", "t")


@pytest.mark.parametrize(
    ("cones", "cup", "bore", "outside", "cone_width", "cup_width"),
    [
        # ISO 355, dimension series 20, bore codes 16 and 18, from memory
        (("upper-cone",), "upper-cup", 80, 125, 29, 22),
        (("lower-cone-flange", "lower-cone-splined"), "lower-cup", 90, 140, 32, 24),
    ],
)
def test_tapered_bearings_have_boundary_sizes_of_iso_355(
    parts: dict[str, Any],
    cones: tuple[str, ...],
    cup: str,
    bore: int,
    outside: int,
    cone_width: int,
    cup_width: int,
) -> None:
    """A cone's bore and width and its cup's outside diameter and width belong together in ISO 355."""
    assert _decimals(outside, cup_width) == _sizes(parts[cup], "taper_cup", "od", "w")
    for cone in cones:
        assert _decimals(bore, cone_width) == _sizes(parts[cone], "taper_cone", "id", "w")


@pytest.mark.parametrize(
    ("part", "d", "length"),
    [
        ("cover-screws", 12, 35),
        ("extension-screws", 12, 40),
        ("through-bolts", 12, 240),
        ("carrier-bolt", 16, 45),
    ],
)
def test_screws_weigh_what_their_standard_head_and_length_weigh(
    parts: dict[str, Any], part: str, d: int, length: int
) -> None:
    """A socket screw weighs between its head with a shank of the stress area and one of the full diameter."""
    dk, k, s, stress_area = SOCKET_HEADS[d]
    head = math.pi / 4 * dk**2 * k - math.sqrt(3) / 2 * s**2 * d / 2
    lightest, heaviest = (STEEL * (head + area * length) for area in (stress_area, math.pi / 4 * d**2))

    assert parts[part]["form"]["bolt"] == {"d": str(d), "l": str(length), "head": "socket"}
    assert lightest <= float(parts[part]["mass"]) <= heaviest


def test_screw_names_say_the_sizes_of_their_forms(parts: dict[str, Any]) -> None:
    """A screw's name states the same thread and length as its form (designation as in ISO 4762: M12 x 35)."""
    screws = [part for part in parts.values() if "bolt" in part.get("form", {})]

    assert len(screws) == 4
    for screw in screws:
        bolt = screw["form"]["bolt"]
        assert f" M{bolt['d']} x {bolt['l']}," in screw["name"]


def test_copper_ring_fits_its_plug(parts: dict[str, Any]) -> None:
    """The sealing ring of the M22 plugs is 22 x 27 x 1.5, shape A of DIN 7603 (from memory)."""
    expected = _decimals(22, 27, "1.5")

    assert expected == _sizes(parts["plug-rings"], "ring", "id", "od", "t")
    assert expected[:1] == _sizes(parts["oil-plugs"], "plug", "d")


def test_oil_is_drained_before_the_unit_is_turned_over(parts: dict[str, Any]) -> None:
    """With the splined output the first step lies upside down: its card says to drain first, before it is turned over.

    Common practice, no source: oil is let out before a housing is turned over or opened.
    """
    first = parts["extension-screws"]
    caution = [hazard["text"] for hazard in first["hazards"] if hazard["signal"] == "caution"]

    assert first["out"]["note"].startswith("drain the oil before the unit is turned over")
    assert any("drain it first" in text for text in caution)


def test_the_nut_that_sets_the_preload_stands_in_its_chain() -> None:
    """What the nut clamps, from the spacer up, with the nut itself; the spacer sets it."""
    tree = yaml.load(PROFILE.read_text(encoding="utf-8"), Loader=yaml.BaseLoader)
    fit = tree["fits"]["output-preload"]

    assert fit["chain"] == [fit["set_by"], "upper-cone", "tab-washer", "bearing-nut"]
