"""Exact decimal lengths, masses, torques, angles and forces, as people write them.

A quantity keeps the number exactly as it was typed, with its unit: `0.30` stays two decimals, an inch value stays in
inches. Conversions are exact decimal products; nothing is rounded here.

Source: exact factors from NIST SP 811 (2008), appendix B.8 (inch, pound, pound-force, foot), and SI prefixes.
"""

from __future__ import annotations

import re
from collections.abc import Sequence
from dataclasses import dataclass
from decimal import Decimal
from fractions import Fraction
from typing import Final, Literal

from labelkit.errors import nearest
from labelkit.language import gettext as _
from labelkit.language import noop

Kind = Literal["length", "mass", "torque", "angle", "force", "volume", "pressure", "turns"]
_KINDS: Final[dict[Kind, str]] = {
    "length": noop("length"),
    "mass": noop("mass"),
    "torque": noop("torque"),
    "angle": noop("angle"),
    "force": noop("force"),
    "volume": noop("volume"),
    "pressure": noop("pressure"),
    "turns": noop("number of turns"),
}

MM_PER_INCH: Final = 25.4
"""Exact; for what is drawn and printed, whose lengths are floats."""
GRAVITY: Final = Decimal("9.80665")
"""Standard gravity, m/s2, exact."""

_INCH: Final = Decimal("25.4")  # mm
_POUND: Final = Decimal("0.45359237")  # kg
_POUND_FORCE: Final = _POUND * GRAVITY  # N
_LBF_IN: Final = _POUND_FORCE * _INCH / 1000  # N·m
_QUART: Final = Decimal("0.946352946")  # L, US liquid

# unit -> (kind, factor to the base unit of that kind: mm, kg, N·m, degree, N, litre, bar, turn)
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
    "turns": ("turns", Decimal(1)),  # of a screw: what it sets is no angle
}

# The ways people write a unit, without spaces and dots and in lower case.
_ALIASES: Final[dict[str, str]] = {
    **{re.sub("·", "", name.lower()): name for name in FACTORS},
    '"': "in",
    "″": "in",
    "inch": "in",
    "inches": "in",
    "um": "µm",
    "μm": "µm",  # the Greek letter, not the micro sign
    "lbs": "lb",
    **{f"{force}{arm}": f"lbf·{arm}" for force in ("lb", "lbs") for arm in ("ft", "in")},
    **{f"{arm}{force}": f"lbf·{arm}" for force in ("lb", "lbs", "lbf") for arm in ("ft", "in")},
    "°": "deg",
    "litre": "l",
    "liter": "l",
    "turn": "turns",
}

# More than any gauge shows. With the 17 digits of the longest factor they fill the 28 of a Decimal product, so that
# conversions are exact (but for psi, whose factor has no end).
MOST_DIGITS: Final = 11
_LONGEST: Final = 60
# What stands between two values, also behind the unit of the first.
_BETWEEN: Final = re.compile(r"[-–—±+/×]$|\.\.$|(?:^|\s)(?:to|x)$")
# Units that we do not take: what resembles them is another quantity, or off by a power of ten, and no slip.
_FOREIGN: Final = re.compile(
    "n[cm]m|(?:da|k|m)nm|kgf?c?m|kpm|ozf?in|inozf?|mg|t|ton|dag|[dkn]m|ft|yd|mn|dan|kgf|kp|[hm]?pa|mbar|[dch]l|gal|pt|g?rad"
)

_NUMBER = r"[+-]?(?:\d+(?:\s+|-)\d+/\d+|\d+/\d+|(?:\d+(?:\.\d*)?|\.\d+)(?:[eE][+-]?\d{1,2})?)"
_WHOLE_NUMBER = re.compile(_NUMBER, re.ASCII)
# A number and what stands behind it, up to the next number.
_TERM = re.compile(rf"\s*({_NUMBER})\s*(.*?)\s*(?=\.?\d|$)", re.ASCII | re.DOTALL)


class UnitError(ValueError):
    """Report a text that is not a quantity of the wanted kind; the text of the error is for the user."""


@dataclass(frozen=True, slots=True)
class Quantity:
    """A decimal number with its unit, both as they were written.

    >>> Quantity(Decimal("0.104"), "in").mm
    Decimal('2.6416')
    >>> str(Quantity(Decimal("0.30"), "mm"))
    '0.30 mm'
    >>> str(Quantity(Decimal("1e1"), "mm")), str(Quantity(Decimal("0.0000001"), "in"))
    ('10 mm', '0.0000001 in')
    """

    value: Decimal
    unit: str

    @property
    def kind(self) -> Kind:
        """What it measures."""
        return FACTORS[self.unit][0]

    @property
    def base(self) -> Decimal:
        """The value in mm, kg, N·m, degrees, N, litres, bar or turns, exact."""
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
        return f"{self.value:f} {self.unit}"


def units_of(kind: Kind) -> tuple[str, ...]:
    """Return the units of a kind, the base unit first."""
    return tuple(unit for unit, (its_kind, _) in FACTORS.items() if its_kind == kind)


def number(text: str) -> Decimal:
    """Read a decimal number or a fraction exactly as typed.

    Args:
        text: `2.60`, `-0.05`, `3/32`, `1 1/4` or `1-1/4`. A fraction must have an exact decimal value.

    Raises:
        UnitError: not a finite number of at most 11 digits, or a decimal comma (which may be a thousands mark
            elsewhere).

    >>> number("2.60"), number("1 1/4")
    (Decimal('2.60'), Decimal('1.25'))
    """
    typed = _short_enough(text)
    if not _WHOLE_NUMBER.fullmatch(typed):
        raise UnitError(_not_a_number(typed))
    value = _fraction(typed) if "/" in typed else Decimal(typed)
    digits, exponent = value.as_tuple().digits, value.adjusted()
    if len(digits) > MOST_DIGITS or not -MOST_DIGITS < exponent < MOST_DIGITS:
        told = _('"{typed}" has more digits than can be meant; allowed: at most {most}')
        raise UnitError(told.format(typed=typed, most=MOST_DIGITS))
    return value


def _fraction(typed: str) -> Decimal:
    *whole, upper, lower = (int(digits) for digits in re.findall(r"\d+", typed))
    if lower == 0:
        raise UnitError(_('"{typed}" divides by zero').format(typed=typed))
    value = Fraction(upper, lower) + sum(whole)
    decimal = Decimal(value.numerator) / Decimal(value.denominator)
    if Fraction(decimal) != value:
        raise UnitError(_('"{typed}" has no exact decimal value; write it as a decimal number').format(typed=typed))
    return -decimal if typed.startswith("-") else decimal


def _short_enough(text: str) -> str:
    typed = text.strip()
    if len(typed) > _LONGEST:
        told = _('"{typed}" has {count} characters; allowed: at most {most}')
        raise UnitError(told.format(typed=f"{typed[:20]}...", count=len(typed), most=_LONGEST))
    return typed


def _not_a_number(text: str) -> str:
    """Return that it is none; a comma is a decimal mark for some and a thousands mark for others."""
    told = _('"{typed}" is not a number').format(typed=text)
    found = re.search(r"[\d.,]*\d,\d[\d.,]*", text)
    if found is None:
        return told
    before, _comma, after = found[0].partition(",")
    if not (before + after).isdigit():
        hint = _("{wrong}; write one decimal mark, and no thousands mark, as in 1234.5")
    elif len(after) == 3:
        hint = _("{wrong}; write the decimal mark as a point, {one} or {other}")
    else:
        hint = _("{wrong}; write the decimal mark as a point, as in {one}")
    return hint.format(wrong=told, one=f"{before}.{after}", other=before + after)


def pointed(text: str) -> str:
    """Return a number with a point for its decimal comma, where it can be no thousands mark.

    >>> pointed("1,10 mm"), pointed("1,250")
    ('1.10 mm', '1,250')
    """
    return re.sub(r"^(\s*[+-]?\d+),(\d{1,2}|\d{4,})(?![\d.,])", r"\1.\2", text)


def unit(text: str, kind: Kind | None) -> str:
    """Return the standard spelling of a unit.

    Args:
        text: as people write it.
        kind: what it measures; None: anything.

    Raises:
        UnitError: no such unit of this kind.

    >>> unit("lb-ft", "torque"), unit("ft lb", None)
    ('lbf·ft', 'lbf·ft')
    """
    name = _ALIASES.get(_plain(text))
    if name is None or kind not in (None, FACTORS[name][0]):
        names = units_of(kind) if kind else tuple(FACTORS)
        told = _('"{typed}" is not a unit of {kind}; {allowed}') if kind else _('"{typed}" is not a unit; {allowed}')
        of = _(_KINDS[kind]) if kind else ""
        raise UnitError(told.format(typed=text.strip(), kind=of, allowed=_allowed(text.strip(), names)))
    return name


def _plain(text: str) -> str:
    """Return a unit without what people write between its letters."""
    # Dots, hyphens and stars stand between two letters, a dot also behind an abbreviation: "N·m", "lb-ft", "in."
    return re.sub(r"(?<=[^\W\d])\s*[.·⋅*-]\s*(?=[^\W\d])|\s+|\.$", "", text.strip().lower())


def _allowed(given: str, names: Sequence[str]) -> str:
    allowed = _("allowed: {names}").format(names=", ".join(names))
    plain = _plain(given)
    guess = None if _FOREIGN.fullmatch(plain) or plain in _ALIASES else nearest(given, names)
    return _("{allowed}; did you mean {guess}?").format(allowed=allowed, guess=guess) if guess else allowed


def parse(text: str, kind: Kind | None, default_unit: str) -> Quantity:
    """Read a quantity as people write it.

    Args:
        text: a bare number in `default_unit`, a number with a unit (`0.104 in`), a sum in falling units
            (`1 lb 4 oz`), or a value with a second unit in brackets (`0.0072 in (0.183 mm)`), which must agree.
        kind: what it measures; None: whatever its unit measures.
        default_unit: the unit of a bare number.

    Raises:
        UnitError: not such a quantity, or two units that disagree by more than the last digit of the second.

    >>> str(parse("2.60", "length", "mm")), str(parse("1 lb 4 oz", "mass", "kg"))
    ('2.60 mm', '1.25 lb')
    """
    typed = _short_enough(text)
    main, bracket, rest = typed.partition("(")
    quantity = _sum(main.strip(), kind, default_unit)
    if bracket:
        second_text, closing, tail = rest.partition(")")
        if not closing or tail.strip():
            raise UnitError(f'"{typed}": the second value stands in one pair of brackets at the end')
        _agree(quantity, _sum(second_text.strip(), quantity.kind, ""), typed)
    return quantity


def _sum(text: str, kind: Kind | None, default_unit: str) -> Quantity:
    terms: list[Quantity] = []
    place = 0
    while match := _TERM.match(text, place):
        value, written, place = number(match[1]), match[2], match.end()
        if not written and (terms or place < len(text) or not default_unit):
            told = _('"{typed}": the number {number} has no unit; {allowed}')
            allowed = _allowed("", units_of(kind or "length"))
            raise UnitError(told.format(typed=text, number=match[1], allowed=allowed))
        if written.startswith(","):
            raise UnitError(_not_a_number(text))
        if _BETWEEN.search(written):
            raise UnitError(_('"{typed}" is several values; allowed: one').format(typed=text))
        terms.append(Quantity(value, unit(written, kind) if written else default_unit))
        kind = kind or terms[0].kind
    if not terms or place < len(text):
        told = _('"{typed}" is no {kind}; write a number and its unit, as in 2.60 {unit}')
        of = _(_KINDS[kind]) if kind else _("quantity")
        raise UnitError(told.format(typed=text, kind=of, unit=units_of(kind or "length")[0]))
    return terms[0] if len(terms) == 1 else _total(terms, text)


def _total(terms: list[Quantity], text: str) -> Quantity:
    """Add `1 lb 4 oz`; anything else of several numbers is a range or a slip, never to be added in silence."""
    factors = [FACTORS[term.unit][1] for term in terms]
    if factors != sorted(set(factors), reverse=True) or any(term.value < 0 for term in terms):
        told = _('"{typed}" is several values; allowed: one, or a sum in falling units, as in 1 lb 4 oz')
        raise UnitError(told.format(typed=text))
    base = sum((term.base for term in terms), Decimal(0))
    value = (base / factors[0]).normalize()
    if value * factors[0] != base or len(value.as_tuple().digits) > MOST_DIGITS:
        raise UnitError(f'"{text}" has no exact value in {terms[0].unit}; write it in one unit')
    return Quantity(value, terms[0].unit)


def _agree(first: Quantity, second: Quantity, text: str) -> None:
    places = max(0, -int(second.value.as_tuple().exponent))
    converted = first.base / FACTORS[second.unit][1]
    if abs(converted - second.value) > Decimal(1).scaleb(-places):
        raise UnitError(
            f'"{text}" says two things: {first} is {converted:.{places}f} {second.unit}, not {second}; correct one'
        )
