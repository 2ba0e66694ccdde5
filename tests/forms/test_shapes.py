"""What plans and sections can be asked for, whatever sizes a form's class accepts; shapely is the oracle."""

from __future__ import annotations

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st
from shapely import Polygon, unary_union
from shapely.affinity import scale

from labelkit import forms
from labelkit.forms.geometry import Contour, rectangle
from labelkit.forms.shapes import Face, Section, rim
from labelkit.model.form import FORMS
from tests.forms.strategies import SIZES, forms_of

FEW = settings(max_examples=6, derandomize=True, suppress_health_check=[HealthCheck.too_slow])
each_kind = pytest.mark.parametrize("kind", sorted(FORMS))
some = given(data=st.data())


def solid(contour: Contour) -> Polygon:
    """Return a contour as shapely sees it, its chords off by a hundred-thousandth of its size at most."""
    box = contour.box()
    return Polygon(contour.polygon(1e-5 * max(box.width, box.height)))


def metal(section: Section) -> Polygon:
    return unary_union([solid(face.contour) for face in section.faces])


def test_every_form_has_random_sizes() -> None:
    """A form that is added to the model is added to these tests."""
    assert set(SIZES) == set(FORMS)


@each_kind
@some
@FEW
def test_no_size_breaks_a_drawing(kind: str, data: st.DataObject) -> None:
    """Thin, flat or tiny: contours stay simple, run counter-clockwise and do not overlap, holes stay inside."""
    form = data.draw(forms_of(kind))
    plan, section = forms.plan(form), forms.section(form)
    outer, holes = solid(plan.outer), [solid(hole) for hole in plan.holes]
    faces = [solid(face.contour) for face in section.faces]

    assert all(polygon.is_valid for polygon in (outer, *holes, *faces))
    assert all(contour.area() > 0 for contour in (plan.outer, *plan.holes, *(face.contour for face in section.faces)))
    assert all(outer.contains(hole) for hole in holes)
    for pieces in (holes, faces):
        assert unary_union(pieces).area == pytest.approx(sum(piece.area for piece in pieces), rel=1e-4)


@each_kind
@some
@FEW
def test_chords_of_an_outline_keep_within_their_error(kind: str, data: st.DataObject) -> None:
    """The polygon that is printed leaves the true outline by 0.02 mm at most."""
    outer = forms.plan(data.draw(forms_of(kind))).outer

    assert Polygon(outer.polygon(0.02)).hausdorff_distance(Polygon(outer.polygon(1e-4))) <= 0.0202


@each_kind
@some
@FEW
def test_parts_are_where_the_plan_frame_says(kind: str, data: st.DataObject) -> None:
    """The origin is the axis of a standing round part, and the middle of the box of what lies or is not round."""
    form = data.draw(forms_of(kind))
    plan, box = forms.plan(form), forms.plan(form).outer.box()

    if plan.lies or not forms.section(form).axial:
        assert (box.left + box.right, box.bottom + box.top) == pytest.approx((0, 0), abs=1e-6)
    elif kind != "snap_ring" and plan.holes:
        hole = plan.holes[0].box()
        assert (hole.left + hole.right) == pytest.approx(0, abs=1e-6)


@each_kind
@some
@FEW
def test_a_whole_section_is_its_half_and_the_mirror_image(kind: str, data: st.DataObject) -> None:
    """Both halves together have twice the area and look the same from left and right; nothing else changes."""
    section = forms.section(data.draw(forms_of(kind)))
    whole = section.whole()
    drawn = metal(whole)

    if not section.round:
        assert whole is section
        return
    assert drawn.area == pytest.approx(2 * metal(section).area, rel=1e-4)
    assert drawn.symmetric_difference(scale(drawn, -1, 1, origin=(0, 0))).area <= 1e-4 * drawn.area
    assert all(face.contour.area() > 0 for face in whole.faces)
    assert (whole.height, whole.reach) == pytest.approx((section.height, section.reach))


def test_a_whole_section_has_no_seam_on_the_axis() -> None:
    """A solid cylinder is one face; a tube is two, and the edges of its bore run from wall to wall."""
    rod = Section((Face(rectangle(0, 0, 4, 9)),))
    tube = Section((Face(rectangle(3, 0, 4, 9)),), rim(3, 9))

    assert [8] == [face.contour.box().width for face in rod.whole().faces]
    assert [(3, 4), (-4, -3)] == [(f.contour.box().left, f.contour.box().right) for f in tube.whole().faces]
    assert (((-3, 9), (0.0, 9), (3, 9)),) == tube.whole().lines


def test_inches_are_drawn_in_millimetres() -> None:
    """Drawings are in mm whatever unit the profile is written in; 1 in is 25.4 mm (NIST SP 811)."""
    form = FORMS["ring"].model_validate({"ring": {"od": "3", "id": "2 in", "t": "1/8"}}, context={"lengths": "in"})

    plan, section = forms.plan(form), forms.section(form)
    box = plan.outer.box()

    assert (76.2, 76.2, 3.175) == (box.width, box.height, plan.height)
    assert (38.1, 25.4, 3.175) == (section.reach, section.bore, section.height)
