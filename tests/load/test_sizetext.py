"""Sizes on one line, as the trade writes them, and back."""

from __future__ import annotations

from typing import Any

import pytest

from labelkit.load.profile import load_profile
from labelkit.load.sizetext import read_sizes, sizes_text
from labelkit.model.form import FORMS
from labelkit.units import UnitError
from tests.shop import DEMO_UNITS


@pytest.mark.parametrize(
    ("text", "kind", "found"),
    [
        ("72 x 50 x 2.60", "ring", {"od": "72", "id": "50", "t": "2.60"}),
        ("Ø72×50×2.6 mm", "ring", {"od": "72 mm", "id": "50 mm", "t": "2.6 mm"}),
        ("50 X 72 X 2.6", "ring", {"od": "72", "id": "50", "t": "2.6"}),
        ('2 1/4 x 1-1/2 x 1/8"', "ring", {"od": '2 1/4 "', "id": '1-1/2 "', "t": '1/8 "'}),
        ("30*62*16", "ball_bearing", {"id": "30", "od": "62", "w": "16"}),
        ("M8x30", "bolt", {"d": "8", "l": "30"}),
        ("M8 x 1.25 x 30, Innensechskant", "bolt", {"head": "socket", "d": "8", "l": "30"}),
        ("M22 x 1.5", "nut", {"d": "22"}),
        ("shaft 40 x 1.75", "snap_ring", {"fits": "shaft", "d": "40", "t": "1.75"}),
        ("Bohrung 80 x 2.5", "snap_ring", {"fits": "bore", "d": "80", "t": "2.5"}),
        ("142 x 100 x 2.2, 36 Zähne", "friction_plate", {"teeth": "36", "od": "142", "id": "100", "t": "2.2"}),
        ("40x20 + 35x60", "shaft", {"steps": [["40", "20"], ["35", "60"]]}),
        ("od: 72, id: 50, t: 2.6", "ring", {"od": "72", "id": "50", "t": "2.6"}),
        ("z=20; m=4; width=30; bore=20", "gear", {"teeth": "20", "module": "4", "width": "30", "bore": "20"}),
    ],
)
def test_sizes_are_read_as_people_write_them(text: str, kind: str, found: dict[str, Any]) -> None:
    """In order or by name. Orders: common practice, no source; threads M d x pitch: ISO 261, from memory."""
    assert read_sizes(text, kind).found == found


@pytest.mark.parametrize(
    ("text", "kind", "words"),
    [
        ("72 x wide", "ring", '"wide" is no figure; write the sizes of a ring as od x id x t'),
        ("1 x 2 x 3 x 4", "ring", "has 4 figures; the form ring has od x id x t"),
        ("72 kg x 50", "ring", '"kg" is not a unit of length'),
        ("od=5; oe=3", "ring", '"oe=3" is no size of a ring; allowed: od, id, t'),
        ("od=5; od=6", "ring", "od stands twice"),
        ("od=", "ring", '"od=" is no size of a ring'),
        ("17 x 30, 32 x 22", "shaft", "write the sizes of a shaft as steps=45x76+50x86"),
        ("x", "ball", "is no figure; write the sizes of a ball as d"),
    ],
)
def test_what_cannot_be_read_says_how_it_is_written(text: str, kind: str, words: str) -> None:
    """With the sizes of the form."""
    with pytest.raises(UnitError) as caught:
        read_sizes(text, kind)
    assert words in str(caught.value)


@pytest.mark.parametrize(
    ("kind", "sizes"),
    [
        ("outline", {"points": [["0", "0"], ["90", "0"], ["0", "90"]], "h": "3", "holes": [["30", "20", "1/2 cm"]]}),
        ("shaft", {"steps": [["40", "20"], ["35", "1 in"], ["1 in", "30"]]}),
    ],
)
def test_a_list_of_two_units_comes_back(kind: str, sizes: dict[str, Any]) -> None:
    """Found by hostile profiles: the last one's unit became that of all, 9 mm came back as 9 cm."""
    form = FORMS[kind].model_validate({kind: sizes})

    assert FORMS[kind].model_validate({kind: read_sizes(sizes_text(form, "mm"), kind).found}) == form


@pytest.mark.parametrize("name", DEMO_UNITS)
def test_every_form_of_the_demo_units_comes_back(name: str) -> None:
    """Lists of steps, outlines and holes too; in inches where bare lengths are millimetres, and the other way."""
    for _, part in load_profile(name).profile.walk():
        if part.form is None:
            continue
        for unit in ("mm", "in"):
            sizes = read_sizes(sizes_text(part.form, unit), part.form.kind).found
            assert FORMS[part.form.kind].model_validate(sizes, context={"lengths": unit}) == part.form
