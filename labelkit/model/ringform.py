"""Forms that are rings: washers, plates, springs, bearings, seals."""

from __future__ import annotations

from typing import Literal, Self

from pydantic import model_validator

from labelkit.model.formbase import Form
from labelkit.model.scalars import Count, Length


class Annular(Form):
    """A flat round part with a hole."""

    several = "stack"
    aside = uncut = stepped = False
    od: Length
    id: Length
    t: Length

    @model_validator(mode="after")
    def _sizes_agree(self) -> Self:
        self.smaller("id", "od")
        return self


class Sleeve(Form):
    """A round part that goes into a bore or onto a journal."""

    several = "each"
    aside = uncut = stepped = indexed = False
    id: Length
    od: Length

    @model_validator(mode="after")
    def _sizes_agree(self) -> Self:
        self.smaller("id", "od")
        return self


class Bearing(Sleeve):
    """One whose length is called its width."""

    w: Length


class InnerRinged(Bearing):
    """A rolling bearing with an inner ring, which needs a step of its bore on the shaft that it sits on."""

    mass = "metal"


class Ring(Annular):
    """Washer, shim, spacer, gasket ring, race."""

    kind = "ring"
    mass, stands, indexed = "any", "face", False


class ORing(Form):
    """Round cord ring: inside diameter and section."""

    kind = "o_ring"
    several, mass, stands = "stack", "any", "yields"
    aside = uncut = stepped = indexed = False
    id: Length
    section: Length


class SnapRing(Form):
    """Retaining ring for a shaft or bore of diameter d. `gap`: free gap between the ends."""

    kind = "snap_ring"
    way = "SHARP EDGE"
    several, mass, stands, indexed = "stack", "metal", "groove", True
    aside = uncut = stepped = False
    fits: Literal["shaft", "bore"]
    d: Length
    t: Length
    gap: Length | None = None


class BallBearing(InnerRinged):
    """Deep-groove ball bearing."""

    kind = "ball_bearing"
    stands = "either"


class RollerBearing(InnerRinged):
    """Cylindrical roller bearing."""

    kind = "roller_bearing"
    stands = "either"


class TaperCone(InnerRinged):
    """Inner ring of a tapered roller bearing with its rollers."""

    kind = "taper_cone"
    way = "SMALL END"
    stands = "journal"


class TaperCup(Bearing):
    """Outer ring of a tapered roller bearing."""

    kind = "taper_cup"
    way = "LARGE END"
    mass, stands = "metal", "bore"


class NeedleCage(Bearing):
    """Needle rollers in a cage."""

    kind = "needle_cage"
    mass, stands = "any", "either"


class ThrustBearing(Annular):
    """Flat thrust cage; `lip`: its bent edge, inner or outer; `ears`: tabs that stop it turning."""

    kind = "thrust_bearing"
    way = "LIP"
    mass, stands, indexed = "metal", "face", False
    lip: Literal["inner", "outer"] | None = None
    ears: Count | None = None


class FrictionPlate(Annular):
    """Lined clutch or brake plate with teeth inside."""

    kind = "friction_plate"
    counted = "teeth"
    mass, stands, indexed = "any", "face", True
    teeth: Count | None = None


class SteelPlate(Annular):
    """Plain clutch or brake plate with lugs outside."""

    kind = "steel_plate"
    way, counted = "OPEN SIDE", "lugs"
    mass, stands, indexed = "metal", "face", True
    lugs: Count | None = None


class FlatSpring(Annular):
    """A ring that is pressed flat; h is its free height."""

    mass, stands, indexed = "metal", "yields", False
    h: Length

    @model_validator(mode="after")
    def _taller_than_sheet(self) -> Self:
        self.smaller("t", "h")
        return self


class WaveSpring(FlatSpring):
    """Flat wire ring with waves."""

    kind = "wave_spring"
    waves: Count


class DiscSpring(FlatSpring):
    """Coned disc spring."""

    kind = "disc_spring"
    way = "LARGE EDGE"
    waves: Count | None = None


class LipSeal(Bearing):
    """Radial shaft seal; `opens` is the side of the spring-loaded lip."""

    kind = "lip_seal"
    way = "LIP"
    mass, stands = "any", "bore"


class Bush(Sleeve):
    """Plain bush or sleeve."""

    kind = "bush"
    mass, stands = "any", "either"
    l: Length  # noqa: E741 - the profile format names it so
