"""One part on its axis: true to its form, cut and seen as drawings of the trade are, the same from either end."""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import replace
from itertools import pairwise

import pytest
import shapely
from hypothesis import given, settings
from hypothesis import strategies as st
from shapely import LineString, Polygon

from labelkit import forms
from labelkit.drawing.page import BLACK, WHITE, Path
from labelkit.model.form import FORMS
from labelkit.model.formbase import Form
from labelkit.sheets.axialframe import HATCH, OUTLINE, Frame
from labelkit.sheets.axialview import PITCH_LINE, axial_view
from labelkit.sheets.silhouette import crest, extent, landing, silhouette
from tests.forms.strategies import build, forms_of

Point = tuple[float, float]
SCALES = st.sampled_from([0.1, 0.2, 0.5, 1.0, 2.0])
KINDS = st.sampled_from(sorted(FORMS))
ANY = KINDS.flatmap(forms_of)
BEARING = build("ball_bearing", id=50, od=80, w=16)
GEAR = build("gear", teeth=30, module=2, width=25, bore=20)


def paths(form: Form, frame: Frame) -> list[Path]:
    found = axial_view(form, frame)
    assert all(isinstance(item, Path) for item in found)
    return found  # type: ignore[return-value]


def points(items: list[Path]) -> Iterator[Point]:
    for item in items:
        for command in item.d:
            if command[0] in "ML":
                yield command[1], command[2]  # type: ignore[misc]


def box(items: list[Path]) -> tuple[float, float, float, float]:
    xs, ys = zip(*points(items), strict=True)
    return min(xs), min(ys), max(xs), max(ys)


def polygon(item: Path) -> Polygon:
    return Polygon([*points([item])])


def filled(items: list[Path], fill: str) -> list[Path]:
    return [item for item in items if item.fill == fill]


def hatched(items: list[Path]) -> list[LineString]:
    """Return the hatching lines of a view that has no other lines of that pen."""
    found = []
    for item in items:
        ends = [*points([item])]
        if item.pen == HATCH and item.fill is None:
            found += [LineString(pair) for pair in zip(ends[::2], ends[1::2], strict=True)]
    return found


# --- true to the form ------------------------------------------------------------------------------------------------


@given(ANY, SCALES, st.booleans())
@settings(max_examples=200, deadline=None)
def test_a_view_takes_exactly_its_extent(form: Form, scale: float, flipped: bool) -> None:
    """Every form, as long as its section is high and as far from the axis as that reaches, to 0.02 mm on paper."""
    section = forms.section(form)
    reach = max(abs(side) for face in section.faces for side in (face.contour.box().left, face.contour.box().right))
    left, top, right, bottom = box(paths(form, Frame(10.0, 100.0, scale, flipped)))

    assert left == pytest.approx(10.0, abs=0.02)
    assert right == pytest.approx(10.0 + section.height * scale, abs=0.02)
    assert top == pytest.approx(100.0 - reach * scale, abs=0.02)
    assert max(bottom - 100.0, 100.0 - top) == pytest.approx(reach * scale, abs=0.02)


@given(ANY)
@settings(max_examples=100, deadline=None)
def test_flipped_is_the_mirror_image(form: Form) -> None:
    """Turned end for end, every corner lies at the other end of the part; hatching apart."""
    length = extent(form).length

    def corners(flipped: bool) -> set[Point]:
        items = [item for item in paths(form, Frame(0.0, 0.0, 1.0, flipped)) if item.pen != HATCH]
        return {(round(length - x if flipped else x, 5), round(y, 5)) for x, y in points(items)}

    assert corners(flipped=True) == corners(flipped=False)


@given(ANY)
@settings(max_examples=60, deadline=None)
def test_standing_is_the_same_view_turned(form: Form) -> None:
    """A part screwed in from above shows its outer end up; from below, down."""

    def corners(runs: str) -> set[Point]:
        frame = Frame(0.0, 0.0, 1.0, runs=runs)  # type: ignore[arg-type]
        items = [item for item in paths(form, frame) if item.pen != HATCH]
        turned = {"right": lambda x, y: (x, -y), "down": lambda x, y: (y, x), "up": lambda x, y: (-y, x)}
        return {tuple(round(value, 5) + 0.0 for value in turned[runs](x, y)) for x, y in points(items)}  # type: ignore[misc]

    assert corners("down") == corners("right")
    assert corners("up") == corners("right")


@given(
    KINDS.filter(
        lambda kind: not FORMS[kind].uncut and kind not in {"gear", "ring_gear", "block", "lever", "key", "outline"}
    ).flatmap(forms_of)
)
@settings(max_examples=100, deadline=None)
def test_every_cut_face_is_drawn_as_it_is(form: Form) -> None:
    """Each face of the section is one polygon of the same area, to a thousandth."""
    height = extent(form).length
    drawn = [polygon(item) for item in paths(form, Frame(0.0, 0.0, 1.0)) if item.fill]
    for face in forms.section(form).faces:
        middle = shapely.Polygon([(height - z, -r) for r, z in face.contour.polygon(0.001)])
        best = max(drawn, key=lambda shape: shape.buffer(0).intersection(middle.buffer(0)).area)
        missed = best.buffer(0).symmetric_difference(middle.buffer(0)).area

        # A sliver along its arcs: 0.004 mm on paper.
        assert missed <= 0.01 * middle.length + 1e-6


def test_a_bearing_has_the_sizes_of_its_designation() -> None:
    """A deep-groove bearing 6010: 50 x 80 x 16. Source: ISO 15, dimension series 10."""
    left, top, right, bottom = box(paths(BEARING, Frame(0.0, 0.0, 0.5)))
    bore = min(-y for x, y in points(filled(paths(BEARING, Frame(0.0, 0.0, 0.5)), WHITE)) if y < -1)

    assert right - left == pytest.approx(8.0)
    assert bottom - top == pytest.approx(40.0)
    assert bore == pytest.approx(12.5)


# --- as the trade draws ----------------------------------------------------------------------------------------------


@given(ANY, SCALES)
@settings(max_examples=100, deadline=None)
def test_only_black_and_white(form: Form, scale: float) -> None:
    """Whatever the form and the scale."""
    for item in paths(form, Frame(0.0, 0.0, scale)):
        assert item.fill in (BLACK, WHITE, None)
        assert item.pen is None or item.pen.colour in (BLACK, WHITE)


def test_hatching_stays_in_the_metal() -> None:
    """Above the axis, inside the cut faces, at 45 degrees."""
    form = build("drum", od=100, h=60, wall=12, floor=15, bore=20)
    items = paths(form, Frame(0.0, 0.0, 1.0))
    metal = shapely.union_all(
        [Polygon([(60 - z, -r) for r, z in face.contour.polygon()]) for face in forms.section(form).faces]
    )
    lines = hatched(items)

    assert len(lines) > 30
    assert all(metal.buffer(1e-6).covers(line) for line in lines)
    assert all(abs(abs(a[0] - b[0]) - abs(a[1] - b[1])) < 1e-6 for a, b in (line.coords for line in lines))


def test_neighbours_are_hatched_the_other_way() -> None:
    """The slope is the frame's."""
    form = build("ring", od=80, id=40, t=20)
    one, other = (hatched(paths(form, Frame(0.0, 0.0, 1.0, slope=slope))) for slope in (45.0, -45.0))
    (ax, ay), (bx, by) = one[0].coords
    (cx, cy), (dx, dy) = other[0].coords

    assert (bx - ax) * (by - ay) * (dx - cx) * (dy - cy) < 0


def test_shafts_screws_and_rolling_elements_are_not_cut() -> None:
    """ISO 128-3, from memory: no hatching in a shaft, a screw, a pin, a ball; none in the ball of a bearing."""
    for form in (
        build("shaft", steps=[[30, 40], [50, 60]]),
        build("bolt", d=16, l=60, head="hex"),
        build("pin", d=20, l=60),
        build("ball", d=30),
    ):
        assert not [
            line
            for line in hatched(paths(form, Frame(0.0, 0.0, 1.0)))
            if abs(line.coords[0][1] - line.coords[1][1]) > 1e-6
        ]
    ball = max(forms.section(BEARING).faces, key=lambda face: len(face.contour.polygon())).contour
    centre = (ball.box().left + ball.box().right) / 2
    circle = shapely.Point(8 * 3, -centre * 3).buffer(ball.box().width / 2 * 3 - 0.01)

    assert hatched(paths(BEARING, Frame(0.0, 0.0, 3.0)))
    assert not [line for line in hatched(paths(BEARING, Frame(0.0, 0.0, 3.0))) if line.intersects(circle)]


def test_thin_metal_and_rubber_are_black_and_thick_metal_is_not() -> None:
    """Where no hatching would show; the same ring at ten times the scale is hatched."""
    ring = build("ring", od=80, id=60, t=1)

    assert filled(paths(ring, Frame(0.0, 0.0, 0.5)), BLACK)
    assert not filled(paths(ring, Frame(0.0, 0.0, 5.0)), BLACK)
    assert filled(paths(build("o_ring", id=50, section=10), Frame(0.0, 0.0, 5.0)), BLACK)


def test_linings_are_hatched_crosswise() -> None:
    """Both slopes in the lining, one in the core."""
    plate = build("friction_plate", od=140, id=100, t=10, teeth=30)
    rising = {
        math.copysign(1, (b[0] - a[0]) * (b[1] - a[1]))
        for a, b in (line.coords for line in hatched(paths(plate, Frame(0.0, 0.0, 2.0))))
    }

    assert rising == {1.0, -1.0}


def test_a_gear_shows_its_pitch_line_and_bare_teeth() -> None:
    """ISO 2203, from memory: a chain line at module x teeth / 2, no hatching from the root to the tip."""
    items = paths(GEAR, Frame(0.0, 0.0, 1.0))
    (pitch,) = [item for item in items if item.pen == PITCH_LINE]
    cut = [line for line in hatched(items) if line.bounds[1] < 0]

    assert {round(-y, 6) for _, y in points([pitch])} == {30.0}  # 2 x 30 / 2
    assert box(items)[1] == pytest.approx(-32.0)  # + 1 module
    assert min(line.bounds[1] for line in cut) >= -27.5 - 1e-6  # - 1.25 modules


def test_a_ring_gear_shows_its_pitch_line_inside() -> None:
    """The same with the teeth inside: tip at the pitch radius less a module, nothing hatched below the root."""
    items = paths(build("ring_gear", teeth=60, module=2, width=30, od=140), Frame(0.0, 0.0, 1.0))
    (pitch,) = [item for item in items if item.pen == PITCH_LINE]

    assert {round(-y, 6) for _, y in points([pitch])} == {60.0}
    assert max(line.bounds[3] for line in hatched(items)) <= -62.5 + 1e-6


def test_the_marked_side_of_a_gear_is_marked_only_where_it_is_known() -> None:
    """At the end that the profile names; a gear whose sides nobody told apart has no mark."""
    known, unknown = (filled(paths(GEAR, Frame(0.0, 0.0, 1.0, marked=marked)), BLACK) for marked in (True, False))

    assert len(known) == 1
    assert unknown == []
    assert box(known)[0] == pytest.approx(0.0)
    assert box(filled(paths(GEAR, Frame(0.0, 0.0, 1.0, flipped=True)), BLACK))[2] == pytest.approx(25.0)


@pytest.mark.parametrize(("head", "thread"), [("hex", 38.0), ("socket", 44.0)])
def test_a_screw_shows_its_thread(head: str, thread: float) -> None:
    """ISO 6410-1, from memory: a thin line inside the crest on both sides. M16 x 80: 2 d + 6 and 2 d + 12, as in ISO
    4014 and ISO 4762 (from memory)."""
    screw = build("bolt", d=16, l=80, head=head)
    length = extent(screw).length
    thin = [item for item in paths(screw, Frame(0.0, 0.0, 1.0)) if item.pen == HATCH]
    roots = [item for item in thin if box([item])[2] == pytest.approx(length)]

    assert len(roots) == 2
    assert {round(x2 - x1, 6) for x1, _, x2, _ in map(box, ([item] for item in roots))} == {thread}
    assert all(6.0 < abs(y) < 7.6 for _, y in points(roots))


def test_a_hexagon_shows_its_edges() -> None:
    """Seen over its corners, two edges at half its radius."""
    nut = build("nut", d=20)
    thin = [item for item in paths(nut, Frame(0.0, 0.0, 1.0)) if item.pen == HATCH]

    assert sorted({round(y, 4) for _, y in points(thin)}) == pytest.approx(
        [-extent(nut).reach / 2, extent(nut).reach / 2], abs=1e-3
    )


def test_a_splined_step_shows_its_root() -> None:
    """ISO 6413, from memory: thin lines inside the outline, along the splined step and no other."""
    shaft = build("shaft", steps=[[60, 50], [80, 70]], splines=[1])
    thin = [item for item in paths(shaft, Frame(0.0, 0.0, 1.0)) if item.pen == HATCH]

    assert thin
    assert box(thin)[0] >= 0
    assert box(thin)[2] <= 50 + 1e-6
    assert all(20 < abs(y) < 30 for _, y in points(thin))


def test_a_retaining_ring_shows_its_gap() -> None:
    """White across the ring below the axis, as wide as the plan's gap seen at half a right angle."""
    ring = build("snap_ring", fits="bore", d=148, t=3, gap=30)
    items = paths(ring, Frame(0.0, 0.0, 1.0))
    left, top, right, bottom = box([item for item in filled(items, WHITE) if item.pen and item.pen.colour == WHITE])

    assert right - left == pytest.approx(3.0)
    assert bottom - top == pytest.approx(30 * math.sqrt(0.5), abs=0.5)
    assert top > 0


def test_planets_of_a_carrier_are_seen_where_they_stand() -> None:
    """Three planets, the first cut above the axis: the two others stand at 4 and 8 o'clock, half as far below it."""
    form = build("carrier", od=180, h=50, planets=3, planet_od=70, bore=40)
    below = [polygon(item) for item in filled(paths(form, Frame(0.0, 0.0, 1.0)), WHITE) if box([item])[1] > -1e-6]
    widest = max(shape.bounds[3] - shape.bounds[1] for shape in below if shape.bounds[3] < 80)
    stand = 0.97 * (90 - 35)

    assert widest == pytest.approx(stand / 2 + 35, abs=0.01)


@given(KINDS.filter(lambda kind: kind not in ("block", "lever", "key", "outline")).flatmap(forms_of))
@settings(max_examples=100, deadline=None)
def test_the_axis_itself_is_left_to_its_chain_line(form: Form) -> None:
    """A half section has no outline along the axis (ISO 128-3, from memory)."""
    for item in paths(form, Frame(0.0, 0.0, 1.0)):
        if item.pen and item.pen.width >= OUTLINE.width:
            ends = [*points([item])]
            closing = [(ends[-1], ends[0])] if item.d[-1][0] == "Z" else []
            for (x1, y1), (x2, y2) in [*pairwise(ends), *closing]:
                assert abs(y1) > 1e-6 or abs(y2) > 1e-6 or abs(x1 - x2) < 1e-6


# --- a long part broken off ------------------------------------------------------------------------------------------


def test_a_broken_shaft_keeps_both_ends_at_their_scale() -> None:
    """What lies beyond the break is shifted by what is left out, less the gap; nothing is drawn within it."""
    shaft = build("shaft", steps=[[40, 100], [60, 2000], [50, 80]])
    frame = Frame(0.0, 0.0, 0.5, cut=(300.0, 1900.0), gap=2.5)
    pieces = [polygon(item).bounds for item in filled(paths(shaft, frame), WHITE)]

    # From the top: 2180 - 1900 = 280 mm; then the gap; then 300 mm.
    assert [round(value, 6) for bounds in pieces for value in (bounds[0], bounds[2])] == [0, 140, 142.5, 292.5]
    flipped = [polygon(item).bounds for item in filled(paths(shaft, replace(frame, flipped=True)), WHITE)]
    assert sorted(round(value, 6) for bounds in flipped for value in (bounds[0], bounds[2])) == [0, 150, 152.5, 292.5]


# --- where a leader meets it -----------------------------------------------------------------------------------------


@given(ANY)
@settings(max_examples=200, deadline=None)
def test_a_leader_meets_metal(form: Form) -> None:
    """At the place it goes to, the part's drawing begins, coming from outside."""
    found = landing(form)
    length = extent(form).length
    drawn = shapely.union_all([polygon(item).buffer(0) for item in paths(form, Frame(0.0, 0.0, 1.0)) if item.fill])
    x = length - found.z
    ray = LineString([(x, -found.r - 1000), (x, -found.r)])

    assert 0 <= found.z <= length
    assert ray.intersection(drawn).length < 0.02
    assert shapely.Point(x, -found.r).distance(drawn) < 0.02


@given(ANY, st.booleans())
@settings(max_examples=100, deadline=None)
def test_a_leader_along_the_axis_meets_metal(form: Form, top: bool) -> None:
    """The same for a part that stands."""
    r, room = crest(form, top=top), extent(form)
    drawn = shapely.union_all(
        [polygon(item).buffer(0) for item in paths(form, Frame(0.0, 0.0, 1.0, runs="down")) if item.fill]
    )
    y = 0.0 if top else room.length

    assert abs(r) <= room.reach
    assert shapely.Point(r, y).distance(drawn) < 0.02


@given(KINDS.flatmap(forms_of).filter(lambda form: forms.section(form).round))
@settings(max_examples=60, deadline=None)
def test_a_silhouette_runs_from_top_to_bottom_and_never_inside_the_part(form: Form) -> None:
    """No place of the section lies outside it."""
    outline = silhouette(form)
    shape = Polygon([(0.0, outline[0][0]), *((r, z) for z, r in outline), (0.0, outline[-1][0])]).buffer(0.02)

    assert [z for z, _ in outline] == sorted((z for z, _ in outline), reverse=True)
    for face in forms.section(form).faces:
        assert all(shape.covers(shapely.Point(r, z)) for r, z in face.contour.polygon(0.01))
