"""Round parts from a half profile: side view, end view and section are of one body."""

from __future__ import annotations

import math

import pytest

from labelkit.forms import turned
from labelkit.forms.geometry import Contour

# A pin of 20 on a disc of 50, from the pin's end down: (r, z).
STEPPED = [(10.0, 40.0), (10.0, 8.0), (25.0, 8.0), (25.0, 0.0)]
# The same with a longer pin: it is longer than across.
LONG = [(10.0, 90.0), (10.0, 8.0), (25.0, 8.0), (25.0, 0.0)]


@pytest.mark.parametrize(("profile", "lies"), [(STEPPED, False), (LONG, True)])
def test_what_is_longer_than_across_lies_down(profile: turned.Profile, lies: bool) -> None:
    """40 high and 50 across stands, 90 high and 50 across lies."""
    assert lies == turned.lies_down(profile)


def test_the_side_view_has_its_first_end_at_the_left() -> None:
    """Its area is that of the two rectangles; the thin end is at the left, a line at the step."""
    plan = turned.side(LONG)
    box = plan.outer.box()

    assert 82 * 20 + 8 * 50 == pytest.approx(plan.outer.area())
    assert (-45, -25, 45, 25) == (box.left, box.bottom, box.right, box.top)
    assert (((37.0, -10.0), (37.0, 10.0)),) == plan.marks
    assert plan.lies
    assert 50 == plan.height


def test_an_edge_below_a_larger_one_is_hidden_from_the_end() -> None:
    """From the pin both circles are seen; from the disc only the disc."""
    assert [10] == [mark.box().right for mark in turned.end(STEPPED).marks if isinstance(mark, Contour)]
    assert () == turned.end([(25.0, 40.0), (25.0, 32.0), (10.0, 32.0), (10.0, 0.0)]).marks


def test_the_section_has_the_volume_of_the_body() -> None:
    """Pappus and Guldin: the volume is the area times the way of its middle; a disc and a cylinder say the same."""
    body = turned.cut(STEPPED, bore=5.0)
    points = body.polygon()
    pairs = list(zip(points, [*points[1:], points[0]], strict=True))
    moment = sum((a + c) * (a * d - c * b) for (a, b), (c, d) in pairs) / 6

    assert math.pi * (32 * (100 - 25) + 8 * (625 - 25)) == pytest.approx(2 * math.pi * moment)


def test_a_recess_opens_the_top_only() -> None:
    """A socket 6 wide and 10 deep takes its own rectangle from the half section."""
    plain, opened = turned.cut(STEPPED), turned.cut(STEPPED, recess=[(3.0, 40.0), (3.0, 30.0), (0.0, 30.0)])

    assert 30 == pytest.approx(plain.area() - opened.area())
