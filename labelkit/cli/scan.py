"""`labelkit scan`: from a code, a picture of a label or a hand scanner to the card."""

from __future__ import annotations

import json
import os
import sys
from collections.abc import Iterator
from pathlib import Path
from typing import Final

import click

from labelkit.errors import LabelkitError, NotFoundError, UsageError
from labelkit.sheets.cards import card, card_data, card_lines
from labelkit.sheets.lookup import Lookup
from labelkit.sheets.offline import code_in
from labelkit.store.jobs import open_store

# What ends so is a file, whether it is there or not.
_PICTURES: Final = (".bmp", ".gif", ".heic", ".jpeg", ".jpg", ".pdf", ".png", ".tif", ".tiff", ".webp")


@click.command()
@click.argument("what", metavar="CODE|IMAGE|-")
@click.option("--json", "as_json", is_flag=True, help="Print the cards as JSON, one a line.")
def scan(what: str, as_json: bool) -> None:
    """Show the card of a label.

    Give a typed code, the whole printed address, a picture or PDF with one or more labels, or - to read what a hand
    scanner types: a code a line, or the lines of an offline card.

    \b
    Example: labelkit scan 7K3M-9Q2X-F4H
    """
    failed, rule = False, ""
    with open_store(create=False) as store:
        lookup = Lookup(store)
        for text in _texts(what, lookup):
            try:
                shown = card(*lookup.find(text))
            except LabelkitError as error:
                click.echo(f"labelkit: {error}", err=True)
                failed = True
                continue
            if as_json:
                click.echo(json.dumps(card_data(shown), ensure_ascii=False))
            else:
                click.echo(rule + "\n".join(card_lines(shown)))
                rule = "\n" + "=" * 72 + "\n"
    if failed:
        raise click.exceptions.Exit(1)


def _texts(what: str, lookup: Lookup) -> Iterator[str]:
    """Yield what was typed, scanned or found in the picture."""
    if what == "-":
        yield from lookup.scans(_typed_lines())
    elif what.lower().endswith(_PICTURES) or (os.path.exists(what) and not lookup.opens(what)):
        yield from _in_picture(Path(what), lookup)
    else:
        yield what


def _typed_lines() -> Iterator[str]:
    """Yield the lines that a hand scanner types, without the control characters that some put round them."""
    if sys.stdin is None:
        raise UsageError("scan -: there is no standard input to read")
    for line in sys.stdin.buffer:
        for typed in line.decode(errors="replace").splitlines():
            yield "".join(letter for letter in typed.expandtabs(1) if letter.isprintable())


def _in_picture(file: Path, lookup: Lookup) -> Iterator[str]:
    from labelkit.proof.raster import read_pictures  # numpy and the decoder load only for pictures
    from labelkit.proof.rescue import read_sheet

    codes: set[str] = set()
    for picture in read_pictures(file):
        for symbol in read_sheet(picture.pixels, accept=lookup.opens):
            if (code := code_in(symbol.text)) not in codes:
                codes.add(code)
                yield code
    if not codes:
        raise NotFoundError(
            f"{file}: no label of this store can be read in this picture; go closer, wipe the label, or type its code"
        )
