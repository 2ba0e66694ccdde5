"""Forms that are rings: washers, plates, springs, bearings, seals; and what all forms share."""

from __future__ import annotations

from typing import Any, ClassVar, Literal, Self

from pydantic import model_validator

from labelkit.model.scalars import THINNEST_MM, Count, Length, Model, fault
from labelkit.units import Quantity

Lay = Literal["each", "stack", "cup"]


class Form(Model):
    """Base of all forms. What follows is true of a kind; each states all of it, itself or by its family.

    Attributes:
        kind: its name in the profile.
        way: the word for the end that `sits.opens` speaks of, None where both ends look alike; it alone has a default.
        several: how several pieces lie on a tray: flat ones in a stack, small hardware in a cup, others each by itself.
            Common practice, no source.
        aside: it is put into a part in several places, off its axis, where it is screwed in or has a clock position.
        mass: `metal` where it is all of metal and its form leaves little out, `any` where it may be of anything else,
            `body` where it is only as large as its form, with pockets, bosses and teeth that the form leaves out.
        stands: what decides where it stands on an axis: a `face`; a `bore` or a `journal` of its size that must hold
            it, or `either`; a bore or a journal that it is `running` in or on; its `groove`; nothing, since it `yields`
            or lies in a groove that no form shows.
        uncut: it is not cut lengthwise in sections (ISO 128-3, from memory).
        stepped: its steps are few: in a small drawing a low flange or a short head is drawn higher beside what is long.
        indexed: its plan has an index of its own at 12 o'clock: a gap, lugs, an arm.
    """

    kind: ClassVar[str]
    way: ClassVar[str | None] = None
    several: ClassVar[Lay]
    aside: ClassVar[bool]
    mass: ClassVar[Literal["metal", "any", "body"]]
    stands: ClassVar[Literal["face", "bore", "journal", "either", "running", "groove", "yields"]]
    uncut: ClassVar[bool]
    stepped: ClassVar[bool]
    indexed: ClassVar[bool]

    @classmethod
    def __pydantic_init_subclass__(cls, **_: Any) -> None:
        missing = [name for name in Form.__annotations__ if not hasattr(cls, name)]
        if "kind" in vars(cls) and missing:
            raise TypeError(f"the form {cls.kind} does not state {', '.join(missing)}; see {Form.__module__}.Form")

    @model_validator(mode="before")
    @classmethod
    def _unwrap(cls, value: Any) -> Any:
        # In the file a form is {ring: {od: ...}}; the sizes are the value of that one key.
        if isinstance(value, dict) and set(value) == {cls.kind}:
            return value[cls.kind] if value[cls.kind] is not None else {}
        return value

    def smaller(self, small: str, large: str) -> None:
        """Refuse a size `small` that leaves nothing of the size `large`; sizes that are left out say nothing."""
        a, b = getattr(self, small), getattr(self, large)
        if isinstance(a, Quantity) and isinstance(b, Quantity) and b.mm - a.mm < THINNEST_MM:
            least = f" by at least {THINNEST_MM} mm" if a.mm < b.mm else ""
            raise fault(f"{small} {a} is not smaller than {large} {b}{least}")


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
    mass, stands, indexed = "any", "face", True
    teeth: Count


class SteelPlate(Annular):
    """Plain clutch or brake plate with lugs outside."""

    kind = "steel_plate"
    way = "OPEN SIDE"
    mass, stands, indexed = "metal", "face", True
    lugs: Count


class WaveSpring(Annular):
    """Flat wire ring with waves; h is its free height."""

    kind = "wave_spring"
    mass, stands, indexed = "metal", "yields", False
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
    mass, stands, indexed = "metal", "yields", False
    h: Length
    waves: Count | None = None

    @model_validator(mode="after")
    def _taller_than_sheet(self) -> Self:
        self.smaller("t", "h")
        return self


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
