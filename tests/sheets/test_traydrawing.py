"""The picture of a tray: true outlines, flags, ticks and patterns, and no word where it does not belong."""

from __future__ import annotations

from collections.abc import Iterable, Iterator

import pytest
import shapely
from hypothesis import given, settings
from hypothesis import strategies as st
from shapely import LineString, MultiLineString, MultiPoint, Point, Polygon

from labelkit.calc.trays import LaidTray, Place
from labelkit.drawing.page import Box, Group, Item, Path, Pen, Text
from labelkit.model.laying import Laying, Spacing, TrayKind
from labelkit.sheets.jobview import JobView
from labelkit.sheets.legible import LEAST
from labelkit.sheets.traydrawing import Pens, doubts, lines, pattern, place_words, shared_grounds, tray_drawing
from labelkit.sheets.waywords import printed_way, way
from labelkit.sheets.wording import short_name
from tests.shop import DEMO_UNITS
from tests.traysheets import (
    body_of,
    collisions,
    demo_on,
    flag_of,
    inside_of,
    job_of,
    points_of,
    printed,
    walk,
    words_of,
)

TRAYS = ["tray-600x400", "tray-530x325", "tray-400x300"]
CASES = [(unit, tray) for unit in DEMO_UNITS for tray in TRAYS]


@pytest.fixture(params=CASES, ids=["-".join(case) for case in CASES])
def trays(request: pytest.FixtureRequest) -> tuple[LaidTray, ...]:
    """Return the trays of a demo unit's job."""
    return demo_on(*request.param).trays.trays


@pytest.fixture(params=[CASES[0], CASES[-1]], ids=["-".join(CASES[0]), "-".join(CASES[-1])])
def some(request: pytest.FixtureRequest) -> tuple[LaidTray, ...]:
    """Return the trays of each demo unit's job in one way."""
    return demo_on(*request.param).trays.trays


def group(items: Iterable[Item], name: str) -> Group:
    (found,) = (item for item, _ in walk(items) if isinstance(item, Group) and item.name == name)
    return found


def places_of(view: JobView) -> Iterator[Place]:
    for tray in view.trays.trays:
        yield from tray.places


# --- words -----------------------------------------------------------------------------------------------------------


def test_no_word_lies_on_another_or_across_a_flag_or_an_outline(trays: tuple[LaidTray, ...]) -> None:
    """At 1:1, where the names are. Source: shapely, boxes of the ink."""
    found = [fault for tray in trays for fault in collisions(printed(tray), tray)]

    assert found == []


def test_a_word_beside_a_part_stays_in_its_cell(some: tuple[LaidTray, ...]) -> None:
    """A name never stands beside somebody else's part."""
    for tray in some:
        layers = tray_drawing(tray)
        for place in tray.places:
            x, y, width, depth = place.cell
            cell = shapely.box(x, y, x + width, y + depth).buffer(1e-6)
            assert all(cell.covers(line.box) for line in words_of([group(layers, f"place {place.bin.step}")]))


def test_which_way_up_a_part_lies_is_never_left_out_for_want_of_room(some: tuple[LaidTray, ...]) -> None:
    """A face that is missing reads as "either way": in the bore, on the metal, on a shaft's body, beside the flag."""
    for tray in some:
        layers = tray_drawing(tray)
        for place in tray.places:
            words = {
                word for line in words_of([group(layers, f"place {place.bin.step}")]) for word in line.said.split()
            }
            assert way(place.bin.part).known == "free" or set(printed_way(place.bin.part).split()) <= words


def test_which_way_up_never_stands_without_the_name(trays: tuple[LaidTray, ...]) -> None:
    """Of what it is said would be anybody's guess; beside several pieces the two stand together, as words of one."""
    for tray in trays:
        layers = tray_drawing(tray)
        for place in tray.places:
            lines = words_of([group(layers, f"place {place.bin.step}")])
            own = [line for line in lines if not flag_of(place).covers(line.box)]
            said = " ".join(line.said for line in own)
            assert not own or short_name(place.bin.part) in said, (tray.letter, place.bin.step, said)
            if len(place.at) > 1 and own:
                assert shapely.union_all([line.box.buffer(2) for line in own]).geom_type == "Polygon"


@pytest.mark.parametrize("scale", [1, 1 / 2, 1 / 3])
def test_everything_that_is_printed_can_be_read(trays: tuple[LaidTray, ...], scale: float) -> None:
    """What would be too small in the print is left out. Source: NUREG-0700 rev. 3, 15 minutes of arc at 350 mm."""
    found = [line for tray in trays for line in printed(tray, scale)]

    assert [line.said for line in found if line.cap * scale < LEAST - 1e-6] == []


@pytest.mark.parametrize("scale", [1, 1 / 3])
def test_every_flag_says_its_step(some: tuple[LaidTray, ...], scale: float) -> None:
    """Wholly inside the flag, and nothing of it under anything else."""
    for tray in some:
        for place in tray.places:
            assert place.bin.step + "?" * place.bin.doubtful in inside_of(place, printed(tray, scale))


def test_a_flag_at_full_size_says_place_and_count() -> None:
    """Step 7, place A7, eight screws."""
    (tray, *_) = demo_on("planetary-reducer", "tray-600x400").trays.trays
    (place,) = (place for place in tray.places if place.bin.step == "7")

    assert set(inside_of(place, printed(tray))) == {"7", "A7", "× 8"}


def test_no_word_hides_a_tick(trays: tuple[LaidTray, ...]) -> None:
    """Found when a name covered half of the wedge that says how the part sits."""
    for tray in trays:
        layers = tray_drawing(tray)
        for place in tray.places:
            tick = tick_of(layers, place)
            if tick:
                covers = [line.box for line in printed(tray)] + white_grounds(layers, place)
                assert not any(box.intersects(tick) for box in covers)


def white_grounds(layers: Iterable[Item], place: Place) -> list[Polygon]:
    """Return the white boxes on which the words of a place stand."""
    own = group(layers, f"place {place.bin.step}").items
    paths = [item for item in own if isinstance(item, Path) and item.pen is None and item.fill == "#ffffff"]
    return [Polygon(points_of(path)) for path in paths]


def tick_of(layers: Iterable[Item], place: Place) -> Polygon | None:
    own = group(layers, f"place {place.bin.step}")
    wedges = [item for item in own.items if isinstance(item, Path) and item.fill == "#000000" and len(item.d) == 4]
    assert len(wedges) <= 1
    return Polygon(points_of(wedges[0])) if wedges else None


# --- outlines --------------------------------------------------------------------------------------------------------


def test_every_piece_is_drawn_on_its_place(some: tuple[LaidTray, ...]) -> None:
    """One named outline for each piece, and its line is the place's own polygon."""
    for tray in some:
        layers = tray_drawing(tray)
        for place in tray.places:
            for number, points in enumerate(place.outlines, 1):
                name = f"outline {place.bin.step}" + (f" {number}" if number > 1 else "")
                stroked = [item for item in group(layers, name).items if isinstance(item, Path) and item.pen]
                assert points_of(stroked[0]) == list(points)


def test_an_outline_is_the_boldest_line_of_a_part(some: tuple[LaidTray, ...]) -> None:
    """What the part is laid on is told from edges and openings at one look."""
    for tray in some:
        for item, _ in walk(tray_drawing(tray)):
            if isinstance(item, Group) and item.name.startswith("outline"):
                outer, *others = [path.pen.width for path in item.items if isinstance(path, Path) and path.pen]
                assert all(width < outer / 2 for width in others)


@given(st.floats(0.05, 1))
def test_no_line_is_printed_thinner_than_a_printer_can(scale: float) -> None:
    """However small the map. Source: common practice, no source: 0.08 mm is a dot of 300 dpi."""
    pens = Pens(scale)
    printed = [pen.width * scale for pen in (pens.pattern, pens.edge, pens.outline, pens.rule)]

    assert printed[0] >= 0.08 - 1e-9
    assert printed == sorted(printed)


def test_a_bore_shows_the_ground() -> None:
    """The pattern of the tray goes on through a hole: white is the metal only."""
    (tray, *_) = demo_on("planetary-reducer", "tray-600x400").trays.trays
    (place,) = (place for place in tray.places if place.bin.step == "8.1")
    first = group(tray_drawing(tray), "outline 8.1").items[0]
    assert isinstance(first, Path)

    assert first.fill == "#ffffff"
    assert [command[0] for command in first.d].count("Z") == 1 + len(place.holes) == 2


def test_things_are_drawn_over_the_ground_and_flags_over_things(some: tuple[LaidTray, ...]) -> None:
    """Pattern and rules first; in a place the outlines before the flag."""
    for tray in some:
        names = [layer.name for layer in tray_drawing(tray)]
        assert names[:2] == ["ground", "rules"]
        assert names[2:-2] == [f"place {place.bin.step}" for place in tray.places]


def test_a_layer_s_box_holds_its_ink(some: tuple[LaidTray, ...]) -> None:
    """A sheet that leaves a place out because its box is not on it leaves nothing out that it should show."""
    for tray in some:
        for layer in tray_drawing(tray):
            if layer.box is not None:
                box = shapely.box(layer.box.x, layer.box.y, layer.box.right, layer.box.bottom).buffer(0.5)
                for item, matrix in walk([layer]):
                    assert not isinstance(item, Path) or box.covers(MultiPoint(points_of(item, matrix)))


# --- ticks -----------------------------------------------------------------------------------------------------------

CLOCKED = "- {{id: a, name: Part, form: {form}, sits: {{up: top, clock: '{clock}'}}}}\n"


@pytest.mark.parametrize(("clock", "way"), [("12:00", (0, -1)), ("3:00", (1, 0)), ("6:00", (0, 1)), ("9:00", (-1, 0))])
def test_a_tick_points_to_its_hour(clock: str, way: tuple[int, int]) -> None:
    """12 at the back wall, 3 to the right; its tip is just inside the outline."""
    view = job_of(CLOCKED.format(form="{ring: {od: 80, id: 30, t: 5}}", clock=clock))
    (tray,) = view.trays.trays
    (place,) = tray.places
    tick = tick_of(tray_drawing(tray), place)
    assert tick

    x, y = place.at[0]
    assert 38 < max(way[0] * (px - x) + way[1] * (py - y) for px, py in tick.exterior.coords) < 40
    assert tick.centroid.distance(LineString([(x, y), (x + 40 * way[0], y + 40 * way[1])])) < 1e-6


def test_a_tick_turns_with_its_part() -> None:
    """A block laid down a quarter turn to the left has its 12 o'clock mark at the left."""
    laying = Laying((TrayKind("t", (60.0, 400.0), 10),), Spacing(flag=(0.0, 0.0)))  # type: ignore[arg-type]
    view = job_of(CLOCKED.format(form="{block: {l: 90, w: 30, h: 5}}", clock="12:00"), laying)
    (tray,) = view.trays.trays
    (place,) = tray.places
    tick = tick_of(tray_drawing(tray), place)
    assert tick

    assert place.turned == 90
    assert tick.centroid.x < place.at[0][0] - 8
    assert abs(tick.centroid.y - place.at[0][1]) < 1e-6


@pytest.mark.parametrize("sits", ["{up: top}", "{up: top, clock: free}"])
def test_no_hour_no_tick(sits: str) -> None:
    """Not recorded, or free: nothing is drawn that says an hour."""
    (tray,) = job_of(f"- {{id: a, name: Part, form: {{ring: {{od: 80, id: 30, t: 5}}}}, sits: {sits}}}\n").trays.trays

    assert tick_of(tray_drawing(tray), tray.places[0]) is None


def test_a_tick_lies_on_its_part(some: tuple[LaidTray, ...]) -> None:
    """On the first piece, in its outline. Source: shapely."""
    for tray in some:
        layers = tray_drawing(tray)
        for place in tray.places:
            tick = tick_of(layers, place)
            assert tick is None or Polygon(place.outlines[0]).buffer(1e-6).covers(tick)


# --- patterns --------------------------------------------------------------------------------------------------------


@given(
    st.floats(0, 500), st.floats(0, 300), st.floats(5, 200), st.floats(5, 200), st.integers(0, 7)
)  # fmt: skip
@settings(max_examples=60)
def test_a_pattern_stays_in_its_box(x: float, y: float, width: float, height: float, number: int) -> None:
    """Every stroke inside, and the strokes of one slope at even distances. Source: shapely."""
    box = shapely.box(x, y, x + width, y + height).buffer(1e-6)
    assert box.covers(MultiPoint(points_of(pattern(Box(x, y, width, height), number, Pen(0.1)))))


@pytest.mark.parametrize("number", range(8))
def test_a_pattern_leaves_no_part_of_its_box_bare(number: int) -> None:
    """Nowhere in it is a stroke farther than the pitch of 5 mm. Source: shapely."""
    strokes = MultiLineString(strokes_of(pattern(Box(13, 7, 60, 40), number, Pen(0.1))))

    assert all(strokes.distance(Point(x, y)) <= 5 for x in range(13, 74) for y in range(7, 48))


def strokes_of(path: Item) -> list[LineString]:
    assert isinstance(path, Path)
    points = points_of(path)
    return [LineString(pair) for pair in zip(points[::2], points[1::2], strict=True)]


def test_eight_sub_assemblies_have_eight_patterns() -> None:
    """No two are drawn with the same strokes; more than eight on one tray is beyond what eyes tell apart."""
    assert len({pattern(Box(0, 0, 30, 30), number, Pen(0.1)) for number in range(8)}) == 8


def test_patterns_of_neighbours_join() -> None:
    """Two boxes side by side look like one: where a stroke leaves the first, one enters the second."""
    left, right = (pattern(Box(x, 0, 20, 20), 0, Pen(0.1)) for x in (0, 20))
    leaving = {round(y, 6) for stroke in strokes_of(left) for x, y in stroke.coords if abs(x - 20) < 1e-9}
    entering = {round(y, 6) for stroke in strokes_of(right) for x, y in stroke.coords if abs(x - 20) < 1e-9}

    assert leaving == entering != set()


def ground_of(tray: LaidTray) -> MultiLineString:
    """Return all strokes of the patterns."""
    paths = group(tray_drawing(tray), "ground").items
    return MultiLineString([stroke for path in paths for stroke in strokes_of(path)])


def cell_of(place: Place) -> shapely.Geometry:
    """Return a cell but for its edge."""
    x, y, width, depth = place.cell
    return shapely.box(x + 0.01, y + 0.01, x + width - 0.01, y + depth - 0.01)


def test_a_pattern_lies_under_its_own_sub_assembly_only(trays: tuple[LaidTray, ...]) -> None:
    """No stroke in the cell of a part that does not belong to it. Source: shapely."""
    for tray in trays:
        ground = ground_of(tray)
        for place in tray.places:
            shared = bool(place.groups) and place.groups[-1] in shared_grounds(tray)
            assert ground.intersects(cell_of(place)) == shared


COLUMNS = (
    "- {id: g, name: Sub, mass: 3, form: {ring: {od: 240, id: 20, t: 20}}, parts: ["
    "{id: p, name: Own, mass: 1, form: {ring: {od: 60, id: 12, t: 2}}}]}\n"
    + "".join(f"- {{id: q{n}, name: Other, form: {{ring: {{od: 60, id: 12, t: 2}}}}}}\n" for n in range(8))
)


def test_a_pattern_does_not_run_into_the_next_line_of_a_column() -> None:
    """A tall part, and beside it a column whose first line goes on with the sub-assembly and whose second does not."""
    laying = Laying((TrayKind("t", (460.0, 262.0), 10),))  # type: ignore[arg-type]
    (tray, *_) = job_of(COLUMNS, laying).trays.trays
    assert tray.grade > 0
    foreign = [place for place in tray.places if not place.groups]

    assert [place.bin.step for place in foreign if ground_of(tray).intersects(cell_of(place))] == []


# --- reading ---------------------------------------------------------------------------------------------------------


def wedges_of(tray: LaidTray) -> list[Polygon]:
    """Return the arrows, then the wedges of the centre of mass."""
    return [Polygon(points_of(item)) for item in group(tray_drawing(tray), "reading").items if isinstance(item, Path)]


def test_an_arrow_stands_before_every_line(some: tuple[LaidTray, ...]) -> None:
    """There the reader goes on; it touches neither outline nor flag."""
    for tray in some:
        arrows = wedges_of(tray)[: len(lines(tray))]
        for arrow, (first, *_) in zip(arrows, lines(tray), strict=True):
            assert 0 < arrow.centroid.x - first.cell[0] < 4
            assert first.cell[1] < arrow.centroid.y < first.cell[1] + first.cell[3]
        things = [body_of(place) for place in tray.places] + [flag_of(place) for place in tray.places]
        assert not any(arrow.intersects(thing) for arrow in arrows for thing in things)


def test_rules_are_drawn_where_they_were_laid(some: tuple[LaidTray, ...]) -> None:
    """One line for each, the boldest of all."""
    for tray in some:
        drawn = [points_of(item) for item in group(tray_drawing(tray), "rules").items if isinstance(item, Path)]
        assert drawn == [[(x1, y1), (x2, y2)] for x1, y1, x2, y2 in tray.rules]


def test_four_wedges_point_at_the_centre_of_mass() -> None:
    """Two discs of 1 and 3 kg: three quarters of the way from the first to the second."""
    disc = "- {{id: {}, name: D, mass: {}, form: {{ring: {{od: 100, id: 60, t: 5}}}}}}\n"
    (tray,) = job_of(disc.format("a", 1) + disc.format("b", 3)).trays.trays
    wedges = wedges_of(tray)[-4:]
    (x1, y1), (x2, y2) = (place.at[0] for place in tray.places)

    assert tray.centre == pytest.approx((x1 + 0.75 * (x2 - x1), y1 + 0.75 * (y2 - y1)), abs=0.01)
    assert {round(wedge.centroid.x, 1) for wedge in wedges[:2]} == {round(tray.centre[0], 1)}
    assert {round(wedge.centroid.y, 1) for wedge in wedges[2:]} == {round(tray.centre[1], 1)}


def test_no_mass_no_wedge() -> None:
    """What nobody weighed has no centre."""
    (tray,) = job_of("- {id: a, name: Part, form: {ring: {od: 80, id: 30, t: 5}}}\n").trays.trays

    assert tray.centre is None
    assert len(wedges_of(tray)) == len(lines(tray))


# --- what is not known -----------------------------------------------------------------------------------------------


def test_what_is_not_recorded_is_marked_on_the_flag() -> None:
    """A question mark for the eye, and each thing by name for the list."""
    (tray,) = job_of("- {id: a, name: Part}\n").trays.trays
    (place,) = tray.places

    assert "?" in inside_of(place, printed(tray))
    assert doubts(place) == ("way up, clock, size NOT RECORDED",)


def test_what_is_recorded_is_not_doubted() -> None:
    """Free is recorded."""
    text = "- {id: a, name: Part, form: {ring: {od: 80, id: 30, t: 5}}, sits: {up: free, clock: free}}\n"
    (tray,) = job_of(text).trays.trays

    assert doubts(tray.places[0]) == ()
    assert "?" not in inside_of(tray.places[0], printed(tray))


def test_an_open_option_is_asked_once_on_a_flag() -> None:
    """At the step; the question mark of its own is of what is not recorded."""
    tray = next(tray for tray in demo_on("planetary-reducer", "tray-600x400").trays.trays)
    place = next(place for place in tray.places if place.bin.doubtful)

    assert "?" not in inside_of(place, printed(tray))


@pytest.mark.parametrize(
    ("part", "words"),
    [
        ("qty: 5, form: {ring: {od: 80, id: 30, t: 5}}", "PILE OF 5"),
        ("qty: set, form: {ring: {od: 80, id: 30, t: 5}}", "PILE"),
        ("qty: 8, form: {bolt: {d: 8, l: 30}}", "CUP OF 8"),
        ("qty: set, form: {ball: {d: 8}}", "CUP"),
        ("qty: 12, form: {bolt: {d: 12, l: 240}}", "BOX OF 12"),
        ("qty: 3, form: {gear: {teeth: 20, module: 2, width: 10, bore: 10}}", ""),
        ("form: {ring: {od: 80, id: 30, t: 5}}", ""),
    ],
)
def test_how_pieces_lie_is_said(part: str, words: str) -> None:
    """Where one outline stands for several pieces."""
    (place,) = places_of(job_of(f"- {{id: a, name: Part, {part}}}\n"))

    assert place_words(place) == words


def test_a_cup_shows_one_of_its_pieces() -> None:
    """Inside its wall, so that one sees what belongs there. Source: shapely."""
    (tray,) = job_of("- {id: a, name: Part, qty: 8, form: {bolt: {d: 8, l: 30}}}\n").trays.trays
    drawn = group(tray_drawing(tray, 1 / 3), "outline 1").items
    wall, inner, sample = (Polygon(points_of(item)) for item in drawn if isinstance(item, Path) and item.pen)

    assert wall.contains(inner)
    assert inner.contains(sample)


@pytest.mark.parametrize("flag", [(0.0, 0.0), (12.0, 6.0), (60.0, 40.0)])
def test_flags_of_any_size_are_drawn(flag: tuple[float, float]) -> None:
    """None at all, very small, very large."""
    laying = Laying((TrayKind("t", (600.0, 400.0), 10),), Spacing(flag=flag))  # type: ignore[arg-type]
    (tray,) = job_of("- {id: a, name: Part, form: {ring: {od: 80, id: 30, t: 5}}}\n", laying).trays.trays
    texts = [item.string for item, _ in walk(tray_drawing(tray)) if isinstance(item, Text)]

    assert ("1" in texts) == bool(flag[0])


def test_the_edge_of_what_nobody_measured_is_dashed() -> None:
    """A place of usual size stands for it: drawn as no outline is, and no cup that one part would have to fit in."""
    (tray,) = job_of("- {id: a, name: Part}\n- {id: b, name: Ball, form: {ball: {d: 30}}}\n").trays.trays
    outlines = [group(tray_drawing(tray), f"outline {step}").items for step in ("1", "2")]
    dashed = [any(isinstance(item, Path) and item.pen and item.pen.dash for item in items) for items in outlines]

    assert dashed == [True, False]
    assert place_words(tray.places[0]) == ""
