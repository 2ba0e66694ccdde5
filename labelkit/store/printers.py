"""The shop's printers: what their check sheets read, in the file `printers.yaml` of the shop's folder.

The file lies beside the shop's own `layouts` and `unit_profiles`: in the folder that LABELKIT_SHOP names, else in the
working folder. It is written whole or not at all.
"""

from __future__ import annotations

from collections.abc import Iterable
from datetime import date
from pathlib import Path
from typing import Final

from labelkit.datafiles import shop_folder
from labelkit.errors import InputErrors, NotFoundError, allowed_text
from labelkit.load.validate import validate
from labelkit.load.yamltree import parse, read_file
from labelkit.model.printer import CheckReading, Factors, Orientation, PrinterFile, Readings, orientation
from labelkit.store.files import replace_file
from labelkit.units import Quantity

_FILE: Final = "printers.yaml"
_HEAD: Final = """\
# Printers, by what their check sheets read; written by `labelkit printer`, which keeps no other comments.
#
#   read       distances of the check crosses along x and y of the page, mm; 140 on a true print
#   measured   the day of it
#   confirmed  the day on which a corrected print was found true
format: 1
printers:
"""


def printers_file() -> Path:
    """Return where the file is, or will be.

    Raises:
        UsageError: the shop's folder is named but not there.
    """
    return shop_folder() / _FILE


def read_printers() -> dict[str, Readings]:
    """Return all readings by printer, paper and page orientation; none when nothing was kept yet.

    Raises:
        InputError: the file cannot be read, or has faults (`InputErrors` holds all of them).
        UsageError: the shop's folder is named but not there.
    """
    path = printers_file()
    if not path.exists():
        return {}
    tree = parse(read_file(path), str(path))
    file, problems = validate(tree, PrinterFile, {})
    if file is None or problems:
        raise InputErrors(problems)
    return file.printers


def no_printer(name: str, printers: Iterable[str]) -> str:
    """Return the sentence that there is no printer of this name, and which there are."""
    names = sorted(printers)
    allowed = allowed_text(name, names, most=40) if names else "none was measured yet"
    end = "" if allowed.endswith("?") else "."
    return f'there is no printer named "{name}" in {printers_file()}; {allowed}{end}'


def find_reading(name: str, paper: str, *, landscape: bool) -> CheckReading:
    """Return what was kept of a printer for this paper and page orientation.

    Raises:
        NotFoundError: no such printer, or not measured so; says what there is and what to run.
        InputError: the file cannot be read.
    """
    printers = read_printers()
    page = orientation(landscape)
    turned = " --landscape" * landscape
    run = (
        f"print the check sheet, `labelkit printer --sheet check.pdf --paper {paper}{turned}`, measure it, "
        f"and run `labelkit printer NAME --paper {paper}{turned} --read X Y`"
    )
    if name not in printers:
        unknown = no_printer(name, printers)
        raise NotFoundError(unknown if unknown.endswith("?") else f"{unknown} To add one, {run}")
    found = printers[name].get(paper, {}).get(page)
    if found is None:
        known = ", ".join(f"{paper} {page}" for paper, pages in sorted(printers[name].items()) for page in pages)
        raise NotFoundError(
            f"the printer {name} was not measured on {paper} {page}; measured: {known}. Each paper and page "
            f"orientation has its own scale: {run.replace('NAME', name)}"
        )
    return found


def find_factors(name: str, paper: str, landscape: bool) -> Factors:
    """Return what makes a printer's prints true on this paper and page orientation; errors as for `find_reading`."""
    return find_reading(name, paper, landscape=landscape).factors


def keep_reading(name: str, paper: str, *, landscape: bool, reading: CheckReading) -> Path:
    """Keep a reading in place of an earlier one of the same printer, paper and page orientation.

    Args:
        name: what the shop calls the printer: up to 48 of a-z, 0-9 and -.
        paper: name of the paper.
        landscape: the page lay on its long side.
        reading: what was read, and when.

    Returns:
        The file that holds it now.

    Raises:
        InputError: the present file cannot be read; it is left as it is.
        OutputError: it cannot be written; it is as it was.
    """
    printers = read_printers()
    papers = printers.get(name, {})
    papers = {**papers, paper: {**papers.get(paper, {}), orientation(landscape): reading}}
    path = printers_file()
    replace_file(path, _text({**printers, name: papers}).encode())
    return path


def confirm_reading(name: str, paper: str, *, landscape: bool, today: date) -> Path:
    """Note that a corrected print was found true; arguments and errors as for `find_reading` and `keep_reading`."""
    reading = find_reading(name, paper, landscape=landscape).model_copy(update={"confirmed": today})
    return keep_reading(name, paper, landscape=landscape, reading=reading)


def _text(printers: dict[str, Readings]) -> str:
    lines = []
    for name, papers in sorted(printers.items()):
        lines.append(f"  {name}:")
        for paper, pages in sorted(papers.items()):
            lines.append(f"    {paper}:")
            order: tuple[Orientation, ...] = ("portrait", "landscape")
            lines += [f"      {page}: {_line(pages[page])}" for page in order if page in pages]
    return _HEAD + "\n".join([*lines, ""])


def _line(reading: CheckReading) -> str:
    fields = [f"read: [{_length(reading.read[0])}, {_length(reading.read[1])}]", f"measured: {reading.measured}"]
    if reading.confirmed:
        fields.append(f"confirmed: {reading.confirmed}")
    return "{" + ", ".join(fields) + "}"


def _length(quantity: Quantity) -> str:
    return str(quantity.value) if quantity.unit == "mm" else str(quantity)
