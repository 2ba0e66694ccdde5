"""`labelkit proof`: read a printed or scanned sheet back and measure it."""

from __future__ import annotations

import json
from collections import Counter
from collections.abc import Iterator
from dataclasses import dataclass
from math import isnan
from pathlib import Path
from typing import Any

import click

from labelkit.calc.printscale import SECOND_MM
from labelkit.errors import UsageError
from labelkit.model.printer import CHECK_MM
from labelkit.proof.checksheet import is_drawn
from labelkit.proof.compare import Expected, PageReadings, ProofReport, compare
from labelkit.proof.crosses import CheckCrosses, find_crosses
from labelkit.proof.decode import Reading, merged, read_symbols
from labelkit.proof.raster import Picture, read_pictures
from labelkit.proof.rescue import rescued
from labelkit.sheets.manifest import MANIFEST, expected_symbols, read_manifest


@dataclass(frozen=True, slots=True)
class _Ruler:
    """A page that is measured by its check crosses; `drawn`: a file of ours, no scan."""

    name: str
    crosses: CheckCrosses
    drawn: bool

    @property
    def passed(self) -> bool:
        return self.drawn or (self.crosses.true and self.crosses.flat)


@click.command()
@click.argument("files", nargs=-1, required=True, type=click.Path(path_type=Path), metavar="FILE...")
@click.option("--kit", "folder", type=click.Path(path_type=Path), help="The kit's folder; default: the file's own.")
@click.option("--dpi", type=click.FloatRange(72, 2400), default=300.0, show_default=True, help="Dots per inch for PDF.")
@click.option("--json", "as_json", is_flag=True, help="Print as JSON.")
def proof(files: tuple[Path, ...], folder: Path | None, dpi: float, as_json: bool) -> None:
    """Decode every symbol of PDF files or scans, compare with the kit, and measure the true scale.

    Pages with check crosses, as the check sheet and trays have them, are measured by these, without a kit too.

    \b
    Example: labelkit proof kit/labels.pdf --dpi 203
    """
    if isnan(dpi):  # lies between any two bounds
        raise UsageError("--dpi nan; allowed: a number from 72 to 2400")
    expected = _expected(files, folder)
    texts = {symbol.text for symbol in expected or ()}
    pages: list[PageReadings] = []
    rulers: list[_Ruler] = []
    for file in files:
        for picture in read_pictures(file, dpi=dpi):
            name = f"{picture.name} page {picture.page}"
            found = read_symbols(picture.pixels, thorough=False)
            if crosses := _crosses(picture, found, texts):
                rulers.append(_Ruler(name, crosses, is_drawn(file)))
            elif expected is None:
                raise UsageError(
                    f"there is no {MANIFEST} beside {files[0]}; name the kit's folder with --kit "
                    "(without it only pages with check crosses are measured)"
                )
            else:
                pages.append(PageReadings(name, _readings(picture, found, texts), picture.dpi))
    if rulers and not any(page.readings for page in pages):
        pages = []  # pages of a tray, of which not all have crosses
    report = compare(pages, expected or () if pages else ())
    if as_json:
        click.echo(json.dumps(_data(report, rulers), indent=1, ensure_ascii=False))
    else:
        for line in (*_ruler_lines(rulers), *(_lines(report, pages) if pages else ())):
            click.echo(line)
    if not (report.passed and all(ruler.passed for ruler in rulers)):
        raise click.exceptions.Exit(1)


def _expected(files: tuple[Path, ...], folder: Path | None) -> list[Expected] | None:
    """Return what the kit says should be on the sheets; a folder that is not named is the first file's own.

    None where there is no kit: pages with check crosses are measured without one.
    """
    beside = files[0].parent
    if folder is None and not (beside / MANIFEST).is_file():
        return None
    places = expected_symbols(read_manifest(folder or beside))
    return [Expected(place.page, place.text, place.x_mm, place.y_mm, place.side_mm) for place in places]


def _crosses(picture: Picture, found: list[Reading], texts: set[str]) -> CheckCrosses | None:
    """Measure a page that has check crosses and no symbol of the kit."""
    if picture.dpi is None or any(reading.text in texts for reading in found):
        return None
    return find_crosses(picture.pixels, picture.dpi)


def _readings(picture: Picture, found: list[Reading], texts: set[str]) -> list[Reading]:
    """Return what was read the quick way, and by all means where something of a page is missing or unknown."""
    if found and all(reading.text in texts for reading in found) and picture.dpi and picture.name.endswith(".pdf"):
        return found
    found = merged(found, read_symbols(picture.pixels, thorough=True))
    return merged(found, rescued(picture.pixels, accept=texts.__contains__, known=found))


def _ruler_lines(rulers: list[_Ruler]) -> Iterator[str]:
    for ruler in rulers:
        crosses = ruler.crosses
        if crosses.true:
            answer = "true to scale" if crosses.flat else "NOT A FLAT SCAN: the crosses stand askew"
        elif ruler.drawn:
            answer = "drawn for a printer with this error; scan its print to see whether that is true"
        else:
            answer = f"NOT TRUE: allowed {CHECK_MM:.1f} mm to {SECOND_MM:g} mm; see labelkit printer --help"
        yield (
            f"{ruler.name}: crosses {crosses.x_mm:.2f} x {crosses.y_mm:.2f} mm, "
            f"scale x {crosses.scale_x:.4f} y {crosses.scale_y:.4f}; {answer}"
        )


def _lines(report: ProofReport, pages: list[PageReadings]) -> Iterator[str]:
    for number, page in enumerate(report.pages):
        here = [symbol for symbol in report.decoded if symbol.picture == number]
        line = f"{page.name}: {len(here)} symbols read"
        if here:
            dots = sorted(symbol.module_dots for symbol in here)
            grades = Counter(symbol.grade for symbol in here)
            line += f", module {dots[0]:.1f} to {dots[-1]:.1f} dots, contrast " + ", ".join(
                f"{grade} x {count}" for grade, count in sorted(grades.items())
            )
        if page.fit:
            line += f", scale x {page.fit.scale_x:.4f} y {page.fit.scale_y:.4f}"
        if page.page is None:
            line += "; this page is not of the kit"
        yield line
    yield from (f"MISSING page {symbol.page}: {symbol.text}" for symbol in report.missing)
    yield from (
        f"WRONG {pages[wrong.picture].name}: {wrong.found}, not {wrong.expected.text}" for wrong in report.wrong
    )
    yield from (f"EXTRA {pages[extra.picture].name}: {extra.text}" for extra in report.extra)
    answer = "every symbol is right" if report.passed else "NOT RIGHT"
    failed = f"{len(report.missing)} missing, {len(report.wrong)} wrong, {len(report.extra)} extra"
    yield f"{len(report.decoded)} read, {failed}: {answer}"


def _data(report: ProofReport, rulers: list[_Ruler]) -> dict[str, Any]:
    return {
        "passed": report.passed and all(ruler.passed for ruler in rulers),
        "scale": {"x": report.scale_x, "y": report.scale_y},
        "pages": [
            {
                "name": page.name,
                "page": page.page,
                "scale_x": page.fit.scale_x if page.fit else None,
                "scale_y": page.fit.scale_y if page.fit else None,
            }
            for page in report.pages
        ],
        "crosses": [
            {
                "name": ruler.name,
                "x_mm": round(ruler.crosses.x_mm, 3),
                "y_mm": round(ruler.crosses.y_mm, 3),
                "scale_x": ruler.crosses.scale_x,
                "scale_y": ruler.crosses.scale_y,
                "drawn": ruler.drawn,
                "passed": ruler.passed,
            }
            for ruler in rulers
        ],
        "decoded": [
            {
                "text": symbol.expected.text,
                "page": symbol.expected.page,
                "module_dots": round(symbol.module_dots, 3),
                "contrast": round(symbol.contrast, 1),
                "grade": symbol.grade,
                "off_mm": None if symbol.off_mm is None else round(symbol.off_mm, 3),
                "how": symbol.reading.how,
            }
            for symbol in report.decoded
        ],
        "missing": [{"text": symbol.text, "page": symbol.page} for symbol in report.missing],
        "wrong": [{"expected": wrong.expected.text, "found": wrong.found} for wrong in report.wrong],
        "extra": [extra.text for extra in report.extra],
    }
