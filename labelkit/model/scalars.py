"""Typed scalars of the YAML files: every value arrives as text and is read by the type its field declares.

A bare number takes the unit that the profile's header states; the loader passes it as pydantic context
(`{"lengths": "mm", "masses": "kg", "torques": "N·m"}`). Each scalar also knows its JSON Schema, so that an editor
accepts what the loader accepts.
"""

from __future__ import annotations

import re
from collections.abc import Callable
from dataclasses import dataclass
from decimal import Decimal
from typing import Annotated, Any, Final, Literal

from pydantic import BaseModel, ConfigDict, Field, GetJsonSchemaHandler
from pydantic.json_schema import JsonSchemaValue
from pydantic_core import CoreSchema, PydanticCustomError, core_schema

from labelkit import units
from labelkit.errors import allowed_text
from labelkit.language import noop
from labelkit.units import Quantity

# Larger than any unit a person takes apart on a bench; a bigger figure is a slip of the unit or the decimal point.
LONGEST_MM: Final = Decimal(20_000)
# Less than a gauge shows, and than drawings tell apart.
THINNEST_MM: Final = Decimal("0.001")
_HEAVIEST_KG: Final = Decimal(50_000)

_NUMBER_PATTERN: Final = r"^\s*[+-]?(\d|\.\d)[^,]*$"
_POSITIVE_PATTERN: Final = r"^\s*\+?(\d|\.\d)[^,]*$"
# Whatever is written without quotes may reach an editor as one of these.
_ANY_WORD: Final = ["string", "number", "boolean"]
_FIGURE: Final = ["number", "string"]


class Model(BaseModel):
    """Base of everything read from a file: frozen, and no field but the declared ones."""

    model_config = ConfigDict(
        frozen=True, extra="forbid", validate_default=False, defer_build=True
    )  # most are built within the profile


def schema_of(**words: Any) -> ConfigDict:
    """Return the configuration that adds words of JSON Schema to a model: what the loader checks in Python."""
    return ConfigDict(json_schema_extra=words)


def written(words: str) -> Any:
    """Return the note that says how a list of figures is written, `[diameter, length]`: to editors, and in messages."""
    return Field(description=words)


def fault(message: str, **values: object) -> PydanticCustomError:
    """Return the error that carries a message for the user to the loader.

    Args:
        message: finished; or, where there are values, with their places: marked by `noop`, people at the bench read it
            in their language.
        values: what is filled in. Names of sizes are the form's own; `allowed` is a text that is translated, too.
    """
    texts = {name: str(value) for name, value in values.items()}
    # The message may hold braces; pass it as a value, not as a template.
    context = {"message": message.format(**texts) if texts else message, "template": message if texts else ""}
    return PydanticCustomError("labelkit", "{message}", context | {"values": texts})


def as_text(value: object) -> str:
    """Return a scalar's text; raise `fault` when a list or mapping stands in its place."""
    if isinstance(value, str):
        return value
    if value is None:
        raise fault("is empty; write a value, or leave the field out")
    raise fault(f"is a {'list' if isinstance(value, list) else 'mapping'}; one value is allowed here")


@dataclass(frozen=True, eq=False)
class Scalar:
    """Annotation of a field.

    Attributes:
        read: reads its text, with the context.
        schema: describes it to editors.
        longest: most characters of the text; None where `read` says so itself.
        what: a word for it, where a message says what stands in a list or a mapping.
    """

    read: Callable[[str, dict[str, str]], object]
    schema: dict[str, Any]
    longest: int | None = 60
    what: str = "text"

    @property
    def decimal(self) -> bool:
        """Whether it is a figure that may have decimals."""
        return self.schema.get("type") == _FIGURE

    def __get_pydantic_core_schema__(self, _source: object, _handler: object) -> CoreSchema:
        def validate(value: object, info: core_schema.ValidationInfo) -> object:
            if isinstance(value, Quantity | Decimal | Clock | bool | int):
                return value  # built in Python, as tests and defaults do
            text = as_text(value).strip()
            if self.longest and len(text) > self.longest:
                raise fault(f'found "{text[:20]}..." of {len(text)} characters; allowed: at most {self.longest}')
            try:
                return self.read(text, info.context or {})
            except units.UnitError as error:
                raise fault(str(error)) from error

        return core_schema.with_info_plain_validator_function(validate)

    def __get_pydantic_json_schema__(self, _schema: CoreSchema, _handler: GetJsonSchemaHandler) -> JsonSchemaValue:
        return dict(self.schema)


def _quantity(
    kind: units.Kind,
    context_key: str,
    fallback: str,
    *,
    low: Decimal,
    open_low: bool,
    high: Decimal,
    least: Decimal = Decimal(0),
) -> Scalar:
    """Describe a field of one kind; what is above 0 and less than `least` is a slip, as what is above `high`."""

    def read(text: str, context: dict[str, str]) -> Quantity:
        quantity = units.parse(text, kind, context.get(context_key, fallback))
        base = quantity.base
        if base < low or (open_low and base == low):
            told = (
                noop("found {found}; allowed: more than {low}")
                if open_low
                else noop("found {found}; allowed: at least {low}")
            )
            raise fault(told, found=quantity, low=low)
        if base > high or 0 < base < least:
            over = noop("found {found}; allowed: at most {limit} {unit}. Is the unit right?")
            under = noop("found {found}; allowed: at least {limit} {unit}. Is the unit right?")
            told, limit = (over, high) if base > high else (under, least)
            raise fault(told, found=quantity, limit=limit, unit=units.units_of(kind)[0])
        return quantity

    return Scalar(read, _quantity_schema(kind, low, open_low, high), what=kind)


def _quantity_schema(kind: units.Kind, low: Decimal, open_low: bool, high: Decimal) -> dict[str, Any]:
    """Describe a quantity; a bare number may be in any unit that a header allows, so its upper bound is a loose one."""
    smallest = {"length": "mm", "mass": "g", "torque": "lbf·in"}.get(kind, units.units_of(kind)[0])
    return {
        "type": _FIGURE,
        "pattern": _NUMBER_PATTERN if low < 0 else _POSITIVE_PATTERN,
        "maxLength": 60,
        "maximum": float(high / units.FACTORS[smallest][1]),
        "exclusiveMinimum" if open_low else "minimum": float(low),
    }


_ZERO: Final = Decimal(0)
Length = Annotated[
    Quantity, _quantity("length", "lengths", "mm", low=_ZERO, open_low=True, high=LONGEST_MM, least=THINNEST_MM)
]
LengthOrZero = Annotated[
    Quantity, _quantity("length", "lengths", "mm", low=_ZERO, open_low=False, high=LONGEST_MM, least=THINNEST_MM)
]
SignedLength = Annotated[
    Quantity, _quantity("length", "lengths", "mm", low=-LONGEST_MM, open_low=False, high=LONGEST_MM)
]
Mass = Annotated[Quantity, _quantity("mass", "masses", "kg", low=_ZERO, open_low=True, high=_HEAVIEST_KG)]
Torque = Annotated[Quantity, _quantity("torque", "torques", "N·m", low=_ZERO, open_low=True, high=Decimal(100_000))]
Degrees = Annotated[Quantity, _quantity("angle", "angles", "deg", low=_ZERO, open_low=False, high=Decimal(1080))]


def _any_quantity(text: str, context: dict[str, str]) -> Quantity:
    """Read a figure of any kind; a bare number is a length."""
    return units.parse(text, None, context.get("lengths", "mm"))


AnyQuantity = Annotated[
    Quantity,
    Scalar(_any_quantity, {"type": _FIGURE, "pattern": _NUMBER_PATTERN, "maxLength": 60}, what="figure"),
]


def _whole(low: int, high: int) -> Scalar:
    def read(text: str, _context: dict[str, str]) -> int:
        if not re.fullmatch(r"[0-9]{1,9}", text) or not low <= int(text) <= high:
            raise fault(
                noop('found "{found}"; allowed: a whole number from {low} to {high}'), found=text, low=low, high=high
            )
        return int(text)

    return Scalar(read, _whole_schema(low, high, r"^[0-9]{1,9}$"), what="whole number")


def _whole_schema(low: int, high: int, pattern: str) -> dict[str, Any]:
    """Describe a whole number, and how it is written as a text."""
    return {"anyOf": [{"type": "integer", "minimum": low, "maximum": high}, {"type": "string", "pattern": pattern}]}


def _number(low: str, high: int, allowed: str) -> Scalar:
    """Describe a plain number; `allowed` says its bounds in words."""
    least, most = Decimal(low), Decimal(high)

    def read(text: str, _context: dict[str, str]) -> Decimal:
        try:
            value = units.number(text)
        except units.UnitError as error:
            raise fault(noop("{wrong}; allowed: {allowed}"), wrong=error, allowed=allowed) from error
        if not least <= value <= most:
            raise fault(noop('found "{found}"; allowed: {allowed}'), found=text, allowed=allowed)
        return value

    bounds = {"minimum": float(least), "maximum": float(most)}
    return Scalar(read, {"type": _FIGURE, "pattern": _POSITIVE_PATTERN, **bounds}, what="number")


# What a header may state as the unit of bare numbers, by its field.
HEADER_UNITS: Final[dict[str, tuple[units.Kind, tuple[str, ...]]]] = {
    "lengths": ("length", ("mm", "in")),
    "masses": ("mass", ("kg", "g", "lb")),
    "torques": ("torque", ("N·m", "lbf·ft", "lbf·in")),
}


def header_unit(field: str, text: str) -> str:
    """Return the unit that a header states for bare numbers, in any spelling that a value may have.

    Args:
        field: `lengths`, `masses` or `torques`.
        text: the unit as people write it.

    Raises:
        UnitError: no such unit, or not one that a header may state.

    >>> header_unit("torques", "lb-ft")
    'lbf·ft'
    """
    kind, allowed = HEADER_UNITS[field]
    try:
        name = units.unit(text, kind)
    except units.UnitError:
        name = ""
    if name not in allowed:
        raise units.UnitError(f'found "{text}"; {allowed_text(text, allowed)}')
    return name


def _header_unit(field: str) -> Scalar:
    schema = {"anyOf": [{"enum": list(HEADER_UNITS[field][1])}, {"type": "string", "maxLength": 60}]}
    return Scalar(lambda text, _context: header_unit(field, text), schema)


LengthUnit = Annotated[Literal["mm", "in"], _header_unit("lengths")]
MassUnit = Annotated[Literal["kg", "g", "lb"], _header_unit("masses")]
TorqueUnit = Annotated[Literal["N·m", "lbf·ft", "lbf·in"], _header_unit("torques")]


def _yes_no(text: str, _context: dict[str, str]) -> bool:
    if text not in ("true", "false"):
        raise fault(f'found "{text}"; allowed: true, false')
    return text == "true"


Count = Annotated[int, _whole(1, 9999)]


def _count_or_set(text: str, _context: dict[str, str]) -> int | str:
    if text != "set" and not re.fullmatch(r"[1-9][0-9]{0,3}", text):
        told = noop('found "{found}"; allowed: a whole number from 1 to 9999, or set (no fixed count)')
        raise fault(told, found=text)
    return text if text == "set" else int(text)


_AIMS: Final = ("middle", "low", "high")


def _aim(text: str, context: dict[str, str]) -> Quantity | str:
    if re.fullmatch("[a-z]+", text, re.IGNORECASE) and text not in _AIMS:
        raise fault(f'found "{text}" instead of a figure; {allowed_text(text, _AIMS)}')
    return text if text in _AIMS else _any_quantity(text, context)


CountOrSet = Annotated[int | Literal["set"], Scalar(_count_or_set, _whole_schema(1, 9999, r"^(set|[1-9][0-9]{0,3})$"))]
Aim = Annotated[
    Quantity | Literal["middle", "low", "high"],
    Scalar(
        _aim,
        {
            "anyOf": [
                {"enum": list(_AIMS)},
                {"type": _FIGURE, "pattern": _NUMBER_PATTERN, "maxLength": 60},
            ]
        },
    ),
]
Litres = Annotated[Decimal, _number("0.001", 100_000, noop("litres, from 0.001 to 100000, without the unit"))]
Coils = Annotated[Decimal, _number("0.01", 1000, noop("a number from 0.01 to 1000, without a unit"))]
Share = Annotated[Decimal, _number("0.01", 1, noop("a number from 0.01 to 1, as 0.5 for 50 %"))]
YesNo = Annotated[bool, Scalar(_yes_no, {"enum": [True, False, "true", "false"]})]


@dataclass(frozen=True, slots=True)
class Clock:
    """A position on the dial, minutes after 12:00; one hour is 30 degrees.

    >>> str(Clock(9 * 60)), Clock(9 * 60).degrees, str(Clock(5 * 60).mirrored())
    ('9:00', 270.0, '7:00')
    """

    minutes: int

    @property
    def degrees(self) -> float:
        """Angle from 12 o'clock, clockwise as seen from the stated end."""
        return self.minutes / 2

    def mirrored(self) -> Clock:
        """Return the same place as seen from the other end: 5 o'clock becomes 7, 12 stays 12."""
        return Clock((720 - self.minutes) % 720)

    def __str__(self) -> str:
        hour, minute = divmod(self.minutes, 60)
        return f"{hour or 12}:{minute:02d}"


def _clock(text: str, _context: dict[str, str]) -> Clock | str:
    if text == "free":
        return "free"
    match = re.fullmatch(r"(1[0-2]|[1-9]):([0-5][0-9])", text)
    if match is None:
        raise fault(noop('found "{found}"; allowed: free, or an hour on the dial from "1:00" to "12:59"'), found=text)
    return Clock(int(match.group(1)) % 12 * 60 + int(match.group(2)))


ClockOrFree = Annotated[
    Clock | Literal["free"],
    Scalar(_clock, {"type": "string", "pattern": r"^(free|(1[0-2]|[1-9]):[0-5][0-9])$"}),
]


def _words(longest: int) -> Scalar:
    def read(text: str, _context: dict[str, str]) -> str:
        flat = " ".join(text.split())
        if not flat:
            raise fault("is empty; write some words, or leave the field out")
        if len(flat) > longest:
            raise fault(noop("has {count} letters; allowed: at most {most}"), count=len(flat), most=longest)
        if bad := next((letter for letter in flat if not letter.isprintable()), None):
            raise fault(noop("holds the unprintable character {sign}; take it out"), sign=f"U+{ord(bad):04X}")
        return flat

    return Scalar(read, {"type": _ANY_WORD, "pattern": r"\S", "maxLength": longest}, None)


Words = Annotated[str, _words(400)]
Name = Annotated[str, _words(80)]
Short = Annotated[str, _words(24)]
UnitName = Annotated[str, Scalar(lambda text, _context: units.unit(text, None), {"type": "string", "maxLength": 60})]
"""A unit, in its standard spelling."""


def _matching(pattern: str, meaning: str) -> Scalar:
    def read(text: str, _context: dict[str, str]) -> str:
        if not re.fullmatch(pattern, text):
            raise fault(noop('found "{found}"; allowed: {allowed}'), found=text, allowed=meaning)
        return text

    return Scalar(read, {"type": _ANY_WORD, "pattern": f"^{pattern}$"}, what="id")


IDENT: Final = r"[a-z0-9][a-z0-9-]{0,47}"
Ident = Annotated[str, _matching(IDENT, "up to 48 of a-z, 0-9 and -, as in thrust-2")]
Mark = Annotated[str, _matching(r"[A-Z0-9-]{2,8}", noop("2 to 8 of A-Z, 0-9 and -, as in KR2"))]
PartNumber = Annotated[str, _words(40)]

# Neither absolute, nor with a drive or a step upward.
_PHOTO_PATTERN: Final = r"^(?![/\\])(?!(.*[/\\])?\.\.([/\\]|$))[^:]+$"


def _photo(text: str, _context: dict[str, str]) -> str:
    if not re.fullmatch(_PHOTO_PATTERN, text):
        raise fault(f'found "{text}"; allowed: a path below the profile\'s own folder, as in photos/carrier-1.jpg')
    return text.replace("\\", "/")


PhotoPath = Annotated[str, Scalar(_photo, {"type": "string", "pattern": _PHOTO_PATTERN, "maxLength": 240}, 240)]
