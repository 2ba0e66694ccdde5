"""Drawings of how a part sits, as they come out of a thermal printer; shapely and pdfium are the oracles."""

from __future__ import annotations

import io
from collections.abc import Iterator

import numpy as np
import pypdfium2
import pytest
from numpy.typing import NDArray
from shapely import Point, Polygon, unary_union

from labelkit import forms
from labelkit.drawing.page import BLACK, WHITE, Box, Group, Page, Path, Text
from labelkit.model.form import FORMS
from labelkit.model.part import Part
from labelkit.render import write
from labelkit.sheets.orientation import dial, orientation
from labelkit.sheets.seatsymbol import MANNER
from tests.shop import DEMO_UNITS, demo, profile_of

BOX = Box(2, 3, 15, 12)
DPI = 203.2
SEAL = "lip_seal: {id: 45, od: 62, w: 8}"
RING = "ring: {od: 72, id: 50, t: 3}"
O_RING = "o_ring: {id: 60, section: 4}"


def part(form: str = "", sits: str = "") -> Part:
    """Return a part with this form, sitting so, both written as in a profile."""
    fields = (f", form: {{{form}}}" if form else "") + (f", sits: {{{sits}}}" if sits else "")
    text = f"format: 1\nunit: {{mark: P7, name: Pump, up: drive side}}\nparts:\n  - {{id: part, name: Part{fields}}}\n"
    return profile_of(text).profile.parts[0]


def demo_parts() -> Iterator[Part]:
    for unit in DEMO_UNITS:
        for _, each in demo(unit).profile.walk():
            if each.form is not None and each.sits is not None and each.sits.up is not None:
                yield each


PARTS = {f"{each.id} {each.form.kind}": each for each in demo_parts() if each.form}
SIDED = [name for name, each in PARTS.items() if each.form and forms.sided(each.form)]
SOLID = [
    name
    for name, each in PARTS.items()
    # The socket of a plug is deeper than its head, which alone is black.
    if each.form and forms.section(each.form).round and not forms.section(each.form).bore and each.form.kind != "plug"
]


def filled(drawn: Group, fill: str) -> list[Polygon]:
    """Return the filled faces of a drawing as shapely sees them."""
    return [
        Polygon([command[1:3] for command in item.d if len(command) == 3])
        for item in drawn.items
        if isinstance(item, Path) and item.fill == fill
    ]


def dots(drawn: Group) -> NDArray[np.bool_]:
    """Return what a printer of 8 dots a millimetre blackens of the box."""
    stream = io.BytesIO()
    write([Page(BOX.right + 2, BOX.bottom + 3, (drawn,))], ".pdf", stream, title="drawing")
    document = pypdfium2.PdfDocument(stream.getvalue())
    picture = document[0].render(scale=DPI / 72, grayscale=True, may_draw_forms=False).to_numpy()
    document.close()
    left, top = round(BOX.x * 8), round(BOX.y * 8)
    return np.asarray(picture[top : top + round(BOX.height * 8), left : left + round(BOX.width * 8)] < 128).squeeze()


@pytest.mark.parametrize("name", sorted(PARTS))
def test_everything_stays_in_its_box(name: str) -> None:
    """No face, no edge and no ground reaches beyond the box, however long or flat the part."""
    drawn = orientation(PARTS[name], BOX)
    points = [command[1:3] for item in drawn.items if isinstance(item, Path) for command in item.d if len(command) == 3]

    assert points
    for x, y in points:
        assert BOX.x - 1e-6 <= x <= BOX.right + 1e-6
        assert BOX.y - 1e-6 <= y <= BOX.bottom + 1e-6


@pytest.mark.parametrize("name", sorted(SOLID))
def test_no_hairline_where_the_halves_meet(name: str) -> None:
    """A half that lies on the axis is one face with its mirror image: black runs through the middle unbroken."""
    drawn = orientation(PARTS[name], BOX)
    black = dots(drawn)
    middle = BOX.x + BOX.width / 2
    faces = [face for face in filled(drawn, BLACK) if face.bounds[0] < middle < face.bounds[2]]

    assert faces
    assert unary_union(faces).contains(Point(middle, faces[0].centroid.y))
    assert black[round((faces[0].centroid.y - BOX.y) * 8), 56:64].all()


@pytest.mark.parametrize("form", [SEAL, O_RING])
def test_rubber_is_white_with_an_outline_and_metal_is_black(form: str) -> None:
    """In pure black and white a lip is told from its case, and an O-ring from a wire."""
    drawn = orientation(part(form, "up: free"), BOX)
    rubber = [face.material for face in forms.section(part(form).form).faces].count("rubber")  # type: ignore[arg-type]

    assert 2 * rubber == len(filled(drawn, WHITE))
    assert all(item.pen for item in drawn.items if isinstance(item, Path) and item.fill == WHITE)
    inside = unary_union(filled(drawn, WHITE)).buffer(-0.3)
    black = dots(drawn)
    for x, y in ((x, y) for y in range(black.shape[0]) for x in range(black.shape[1])):
        if inside.contains(Polygon([(BOX.x + (x + a) / 8, BOX.y + (y + b) / 8) for a, b in ((0, 0), (1, 0), (1, 1))])):
            assert not black[y, x]


def test_the_lip_of_a_seal_can_be_seen() -> None:
    """At 12 mm the case is at least two dots thick everywhere and the rubber shows white inside its outline."""
    drawn = orientation(part(SEAL, "up: flat back, opens: down"), BOX)

    assert unary_union(filled(drawn, BLACK)).buffer(-0.12).area > 0.5
    assert unary_union(filled(drawn, WHITE)).buffer(-0.2).area > 0.5


@pytest.mark.parametrize(
    "form", [RING, O_RING, "steel_plate: {od: 140, id: 98, t: 2, lugs: 6}", "bush: {id: 50, od: 58, l: 92}"]
)
def test_thin_walls_are_drawn_close_together(form: str) -> None:
    """The cut material takes more than half of the width, so that a thin ring is no pair of dots."""
    drawn = orientation(part(form, "up: free"), BOX)
    faces = unary_union(filled(drawn, BLACK) + filled(drawn, WHITE))
    left, _, right, _ = faces.bounds
    middle = (faces.bounds[1] + faces.bounds[3]) / 2
    cut = faces.intersection(
        Polygon([(left, middle - 0.01), (right, middle - 0.01), (right, middle + 0.01), (left, middle + 0.01)])
    )

    assert cut.area / 0.02 > 0.5 * (right - left)


@pytest.mark.parametrize("name", sorted(SIDED))
def test_a_drawing_is_neither_a_thread_nor_a_plank(name: str) -> None:
    """Where direction shows, height over width stays between the limits, whatever the true proportions."""
    each = PARTS[name]
    assert each.sits is not None
    drawn = orientation(each.model_copy(update={"sits": each.sits.model_copy(update={"opens": "up"})}), BOX)
    left, top, right, bottom = unary_union(filled(drawn, BLACK) + filled(drawn, WHITE)).bounds

    assert MANNER.flattest - 1e-6 <= (bottom - top) / (right - left) <= MANNER.tallest + 1e-6


def test_turned_over_is_the_mirror_image() -> None:
    """Open side down is open side up, turned over on the same ground."""
    up, down = (orientation(part(SEAL, f"up: lip, opens: {way}"), BOX) for way in ("up", "down"))
    above, below = (unary_union(filled(drawn, BLACK)) for drawn in (up, down))
    flipped = Polygon([(x, above.bounds[1] + above.bounds[3] - y) for x, y in above.geoms[0].exterior.coords])

    assert above.bounds == pytest.approx(below.bounds)
    assert above.area == pytest.approx(below.area)
    assert any(
        flipped.equals_exact(each, 1e-6) or flipped.normalize().equals_exact(each.normalize(), 1e-6)
        for each in below.geoms
    )


@pytest.mark.parametrize("sits", ["", "clock: free"])
@pytest.mark.parametrize("form", ["", SEAL])
def test_not_recorded_is_a_question_mark(form: str, sits: str) -> None:
    """What nobody recorded is never drawn as if it were known."""
    drawn = orientation(part(form, sits), BOX)

    assert ["?"] == [item.string for item in drawn.items if isinstance(item, Text)]
    assert [] == filled(drawn, BLACK)


@pytest.mark.parametrize(("form", "sits"), [("", "up: arrow"), (SEAL, "up: flat back")])
def test_a_face_that_no_form_shows_is_an_arrow(form: str, sits: str) -> None:
    """The words name the face; the drawing says up, and does not pretend to know more."""
    (arrow,) = orientation(part(form, sits), BOX).items
    assert isinstance(arrow, Path)
    outline = Polygon([command[1:3] for command in arrow.d if len(command) == 3])

    tip = min(outline.exterior.coords, key=lambda point: point[1])
    assert tip[0] == pytest.approx(BOX.x + BOX.width / 2)
    assert outline.centroid.y < BOX.y + BOX.height / 2


@pytest.mark.parametrize(("form", "up"), [("", "bronze toward planet"), (SEAL, "lip down")])
def test_words_that_say_the_way_stand_without_an_arrow(form: str, up: str) -> None:
    """An arrow that points up beside LIP DOWN would be read either way."""
    assert orientation(part(form, f"up: {up}"), BOX).items == ()


def test_either_way_without_a_form_is_an_arrow_both_ways() -> None:
    """Up or down: both are right."""
    (arrow,) = orientation(part("", "up: free"), BOX).items
    assert isinstance(arrow, Path)
    outline = Polygon([command[1:3] for command in arrow.d if len(command) == 3])

    assert outline.centroid.y == pytest.approx(BOX.y + BOX.height / 2)
    assert outline.is_valid


def test_every_form_can_be_drawn() -> None:
    """Each form of the profile that a demo unit has is drawn from the catalogue, none as a box."""
    kinds = {each.form.kind for each in PARTS.values() if each.form}

    assert (
        {"lip_seal", "o_ring", "snap_ring", "drum", "gear", "shaft", "taper_cone", "bolt", "piston"}
        <= kinds
        <= set(FORMS)
    )


@pytest.mark.parametrize(("hour", "x", "y"), [("12:00", 0, -1), ("3:00", 1, 0), ("6:00", 0, 1), ("9:00", -1, 0)])
def test_the_hand_points_to_the_hour(hour: str, x: int, y: int) -> None:
    """Twelve is up, three is right: seen as a clock is."""
    drawn = dial(part("", f'clock: "{hour}"'), BOX)
    (hand,) = filled(drawn, BLACK)
    centre = (BOX.x + BOX.width / 2, BOX.y + BOX.height / 2)
    far = max(hand.exterior.coords, key=lambda point: abs(point[0] - centre[0]) + abs(point[1] - centre[1]))

    assert (far[0] - centre[0], far[1] - centre[1]) == pytest.approx((x * 5.52, y * 5.52), abs=0.01)


def test_free_and_not_recorded_have_no_hand() -> None:
    """Free is an empty dial, not recorded one with a question mark."""
    free, missing = dial(part("", "clock: free"), BOX), dial(part(), BOX)

    assert [] == filled(free, BLACK) + filled(missing, BLACK)
    assert [] == [item for item in free.items if isinstance(item, Text)]
    assert ["?"] == [item.string for item in missing.items if isinstance(item, Text)]
