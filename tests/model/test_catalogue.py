"""Money, numbers that are nearly the same, headers of columns, figures and texts in cells."""

from __future__ import annotations

from decimal import Decimal

import pytest
from hypothesis import given
from hypothesis import strategies as st

from labelkit.errors import UsageError
from labelkit.model.catalogue import (
    COLUMNS,
    Catalogue,
    CatalogueEntry,
    DecimalSign,
    Money,
    column_of,
    currency_code,
    figure_text,
    grouped,
    is_doubtful,
    order_number,
    price_fault,
    shown_sign,
    text_cell,
    total,
)
from tests.shop import demo

cents = st.integers(0, 10**11).map(lambda n: Decimal(n) / 100)


@given(st.lists(cents, min_size=1, max_size=50), st.integers(0, 9999))
def test_sums_of_money_are_exact(amounts: list[Decimal], count: int) -> None:
    """As whole cents say, with no rounding on the way."""
    in_cents = sum(int(amount * 100) for amount in amounts) * count

    found = total(Money(amount, "EUR") * count for amount in amounts)

    assert found == Money(Decimal(in_cents) / 100, "EUR")


def test_tenths_add_up() -> None:
    """0.10 + 0.20 is 0.30, which binary fractions miss."""
    assert str(Money(Decimal("0.10"), "EUR") + Money(Decimal("0.20"), "EUR")) == "0.30 EUR"
    assert total([]) is None


def test_two_currencies_are_never_added() -> None:
    """The sum of euros and dollars is refused, in sums too."""
    euro, dollar = Money(Decimal(1), "EUR"), Money(Decimal(1), "USD")

    with pytest.raises(UsageError, match="1 EUR and 1 USD are of two currencies"):
        _ = euro + dollar
    with pytest.raises(UsageError, match="two currencies"):
        total([euro, euro, dollar])


@pytest.mark.parametrize("text", ["", "EURO", "€", "E1R", "eu"])
def test_a_currency_has_three_letters(text: str) -> None:
    """As ISO 4217 has it; a sign such as that of the dollar is that of many."""
    with pytest.raises(UsageError, match="three letters of ISO 4217"):
        currency_code(text)


def test_a_number_is_found_exactly_or_suggested() -> None:
    """Case, spaces, hyphens and dots may differ for a suggestion, if it is the only one."""
    known = Catalogue({number: CatalogueEntry(number) for number in ("A-1.2", "b 7", "B-7", "C1")})

    assert known.get("C1") == CatalogueEntry("C1")
    assert known.get("c1") is None
    assert known.get(None) is None
    assert known.near("a12") == "A-1.2"
    assert known.near("b7") is None  # two of them
    assert known.near("C1") is None  # itself
    assert known.near("D") is None


def test_a_graded_part_has_the_number_of_its_size() -> None:
    """By the series of a demo unit; other parts have their own."""
    profile = demo("planetary-reducer").profile
    parts = {part.id: part for _, part in profile.walk()}
    sizes = {str(size): size for size in profile.series["output-preload"].listed()}

    assert order_number(profile, parts["preload-spacer"], sizes["5.30 mm"]) == "G2B-1447"
    assert order_number(profile, parts["preload-spacer"]) is None
    assert order_number(profile, parts["cover-oring"]) == "G2B-1107"


@pytest.mark.parametrize(
    ("header", "expected"),
    [
        ("Part No.", ("number", None)),
        ("ORDER_NUMBER", ("number", None)),
        ("  Qty on hand ", ("on shelf", None)),
        ("Price [EUR]", ("price", "EUR")),
        ("price in USD", ("price", "USD")),
        ("Price/CHF", ("price", "CHF")),
        ("unit price (EUR)", ("each", "EUR")),
        ("Stückpreis (EUR)", ("each", "EUR")),
        ("Teile-Nr.", ("number", None)),
        ("Ubicación", ("location", None)),
        ("price (net)", ("price", None)),
        ("Price (PCS)", (None, None)),
        ("name (EUR)", (None, None)),
        ("", (None, None)),
        ("colour", (None, None)),
    ],
)
def test_a_header_names_a_column_as_the_trade_does(header: str, expected: tuple[str | None, str | None]) -> None:
    """Any case and signs; the currency may stand behind a price. Common practice, no source."""
    assert column_of(header) == expected


def test_no_name_belongs_to_two_columns() -> None:
    """Every name leads to the column that lists it."""
    assert all(column_of(name) == (column, None) for column, names in COLUMNS.items() for name in names)


@pytest.mark.parametrize(
    ("text", "sign", "doubtful"),
    [
        ("12", None, False),
        ("12,5", ",", False),
        (".50", ".", False),
        ("0,125", ",", False),
        ("1234.567", ".", False),
        ("1,250", None, True),
        ("999.999", None, True),
        ("1.250,00", None, False),
        ("abc", None, False),
    ],
)
def test_a_figure_shows_its_decimal_sign_or_leaves_a_doubt(text: str, sign: str | None, doubtful: bool) -> None:
    """Three figures behind the only sign may be thousands, unless there is a naught or more than three in front."""
    assert (shown_sign(text), is_doubtful(text)) == (sign, doubtful)


@pytest.mark.parametrize(
    ("text", "sign", "write"),
    [
        ("1.240,00", ",", "1240,00"),
        ("2,999.50", ".", "2999.50"),
        ("1 250", ".", "1250"),
        ("1'250'000", ".", "1250000"),
        ("1.250.000", ",", "1250000"),
        ("12\u00a0500,5", ".", "12500.5"),
    ],
)
def test_thousands_set_apart_are_seen(text: str, sign: DecimalSign, write: str) -> None:
    """With every sign that people use, the space that does not break among them; it tells how to write that price."""
    assert grouped(text)
    assert f"thousands are not set apart; write {write}" == price_fault(text, sign)


@pytest.mark.parametrize(
    ("text", "sign", "hint"),
    [
        ("12,50", ".", "did you mean 12.50?"),
        ("12.50", ",", "did you mean 12,50?"),
        ("-3", ".", "not below 0"),
        ("EUR 5", ".", "a plain figure"),
        (".", ".", "a plain figure"),
        ("1e3", ".", "a plain figure"),
        ("1234567890", ".", "at most 9 digits"),
        ("1.1234567", ".", "6 behind"),
        ("٣", ".", "a plain figure"),
    ],
)
def test_a_price_is_a_plain_figure(text: str, sign: str, hint: str) -> None:
    """The message says what is wrong and what was probably meant."""
    assert hint in str(price_fault(text, sign))  # type: ignore[arg-type]


@given(st.decimals(0, 999_999, places=3), st.sampled_from([".", ","]))
def test_a_written_figure_is_never_doubtful(amount: Decimal, sign: str) -> None:
    """It is a price with its own sign, no other reading is possible, and it is the same amount."""
    text = figure_text(amount, sign)  # type: ignore[arg-type]

    assert price_fault(text, sign) is None  # type: ignore[arg-type]
    assert not is_doubtful(text)
    assert Decimal(text.replace(",", ".")) == amount


@pytest.mark.parametrize("text", ["=1+1", "+49", "-5", "@SUM(A1)", "\tx", "\rx", "＝1", "'quoted"])
def test_a_cell_that_a_spreadsheet_would_run_is_text(text: str) -> None:
    """An apostrophe stands in front. Source: OWASP page on CSV injection, from memory."""
    assert text_cell(text) == f"'{text}"


@pytest.mark.parametrize(
    "text",
    ["00123", "1E5", "3-4", "1/2", "2 may", "6 a", "2.60", "MAR-21", "Dec12", "SEPT2", "ene-5", "true", "(5)", "7.10"],
)
def test_a_cell_that_a_spreadsheet_would_retype_is_text(text: str) -> None:
    """Leading noughts, powers of ten, days, yes and no; common practice, no source."""
    assert text_cell(text) == f"'{text}"


@pytest.mark.parametrize("text", ["", "G2B-1107", "Seal", "O-ring 212 x 3.55", "Märzen", "B7", "2.60 mm", "0,075 in"])
def test_plain_words_stay_as_they_are(text: str) -> None:
    """Nothing is put in front of what no program takes for anything else."""
    assert text_cell(text) == text
