"""Drawings of the steps keep to their boxes and are all there."""

from __future__ import annotations

import io
from collections.abc import Callable

import pytest

from labelkit.drawing.page import Box, Group, Page, moved
from labelkit.proof.raster import pictures_of
from labelkit.render import write
from labelkit.sheets import printerpictures as pictures


@pytest.mark.parametrize("draw", [pictures.printer, pictures.caliper, pictures.keyboard, pictures.true_page])
def test_a_drawing_fills_its_box_and_no_more(draw: Callable[[], Group]) -> None:
    """Printed with 2 mm of paper around it: the border stays white, most of width and height is used."""
    drawing = draw()
    stream = io.BytesIO()
    page = Page(pictures.WIDTH + 4, pictures.HEIGHT + 4, (Group((drawing,), matrix=moved(2, 2)),))
    write([page], ".pdf", stream, title="x")
    (picture,) = pictures_of(stream.getvalue(), "x.pdf", dpi=254)
    dark = picture.pixels < 128
    inside = dark[19:-19, 19:-19]

    assert Box(0, 0, pictures.WIDTH, pictures.HEIGHT) == drawing.box
    assert dark.sum() == inside.sum()
    assert inside.any(axis=1).mean() > 0.8
    assert inside.any(axis=0).mean() > 0.5
