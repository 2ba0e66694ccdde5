"""Bent scales and where a seat comes to lie."""

from __future__ import annotations

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from labelkit.drawing.page import Box
from labelkit.model.form import FORMS
from labelkit.model.formbase import Form
from labelkit.sheets.seat import sizes
from labelkit.sheets.seatlayout import Manner, Scale, lay
from tests.forms.strategies import build, forms_of

MANNER = Manner(share=0.6, flattest=0.4, flattest_alike=0.2, tallest=1.2, gap=0.05, depth=0.2, even=True)
BOX = Box(3, 5, 15, 12)


def test_a_scale_is_straight_between_its_knots_and_beyond() -> None:
    """Half way between knots is half way between places; the last stretch goes on."""
    scale = Scale(((0.0, 0.0), (10.0, 1.0), (20.0, 11.0)))

    assert [0.5, 1.0, 6.0, 21.0, -0.5] == [scale(value) for value in (5.0, 10.0, 15.0, 30.0, -5.0)]


def test_the_thinnest_hub_there_may_be_is_laid_out() -> None:
    """Its two ends are told apart: found by hostile profiles."""
    laid = lay(build("hub", od=6666, h="0.001", bore=5), None, BOX, MANNER)

    assert laid.part(0.001) < laid.part(0.0)


@settings(max_examples=50, deadline=None)
@given(st.sampled_from(sorted(FORMS)).flatmap(forms_of))
def test_a_part_alone_fills_its_box_in_one_direction(form: Form) -> None:
    """Whatever its sizes: never beyond the box, never small in it, never flatter or taller than allowed."""
    laid = lay(form, None, BOX, MANNER)
    wide = 2 * laid.across(sizes(form).reach)
    high = laid.part(0.0) - laid.part(sizes(form).height)

    assert wide <= BOX.width + 1e-6
    assert high <= BOX.height + 1e-6
    assert wide == pytest.approx(BOX.width, rel=1e-3) or high == pytest.approx(BOX.height, rel=1e-3)
    assert 0.2 - 1e-6 <= high / wide <= 1.2 + 1e-6
