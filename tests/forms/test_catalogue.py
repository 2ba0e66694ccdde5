"""Every form keeps the promises of the catalogue, for any sizes its class accepts; shapely is the oracle."""

from __future__ import annotations

from collections.abc import Iterator

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st
from shapely import LineString, Polygon, unary_union

from labelkit import forms
from labelkit.forms.geometry import Contour
from labelkit.model.form import FORMS, Form
from tests.forms.strategies import SIZES, build, forms_of

KINDS = sorted(FORMS)
FEW = settings(
    max_examples=12, deadline=None, derandomize=True, suppress_health_check=[HealthCheck.too_slow], database=None
)
each_kind = pytest.mark.parametrize("kind", KINDS)
some = given(data=st.data())


def shape(contour: Contour) -> Polygon:
    """Return a contour as shapely sees it, arcs cut finely."""
    return Polygon(contour.polygon(finely(contour)))


def finely(contour: Contour) -> float:
    """Return a chord error of a hundred-thousandth of the contour's size."""
    return 1e-5 * max(contour.box().width, contour.box().height)


def drawn(kind: str, data: st.DataObject) -> tuple[Form, forms.Plan, forms.Section]:
    form = data.draw(forms_of(kind))
    return form, forms.plan(form), forms.section(form)


def contours(plan: forms.Plan, section: forms.Section) -> Iterator[Contour]:
    yield plan.outer
    yield from plan.holes
    yield from (face.contour for face in section.faces)


def reach(contour: Contour) -> float:
    """Return the largest distance of the fine polygon from the origin."""
    return max((x * x + y * y) ** 0.5 for x, y in contour.polygon(1e-7))


def test_every_form_of_the_profile_is_drawn() -> None:
    """A form that the profile knows has a row in the catalogue, and these tests draw it."""
    assert set(SIZES) == set(FORMS)
    assert {kind.kind for kind in forms.catalogue._CATALOGUE} == set(FORMS)


@each_kind
@some
@FEW
def test_contours_are_simple_and_run_counter_clockwise(kind: str, data: st.DataObject) -> None:
    """No outline crosses or touches itself, and each encloses a positive area: the one that shapely finds."""
    _, plan, section = drawn(kind, data)

    for contour in contours(plan, section):
        polygon = shape(contour)
        assert polygon.is_valid
        assert contour.area() == pytest.approx(polygon.area, rel=1e-3)
        assert contour.area() > 0


@each_kind
@some
@FEW
def test_holes_lie_inside_and_apart(kind: str, data: st.DataObject) -> None:
    """A hole stays inside the outline and off the other holes."""
    _, plan, _ = drawn(kind, data)
    outer, holes = shape(plan.outer), [shape(hole) for hole in plan.holes]

    assert all(outer.contains(hole) for hole in holes)
    assert unary_union(holes).area == pytest.approx(sum(hole.area for hole in holes))


@each_kind
@some
@FEW
def test_marks_stay_on_the_part(kind: str, data: st.DataObject) -> None:
    """No line is drawn outside the outline."""
    _, plan, _ = drawn(kind, data)
    room = shape(plan.outer).buffer(2e-3)

    for mark in plan.marks:
        line = LineString(mark.polygon(finely(mark)) if isinstance(mark, Contour) else mark)
        assert room.covers(line)


@each_kind
@some
@FEW
def test_section_faces_do_not_overlap(kind: str, data: st.DataObject) -> None:
    """Two pieces of material never share room."""
    _, _, section = drawn(kind, data)
    polygons = [shape(face.contour) for face in section.faces]

    assert unary_union(polygons).area == pytest.approx(sum(polygon.area for polygon in polygons), rel=1e-4)


@each_kind
@some
@FEW
def test_sections_stand_on_zero_beside_the_axis(kind: str, data: st.DataObject) -> None:
    """A section begins at z = 0; the half section of a round part never crosses the axis, nor do its lines leave it."""
    _, _, section = drawn(kind, data)
    boxes = [face.contour.box() for face in section.faces]
    points = [point for line in section.lines for point in line]

    assert min(box.bottom for box in boxes) == pytest.approx(0, abs=1e-9)
    assert max(box.top for box in boxes) == section.height
    assert not section.round or min(box.left for box in boxes) >= -1e-9
    assert all(abs(r) <= section.reach + 1e-9 and -1e-9 <= z <= section.height + 1e-9 for r, z in points)


@each_kind
@some
@FEW
def test_plan_and_section_are_of_one_part(kind: str, data: st.DataObject) -> None:
    """What reaches farthest from the axis, how high it stands and its bore are the same in both views."""
    _, plan, section = drawn(kind, data)
    box = plan.outer.box()

    if plan.lies:
        assert box.width == pytest.approx(section.height if section.axial else 2 * section.reach, abs=1e-6)
        assert not section.axial or box.height == pytest.approx(2 * section.reach, abs=1e-6)
        return
    assert plan.height == pytest.approx(section.height, abs=1e-6)
    # The lugs of a retaining ring stand at 12 o'clock; it is cut opposite them.
    widest = -box.bottom if kind == "snap_ring" else reach(plan.outer)
    if section.axial:
        assert section.reach == pytest.approx(widest, abs=1e-6)
    if section.round and plan.holes and kind != "snap_ring":
        nearest = min((x * x + y * y) ** 0.5 for x, y in plan.holes[0].polygon(1e-7))
        assert section.bore == pytest.approx(nearest, abs=1e-6)


@each_kind
@some
@FEW
def test_the_envelope_is_the_box_of_the_plan(kind: str, data: st.DataObject) -> None:
    """A tray planned with the envelope holds the part; standing, a circle about its axis holds it."""
    form, plan, section = drawn(kind, data)
    left, bottom, right, top = shape(plan.outer).bounds
    envelope = forms.envelope(form)

    assert (envelope.length, envelope.width) == pytest.approx((right - left, top - bottom), abs=1e-3)
    assert envelope.height == plan.height > 0
    assert (envelope.standing is not None) == section.axial
    if envelope.standing:
        widest = section.reach if plan.lies else reach(plan.outer)
        assert envelope.standing == pytest.approx((2 * widest, section.height), abs=1e-6)


@each_kind
@some
@FEW
def test_chords_keep_within_their_error(kind: str, data: st.DataObject) -> None:
    """The polygon of an outline leaves it by 0.02 mm at most, which shapely measures on a far finer one."""
    _, plan, _ = drawn(kind, data)
    coarse, fine = Polygon(plan.outer.polygon(0.02)), shape(plan.outer)

    assert coarse.hausdorff_distance(fine) <= 0.0201


@each_kind
@some
@FEW
def test_parts_are_where_the_plan_frame_says(kind: str, data: st.DataObject) -> None:
    """The origin is the axis of a part that stands on it, and the middle of the box of one that lies or is not round."""
    _, plan, section = drawn(kind, data)
    box = plan.outer.box()

    if plan.lies or not section.axial:
        assert (box.left + box.right, box.bottom + box.top) == pytest.approx((0, 0), abs=1e-6)
    else:
        assert box.left == pytest.approx(-box.right, abs=1e-6) or kind in ("steel_plate", "thrust_bearing", "gear")


ONE_WAY = {
    "snap_ring": {"fits": "shaft", "d": 50, "t": 2},
    "drum": {"od": 150, "h": 70, "wall": 8, "bore": 40},
    "gear": {"teeth": 27, "module": 2.5, "width": 30, "bore": 31},
    "ring_gear": {"teeth": 75, "module": 2.5, "width": 60, "od": 220},
    "carrier": {"od": 184, "h": 74, "planets": 4, "planet_od": 60, "bore": 50},
    "taper_cone": {"id": 35, "od": 64, "w": 18.25},
    "disc_spring": {"od": 100, "id": 51, "t": 3, "h": 6},
    "piston": {"od": 170, "id": 96, "h": 40},
    "lip_seal": {"id": 45, "od": 62, "w": 8},
    "bolt": {"d": 12, "l": 40},
    "plug": {"d": 22, "l": 20},
    "taper_cup": {"id": 58, "od": 72, "w": 15},
    "hub": {"od": 66, "h": 48, "bore": 50, "flange_od": 92, "flange_t": 10},
    "thrust_bearing": {"id": 50, "od": 70, "t": 3, "lip": "inner"},
    "shaft": {"steps": [[45, 76], [50, 86]]},
}
TWO_WAYS = {
    "ring": {"od": 72, "id": 50, "t": 2.6},
    "o_ring": {"id": 40, "section": 5.3},
    "ball_bearing": {"id": 50, "od": 80, "w": 16},
    "roller_bearing": {"id": 50, "od": 80, "w": 16},
    "needle_cage": {"id": 45, "od": 50, "w": 27},
    "bush": {"id": 30, "od": 36, "l": 30},
    "friction_plate": {"od": 132, "id": 92, "t": 2.5, "teeth": 36},
    "steel_plate": {"od": 140, "id": 98, "t": 2, "lugs": 6},
    "hub": {"od": 66, "h": 48, "bore": 50},
    "thrust_bearing": {"id": 50, "od": 70, "t": 3},
    "shaft": {"steps": [[40, 20], [50, 30], [40, 20]], "splines": [1, 3]},
    "nut": {"d": 16},
    "pin": {"d": 8, "l": 40},
    "key": {"b": 10, "h": 8, "l": 40},
    "ball": {"d": 12},
    "block": {"l": 46, "w": 22, "h": 22},
}


def halves(form: Form) -> tuple[Polygon, Polygon]:
    """Return a form's cut material, and the same turned upside down."""
    section = forms.section(form)
    faces = [face.contour for face in section.faces]
    flipped = [contour.mirrored_y().moved(0, section.height) for contour in faces]
    return unary_union([shape(c) for c in faces]), unary_union([shape(c) for c in flipped])


@pytest.mark.parametrize("kind", ONE_WAY)
def test_a_part_with_two_different_ends_says_so_and_shows_it(kind: str) -> None:
    """Turned over, its section is another drawing."""
    form = build(kind, **ONE_WAY[kind])
    upright, turned = halves(form)

    assert forms.direction(form)
    assert upright.symmetric_difference(turned).area > 0.01 * upright.area


@pytest.mark.parametrize("kind", TWO_WAYS)
def test_a_part_with_equal_ends_says_so_and_shows_it(kind: str) -> None:
    """Turned over, its section is the same drawing."""
    form = build(kind, **TWO_WAYS[kind])
    upright, turned = halves(form)

    assert not forms.direction(form)
    assert upright.symmetric_difference(turned).area < 1e-3 * upright.area


@each_kind
def test_every_kind_with_a_named_end_is_drawn_with_it(kind: str) -> None:
    """Each form with a word for an end is among the cases above, except the steel plate, whose sizes are flat."""
    assert (FORMS[kind].way is None) == (kind not in ONE_WAY) or kind == "steel_plate"


def test_inches_are_drawn_in_millimetres() -> None:
    """Drawings are in mm whatever unit the profile is written in; 1 in is 25.4 mm (NIST SP 811)."""
    form = FORMS["ring"].model_validate({"ring": {"od": "3", "id": "2 in", "t": "1/8"}}, context={"lengths": "in"})

    assert forms.envelope(form) == forms.Envelope(76.2, 76.2, 3.175, (76.2, 3.175))
