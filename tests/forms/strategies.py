"""Valid random sizes for every form, built through its class as the loader does."""

from __future__ import annotations

import math
from collections.abc import Callable
from decimal import Decimal
from typing import Any, Final

from hypothesis import strategies as st

from labelkit.model.form import FORMS
from labelkit.model.formbase import Form

CENT: Final = Decimal("0.01")
Draw = Callable[[st.SearchStrategy[Any]], Any]


def _length(low: str = "0.5", high: str = "300") -> st.SearchStrategy[Decimal]:
    return st.decimals(Decimal(low), Decimal(high), places=2)


def _part_of(draw: Draw, whole: Decimal, low: str = "0.05", high: str = "0.97") -> Decimal:
    """Draw a size smaller than `whole`, in hundredths."""
    share = draw(st.decimals(Decimal(low), Decimal(high), places=2))
    return max(CENT, (whole * share).quantize(CENT))


def _maybe(draw: Draw, value: Callable[[], Any]) -> Any:
    return value() if draw(st.booleans()) else None


def _annular(draw: Draw, third: str) -> dict[str, Any]:
    od = draw(_length("2"))
    return {"od": od, "id": _part_of(draw, od), third: draw(_length("0.1", "80"))}


def _ring(draw: Draw) -> dict[str, Any]:
    return _annular(draw, "t")


def _bearing(draw: Draw) -> dict[str, Any]:
    return _annular(draw, "w")


def _o_ring(draw: Draw) -> dict[str, Any]:
    return {"id": draw(_length()), "section": draw(_length("0.5", "10"))}


def _snap_ring(draw: Draw) -> dict[str, Any]:
    gap = _maybe(draw, lambda: draw(_length("0.1", "10")))
    fits = draw(st.sampled_from(["shaft", "bore"]))
    return {"fits": fits, "d": draw(_length("2", "400")), "t": draw(_length("0.2", "6")), "gap": gap}


def _drum(draw: Draw) -> dict[str, Any]:
    od, h = draw(_length("3")), draw(_length("1"))
    floor = _maybe(draw, lambda: _part_of(draw, h))
    bore = _maybe(draw, lambda: _part_of(draw, od))
    return {"od": od, "h": h, "wall": _part_of(draw, od, high="0.48"), "floor": floor, "bore": bore}


def _hub(draw: Draw) -> dict[str, Any]:
    od, h = draw(_length("2")), draw(_length("1"))
    sizes = {"od": od, "h": h, "bore": _part_of(draw, od)}
    if draw(st.booleans()):
        sizes |= {"flange_od": od + draw(_length("0.1", "100")), "flange_t": _part_of(draw, h)}
    return sizes


def _gear(draw: Draw) -> dict[str, Any]:
    teeth, module = draw(st.integers(5, 60)), draw(_length("0.5", "8"))
    bore = _part_of(draw, module * (teeth - Decimal("2.5")))
    return {"teeth": teeth, "module": module, "width": draw(_length()), "bore": bore}


def _ring_gear(draw: Draw) -> dict[str, Any]:
    teeth, module = draw(st.integers(10, 80)), draw(_length("0.5", "5"))
    od = module * (teeth + Decimal("2.5")) + draw(_length("0.1", "50"))
    return {"teeth": teeth, "module": module, "width": draw(_length()), "od": od}


def _carrier(draw: Draw) -> dict[str, Any]:
    od = draw(_length("5"))
    bore = _maybe(draw, lambda: _part_of(draw, od))
    planets = draw(st.integers(2, 12))
    sine = math.sin(math.pi / planets)
    biggest = od * Decimal(sine / (1 + sine))  # neighbours touch each other and od
    planet_od = _part_of(draw, biggest, high="0.95")
    return {"od": od, "h": draw(_length()), "planets": planets, "planet_od": planet_od, "bore": bore}


def _shaft(draw: Draw) -> dict[str, Any]:
    steps = draw(st.lists(st.tuples(_length("2"), _length()), min_size=1, max_size=7))
    bore = _maybe(draw, lambda: _part_of(draw, min(d for d, _ in steps)))
    splines = draw(st.lists(st.integers(1, len(steps)), max_size=2, unique=True))
    return {"steps": steps, "bore": bore, "splines": splines}


def _thrust_bearing(draw: Draw) -> dict[str, Any]:
    lip = draw(st.sampled_from([None, "inner", "outer"]))
    return {**_annular(draw, "t"), "lip": lip, "ears": _maybe(draw, lambda: draw(st.integers(1, 8)))}


def _friction_plate(draw: Draw) -> dict[str, Any]:
    return {**_annular(draw, "t"), "teeth": draw(st.integers(1, 90))}


def _steel_plate(draw: Draw) -> dict[str, Any]:
    return {**_annular(draw, "t"), "lugs": draw(st.integers(1, 60))}


def _sprung(draw: Draw) -> dict[str, Any]:
    t = draw(_length("0.1", "10"))
    return {**_annular(draw, "t"), "t": t, "h": t + draw(_length("0.1", "30"))}


def _wave_spring(draw: Draw) -> dict[str, Any]:
    return {**_sprung(draw), "waves": draw(st.integers(1, 30))}


def _disc_spring(draw: Draw) -> dict[str, Any]:
    return {**_sprung(draw), "waves": _maybe(draw, lambda: draw(st.integers(1, 30)))}


def _coil_spring(draw: Draw) -> dict[str, Any]:
    od = draw(_length("2", "100"))
    coils = _maybe(draw, lambda: draw(st.decimals(Decimal(1), Decimal(40), places=1)))
    return {"od": od, "wire": _part_of(draw, od, high="0.48"), "length": draw(_length()), "coils": coils}


def _piston(draw: Draw) -> dict[str, Any]:
    od = draw(_length("2"))
    return {"od": od, "id": draw(st.one_of(st.just(0), st.just(_part_of(draw, od)))), "h": draw(_length())}


def _bolt(draw: Draw) -> dict[str, Any]:
    head = draw(st.sampled_from(["hex", "socket", "countersunk", "flange"]))
    return {"d": draw(_length("1", "80")), "l": draw(_length("1")), "head": head}


def _d(draw: Draw) -> dict[str, Any]:
    return {"d": draw(_length("0.5", "80"))}


def _d_l(draw: Draw) -> dict[str, Any]:
    return {"d": draw(_length("0.5", "80")), "l": draw(_length())}


def _lengths(*names: str) -> Callable[[Draw], dict[str, Any]]:
    return lambda draw: {name: draw(_length()) for name in names}


def _outline(draw: Draw) -> dict[str, Any]:
    """Draw a star-shaped outline about any place, either way round, with up to two holes near its middle."""
    corners = draw(st.lists(st.sampled_from([40, 55, 70, 90, 120]), min_size=4, max_size=9))
    x, y = draw(_length("0", "300")), draw(_length("0", "300"))
    points = [(x + r * c, y + r * s) for r, (c, s) in zip(corners, _directions(len(corners)), strict=True)]
    if draw(st.booleans()):
        points.reverse()
    # A circle of 28 about the middle lies inside every such outline: 40 cos(45 degrees).
    holes = draw(st.sampled_from([[], [(x - 10, y, 12)], [(x - 10, y, 12), (x + 10, y, 7)]]))
    return {"points": points, "h": draw(_length()), "holes": holes}


def _directions(count: int) -> list[tuple[Decimal, Decimal]]:
    import math

    angles = [math.tau * k / count for k in range(count)]
    return [(Decimal(f"{math.cos(a):.6f}"), Decimal(f"{math.sin(a):.6f}")) for a in angles]


SIZES: Final[dict[str, Callable[[Draw], dict[str, Any]]]] = {
    "ring": _ring,
    "o_ring": _o_ring,
    "snap_ring": _snap_ring,
    "drum": _drum,
    "hub": _hub,
    "gear": _gear,
    "ring_gear": _ring_gear,
    "carrier": _carrier,
    "shaft": _shaft,
    "ball_bearing": _bearing,
    "roller_bearing": _bearing,
    "taper_cone": _bearing,
    "taper_cup": _bearing,
    "needle_cage": _bearing,
    "thrust_bearing": _thrust_bearing,
    "friction_plate": _friction_plate,
    "steel_plate": _steel_plate,
    "wave_spring": _wave_spring,
    "disc_spring": _disc_spring,
    "coil_spring": _coil_spring,
    "piston": _piston,
    "lip_seal": _bearing,
    "bush": lambda draw: _annular(draw, "l"),
    "bolt": _bolt,
    "nut": _d,
    "plug": _d_l,
    "pin": _d_l,
    "key": _lengths("b", "h", "l"),
    "ball": _d,
    "lever": _lengths("l", "w", "t"),
    "block": _lengths("l", "w", "h"),
    "outline": _outline,
}


def _typed(value: Any) -> Any:
    """Return a value as the loader gets it from the file: texts, in lists."""
    if isinstance(value, list | tuple):
        return [_typed(item) for item in value]
    return str(value)


def build(kind: str, **sizes: Any) -> Form:
    """Return a form of these sizes in mm; None means that a size is not given."""
    given = {name: _typed(value) for name, value in sizes.items() if value is not None}
    return FORMS[kind].model_validate({kind: given})


@st.composite
def forms_of(draw: Draw, kind: str) -> Form:
    """Draw a form of this kind."""
    return build(kind, **SIZES[kind](draw))
