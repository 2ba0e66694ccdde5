"""The kinds of part, by shape: which sizes each has. What they look like is `labelkit.forms`.

Each class is one form of the profile; its name in the YAML file is `kind`. `way` is the word for the end that
`sits.opens` speaks of, None where both ends look alike.
"""

from __future__ import annotations

import math
from decimal import Decimal
from typing import Final, Literal, Self

from pydantic import field_validator, model_validator

from labelkit.model.outline import MOST_POINTS, crossing
from labelkit.model.ringform import (
    BallBearing as BallBearing,
)
from labelkit.model.ringform import (
    Bush as Bush,
)
from labelkit.model.ringform import (
    DiscSpring as DiscSpring,
)
from labelkit.model.ringform import (
    Form as Form,
)
from labelkit.model.ringform import (
    FrictionPlate as FrictionPlate,
)
from labelkit.model.ringform import (
    LipSeal as LipSeal,
)
from labelkit.model.ringform import (
    NeedleCage as NeedleCage,
)
from labelkit.model.ringform import (
    ORing as ORing,
)
from labelkit.model.ringform import (
    Ring as Ring,
)
from labelkit.model.ringform import (
    RollerBearing as RollerBearing,
)
from labelkit.model.ringform import (
    SnapRing as SnapRing,
)
from labelkit.model.ringform import (
    SteelPlate as SteelPlate,
)
from labelkit.model.ringform import (
    TaperCone as TaperCone,
)
from labelkit.model.ringform import (
    TaperCup as TaperCup,
)
from labelkit.model.ringform import (
    ThrustBearing as ThrustBearing,
)
from labelkit.model.ringform import (
    WaveSpring as WaveSpring,
)
from labelkit.model.scalars import Coils, Count, Length, LengthOrZero, SignedLength, fault
from labelkit.units import Quantity


class Drum(Form):
    """Cup: one end open, the other closed by a floor, which may have a bore."""

    kind = "drum"
    way = "MOUTH"
    od: Length
    h: Length
    wall: Length
    floor: Length | None = None
    bore: Length | None = None

    @model_validator(mode="after")
    def _sizes_agree(self) -> Self:
        if 2 * self.wall.mm >= self.od.mm:
            raise fault(f"wall {self.wall} leaves no room in od {self.od}")
        self.smaller("bore", "od")
        self.smaller("floor", "h")
        return self


class Hub(Form):
    """Bored boss, with or without a flange at its short end."""

    kind = "hub"
    way = "LONG BOSS"
    od: Length
    h: Length
    bore: Length
    flange_od: Length | None = None
    flange_t: Length | None = None

    @model_validator(mode="after")
    def _sizes_agree(self) -> Self:
        self.smaller("bore", "od")
        self.smaller("flange_t", "h")
        self.smaller("od", "flange_od")
        if (self.flange_od is None) != (self.flange_t is None):
            raise fault("a flange needs both flange_od and flange_t")
        return self


class Gear(Form):
    """Spur gear, teeth outside; tip diameter = module x (teeth + 2)."""

    kind = "gear"
    way = "MARKED SIDE"
    teeth: Count
    module: Length
    width: Length
    bore: Length

    @model_validator(mode="after")
    def _sizes_agree(self) -> Self:
        root = self.module.mm * (self.teeth - Decimal("2.5"))
        if self.teeth < 5 or self.bore.mm >= root:
            raise fault(f"bore {self.bore} leaves no rim: the root circle of {self.teeth} teeth is {root} mm")
        return self


class RingGear(Form):
    """Ring with teeth inside."""

    kind = "ring_gear"
    way = "MARKED END"
    teeth: Count
    module: Length
    width: Length
    od: Length

    @model_validator(mode="after")
    def _sizes_agree(self) -> Self:
        root = self.module.mm * (self.teeth + Decimal("2.5"))
        if self.teeth < 10 or self.od.mm <= root:
            raise fault(f"od {self.od} leaves no rim: the root circle of {self.teeth} teeth is {root} mm")
        return self


class Carrier(Form):
    """Planet carrier with its planets, which stand evenly round it; od is measured over everything."""

    kind = "carrier"
    way = "PLANETS"
    od: Length
    h: Length
    planets: Count
    planet_od: Length
    bore: Length | None = None

    @model_validator(mode="after")
    def _sizes_agree(self) -> Self:
        if not 2 <= self.planets <= 12:
            raise fault(f"planets {self.planets}; allowed: 2 to 12")
        self.smaller("planet_od", "od")
        self.smaller("bore", "od")
        # As far out as od allows, neighbours are a chord apart: (od - planet_od) sin(180 deg / planets).
        sine = math.sin(math.pi / self.planets)
        if float(self.planet_od.mm) > float(self.od.mm - self.planet_od.mm) * sine * (1 + 1e-9):
            most = math.floor(float(self.od.mm) * sine / (1 + sine) * 100) / 100
            raise fault(
                f"{self.planets} planets of {self.planet_od} do not fit in od {self.od}: they would overlap each "
                f"other or stand out; allowed: a planet_od of at most {most} mm"
            )
        return self


class Shaft(Form):
    """Round steps [diameter, length] in order from the end that `sits.opens` speaks of.

    `splines`: numbers (from 1) of the steps that carry splines or teeth.
    """

    kind = "shaft"
    way = "FIRST STEP"
    steps: tuple[tuple[Length, Length], ...]
    bore: Length | None = None
    splines: tuple[Count, ...] = ()

    @model_validator(mode="after")
    def _sizes_agree(self) -> Self:
        if not self.steps:
            raise fault("steps is empty; write at least one [diameter, length]")
        if self.bore and any(self.bore.mm >= d.mm for d, _ in self.steps):
            raise fault(f"bore {self.bore} is not smaller than every step")
        if any(number > len(self.steps) for number in self.splines):
            raise fault(f"splines name step {max(self.splines)}; there are {len(self.steps)} steps")
        return self


class CoilSpring(Form):
    """Compression spring: outside diameter, wire, free length, coils."""

    kind = "coil_spring"
    od: Length
    wire: Length
    length: Length
    coils: Coils | None = None

    @model_validator(mode="after")
    def _sizes_agree(self) -> Self:
        if 2 * self.wire.mm >= self.od.mm:
            raise fault(f"wire {self.wire} leaves no coil in od {self.od}")
        return self


class Piston(Form):
    """Ring-shaped piston, hollow on one side."""

    kind = "piston"
    way = "SKIRT"
    od: Length
    id: LengthOrZero
    h: Length

    @model_validator(mode="after")
    def _sizes_agree(self) -> Self:
        self.smaller("id", "od")
        return self


class Bolt(Form):
    """Screw or bolt: nominal diameter, length under the head."""

    kind = "bolt"
    way = "HEAD"
    d: Length
    l: Length  # noqa: E741
    head: Literal["hex", "socket", "countersunk", "flange"] = "hex"


class Nut(Form):
    """Hexagon nut of a nominal diameter."""

    kind = "nut"
    d: Length


class Plug(Form):
    """Screwed plug."""

    kind = "plug"
    way = "HEAD"
    d: Length
    l: Length  # noqa: E741


class Pin(Form):
    """Cylindrical pin, dowel or button."""

    kind = "pin"
    d: Length
    l: Length  # noqa: E741


class Key(Form):
    """Parallel key: width, height, length."""

    kind = "key"
    b: Length
    h: Length
    l: Length  # noqa: E741


class Ball(Form):
    """Ball."""

    kind = "ball"
    d: Length


class Lever(Form):
    """Lever or fork: length, width, thickness."""

    kind = "lever"
    l: Length  # noqa: E741
    w: Length
    t: Length


class Block(Form):
    """Anything box-shaped: length, width, height."""

    kind = "block"
    l: Length  # noqa: E741
    w: Length
    h: Length


class Outline(Form):
    """Free plan outline [x, y] in mm or the profile's unit, height, round holes [x, y, diameter]."""

    kind = "outline"
    points: tuple[tuple[SignedLength, SignedLength], ...]
    h: Length
    holes: tuple[tuple[SignedLength, SignedLength, Length], ...] = ()

    @field_validator("points")
    @classmethod
    def _one_area(cls, points: tuple[tuple[Quantity, Quantity], ...]) -> tuple[tuple[Quantity, Quantity], ...]:
        corners = [(x.mm, y.mm) for x, y in points]
        if len(points) > MOST_POINTS or len(set(corners)) < 3:
            raise fault(f"points has {len(set(corners))} different points; allowed: 3 to {MOST_POINTS}")
        if found := crossing(corners):
            (a, b), (c, d) = found
            raise fault(
                f"the outline meets itself: the line from point {a} to {b} and that from {c} to {d}; "
                f"list the points once round"
            )
        return points


FORMS: Final[dict[str, type[Form]]] = {
    form.kind: form
    for form in (
        Ring,
        ORing,
        SnapRing,
        Drum,
        Hub,
        Gear,
        RingGear,
        Carrier,
        Shaft,
        BallBearing,
        RollerBearing,
        TaperCone,
        TaperCup,
        NeedleCage,
        ThrustBearing,
        FrictionPlate,
        SteelPlate,
        WaveSpring,
        DiscSpring,
        CoilSpring,
        Piston,
        LipSeal,
        Bush,
        Bolt,
        Nut,
        Plug,
        Pin,
        Key,
        Ball,
        Lever,
        Block,
        Outline,
    )
}
