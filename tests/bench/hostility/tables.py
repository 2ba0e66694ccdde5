"""Tables of parts, catalogues and mappings that are bent; a table that is read gives a profile that loads."""

from __future__ import annotations

from collections.abc import Sequence
from contextlib import suppress
from functools import cache
from random import Random
from typing import Any, Final

from labelkit.errors import InputErrors
from labelkit.load.catalogue import parse_catalogue
from labelkit.load.exporting import parts_csv, template_csv
from labelkit.load.importing import import_parts
from labelkit.load.partcolumns import COLUMNS, NAMES
from labelkit.load.partheadings import read_mapping
from labelkit.load.profile import parse_profile
from labelkit.load.sizetext import read_sizes
from labelkit.load.writer import profile_yaml
from labelkit.model.catalogue import DecimalSign
from labelkit.model.form import FORMS
from labelkit.units import UnitError
from tests.bench.hostility.mutate import bent, figure, near, text, tokens
from tests.bench.hostility.watch import Broken, Target
from tests.bench_app.workshop import FITTED, pump
from tests.shop import DEMO_UNITS, demo

_HEADER = {"mark": "XX", "name": "Unit", "up": "input side"}
_DIALECTS: Final[Sequence[tuple[str, DecimalSign]]] = ((",", "."), (";", ","))
_CODINGS = ("utf-8-sig", "utf-16", "utf-16-le", "latin-1", "cp1252", "utf-7", "utf-32", "cp037")


_TYPED = (
    "part;name;qty;form;sizes;mass;in;lies on;up;clock;number\nhousing;Housing;1;;;20 kg;;;;;A-1\n"
    "shaft;Shaft;1;;;4;housing;housing;splines;free;A-2\nring;Ring;2;ring;72 x 50 x 2.6;0.1;housing;shaft;free;;A-3\n"
    "bolt;Bolt M8 x 30;6;bolt;M8 x 30;;housing;;head;free;\nshim;Shim;1;ring;od 60 id 50 h 0.5;;housing;;;12:00;A-5\n"
)
_TYPED_DE = (
    'Pos,Benennung,Menge,Form,Maße,Gewicht,Teilenummer\n1,Deckel,1,,,"1,5",K-1\n'
    '2,Ring 72 x 50 x 2.6,2,Ring,"72 x 50 x 2,6","0,12",K-2\n3,Schraube M8 x 30,6,,,,K-3\n'
)


@cache
def _tables() -> tuple[tuple[str, str | None], ...]:
    """Return tables, each with the profile that it lies on; None: it needs none."""
    known = [
        (parts_csv(demo(unit).profile, delimiter=delimiter, decimal=decimal).decode("utf-8-sig"), unit)
        for unit in DEMO_UNITS
        for delimiter, decimal in _DIALECTS
    ]
    small = parts_csv(pump(FITTED).profile, delimiter="\t", decimal=".").decode("utf-8-sig")
    template = template_csv(delimiter=";", decimal=",").decode("utf-8-sig")
    return (*known, *[(small, "pump")] * 4, *((table, None) for table in (template, _TYPED, _TYPED, _TYPED_DE)))


def _row(random: Random, delimiter: str, width: int) -> str:
    return delimiter.join(random.choice((text, figure))(random) for _ in range(width))


def _spoilt(random: Random, source: str) -> bytes:
    """Return a table with cells, lines, quotes, separators or letters as nobody saves them."""
    lines = source.splitlines()
    if len(lines) > 20 and random.random() < 0.8:
        start = random.choice((1, 1, random.randrange(1, len(lines) - 8)))
        lines = [lines[0], *lines[start : start + 8]]
    delimiter = max(",;\t", key=lines[0].count)
    for _ in range(random.choice((0, 1, 1, 1, 2, 2, 4))):
        at = random.randrange(len(lines))
        cells = lines[at].split(delimiter)
        cell = random.randrange(len(cells))
        way = random.randrange(12)
        if way < 4:
            put = near(random, cells[cell])
            cells[cell] = '"' + put.replace('"', '""') + '"' if random.random() < 0.5 else put
        elif way == 4:
            cells[cell] = random.choice(('"', '""', '"a', 'a"b"', '"a"b', "'", '="1"', "=1+1"))
        elif way == 5:
            cells.insert(cell, text(random))
        elif way == 6:
            del cells[cell]
        elif way == 7:
            random.shuffle(cells)
        elif way == 8 and at == 0:
            cells[cell] = random.choice((*NAMES, *COLUMNS))
        elif way == 9:
            cells[cell] = random.choice(tuple(FORMS)) if random.random() < 0.5 else figure(random)
        elif way == 10:
            cells *= random.choice((2, 40))
        else:
            lines.insert(at, _row(random, delimiter, len(cells)))
        lines[at] = delimiter.join(cells)
    mixed = random.choice(("\r\n", "\r\n", "\n", "\n", "\r", "\n\n", "\u2028", "\x85"))
    whole = mixed.join(lines)
    if random.random() < 0.1:
        whole = random.choice(("sep=;\n", "sep=,\r\n", "sep=\t\r", "sep=x\n", "\n\n", ";;;\n", "\ufeff\ufeff")) + whole
    if random.random() < 0.05:
        whole = tokens(random, whole, 2)
    data = whole.encode("utf-8", "surrogatepass")
    if random.random() < 0.06:
        data = whole.encode(random.choice(_CODINGS), "ignore")
    return bent(random, data) if random.random() < 0.08 else data


def make(random: Random) -> dict[str, Any]:
    """Return a table of parts, and how it is to be read."""
    source, onto = random.choice(_tables())
    if random.random() < 0.15:
        onto = random.choice((None, *DEMO_UNITS, "pump"))
    mapping = None
    if random.random() < 0.15:
        mapping = tokens(random, "Benennung: name\nMenge: qty\nPos: step\n", 2).encode("utf-8", "surrogatepass")
    decimal = random.choice((None, None, None, ".", ",", "x"))
    return {"data": _spoilt(random, source), "onto": onto, "mapping": mapping, "decimal": decimal}


def tries(case: dict[str, Any]) -> None:
    """Read the table; what comes out is written and read again."""
    onto = None if (unit := case.get("onto")) is None else pump(FITTED) if unit == "pump" else demo(unit)
    mapping = read_mapping(case["mapping"], "words.yaml") if case.get("mapping") else None
    found = import_parts(
        case["data"], "parts.csv", {} if onto else _HEADER, decimal=case.get("decimal"), mapping=mapping, onto=onto
    )
    for problem in (*found.faults, *found.doubts):
        str(problem)
    if (found.profile is None) != bool(found.faults):
        raise Broken("neither a profile nor a fault")
    if found.profile is not None:
        written = profile_yaml(found.profile, heading="From parts.csv.")
        try:
            again = parse_profile(written, "parts.yaml", None)
        except InputErrors as error:
            raise Broken(f"the profile that was written does not load: {error}") from error
        if again.profile != found.profile:
            raise Broken("the profile that was written is another one")


_CATALOGUES = (
    "number;name;pack;price;currency;shelf;supplier;lead days\nKR2-01;Seal;1;12,50;EUR;3;Works;4\n"
    "KR2-02;Shim 2,60;10;1.004,00;EUR;0;Works;0\nKR2-03;Bearing;;;;;;\n",
    'number,name,pack,price,currency,on shelf\r\nA-1,Seal,1,12.50,EUR,3\r\n"A,2",Shim,10,1.20,EUR,0\r\n',
    "Teilenummer\tBezeichnung\tPreis EUR\tBestand\n1\tScheibe\t1,20\t4\n",
)


def make_catalogue(random: Random) -> dict[str, Any]:
    """Return a catalogue, and how it is to be read."""
    currency = random.choice((None, None, "EUR", text(random)[:20]))
    decimal = random.choice((None, None, ".", ",", "x"))
    return {"data": _spoilt(random, random.choice(_CATALOGUES)), "decimal": decimal, "currency": currency}


def tries_catalogue(case: dict[str, Any]) -> None:
    """Read the catalogue; each of its lines is found by its number."""
    found = parse_catalogue(case["data"], "c.csv", decimal=case.get("decimal"), currency=case.get("currency"))
    for entry in found.catalogue.entries.values():
        if entry.price is not None:
            str(entry.price)


def make_sizes(random: Random) -> list[str]:
    """Return the text of sizes, and the form that it is of."""
    known = ("72 x 50 x 2.6", "M8 x 30", "od 120 h 30 bore 40", "25x40x7", "d=8; l=30", "40 x 1.75", "1/2 in x 3")
    whole = near(random, near(random, random.choice(known))) if random.random() < 0.7 else figure(random)
    return [whole, random.choice(tuple(FORMS))]


def tries_sizes(case: list[str]) -> None:
    """Read sizes in one text."""
    if len(case) == 2 and case[1] in FORMS:
        with suppress(UnitError):  # which the reader of the table tells with the place of the cell
            read_sizes(*case)


TARGETS = (
    Target("table of parts", make, tries, 2.0),
    Target("catalogue", make_catalogue, tries_catalogue),
    Target("sizes in a text", make_sizes, tries_sizes, 0.4),
)
