"""From the torque that is wanted to the figure that is set."""

from __future__ import annotations

from decimal import Decimal

import pint
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from labelkit.calc.torque import UNITS, Wrench, in_three, setting, three_words
from labelkit.errors import UsageError
from labelkit.units import Quantity
from tests.figures import floats_in, q

TORQUES = st.builds(
    lambda tenths, unit: Quantity(Decimal(tenths).scaleb(-1), unit), st.integers(1, 9999), st.sampled_from(UNITS)
)


@pytest.fixture(scope="module")
def registry() -> pint.UnitRegistry[Decimal]:
    return pint.UnitRegistry(non_int_type=Decimal)


@given(torque=TORQUES)
@settings(max_examples=50)
def test_all_three_units_are_shown(registry: pint.UnitRegistry[Decimal], torque: Quantity) -> None:
    """Against an independent library of units (pint): three digits, the typed one as it was typed."""
    names = {"N·m": "newton*meter", "lbf·ft": "force_pound*foot", "lbf·in": "force_pound*inch"}
    for unit, value in in_three(torque).items():
        wanted = registry.Quantity(torque.value, names[torque.unit]).to(names[unit]).magnitude
        half = Decimal(5).scaleb(wanted.adjusted() - 3)
        assert abs(value - wanted) <= half + Decimal("1e-20") or (unit, value) == (torque.unit, torque.value)
        assert unit in three_words(torque)


def test_the_factors_as_they_are_printed() -> None:
    """1 lbf·ft = 1.355818 N·m, 1 lbf·in = 0.1129848 (NIST SP 811, appendix B); 36 lbf·ft = 48.81 N·m (computed)."""
    assert f"{q('1 lbf ft').base:.6f}" == "1.355818"
    assert f"{q('1 lbf in').base:.7f}" == "0.1129848"
    assert f"{q('36 lbf ft').base:.2f}" == "48.81"
    assert in_three(q("36 lbf ft"))["lbf·in"] == 432


def test_a_wrench_in_the_other_unit_with_an_adapter() -> None:
    """48 N·m, wrench in lbf·ft, 4 in on 12: 35.4 lbf·ft, set 26.6; 48 lbf·ft would be 65 N·m, 36 % over (computed)."""
    answer = setting(q("48 N·m"), wrench=Wrench("lbf·ft", length=q("12 in"), adapter=q("4 in")))

    assert answer.values["at_screw"] == {"N·m": Decimal(48), "lbf·ft": Decimal("35.4"), "lbf·in": Decimal(425)}
    assert answer.values["set"] == Decimal("26.6")
    assert "read as lbf·ft, 48 would be 65.1 N·m: 36 % over" in answer.notes
    assert floats_in(answer) == []


@pytest.mark.parametrize(
    ("wanted", "length", "adapter", "expected"), [("40", "12", "4", "30.0"), ("19", "22", "3", "16.7")]
)
def test_an_adapter_in_line(wanted: str, length: str, adapter: str, expected: str) -> None:
    """set = wanted x L / (L + A): 40, 12, 4 -> 30; 19, 22, 3 -> 16.7 (public adapter formula, computed)."""
    wrench = Wrench("lbf·ft", length=q(f"{length} in"), adapter=q(f"{adapter} in"))

    assert setting(q(f"{wanted} lbf ft"), wrench=wrench).values["set"] == Decimal(expected)


def test_the_wrong_unit_is_told_when_it_is_set() -> None:
    """12 N·m set as 12 lbf·ft is 16.3 N·m, 36 % over; lbf·in read as lbf·ft is twelve times as much (computed)."""
    answer = setting(q("12 N·m"), set_to=q("12 lbf ft"))

    assert answer.verdict == "out"
    assert answer.notes[0] == "12 lbf·ft is 36 % over; 12 is the figure in N·m, the unit is wrong"
    assert any("16.3 N·m" in line for line in answer.sums)
    assert any("12.0 times as much" in note for note in setting(q("60 lbf in"), wrench=Wrench("lbf·ft")).notes)
    assert setting(q("12 N·m"), set_to=q("8.85 lbf ft")).verdict == "ok"


def test_prevailing_torque_is_added_from_a_third() -> None:
    """50-70 with 30 prevailing: 80-100 (TB 43-0218); less than a third is not added, between the ends it is asked."""
    answer = setting(q("50 lbf ft"), upto=q("70 lbf ft"), prevailing=q("30 lbf ft"))

    assert (answer.values["set"], answer.values["set_upto"]) == (80, 100)
    assert setting(q("60 N·m"), prevailing=q("20 N·m")).values["set"] == 80
    assert setting(q("60 N·m"), prevailing=q("19.9 N·m")).values["set"] == 60
    assert setting(q("50 lbf ft"), upto=q("70 lbf ft"), prevailing=q("20 lbf ft")).verdict == "ask"


def test_oil_and_plating_on_a_dry_table() -> None:
    """Less 10 % oiled, less 20 % new plated (public rule for dry tables)."""
    assert setting(q("100 N·m"), condition="oiled").values["set"] == 90
    assert setting(q("100 N·m"), condition="plated").values["set"] == 80


@pytest.mark.parametrize(
    ("wanted", "verdict"),
    [("49.9", "borderline"), ("50", "ok"), ("150", "ok"), ("150.1", "borderline"), ("201", "out"), ("9", "out")],
)
def test_a_wrench_serves_best_in_the_middle_of_its_range(wanted: str, verdict: str) -> None:
    """0-200 serves from 50 to 150 (TB 43-0218: 25 to 75 %); beyond its ends it does not reach."""
    wrench = Wrench("lbf·ft", low=q("10 lbf ft"), high=q("200 lbf ft"))

    assert setting(q(f"{wanted} lbf ft"), wrench=wrench).verdict == verdict


@given(torque=TORQUES, length=st.integers(100, 900), adapter=st.integers(0, 300))
@settings(max_examples=40)
def test_the_screw_gets_what_was_wanted(torque: Quantity, length: int, adapter: int) -> None:
    """Setting what is answered is never off by more than the rounding to three digits."""
    arm = q(str(length))
    wrench = Wrench(torque.unit, length=arm, adapter=q(str(adapter)) if adapter else None)
    answer = setting(torque, wrench=wrench)
    told = Quantity(Decimal(str(answer.values["set"])), torque.unit)

    checked = setting(torque, wrench=wrench, set_to=told)
    assert (checked.verdict, checked.values["off_percent"]) == ("ok", 0)
    assert floats_in(checked) == []


@pytest.mark.parametrize(
    ("call", "said"),
    [
        (lambda: Wrench("lb-ft"), "did you mean lbf·ft"),
        (lambda: Wrench("N·m", adapter=q("50")), "give that as well"),
        (lambda: Wrench("N·m", length=q("50 N·m")), "wrench length: 50 N·m is a torque"),
        (lambda: Wrench("N·m", low=q("50 N·m"), high=q("40 N·m")), "write the low end first"),
        (lambda: setting(q("70 N·m"), upto=q("50 N·m")), "write the low end first"),
        (lambda: setting(q("0 N·m")), "torque: found 0; allowed: more than 0"),
        (lambda: setting(q("5")), "5 mm is a length; allowed: a torque"),
        (lambda: setting(q("5 N·m"), condition="oily"), "did you mean oiled"),
        (lambda: setting(q("5 N·m"), prevailing=q("-1 N·m")), "allowed: from 0"),
    ],
)
def test_what_cannot_be_is_refused(call: object, said: str) -> None:
    """The message says what was given and what is allowed."""
    with pytest.raises(UsageError, match=said):
        call()  # type: ignore[operator]
