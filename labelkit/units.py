"""Exact decimal lengths, masses, torques, angles and forces, as people write them.

A quantity keeps the number exactly as it was typed, with its unit: `0.30` stays two decimals, an inch value stays in
inches. Conversions are exact decimal products; nothing is rounded here.

Source: exact factors from NIST SP 811 (2008), appendix B.8 (inch, pound, pound-force, foot), and SI prefixes.
"""

from __future__ import annotations

import re
from dataclasses import dataclass
from decimal import Decimal, InvalidOperation
from fractions import Fraction
from typing import Final, Literal

Kind = Literal["length", "mass", "torque", "angle", "force", "volume", "pressure"]

_INCH: Final = Decimal("25.4")  # mm, exact
_POUND: Final = Decimal("0.45359237")  # kg, exact
_GRAVITY: Final = Decimal("9.80665")  # m/s2, standard, exact
_POUND_FORCE: Final = _POUND * _GRAVITY  # N
_LBF_IN: Final = _POUND_FORCE * _INCH / 1000  # N·m
_QUART: Final = Decimal("0.946352946")  # L, US liquid, exact

# unit -> (kind, factor to the base unit of that kind: mm, kg, N·m, degree, N, litre, bar)
FACTORS: Final[dict[str, tuple[Kind, Decimal]]] = {
    "mm": ("length", Decimal(1)),
    "cm": ("length", Decimal(10)),
    "m": ("length", Decimal(1000)),
    "µm": ("length", Decimal("0.001")),
    "in": ("length", _INCH),
    "kg": ("mass", Decimal(1)),
    "g": ("mass", Decimal("0.001")),
    "lb": ("mass", _POUND),
    "oz": ("mass", _POUND / 16),
    "N·m": ("torque", Decimal(1)),
    "lbf·ft": ("torque", _LBF_IN * 12),
    "lbf·in": ("torque", _LBF_IN),
    "deg": ("angle", Decimal(1)),
    "N": ("force", Decimal(1)),
    "kN": ("force", Decimal(1000)),
    "lbf": ("force", _POUND_FORCE),
    "l": ("volume", Decimal(1)),
    "ml": ("volume", Decimal("0.001")),
    "qt": ("volume", _QUART),
    "bar": ("pressure", Decimal(1)),
    "kPa": ("pressure", Decimal("0.01")),
    "psi": ("pressure", _POUND_FORCE / (_INCH / 1000) ** 2 / 100000),
}

# The ways people write a unit; compared without spaces and in lower case.
_ALIASES: Final[dict[str, str]] = {
    **{name.lower(): name for name in FACTORS},
    '"': "in",
    "inch": "in",
    "in.": "in",
    "um": "µm",
    "μm": "µm",
    "lbs": "lb",
    "nm": "N·m",
    "n.m": "N·m",
    "n*m": "N·m",
    "n-m": "N·m",
    "lb-ft": "lbf·ft",
    "lbf.ft": "lbf·ft",
    "lbf-ft": "lbf·ft",
    "ft-lb": "lbf·ft",
    "lb-in": "lbf·in",
    "lbf.in": "lbf·in",
    "lbf-in": "lbf·in",
    "in-lb": "lbf·in",
    "°": "deg",
    "litre": "l",
    "liter": "l",
}

_NUMBER = r"[+-]?(?:\d+\s+\d+/\d+|\d+/\d+|(?:\d+(?:\.\d*)?|\.\d+)(?:[eE][+-]?\d{1,2})?)"
_TERM = re.compile(rf"\s*({_NUMBER})\s*([^\d\s(+-][^\d(]*?)?\s*(?=$|\(|[\d+-])")


class UnitError(ValueError):
    """Report a text that is not a quantity of the wanted kind; the text of the error is for the user."""


@dataclass(frozen=True, slots=True)
class Quantity:
    """A decimal number with its unit, both as they were written.

    >>> Quantity(Decimal("0.104"), "in").mm
    Decimal('2.6416')
    >>> str(Quantity(Decimal("0.30"), "mm"))
    '0.30 mm'
    """

    value: Decimal
    unit: str

    @property
    def kind(self) -> Kind:
        return FACTORS[self.unit][0]

    @property
    def base(self) -> Decimal:
        """The value in mm, kg, N·m, degrees, N, litres or bar, exact."""
        return self.value * FACTORS[self.unit][1]

    @property
    def mm(self) -> Decimal:
        """The length in millimetres, exact."""
        return self._base_of("length")

    @property
    def kg(self) -> Decimal:
        """The mass in kilograms, exact."""
        return self._base_of("mass")

    @property
    def newton_metres(self) -> Decimal:
        """The torque in newton metres."""
        return self._base_of("torque")

    def _base_of(self, kind: Kind) -> Decimal:
        if self.kind != kind:
            raise UnitError(f"{self} is a {self.kind}, not a {kind}")
        return self.base

    def __str__(self) -> str:
        return f"{self.value} {self.unit}"


def units_of(kind: Kind) -> tuple[str, ...]:
    """Return the units of a kind, the base unit first."""
    return tuple(unit for unit, (its_kind, _) in FACTORS.items() if its_kind == kind)


def number(text: str) -> Decimal:
    """Read a decimal number or a fraction exactly as typed.

    Args:
        text: `2.60`, `-0.05`, `3/32`, `1 1/4`. A fraction must have an exact decimal value.

    Raises:
        UnitError: not a finite number, or a decimal comma (which may be a thousands mark elsewhere).

    >>> number("2.60"), number("1 1/4")
    (Decimal('2.60'), Decimal('1.25'))
    """
    typed = text.strip()
    if not re.fullmatch(_NUMBER, typed):
        hint = f'; write the decimal mark as a point: "{typed.replace(",", ".")}"' if "," in typed else ""
        raise UnitError(f'"{text}" is not a number{hint}')
    if "/" not in typed:
        try:
            return Decimal(typed)
        except InvalidOperation as error:
            raise UnitError(f'"{text}" is not a number') from error
    whole, _, rest = typed.rpartition(" ")
    upper, lower = rest.lstrip("+-").split("/")
    if int(lower) == 0:
        raise UnitError(f'"{text}" divides by zero')
    value = Fraction(int(upper), int(lower)) + (int(whole.lstrip("+-")) if whole.strip() else 0)
    decimal = Decimal(value.numerator) / Decimal(value.denominator)
    if Fraction(decimal) != value:
        raise UnitError(f'"{text}" has no exact decimal value; write it as a decimal number')
    return -decimal if typed.startswith("-") else decimal


def unit(text: str, kind: Kind) -> str:
    """Return the standard spelling of a unit of this kind.

    >>> unit("lb-ft", "torque")
    'lbf·ft'
    """
    name = _ALIASES.get(text.replace(" ", "").lower())
    if name is None or FACTORS[name][0] != kind:
        raise UnitError(f'"{text.strip()}" is not a unit of {kind}; allowed: {", ".join(units_of(kind))}')
    return name


def parse(text: str, kind: Kind, default_unit: str) -> Quantity:
    """Read a quantity as people write it.

    Args:
        text: a bare number in `default_unit`, a number with a unit (`0.104 in`), a sum of two (`1 lb 4 oz`), or a
            value with a second unit in brackets (`0.0072 in (0.183 mm)`), which must agree.
        kind: what it measures.
        default_unit: the unit of a bare number.

    Raises:
        UnitError: not such a quantity, or two units that disagree by more than the last digit of the second.

    >>> str(parse("2.60", "length", "mm")), str(parse("1 lb 4 oz", "mass", "kg"))
    ('2.60 mm', '1.2500 lb')
    """
    main, bracket, rest = text.partition("(")
    quantity = _sum(main, kind, default_unit)
    if bracket:
        second_text, closing, tail = rest.partition(")")
        if not closing or tail.strip():
            raise UnitError(f'"{text}": the second value stands in one pair of brackets at the end')
        _agree(quantity, _sum(second_text, kind, ""), text)
    return quantity


def _sum(text: str, kind: Kind, default_unit: str) -> Quantity:
    terms: list[Quantity] = []
    place = 0
    while place < len(text) and text[place:].strip():
        match = _TERM.match(text, place)
        if match is None:
            break
        written = match.group(2)
        if written is None and (not default_unit or terms):
            raise UnitError(f'"{text.strip()}" has no unit; allowed: {", ".join(units_of(kind))}')
        if written and written.startswith(","):
            number(text)  # says that the decimal mark is a point
        terms.append(Quantity(number(match.group(1)), unit(written, kind) if written else default_unit))
        place = match.end()
    if not terms or text[place:].strip():
        number(text.strip())  # says what is wrong with a plain number
        raise UnitError(f'"{text.strip()}" is not a {kind}')
    first = terms[0]
    rest = sum((term.base for term in terms[1:]), Decimal(0))
    return Quantity(first.value + rest / FACTORS[first.unit][1], first.unit) if len(terms) > 1 else first


def _agree(first: Quantity, second: Quantity, text: str) -> None:
    exponent = second.value.as_tuple().exponent
    last_digit = Decimal(1).scaleb(exponent if isinstance(exponent, int) else 0)
    converted = first.base / FACTORS[second.unit][1]
    if abs(converted - second.value) > last_digit:
        shown = converted.quantize(last_digit)
        raise UnitError(f'"{text}" says two things: {first} is {shown} {second.unit}, not {second}; correct one')
