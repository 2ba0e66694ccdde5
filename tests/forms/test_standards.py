"""Sizes of standard parts against the published tables.

Values marked (memory) are recalled, not read.
"""

from __future__ import annotations

import math

import pytest

from labelkit import forms
from labelkit.forms import standards
from labelkit.model.form import FORMS, Form


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
    envelope = forms.envelope(make("bolt", d="8", l="30", head=head))

    assert (overall, widest) == pytest.approx((envelope.length, envelope.width))


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
