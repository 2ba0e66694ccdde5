"""What the parts counter knows: order numbers with pack, price and what lies on the shelf."""

from __future__ import annotations

import re
from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass, field
from decimal import Decimal
from functools import cached_property
from typing import Final, Literal

from labelkit import units
from labelkit.errors import UsageError
from labelkit.model.formwords import folded
from labelkit.model.part import Part
from labelkit.model.profile import Profile
from labelkit.units import Quantity

DecimalSign = Literal[".", ","]

MOST_AMOUNT: Final = 999_999_999

# Source: ISO 4217, three letters.
_CURRENCY: Final = re.compile("[A-Z]{3}", re.ASCII)
_CURRENCY_BEHIND: Final = re.compile(r"(.+?)\s*(?:[(\[]\s*([A-Z]{3})\s*[)\]]|(?: in |/)([A-Z]{3}))", re.ASCII)
_NO_CURRENCY: Final = ("NET", "PCS", "PCE", "SET", "EXC", "INC", "VAT", "TAX", "PER")  # what else stands there
# More than any part costs, and finer than any coin; with a pack of 9999 it stays within the 28 digits of a Decimal.
_FIGURE: Final = re.compile(r"([0-9]{0,9})(?:([.,])([0-9]{1,6}))?", re.ASCII)
_GROUPED: Final = re.compile(
    r"([0-9]{1,3}(?:([.,' ’\u00a0\u202f_])[0-9]{3})(?:\2[0-9]{3})*)(?:[.,]([0-9]*))?", re.ASCII
)

# The trade's names of a column, folded: English, German, Spanish. `each` is the price of one piece.
COLUMNS: Final[Mapping[str, tuple[str, ...]]] = {
    "number": (
        *("number", "no", "nr", "part number", "part no", "part", "part nr", "pn", "item", "item number", "item no"),
        *("article", "article number", "article no", "order number", "order no", "order code", "stock number"),
        *("stock no", "sku", "catalogue number", "catalog number", "cat no", "nummer", "teilenummer", "teile nr"),
        *("bestellnummer", "bestell nr", "artikelnummer", "artikel nr", "sachnummer", "sach nr"),
        *("numero", "referencia", "ref", "numero de pieza", "numero de pedido"),
    ),
    "name": (
        *("name", "description", "desc", "designation", "title", "part name", "item name", "article name"),
        *("bezeichnung", "benennung", "beschreibung", "nombre", "denominacion", "descripcion"),
    ),
    "supplier": (
        *("supplier", "vendor", "dealer", "supplier name", "bought from", "lieferant", "haendler"),
        *("proveedor", "suministrador"),
    ),
    "pack": (
        *("pack", "pack size", "pack qty", "pack quantity", "packed", "packed in", "packs of", "sold in packs of"),
        *("per pack", "pieces per pack", "pcs per pack", "sales unit", "order multiple", "packung"),
        *("packungsgroesse", "verpackungseinheit", "ve", "gebinde", "stueck je packung", "paquete", "envase"),
        *("unidades por paquete", "unidades por envase"),
    ),
    "price": (
        *("price", "pack price", "price per pack", "price pack", "cost", "net", "net price", "price net", "preis"),
        *("packungspreis", "preis je packung", "preis netto", "netto", "nettopreis", "precio", "precio por paquete"),
        *("precio neto", "coste"),
    ),
    "each": (
        *("price each", "each", "unit price", "piece price", "price per piece", "price per unit", "unit cost"),
        *("stueckpreis", "einzelpreis", "preis je stueck", "precio unitario", "precio por pieza"),
    ),
    "currency": ("currency", "cur", "ccy", "waehrung", "moneda", "divisa"),
    "on shelf": (
        *("on shelf", "shelf qty", "shelf quantity", "in stock", "stock", "stock qty", "stock quantity", "qty"),
        *("quantity", "on hand", "qty on hand", "quantity on hand", "available", "bestand", "lagerbestand", "menge"),
        *("am lager", "auf lager", "vorrat", "existencias", "en estante", "en almacen", "cantidad"),
    ),
    "location": (
        *("location", "loc", "shelf location", "stock location", "storage", "place", "bin", "bin location", "rack"),
        *("lagerplatz", "lagerort", "fach", "regal", "platz", "ubicacion", "estante", "lugar"),
    ),
}
COLUMN_NAMES: Final[Mapping[str, str]] = {name: column for column, names in COLUMNS.items() for name in names}
TWO_WAYS: Final = {"shelf": "on shelf (the count) or location (the place)", "code": "number or location"}

# What a spreadsheet runs or retypes: signs in front (OWASP page on CSV injection, from memory), sums of money and
# anything that begins with a figure, a month with a day or year in any language, the words for yes and no. A size, a
# figure with the unit of a length, stays a text by itself.
_SIZE: Final = re.compile(rf"\d+([.,]\d+)? ({'|'.join(units.units_of('length'))})")
_NOT_TEXT: Final = re.compile(
    r"['=+\-@\t\r\n＝＋－＠]|[.,(]?\s*\d|[$€£¥]|[^\W\d_]{3,10}\.?[\s./-]*\d{1,4}([\s.,/-]+\d{1,4})?$|(true|false)$",
    re.IGNORECASE,
)


def currency_code(text: str) -> str:
    """Return a currency as its three letters.

    Raises:
        UsageError: not three letters.

    >>> currency_code(" eur ")
    'EUR'
    """
    code = text.strip().upper()
    if not _CURRENCY.fullmatch(code):
        raise UsageError(f'the currency "{text}"; allowed: the three letters of ISO 4217, as in EUR')
    return code


@dataclass(frozen=True, slots=True)
class Money:
    """An exact amount of one currency; amounts of two currencies are never added.

    >>> str(Money(Decimal("1.20"), "EUR") * 3 + Money(Decimal("0.05"), "EUR"))
    '3.65 EUR'
    """

    amount: Decimal
    currency: str

    def __add__(self, other: Money) -> Money:
        if self.currency != other.currency:
            raise UsageError(f"{self} and {other} are of two currencies and cannot be added; give all prices in one")
        return Money(self.amount + other.amount, self.currency)

    def __mul__(self, count: int) -> Money:
        return Money(self.amount * count, self.currency)

    def __str__(self) -> str:
        return f"{self.amount:f} {self.currency}"


def total(amounts: Iterable[Money]) -> Money | None:
    """Return the sum; None when there is nothing to add.

    Raises:
        UsageError: two currencies.
    """
    found: Money | None = None
    for amount in amounts:
        found = amount if found is None else found + amount
    return found


@dataclass(frozen=True, slots=True)
class CatalogueEntry:
    """One number of the catalogue; None stands for what it does not say.

    Attributes:
        number: the order number, exactly as it is written.
        name: what the counter calls it.
        supplier: where it is bought.
        pack: pieces in one pack.
        price: of one pack.
        shelf: pieces on the shelf.
        location: where on the shelf.
    """

    number: str
    name: str | None = None
    supplier: str | None = None
    pack: int | None = None
    price: Money | None = None
    shelf: int | None = None
    location: str | None = None


@dataclass(frozen=True)
class Catalogue:
    """The numbers that a parts counter knows.

    Attributes:
        entries: by order number, in the order of the file.
        currency: of every price; None when nothing has a price.
    """

    entries: Mapping[str, CatalogueEntry] = field(default_factory=dict)
    currency: str | None = None

    def __post_init__(self) -> None:
        for entry in self.entries.values():
            if entry.price is not None and entry.price.currency != self.currency:
                raise UsageError(
                    f"{entry.number} is priced in {entry.price.currency}, the catalogue in {self.currency}; "
                    "give all prices in one currency"
                )

    def get(self, number: str | None) -> CatalogueEntry | None:
        """Return the entry of exactly this number, None when there is none."""
        return None if number is None else self.entries.get(number)

    def near(self, number: str) -> str | None:
        """Return the only number that is the same but for case, spaces, hyphens and dots; None when none is.

        >>> Catalogue({"g2b 1107": CatalogueEntry("g2b 1107")}).near("G2B-1107")
        'g2b 1107'
        """
        found = self._bare.get(_bare(number), ())
        return found[0] if len(found) == 1 and found[0] != number else None

    @cached_property
    def _bare(self) -> Mapping[str, tuple[str, ...]]:
        found: dict[str, tuple[str, ...]] = {}
        for number in self.entries:
            key = _bare(number)
            found[key] = (*found.get(key, ()), number)
        return found


NO_CATALOGUE: Final = Catalogue()


def order_number(profile: Profile, part: Part, size: Quantity | None = None) -> str | None:
    """Return a part's order number, of a graded one in this size of its series; None where the profile has none.

    Where the series lists no numbers, all its sizes go by the part's own.
    """
    series = profile.series.get(part.series or "")
    if size is None or series is None or not series.numbers:
        return part.number
    return next((number for text, number in series.numbers.items() if units.number(text) == size.value), None)


def as_listed(number: str, known: Iterable[str]) -> str:
    """Return a number as it is listed where only case and blanks differ; as it was written where it is, or none is.

    >>> as_listed("mr3- 2156", ["MR3-2155", "MR3-2156"]), as_listed("MR32156", ["MR3-2156"])
    ('MR3-2156', 'MR32156')
    """
    alike = {each for each in known if "".join(each.split()).casefold() == "".join(number.split()).casefold()}
    return alike.pop() if len(alike) == 1 else number


def order_numbers(profile: Profile) -> Iterator[str]:
    """Yield the order numbers of a profile, of parts and of the sizes of its series."""
    yield from (part.number for _place, part in profile.walk() if part.number)
    yield from (number for series in profile.series.values() for number in series.numbers.values())


def _bare(number: str) -> str:
    return re.sub(r"[\s.\-‐-–/]+", "", number).casefold()


def column_of(header: str) -> tuple[str | None, str | None]:
    """Return the column that a header names, and the currency in it; None for what it does not say.

    >>> column_of("Part No."), column_of("Price (EUR)"), column_of("colour")
    (('number', None), ('price', 'EUR'), (None, None))
    """
    key = folded(header)
    if key in COLUMN_NAMES:
        return COLUMN_NAMES[key], None
    match = _CURRENCY_BEHIND.fullmatch(header.strip())
    column = COLUMN_NAMES.get(folded(match[1])) if match else None
    code = (match[2] or match[3]) if match else None
    return (column, code) if column in ("price", "each") and code not in _NO_CURRENCY else (None, None)


def shown_sign(text: str) -> DecimalSign | None:
    """Return the sign that a price shows to be the decimal one; None where it has none or could set thousands apart.

    >>> shown_sign("12,50"), shown_sign("0.125"), shown_sign("1,250"), shown_sign("12")
    (',', '.', None, None)
    """
    match = _FIGURE.fullmatch(text)
    if match is None or is_doubtful(text):
        return None
    return "," if match[2] == "," else "." if match[2] == "." else None


def is_doubtful(text: str) -> bool:
    """Say whether a price reads as decimals and as thousands: `1,250`."""
    match = _FIGURE.fullmatch(text)
    return match is not None and len(match[3] or "") == 3 and bool(re.fullmatch("[1-9][0-9]{0,2}", match[1]))


def grouped(text: str) -> bool:
    """Say whether thousands are set apart: `1.250,00`, `1 250`, `1'250'000`."""
    return _GROUPED.fullmatch(text) is not None


def price_fault(text: str, sign: DecimalSign) -> str | None:
    """Return why a text is no price with this decimal sign, None when it is one."""
    match = _FIGURE.fullmatch(text)
    if match and (match[1] or match[3]) and match[2] in (None, sign):
        return None
    name = "point" if sign == "." else "comma"
    if set_apart := _GROUPED.fullmatch(text):
        whole, rest = set_apart[1].replace(set_apart[2], ""), set_apart[3]
        return f"thousands are not set apart; write {whole}{f'{sign}{rest}' if rest else ''}"
    if match and match[2]:
        return f"the decimal sign of this file is the {name}; did you mean {text.replace(match[2], sign)}?"
    if text.startswith("-"):
        return "a price is not below 0"
    return f"allowed: a plain figure such as 1250{sign}00, at most 9 digits and 6 behind the decimal {name}"


def figure_text(value: int | Decimal | None, sign: DecimalSign) -> str:
    """Return a figure for a cell; one of three decimals gets a fourth, so that nobody reads thousands.

    >>> figure_text(Decimal("12.50"), ","), figure_text(Decimal("1.250"), "."), figure_text(None, ".")
    ('12,50', '1.2500', '')
    """
    text = "" if value is None else f"{value:f}" if isinstance(value, Decimal) else str(value)
    return (text + "0" if is_doubtful(text) else text).replace(".", sign)


def text_cell(text: str) -> str:
    """Return a text as a spreadsheet takes it for text: neither run, nor turned into a figure or a day.

    >>> text_cell("=1+1"), text_cell("00123"), text_cell("1E5"), text_cell("MAR-21"), text_cell("2.60 mm")
    ("'=1+1", "'00123", "'1E5", "'MAR-21", '2.60 mm')
    """
    return f"'{text}" if _NOT_TEXT.match(text) and not _SIZE.fullmatch(text) else text
