"""`labelkit scan`: from a code, a picture of a label or a hand scanner to the card."""

from __future__ import annotations

import json
import os
import sys
from collections.abc import Callable, Iterator
from pathlib import Path
from typing import Final

import click

from labelkit.errors import LabelkitError, NotFoundError
from labelkit.sheets.cards import Card, card, card_data, card_lines
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
    scanner types, one code a line.

    \b
    Example: labelkit scan 7K3M-9Q2X-F4H
    """
    failed, rule = False, ""
    with open_store(create=False) as store:
        find = Lookup(store).find

        def open_card(text: str) -> Card:
            return card(*find(text))

        for text in _texts(what, open_card):
            try:
                shown = open_card(text)
            except LabelkitError as error:
                click.echo(f"labelkit: {error}", err=True)
                failed = True
                continue
            if as_json:
                click.echo(json.dumps(card_data(shown), ensure_ascii=False))
            else:
                click.echo(rule + "\n".join(card_lines(shown)))
                rule = "\n" + "=" * 72 + "\n"
            sys.stdout.flush()
    if failed:
        raise click.exceptions.Exit(1)


def _texts(what: str, open_card: Callable[[str], Card]) -> Iterator[str]:
    """Yield what was typed, scanned or found in the picture."""
    if what == "-":
        lines = (line.decode(errors="replace").strip() for line in sys.stdin.buffer)
        yield from filter(None, lines)
    elif what.lower().endswith(_PICTURES) or os.path.isfile(what):  # unlike Path's, it takes any text, however long
        yield from _in_picture(Path(what), open_card)
    else:
        yield what


def _in_picture(file: Path, open_card: Callable[[str], Card]) -> Iterator[str]:
    from labelkit.proof.raster import read_pictures  # numpy and the decoder load only for pictures
    from labelkit.proof.rescue import read_sheet

    def ours(text: str) -> bool:
        try:
            open_card(text)
        except LabelkitError:
            return False
        return True

    codes: dict[str, None] = {}
    for picture in read_pictures(file):
        codes.update(dict.fromkeys(code_in(symbol.text) for symbol in read_sheet(picture.pixels, accept=ours)))
    if not codes:
        raise NotFoundError(
            f"{file}: no label of this store can be read in this picture; go closer, wipe the label, or type its code"
        )
    yield from codes
