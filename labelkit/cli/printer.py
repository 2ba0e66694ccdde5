"""`labelkit printer`: how true a printer prints, and what makes it true."""

from __future__ import annotations

import io
import json
from dataclasses import dataclass
from datetime import date
from decimal import Decimal
from pathlib import Path
from typing import Any

import click

from labelkit.calc.printscale import SECOND_MM, check_scale, is_true
from labelkit.cli.options import DEFAULT_PAPER, language_option
from labelkit.errors import InputError, LabelkitError, NotFoundError, UsageError
from labelkit.language import speaking
from labelkit.load.stock import find_stock
from labelkit.model.media import Paper, floats
from labelkit.model.printer import CHECK_MM, CheckReading, orientation, printer_name
from labelkit.store.files import replace_file
from labelkit.store.printers import (
    confirm_reading,
    find_reading,
    keep_reading,
    no_printer,
    printers_file,
    read_printers,
)
from labelkit.units import Quantity, UnitError, parse

# What a command answers: as data and as words.
Answer = tuple[dict[str, Any], str]


@dataclass(frozen=True, slots=True)
class _Page:
    """A paper and how it lies."""

    paper: Paper
    landscape: bool

    @property
    def words(self) -> str:
        return f"{self.paper.name} {orientation(self.landscape)}"

    @property
    def options(self) -> str:
        return f"--paper {self.paper.name}" + " --landscape" * self.landscape


@click.command()
@click.argument("name", required=False)
@click.option("--paper", metavar="NAME", help=f"Paper, by name or file.  [default: {DEFAULT_PAPER}]")
@click.option("--landscape", is_flag=True, help="The page lies on its long side.")
@click.option("--sheet", type=click.Path(path_type=Path), metavar="FILE", help="Write the check sheet, .pdf or .svg.")
@click.option("--read", nargs=2, metavar="X Y", help="Keep what the crosses of the check sheet read.")
@click.option("--again", nargs=2, metavar="X Y", help="Judge what the crosses of the second sheet read.")
@click.option("--scan", type=click.Path(path_type=Path), metavar="FILE", help="Measure a flatbed scan of either sheet.")
@click.option(
    "--dpi", metavar="N", type=click.FloatRange(72, 4800), help="Dots per inch of the scan; default: as its file says."
)
@click.option("--json", "as_json", is_flag=True, help="Print as JSON.")
@language_option
def printer(
    name: str | None,
    paper: str | None,
    landscape: bool,
    sheet: Path | None,
    read: tuple[str, str] | None,
    again: tuple[str, str] | None,
    scan: Path | None,
    dpi: float | None,
    as_json: bool,
    language: str,
) -> None:
    """Print the check sheet, keep what it reads, and list what is kept of printers.

    Every printer is a little off, by axis, paper and page orientation. Print the check sheet, measure its crosses with
    a caliper and type the two readings; they are kept in printers.yaml in the shop's folder. With NAME, --sheet writes
    the second sheet, corrected for that printer, which must read 140.0 mm to 0.2 mm.

    \b
    Example: labelkit printer --sheet check.pdf --paper a4
             labelkit printer laser-2 --paper a4 --read 139.45 140.40
             labelkit printer laser-2 --paper a4 --sheet check.pdf
             labelkit printer laser-2 --paper a4 --again 140.05 139.95
    """
    if name is not None:
        printer_name(name)
    asked = {"--sheet": sheet, "--read": read, "--again": again, "--scan": scan}
    given = [option for option, value in asked.items() if value]
    if len(given) > 1:
        raise UsageError(f"{' and '.join(given)}: allowed: one of them at a time")
    if dpi and not scan:
        raise UsageError("--dpi is that of a scan; allowed: with --scan FILE")
    if (paper or landscape) and not given:
        raise UsageError(f"{'--paper' if paper else '--landscape'} alone does nothing; add --sheet, --read or --again")
    page = _Page(find_stock(paper or DEFAULT_PAPER, ("paper",)), landscape)
    if sheet:
        answer = _sheet(name, page, sheet, language)
    elif read:
        answer = _keep(_named(name, "--read"), page, _lengths("--read", read))
    elif again:
        answer = _confirm(_named(name, "--again"), page, _lengths("--again", again))
    elif scan:
        answer = _scan(name, scan, dpi, paper and page.paper.name, landscape)
    else:
        answer = _list(name)
    click.echo(json.dumps(answer[0], indent=1, ensure_ascii=False) if as_json else answer[1])


def _named(name: str | None, option: str) -> str:
    if name is None:
        raise UsageError(f"{option}: of which printer? Allowed: labelkit printer NAME {option} X Y")
    return name


def _lengths(option: str, texts: tuple[str, str]) -> tuple[Quantity, Quantity]:
    try:
        x, y = (parse(text, "length", "mm") for text in texts)
    except UnitError as error:
        raise UsageError(f"{option}: {error}; allowed: the two readings in mm, as in 139.45 140.40") from error
    return x, y


def _sheet(name: str | None, page: _Page, file: Path, language: str) -> Answer:
    from labelkit.render import write  # fonts and the PDF writer load only for who prints
    from labelkit.sheets.printersheet import check_sheet

    factors = None
    title, then = "check sheet", f"labelkit printer NAME {page.options} --read X Y"
    if name is not None:
        factors = find_reading(name, page.paper.name, landscape=page.landscape).factors
        title, then = f"second check sheet of {name}", f"labelkit printer {name} {page.options} --again X Y"
    stream = io.BytesIO()
    with speaking(language):
        drawn = check_sheet(page.paper, landscape=page.landscape, printer=name, factors=factors)
    write([drawn], file.suffix, stream, title=f"{title}, {page.words}")
    replace_file(file, stream.getvalue())
    data = {"file": str(file), "printer": name, "paper": page.paper.name, "page": orientation(page.landscape)}
    return data, f"{file}: {title} for {page.words}. Print it at 100 %, measure it, then: {then}"


def _keep(name: str, page: _Page, read: tuple[Quantity, Quantity]) -> Answer:
    check_scale(*floats(read), paper=page.paper.name, size=page.paper.size_mm)
    reading = CheckReading(read=read, measured=date.today())
    file = keep_reading(name, page.paper.name, landscape=page.landscape, reading=reading)
    words = (
        f"{name} on {page.words}: factors {reading.factors}, kept in {file}. Now print the second sheet: "
        f"labelkit printer {name} {page.options} --sheet check.pdf"
    )
    return _data(name, page.paper.name, page.landscape, reading), words


def _confirm(name: str, page: _Page, read: tuple[Quantity, Quantity]) -> Answer:
    find_reading(name, page.paper.name, landscape=page.landscape)  # says so when there is none
    x, y = floats(read)
    check_scale(x, y, paper=page.paper.name, size=page.paper.size_mm)
    if not is_true(x, y):
        raise LabelkitError(
            f"{name} on {page.words}: the second sheet reads {x:.2f} and {y:.2f} mm; allowed: {CHECK_MM:.1f} mm to "
            f"{SECOND_MM:g} mm. Measure it once more, or begin anew with labelkit printer {page.options} "
            "--sheet check.pdf"
        )
    confirm_reading(name, page.paper.name, landscape=page.landscape, today=date.today())
    reading = find_reading(name, page.paper.name, landscape=page.landscape)
    words = f"{name} on {page.words}: true, {x:.2f} and {y:.2f} mm, with factors {reading.factors}"
    return _data(name, page.paper.name, page.landscape, reading), words


def _scan(name: str | None, file: Path, dpi: float | None, paper: str | None, landscape: bool) -> Answer:
    from labelkit.proof.checksheet import read_check_sheet  # numpy and the decoder load only for scans

    found = read_check_sheet(file, dpi=dpi)
    mark = found.mark
    if paper not in (None, mark.paper) or (landscape and not mark.landscape):
        asked = f"{paper or mark.paper} {orientation(landscape)}"
        raise UsageError(f"{file}: is the sheet of {mark.paper} {orientation(mark.landscape)}, not of {asked}")
    read = [Quantity(Decimal(f"{each:.2f}"), "mm") for each in (found.x_mm, found.y_mm)]
    said = f"{file}: {mark.paper} {orientation(mark.landscape)}, x {read[0]}, y {read[1]}"
    if name is None:
        data = {
            "file": str(file),
            "paper": mark.paper,
            "page": orientation(mark.landscape),
            "drawn_for": mark.printer,
            "read_mm": [float(each.value) for each in read],
        }
        return data, said
    if found.drawn:
        raise InputError(f"{file}: is the sheet as it was drawn; allowed: a scan of its print")
    page = _Page(find_stock(mark.paper, ("paper",)), mark.landscape)
    if mark.printer is None:
        data, words = _keep(name, page, (read[0], read[1]))
        return data, f"{said}\n{words}"
    if mark.printer != name:
        raise UsageError(f"{file}: is the second sheet of the printer {mark.printer}, not of {name}")
    kept = find_reading(name, mark.paper, landscape=mark.landscape).factors
    if str(kept) != str(mark.factors):
        raise InputError(
            f"{file}: was drawn with factors {mark.factors}, now kept: {kept}; print the second sheet anew"
        )
    data, words = _confirm(name, page, (read[0], read[1]))
    return data, f"{said}\n{words}"


def _list(name: str | None) -> Answer:
    printers = read_printers()
    if name is not None and name not in printers:
        raise NotFoundError(no_printer(name, printers))
    rows = [
        _data(printer, paper, page == "landscape", reading)
        for printer, papers in sorted(printers.items())
        if name in (None, printer)
        for paper, pages in sorted(papers.items())
        for page, reading in pages.items()
    ]
    lines = [
        f"{row['printer']:16} {row['paper']:8} {row['page']:9}  x {row['factors'][0]:.4f}  y {row['factors'][1]:.4f}  "
        + f"measured {row['measured']}, "
        + (f"confirmed {row['confirmed']}" if row["confirmed"] else "second sheet not measured yet")
        for row in rows
    ]
    nothing = "no printer was measured yet; begin with: labelkit printer --sheet check.pdf"
    return {"file": str(printers_file()), "printers": rows}, "\n".join(lines) or nothing


def _data(name: str, paper: str, landscape: bool, reading: CheckReading) -> dict[str, Any]:
    return {
        "printer": name,
        "paper": paper,
        "page": orientation(landscape),
        "read_mm": [float(each.mm) for each in reading.read],
        "factors": [reading.factors.x, reading.factors.y],
        "measured": reading.measured.isoformat(),
        "confirmed": reading.confirmed.isoformat() if reading.confirmed else None,
    }
