"""Sizes of standard parts against the published tables.

Values marked (memory) are recalled, not read.
"""

from __future__ import annotations

import math

import pytest

from labelkit import forms
from labelkit.forms import standards
from labelkit.forms.geometry import Box
from labelkit.model.form import FORMS
from labelkit.model.formbase import Form
from labelkit.units import Quantity
from tests.shop import DEMO_UNITS, demo


def make(kind: str, **sizes: str) -> Form:
    return FORMS[kind].model_validate(sizes)


# ISO 4014:2011 and ISO 4017:2011: d -> s, k nominal.
@pytest.mark.parametrize(
    ("d", "s", "k"),
    [(5, 8, 3.5), (6, 10, 4), (8, 13, 5.3), (10, 16, 6.4), (12, 18, 7.5), (16, 24, 10), (20, 30, 12.5)],
)
def test_hexagon_heads_follow_iso_4014(d: float, s: float, k: float) -> None:
    """Width across flats and nominal height, the widths of 2011: 16 for M10 and 18 for M12, not the older 17 and 19."""
    assert (s, k) == standards.hex_head(d)


# ISO 4762:2004: d -> dk (plain head, largest), k, hexagon socket s.
@pytest.mark.parametrize(
    ("d", "dk", "k", "s"),
    [
        (3, 5.5, 3, 2.5),
        (5, 8.5, 5, 4),
        (6, 10, 6, 5),
        (8, 13, 8, 6),
        (10, 16, 10, 8),
        (12, 18, 12, 10),
        (16, 24, 16, 14),
        (20, 30, 20, 17),
    ],
)
def test_socket_heads_follow_iso_4762(d: float, dk: float, k: float, s: float) -> None:
    """Head diameter, head height (always d) and socket."""
    head = standards.socket_head(d)

    assert head is not None
    assert (dk, k, s) == (head.dk, head.k, head.s)
    assert 0 < head.t < head.k


# ISO 10642:2004 (memory): d -> theoretical dk, s; the cone is 90 degrees.
@pytest.mark.parametrize(("d", "dk", "s"), [(4, 8.96, 2.5), (6, 13.44, 4), (8, 17.92, 5), (10, 22.4, 6)])
def test_countersunk_heads_follow_iso_10642(d: float, dk: float, s: float) -> None:
    """Theoretical head diameter (2.24 d up to M12) and socket; a cone of 90 degrees is as high as it is deep."""
    head = standards.countersunk_head(d)

    assert head is not None
    assert (dk, s) == (head.dk, head.s)
    assert head.k == pytest.approx((head.dk - d) / 2)


# ISO 4032:2012 (memory): d -> s, m largest.
@pytest.mark.parametrize(("d", "s", "m"), [(6, 10, 5.2), (8, 13, 6.8), (10, 16, 8.4), (12, 18, 10.8), (16, 24, 14.8)])
def test_nuts_follow_iso_4032(d: float, s: float, m: float) -> None:
    """Width across flats and height of style 1 nuts."""
    assert (s, m) == standards.hex_nut(d)


# EN 1665:1998: d -> dc largest, s.
@pytest.mark.parametrize(("d", "dc", "s"), [(6, 14.2, 10), (8, 18, 13), (10, 22.3, 16), (12, 26.6, 18), (16, 35, 24)])
def test_flange_heads_follow_en_1665(d: float, dc: float, s: float) -> None:
    """Flange diameter and width across flats."""
    head = standards.flange_head(d)

    assert head is not None
    assert (dc, s) == (head.dc, head.s)


# DIN 471:2011: d1 -> s, groove d2, groove width m.
@pytest.mark.parametrize(
    ("d", "s", "d2", "m"),
    [
        (20, 1.2, 19.0, 1.3),
        (25, 1.2, 23.9, 1.3),
        (30, 1.5, 28.6, 1.6),
        (35, 1.5, 33.0, 1.6),
        (40, 1.75, 37.5, 1.85),
        (50, 2.0, 47.0, 2.15),
        (60, 2.0, 57.0, 2.15),
        (72, 2.5, 69.0, 2.65),
        (80, 2.5, 76.5, 2.65),
    ],
)
def test_shaft_rings_follow_din_471(d: float, s: float, d2: float, m: float) -> None:
    """Thickness, groove diameter and groove width."""
    ring = standards.retaining_ring("shaft", d)

    assert ring is not None
    assert (s, d2, m) == (ring.s, ring.d2, ring.m)


# DIN 472:2011: d1 -> s, groove d2, groove width m.
@pytest.mark.parametrize(
    ("d", "s", "d2", "m"),
    [
        (25, 1.2, 26.2, 1.3),
        (30, 1.2, 31.4, 1.3),
        (40, 1.75, 42.5, 1.85),
        (47, 1.75, 49.5, 1.85),
        (52, 2.0, 55.0, 2.15),
        (60, 2.0, 63.0, 2.15),
        (72, 2.5, 75.0, 2.65),
        (80, 2.5, 83.5, 2.65),
    ],
)
def test_bore_rings_follow_din_472(d: float, s: float, d2: float, m: float) -> None:
    """Thickness, groove diameter and groove width."""
    ring = standards.retaining_ring("bore", d)

    assert ring is not None
    assert (s, d2, m) == (ring.s, ring.d2, ring.m)


@pytest.mark.parametrize("d", standards.DIN_471.diameters)
def test_every_shaft_ring_fits_its_groove(d: float) -> None:
    """Thinner than the groove is wide, and tighter than the groove, so that it stays in it."""
    ring = standards.retaining_ring("shaft", d)

    assert ring is not None
    assert ring.s < ring.m
    assert ring.d3 < ring.d2 < d
    assert ring.d5 < ring.a


@pytest.mark.parametrize("d", standards.DIN_472.diameters)
def test_every_bore_ring_fits_its_groove(d: float) -> None:
    """Thinner than the groove is wide, and wider than the groove, so that it stays in it."""
    ring = standards.retaining_ring("bore", d)

    assert ring is not None
    assert ring.s < ring.m
    assert d < ring.d2 < ring.d3
    assert ring.d5 < ring.a


@pytest.mark.parametrize(
    "table",
    [
        standards.ISO_4014,
        standards.ISO_4762,
        standards.ISO_10642,
        standards.EN_1665,
        standards.ISO_4032,
        standards.DIN_908,
        standards.DIN_471,
        standards.DIN_472,
    ],
    ids=lambda table: table.source,
)
def test_tables_rise_and_name_their_source(table: standards.Table) -> None:
    """A row out of order is a misprint: the diameter rises strictly, the first size of a row never falls."""
    assert table.source.startswith(("ISO ", "DIN ", "EN "))
    assert list(table.diameters) == sorted(set(table.diameters))
    first = [row[0] for row in table.rows]
    assert first == sorted(first)


def test_a_size_between_two_rows_is_taken_between_them() -> None:
    """No M11 is in ISO 4014; it lies half way between M10 (16, 6.4) and M12 (18, 7.5)."""
    assert (17, 6.95) == pytest.approx(standards.hex_head(11))


@pytest.mark.parametrize("d", [0.5, 400])
def test_a_size_beyond_a_table_is_not_guessed(d: float) -> None:
    """Outside the printed rows there is no size."""
    assert standards.hex_head(d) is None
    assert standards.retaining_ring("shaft", d) is None


@pytest.mark.parametrize("d", ["6", "8", "12", "20"])
def test_a_nut_is_as_wide_across_corners_as_trigonometry_says(d: str) -> None:
    """Across corners is s / cos 30 degrees; across flats is s."""
    nut = standards.hex_nut(float(d))
    box = forms.plan(make("nut", d=d)).outer.box()

    assert nut is not None
    assert nut.s / math.cos(math.radians(30)) == pytest.approx(box.width)
    assert nut.s == pytest.approx(box.height)


@pytest.mark.parametrize(
    ("head", "widest", "overall"),
    # M8 x 30: ISO 4014, ISO 4762, ISO 10642 (memory; the length includes the head), EN 1665.
    [("hex", 13 / math.cos(math.pi / 6), 35.3), ("socket", 13, 38), ("countersunk", 17.92, 30), ("flange", 18, 38.1)],
)
def test_a_bolt_lies_with_the_sizes_of_its_head(head: str, widest: float, overall: float) -> None:
    """An M8 x 30 is as wide as its head and as long as head and shank together."""
    box = forms.plan(make("bolt", d="8", l="30", head=head)).outer.box()

    assert (overall, widest) == pytest.approx((box.width, box.height))


def test_a_snap_ring_has_its_table_sizes() -> None:
    """A free ring for a 40 mm shaft: inside 36.5, lugs 6 high, so 24.25 mm from the axis to the tip (DIN 471)."""
    plan = forms.plan(make("snap_ring", fits="shaft", d="40", t="1.75"))
    inner = min(math.hypot(x, y) for x, y in plan.outer.polygon(0.001))

    assert 18.25 == pytest.approx(inner, abs=0.01)
    assert 24.25 == pytest.approx(plan.outer.reach())
    assert 2 == len(plan.holes)


def test_a_ring_beyond_the_table_says_what_is_missing() -> None:
    """A 400 mm ring is in no table; it is drawn without lugs and says so."""
    plan = forms.plan(make("snap_ring", fits="shaft", d="400", t="6"))

    assert plan.missing
    assert () == plan.holes


@pytest.mark.parametrize(
    ("head", "d", "length", "thread"),
    # ISO 888: 2d + 6 up to 125 mm, 2d + 12 up to 200, 2d + 25 beyond; socket screws 2d + 12 (memory).
    [("hex", 8, 80, 22), ("hex", 12, 150, 36), ("hex", 12, 240, 49), ("socket", 12, 240, 36), ("hex", 8, 16, 16)],
)
def test_a_screw_is_threaded_as_far_as_the_standard_says(head: str, d: float, length: float, thread: float) -> None:
    """Long screws have a plain shank above a thread of standard length, short ones are all thread."""
    assert thread == standards.thread_length(head, d, length)


# --- what the demo units use ------------------------------------------------------------------------------------------

# Sizes that a standard lists together, by form; in the order of the names. (memory) as above; "table": read in public
# tables that cite the standard.
PUBLISHED: dict[str, tuple[tuple[str, ...], set[tuple[float, ...]]]] = {
    # ISO 15:2017: dimension series 10 (table) and 02 (memory)
    "ball_bearing": (("id", "od", "w"), {(50, 80, 16), (80, 140, 26)}),
    # ISO 355: cone bore and width over all: 30206, 30207 (table); 30210, 30212, 32016 X, 32018 X (memory)
    "taper_cone": (("id", "w"), {(30, 17.25), (35, 18.25), (50, 21.75), (60, 23.75), (80, 29), (90, 32)}),
    # ISO 355: cup outside diameter and width of 30207, 32016 X and 32018 X (memory)
    "taper_cup": (("od", "w"), {(72, 15), (125, 22), (140, 24)}),
    # DIN 3760:1996: the first (table), the others (memory)
    "lip_seal": (("id", "od", "w"), {(45, 62, 8), (45, 65, 8), (65, 90, 10), (80, 110, 10), (110, 140, 12)}),
    # DIN 471 and DIN 472:2011: nominal diameter and thickness (table), bore 140 (memory)
    "snap_ring": (("d", "t"), {(40, 1.75), (50, 2.0), (60, 2.0), (80, 2.5), (140, 4.0)}),
    # DIN 5405-2 (ISO 3031): bore and outside diameter (table), thickness (memory)
    "thrust_bearing": (("id", "od", "t"), {(45, 65, 3), (50, 70, 3)}),
    # DIN 5405-1 (ISO 3030) needle cages (memory)
    "needle_cage": (("id", "od", "w"), {(25, 31, 17), (45, 50, 27)}),
    # ISO 3601-1: cross-sections of the metric series (memory); a catalogue lists many inside diameters
    "o_ring": (("section",), {(2.65,), (3.55,), (5.30,)}),
    # ISO 261: preferred metric threads (memory)
    "bolt": (("d",), {(8,), (10,), (12,), (16,)}),
    # ISO 262, fine pitch 1.5: M18 and M22 (memory)
    "plug": (("d",), {(18,), (22,)}),
}
# What the demo units have that no standard lists: a graded end ring, and a nut of a thread between two rows.
OF_THEIR_OWN = {"end-ring-ahead", "end-ring-astern", "astern-nut"}
STANDARD = [
    (unit, part.id, part.form)
    for unit in DEMO_UNITS
    for _, part in demo(unit).profile.walk()
    if part.form and part.form.kind in PUBLISHED and part.id not in OF_THEIR_OWN
]


def sizes_of(form: Form) -> tuple[float, ...]:
    """Return the sizes of a form that its standard fixes, mm."""
    named = (getattr(form, name) for name in PUBLISHED[form.kind][0])
    return tuple(float(size.mm) for size in named if isinstance(size, Quantity))


@pytest.mark.parametrize(("unit", "ident", "form"), STANDARD, ids=[ident for _, ident, _ in STANDARD])
def test_standard_parts_of_the_demo_units_have_published_sizes(unit: str, ident: str, form: Form) -> None:
    """Sources: beside each row above."""
    assert sizes_of(form) in PUBLISHED[form.kind][1]


def test_the_demo_units_have_standard_parts_of_every_kind_but_keys() -> None:
    """Nobody took the parts away that are looked at here; their gears sit on keys that are no parts."""
    kinds = {form.kind for _, _, form in STANDARD}
    all_kinds = {part.form.kind for unit in DEMO_UNITS for _, part in demo(unit).profile.walk() if part.form}

    assert kinds == set(PUBLISHED)
    assert "key" not in all_kinds


# Head diameter (across corners for a hexagon) and height of the demo units' screws: ISO 4762:2004 and ISO 4014:2011.
HEADS = {
    ("socket", 8): (13, 8),
    ("socket", 12): (18, 12),
    ("socket", 16): (24, 16),
    ("hex", 8): (13 * 2 / math.sqrt(3), 5.3),
    ("hex", 10): (16 * 2 / math.sqrt(3), 6.4),
}
# DIN 908:2012 (memory): collar diameter and thickness.
COLLARS = {18: (23, 4), 22: (27, 4)}


def drawn(form: Form) -> Box:
    """Return the box of the half section as it is drawn."""
    boxes = [face.contour.box() for face in forms.section(form).faces]
    return Box(min(b.left for b in boxes), 0.0, max(b.right for b in boxes), max(b.top for b in boxes))


@pytest.mark.parametrize("form", [form for _, _, form in STANDARD if form.kind in ("bolt", "plug")], ids=str)
def test_screws_of_the_demo_units_are_drawn_with_published_heads(form: Form) -> None:
    """The head stands on the length that the profile gives."""
    d = int(form.d.mm)  # type: ignore[attr-defined]
    wide, high = HEADS[form.head, d] if form.kind == "bolt" else COLLARS[d]  # type: ignore[attr-defined]
    box = drawn(form)

    assert wide == pytest.approx(2 * box.right)
    assert float(form.l.mm) + high == pytest.approx(box.top)  # type: ignore[attr-defined]


# DIN 471 and DIN 472:2011, regular series: inside diameter of the free ring for a shaft, outside of one for a bore.
FREE = {("shaft", 40): 36.5, ("shaft", 50): 45.8, ("shaft", 60): 55.8, ("bore", 80): 85.5, ("bore", 140): 147}


@pytest.mark.parametrize("form", [form for _, _, form in STANDARD if form.kind == "snap_ring"], ids=str)
def test_rings_of_the_demo_units_are_drawn_with_published_sizes(form: Form) -> None:
    """Free diameter on the side of the groove, and thickness."""
    free, box = FREE[form.fits, int(form.d.mm)], drawn(form)  # type: ignore[attr-defined]

    assert free == pytest.approx(2 * (box.left if form.fits == "shaft" else box.right))  # type: ignore[attr-defined]
    assert float(form.t.mm) == pytest.approx(box.top)  # type: ignore[attr-defined]


@pytest.mark.parametrize(
    "form", [form for _, _, form in STANDARD if form.kind in ("ball_bearing", "lip_seal", "taper_cup")], ids=str
)
def test_bearings_and_seals_of_the_demo_units_fill_their_boundary_sizes(form: Form) -> None:
    """Bore, outside diameter and width as they are drawn are those of the standard."""
    box, width = drawn(form), float(form.w.mm)  # type: ignore[attr-defined]

    assert (float(form.id.mm), float(form.od.mm), width) == pytest.approx((2 * box.left, 2 * box.right, box.top))  # type: ignore[attr-defined]


# ISO 4032:2012: M42 (memory): across flats 65, height 34, as the socket of 65 in the profile's tools says.
def test_the_coupling_nut_is_drawn_as_iso_4032_has_it() -> None:
    """Across corners s / cos 30 degrees."""
    (nut,) = (part.form for _, part in demo("marine-gear").profile.walk() if part.id == "coupling-nut")
    assert nut is not None
    box = drawn(nut)

    assert 65 / math.cos(math.pi / 6) == pytest.approx(2 * box.right)
    assert 34 == pytest.approx(box.top)


# DIN 6885-1: shaft diameter -> b, h (table that cites it). The demo units have none; a profile may.
@pytest.mark.parametrize(("b", "h"), [(3, 3), (5, 5), (6, 6), (8, 7), (10, 8), (12, 8), (14, 9)])
def test_a_key_is_drawn_as_wide_and_high_as_din_6885_lists_it(b: int, h: int) -> None:
    """From above b wide with both ends round (form A), from the side h high."""
    key = make("key", b=str(b), h=str(h), l="40")
    plan = forms.plan(key)

    assert (40, b) == pytest.approx((plan.outer.box().width, plan.outer.box().height))
    assert (h, h) == pytest.approx((plan.height, forms.section(key).height))
    assert 40 * b - (1 - math.pi / 4) * b**2 == pytest.approx(plan.outer.area())
