"""What a part leaves on a tray: piles, cups and boxes, and outlines that are true."""

from __future__ import annotations

import math
from decimal import Decimal
from typing import Any

import pytest
import shapely
import shapely.affinity
from hypothesis import given, settings
from hypothesis import strategies as st

from labelkit.calc.footprint import CHORD_ERROR, CUP_HEIGHT, CUPS, Footprint, encloses, footprint, outline
from labelkit.forms.geometry import circle
from labelkit.model.form import FORMS
from labelkit.model.part import Part
from tests.forms.strategies import build, forms_of


def part(kind: str, qty: int | str = 1, lay: str | None = None, **sizes: Any) -> Part:
    return part_of(build(kind, **sizes), qty, lay)


def part_of(form: Any, qty: int | str = 1, lay: str | None = None) -> Part:
    return Part.model_validate({"id": "a", "name": "Part", "form": form, "qty": str(qty), "lay": lay})


def laid(kind: str, qty: int | str = 1, lay: str | None = None, **sizes: Any) -> Footprint:
    return footprint(part(kind, qty, lay, **sizes))


PLANET = {"teeth": 27, "module": 2.5, "width": 20, "bore": 31}


@pytest.mark.parametrize(
    ("kind", "sizes", "qty", "lay", "count"),
    [
        ("gear", PLANET, 1, "each", 1),
        ("gear", PLANET, 3, "each", 3),
        ("ring", {"od": 27, "id": 22, "t": 1.5}, 3, "stack", 1),
        ("friction_plate", {"od": 120, "id": 90, "t": 2.5, "teeth": 40}, 5, "stack", 1),
        ("bolt", {"d": 12, "l": 35}, 1, "each", 1),
        ("bolt", {"d": 12, "l": 35}, 8, "cup", 1),
        ("ball", {"d": 8}, "set", "cup", 1),
        ("gear", PLANET, "set", "cup", 1),
    ],
)
def test_pieces_lie_as_pieces_of_their_form_do(
    kind: str, sizes: dict[str, Any], qty: int | str, lay: str, count: int
) -> None:
    """Flat parts on a pile, hardware in a cup, everything else one by one. Source: common practice, no source."""
    thing = laid(kind, qty, **sizes)

    assert (thing.lay, thing.count) == (lay, count)


@pytest.mark.parametrize(("lay", "count"), [("each", 8), ("stack", 1), ("cup", 1)])
def test_the_profile_says_how_pieces_lie(lay: str, count: int) -> None:
    """Whatever the form would have suggested."""
    thing = laid("bolt", 8, lay, d=12, l=35)

    assert (thing.lay, thing.count) == (lay, count)


def test_a_part_without_a_form_gets_a_cup() -> None:
    """It has a place although nobody knows how large it is; nothing is drawn that nobody knows."""
    thing = footprint(Part.model_validate({"id": "a", "name": "Part", "qty": "4"}))

    assert (thing.lay, thing.count, thing.round, thing.plan) == ("cup", 1, 30.0, None)


@given(st.integers(2, 400), st.decimals(2, 60, places=2))
@settings(max_examples=60, deadline=None)
def test_a_cup_holds_its_balls(count: int, diameter: Decimal) -> None:
    """The balls' own volume, at 64 % of random close packing, is no more than that of cup or box.

    Source: random close packing of equal spheres fills 0.64 of the room, handbook value, from memory.
    """
    thing = laid("ball", count, d=diameter)
    volume = count * math.pi / 6 * float(diameter) ** 3 / 0.64
    high = CUP_HEIGHT if thing.round else 3 * float(diameter)

    assert thing.outer.area() * high >= volume


@pytest.mark.parametrize(("count", "cup"), [(2, 60), (8, 60), (20, 80)])
def test_a_cup_is_as_large_as_it_must_be(count: int, cup: float) -> None:
    """Screws of 43 mm fit no cup of 40 mm in length; eight fit one of 60 mm, twenty do not.

    Source: common practice, no source: 43 x 13 mm as they lie, half as much again between them, in a cup filled 45 mm
    high; 8 of them take 87 cm3 of 127, 20 take 218 of 226.
    """
    thing = laid("bolt", count, d=8, l=35, head="socket")

    assert 2 * thing.round == cup
    assert cup in CUPS


@pytest.mark.parametrize("diameter", [3, 5, 8, 12, 16, 20, 25])
def test_200_balls_have_one_place(diameter: float) -> None:
    """One place on a tray of 600 x 400 mm, not 200 and not none."""
    box = laid("ball", 200, d=diameter).outer.box()

    assert laid("ball", 200, d=diameter).count == 1
    assert max(box.width, box.height) <= 392


@given(st.integers(2, 60), st.integers(110, 400), st.integers(4, 40))
@settings(max_examples=60, deadline=None)
def test_a_box_has_a_square_for_each_piece_of_a_layer(count: int, length: int, diameter: int) -> None:
    """Pins too long for a cup: in three layers all of them have room, side by side and end to end."""
    box = laid("pin", count, d=diameter, l=length).outer.box()
    in_a_layer = max(
        math.floor(box.width / one + 1e-9) * math.floor(box.height / other + 1e-9)
        for one, other in ((length, diameter), (diameter, length))
    )

    assert 3 * in_a_layer >= count


@pytest.mark.parametrize(
    ("kind", "sizes", "radius"),
    [
        ("ring", {"od": 72, "id": 50, "t": 2.6}, 36),
        ("gear", PLANET, 2.5 * 29 / 2),  # tip circle: module x (teeth + 2)
        ("snap_ring", {"fits": "bore", "d": 140, "t": 4}, 0),  # open: its room is no disc's
        ("shaft", {"steps": [(30, 40), (35, 60)]}, 0),
        ("block", {"l": 34, "w": 22, "h": 22}, 0),
        ("ball", {"d": 30}, 15),
    ],
)
def test_what_fills_its_circle_is_a_disc(kind: str, sizes: dict[str, Any], radius: float) -> None:
    """Discs and gears lie in any way; what is long, square or open may be turned."""
    thing = laid(kind, **sizes)

    assert thing.round == pytest.approx(radius)
    assert thing.turns == (radius == 0)


@pytest.mark.parametrize(
    ("kind", "sizes", "bore"),
    [
        ("ring", {"od": 72, "id": 50, "t": 2.6}, 25),
        ("gear", PLANET, 15.5),
        ("drum", {"od": 120, "h": 60, "wall": 5}, 0),  # a floor without a bore
        ("ball", {"d": 30}, 0),
    ],
)
def test_the_bore_is_what_one_can_see_through(kind: str, sizes: dict[str, Any], bore: float) -> None:
    """The free radius is never more than the true one, and the true one but for the chords."""
    thing = laid(kind, **sizes)

    assert bore - CHORD_ERROR <= thing.bore <= bore


KINDS = sorted(FORMS)


@pytest.mark.parametrize("kind", KINDS)
@given(data=st.data())
@settings(max_examples=8, deadline=None)
def test_every_form_leaves_a_closed_outline_with_its_holes_inside(kind: str, data: st.DataObject) -> None:
    """The outline of whatever sizes is one valid polygon, and every opening lies in it. Source: shapely."""
    thing = footprint(part_of(data.draw(forms_of(kind))))
    solid = shapely.Polygon(outline(thing.outer, 0, 0, 0))

    assert solid.is_valid
    assert solid.area > 0
    assert all(solid.covers(shapely.Polygon(outline(hole, 0, 0, 0))) for hole in thing.holes)


@pytest.mark.parametrize("kind", KINDS)
@given(data=st.data())
@settings(max_examples=8, deadline=None)
def test_a_disc_holds_its_outline(kind: str, data: st.DataObject) -> None:
    """No point of what counts as a disc lies outside its circle, none of its bore's circle on the part."""
    thing = footprint(part_of(data.draw(forms_of(kind))))
    solid = shapely.Polygon(outline(thing.outer, 0, 0, 0))
    for hole in thing.holes:
        solid = solid.difference(shapely.Polygon(outline(hole, 0, 0, 0)))

    if thing.round:
        assert solid.hausdorff_distance(shapely.Point(0, 0)) <= thing.round + 1e-9
    assert not thing.bore or solid.distance(shapely.Point(0, 0)) >= thing.bore - 1e-9


@given(st.floats(-360, 360), st.floats(-500, 500), st.floats(-500, 500))
def test_an_outline_turns_as_it_does_on_the_tray(turned: float, x: float, y: float) -> None:
    """Turned counter-clockwise as seen from above, moved, and y pointing down. Source: shapely.affinity."""
    lever = laid("outline", points=[(0, 0), (50, 0), (50, 8), (12, 30)], h=5)
    plan = shapely.Polygon([(px, py) for px, py, _ in lever.outer.vertices])
    seen = shapely.affinity.rotate(plan, turned, origin=(0, 0))
    drawn = shapely.affinity.translate(shapely.affinity.scale(seen, 1, -1, origin=(0, 0)), x, y)

    assert shapely.Polygon(outline(lever.outer, turned, x, y)).symmetric_difference(drawn).area < 1e-6


@given(st.floats(0.2, 400))
def test_an_arc_is_true_to_two_hundredths(radius: float) -> None:
    """Corners lie on the circle, and no chord is further inside than a cut can be told from."""
    ring = shapely.LinearRing(outline(circle(radius), 0, 0, 0))

    assert radius - CHORD_ERROR - 1e-9 <= ring.distance(shapely.Point(0, 0))
    assert ring.hausdorff_distance(shapely.Point(0, 0)) <= radius + 1e-9


@given(st.floats(-60, 60), st.floats(-60, 60))
def test_what_is_inside_is_inside(x: float, y: float) -> None:
    """A point of a star, off its line, is inside or not. Source: shapely."""
    star = [(r * math.cos(math.tau * k / 14), r * math.sin(math.tau * k / 14)) for k, r in enumerate([50.0, 21.0] * 7)]
    polygon, point = shapely.Polygon(star), shapely.Point(x, y)

    if polygon.exterior.distance(point) > 1e-9:
        assert encloses(star, (x, y)) == polygon.contains(point)
