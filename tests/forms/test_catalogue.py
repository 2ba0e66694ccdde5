"""What every form promises, whatever its sizes; shapely is the judge of areas and overlaps."""

from __future__ import annotations

import math
from collections.abc import Callable
from typing import Any

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st
from shapely import LineString, Polygon
from shapely.affinity import scale, translate
from shapely.geometry.base import BaseGeometry
from shapely.ops import unary_union

from labelkit import forms
from labelkit.forms.geometry import Contour
from labelkit.forms.shapes import Section
from labelkit.model.form import FORMS
from labelkit.model.formbase import Form
from tests.forms.strategies import forms_of

FEW = settings(max_examples=6, suppress_health_check=[HealthCheck.too_slow])
# Fine chords, mm; what two contours on the same circle may then overlap by, mm2 for one mm of their length.
FINE = 0.004
HAIR = 1e-6

Sizes = dict[str, Any]


def make(kind: str, **sizes: Any) -> Form:
    return FORMS[kind].model_validate(sizes)


def every_kind(*without: str) -> pytest.MarkDecorator:
    return pytest.mark.parametrize("kind", [kind for kind in FORMS if kind not in without])


def solid(contour: Contour, chord_error: float = FINE) -> Polygon:
    return Polygon(contour.polygon(chord_error))


def silhouette(section: Section) -> BaseGeometry:
    return unary_union([solid(face.contour) for face in section.faces])


# --- the plan --------------------------------------------------------------------------------------------------------


@every_kind()
@FEW
@given(data=st.data())
def test_the_outline_is_closed_simple_and_runs_left_round(kind: str, data: st.DataObject) -> None:
    """It never crosses itself, and the area of its arcs is that of its fine polygon."""
    outer = forms.plan(data.draw(forms_of(kind))).outer
    polygon = solid(outer)

    assert polygon.is_valid
    # what the chords cut off is less than a strip as wide as the chord error all along the outline
    assert outer.area() == pytest.approx(polygon.area, abs=polygon.length * FINE + HAIR)


@every_kind()
@FEW
@given(data=st.data())
def test_holes_lie_inside_the_outline_and_apart(kind: str, data: st.DataObject) -> None:
    """An opening is surrounded by material, and two openings are two."""
    plan = forms.plan(data.draw(forms_of(kind)))
    outer, holes = solid(plan.outer), [solid(hole) for hole in plan.holes]

    assert all(hole.is_valid and hole.area > 0 and outer.contains(hole) for hole in holes)
    assert all(not a.intersects(b) for k, a in enumerate(holes) for b in holes[:k])


@every_kind()
@FEW
@given(data=st.data())
def test_marks_stay_on_the_part(kind: str, data: st.DataObject) -> None:
    """A line on the face of a part never leaves its outline."""
    plan = forms.plan(data.draw(forms_of(kind)))
    outer = solid(plan.outer).buffer(0.01)

    for mark in plan.marks:
        line = LineString([*mark.polygon(FINE), mark.polygon(FINE)[0]] if isinstance(mark, Contour) else mark)
        assert outer.covers(line)


# --- the section -----------------------------------------------------------------------------------------------------


@every_kind()
@FEW
@given(data=st.data())
def test_cut_faces_are_whole_and_do_not_overlap(kind: str, data: st.DataObject) -> None:
    """Two pieces of material touch at most; none reaches over the axis of a round part."""
    section = forms.section(data.draw(forms_of(kind)))
    faces = [solid(face.contour) for face in section.faces]

    assert faces
    assert all(face.is_valid and face.area > 0 for face in faces)
    assert all(face.contour.area() > 0 for face in section.faces)
    if section.round:
        assert min(face.bounds[0] for face in faces) >= -HAIR
    for number, face in enumerate(faces):
        for other in faces[:number]:
            touching = face.length * FINE
            assert face.intersection(other).area <= touching


@every_kind()
@FEW
@given(data=st.data())
def test_the_section_stands_on_zero_and_is_as_high_as_the_part(kind: str, data: st.DataObject) -> None:
    """Its lowest point is z = 0; its highest is the height of the part, or the length of a round part that lies."""
    form = data.draw(forms_of(kind))
    plan, section = forms.plan(form), forms.section(form)
    bottom, top = silhouette(section).bounds[1::2]
    height = plan.outer.box().width if plan.lies and section.axial else plan.height

    assert 0 == pytest.approx(bottom, abs=FINE)
    assert height == pytest.approx(top, abs=FINE)
    assert height == pytest.approx(section.height, abs=HAIR)


# A snap ring is cut opposite its lugs.
@every_kind("snap_ring")
@FEW
@given(data=st.data())
def test_plan_and_section_have_the_same_width(kind: str, data: st.DataObject) -> None:
    """What is seen from above is as wide as what is cut."""
    form = data.draw(forms_of(kind))
    plan, section = forms.plan(form), forms.section(form)
    box = plan.outer.box()

    if not section.axial:
        assert box.width / 2 == pytest.approx(section.reach, abs=HAIR)
    elif not plan.lies:
        assert plan.outer.reach() == pytest.approx(section.reach, abs=HAIR)
    elif kind not in ("bolt",):
        # A hexagon lies on its flats; every other long part is round.
        assert box.height / 2 == pytest.approx(section.reach, abs=HAIR)


@every_kind()
@FEW
@given(data=st.data())
def test_edges_behind_the_cut_stay_within_the_part(kind: str, data: st.DataObject) -> None:
    """A visible edge is drawn inside the width and the height of the section."""
    section = forms.section(data.draw(forms_of(kind)))

    for line in section.lines:
        assert len(line) >= 2
        for r, z in line:
            assert abs(r) <= section.reach + HAIR
            assert -HAIR <= z <= section.height + HAIR


# --- the two ends ----------------------------------------------------------------------------------------------------


def same_upside_down(form: Form) -> bool:
    """Say whether the section of a round part looks the same turned over, lining and rubber included."""
    section = forms.section(form)
    for material in ("metal", "rubber", "lining"):
        cut = unary_union([solid(face.contour, 0.0002) for face in section.faces if face.material == material])
        over = translate(scale(cut, 1, -1, origin=(0, 0)), 0, section.height)
        if cut.symmetric_difference(over).area > 1e-5 * cut.area + HAIR:
            return False
    return True


# Springs are drawn cut in the middle of a coil or a wave; of a dished plate only the profile's words know the dish.
@every_kind("wave_spring", "coil_spring", "steel_plate", "key", "lever", "block", "outline")
@FEW
@given(data=st.data())
def test_a_part_whose_ends_differ_shows_it_and_no_other_does(kind: str, data: st.DataObject) -> None:
    """Turned over, the drawing of a sided part changes; that of a part without sides does not."""
    form = data.draw(forms_of(kind))
    if forms.plan(form).missing:
        return  # a screw of unknown head is drawn as a rod

    assert forms.sided(form) is not same_upside_down(form)


def widths(form: Form, height: float) -> tuple[float, float]:
    """Return smallest and largest r of the material at a share of the height, 0 to 1."""
    section = forms.section(form)
    z = section.height * height
    left, _, right, _ = silhouette(section).intersection(LineString([(-1000, z), (1000, z)])).bounds
    return left, right


OPEN_UP = {
    "drum": (make("drum", od="90", h="60", wall="6", floor="5"), lambda low, high: low[0] < 1 < 38 < high[0]),
    "hub": (
        make("hub", od="66", h="48", bore="50", flange_od="92", flange_t="15"),
        lambda low, high: high[1] == pytest.approx(33) and low[1] == pytest.approx(46),
    ),
    "shaft": (
        make("shaft", steps=[["20", "30"], ["50", "60"]]),
        lambda low, high: (low[1], high[1]) == pytest.approx((25, 10)),
    ),
    "piston": (make("piston", od="170", id="96", h="40"), lambda low, high: low[0] < 49 and high[0] > 70),
    "taper_cone": (make("taper_cone", id="80", od="110", w="29"), lambda low, high: high[1] < low[1]),
    "taper_cup": (make("taper_cup", id="106", od="125", w="22"), lambda low, high: high[0] > low[0]),
    "disc_spring": (
        make("disc_spring", od="60", id="30", t="2.5", h="5"),
        lambda low, high: high[0] > low[0] and high[1] > low[1],
    ),
    "carrier": (
        make("carrier", od="176", h="52", planets="3", planet_od="60", bore="40"),
        lambda low, high: low[0] == pytest.approx(20) and high[0] > 25,
    ),
    "bolt": (make("bolt", d="8", l="30"), lambda low, high: (low[1], high[1]) == pytest.approx((4, 7.5056), abs=1e-3)),
    "plug": (make("plug", d="22", l="20"), lambda low, high: high[1] > low[1]),
    "thrust inner": (
        make("thrust_bearing", id="50", od="70", t="3", lip="inner"),
        lambda low, high: 25 == pytest.approx(high[0]) and high[1] < 27 and low[0] > 26,
    ),
    "thrust outer": (
        make("thrust_bearing", id="50", od="70", t="3", lip="outer"),
        lambda low, high: 35 == pytest.approx(high[1]) and high[0] > 33 and low[1] < 34,
    ),
}


@pytest.mark.parametrize("name", OPEN_UP)
def test_the_end_the_way_word_names_is_up(name: str) -> None:
    """Mouth, long boss, first step, skirt, small end of a cone, large end of a cup, head, lip: all at the top."""
    form, holds = OPEN_UP[name]
    check: Callable[[tuple[float, float], tuple[float, float]], bool] = holds

    assert check(widths(form, 0.06), widths(form, 0.95 if name == "piston" else 0.88))


def test_the_garter_spring_of_a_seal_is_at_its_lip_end() -> None:
    """Rubber touches the shaft, the spring sits outside it in the upper half, the closed back is at the bottom."""
    form = make("lip_seal", id="45", od="62", w="8")
    faces = forms.section(form).faces
    rubber = next(face.contour.box() for face in faces if face.material == "rubber")
    spring = min((face.contour.box() for face in faces if face.material == "metal"), key=lambda box: box.height)

    assert 22.5 == pytest.approx(rubber.left)
    assert (spring.bottom + spring.top) / 2 > 4
    assert widths(form, 0.05)[1] == pytest.approx(31)


@pytest.mark.parametrize(
    ("kind", "sizes"),
    [
        ("shaft", {"steps": [["20", "60"], ["50", "60"]]}),
        ("bolt", {"d": "8", "l": "40"}),
        ("pin", {"d": "8", "l": "40"}),
        ("key", {"b": "10", "h": "8", "l": "40"}),
        ("lever", {"l": "120", "w": "40", "t": "8"}),
        ("coil_spring", {"od": "22", "wire": "4", "length": "46"}),
        ("plug", {"d": "22", "l": "60"}),
    ],
)
def test_long_parts_lie_along_x(kind: str, sizes: Sizes) -> None:
    """A long part lies down: its plan is its side view."""
    form = make(kind, **sizes)
    box = forms.plan(form).outer.box()

    assert forms.plan(form).lies
    assert box.width > box.height


@pytest.mark.parametrize(("kind", "lies"), [("bolt", False), ("plug", False)])
def test_a_short_screw_stands_on_its_shank(kind: str, lies: bool) -> None:
    """One that is shorter than its head is wide is seen from its head."""
    assert lies == forms.plan(make(kind, d="22", l="6")).lies


@pytest.mark.parametrize("head", ["hex", "socket", "flange"])
def test_the_head_of_a_lying_bolt_is_at_the_left(head: str) -> None:
    """The way end of what lies is at the left, so that a row of bolts looks alike."""
    outer = solid(forms.plan(make("bolt", d="8", l="60", head=head)).outer)
    left, _, right, _ = outer.bounds

    def height_at(x: float) -> float:
        return outer.intersection(LineString([(x, -50), (x, 50)])).length

    assert height_at(left + 2) > 1.4 * height_at(right - 6.5)


# --- teeth and lugs --------------------------------------------------------------------------------------------------


def crossings(contour: Contour, radius: float) -> int:
    """Return how often a contour crosses a circle about the origin."""
    distances = [math.hypot(x, y) - radius for x, y in contour.polygon(0.001)]
    return sum((a < 0) != (b < 0) for a, b in zip(distances, distances[1:] + distances[:1], strict=True))


@FEW
@given(forms_of("gear"))
def test_gear_teeth_have_the_proportions_of_the_basic_rack(form: Any) -> None:
    """Tip m (z + 2), root m (z - 2.5), teeth as thick as their spaces on the pitch circle (ISO 53, ISO 54)."""
    outer, module, teeth = forms.plan(form).outer, float(form.module.mm), form.teeth
    pitch = module * teeth / 2
    circle = [(pitch * math.cos(k / 9000 * math.tau), pitch * math.sin(k / 9000 * math.tau)) for k in range(9001)]
    shape = solid(outer)
    inside = LineString(circle).intersection(shape).length

    assert module * (teeth + 2) / 2 == pytest.approx(outer.reach())
    assert module * (teeth - 2.5) / 2 == pytest.approx(
        min(math.hypot(x, y) for x, y in outer.polygon(0.001)), abs=0.002
    )
    assert 2 * teeth == crossings(outer, pitch)
    assert math.pi * pitch == pytest.approx(inside, rel=0.02)


@FEW
@given(forms_of("ring_gear"))
def test_ring_gear_teeth_point_inwards(form: Any) -> None:
    """Tip m (z - 2), root m (z + 2.5), z teeth (ISO 53, ISO 54)."""
    (opening,) = forms.plan(form).holes
    module, teeth = float(form.module.mm), form.teeth

    assert module * (teeth + 2.5) / 2 == pytest.approx(opening.reach())
    assert module * (teeth - 2) / 2 == pytest.approx(
        min(math.hypot(x, y) for x, y in opening.polygon(0.001)), abs=0.002
    )
    assert 2 * teeth == crossings(opening, module * teeth / 2)


@FEW
@given(forms_of("steel_plate"))
def test_a_steel_plate_shows_its_lugs(form: Any) -> None:
    """As many as the profile says, out to the outside diameter, the first at 12 o'clock."""
    outer = forms.plan(form).outer

    assert float(form.od.mm) / 2 == pytest.approx(outer.reach())
    assert 2 * form.lugs == crossings(outer, outer.reach() - 0.001)
    assert outer.reach() == pytest.approx(solid(outer).intersection(LineString([(0, 0), (0, 999)])).bounds[3], abs=FINE)


@pytest.mark.parametrize(("kind", "counted"), [("steel_plate", "lugs"), ("friction_plate", "teeth")])
def test_a_plate_that_nobody_counted_is_drawn_plain_in_its_size(kind: str, counted: str) -> None:
    form = FORMS[kind].model_validate({"od": "148", "id": "90", "t": "2.8"})
    plan = forms.plan(form)

    assert (counted,) == plan.missing
    assert [74.0, 45.0] == [plan.outer.reach(), plan.holes[0].reach()]
    boxes = [face.contour.box() for face in forms.section(form).faces]
    assert (45.0, 74.0) == (min(box.left for box in boxes), max(box.right for box in boxes))


@FEW
@given(forms_of("friction_plate"))
def test_a_friction_plate_shows_its_teeth(form: Any) -> None:
    """As many as the profile says, in to the inside diameter."""
    (opening,) = forms.plan(form).holes
    points = [math.hypot(x, y) for x, y in opening.polygon(0.001)]

    assert float(form.id.mm) / 2 == pytest.approx(min(points), abs=0.002)
    assert 2 * form.teeth == crossings(opening, (min(points) + max(points)) / 2)


def test_planets_that_hang_over_the_bore_close_part_of_it() -> None:
    """Planets of 72.5 inside 176 leave less free than the plate's bore of 60, and none of them is cut short."""
    form = make("carrier", od="176", h="52", planets="3", planet_od="72.5", bore="60")
    (opening,) = forms.plan(form).holes
    rings = [mark.box() for mark in forms.plan(form).marks if isinstance(mark, Contour)]

    assert opening.reach() < 30
    assert [72.5] * 3 == pytest.approx(sorted(ring.width for ring in rings)[3:])
    assert opening.reach() == pytest.approx(widths(form, 0.6)[0])


def test_a_thrust_cage_shows_its_ears() -> None:
    """Three ears reach out to the outside diameter."""
    plan = forms.plan(make("thrust_bearing", id="50", od="70", t="3", lip="inner", ears="3"))

    assert 6 == crossings(plan.outer, 34.9)


def test_a_snap_ring_is_open_at_twelve() -> None:
    """The gap is 12 o'clock, and as wide as the profile says where it says so."""
    plan = forms.plan(make("snap_ring", fits="bore", d="62", t="2", gap="9"))
    ring = solid(plan.outer)
    beside = ring.intersection(LineString([(-99, 31), (99, 31)]))

    assert not ring.intersects(LineString([(0, 1), (0, 99)]))
    assert ring.intersects(LineString([(0, -1), (0, -99)]))
    assert len(beside.geoms) == 2


def test_a_friction_plate_has_lining_on_both_faces() -> None:
    """Lining, core and lining, one above the other."""
    faces = forms.section(make("friction_plate", od="132", id="92", t="2.5", teeth="36")).faces

    assert ["lining", "metal", "lining"] == [
        face.material for face in sorted(faces, key=lambda face: face.contour.box().bottom)
    ]
