"""Quantities keep the typed digits, convert exactly, and refuse everything that is not one value."""

from __future__ import annotations

from decimal import Decimal
from fractions import Fraction

import pint
import pytest
from hypothesis import given
from hypothesis import strategies as st

from labelkit.units import FACTORS, MOST_DIGITS, Quantity, UnitError, number, parse, unit, units_of

REGISTRY = pint.get_application_registry()
# Names of the same units in pint.
PINT = {
    "in": "inch",
    "lb": "pound",
    "oz": "ounce",
    "µm": "micrometer",
    "N·m": "newton * meter",
    "lbf·ft": "pound_force * foot",
    "lbf·in": "pound_force * inch",
    "deg": "degree",
    "N": "newton",
    "kN": "kilonewton",
    "lbf": "pound_force",
    "l": "liter",
    "ml": "milliliter",
    "qt": "quart",
    "psi": "psi",
    "turns": "turn",
}
BASE = {
    "length": "millimeter",
    "mass": "kilogram",
    "torque": "newton * meter",
    "angle": "degree",
    "force": "newton",
    "volume": "liter",
    "pressure": "bar",
    "turns": "turn",
}

decimals = st.decimals(min_value=-10_000, max_value=10_000, places=6).filter(
    lambda value: len(value.as_tuple().digits) <= MOST_DIGITS
)


# Source: NIST SP 811 (2008), appendix B.8; the exact definitions of inch, pound and standard gravity.
@pytest.mark.parametrize(
    ("name", "expected"),
    [
        ("in", "25.4"),
        ("lb", "0.45359237"),
        ("lbf", "4.4482216152605"),
        ("lbf·ft", "1.3558179483314004"),
        ("lbf·in", "0.1129848290276167"),
        ("qt", "0.946352946"),
    ],
)
def test_exact_factors_are_those_of_nist(name: str, expected: str) -> None:
    """Inch, pound, pound-force, its torques and the US quart have exact factors."""
    assert FACTORS[name][1] == Decimal(expected)


# Source: NIST SP 811 (2008), appendix B.8, as printed there with seven digits.
@pytest.mark.parametrize(
    ("name", "printed", "base_unit_in_si"),
    [
        ("lb", "4.535924E-01", "1"),
        ("lbf·ft", "1.355818E+00", "1"),
        ("lbf·in", "1.129848E-01", "1"),
        ("psi", "6.894757E+03", "100000"),
    ],
)
def test_printed_factors_are_ours_rounded(name: str, printed: str, base_unit_in_si: str) -> None:
    """Rounded to seven digits, a factor is what the table prints (psi in Pa; here in bar)."""
    found = FACTORS[name][1] * Decimal(base_unit_in_si)

    assert f"{found:.6E}" == f"{Decimal(printed):.6E}"


@pytest.mark.parametrize("name", sorted(FACTORS))
def test_every_factor_is_pints(name: str) -> None:
    """Source: pint, an independent library of units."""
    kind, factor = FACTORS[name]
    expected = REGISTRY.Quantity(1, PINT.get(name, name)).to(BASE[kind]).magnitude

    assert float(factor) == pytest.approx(expected, rel=1e-14)


@given(value=decimals, name=st.sampled_from(sorted(set(FACTORS) - {"psi"})))
def test_conversions_are_exact(value: Decimal, name: str) -> None:
    """The product of decimals is the product of the fractions they stand for; psi alone has an endless factor."""
    expected = Fraction(value) * Fraction(FACTORS[name][1])

    assert Fraction(Quantity(value, name).base) == expected


@given(value=decimals, name=st.sampled_from(sorted(FACTORS)))
def test_what_is_printed_is_read_back(value: Decimal, name: str) -> None:
    """Digits, trailing zeros and unit survive being written and read."""
    written = Quantity(value, name)
    read = parse(str(written), written.kind, units_of(written.kind)[0])

    assert (str(read), read.value.as_tuple()) == (str(written), value.as_tuple())


def test_typed_digits_are_kept() -> None:
    """`0.30` stays two decimals, an inch value stays in inches."""
    assert str(parse("0.30", "length", "mm")) == "0.30 mm"
    assert str(parse("0.104 in", "length", "mm")) == "0.104 in"
    assert parse("0.104 in", "length", "mm").mm == Decimal("2.6416")


@pytest.mark.parametrize(
    ("text", "expected"),
    [
        ("1/2", "0.5"),
        ("3/32", "0.09375"),
        ("63/64", "0.984375"),
        ("1 1/4", "1.25"),
        ("1-1/4", "1.25"),
        ("-1 1/4", "-1.25"),
        ("1\t1/4", "1.25"),
        (".5", "0.5"),
        ("5.", "5"),
        ("1e3", "1E+3"),
    ],
)
def test_numbers_and_fractions_are_exact(text: str, expected: str) -> None:
    """Fractions of an inch end after a few decimals; common practice, no source."""
    assert number(text) == Decimal(expected)


@given(st.integers(0, 99), st.integers(1, 63), st.sampled_from([2, 4, 8, 16, 32, 64]))
def test_every_fraction_of_an_inch_is_exact(whole: int, upper: int, lower: int) -> None:
    """`1 5/64` is what Python's own fractions make of it."""
    assert Fraction(number(f"{whole} {upper}/{lower}")) == whole + Fraction(upper, lower)


@pytest.mark.parametrize(
    ("text", "words"),
    [
        ("1/3", "has no exact decimal value; write it as a decimal number"),
        ("1/0", "divides by zero"),
        ("1,5", "write the decimal mark as a point, as in 1.5"),
        ("1,500", "write the decimal mark as a point, 1.500 or 1500"),
        ("1.234,5", "and no thousands mark, as in 1234.5"),
        ("nan", '"nan" is not a number'),
        ("inf", '"inf" is not a number'),
        ("-Infinity", "is not a number"),
        ("0x10", "is not a number"),
        ("1_000", "is not a number"),
        ("1:20", "is not a number"),
        ("½", "is not a number"),
        ("٣", "is not a number"),
        ("", "is not a number"),
        ("--1", "is not a number"),
        ("1 -1/4", "is not a number"),
        ("123456789012", "more digits than can be meant; allowed: at most 11"),
        ("1e99", "more digits than can be meant"),
        ("1e-50", "more digits than can be meant"),
        ("9" * 5000 + "/2", "has 5002 characters; allowed: at most 60"),
    ],
)
def test_what_is_no_number_says_why(text: str, words: str) -> None:
    """Nothing is guessed: a comma may be a decimal or a thousands mark."""
    with pytest.raises(UnitError) as error:
        number(text)

    assert words in str(error.value)


@pytest.mark.parametrize(
    ("text", "expected"),
    [
        ("18 lbf·ft", "18 lbf·ft"),
        ("18 lb-ft", "18 lbf·ft"),
        ("18 ft-lbs", "18 lbf·ft"),
        ("18 ft lb", "18 lbf·ft"),
        ("18 lbf.ft", "18 lbf·ft"),
        ("18 ft·lbf", "18 lbf·ft"),
        ("160 in-lb", "160 lbf·in"),
        ("25 Nm", "25 N·m"),
        ("25 N m", "25 N·m"),
        ("25 N.m", "25 N·m"),
        ("25 n*m", "25 N·m"),
        ('1 1/4"', "1.25 in"),
        ("5 in.", "5 in"),
        ("5 Inches", "5 in"),
        ("3 um", "3 µm"),
        ("3 \u03bcm", "3 µm"),
        ("5MM", "5 mm"),
        ("2 lbs", "2 lb"),
        ("30°", "30 deg"),
        ("3.1 litre", "3.1 l"),
    ],
)
def test_units_are_read_as_people_write_them(text: str, expected: str) -> None:
    """Dots, hyphens, spaces, capitals, plurals; common practice, no source."""
    assert str(parse(text, None, "mm")) == expected


@pytest.mark.parametrize(
    ("text", "kind", "words"),
    [
        ("5 kg", "length", '"kg" is not a unit of length; allowed: mm, cm, m, µm, in'),
        ("5 mmm", "length", "did you mean mm?"),
        ("5 lbs", "torque", '"lbs" is not a unit of torque; allowed: N·m, lbf·ft, lbf·in'),
        ("40 Nm + 60°", "torque", '"40 Nm + 60°" is several values; allowed: one'),
        ("5 mm to 6 mm", "length", "is several values; allowed: one"),
        ("5 xyz", None, '"xyz" is not a unit; allowed: mm, cm, m, µm, in, kg'),
        ("mm", "length", '"mm" is no length; write a number and its unit, as in 2.60 mm'),
        ("", "length", '"" is no length'),
        ("wide", "angle", "as in 2.60 deg"),
        ("± 5 mm", "length", "is no length"),
        ("1,5 mm", "length", "write the decimal mark as a point, as in 1.5"),
        ("1" + " " * 100 + "mm", "length", "has 103 characters; allowed: at most 60"),
    ],
)
def test_what_is_no_quantity_says_why(text: str, kind: str | None, words: str) -> None:
    """What was given, what is allowed, and the nearest unit."""
    with pytest.raises(UnitError) as error:
        parse(text, kind, "mm")  # type: ignore[arg-type]

    assert words in str(error.value)


@pytest.mark.parametrize("unit", ["Nmm", "N·cm", "kNm", "lbf", "ozf-in"])
def test_a_unit_that_means_something_else_is_not_taken_for_a_slip(unit: str) -> None:
    """Whoever took N·m for the N·mm that was written would tighten a thousand times too hard."""
    with pytest.raises(UnitError) as error:
        parse(f"40 {unit}", "torque", "N·m")

    assert str(error.value).endswith("allowed: N·m, lbf·ft, lbf·in")


def test_a_unit_of_another_kind_is_refused() -> None:
    """A torque has no millimetres; asking for them names both kinds."""
    assert unit("ft lb", "torque") == "lbf·ft"
    with pytest.raises(UnitError, match=r"18 lbf·ft is a torque, not a length"):
        _ = parse("18 lbf·ft", "torque", "N·m").mm
    assert Quantity(Decimal(2), "lb").kg == Decimal("0.90718474")
    assert Quantity(Decimal(1), "lbf·ft").newton_metres == Decimal("1.3558179483314004")


@pytest.mark.parametrize(
    ("text", "expected"),
    [("1 lb 4 oz", "1.25 lb"), ("1lb4oz", "1.25 lb"), ("1 kg 250 g", "1.25 kg"), ("1 lb .5 oz", "1.03125 lb")],
)
def test_a_sum_in_falling_units_is_one_value(text: str, expected: str) -> None:
    """16 ounces are a pound (NIST SP 811)."""
    assert str(parse(text, "mass", "kg")) == expected


@pytest.mark.parametrize(
    ("text", "words"),
    [
        ("12-10 mm", "is several values; allowed: one"),
        ("0.20-0.60 mm", "is several values; allowed: one"),
        ("0.20 – 0.60 mm", "is several values; allowed: one"),
        ("2 mm 3 mm", "is several values; allowed: one, or a sum in falling units, as in 1 lb 4 oz"),
        ("3 mm 2 cm", "is several values"),
        ("-1 cm 4 mm", "is several values"),
        ("1 cm -4 mm", "is several values; allowed: one"),
        ("5 3 mm", "the number 5 has no unit"),
        ("1 cm 4", "the number 4 has no unit"),
        ("1 in 3 mm", "has no exact value in in; write it in one unit"),
    ],
)
def test_a_range_is_never_added_up_in_silence(text: str, words: str) -> None:
    """`12-10 mm` is not 2 mm."""
    with pytest.raises(UnitError) as error:
        parse(text, "length", "mm")

    assert words in str(error.value)


@pytest.mark.parametrize(
    "text",
    [
        "0.0072 in (0.183 mm)",  # 0.18288
        "0.0072 in (0.182 mm)",
        "18 lbf·ft (24.4 N·m)",  # 24.4047
        "1 lb 4 oz (0.567 kg)",  # 0.56699
        "25.4 mm (1 in)",
        "0.45359237 kg (1 lb)",
    ],
)
def test_two_units_that_agree_are_the_first(text: str) -> None:
    """The second value may be off by its last digit; products worked with NIST SP 811's factors."""
    first, _, _ = text.partition(" (")

    assert parse(text, None, "mm") == parse(first, None, "mm")


@pytest.mark.parametrize(
    ("text", "words"),
    [
        ("0.0072 in (0.185 mm)", "0.0072 in is 0.183 mm, not 0.185 mm; correct one"),
        ("0.0072 in (0.184 mm)", "0.0072 in is 0.183 mm, not 0.184 mm"),
        ("18 lbf·ft (2.44 N·m)", "18 lbf·ft is 24.40 N·m, not 2.44 N·m"),
        ("0.0072 in (0.183)", "the number 0.183 has no unit"),
        ("0.0072 in (0.183 kg)", '"kg" is not a unit of length'),
        ("0.0072 in (0.183 mm", "the second value stands in one pair of brackets at the end"),
        ("0.0072 in (0.183 mm) x", "in one pair of brackets at the end"),
        ("(0.183 mm)", '"" is no quantity'),
    ],
)
def test_two_units_that_disagree_are_refused(text: str, words: str) -> None:
    """One of the two is a slip, and nobody can tell which."""
    with pytest.raises(UnitError) as error:
        parse(text, None, "mm")

    assert words in str(error.value)


@given(value=decimals.filter(lambda value: abs(value) < 1000), places=st.integers(0, 4))
def test_a_correctly_rounded_second_value_agrees(value: Decimal, places: int) -> None:
    """Whatever the value, its conversion rounded to any number of places is accepted."""
    millimetres = f"{value * Decimal('25.4'):.{places}f}"

    assert parse(f"{value:f} in ({millimetres} mm)", "length", "mm").value == value


@given(st.text(st.sampled_from('0159.,/+-–eE ()µm·inlbfkgNozt"\t°٣½'), max_size=24) | st.text(max_size=80))
def test_any_text_is_a_quantity_or_a_message(text: str) -> None:
    """Nothing but UnitError leaves the reader, and what it reads it reads again."""
    try:
        read = parse(text, None, "mm")
    except UnitError as error:
        told = str(error)
    else:
        told = "read"
        assert parse(str(read), None, "mm") == read
    assert told
