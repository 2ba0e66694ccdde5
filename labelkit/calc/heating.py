"""How warm a part must be to slip on, and how warm it may be.

Source: expansion = alpha x d x rise, the definition of the coefficient; steel 11.5e-6 and light metal 23e-6 per kelvin
are from memory. The cap of 135 °C (275 °F) is that of public manuals for bearings in an oil bath, read as an excerpt.
"""

from __future__ import annotations

from decimal import Decimal
from typing import Final

from labelkit.calc.answers import Answer, Value
from labelkit.calc.figures import figure, is_kind, more_than_nothing, rounded, told
from labelkit.errors import UsageError, allowed_text
from labelkit.units import Quantity

EXPANSION: Final = {"steel": Decimal("11.5e-6"), "light metal": Decimal("23e-6")}  # per kelvin, from memory
_OIL_BATH_CAP: Final = Decimal(135)  # °C
_ROOM: Final = Decimal(20)  # °C
_COLDEST: Final = Decimal("-273.15")  # °C
_NEVER: Final = (
    "never a flame, least of all on a bearing; oil bath, hot plate or induction heater, with gloves and out of reach "
    "of solvents; push on the ring that has the tight fit and on no other"
)


def celsius(fahrenheit: Decimal) -> Decimal:
    """Return degrees Fahrenheit in degrees Celsius: (F - 32) / 1.8, NIST SP 811 B.8.

    >>> celsius(Decimal(275)), celsius(Decimal(212)) == 100
    (Decimal('135'), True)
    """
    return (fahrenheit - 32) / Decimal("1.8")


def fahrenheit(degrees: Decimal) -> Decimal:
    """Return degrees Celsius in degrees Fahrenheit.

    >>> fahrenheit(Decimal(135))
    Decimal('275.0')
    """
    return degrees * Decimal("1.8") + 32


def heating(
    interference: Quantity,
    diameter: Quantity,
    *,
    clearance: Quantity | None = None,
    metal: str = "steel",
    room: Decimal = _ROOM,
    cap: Decimal = _OIL_BATH_CAP,
) -> Answer:
    """Tell how warm the outer part must be to slip over the inner one.

    Args:
        interference: how much the bore is smaller than the shaft.
        diameter: of the fit.
        clearance: how much room is wanted while it slips on.
        metal: of the outer part, `steel` or `light metal`.
        room: temperature of both parts now, °C.
        cap: the most the part may have, °C; ask for the figure of the part in hand.

    Returns:
        verdict `ok`, or `out` where more than the cap is needed.

    Raises:
        UsageError: figures that cannot be, or a metal that is not known.

    >>> mm = lambda text: Quantity(Decimal(text), "mm")
    >>> answer = heating(mm("0.030"), mm("50"), clearance=mm("0.030"))
    >>> answer.values["rise"], answer.values["to"]
    (Decimal('104'), Decimal('124'))
    """
    for what, each in (("interference", interference), ("diameter", diameter), ("clearance", clearance)):
        if each is not None:
            is_kind(what, each, "length")
    if metal not in EXPANSION:
        raise UsageError(f'metal: found "{metal}"; {allowed_text(metal, EXPANSION)}')
    if room < _COLDEST or cap <= room:
        raise UsageError(f"heating: from {room} °C with a cap of {cap} °C; allowed: a cap above the temperature now")
    if interference.mm < 0 or (clearance is not None and clearance.mm < 0):
        raise UsageError("heating: interference and clearance are given without a sign; allowed: from 0")
    alpha = EXPANSION[metal]
    more = interference.mm + (clearance.mm if clearance else Decimal(0))
    rise = more / (alpha * more_than_nothing("diameter", diameter.mm))
    warm = room + rise
    values: dict[str, Value] = {
        "rise": rounded(rise, 0),
        "to": rounded(warm, 0),
        "to_f": rounded(fahrenheit(warm), 0),
        "cap": figure(cap, "°C", places=0),
        "unit": "°C",
    }
    per_million = (alpha * 1000000).normalize()
    gap = f"({told(interference.mm, 'mm')} + {told(clearance.mm, 'mm')})" if clearance else told(more, "mm")
    sums = [
        f"rise = {gap} / ({per_million:f}e-6 per K x {told(diameter.mm, 'mm')}) = {rounded(rise, 0)} K",
        f"{room:f} °C + {rounded(rise, 0)} K = {rounded(warm, 0)} °C ({rounded(fahrenheit(warm), 0)} °F); "
        f"cap {cap:f} °C ({rounded(fahrenheit(cap), 0)} °F)",
    ]
    notes = [_NEVER, f"the expansion of {metal} is from memory; it differs a little from alloy to alloy"]
    if clearance is None:
        notes.append("no room to slip on is counted; with none it sticks half way")
    if warm > cap:
        most = alpha * diameter.mm * (cap - room)
        notes.insert(
            0, f"too hot: the cap gives {told(most, 'mm')} of {told(more, 'mm')}; cool the shaft as well or press"
        )
    return Answer("heating", "out" if warm > cap else "ok", values, tuple(sums), tuple(notes))
