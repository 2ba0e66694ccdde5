"""Forms that are rings: washers, plates, springs, bearings, seals; and what all forms share."""

from __future__ import annotations

from typing import Any, ClassVar, Literal, Self

from pydantic import model_validator

from labelkit.model.scalars import Count, Length, Model, fault
from labelkit.units import Quantity


class Form(Model):
    """Base of all forms."""

    kind: ClassVar[str]
    way: ClassVar[str | None] = None

    @model_validator(mode="before")
    @classmethod
    def _unwrap(cls, value: Any) -> Any:
        # In the file a form is {ring: {od: ...}}; the sizes are the value of that one key.
        if isinstance(value, dict) and set(value) == {cls.kind}:
            return value[cls.kind] if value[cls.kind] is not None else {}
        return value

    def smaller(self, small: str, large: str) -> None:
        """Refuse a size `small` that is not below the size `large`; sizes that are left out say nothing."""
        a, b = getattr(self, small), getattr(self, large)
        if isinstance(a, Quantity) and isinstance(b, Quantity) and a.mm >= b.mm:
            raise fault(f"{small} {a} is not smaller than {large} {b}")


class Annular(Form):
    """A flat round part with a hole."""

    od: Length
    id: Length
    t: Length

    @model_validator(mode="after")
    def _sizes_agree(self) -> Self:
        self.smaller("id", "od")
        return self


class Bored(Form):
    """A round part of an inside, an outside diameter and a width."""

    id: Length
    od: Length
    w: Length

    @model_validator(mode="after")
    def _sizes_agree(self) -> Self:
        self.smaller("id", "od")
        return self


class Ring(Annular):
    """Washer, shim, spacer, gasket ring, race."""

    kind = "ring"


class ORing(Form):
    """Round cord ring: inside diameter and section."""

    kind = "o_ring"
    id: Length
    section: Length


class SnapRing(Form):
    """Retaining ring for a shaft or bore of diameter d. `gap`: free gap between the ends."""

    kind = "snap_ring"
    way = "SHARP EDGE"
    fits: Literal["shaft", "bore"]
    d: Length
    t: Length
    gap: Length | None = None


class BallBearing(Bored):
    """Deep-groove ball bearing."""

    kind = "ball_bearing"


class RollerBearing(Bored):
    """Cylindrical roller bearing."""

    kind = "roller_bearing"


class TaperCone(Bored):
    """Inner ring of a tapered roller bearing with its rollers."""

    kind = "taper_cone"
    way = "SMALL END"


class TaperCup(Bored):
    """Outer ring of a tapered roller bearing."""

    kind = "taper_cup"
    way = "LARGE END"


class NeedleCage(Bored):
    """Needle rollers in a cage."""

    kind = "needle_cage"


class ThrustBearing(Annular):
    """Flat thrust cage; `lip`: its bent edge, inner or outer; `ears`: tabs that stop it turning."""

    kind = "thrust_bearing"
    way = "LIP"
    lip: Literal["inner", "outer"] | None = None
    ears: Count | None = None


class FrictionPlate(Annular):
    """Lined clutch or brake plate with teeth inside."""

    kind = "friction_plate"
    teeth: Count


class SteelPlate(Annular):
    """Plain clutch or brake plate with lugs outside."""

    kind = "steel_plate"
    way = "OPEN SIDE"
    lugs: Count


class WaveSpring(Annular):
    """Flat wire ring with waves; h is its free height."""

    kind = "wave_spring"
    h: Length
    waves: Count

    @model_validator(mode="after")
    def _taller_than_wire(self) -> Self:
        self.smaller("t", "h")
        return self


class DiscSpring(Annular):
    """Coned disc spring; h is its free height."""

    kind = "disc_spring"
    way = "LARGE EDGE"
    h: Length
    waves: Count | None = None

    @model_validator(mode="after")
    def _taller_than_sheet(self) -> Self:
        self.smaller("t", "h")
        return self


class LipSeal(Bored):
    """Radial shaft seal; `opens` is the side of the spring-loaded lip."""

    kind = "lip_seal"
    way = "LIP"


class Bush(Form):
    """Plain bush or sleeve."""

    kind = "bush"
    id: Length
    od: Length
    l: Length  # noqa: E741 - the profile format names it so

    @model_validator(mode="after")
    def _sizes_agree(self) -> Self:
        self.smaller("id", "od")
        return self
