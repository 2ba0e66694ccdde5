"""Rates and forces of coil springs."""

from __future__ import annotations

from decimal import Decimal

import pytest

from labelkit.calc.answers import shown
from labelkit.calc.limits import Limits
from labelkit.calc.springs import Coil, release_pressure, spring, spring_load, under_cover
from labelkit.errors import UsageError
from tests.figures import floats_in, q

# Of an invented unit: wire 4.0, mean coil 18, 5.5 active coils, 46 free, 38 installed.
DEMO = Coil(Decimal("4.0"), Decimal(18), Decimal("5.5"))


def test_rate_and_force_by_the_textbook() -> None:
    """d 2.5, D 20, n 8: 6.05 N/mm, 121 N at 20 mm, 109 N at 18 mm (formula pages, G 79 300 from memory; computed)."""
    answer = spring(Coil(Decimal("2.5"), Decimal(20), Decimal(8)), (q("20"), q("18")))

    assert answer.values["rate"] == Decimal("6.05")
    assert [shown(Decimal(str(force)), 0) for force in answer.values["forces"]] == [121, 109]  # type: ignore[union-attr]
    assert floats_in(answer) == []


def test_the_force_at_a_length_counts_from_the_free_length() -> None:
    """46 free, pressed to 38: the same as 8 mm."""
    assert spring(DEMO, (q("38"),), free=q("46")).values["forces"] == spring(DEMO, (q("8"),)).values["forces"]


def test_a_load_at_a_length_is_judged_in_its_own_unit() -> None:
    """45.1-49.9 lbf at 4.80 in is 200.6-222.0 N at 121.92 mm (public form of the check; NIST SP 811, computed)."""
    limits = Limits(q("45.1 lbf"), q("49.9 lbf"))
    answer = spring_load(q("45.1 lbf"), limits, at=q("4.80 in"))

    assert answer.verdict == "ok"
    assert answer.values["newtons"] == Decimal("200.6")
    assert [shown(q(text).base, 1) for text in ("45.1 lbf", "49.9 lbf")] == [Decimal("200.6"), Decimal("222.0")]
    assert "121.92" in answer.sums[0]
    assert "condemns the set" in spring_load(q("44.0 lbf"), limits, at=q("4.80 in")).notes[-1]


def test_the_danger_sum_under_a_cover() -> None:
    """12 springs of 79.1 N/mm, 8 mm squeezed: 633 N each, 7.6 kN together; 16: 10.1 kN; 4.6 turns of M12 (computed).

    In kgf 774 of the unrounded force; 775 would come of the rounded 7.6 kN.
    """
    answer = under_cover(12, DEMO.rate, q("8.0"), pitch=q("1.75"), screws=8)

    assert shown(DEMO.rate, 1) == Decimal("79.1")
    assert [answer.values[key] for key in ("each_n", "together_kn", "together_kgf", "turns")] == [
        Decimal(633),
        Decimal("7.6"),
        Decimal(774),
        Decimal("4.6"),
    ]
    assert under_cover(16, DEMO.rate, q("8.0")).values["together_kn"] == Decimal("10.1")
    assert answer.notes[0].startswith("WARNING: springs push the cover with 7.6 kN: back off all 8 screws")
    assert floats_in(answer) == []


def test_more_springs_need_more_pressure() -> None:
    """16 springs instead of 12 lift a third later: 17.7 bar instead of 13.3 on one piston (computed; invented unit)."""
    area = Decimal(5710)

    assert release_pressure(q("7594.9 N"), area).values["bar"] == Decimal("13.3")
    assert release_pressure(q("10126.5 N"), area).values["bar"] == Decimal("17.7")


@pytest.mark.parametrize(
    ("call", "said"),
    [
        (lambda: Coil(Decimal(20), Decimal(4), Decimal(5)), "swapped"),
        (lambda: Coil(Decimal(0), Decimal(4), Decimal(5)), "spring wire: found 0; allowed: more than 0"),
        (lambda: spring(DEMO, (q("47"),), free=q("46")), "up to the free length"),
        (lambda: spring(DEMO, (q("20"),), free=q("46")), "lie on each other before that"),
        (lambda: under_cover(0, Decimal(79), q("8")), "number of springs: found 0"),
        (lambda: under_cover(12, Decimal(79), q("8 N")), "8 N is a force; allowed: a length"),
        (lambda: spring_load(q("3 mm"), Limits(), at=q("3")), "is a length; allowed: a force"),
        (lambda: release_pressure(q("7 kN"), Decimal(0)), "area of the piston"),
    ],
)
def test_what_cannot_be_is_refused(call: object, said: str) -> None:
    """The message says what was given and what is allowed."""
    with pytest.raises(UsageError, match=said):
        call()  # type: ignore[operator]
