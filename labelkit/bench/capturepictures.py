"""The small drawings on the buttons of the capture: each kind of form, and the ways it may sit, from the form itself.

They show a specimen of the kind, whose sizes are invented: direction and shape, not size.
"""

from __future__ import annotations

from functools import cache
from typing import Any, Final

from labelkit.drawing.page import Box
from labelkit.model.form import FORMS
from labelkit.model.formbase import Form
from labelkit.model.part import Part, Sits
from labelkit.render.html import Markup
from labelkit.render.svg import svg_fragment
from labelkit.sheets import waywords
from labelkit.sheets.orientation import orientation

_BOX: Final = Box(0, 0, 24, 14)
_SPECIMENS: Final[dict[str, dict[str, Any]]] = {
    "ring": {"od": "60", "id": "40", "t": "6"},
    "o_ring": {"id": "40", "section": "6"},
    "snap_ring": {"fits": "bore", "d": "50", "t": "2"},
    "drum": {"od": "80", "h": "40", "wall": "6", "bore": "20"},
    "hub": {"od": "40", "h": "40", "bore": "20", "flange_od": "70", "flange_t": "10"},
    "gear": {"teeth": "24", "module": "3", "width": "25", "bore": "30"},
    "ring_gear": {"teeth": "40", "module": "2", "width": "25", "od": "100"},
    "carrier": {"od": "100", "h": "40", "planets": "3", "planet_od": "30", "bore": "30"},
    "shaft": {"steps": [["20", "15"], ["30", "25"], ["24", "15"]]},
    "ball_bearing": {"id": "30", "od": "62", "w": "16"},
    "roller_bearing": {"id": "30", "od": "62", "w": "16"},
    "taper_cone": {"id": "30", "od": "56", "w": "20"},
    "taper_cup": {"id": "46", "od": "62", "w": "16"},
    "needle_cage": {"id": "30", "od": "38", "w": "20"},
    "thrust_bearing": {"od": "60", "id": "40", "t": "6", "lip": "inner"},
    "friction_plate": {"od": "80", "id": "55", "t": "4", "teeth": "30"},
    "steel_plate": {"od": "80", "id": "55", "t": "4", "lugs": "8"},
    "wave_spring": {"od": "70", "id": "56", "t": "2", "h": "8", "waves": "4"},
    "disc_spring": {"od": "70", "id": "36", "t": "4", "h": "10"},
    "coil_spring": {"od": "30", "wire": "4", "length": "40", "coils": "6"},
    "piston": {"od": "80", "id": "40", "h": "25"},
    "lip_seal": {"id": "40", "od": "62", "w": "12"},
    "bush": {"id": "30", "od": "38", "l": "25"},
    "bolt": {"d": "12", "l": "30"},
    "nut": {"d": "16"},
    "plug": {"d": "20", "l": "16"},
    "pin": {"d": "10", "l": "24"},
    "key": {"b": "10", "h": "10", "l": "24"},
    "ball": {"d": "20"},
    "lever": {"l": "60", "w": "20", "t": "10"},
    "block": {"l": "50", "w": "40", "h": "25"},
    "outline": {"points": [["0", "0"], ["60", "0"], ["60", "40"], ["0", "40"]], "h": "3"},
}


def specimen(kind: str) -> Form:
    """Return a form of a kind with usual proportions."""
    return FORMS[kind].model_validate(_SPECIMENS[kind])


@cache
def kind_picture(kind: str) -> Markup:
    """Return the drawing of a kind, as it sits with its end up."""
    form = specimen(kind)
    return _drawn(form, Sits(opens="up") if form.way else Sits(up="free"))


def way_picture(kind: str, way: str) -> tuple[str, Markup]:
    """Return the words and the drawing of a way to sit.

    Args:
        kind: of form, empty where it is not known.
        way: `up`, `down`, `free`, or empty: not recorded.
    """
    return way_words(kind, way), _way_drawn(kind, way)


def way_words(kind: str, way: str) -> str:
    """Return the words of a way to sit; arguments as for `way_picture`."""
    form = specimen(kind) if kind else None
    return waywords.way(Part(id="specimen", name="specimen", form=form, sits=_sits(way))).text


@cache
def _way_drawn(kind: str, way: str) -> Markup:
    # Both arrows say more than the form one way up, which is how a label shows it.
    return _drawn(None if way == "free" or not kind else specimen(kind), _sits(way))


def _sits(way: str) -> Sits | None:
    return Sits(opens=way) if way in ("up", "down") else Sits(up="free") if way == "free" else None


def _drawn(form: Form | None, sits: Sits | None) -> Markup:
    part = Part(id="specimen", name="specimen", form=form, sits=sits)
    # Words stand beside every one: who cannot see it is told once.
    picture = svg_fragment([orientation(part, _BOX)], _BOX, title="")
    return Markup(picture.replace('role="img"', 'aria-hidden="true"', 1))
