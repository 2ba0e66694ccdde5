"""`labelkit proof`: read printed or scanned sheets back and measure them."""

from __future__ import annotations

import json
from collections import Counter
from contextlib import ExitStack
from functools import lru_cache
from math import isnan
from pathlib import Path
from typing import Final

import click

from labelkit.cli.progress import page_count, watched
from labelkit.cli.prooftext import Judged, Ruler, all_passed, proof_data, proof_lines
from labelkit.errors import LabelkitError, UsageError
from labelkit.proof.checksheet import is_drawn
from labelkit.proof.compare import PageReadings, compare
from labelkit.proof.crosses import CheckCrosses, find_crosses
from labelkit.proof.decode import Reading, merged, read_symbols
from labelkit.proof.firstlook import may_hold_symbols
from labelkit.proof.raster import Picture, read_pictures
from labelkit.proof.rescue import rescued
from labelkit.sheets.lookup import Lookup
from labelkit.sheets.manifest import MANIFEST
from labelkit.sheets.printed import PrintedKit, has_kit, read_kit
from labelkit.store.jobs import open_store

# Files of a kit that are no prints.
_NO_PRINTS: Final = (".csv", ".html", ".json", ".svg")


@click.command()
@click.argument("files", nargs=-1, required=True, type=click.Path(path_type=Path), metavar="FILE...")
@click.option(
    "--kit",
    "folder",
    metavar="FOLDER",
    type=click.Path(path_type=Path),
    help="The kit's folder; default: each file's own.",
)
@click.option(
    "--dpi",
    metavar="N",
    type=click.FloatRange(72, 2400),
    default=300.0,
    show_default=True,
    help="Dots per inch for PDF.",
)
@click.option("--json", "as_json", is_flag=True, help="Print as JSON.")
def proof(files: tuple[Path, ...], folder: Path | None, dpi: float, as_json: bool) -> None:
    """Decode every symbol of PDF files or scans, compare with the kit, and measure the true scale.

    A scan may show some of the pages; the others are named. Labels that are off by more than 1.5 percent were scaled
    by the print dialog and do not pass; less may be the printer's own error, which is told: labels bear it by their
    blank border. Pages with check crosses, as the check sheet and trays have them, are measured by these, without a kit
    too, and must be true to 0.2 mm in 140.

    \b
    Example: labelkit proof kit/labels.pdf --dpi 203
    """
    if isnan(dpi):  # lies between any two bounds
        raise UsageError("--dpi nan; allowed: a number from 72 to 2400")
    found = _Found(_kits(files, folder))
    skipped = [file for file in files if _is_no_print(file)]
    prints = [file for file in files if file not in skipped]
    pictures = ((file, picture) for file in prints for picture in read_pictures(file, dpi=dpi))
    for file, picture in watched(pictures, label="Reading pages", length=lambda: sum(map(page_count, prints))):
        found.add(file, picture)
    with ExitStack() as stack:
        judged = _judged(found, stack)
        if as_json:
            told = json.dumps(proof_data(judged, found.rulers), indent=1, ensure_ascii=False)
        else:
            told = "\n".join(proof_lines(judged, found.rulers, found.blank, map(str, skipped)))
    click.echo(told)
    if not all_passed(judged, found.rulers):
        raise click.exceptions.Exit(1)


def _kits(files: tuple[Path, ...], folder: Path | None) -> dict[Path, PrintedKit | None]:
    """Return what each file is held against: the kit that was named, that of its own folder, or the first of those.

    None where there is no kit at all: pages with check crosses are measured without one.
    """
    if folder is not None:
        return dict.fromkeys(files, read_kit(folder))
    read = {parent: read_kit(parent) for parent in dict.fromkeys(file.parent for file in files) if has_kit(parent)}
    return {file: read.get(file.parent) or next(iter(read.values()), None) for file in files}


class _Found:
    """Pages of all files by what they are.

    Attributes:
        pages: of labels and of stickers, by the kit they are held against and which of the two they are.
        rulers: pages with check crosses.
        blank: (file, page) of pages of ours without a symbol and without crosses.
        whole: the same of those that come from a file of ours, which has all pages.
    """

    def __init__(self, kits: dict[Path, PrintedKit | None]) -> None:
        self.kits = kits
        self.pages: dict[tuple[Path, str], list[PageReadings]] = {}
        self.rulers: list[Ruler] = []
        self.blank: list[tuple[str, int]] = []
        self.whole: set[tuple[Path, str]] = set()
        self._drawn = lru_cache(None)(is_drawn)
        self._alike: dict[tuple[Path, tuple[int, ...]], CheckCrosses] = {}

    def add(self, file: Path, picture: Picture) -> None:
        """Read a page; first what is cheap.

        Raises:
            UsageError: it needs a kit to be held against, and there is none.
        """
        kit, drawn = self.kits[file], self._drawn(file)
        read = read_symbols(picture.pixels, thorough=False)
        if crosses := self._crosses(file, picture, read):
            self.rulers.append(Ruler(picture.name, picture.page, crosses, drawn))
        elif drawn and not read:
            self.blank.append((picture.name, picture.page))
        elif kit is None:
            raise UsageError(
                f"there is no {MANIFEST} beside {file}; name the kit's folder with --kit "
                "(without it only pages with check crosses are measured)"
            )
        else:
            readings = read if drawn else _by_all_means(picture, read, kit)
            sheet = kit.sheet_of(reading.text for reading in readings)
            page = PageReadings(f"{picture.name} page {picture.page}", readings, picture.dpi)
            self.pages.setdefault((sheet.file, sheet.what), []).append(page)
            if drawn:
                self.whole.add((sheet.file, sheet.what))

    def _crosses(self, file: Path, picture: Picture, read: list[Reading]) -> CheckCrosses | None:
        """Measure a page that has check crosses and no symbol of the kit."""
        kit, key = self.kits[file], (file, picture.pixels.shape)
        if picture.dpi is None or any(kit and reading.text in kit.texts for reading in read):
            return None
        # All pages of one size in a file of ours were drawn with the same factors.
        if self._drawn(file) and not read and key in self._alike:
            return self._alike[key]
        found = find_crosses(picture.pixels, picture.dpi)
        if found is not None:
            self._alike[key] = found
        return found


def _judged(found: _Found, stack: ExitStack) -> list[Judged]:
    """Hold the pages of labels against their kits."""
    sheets = {(sheet.file, sheet.what): sheet for kit in found.kits.values() if kit for sheet in kit.sheets}
    whose = _Whose(list(sheets.values()), stack)
    judged = []
    for key, pages in found.pages.items():
        # Of the pages of a tray not all have crosses.
        if not (found.rulers and not any(page.readings for page in pages)):
            report = compare(pages, sheets[key].expected)
            judged.append(Judged(sheets[key], pages, report, whole=key in found.whole, whose=whose.words))
    return judged


def _is_no_print(file: Path) -> bool:
    return file.suffix.lower() in _NO_PRINTS and has_kit(file.parent) and file.is_file()


def _by_all_means(picture: Picture, read: list[Reading], kit: PrintedKit) -> list[Reading]:
    """Return what can be read of a scan: what was read the quick way where that is all of a page."""
    texts = Counter(reading.text for reading in read)
    sheet = kit.sheet_of(texts)
    for page in {symbol.page for symbol in sheet.expected if symbol.text in texts}:
        if texts == Counter(symbol.text for symbol in sheet.expected if symbol.page == page):
            return read
    read = merged(read, read_symbols(picture.pixels, thorough=True))
    if not read and not may_hold_symbols(picture.pixels):
        return []
    return merged(read, rescued(picture.pixels, accept=kit.texts.__contains__, known=read))


class _Whose:
    """Says of which job a symbol is that is not of the kit it was held against; the store is opened when asked."""

    def __init__(self, kits: list[PrintedKit], stack: ExitStack) -> None:
        self._kits, self._stack = kits, stack
        self._lookup: Lookup | None = None
        self._asked = False

    def words(self, text: str) -> str:
        """Return `job 3`, or nothing when nobody knows."""
        for kit in self._kits:
            if text in kit.steps:
                return f"job {kit.job}"
        if not self._asked:
            self._asked = True
            try:
                self._lookup = Lookup(self._stack.enter_context(open_store(create=False)))
            except LabelkitError:
                return ""
        try:
            return f"job {self._lookup.job_of(text).number}" if self._lookup else ""
        except LabelkitError:
            return ""
