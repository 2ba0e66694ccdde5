"""A gap from the sizes of a chain: worst case, and statistical.

The worst case decides over one unit (or better, a measurement does); the statistical range tells how many of each shim
a shelf needs. It takes the sizes as independent, centred and about normally spread.

Source: F. Scholz, Tolerance stack analysis methods (1995): sum of the tolerances, root of the sum of their squares.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from decimal import Decimal

from labelkit.calc.answers import Answer, Value, Verdict, places_of
from labelkit.calc.figures import common_unit, figure, in_unit, told
from labelkit.calc.limits import Limits
from labelkit.errors import UsageError
from labelkit.units import Quantity


@dataclass(frozen=True, slots=True)
class Link:
    """One size of a chain.

    Attributes:
        name: of the part.
        size: nominal.
        plus: how much it may be larger.
        minus: how much it may be smaller; as much as `plus` where not given.
        sign: +1 where it opens the gap, -1 where it fills it.
        count: how many such parts there are.
    """

    name: str
    size: Quantity
    plus: Quantity
    minus: Quantity | None = None
    sign: int = 1
    count: int = 1

    def __post_init__(self) -> None:
        if self.sign not in (1, -1) or self.count < 1:
            raise UsageError(f"{self.name}: sign {self.sign}, count {self.count}; allowed: sign 1 or -1, count from 1")
        if self.plus.base < 0 or self.lower.base < 0:
            raise UsageError(f"{self.name}: a tolerance is given without a sign; allowed: from 0")

    @property
    def lower(self) -> Quantity:
        """How much it may be smaller."""
        return self.plus if self.minus is None else self.minus


def stackup(links: Sequence[Link], limits: Limits | None = None, *, unit: str | None = None) -> Answer:
    """Add up a chain.

    Args:
        links: each with its sign.
        limits: of the gap; None: nothing is judged.
        unit: of the values of the answer; by default that of the sizes.

    Returns:
        verdict `ok` where even the worst case is inside, `borderline` where it is partly, `out` where it never is.

    Raises:
        UsageError: no links, or not lengths.

    >>> mm = lambda text: Quantity(Decimal(text), "mm")
    >>> answer = stackup([Link("case", mm("20.0"), mm("0.3")), Link("hub", mm("19.5"), mm("0.4"), sign=-1)])
    >>> answer.values["gap"], answer.values["worst"], answer.values["statistical"]
    (Decimal('0.50'), (Decimal('-0.20'), Decimal('1.20')), (Decimal('0.00'), Decimal('1.00')))
    """
    if not links:
        raise UsageError("stack-up: no sizes given; allowed: at least one, each with its tolerance")
    unit = common_unit([each for link in links for each in (link.size, link.plus, link.lower)], unit)
    gap, low, high, middle, squares = (Decimal(0) for _ in range(5))
    sums: list[str] = []
    for link in links:
        size, plus, minus = (in_unit(each, unit) for each in (link.size, link.plus, link.lower))
        gap += link.sign * link.count * size
        up, down = (plus, minus) if link.sign > 0 else (minus, plus)
        high += link.count * up
        low += link.count * down
        middle += link.count * (up - down) / 2
        squares += link.count * ((plus + minus) / 2) ** 2
        times = f"{link.count} x " if link.count > 1 else ""
        band = f"±{told(plus, unit)}" if plus == minus else f"+{told(plus, unit)} -{told(minus, unit)}"
        sums.append(f"{'+' if link.sign > 0 else '-'} {times}{told(size, unit)} {band}  {link.name}")
    root = squares.sqrt()
    worst = (gap - low, gap + high)
    likely = (gap + middle - root, gap + middle + root)
    sums += [
        f"gap = {told(gap, unit)}",
        f"worst case: {told(gap, unit)} {_plus_minus(low, high, unit)} = {_range(worst, unit)}",
        f"statistical: {told(gap + middle, unit)} ±{told(root, unit, places=_fine(unit))} = {_range(likely, unit)} "
        "(root of the sum of the squares)",
    ]
    values: dict[str, Value] = {
        "gap": figure(gap, unit),
        "worst": tuple(figure(each, unit) for each in worst),
        "statistical": tuple(figure(each, unit, places=_fine(unit) - 1) for each in likely),
        "worst_tolerance": (figure(low, unit), figure(high, unit)),
        "statistical_tolerance": figure(root, unit, places=_fine(unit)),
        "unit": unit,
    }
    notes = ["the statistical range takes the sizes as independent, centred and about normally spread"]
    verdict: Verdict = "no_limit"
    if limits is not None and limits.given:
        sums.append(f"limit: {limits.words()}")
        verdict = _verdict(worst, unit, limits)
        if verdict == "borderline":
            notes.insert(0, "not every unit that these tolerances allow is inside: measure this one")
    return Answer("stackup", verdict, values, tuple(sums), tuple(notes))


def _verdict(worst: tuple[Decimal, Decimal], unit: str, limits: Limits) -> Verdict:
    low, high = (Quantity(each, unit).base for each in worst)
    if not limits.beyond(low) and not limits.beyond(high):
        return "ok"
    never = (limits.low and high < limits.low.base) or (limits.high and low > limits.high.base)
    return "out" if never else "borderline"


def _fine(unit: str) -> int:
    return 3 if unit == "mm" else 5


def _plus_minus(low: Decimal, high: Decimal, unit: str) -> str:
    return f"±{told(low, unit)}" if low == high else f"+{told(high, unit)} -{told(low, unit)}"


def _range(ends: tuple[Decimal, Decimal], unit: str) -> str:
    """Return a range with the decimals of its finer end, at most one more than the trade reads."""
    most = _fine(unit) - (unit == "mm")
    low, high = (figure(each, unit) for each in ends)
    if places_of(low, high) > most:
        low, high = (figure(each, unit, places=most) for each in ends)
    return f"{low:f} ... {high:f} {unit}"
