"""One part of a profile, as the file says it."""

from __future__ import annotations

import re
from decimal import Decimal
from typing import Annotated, Any, Final, Literal, Self

from pydantic import Field, ValidationInfo, field_validator, model_validator

from labelkit.model.anyform import AnyForm
from labelkit.model.hardwareform import Threaded
from labelkit.model.scalars import (
    AnyQuantity,
    ClockOrFree,
    Count,
    CountOrSet,
    Degrees,
    Ident,
    Length,
    Mass,
    Model,
    Name,
    PartNumber,
    PhotoPath,
    Share,
    Short,
    Torque,
    UnitName,
    Words,
    YesNo,
    fault,
    schema_of,
)
from labelkit.units import Quantity

SIGNALS: Final = ("danger", "warning", "caution", "notice")
Signal = Literal["danger", "warning", "caution", "notice"]
Moment = Literal["teardown", "removal", "wash", "inspection", "assembly"]
CheckTime = Literal["before", "removal", "apart", "clean", "assembled"]
Wash = Literal["basket", "small_basket", "wipe", "no_solvent", "not_washed", "before"]
# From here on a part is lifted with care: its mass is said aloud. Common practice, no source.
_HEAVY_KG: Final = Decimal(10)
# A mass that words name.
_MASS: Final = re.compile(r"(\d+(?:[.,]\d+)?)\s*(kg|lb)\b", re.ASCII)
Only = dict[Ident, Ident | Annotated[tuple[Ident, ...], Field(min_length=1)]]


class Hazard(Model):
    """What can hurt somebody, and when. Signal words by ANSI Z535.4 meaning; `notice` is not about injury."""

    signal: Signal
    at: Moment | None = None
    text: Words

    @property
    def hurts(self) -> bool:
        """Whether it is about injury."""
        return self.signal != "notice"

    @property
    def kg(self) -> Decimal:
        """The greatest mass that its words name, kg; 0 where they name none."""
        named = (Quantity(Decimal(value.replace(",", ".")), unit).kg for value, unit in _MASS.findall(self.text))
        return max(named, default=Decimal(0))


class Out(Model):
    """How the part comes out."""

    by: Name | None = None
    look_under: Words | None = None
    tool: Ident | None = None
    together: Annotated[Ident | None, Field(alias="with")] = None
    note: Words | None = None


class Sits(Model):
    """How the part sits in the unit. A field left out is not recorded; `free` means any position is right.

    Attributes:
        up: the face that points up, in the unit's own sense of up; `free`: either way is right.
        opens: where the form's characteristic end points: a drum's mouth, a seal's lip, a bolt's head.
        on: the part it lies on.
        clock: position on the dial, read from the unit's `clock_from`.
        feature: what is at that position, or which index meets which.
        tell: how to see that it is right.
        if_wrong: what happens when it is not.
    """

    up: Name | None = None
    opens: Literal["up", "down"] | None = None
    on: Ident | None = None
    clock: ClockOrFree | None = None
    feature: Words | None = None
    tell: Words | None = None
    if_wrong: Words | None = None


class SeenSits(Sits):
    """How the part of one unit sits, as far as somebody saw what its profile does not say.

    Attributes:
        saw: the fields that were seen.
        by: who saw it, and when, for people.
    """

    saw: frozenset[str]
    by: str


class Held(Model):
    """What holds the part. `behind`: captured by `part`, stays inside, has no bin of its own."""

    by: Literal["loose", "slip", "pressed", "staked", "screwed", "ring", "behind"]
    part: Ident | None = None

    model_config = schema_of(
        anyOf=[{"required": ["part"]}, {"not": {"properties": {"by": {"enum": ["ring", "behind"]}}}}],
    )

    @model_validator(mode="after")
    def _names_its_part(self) -> Self:
        if self.by in ("ring", "behind") and self.part is None:
            raise fault(f"held by {self.by} needs the part that does it: {{by: {self.by}, part: some-id}}")
        return self


class Check(Model):
    """One inspection point: something to look at, or something to measure. `unit`: of figures that have no limits."""

    look: Words | None = None
    measure: Words | None = None
    at: CheckTime | None = None
    each: Count | None = None
    min: AnyQuantity | None = None
    max: AnyQuantity | None = None
    readings: Count | None = None
    spread: Length | None = None
    keep: YesNo = False
    unit: UnitName | None = None
    tool: Words | None = None
    otherwise: Annotated[Words | None, Field(alias="else")] = None

    model_config = schema_of(
        oneOf=[
            {"required": ["measure"]},
            {"required": ["look"], "properties": dict.fromkeys(("min", "max", "readings", "spread", "unit"), False)},
        ],
        dependentSchemas={"unit": {"properties": dict.fromkeys(("min", "max", "spread"), False)}},
    )

    @model_validator(mode="after")
    def _one_kind(self) -> Self:
        if (self.look is None) == (self.measure is None):
            raise fault("a check is either {look: ...} or {measure: ...}")
        if self.look is not None and (self.min or self.max or self.readings or self.spread or self.unit):
            raise fault("min, max, readings, spread and unit belong to a {measure: ...} check")
        if self.unit and (self.min or self.max or self.spread):
            raise fault("the limits say the unit; unit is for a {measure: ...} check without any")
        if self.min and self.max:
            if self.min.kind != self.max.kind:
                raise fault(f"min {self.min} and max {self.max} measure different things")
            if self.min.base > self.max.base:
                raise fault(f"min {self.min} is above max {self.max}")
        return self


class Fasten(Model):
    """How the fasteners are tightened. `passes`: shares of the torque, in order."""

    torque: Torque | None = None
    angle: Degrees | None = None
    pattern: Literal["circle", "row", "two_rows"] | tuple[Count, ...] | None = None
    passes: tuple[Share, ...] = ()
    oiled: YesNo | None = None


class RenewWith(Model):
    """Renewed whenever that other part is."""

    part: Annotated[Ident, Field(alias="with")]


class LookAlike(Model):
    """A part that is easily taken for this one, and how to tell."""

    part: Ident
    tell: Words | None = None


class Part(Model):
    """One entry of a profile, with a quantity; a part that has parts is a sub-assembly."""

    id: Ident
    name: Name
    short: Short | None = None
    qty: CountOrSet = 1
    form: AnyForm | None = None
    mass: Mass | None = None
    number: PartNumber | None = None
    pack: Count | None = None
    series: Ident | None = None
    renew: Literal["always", "if_worn", "never"] | RenewWith | None = None
    out: Out | None = None
    sits: Sits | None = None
    check: tuple[Check, ...] = ()
    only: Only = Field(default_factory=dict)
    held: Held | None = None
    carried_by: Ident | None = None
    keep_with: tuple[Ident, ...] = ()
    pair: tuple[Ident, ...] = ()
    look_alike: tuple[LookAlike, ...] = ()
    wash: Wash | None = None
    lay: Literal["each", "stack", "cup"] | None = None
    hazards: tuple[Hazard, ...] = ()
    photo: PhotoPath | None = None
    parts: tuple[Part, ...] = ()
    used: Count = 1
    stack: tuple[Ident, ...] = ()
    stack_from: Name | None = None
    thread: Literal["right", "left"] = "right"
    one_time: YesNo = False
    fasten: Fasten | None = None

    @field_validator("check")
    @classmethod
    def _each_graded(cls, points: tuple[Check, ...], info: ValidationInfo) -> tuple[Check, ...]:
        """Have each of several graded pieces measured, where the profile does not say: their sum sets the fit."""
        pieces = info.data.get("qty")
        if not info.data.get("series") or not isinstance(pieces, int) or pieces < 2:
            return points
        open_ones = [bool(point.measure) and point.keep and point.each is None for point in points]
        each = {"each": pieces}
        return tuple(p.model_copy(update=each) if lacks else p for p, lacks in zip(points, open_ones, strict=True))

    @property
    def captured(self) -> bool:
        """Whether it stays inside another part and has no bin of its own."""
        return self.held is not None and self.held.by == "behind"

    @property
    def screwed(self) -> bool:
        """Whether its thread or screws hold it."""
        return self.held is not None and self.held.by == "screwed"

    @property
    def tightened(self) -> bool:
        """Whether it is tightened: it has a torque, or is a screw, a nut or a plug that lacks one."""
        return self.fasten is not None or isinstance(self.form, Threaded)

    @property
    def new_only(self) -> bool:
        """Whether the old one is thrown away once it is out."""
        return self.renew == "always" or self.one_time

    @property
    def lift(self) -> str:
        """What one piece weighs, where it is lifted with care: `20.5 kg`; else empty, as where nobody recorded it."""
        if self.mass is None or self.mass.kg < _HEAVY_KG:
            return ""
        return f"{self.mass.value.normalize():f} {self.mass.unit}"

    @property
    def holder(self) -> str | None:
        """Id of the ring that holds it or of the part that captures it: neither lets it out; None when none does."""
        return self.held.part if self.held and self.held.by in ("ring", "behind") else None

    def matches(self, chosen: dict[str, str | None]) -> bool | None:
        """Say whether the part is there under the chosen options; None while that is open.

        Args:
            chosen: option group to choice, None where not chosen yet.
        """
        answer: bool | None = True
        for group, wanted in self.only.items():
            choice = chosen.get(group)
            if choice is None:
                answer = None
            elif choice not in wanted_choices(wanted):
                return False
        return answer


def wanted_choices(wanted: str | tuple[str, ...]) -> tuple[str, ...]:
    """Return the choices that an `only` entry names, one or several."""
    return (wanted,) if isinstance(wanted, str) else wanted


def dump(value: Any) -> Any:
    """Return a model, quantity or scalar as plain data for JSON, in the words of the file."""
    if isinstance(value, Model):
        names = type(value).model_fields
        shown = ((names[key].alias or key, getattr(value, key)) for key in names)
        plain = {key: dump(item) for key, item in shown if item not in (None, (), {}, "")}
        kind = getattr(value, "kind", None)
        return {kind: plain} if isinstance(kind, str) and kind != plain.get("kind") else plain
    if isinstance(value, tuple | list):
        return [dump(item) for item in value]
    if isinstance(value, dict):
        return {key: dump(item) for key, item in value.items()}
    return value if isinstance(value, str | int | bool) or value is None else str(value)
