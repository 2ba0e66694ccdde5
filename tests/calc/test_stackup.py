"""A gap from a chain of sizes.

The chain of a shaft, two bearings, a housing and a retaining ring is K. W. Chase, Tolerance Allocation Methods for
Designers, ADCATS Report 99-6 (1999), in inches; inputs from memory, sums recomputed.
"""

from __future__ import annotations

from decimal import Decimal

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from labelkit.calc.limits import Limits
from labelkit.calc.stackup import Link, stackup
from labelkit.errors import UsageError
from labelkit.units import Quantity
from tests.figures import floats_in, q

DEMO = [
    Link("case", q("168.40"), q("0.10")),
    Link("gasket", q("0.40"), q("0.05")),
    Link("boss", q("12.00"), q("0.05"), sign=-1),
    Link("drum", q("62.35"), q("0.08"), sign=-1),
    Link("hub", q("38.10"), q("0.06"), sign=-1),
    Link("carrier", q("47.60"), q("0.08"), sign=-1),
    Link("bearing", q("3.00"), q("0.02"), sign=-1, count=2),
    Link("shim", q("2.30"), q("0.02"), sign=-1),
]
CHASE = {
    "A retaining ring": ("-0.0505", "0.0015"),
    "B shaft": ("8.0", "0.008"),
    "C bearing": ("-0.5093", "0.0025"),
    "D bearing sleeve": ("0.4", "0.002"),
    "E housing": ("-7.711", "0.006"),
    "F bearing sleeve": ("0.4", "0.002"),
    "G bearing": ("-0.5093", "0.0025"),
}
# Tolerances that the report gives the free parts so that the sum meets 0.015 in.
WORST = {"B": "0.00378", "D": "0.00094", "E": "0.00283", "F": "0.00094"}
SQUARES = {"B": "0.01116", "D": "0.00279", "E": "0.00837", "F": "0.00279"}

LINKS = st.lists(
    st.builds(
        lambda size, plus, minus, sign, count: Link("x", _mm(size), _mm(plus), _mm(minus), sign=sign, count=count),
        st.integers(1, 20_000),
        st.integers(0, 50),
        st.integers(0, 50),
        st.sampled_from([1, -1]),
        st.integers(1, 3),
    ),
    min_size=1,
    max_size=6,
)


def _mm(hundredths: int) -> Quantity:
    return Quantity(Decimal(hundredths).scaleb(-2), "mm")


def chase(tolerances: dict[str, str]) -> list[Link]:
    """Return the chain, with other tolerances of some parts."""
    return [
        Link(
            name,
            Quantity(abs(Decimal(size)), "in"),
            Quantity(Decimal(tolerances.get(name[0], tolerance)), "in"),
            sign=-1 if size.startswith("-") else 1,
        )
        for name, (size, tolerance) in CHASE.items()
    ]


def test_the_gap_of_a_case() -> None:
    """Gap 0.45, worst case -0.03 ... 0.93, statistical 0.27 ... 0.63 (computed; invented unit)."""
    answer = stackup(DEMO)

    assert answer.values["gap"] == Decimal("0.45")
    assert answer.values["worst"] == (Decimal("-0.03"), Decimal("0.93"))
    assert answer.values["statistical"] == (Decimal("0.27"), Decimal("0.63"))
    assert floats_in(answer) == []


def test_the_published_chain() -> None:
    """Nominal 0.0199, worst case ±0.0245, root of the squares 0.01108 in."""
    values = stackup(chase({})).values

    assert (values["gap"], values["worst_tolerance"]) == (Decimal("0.0199"), (Decimal("0.0245"), Decimal("0.0245")))
    assert values["statistical_tolerance"] == Decimal("0.01108")


def test_the_published_allocations_meet_the_requirement() -> None:
    """With the report's own tolerances both sums come to 0.015 in, to the digits that it prints."""
    worst, _ = stackup(chase(WORST)).values["worst_tolerance"]  # type: ignore[misc]
    root = stackup(chase(SQUARES)).values["statistical_tolerance"]

    assert abs(Decimal(str(worst)) - Decimal("0.015")) <= Decimal("0.00002")
    assert abs(Decimal(str(root)) - Decimal("0.015")) <= Decimal("0.00001")


def test_a_measurement_uncertainty_is_the_same_root() -> None:
    """25, 9.7, 2.9 and 16.6 nm give 31.67 nm (JCGM 100:2008, table H.1; recomputed)."""
    parts = [
        Link(str(k), q("0"), Quantity(Decimal(nm).scaleb(-4), "mm")) for k, nm in enumerate(("250", "97", "29", "166"))
    ]

    assert stackup(parts).values["statistical_tolerance"] == Decimal("0.032")
    assert abs(sum((link.plus.mm**2 for link in parts), Decimal(0)).sqrt() * 1000 - Decimal("31.67")) < Decimal("0.005")


@given(links=LINKS)
@settings(max_examples=50)
def test_worst_case_contains_statistical_and_the_gap(links: list[Link]) -> None:
    """Root of squares is never more than the sum; what is shown is off by at most its last digit."""
    values = stackup(links).values
    worst, likely = ([Decimal(str(end)) for end in values[key]] for key in ("worst", "statistical"))  # type: ignore[union-attr]

    assert worst[0] - Decimal("0.005") <= likely[0] <= likely[1] <= worst[1] + Decimal("0.005")
    assert worst[0] <= Decimal(str(values["gap"])) <= worst[1]


@given(links=LINKS)
@settings(max_examples=30)
def test_inches_and_millimetres_agree(links: list[Link]) -> None:
    """The same chain read in inches of a tenth has the same figures."""

    def inch(quantity: Quantity) -> Quantity:
        return Quantity(quantity.value / 10, "in")

    other = [Link(x.name, inch(x.size), inch(x.plus), inch(x.lower), sign=x.sign, count=x.count) for x in links]
    one, two = stackup(links).values["worst"], stackup(other).values["worst"]
    assert [Decimal(str(each)) for each in one] == [Decimal(str(each)) * 10 for each in two]  # type: ignore[union-attr]


def test_the_worst_case_decides_and_a_measurement_is_better() -> None:
    """All inside is ok, none is out, some is borderline: measure this one."""
    assert stackup(DEMO, Limits(q("-0.03"), q("0.93"))).verdict == "ok"
    assert stackup(DEMO, Limits(q("0.30"), q("0.60"))).verdict == "borderline"
    assert stackup(DEMO, Limits(low=q("0.94"))).verdict == "out"


@pytest.mark.parametrize(
    ("call", "said"),
    [
        (lambda: stackup([]), "no sizes given"),
        (lambda: Link("hub", q("38"), q("-0.1")), "hub: a tolerance is given without a sign"),
        (lambda: Link("hub", q("38"), q("0.1"), count=0), "count from 1"),
        (lambda: stackup([Link("hub", q("38 N"), q("0.1"))]), "a length; allowed here|is a length"),
    ],
)
def test_what_cannot_be_is_refused(call: object, said: str) -> None:
    """The message says what was given and what is allowed."""
    with pytest.raises(UsageError, match=said):
        call()  # type: ignore[operator]
