"""A unit profile: the header, options, series, parts, fits and assembly rules of one family of unit."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from decimal import Decimal
from functools import cached_property
from typing import Annotated, Any, Final, Literal, Self

from pydantic import Field, ValidationInfo, field_validator, model_validator

from labelkit import units
from labelkit.model.part import Hazard, Part
from labelkit.model.scalars import (
    Aim,
    AnyQuantity,
    Count,
    Ident,
    Length,
    LengthOrZero,
    LengthUnit,
    Litres,
    Mark,
    Mass,
    MassUnit,
    Model,
    Name,
    PartNumber,
    Short,
    TorqueUnit,
    UnitName,
    Words,
    fault,
    schema_of,
    written,
)

# More graded sizes than any maker keeps: a slip of the step or the decimal point.
_MOST_SIZES: Final = 1000


class Oil(Model):
    """Kind and quantity of oil."""

    kind: Name
    volume_l: Litres | None = None


class Header(Model):
    """What the profile is about, and the units and directions of every field in it."""

    mark: Mark
    name: Name
    revision: Short = "1"
    source: Name | None = None
    lengths: LengthUnit = "mm"
    masses: MassUnit = "kg"
    torques: TorqueUnit = "N·m"
    up: Name
    clock_from: Name | None = None
    twelve: Name | None = None
    mass: Mass | None = None
    nameplate: tuple[Name, ...] = ()
    oil: Oil | None = None

    @property
    def invented(self) -> bool:
        """Whether this is a demonstration unit; everything printed says so."""
        return self.source is not None and "invented" in self.source.lower()


class Option(Model):
    """A group of alternatives between versions; without a default it stays open until chosen."""

    name: Name
    tell: Words | None = None
    choices: Annotated[dict[Ident, Name], Field(min_length=1)]
    default: Ident | None = None


class Series(Model):
    """The graded sizes of a selective part: from, to and step, or a list of sizes."""

    first: Annotated[Length | None, Field(alias="from")] = None
    to: Length | None = None
    step: Length | None = None
    sizes: Annotated[tuple[Length, ...], Field(min_length=1)] | None = None
    tol: LengthOrZero | None = None
    numbers: dict[Name, PartNumber] = Field(default_factory=dict)
    pieces: Count = 1
    marks: dict[Name, Name] = Field(default_factory=dict)

    model_config = schema_of(
        oneOf=[{"required": ["from", "to", "step"]}, {"required": ["sizes"]}],
        dependentSchemas={"sizes": {"properties": dict.fromkeys(("from", "to", "step"), False)}},
    )

    @field_validator("sizes")
    @classmethod
    def _each_once(cls, sizes: tuple[units.Quantity, ...] | None) -> tuple[units.Quantity, ...] | None:
        seen: dict[Decimal, units.Quantity] = {}
        for size in sizes or ():
            if size.mm in seen:
                raise fault(f"names a size twice: {seen[size.mm]} and {size}")
            seen[size.mm] = size
        return sizes

    @model_validator(mode="after")
    def _graded(self) -> Self:
        graded = (self.first, self.to, self.step)
        if (None in graded) if self.sizes is None else any(graded):
            raise fault("a series is either {from, to, step} or {sizes: [...]}")
        if self.first and self.to and self.step:
            if self.first.mm > self.to.mm:
                raise fault(f"from {self.first} is above to {self.to}")
            if (self.to.mm - self.first.mm) % self.step.mm:
                raise fault(f"steps of {self.step} from {self.first} do not reach {self.to}; list the sizes instead")
            if (self.to.mm - self.first.mm) / self.step.mm >= _MOST_SIZES:
                raise fault(f"steps of {self.step} from {self.first} to {self.to} are over {_MOST_SIZES} sizes")
        return self

    def listed(self) -> tuple[units.Quantity, ...]:
        """Return the sizes as written, smallest to largest for from/to/step."""
        if self.sizes is not None:
            return self.sizes
        if not (self.first and self.to and self.step):
            return ()
        first, step, unit = self.first.value, self.step.value, self.first.unit
        if self.step.unit != unit:
            first, step, unit = self.first.mm, self.step.mm, "mm"
        count = int((self.to.mm - self.first.mm) / self.step.mm) + 1
        return tuple(units.Quantity(first + step * k, unit) for k in range(count))

    def thicknesses(self) -> tuple[Decimal, ...]:
        """Return the sizes in mm."""
        return tuple(size.mm for size in self.listed())


@dataclass(frozen=True, slots=True)
class Read:
    """When fits of a kind are read, and how often. Common practice, no source.

    Attributes:
        found: as it was found, with everything still in place; a stack is worked out from its plates, which are out.
        together: while the unit is together, so that whatever carries a part of it away ends it.
        again: `at_once` is as soon as its last part is in; `closed` with what closes it in place.
        stops: nothing goes in over its parts before it is read again, which could not be afterwards.
        times: how often where a profile does not say it.
        least: how often at least: a pack at so many places.
    """

    found: bool
    together: bool
    again: Literal["at_once", "closed"]
    stops: bool
    times: int = 3
    least: int = 1


READ: Final[Mapping[str, Read]] = {
    "end_play": Read(found=True, together=True, again="closed", stops=False),
    "clearance": Read(found=True, together=False, again="at_once", stops=True, times=4, least=4),
    # It was worked out before; together it is a clearance.
    "stack": Read(found=False, together=False, again="at_once", stops=False, times=4, least=4),
    "preload": Read(found=True, together=True, again="at_once", stops=True),
}
"""When each kind of fit is read, and how often."""


_PLAY: Final = ("length",)
_MEASURED: Final[Mapping[str, tuple[str, ...]]] = dict.fromkeys(READ, _PLAY) | {
    "preload": ("torque", "force", "length")
}


class Fit(Model):
    """A play, clearance or preload that is measured and set."""

    # The order of the fields is that of the checks: the aim looks at the target above it.
    kind: Literal["end_play", "clearance", "stack", "preload"]
    target: Annotated[tuple[AnyQuantity, AnyQuantity], written("[low, high]")]
    aim: Aim = "middle"
    tie: Literal["tight", "loose"] | None = None
    unit: UnitName | None = None
    set_by: Ident | None = None
    thicker: Literal["reduces", "increases"] | None = None
    readings: Count | None = None
    spread: AnyQuantity | None = None
    state: Name | None = None
    depth: Length | None = None
    of: Ident | None = None
    seat: tuple[Words, ...] = ()
    chain: tuple[Ident, ...] = ()

    @model_validator(mode="before")
    @classmethod
    def _in_its_unit(cls, value: Any) -> Any:
        """Give bare figures the fit's own unit, where it states one (a preload in N·m)."""
        if not isinstance(value, dict) or not isinstance(value.get("unit"), str):
            return value
        try:
            unit = units.unit(value["unit"], None)
        except units.UnitError:
            return value  # told at its own place

        def with_unit(text: Any) -> Any:
            try:
                units.number(text)
            except (units.UnitError, AttributeError):
                return text
            return f"{text} {unit}"

        changed = dict(value)
        if isinstance(value.get("target"), list):
            changed["target"] = [with_unit(item) for item in value["target"]]
        for key in ("aim", "spread"):
            if key in value:
                changed[key] = with_unit(value[key])
        return changed

    @field_validator("target")
    @classmethod
    def _in_order(
        cls, target: tuple[units.Quantity, units.Quantity], info: ValidationInfo
    ) -> tuple[units.Quantity, units.Quantity]:
        low, high = target
        if low.kind != high.kind:
            raise fault(f"{low} and {high} measure different things")
        if (kinds := _MEASURED.get(info.data.get("kind", ""))) and low.kind not in kinds:
            raise fault(f"found {low}, a {low.kind}; allowed for {info.data['kind']}: a {' or a '.join(kinds)}")
        if low.base >= high.base:
            raise fault(f"the low end {low} is not below the high end {high}; write it as [low, high]")
        return target

    @field_validator("aim")
    @classmethod
    def _inside_the_target(cls, aim: units.Quantity | str, info: ValidationInfo) -> units.Quantity | str:
        if isinstance(aim, units.Quantity) and "target" in info.data:
            low, high = info.data["target"]
            if aim.kind != low.kind or not low.base <= aim.base <= high.base:
                raise fault(f"found {aim}; it lies outside the target {low} to {high}")
        return aim

    @property
    def read(self) -> Read:
        """When it is read."""
        return READ[self.kind]

    @property
    def times(self) -> int:
        """How often it is read, on paper as on pages: as the profile says, else as is usual for its kind."""
        return max(self.readings or self.read.times, self.read.least)

    @property
    def parts(self) -> tuple[str, ...]:
        """Ids of the parts whose sizes it comes from, each once: what sets it, its chain, what it is of."""
        return tuple(dict.fromkeys(part for part in (self.set_by, *self.chain, self.of) if part))


@dataclass(frozen=True, slots=True)
class PartFit:
    """What a part has to do with a fit.

    Attributes:
        id: of the fit: `output-preload`.
        fit: the fit.
        sets: the part is the one that is chosen to set it; otherwise its size only counts.
    """

    id: str
    fit: Fit
    sets: bool

    @property
    def name(self) -> str:
        """The fit's id in words."""
        return fit_words(self.id)


def fit_words(name: str) -> str:
    """Return the name of a fit as people read it.

    >>> fit_words("output-preload")
    'output preload'
    """
    return name.replace("-", " ")


class AssemblyRule(Model):
    """Where the rebuild is not the plain reverse: one part before another, or several as one group."""

    first: Ident | None = None
    then: Ident | None = None
    join: tuple[Ident, ...] = ()
    name: Annotated[Name | None, Field(alias="as")] = None
    tool: Ident | None = None
    because: Words | None = None

    model_config = schema_of(
        oneOf=[{"required": ["first", "then"]}, {"required": ["join"], "properties": {"join": {"minItems": 2}}}]
    )

    @model_validator(mode="after")
    def _one_kind(self) -> Self:
        pair = self.first is not None and self.then is not None
        if pair == bool(self.join) or (self.join and (self.first or self.then)):
            raise fault("a rule is either {first: id, then: id} or {join: [id, id, ...], as: name}")
        if self.join and len(set(self.join)) < 2:
            raise fault("join names fewer than two parts")
        if pair and self.first == self.then:
            raise fault(f"first and then are both {self.first}")
        return self


class Profile(Model):
    """The YAML file of one family of unit, format 1."""

    format: Literal["1"]
    unit: Header
    options: dict[Ident, Option] = Field(default_factory=dict)
    tools: dict[Ident, Words] = Field(default_factory=dict)
    series: dict[Ident, Series] = Field(default_factory=dict)
    hazards: tuple[Hazard, ...] = ()
    parts: Annotated[tuple[Part, ...], Field(min_length=1)]
    fits: dict[Ident, Fit] = Field(default_factory=dict)
    assembly: tuple[AssemblyRule, ...] = ()

    def fits_of(self, part: str) -> tuple[PartFit, ...]:
        """Return the fits that a part sets or has a share in, those that it sets first; empty when there are none.

        A share has what counts in the fit, and the stack that it is of.

        Args:
            part: its id.
        """
        return self._fits.get(part, ())

    @cached_property
    def _fits(self) -> dict[str, tuple[PartFit, ...]]:
        found: dict[str, list[PartFit]] = {}
        for name, fit in self.fits.items():
            for part in dict.fromkeys(filter(None, (fit.set_by, fit.of, *self.counted(fit)))):
                found.setdefault(part, []).append(PartFit(name, fit, part == fit.set_by))
        return {part: tuple(sorted(shares, key=lambda share: not share.sets)) for part, shares in found.items()}

    def counted(self, fit: Fit) -> tuple[str, ...]:
        """Return the ids of the parts that count in a fit: its chain, else the plates of the pack that it is of."""
        return fit.chain or tuple(
            dict.fromkeys(plate for _, part in self.walk() if part.id == fit.of for plate in part.stack)
        )

    @cached_property
    def names(self) -> dict[str, str]:
        """Name of every part by its id."""
        return {part.id: part.name for _, part in self.walk()}

    def walk(self) -> Iterator[tuple[tuple[int, ...], Part]]:
        """Yield every part with its place in the tree, (3, 0) being the first part of the fourth; parents first."""
        yield from _walk(self.parts, ())


def _walk(parts: tuple[Part, ...], place: tuple[int, ...]) -> Iterator[tuple[tuple[int, ...], Part]]:
    for index, part in enumerate(parts):
        yield (*place, index), part
        yield from _walk(part.parts, (*place, index))
