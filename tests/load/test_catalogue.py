"""The catalogue as CSV: read in any order and dress, every fault at its place, written so that it reads back."""

from __future__ import annotations

import csv
import io
import shutil
import subprocess
from decimal import Decimal
from pathlib import Path

import pytest
from hypothesis import example, given, settings
from hypothesis import strategies as st

from labelkit.errors import InputError, InputErrors, UsageError
from labelkit.load.catalogue import load_catalogue, parse_catalogue
from labelkit.load.table import LARGEST_FILE, MOST_PROBLEMS, csv_bytes
from labelkit.model.catalogue import Catalogue, CatalogueEntry, Money
from tests.cataloguecsv import catalogue_csv

SEAL = CatalogueEntry("G2B-1110", "Seal 45 x 62 x 8", "Seal house", 1, Money(Decimal("12.50"), "EUR"), 3, "R4-2")
RING = CatalogueEntry("00123", "Ring", None, 5, Money(Decimal("0.80"), "EUR"), None, None)
BOTH = Catalogue({"G2B-1110": SEAL, "00123": RING}, "EUR")


def read(text: str, **arguments: str) -> Catalogue:
    return parse_catalogue(text.encode(), "stock.csv", **arguments).catalogue  # type: ignore[arg-type]


def faults(text: str | bytes, **arguments: str) -> list[str]:
    """Return the faults of a file, each as file:line:column: field: message."""
    with pytest.raises(InputErrors) as caught:
        parse_catalogue(text if isinstance(text, bytes) else text.encode(), "stock.csv", **arguments)  # type: ignore[arg-type]
    return [str(problem) for problem in caught.value.problems]


PLAIN = """number,name,supplier,pack,price,on shelf,location
G2B-1110,Seal 45 x 62 x 8,Seal house,1,12.50,3,R4-2
00123,Ring,,5,0.80,,
"""


def test_a_plain_file_is_read() -> None:
    """Numbers stay the text that was typed; what is empty is not known."""
    assert read(PLAIN, currency="eur") == BOTH


@pytest.mark.parametrize(
    "text",
    [
        "\ufeff" + PLAIN.replace("price", "price (EUR)"),
        PLAIN.replace("price", "Price/EUR").replace("\n", "\r\n"),
        PLAIN.replace("price", "PRICE [EUR]").replace("\n", "\r"),
        PLAIN.replace("price", "price in EUR").replace(",", "\t"),
        PLAIN.replace("price", "price (EUR)").replace(",", ";").replace(".", ","),
        "sep=;\n" + PLAIN.replace("price", "price (EUR)").replace(",", ";"),
        PLAIN.replace("price", "price (EUR)").replace("12.50", '"12,50"').replace("0.80", '"0,80"'),
        "\n,,,,,,\n" + PLAIN.replace("price", "price (EUR)") + "\n,,\n \n",
    ],
    ids=["mark", "crlf", "cr", "tab", "semicolon", "sep", "comma-in-quotes", "empty-lines"],
)
def test_the_same_file_in_another_dress_is_the_same_catalogue(text: str) -> None:
    """Byte-order mark, line ends, delimiters, decimal signs and empty lines change nothing."""
    assert read(text) == BOTH


def test_columns_stand_anywhere_under_names_of_the_trade() -> None:
    """Case and signs do not matter; columns that are not read are told."""
    loaded = parse_catalogue(
        b"Bin,Qty,VAT,COST,Pack Size,Vendor,Description,Part No.,Currency\n"
        b"R4-2,3,19,12.50,1,Seal house,Seal 45 x 62 x 8,G2B-1110,EUR\n",
        "stock.csv",
    )

    assert loaded.catalogue == Catalogue({"G2B-1110": SEAL}, "EUR")
    assert loaded.ignored == ("VAT",)


def test_a_price_of_each_piece_makes_the_price_of_a_pack() -> None:
    """Five at 0.16 cost 0.80; sold singly where no pack is named."""
    found = read("number,pack,price each (EUR)\nA,5,0.16\nB,,2.00\n")

    assert found.entries["A"].price == Money(Decimal("0.80"), "EUR")
    assert (found.entries["B"].price, found.entries["B"].pack) == (Money(Decimal("2.00"), "EUR"), 1)


def test_a_cell_in_quotes_may_hold_line_ends_and_delimiters() -> None:
    """They become spaces in a name; a quote inside is written twice. Source: RFC 4180, section 2."""
    found = read('number,name\nA,"Ring, ""large""\r\n two\n  lines"\n"B",x\n')

    assert [entry.name for entry in found.entries.values()] == ['Ring, "large" two lines', "x"]


def test_marks_that_keep_a_text_a_text_are_taken_off() -> None:
    """An apostrophe in front, or a formula of one text, as spreadsheets write noughts in front."""
    found = read('number,name\n\'00123,\'=1+1\n"=""0045""",\'\'x\n')

    assert [(entry.number, entry.name) for entry in found.entries.values()] == [("00123", "=1+1"), ("0045", "'x")]


def test_prices_without_any_decimal_sign_need_no_answer() -> None:
    """Whole figures read the same either way; one sure price answers for all."""
    assert read("number,price (EUR)\nA,1250\n").entries["A"].price == Money(Decimal(1250), "EUR")
    assert read("number;price (EUR)\nA;1,250\nB;0,5\n").entries["A"].price == Money(Decimal("1.250"), "EUR")


def test_a_doubtful_price_is_asked_about() -> None:
    """One and a quarter, or twelve hundred and fifty: nobody guesses; declared, it is read."""
    text = "number;price (EUR)\nA;12\nB;1,250\n"

    assert faults(text) == [
        "stock.csv:3:3: price: found 1,250: is the sign for decimals or for thousands? no price in the file shows it; "
        "write one as 12.50 or 12,50, or say --decimal . or ,"
    ]
    assert read(text, decimal=",").entries["B"].price == Money(Decimal("1.250"), "EUR")
    assert ["thousands" in fault for fault in faults(text, decimal=".")] == [True]


def test_every_fault_is_told_at_its_place() -> None:
    """Line and column of the cell, also behind quoted line ends; the rest of the file is still looked at."""
    text = (
        "number;name;pack;price (EUR);on shelf\n"
        'A;"two\nlines; ""x""";0;12,50;1.000\n'
        "A;;5;3.20;-1\n"
        ";nameless;;;\n"
        'B;"a\nb";5 pcs;1.250,00;;over\n'
        "C;x;;-3;\n"
    )

    assert faults(text) == [
        'stock.csv:3:15: pack: found "0"; allowed: a whole number from 1 to 9999',
        'stock.csv:3:23: on shelf: found "1.000"; allowed: a whole number from 0 to 9999999; '
        "thousands are not set apart",
        "stock.csv:4:1: number: A stands already in line 2; keep one",
        'stock.csv:4:6: price: found "3.20"; the decimal sign of this file is the comma; did you mean 3,20?',
        'stock.csv:4:11: on shelf: found "-1"; allowed: a whole number from 0 to 9999999',
        "stock.csv:5:1: number: the number is missing in a line that says something else",
        'stock.csv:7:20: found "over" behind the last column; is a cell not in quotes?',
        'stock.csv:8:6: price: found "-3"; a price is not below 0',
    ]


def test_currencies_are_never_mixed() -> None:
    """In a column, between column and header, between header and argument; and there must be one."""
    assert faults("number,price,currency\nA,1.50,EUR\nB,2.50,usd\nC,3.50,euro\n") == [
        "stock.csv:3:8: currency: found USD beside EUR; all prices are in one currency",
        'stock.csv:4:8: currency: the currency "euro"; allowed: the three letters of ISO 4217, as in EUR',
    ]
    assert "found USD beside EUR" in faults("number,price (USD)\nA,1.50\n", currency="EUR")[0]
    (told,) = faults("number,price\nA,1.50\nB,2.50\n")
    assert told.startswith("stock.csv:2:3: price: the currency of the prices is not stated: name it in the header")
    assert read("number,price\nA,\n").currency is None


@pytest.mark.parametrize(
    ("header", "message"),
    [
        ("numbr,price (EUR)", "did you mean number"),
        ("number,pirce", "did you mean price"),
        ("number,shelf", "can be read in two ways; call it on shelf (the count) or location (the place)"),
        ("number,price (EUR),unit price", 'the columns "price (EUR)" and "unit price" say the same; keep one'),
        ("number,part no", 'the columns "number" and "part no" say the same'),
        ("name,price (EUR)", "no column is named number; found: name | price (EUR)"),
        ("G2B-1110,Seal", "no column is named number"),
        (",".join(f"c{k}" for k in range(201)), "names 201 columns; allowed: 200"),
    ],
)
def test_a_header_with_a_fault_is_told(header: str, message: str) -> None:
    """A slip of the keyboard does not drop a column in silence, and no column is read in two ways."""
    assert any(message in fault and fault.startswith("stock.csv:1:") for fault in faults(f"{header}\nA,1\n"))


@pytest.mark.parametrize(
    ("data", "message"),
    [
        (b"", "stock.csv: the file is empty"),
        (b"\xef\xbb\xbf \r\n", "stock.csv: the file is empty"),
        (b";;;\n", "holds no line with names of columns"),
        (b"\x89PNG\r\n\0\0", "stock.csv: is a binary file"),
        ("number\nA\n".encode("utf-16"), "stock.csv: is UTF-16 text"),
        ("number,name\nA,Bügel\n".encode("latin-1"), "stock.csv:2:4: holds the byte 0xFC, which is not UTF-8"),
        (
            b'number,name\nA,x\nB,"open\nC,x\n',
            "stock.csv:3:1: is not CSV from here on: a quote is opened and not closed",
        ),
        (b'number,name\nA,"x"y\n', "stock.csv:2:1: is not CSV from here on"),
        (b"number,name\nA," + b"x" * 201, "stock.csv:2:3: name: has 201 letters; allowed: at most 200"),
        (b"number;name\nA,seal\n", "stock.csv:2:1: number: found \"A,seal\"; cells are apart by ';' here, not by ','"),
        (b"number\n" + b"1" * 41, "stock.csv:2:1: number: has 41 letters; allowed: at most 40"),
        (b"number,name\nA,\x1b[31m\n", "stock.csv:2:3: name: holds the unprintable character U+001B"),
        (b"number,price each (EUR),pack\nA,900000000,9999\n", "a pack comes to 8999100000000; allowed: at most"),
        (b"number," + b"x" * 140_000, "is not CSV from here on: field larger than field limit"),
    ],
)
def test_a_file_that_is_no_catalogue_is_told(data: bytes, message: str) -> None:
    """What it is instead, and where it stops being one."""
    with pytest.raises(InputError) as caught:
        parse_catalogue(data, "stock.csv")

    assert message in str(caught.value)


def test_faults_past_a_number_are_counted() -> None:
    """A wrong file does not fill the screen."""
    told = faults("number,pack\n" + "".join(f"A{k},x\n" for k in range(MOST_PROBLEMS + 50)))

    assert len(told) == MOST_PROBLEMS + 1
    assert told[-1].startswith("stock.csv:201:") or told[-2].startswith("stock.csv:201:")
    assert any("and 50 more faults below" in fault for fault in told)


@pytest.mark.parametrize(("arguments", "message"), [({"decimal": ";"}, r"\. or ,"), ({"currency": "€"}, "ISO 4217")])
def test_what_is_declared_wrongly_is_refused(arguments: dict[str, str], message: str) -> None:
    """Before the file is looked at."""
    with pytest.raises(UsageError, match=message):
        read(PLAIN, **arguments)


def test_a_file_is_loaded_by_its_path(here: Path) -> None:
    """Named as short as can be; one that is missing, a folder or huge is told."""
    (here / "stock.csv").write_bytes(catalogue_csv(BOTH))
    with (here / "huge.csv").open("wb") as stream:
        stream.truncate(50_000_000)

    assert load_catalogue(here / "stock.csv").catalogue == BOTH
    with pytest.raises(InputError, match=r"^none\.csv: there is no such file"):
        load_catalogue(Path("none.csv"))
    with pytest.raises(InputError, match="is a folder; a CSV file is wanted here"):
        load_catalogue(here)
    with pytest.raises(InputError, match=f"huge.csv: the file has over {LARGEST_FILE // 10**6} MB"):
        load_catalogue(here / "huge.csv")


# ---------------------------------------------------------------- out, and back

words = st.text(st.characters(codec="utf-8", exclude_categories=["C", "Z"]) | st.just(" "), min_size=1, max_size=30)
flat = words.map(lambda text: " ".join(text.split())).filter(bool)
maybe = st.none() | flat
amounts = st.none() | st.decimals(0, 999_999, places=2) | st.decimals(0, 999_999, places=3) | st.integers(0, 99_999)


@st.composite
def catalogues(draw: st.DrawFn) -> Catalogue:
    found = {}
    for number in draw(st.lists(flat, max_size=6, unique=True)):
        amount = draw(amounts)
        price = None if amount is None else Money(Decimal(amount), "EUR")
        pack = draw(st.none() | st.integers(1, 9999))
        shelf = draw(st.none() | st.integers(0, 9_999_999))
        found[number] = CatalogueEntry(number, draw(maybe), draw(maybe), pack, price, shelf, draw(maybe))
    return Catalogue(found, "EUR" if any(entry.price for entry in found.values()) else None)


@settings(max_examples=100)
@given(catalogues(), st.sampled_from([(",", "."), (";", ","), ("\t", "."), (",", ",")]))
@example(Catalogue({"'": CatalogueEntry("'", '="x"', "''", None, None, None, '"')}), (",", "."))
@example(Catalogue({"A": CatalogueEntry("A", price=Money(Decimal("1.250"), "EUR"))}, "EUR"), (";", ","))
def test_a_catalogue_reads_back_to_the_same(catalogue: Catalogue, dress: tuple[str, str]) -> None:
    """Whatever the words are, with every delimiter and sign, and with nothing declared."""
    delimiter, sign = dress

    data = catalogue_csv(catalogue, delimiter=delimiter, decimal=sign)  # type: ignore[arg-type]

    assert parse_catalogue(data, "stock.csv").catalogue == catalogue


@settings(max_examples=100)
@given(
    st.binary(max_size=300) | st.text(st.sampled_from("number,;price\n\r\t\"'=(EUR)1.5 "), max_size=200).map(str.encode)
)
def test_no_file_ends_in_anything_but_a_catalogue_or_a_message(data: bytes) -> None:
    """Also with the right header in front."""
    messages = []
    for start in (b"", b"number,price (EUR),pack\n", b"part no;unit price;qty;currency\n"):
        try:
            parse_catalogue(start + data, "stock.csv")
        except InputError as error:
            messages += str(error).splitlines()
    assert all(message.startswith("stock.csv:") for message in messages)


@given(st.lists(st.text(max_size=12), min_size=1, max_size=4))
def test_no_written_cell_can_be_run(cells: list[str]) -> None:
    """Read by another reader, no text begins with a sign that a spreadsheet runs. Source: OWASP page, from memory."""
    text = csv_bytes([cells]).decode("utf-8-sig")
    (row,) = csv.reader(io.StringIO(text, newline=""))

    assert len(row) == len(cells)
    assert not any(cell.startswith(tuple("=+-@\t\r\n＝＋－＠")) for cell in row)


def test_figures_are_written_as_figures() -> None:
    """Whole numbers and amounts are no texts, with the sign that was asked for; a mark in front says UTF-8."""
    data = csv_bytes([["ü", 12, Decimal("1.50"), None]], delimiter=";", decimal=",")

    assert data == b"\xef\xbb\xbf\xc3\xbc;12;1,50;\r\n"


RETYPED = [
    "00123",
    "1E5",
    "=1+1",
    "-5",
    "@SUM(A1)",
    "+49 1",
    "MAR-21",
    "3-4",
    "1/2",
    "12345678901234567890",
    "true",
    "(5)",
]


@pytest.mark.skipif(shutil.which("soffice") is None, reason="no spreadsheet program is installed")
@pytest.mark.parametrize(("delimiter", "code", "sign"), [(",", 44, "."), (";", 59, ",")])
def test_a_spreadsheet_program_keeps_every_number(
    tmp_path: Path, tmp_path_factory: pytest.TempPathFactory, delimiter: str, code: int, sign: str
) -> None:
    """Opened, saved as a spreadsheet and exported again, all numbers are the same; unmarked, most are lost."""
    price = Money(Decimal("12.50"), "EUR")
    catalogue = Catalogue({n: CatalogueEntry(n, n, None, 5, price, 3, n) for n in RETYPED}, "EUR")
    (tmp_path / "marked.csv").write_bytes(catalogue_csv(catalogue, delimiter=delimiter, decimal=sign))  # type: ignore[arg-type]
    plain = ["number", *(number for number in RETYPED if number[0] not in "=+-@")]
    (tmp_path / "plain.csv").write_text("\n".join(plain), "utf-8")
    out = tmp_path / "out"

    def office(*words: str, files: Path, ending: str) -> None:
        settings = tmp_path_factory.getbasetemp() / "office"  # made once, that takes long
        start = ["soffice", "--headless", f"-env:UserInstallation=file://{settings}", *words]
        named = [str(files / f"{name}.{ending}") for name in ("marked", "plain")]
        subprocess.run([*start, "--outdir", str(out), *named], check=True, capture_output=True)

    office(f"--infilter=CSV:{code},34,76,1", "--convert-to", "ods", files=tmp_path, ending="csv")
    office("--convert-to", f"csv:Text - txt - csv (StarCalc):{code},34,76", files=out, ending="ods")

    assert parse_catalogue((out / "marked.csv").read_bytes(), "back.csv").catalogue == catalogue
    back = parse_catalogue((out / "plain.csv").read_bytes(), "back.csv").catalogue
    assert {"00123", "1E5"} <= set(plain) - set(back.entries)
