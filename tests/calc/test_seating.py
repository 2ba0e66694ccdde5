"""Parts pushed together stand where they meet their seats; what cannot be says which dimensions disagree."""

from __future__ import annotations

import random
from typing import Any

import pytest
import shapely
from shapely import Polygon, affinity

from labelkit import forms
from labelkit.calc import seatingwords as words
from labelkit.calc.seating import Seating, in_order, seating
from labelkit.calc.seatingpieces import Seated
from labelkit.sheets.jobview import JobView
from tests.explodedsheets import unit_of
from tests.forms.strategies import build
from tests.shop import DEMO_UNITS, demo, view_of

UP, DOWN = {"up": "mark", "opens": "up"}, {"up": "mark", "opens": "down"}
FREE = {"up": "free"}


def part(ident: str, kind: str = "", sizes: dict[str, Any] | None = None, **fields: Any) -> dict[str, Any]:
    entry = {"id": ident, "name": ident.capitalize(), **fields}
    return entry | ({"form": build(kind, **(sizes or {}))} if kind else {})


def on(seat: str, way: dict[str, str] = FREE) -> dict[str, str]:
    return {**way, "on": seat}


def ring(ident: str, od: Any, inside: Any, t: Any, seat: str | None = None, **fields: Any) -> dict[str, Any]:
    return part(ident, "ring", {"od": od, "id": inside, "t": t}, sits=on(seat) if seat else FREE, **fields)


DRUM = part("drum", "drum", {"od": 120, "h": 60, "wall": 10, "floor": 12, "bore": 30}, sits=UP)


def seated(view: JobView) -> Seating:
    return seating(view.teardown, in_order(view.profile, view.teardown))


def of(parts: list[dict[str, Any]]) -> Seating:
    """Return the seating of a unit of these parts, in removal order."""
    return seated(unit_of(parts))


def heights(found: Seating, axis: int = 0) -> dict[str, list[float]]:
    """Return the lowest points of the pieces of each part on an axis, mm."""
    places: dict[str, list[float]] = {}
    for piece in found.axes[axis].seated:
        places.setdefault(piece.bin.part.id, []).append(round(piece.z, 6))
    return places


def told(found: Seating) -> list[tuple[str, str]]:
    return [(each.part, each.text) for each in found.disagreements]


def why(found: Seating) -> dict[str, str]:
    return {each.part.id: reason for each, reason in found.aside}


# --- where parts stand -----------------------------------------------------------------------------------------------


def test_parts_pile_up_on_their_seats() -> None:
    """By hand: floor 12, washer 5, hub 20 high on it with its flange down, cover on the rim at 60."""
    cover = part("cover", "hub", {"od": 60, "h": 30, "bore": 20, "flange_od": 118, "flange_t": 8}, sits=on("drum", UP))
    hub = part("hub", "hub", {"od": 40, "h": 20, "bore": 35, "flange_od": 90, "flange_t": 6}, sits=on("washer", UP))
    found = of([cover, hub, ring("washer", 95, 40, 5, "drum"), DRUM])

    assert {"drum": [0], "washer": [12], "hub": [17], "cover": [60]} == heights(found)
    assert not found.disagreements
    assert "" == found.axes[0].why


def test_a_bearing_goes_on_from_the_end_that_has_its_journal() -> None:
    """By hand: from below over the journal of 30, 50 long, so at 50 - 16; from above it would stand on the end."""
    shaft = part("shaft", "shaft", {"steps": [[25, 40], [45, 60], [30, 50]]}, sits=UP)
    cone = part("cone", "taper_cone", {"id": 30, "od": 60, "w": 16}, sits=on("shaft", DOWN))

    assert {"shaft": [0], "cone": [34]} == heights(of([cone, shaft]))


def test_a_shaft_goes_deep_into_its_housing_rather_than_stand_on_it() -> None:
    """By hand: its flange of 100 meets the drum from below; from above its end would only stand on the floor."""
    shaft = part("shaft", "shaft", {"steps": [[28, 90], [100, 15], [50, 30]]}, sits=on("drum", UP))

    assert {"drum": [45], "shaft": [0]} == heights(of([shaft, DRUM]))


def worm(steps: list[list[int]], **bearings: int) -> dict[str, Any]:
    """Return a shaft of these steps with bearings of these bores on it, that is put on the drum as one."""
    sizes = {25: 47, 20: 42}
    parts = [
        part(name, "ball_bearing", {"id": bore, "od": sizes[bore], "w": 12}, sits=on("shaft"))
        for name, bore in bearings.items()
    ]
    shaft = part("shaft", "shaft", {"steps": steps}, sits=UP)
    return part("worm", parts=[*parts, shaft], sits=on("drum"))


def test_what_comes_out_through_the_mouth_stands_inside_on_the_floor() -> None:
    """By hand: floor 10, its step of 25 begins 60 higher; the housing has no bore for its bearings."""
    house = part("drum", "drum", {"od": 130, "h": 90, "wall": 10}, sits=UP)
    cover = part("cover", "hub", {"od": 120, "h": 18, "bore": 40}, sits=on("drum", UP))
    inner = worm([[25, 20], [30, 40], [20, 20]], upper=25, lower=20)
    found = of([cover, ring("shim", 46, 36, 1, "upper"), inner, house])

    assert {"drum": [0], "shaft": [10], "lower": [18], "upper": [70], "shim": [82], "cover": [90]} == heights(found)
    assert not found.disagreements


HUB = part("shaft", "hub", {"od": 28, "h": 60, "bore": 20, "flange_od": 90, "flange_t": 6}, sits=on("drum", UP))


@pytest.mark.parametrize(
    "inner",
    [worm([[25, 100], [40, 30], [20, 12]], lower=20), worm([[25, 90], [40, 20]], upper=25), HUB],
    ids=["a bearing stands", "a bearing would hang", "a hub"],
)
def test_a_hole_in_the_floor_takes_nothing_from_below_that_stands_above_it(inner: dict[str, Any]) -> None:
    """By hand: on the floor of 12, though what is above its shoulder would go through the hole of 30 and deeper."""
    assert 12 == heights(of([inner, DRUM]))["shaft"][0] - heights(of([inner, DRUM]))["drum"][0]


def test_a_shim_lies_above_its_bearing_though_it_would_go_round_the_shaft_below() -> None:
    """By hand: the shoulder is at 110 and the bearing 12 wide, 2 more than its step is long."""
    assert [122] == heights(of([ring("shim", 46, 36, 1, "worm"), worm([[25, 10], [30, 20], [20, 90]], upper=25)]))[
        "shim"
    ]


def test_plates_lie_in_the_order_of_their_stack() -> None:
    """The first of the stack came out first, so it is on top; by hand: 10 + 2 + 3 + 2 above the floor of 12."""
    plates = [
        part("thick", "steel_plate", {"od": 98, "id": 50, "t": 10, "lugs": 6}, qty="1", sits=FREE),
        part("steel", "steel_plate", {"od": 98, "id": 50, "t": 2, "lugs": 6}, qty="2", sits=FREE),
        part("lined", "friction_plate", {"od": 94, "id": 48, "t": 3, "teeth": 30}, qty="1", sits=FREE),
    ]
    pack = part("pack", parts=plates, stack=["steel", "lined", "steel", "thick"], sits=on("drum"))
    top = ring("top", 90, 60, 4, "pack")

    assert {"drum": [0], "thick": [12], "steel": [22, 27], "lined": [24], "top": [29]} == heights(of([top, pack, DRUM]))


def test_a_sub_assembly_moves_with_what_is_on_it() -> None:
    """By hand: the inner ring is 6 above the bottom of its hub, and stays so when the hub is put on the drum."""
    inner = ring("inner", 58, 42, 3, "hub")
    hub = part("hub", "hub", {"od": 40, "h": 30, "bore": 20, "flange_od": 110, "flange_t": 6}, sits=on("drum", UP))

    assert {"drum": [0], "hub": [60], "inner": [66]} == heights(of([{**hub, "parts": [inner]}, DRUM]))


def test_what_has_no_seat_stands_on_an_axis_of_its_own() -> None:
    """With what lies on it, and with the reason."""
    found = of([ring("top", 40, 20, 3, "base"), ring("base", 50, 20, 8), ring("washer", 95, 40, 5, "drum"), DRUM])

    assert {"base": [0], "top": [8]} == heights(found, 1)
    assert words.NO_SEAT == found.axes[1].why


def polygon(piece: Seated) -> shapely.Geometry:
    """Return the cut faces of a piece at its place, as the form draws them."""
    section = forms.section(piece.form)
    shape = shapely.union_all([Polygon(face.contour.polygon(0.001)) for face in section.faces])
    shape = affinity.scale(shape, 1, -1, origin=(0, section.height / 2)) if piece.flipped else shape
    return affinity.translate(shape, 0, piece.z)


def room(one: shapely.Geometry, other: shapely.Geometry) -> float:
    """Return the area that two share, mm2, but for what a running fit may take: 0.1 mm of radius."""
    return float(one.buffer(-0.1).intersection(other).area)


@pytest.mark.parametrize("block", range(4))
def test_random_piles_touch_their_seats_and_share_no_room(block: int) -> None:
    """160 units of plain round parts: no two share area on an axis, each touches what it lies on. Source: shapely."""
    kinds = ["ring", "bush", "hub", "drum", "piston"]
    together = 0
    for seed in range(block, 160, 4):
        rng = random.Random(seed)
        parts: list[dict[str, Any]] = []
        for number in range(rng.randint(2, 9)):
            kind, inside = rng.choice(kinds), rng.randint(5, 30)
            od = inside + rng.randint(6, 60)
            more: dict[str, dict[str, Any]] = {
                "ring": {"id": inside, "od": od, "t": rng.randint(1, 9)},
                "bush": {"id": inside, "od": od, "l": rng.randint(10, 50)},
                "hub": {"bore": inside, "od": od, "h": 30, "flange_od": od + 20, "flange_t": rng.randint(3, 20)},
                "drum": {"od": od + 40, "h": 60, "wall": 10, "floor": 9, "bore": inside},
                "piston": {"id": inside, "od": od, "h": rng.randint(10, 40)},
            }
            sits = rng.choice([UP, DOWN])
            sits = on(f"p{rng.randrange(number)}", sits) if number else sits
            parts.append(part(f"p{number}", kind, more[kind], sits=sits))
        view = unit_of(parts[::-1])
        found = seated(view)
        for axis in found.axes:
            shapes = {piece.bin.part.id: polygon(piece) for piece in axis.seated}
            together += len(shapes)
            for name, shape in shapes.items():
                assert all(room(shape, b) < 0.01 for other, b in shapes.items() if other != name), seed
            for piece in axis.seated[1:]:
                seat = piece.bin.part.sits.on if piece.bin.part.sits else None
                if seat in shapes and piece.bin.part.id not in {one.part.id for one, _ in found.aside}:
                    assert shapes[piece.bin.part.id].distance(shapes[seat]) < 0.03, seed

    assert together > 100


@pytest.mark.parametrize("name", DEMO_UNITS)
def test_demo_parts_share_no_room_and_lie_in_their_housings(name: str) -> None:
    """Parts without teeth, threads, grooves or lips share no area with each other. Source: shapely."""
    plain = {"ring", "drum", "hub", "piston", "bush", "friction_plate"}
    for axis in seated(view_of(demo(name))).axes:
        shapes = [(piece.bin.step, polygon(piece)) for piece in axis.seated if piece.form.kind in plain]
        for number, (step, shape) in enumerate(shapes):
            for other, beside in shapes[number + 1 :]:
                assert room(shape, beside) < 0.01, (step, other)


def test_the_brake_pack_of_the_reducer_is_as_thick_as_its_sheet_says() -> None:
    """Its form says 42.5: 8 + 5 x 2 + 5 x 2.5 + 2 + 10 (the profile's own thicknesses); the piston lies on it."""
    axis = seated(view_of(demo("planetary-reducer"))).axes[0]
    at = {piece.bin.part.id: piece.z for piece in axis.seated}

    assert 42.5 == pytest.approx(at["brake-piston"] - at["backing-plate"])


# --- what disagrees --------------------------------------------------------------------------------------------------


def test_a_part_that_passes_its_seat_says_which_radii_do_not_meet() -> None:
    """The radii are half of the diameters that the profile states."""
    found = of([ring("thrust-2", 26, 20, 3, "drum"), DRUM])

    assert [
        (
            "thrust-2",
            "thrust-2 (od 26, id 20, t 3) finds no face of drum between radius 10 and 13: drum (od 120, h 60, wall 10, "
            "floor 12, bore 30) has material only between radius 15 and 60; correct a size, or say in sits.on what it "
            "lies on",
        )
    ] == told(found)
    assert words.DISAGREES == why(found)["thrust-2"]


@pytest.mark.parametrize(("thick", "gap"), [(50, 2), (90, 42)])
def test_a_part_that_meets_another_first_says_by_how_much(thick: int, gap: int) -> None:
    """By hand: floor 12, spacer 50, so 62; the rim is at 60. The cover is never put below the floor for it."""
    cover = part("cover", "hub", {"od": 60, "h": 30, "bore": 20, "flange_od": 118, "flange_t": 8}, sits=on("drum", UP))
    found = of([cover, ring("spacer", 90, 40, thick, "drum"), DRUM])

    ((name, text),) = told(found)
    assert "cover" == name
    assert text.startswith("cover (od 60, h 30, bore 20, flange_od 118, flange_t 8) does not reach drum: ")
    assert f"spacer (od 90, id 40, t {thick}) is in its way between radius 20 and 45 by {gap} mm" in text


def test_parts_at_one_place_of_a_seat_are_told_once() -> None:
    """However many they are."""
    pile = [ring(f"w{number}", 80, 40, 2, "drum") for number in range(60)]
    ((name, text),) = told(of([*pile, DRUM]))

    assert "w58" == name
    assert text.startswith("w59 and w58, w57, and 57 more lie on drum at one place, between radius 20 and 40: ")


def test_parts_that_lie_on_each_other_are_told_as_a_ring() -> None:
    """And none of them stands anywhere for it."""
    found = of([ring("a", 40, 20, 3, "b"), ring("b", 40, 20, 3, "c"), ring("c", 40, 20, 3, "a")])

    ((_, text),) = told(found)
    assert "c on a on b on c: what lies on what runs in a ring, so that none of them finds its place" == text or (
        sorted(text.partition(":")[0].split(" on ")[:-1]) == ["a", "b", "c"]
    )


def test_a_bearing_that_has_no_step_names_those_there_are() -> None:
    """As the profile typed them."""
    shaft = part("shaft", "shaft", {"steps": [["34.0", 40], [50, 60], [40, 50]]}, sits=UP)
    cone = part("cone", "taper_cone", {"id": 35, "od": 62, "w": 18}, sits=on("shaft", UP))

    ((_, text),) = told(of([cone, shaft]))
    assert text == ("cone (id 35, od 62, w 18) goes on no step of shaft: its bore is 35, the steps are 34.0, 50, 40")


# --- what is not known, and is no disagreement -----------------------------------------------------------------------

SEAL = part("seal", "lip_seal", {"id": 20, "od": 30, "w": 7}, sits=on("drum", UP))
NOT_KNOWN: dict[str, tuple[dict[str, Any], str]] = {
    "no form": (part("x", sits=on("drum")), words.NO_FORM),
    "spring": (part("x", "coil_spring", {"od": 40, "wire": 4, "length": 60}, sits=on("drum")), words.SPRING),
    "O-ring": (part("x", "o_ring", {"id": 100, "section": 3}, sits=on("drum")), words.GROOVE),
    "several": (ring("x", 80, 40, 3, "drum", qty="3"), words.SEVERAL),
    "box": (part("x", "block", {"l": 40, "w": 30, "h": 20}, sits=on("drum")), words.BESIDE),
    "at an hour": (part("x", "pin", {"d": 8, "l": 20}, sits={**on("drum"), "clock": "3:00"}), words.BESIDE),
    "from the side": (
        part("x", "plug", {"d": 22, "l": 20}, sits=on("drum"), held={"by": "screwed"}),
        words.BESIDE,
    ),
    "no end": (part("x", "piston", {"od": 98, "id": 40, "h": 20}, sits={"on": "drum"}), words.END),
    "no seat": (ring("x", 80, 40, 3), words.NO_SEAT),
    "seal in its bore": ({**SEAL, "id": "x"}, words.DEPTH),
    "another bore": (
        part("x", "lip_seal", {"id": 20, "od": 26, "w": 7}, sits=on("drum", UP)),
        words.NO_MATE,
    ),
}


@pytest.mark.parametrize("name", NOT_KNOWN)
def test_what_the_profile_does_not_say_is_no_disagreement(name: str) -> None:
    """It is left out, with its reason, and nobody is accused."""
    entry, reason = NOT_KNOWN[name]
    found = of([entry, ring("washer", 95, 40, 5, "drum"), DRUM])

    assert reason == why(found)["x"]
    assert [] == told(found)


def test_a_round_part_on_a_free_outline_has_no_axis() -> None:
    """Nobody knows over which of its holes it stands; an outline on its like lies on it."""
    points = [[-50, -30], [50, -30], [50, 30], [-50, 30]]
    house = part("house", "outline", {"points": points, "h": 40}, sits=FREE)
    cover = part("cover", "outline", {"points": points, "h": 10}, sits=on("house"))
    found = of([ring("washer", 20, 10, 2, "house"), cover, house])

    assert {"house": [0], "cover": [40]} == heights(found)
    assert words.ANYWHERE == why(found)["washer"]


def test_a_part_of_an_open_option_is_left_out() -> None:
    """Else two versions of it would lie in one place."""
    options = {"kind": {"name": "Kind", "choices": {"a": "A", "b": "B"}}}
    view = unit_of([ring("x", 80, 40, 3, "drum", only={"kind": "a"}), ring("y", 95, 40, 5, "drum"), DRUM], options)

    assert words.OPEN == why(seated(view))["x"]


def test_one_part_alone_is_a_picture_all_the_same() -> None:
    """A unit of one part has one axis with it."""
    assert {"drum": [0]} == heights(of([DRUM]))
    assert () == of([part("x")]).axes
