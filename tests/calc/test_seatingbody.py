"""What stops a part is what runs all round, and it stops it exactly where the two touch."""

from __future__ import annotations

import shapely
from hypothesis import given, settings
from hypothesis import strategies as st
from shapely import Polygon, affinity

from labelkit.calc.seatingbody import Solid, solid, stop
from tests.forms.strategies import build

SIZES = st.integers(1, 12)


@st.composite
def hubs(draw: st.DrawFn) -> tuple[Solid, Polygon]:
    """Return a hub with a flange, either way up: what stops it, and the same as shapely knows it."""
    bore, wall, more, t, boss = (draw(SIZES) for _ in range(5))
    sizes = {"bore": 2 * bore, "od": 2 * (bore + wall), "flange_od": 2 * (bore + wall + more), "flange_t": t}
    down = draw(st.booleans())
    high = t + boss
    steps = [(bore, 0), (bore + wall + more, 0), (bore + wall + more, t), (bore + wall, t), (bore + wall, high)]
    shape = Polygon([*steps, (bore, high)])
    found = solid(build("hub", h=high, **sizes), flipped=down)
    assert found is not None
    return found, affinity.scale(shape, 1, -1, origin=(0, high / 2)) if down else shape


@given(hubs(), hubs(), st.sampled_from(["down", "up"]))
@settings(max_examples=50, deadline=None)
def test_two_parts_touch_where_they_stop_and_would_share_room_beyond(
    moving: tuple[Solid, Polygon], still: tuple[Solid, Polygon], way: str
) -> None:
    """At its stop the one shares no area with the other, a hair further it does; what passes never does. shapely."""
    met = stop(moving[0], still[0], way)  # type: ignore[arg-type]
    sign = -1 if way == "down" else 1
    if met is None:
        swept = shapely.box(moving[1].bounds[0], -100, moving[1].bounds[2], 100)
        assert swept.intersection(still[1]).area < 1e-6
        return

    at = affinity.translate(moving[1], 0, met.shift)
    beyond = affinity.translate(moving[1], 0, met.shift + 0.1 * sign)
    assert at.intersection(still[1]).area < 1e-6
    assert at.distance(still[1]) < 1e-6
    assert beyond.intersection(still[1]).area > 0
    assert met.low < met.high


def test_what_has_a_groove_or_bends_stops_nothing() -> None:
    """O-rings lie in grooves, springs are squeezed."""
    assert solid(build("o_ring", id=50, section=3), flipped=False) is None
    assert solid(build("coil_spring", od=20, wire=2, length=40), flipped=False) is None


def test_teeth_lugs_and_planets_pass_each_other() -> None:
    """A gear stops up to its root: module x (teeth - 2.5) / 2 (involute teeth, ISO 53 dedendum 1.25 module)."""
    gear = solid(build("gear", teeth=30, module=2, width=10, bore=20), flipped=False)
    carrier = solid(build("carrier", od=100, h=50, planets=3, planet_od=30, bore=20), flipped=False)
    plate = solid(build("steel_plate", od=100, id=60, t=2, lugs=6), flipped=False)

    assert gear is not None
    assert [(10.0, 27.5)] == gear.radii()
    assert carrier is not None
    assert carrier.top < 20
    assert plate is not None
    assert plate.radii()[0][1] < 50


def test_a_ring_in_its_groove_counts_as_far_as_it_stands_out() -> None:
    """A ring for a shaft of 40 begins at radius 20; its inside, 18.25 when free (DIN 471), is in the groove."""
    ring = solid(build("snap_ring", fits="shaft", d=40, t="1.75"), flipped=False)

    assert ring is not None
    assert 20 == ring.radii()[0][0]
