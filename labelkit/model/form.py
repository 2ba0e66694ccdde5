"""The kinds of part, by shape: which sizes each has. What they look like is `labelkit.forms`.

Each class with a `kind` is one form of the profile; the others are families, which state for their forms what is true
of all of them.
"""

from __future__ import annotations

import math
from decimal import Decimal
from typing import Annotated, Final, Self

from pydantic import field_validator, model_validator

from labelkit.language import noop
from labelkit.model import hardwareform, ringform
from labelkit.model.formbase import Form
from labelkit.model.outline import MOST_POINTS, crossing, misplaced
from labelkit.model.scalars import Count, Length, LengthOrZero, SignedLength, fault, written
from labelkit.units import Quantity

Step = Annotated[tuple[Length, Length], written("[diameter, length]")]
Point = Annotated[tuple[SignedLength, SignedLength], written("[x, y]")]
Hole = Annotated[tuple[SignedLength, SignedLength, Length], written("[x, y, diameter]")]

_NO_RIM: Final = noop("{size} {a} leaves no rim: the root circle of {teeth} teeth is {root} mm")


class Body(Form):
    """A part made for its unit: a casting, a wheel, a shaft."""

    several, mass = "each", "body"


class Toothed(Body):
    """A wheel with spur teeth."""

    uncut = stepped = indexed = False
    stands = "face"
    teeth: Count
    module: Length
    width: Length


class Drum(Body):
    """Cup: one end open, the other closed by a floor, which may have a bore."""

    kind = "drum"
    way = "MOUTH"
    stands, stepped = "face", True
    aside = uncut = indexed = False
    od: Length
    h: Length
    wall: Length
    floor: Length | None = None
    bore: Length | None = None

    @model_validator(mode="after")
    def _sizes_agree(self) -> Self:
        if 2 * self.wall.mm >= self.od.mm:
            told = noop("{wall} {a} leaves no room in {od} {b}")
            raise fault(told, wall="wall", a=self.wall, od="od", b=self.od)
        self.smaller("bore", "od")
        self.smaller("floor", "h")
        return self


class Hub(Body):
    """Bored boss, with or without a flange at its short end."""

    kind = "hub"
    way = "LONG BOSS"
    stands, stepped = "face", True
    aside = uncut = indexed = False
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
            raise fault(noop("a flange needs both {od} and {t}"), od="flange_od", t="flange_t")
        return self


class Gear(Toothed):
    """Spur gear, teeth outside; tip diameter = module x (teeth + 2)."""

    kind = "gear"
    way = "MARKED SIDE"
    aside = True
    bore: Length

    @model_validator(mode="after")
    def _sizes_agree(self) -> Self:
        root = self.module.mm * (self.teeth - Decimal("2.5"))
        if self.teeth < 5 or self.bore.mm >= root:
            raise fault(_NO_RIM, size="bore", a=self.bore, teeth=self.teeth, root=root)
        return self


class RingGear(Toothed):
    """Ring with teeth inside."""

    kind = "ring_gear"
    way = "MARKED END"
    aside = False
    od: Length

    @model_validator(mode="after")
    def _sizes_agree(self) -> Self:
        root = self.module.mm * (self.teeth + Decimal("2.5"))
        if self.teeth < 10 or self.od.mm <= root:
            raise fault(_NO_RIM, size="od", a=self.od, teeth=self.teeth, root=root)
        return self


class Carrier(Body):
    """Planet carrier with its planets, which stand evenly round it; od is measured over everything."""

    kind = "carrier"
    way = "PLANETS"
    stands = "face"
    aside = uncut = stepped = indexed = False
    od: Length
    h: Length
    planets: Count
    planet_od: Length
    bore: Length | None = None

    @model_validator(mode="after")
    def _sizes_agree(self) -> Self:
        if not 2 <= self.planets <= 12:
            raise fault(noop("{planets} {count}; allowed: 2 to 12"), planets="planets", count=self.planets)
        self.smaller("planet_od", "od")
        self.smaller("bore", "od")
        # As far out as od allows, neighbours are a chord apart: (od - planet_od) sin(180 deg / planets).
        sine = math.sin(math.pi / self.planets)
        if float(self.planet_od.mm) > float(self.od.mm - self.planet_od.mm) * sine * (1 + 1e-9):
            most = math.floor(float(self.od.mm) * sine / (1 + sine) * 100) / 100
            told = noop(
                "{count} planets of {a} do not fit in {od} {b}: they would overlap each other or stand out; "
                "allowed: a {planet_od} of at most {most} mm"
            )
            raise fault(
                told, count=self.planets, a=self.planet_od, od="od", b=self.od, planet_od="planet_od", most=most
            )
        return self


class Shaft(Body):
    """Round steps [diameter, length] in order from the end that `sits.opens` speaks of.

    `splines`: numbers (from 1) of the steps that carry splines or teeth.
    """

    kind = "shaft"
    way = "FIRST STEP"
    stands = "face"
    uncut = stepped = True
    aside = indexed = False
    steps: tuple[Step, ...]
    bore: Length | None = None
    splines: tuple[Count, ...] = ()

    @model_validator(mode="after")
    def _sizes_agree(self) -> Self:
        if not self.steps:
            raise fault("steps is empty; write at least one [diameter, length]")
        if self.bore and any(self.bore.mm >= d.mm for d, _ in self.steps):
            raise fault(noop("{bore} {a} is not smaller than every step"), bore="bore", a=self.bore)
        if any(number > len(self.steps) for number in self.splines):
            raise fault(f"splines name step {max(self.splines)}; there are {len(self.steps)} steps")
        return self


class Piston(Body):
    """Ring-shaped piston, hollow on one side."""

    kind = "piston"
    way = "SKIRT"
    stands, stepped = "running", True
    aside = uncut = indexed = False
    od: Length
    id: LengthOrZero
    h: Length

    @model_validator(mode="after")
    def _sizes_agree(self) -> Self:
        self.smaller("id", "od")
        return self


class Lever(Body):
    """Lever or fork: length, width, thickness."""

    kind = "lever"
    stands = "face"
    aside = indexed = True
    uncut = stepped = False
    l: Length  # noqa: E741
    w: Length
    t: Length


class Block(Body):
    """Anything box-shaped: length, width, height."""

    kind = "block"
    stands, aside = "face", True
    uncut = stepped = indexed = False
    l: Length  # noqa: E741
    w: Length
    h: Length


class Outline(Body):
    """Free plan outline [x, y] in mm or the profile's unit, height, round holes [x, y, diameter]."""

    kind = "outline"
    stands, indexed = "face", True
    aside = uncut = stepped = False
    points: tuple[Point, ...]
    h: Length
    holes: tuple[Hole, ...] = ()

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

    @model_validator(mode="after")
    def _holes_apart(self) -> Self:
        corners = [(x.mm, y.mm) for x, y in self.points]
        if found := misplaced(corners, [(x.mm, y.mm, d.mm) for x, y, d in self.holes]):
            raise fault(f"{found}; each is [x, y, diameter], within the outline and apart from the others")
        return self


def size(form: Form | None, *names: str) -> Quantity | None:
    """Return the first of these lengths that a form has; None where it has none of them."""
    for name in names:
        found = getattr(form, name, None)
        if isinstance(found, Quantity):
            return found
    return None


FORMS: Final[dict[str, type[Form]]] = {
    form.kind: form
    for form in (
        ringform.Ring,
        ringform.ORing,
        ringform.SnapRing,
        Drum,
        Hub,
        Gear,
        RingGear,
        Carrier,
        Shaft,
        ringform.BallBearing,
        ringform.RollerBearing,
        ringform.TaperCone,
        ringform.TaperCup,
        ringform.NeedleCage,
        ringform.ThrustBearing,
        ringform.FrictionPlate,
        ringform.SteelPlate,
        ringform.WaveSpring,
        ringform.DiscSpring,
        hardwareform.CoilSpring,
        Piston,
        ringform.LipSeal,
        ringform.Bush,
        hardwareform.Bolt,
        hardwareform.Nut,
        hardwareform.Plug,
        hardwareform.Pin,
        hardwareform.Key,
        hardwareform.Ball,
        Lever,
        Block,
        Outline,
    )
}
