"""`labelkit import`: a profile from a table of parts, and such a table from a profile."""

from __future__ import annotations

import json
import re
from collections.abc import Iterator
from pathlib import Path
from typing import Any, Final

import click

from labelkit.cli.newfile import given_header, header_options, write_new
from labelkit.cli.options import counted
from labelkit.errors import InputErrors, Problem, UsageError
from labelkit.language import LANGUAGES
from labelkit.load.exporting import parts_csv, template_csv
from labelkit.load.importing import ImportedTable, Line, import_parts
from labelkit.load.partheadings import read_mapping
from labelkit.load.profile import LoadedProfile, load_profile
from labelkit.load.starting import header_fault
from labelkit.load.table import read_table
from labelkit.load.textfile import shown_path
from labelkit.load.writer import profile_yaml
from labelkit.load.yamltree import read_file
from labelkit.model.catalogue import DecimalSign

_NOT_SAID: Final = {"mark": "XX", "name": "NOT SAID", "up": "NOT SAID"}  # of a dry run, which writes nothing
_LANGUAGES: Final = ", ".join(LANGUAGES.values())
_WIDEST: Final = 44  # letters of a column on the screen


@click.command("import", epilog=f"Headings may be in any of these: {_LANGUAGES}.")
@click.argument("file", required=False, metavar="[FILE.csv]", type=click.Path(path_type=Path))
@click.option(
    "--mapping",
    metavar="FILE",
    type=click.Path(path_type=Path),
    help="YAML file with lines HEADING: COLUMN for your own words.",
)
@click.option("--decimal", type=click.Choice([".", ","]), help="Decimal sign, where the figures do not show it.")
@click.option("--onto", metavar="PROFILE", help="Profile that has what the table has not; its parts are replaced.")
@click.option("--dry-run", is_flag=True, help="Write nothing; show the table as it is understood, and every doubt.")
@click.option(
    "--out", metavar="FILE", type=click.Path(path_type=Path), help="File to write; else FILE.yaml. Never overwritten."
)
@click.option("--template", is_flag=True, help="Print an empty table; with --onto, the table of that profile.")
@click.option("--delimiter", type=click.Choice([",", ";", "tab"]), default=",", help="Of the table that is printed.")
@click.option("--json", "as_json", is_flag=True, help="Print the dry run as JSON.")
@header_options
def import_(
    file: Path | None,
    mapping: Path | None,
    decimal: DecimalSign | None,
    onto: str | None,
    dry_run: bool,
    out: Path | None,
    template: bool,
    delimiter: str,
    as_json: bool,
    **header: str | None,
) -> None:
    """Make a unit profile from a table of parts, one line each, as a spreadsheet saves it (CSV, UTF-8).

    Sizes stand in columns or as 72 x 50 x 2.6. Look at --dry-run first.

    \b
    Example: labelkit import --template --out parts.csv
             labelkit import parts.csv --dry-run
             labelkit import parts.csv --mark KR2 --name "Two-stage reducer" --up "input side"
    """
    base = load_profile(onto) if onto is not None else None
    if template:
        if file is not None or dry_run or as_json:
            raise UsageError("--template prints a table and reads none; leave out FILE, --dry-run and --json")
        _print_table(base, "\t" if delimiter == "tab" else delimiter, decimal or ".", out)
        return
    if file is None:
        raise UsageError("name a CSV file, or print a --template to fill in")
    if as_json and not dry_run:
        raise UsageError("--json belongs to --dry-run")
    given = given_header(header)
    if base is not None and given:
        raise UsageError(f"--onto {onto}: that profile has a header; leave out mark, name and the like")
    said = given if base else _header(file, given, dry_run)
    words = read_mapping(read_file(mapping, shown_path(mapping)), shown_path(mapping)) if mapping else None
    data, shown = read_table(file)
    found = import_parts(data, shown, said, decimal=decimal, mapping=words, onto=base)
    if dry_run:
        _show(found, as_json)
        return
    for doubt in found.doubts:
        click.echo(f"look at {doubt}", err=True)
    if found.profile is None:
        raise InputErrors(found.faults)
    path = out or file.with_suffix(".yaml")
    write_new(path, profile_yaml(found.profile, heading=f"From {file.name}."))
    click.echo(f"{path}: written, {len(found.lines)} parts; labelkit check --hints {path} says what is open", err=True)


def _header(file: Path, given: dict[str, str], dry_run: bool) -> dict[str, str]:
    """Return the header as it was given; mark and name that were not are taken from the file's name, and told."""
    if dry_run:
        return _NOT_SAID | given
    named = {"mark": re.sub("[^A-Z0-9-]+", "", file.stem.upper())[:8], "name": file.stem}
    usual = {key: text for key, text in named.items() if key not in given and header_fault(key, text) is None}
    said = usual | given
    if missing := [f"--{field}" for field in _NOT_SAID if field not in said]:
        example = 'as in --mark KR2 --name "Two-stage reducer" --up "input side"'
        raise UsageError(f"give {', '.join(missing)}, {example}; or name a profile with --onto")
    if usual:
        shown = ", ".join(f"{field} {text}" for field, text in usual.items())
        click.echo(f"from the file's name: {shown}; --mark and --name say others", err=True)
    return said


def _print_table(base: LoadedProfile | None, delimiter: str, decimal: DecimalSign, out: Path | None) -> None:
    if base is None:
        table = template_csv(delimiter=delimiter, decimal=decimal)
    else:
        table = parts_csv(base.profile, delimiter=delimiter, decimal=decimal)
    if out is not None:
        write_new(out, table)
        click.echo(f"{out}: written", err=True)
        return
    click.echo(table, nl=False)


def _show(found: ImportedTable, as_json: bool) -> None:
    if as_json:
        click.echo(json.dumps(_data(found), indent=2, ensure_ascii=False))
    else:
        for text in _table(found):
            click.echo(text)
        for fault in found.faults:
            click.echo(str(fault), err=True)
    if found.faults:
        raise click.exceptions.Exit(1)


def _data(found: ImportedTable) -> dict[str, Any]:
    def told(problems: tuple[Problem, ...]) -> list[dict[str, Any]]:
        return [{"line": p.line, "column": p.column, "field": p.path, "message": p.message} for p in problems]

    return {
        "columns": dict(found.columns),
        "ignored": list(found.ignored),
        "parts": [{"line": line.row.line, "in": line.within} | line.data for line in found.lines],
        "doubts": told(found.doubts),
        "faults": told(found.faults),
    }


def _table(found: ImportedTable) -> Iterator[str]:
    """Yield the table as it is understood, what was read from which column, and the doubts."""
    heads = ("line", "part", "in", "qty", "name", "form and sizes", "more")
    rows = [heads, *(_cells(line) for line in found.lines)]
    widths = [min(_WIDEST, max(len(row[k]) for row in rows)) for k in range(len(heads) - 1)]
    for row in rows:
        cells = [_cut(text).ljust(width) for text, width in zip(row, widths, strict=False)]
        yield "  ".join([*cells, row[-1]]).rstrip()
    yield ""
    yield f"read: {', '.join(name if said == name else f'{said} as {name}' for name, said in found.columns.items())}"
    yield from (f"look at {doubt}" for doubt in found.doubts)
    counts = ((found.lines, "part"), (found.doubts, "doubt"), (found.faults, "fault"))
    yield f"{', '.join(counted(len(of), one) for of, one in counts)}; nothing is written"


def _cells(line: Line) -> tuple[str, ...]:
    data = line.data
    form = "".join(f"{kind} {_flat(sizes)}" for kind, sizes in data.get("form", {}).items())
    more = {key: value for key, value in data.items() if key not in ("id", "name", "qty", "form")}
    named = " ".join(f"{key}={_flat(value)}" for key, value in more.items())
    return (str(line.row.line), data["id"], line.within or "", data.get("qty", "1"), data["name"], form, named)


def _flat(value: Any) -> str:
    """Return plain data on one line."""
    if isinstance(value, dict):
        return "{" + ", ".join(f"{key} {_flat(item)}" for key, item in value.items()) + "}"
    return "[" + ", ".join(map(_flat, value)) + "]" if isinstance(value, list) else str(value)


def _cut(text: str) -> str:
    return text if len(text) <= _WIDEST else f"{text[: _WIDEST - 1]}…"
