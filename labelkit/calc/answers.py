"""What every fit answers: a verdict, its values, the sum as a person can check it by hand, and what to think of.

Values are kept exact and compared unrounded. They are rounded only to be shown, and then half to even: of two
neighbours that are equally near, the one whose last digit is even is taken.

Source: ISO 80000-1:2009, annex B, rule A (from memory).
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from decimal import ROUND_CEILING, ROUND_FLOOR, ROUND_HALF_EVEN, Decimal
from functools import cache
from typing import Any, Final, Literal, get_args

Verdict = Literal["no_limit", "ok", "borderline", "unexpected", "ask", "out", "refused", "none"]
"""The worst last. `no_limit`: the profile gives none, nothing is judged; `ok`; `borderline`: less than the gauge can
tell, or the piece must be measured; `unexpected`: inside its limits, but not as predicted; `ask`: something must be
said first; `out`: outside its limits; `refused`: not worked out, the readings do not allow it; `none`: no size brings
it in."""

_WORST_LAST: Final[tuple[Verdict, ...]] = get_args(Verdict)

Value = Decimal | str | bool | int | None | tuple["Value", ...] | Mapping[str, "Value"]


@dataclass(frozen=True, slots=True)
class Answer:
    """The answer of a fit.

    Attributes:
        fit: which sum it is: `end_play`, `wear` ...
        verdict: what it comes to.
        values: by name, in the order they are told; decimals with the places they are shown with.
        sums: the sum, line by line, with units: `3.20 mm = 2.60 mm + 1.10 mm - 0.50 mm`.
        notes: what is suspicious, assumed or to be asked, a sentence each.
    """

    fit: str
    verdict: Verdict
    values: Mapping[str, Value]
    sums: tuple[str, ...] = ()
    notes: tuple[str, ...] = ()

    def data(self) -> dict[str, Any]:
        """Return it as plain data for JSON: decimals as text, which keeps their zeros."""
        values = {name: _plain(value) for name, value in self.values.items()}
        told = {"verdict": self.verdict, "sum": list(self.sums), "notes": list(self.notes)}
        return {"fit": self.fit, **values, **told}


def worst(*verdicts: Verdict) -> Verdict:
    """Return the worst of verdicts, at least one; no limit is better than any.

    >>> worst("ok", "borderline", "no_limit"), worst("ask", "out")
    ('borderline', 'out')
    """
    return max(verdicts, key=_WORST_LAST.index)


@cache
def step_of(places: int) -> Decimal:
    """Return the step from one figure with so many decimals to the next: of two, 0.01."""
    return Decimal(1).scaleb(-places)


def shown(value: Decimal, places: int) -> Decimal:
    """Return a value as it is shown, with so many decimals, half to even.

    >>> shown(Decimal("0.5449"), 2), shown(Decimal("0.125"), 2), shown(Decimal("0.3"), 2)
    (Decimal('0.54'), Decimal('0.12'), Decimal('0.30'))
    """
    return value.quantize(step_of(places), ROUND_HALF_EVEN)


def inward(low: Decimal | None, high: Decimal | None, places: int) -> tuple[Decimal | None, Decimal | None]:
    """Return limits with so many decimals, never looser than they were: the low one up, the high one down.

    >>> inward(Decimal("0.1016"), Decimal("0.5588"), 2)
    (Decimal('0.11'), Decimal('0.55'))
    """
    step = step_of(places)
    return (
        None if low is None else low.quantize(step, ROUND_CEILING),
        None if high is None else high.quantize(step, ROUND_FLOOR),
    )


def places_of(*values: Decimal) -> int:
    """Return how many decimals the finest of some values has.

    >>> places_of(Decimal("1.10"), Decimal("2.6"))
    2
    """
    return max((max(0, -int(value.as_tuple().exponent)) for value in values), default=0)


def beside(value: Decimal, *read: Decimal) -> Decimal:
    """Return what comes of readings with as many decimals as they have, and one more where that would change it.

    >>> two, three = Decimal("2.30"), Decimal("2.31")
    >>> beside((two + three) / 2, two, three), beside(two, two)
    (Decimal('2.305'), Decimal('2.30'))
    """
    places = places_of(*read)
    return shown(value, places + (shown(value, places) != value))


def _plain(value: Value) -> Any:
    if isinstance(value, Decimal):
        return str(value)
    if isinstance(value, Mapping):
        return {name: _plain(each) for name, each in value.items()}
    if isinstance(value, tuple):
        return [_plain(each) for each in value]
    return value
