"""What a part sits on: where it touches, on which faces, and when no seat is drawn. shapely is the oracle."""

from __future__ import annotations

from collections.abc import Iterator

import pytest
from shapely import Polygon, affinity, unary_union
from shapely.geometry.base import BaseGeometry

from labelkit.forms.shapes import mm
from labelkit.model.part import Part
from labelkit.model.ringform import ORing
from labelkit.sheets.jobview import JobView
from labelkit.sheets.seat import Seat, below, neighbour, rings, seat_of
from tests.shop import DEMO_UNITS, demo, profile_of, view_of


def seat(upper: str, lower: str, *, sits: str = "", lower_sits: str = "", qty: int = 1) -> Seat | None:
    """Return the seat of one form on another, both written as in a profile."""
    text = f"""
format: 1
unit: {{mark: P7, name: Pump, up: drive side}}
parts:
  - {{id: upper, name: Upper, qty: {qty}, form: {{{upper}}}, sits: {{on: lower, clock: free{sits}}}}}
  - {{id: lower, name: Lower, form: {{{lower}}}, sits: {{clock: free{lower_sits}}}}}
"""
    upper_part, lower_part = profile_of(text).profile.parts
    return seat_of(upper_part, lower_part)


def demo_seats() -> Iterator[tuple[str, Seat]]:
    for unit in DEMO_UNITS:
        job = view_of(demo(unit))
        for each in job.teardown.bins:
            found = seat_of(each.part, neighbour(job, each))
            if found:
                yield f"{unit[0]}{each.step}", found


SEATS = dict(demo_seats())
TOUCHING = [name for name, each in SEATS.items() if each.faces and "gear" not in each.form.kind + each.other.kind]


def solid(faces: object) -> BaseGeometry:
    """Return cut faces as shapely sees them."""
    return unary_union([Polygon(ring).buffer(0) for ring, _ in faces])  # type: ignore[attr-defined]


@pytest.mark.parametrize("name", TOUCHING)
def test_a_part_let_down_touches_and_does_not_enter(name: str) -> None:
    """At rest both cut faces touch; a hundredth of a millimetre lower they overlap."""
    each = SEATS[name]
    own = solid(rings(each.form, down=each.down)[: 2 if each.form.kind == "carrier" else None])
    under = solid(below(each))
    at_rest, lower = (affinity.translate(own, 0, each.rest - sunk) for sunk in (0.0, 0.02))

    assert at_rest.distance(under) < 0.02
    assert at_rest.intersection(under).area < 0.01
    assert lower.intersection(under).area > at_rest.intersection(under).area


def test_a_cord_is_drawn_round_however_thin_it_is_beside_its_ring() -> None:
    """Drawn as large as the ring, its chords leave the circle by a two-hundredth of its radius, unseen (a choice)."""
    job = view_of(demo("planetary-reducer"))
    form = next(each.part.form for each in job.teardown.bins if isinstance(each.part.form, ORing))
    radius = mm(form.section) / 2
    for ring, _material in rings(form, down=False):
        cord = Polygon(ring)
        assert cord.hausdorff_distance(cord.centroid.buffer(radius, 99)) < radius / 200


def test_the_demo_units_show_many_seats() -> None:
    """Of the parts that lie on something, most do so visibly; the rest are drawn alone."""
    for unit in DEMO_UNITS:
        on = [each for each in view_of(demo(unit)).teardown.bins if each.part.sits and each.part.sits.on]
        assert sum(name.startswith(unit[0]) for name in SEATS) >= 0.7 * len(on)


def test_a_ring_on_a_ring_meets_where_both_have_material() -> None:
    """Between the larger bore and the smaller edge, on the face of the lower one."""
    found = seat("ring: {od: 70, id: 50, t: 2}", "ring: {od: 66, id: 40, t: 3}")

    assert found is not None
    assert (3.0, ((25.0, 33.0, 3.0),)) == (found.rest, found.faces)


def test_a_part_goes_down_to_the_floor_of_a_cup() -> None:
    """A plate smaller than the mouth lies on the floor, a larger one on the rim; a cup turned over is a table."""
    drum = "drum: {od: 100, h: 40, wall: 10, floor: 6}"
    inside = seat("ring: {od: 70, id: 50, t: 2}", drum, lower_sits=", up: mouth, opens: up")
    across = seat("ring: {od: 90, id: 70, t: 2}", drum, lower_sits=", up: mouth, opens: up")
    on_top = seat("ring: {od: 70, id: 50, t: 2}", drum, lower_sits=", up: floor, opens: down")

    assert [6.0, 40.0, 40.0] == [found.rest for found in (inside, across, on_top) if found]
    assert across is not None
    assert ((40.0, 45.0, 40.0),) == across.faces


def test_a_bearing_in_a_bore_of_its_size_is_held_round() -> None:
    """No face below it: the wall of the bore and its own are the seat, also with a tight fit; a loose one is none."""
    hub = "hub: {od: 120, h: 40, bore: 80}"
    tight, loose = (seat(f"ball_bearing: {{id: 50, od: {od}, w: 16}}", hub) for od in ("80.05", "74"))

    assert loose is None
    assert tight is not None
    assert ((), ((40.0, 24.0, 40.0),)) == (tight.faces, tight.walls)


def test_a_cone_goes_down_its_shaft_to_the_shoulder() -> None:
    """The shaft's own end passes through the bore."""
    shaft = "shaft: {steps: [[40, 60], [60, 30]]}"
    found = seat(
        "taper_cone: {id: 40, od: 68, w: 20}", shaft, sits=", up: x, opens: up", lower_sits=", up: x, opens: up"
    )

    assert found is not None
    # The race stands on the shoulder with its bore at the shaft.
    assert (30.0, 20.0, 30.0) == (found.rest, found.faces[0][0], found.faces[0][2])


def test_a_screw_in_a_flange_sits_under_its_head() -> None:
    """Several screws stand off the axis: each on a piece of the flange, its head on the face, its shank in the hole."""
    found = seat(
        "bolt: {d: 12, l: 35, head: socket}", "hub: {od: 140, h: 40, bore: 60}", sits=", up: head, opens: up", qty=8
    )

    assert found is not None
    # ISO 4762: the head of an M12 socket screw is 18 mm across (from memory).
    assert found.beside
    assert (6.0, 9.0) == (found.hole, found.faces[0][1])


def test_a_ring_under_a_head_is_drawn_on_the_head() -> None:
    """A screw stands on its head then, so that the ring lies on the face that squeezes it."""
    found = seat("ring: {od: 27, id: 22, t: 1.5}", "plug: {d: 22, l: 20}")

    assert found is not None
    assert found.other_down
    assert 11.0 == found.faces[0][0]


def test_a_ring_of_a_piston_lies_in_its_groove() -> None:
    """Only one of the piston's own diameter; where another one sits no form tells."""
    piston = "piston: {od: 100, id: 60, h: 30}"
    own, other = (
        seat(f"o_ring: {{id: {inner}, section: 4}}", piston, lower_sits=", up: x, opens: up") for inner in (93, 80)
    )

    assert other is None
    assert own is not None
    ((_, low, high),) = own.walls
    assert low < own.rest + 2 < high


@pytest.mark.parametrize(
    ("upper", "lower"),
    [
        ("shaft: {steps: [[40, 50], [80, 20], [40, 50]]}", "drum: {od: 120, h: 60, wall: 10, bore: 50}"),
        ("shaft: {steps: [[40, 50]]}", "outline: {points: [[0, 0], [90, 0], [90, 90]], h: 20}"),
        ("gear: {teeth: 20, module: 2, width: 10, bore: 15}", "carrier: {od: 120, h: 40, planets: 3, planet_od: 45}"),
        ("ball: {d: 8}", "coil_spring: {od: 8, wire: 1, length: 20}"),
    ],
)
def test_no_seat_is_better_than_a_wrong_one(upper: str, lower: str) -> None:
    """A shaft hangs in bearings, teeth go between teeth, a coil is no face."""
    assert seat(upper, lower) is None


def test_a_part_without_a_form_has_no_seat() -> None:
    """Neither has one on which it would sit."""
    bare = Part(id="a", name="A")

    assert seat_of(bare, bare) is None
    assert seat_of(bare, None) is None


def test_the_neighbour_of_a_copied_part_is_that_of_its_own_copy() -> None:
    """Also one that stays inside, and none where nothing is recorded."""
    job: JobView = view_of(demo("marine-gear"))
    found = {each.step: neighbour(job, each) for each in job.teardown.bins}

    for each in job.teardown.bins:
        on = each.part.sits.on if each.part.sits else None
        other = found[each.step]
        assert (other.id if other else None) == on
