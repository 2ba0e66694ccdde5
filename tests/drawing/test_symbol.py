"""Sizes of symbols: whole printer dots, the level rule, and what is said when nothing fits."""

import re

import pytest
import segno
from hypothesis import given, settings
from hypothesis import strategies as st

from labelkit.drawing.page import Symbol
from labelkit.drawing.symbol import fit_symbol, outer_side, smallest_module, snap, two_symbols
from labelkit.errors import CapacityError, UsageError

PRINTERS = [203.2, 300, 600]  # dots per inch; 203.2 are 8 dots a millimetre
INCH = 25.4
ADDRESS = "http://192.168.1.20:8080/7K3M9Q2XF41"
TEXTS = st.text(st.sampled_from("ABCDEFGHJKMNPQRSTVWXYZ"), min_size=1, max_size=90)


def whole(number):
    """Return a number as a whole one; fail where it is none."""
    assert number == pytest.approx(round(number), abs=1e-6)
    return round(number)


def smallest_by_segno(text, level):
    """Return the version that an independent encoder takes for a text of capital letters."""
    made = segno.make(text, error=level, boost_error=False, micro=False, mode="alphanumeric", mask=0)
    return made.version


@pytest.mark.parametrize(
    ("version", "sides"),
    [
        (3, (12.2, 14.8, 18.5, 27.8, 37.0)),
        (4, (13.5, 16.4, 20.5, 30.8, 41.0)),
        (10, (21.4, 26.0, 32.5, 48.8, 65.0)),
    ],
)
def test_the_side_counts_the_quiet_zone(version, sides):
    """17 + 4 x version modules and four on either side. Source: ISO/IEC 18004 (formula from memory)."""
    made = [outer_side(version, module) for module in (0.33, 0.4, 0.5, 0.75, 1.0)]

    assert sides == pytest.approx(made, abs=0.0501)


@pytest.mark.parametrize(
    ("dpi", "modules"),
    [
        (203.2, [0.375, 0.5, 0.625, 0.75]),
        (300, [0.3387, 0.4233, 0.508, 0.5927, 0.6773, 0.762]),
        (600, [0.3387, 0.381, 0.4233, 0.4657, 0.508, 0.5503, 0.5927, 0.635, 0.6773, 0.7197, 0.762]),
    ],
)
def test_modules_are_whole_dots_of_the_printer(dpi, modules):
    """With more room the module grows dot by dot. The least is common practice, no source."""
    sides = [14 + step / 10 for step in range(150)]
    found = {round(fit_symbol("A" * 40, side=side, dpi=dpi, frame=0).module, 4) for side in sides}

    assert modules == sorted(module for module in found if module < 0.77)


@settings(max_examples=150, deadline=None)
@given(TEXTS, st.floats(5, 60), st.sampled_from(PRINTERS), st.sampled_from([0, 0.5, 0.7, 1.0]))
def test_a_plan_is_the_largest_that_fits_in_whole_dots(text, side, dpi, frame):
    """Inside the square, on whole dots, not below the least module, and one dot more would be too much."""
    dot = INCH / dpi
    try:
        plan = fit_symbol(text, side=side, dpi=dpi, frame=frame)
    except CapacityError:
        least = {203.2: 3, 300: 4, 600: 8}[dpi]  # the first whole number of dots from 0.375 and from 0.33 mm
        assert side < (4 * smallest_by_segno(text, "m") + 25) * least * dot
        return
    dots = whole(plan.module / dot)
    line = whole(plan.frame / dot)
    across = plan.matrix.size + 8

    assert plan.side == pytest.approx((across * dots + 2 * line) * dot)
    assert plan.side <= side + 1e-6
    assert plan.module >= smallest_module(dpi) - 1e-9
    assert plan.side + across * dot > side - 1e-6
    assert (line > 0) <= (frame > 0)
    assert abs(plan.frame - frame) <= dot / 2 + 1e-9 or plan.frame == 0


@settings(max_examples=80, deadline=None)
@given(TEXTS)
def test_the_version_is_the_one_for_level_q_and_the_level_as_high_as_it_allows(text):
    """H where the version for Q holds it, otherwise Q. Versions by segno, an independent encoder."""
    plan = fit_symbol(text, side=60, dpi=600)
    version = smallest_by_segno(text, "q")
    expected = (version, "H" if smallest_by_segno(text, "h") == version else "Q")

    assert expected == (plan.matrix.version, plan.matrix.level)


@pytest.mark.parametrize(
    ("text", "expected"),
    [
        ("http://10.0.0.5:8080/B/7K3M9Q2X", (3, "H")),  # 206 of the 208 bits of 3-H
        ("http://192.168.1.20:8080/B/7K3M9Q2X", (3, "Q")),  # 228 bits: H would take version 4
    ],
)
def test_a_longer_address_keeps_its_version_and_gives_up_level_h(text, expected):
    """Bits counted by hand: 12 + 32 for http, 13 + 5.5 a letter for the rest."""
    plan = fit_symbol(text, side=25, dpi=300)

    assert expected == (plan.matrix.version, plan.matrix.level)


@pytest.mark.parametrize(("side", "level"), [(29.9, "m"), (30, "q"), (40, "q")])
def test_a_card_gets_level_m_below_30_mm(side, level):
    """Its version is the smallest for that level. Common practice, no source; the version by segno."""
    text = "HAT UP - NOTCH TO SIX - " * 6
    plan = fit_symbol(text, side=side, dpi=600, card=True)

    assert smallest_by_segno(text, level) == plan.matrix.version


def test_a_text_that_fits_at_level_m_only_gets_it():
    """Fourteen letters more than 3-Q holds fit 3-M. Source: ISO/IEC 18004, table 7: 47 and 61."""
    plan = fit_symbol("A" * 61, side=15.5, dpi=203.2)

    assert (plan.matrix.version, plan.matrix.level, plan.frame) == (3, "M", 0.75)


def test_the_frame_goes_only_where_the_symbol_would_not_fit_with_it():
    """3-Q at three dots takes 13.875 mm, and 1.5 mm more with a frame of six dots."""
    bare, framed = (fit_symbol(ADDRESS, side=side, dpi=203.2) for side in (15.37, 15.375))

    assert (bare.frame, bare.side) == (0, 13.875)
    assert (framed.frame, framed.side) == (0.75, 15.375)


@pytest.mark.parametrize("dpi", [*PRINTERS, 254])  # the last: ten dots a millimetre, a side of exactly 14.8 mm
@pytest.mark.parametrize("side", [12.1, 12.3])
def test_a_refusal_names_a_side_and_a_text_that_would_fit(dpi, side):
    """Both are tried: they fit, and a tenth of a millimetre or a letter more does not."""
    with pytest.raises(CapacityError) as refusal:
        fit_symbol(ADDRESS, side=side, dpi=dpi)
    told = re.search(
        r"a side of at least ([\d.]+) mm, or a text of at most (\d+) characters .* or (\d+) others",
        str(refusal.value),
    )
    assert told, refusal.value
    needed, letters, others = float(told[1]), int(told[2]), int(told[3])

    assert fit_symbol(ADDRESS, side=needed, dpi=dpi).side <= needed
    assert fit_symbol("A" * letters, side=side, dpi=dpi).side <= side
    assert fit_symbol("a" * others, side=side, dpi=dpi).side <= side
    for text, room in ((ADDRESS, needed - 0.1), ("A" * (letters + 1), side), ("a" * (others + 1), side)):
        with pytest.raises(CapacityError):
            fit_symbol(text, side=room, dpi=dpi)


def test_a_refusal_says_what_was_given():
    """Text, square, version, modules, least module and printer are all there."""
    expected = (
        f"QR symbol: '{ADDRESS}' (36 characters) does not fit a square of 9 mm: "
        "version 3 at level Q is 37 modules wide with its quiet zone, and a module takes at least 0.375 mm "
        "(3 dots at 203.2 dpi); "
        "needed: a side of at least 13.9 mm, and no text fits less than 10.88 mm"
    )
    with pytest.raises(CapacityError) as refusal:
        fit_symbol(ADDRESS, side=9, dpi=203.2)

    assert expected == str(refusal.value)


def test_a_text_beyond_the_largest_symbol_is_refused_whatever_the_side():
    """2331 bytes are the most at 40-M. Source: ISO/IEC 18004, table 7 (from memory)."""
    assert fit_symbol("a" * 2331, side=200, dpi=600, card=True).matrix.version == 40
    with pytest.raises(CapacityError, match="but version 40 at level M holds 18672"):
        fit_symbol("a" * 2332, side=200, dpi=600, card=True)


@pytest.mark.parametrize("wrong", [{"dpi": 0}, {"dpi": 300, "frame": -0.1}])
def test_measures_that_make_no_sense_are_refused(wrong):
    """A resolution of nothing, a frame below nothing."""
    with pytest.raises(UsageError, match="allowed: above 0 dpi, from 0 mm"):
        fit_symbol("A", side=20, **wrong)


@given(st.floats(-300, 300), st.sampled_from(PRINTERS))
def test_snapped_places_lie_on_the_nearest_dot(value, dpi):
    """At most half a dot away, and a whole number of dots from the edge."""
    snapped = snap(value, dpi)
    whole(snapped / (INCH / dpi))

    assert abs(snapped - value) <= INCH / dpi / 2 + 1e-9


@given(st.floats(0, 200), st.sampled_from(PRINTERS), st.sampled_from([0.0, 0.7]))
@settings(deadline=None)
def test_every_module_of_a_snapped_symbol_begins_on_a_dot(x, dpi, frame):
    """Corner on the grid, frame and module whole dots: so is every edge, in the page's own geometry."""
    plan = fit_symbol(ADDRESS, side=22, dpi=dpi, frame=frame)
    symbol = Symbol(snap(x, dpi), snap(x, dpi), plan.matrix, plan.module, plan.frame, ADDRESS)

    assert symbol.side == pytest.approx(plan.side)
    for column in (0, 1, 7, plan.matrix.size):
        whole((symbol.inner.x + column * plan.module) / (INCH / dpi))


@pytest.mark.parametrize(("width", "two"), [(70, False), (87.9, False), (88.9, True), (99.1, True)])
def test_a_wide_label_carries_two_symbols(width, two):
    """From stock of about 90 mm. Common practice, no source."""
    assert two is two_symbols(width)
