"""`labelkit scan`: from a code, a picture of a label or a hand scanner to the card."""

from __future__ import annotations

import json
import os
import sys
from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import Final

import click

from labelkit.calc.codes import MistypedCode, grouped, is_sign_in
from labelkit.calc.grades import as_chosen, new_number
from labelkit.calc.listed import first_of
from labelkit.calc.oldandnew import old_lost
from labelkit.calc.record import Record
from labelkit.cli.options import language_option
from labelkit.cli.progress import page_count, watched
from labelkit.cli.receiving import Arrival, arrival_options, receive
from labelkit.errors import LabelkitError, NotFoundError, UsageError, shortened
from labelkit.language import speaking
from labelkit.sheets.cardlines import card_lines
from labelkit.sheets.cards import card, card_data, new_card
from labelkit.sheets.jobview import JobView
from labelkit.sheets.lookup import Lookup, read_scan
from labelkit.sheets.placewords import record_lines
from labelkit.sheets.seen import as_seen
from labelkit.store.jobs import Store, open_store

_FEW: Final = 6  # codes that a message lists
# What ends so is a file, whether it is there or not.
_PICTURES: Final = (".bmp", ".gif", ".heic", ".jpeg", ".jpg", ".pdf", ".png", ".tif", ".tiff", ".webp")


@click.command()
@click.argument("words", metavar="CODE|IMAGE|-", nargs=-1, required=True)
@click.option("--json", "as_json", is_flag=True, help="Print the cards as JSON, one a line, in English.")
@language_option
@arrival_options
def scan(words: tuple[str, ...], as_json: bool, arrival: Arrival, language: str) -> None:
    """Show the card of a label, or of a new part's sticker.

    Give a typed code, also with blanks, the whole printed address, a picture or PDF with one or more labels, or - to
    read what a hand scanner types: a code a line, or the lines of an offline card. Of a picture it also says how many
    symbols were read, and which labels have no card here and why.

    Under the card stands where the part is, what holds it, what was noted and what is open, when the job has a record.

    With --received and --staged it writes into the record of the job what came at the sticker of a new part.

    \b
    Example: labelkit scan 7K3M-9Q2X-F4H
             labelkit scan 7K3M-9Q2X-F4H --received 5 --staged --measured thickness=2.50 --by "P. Counter"
    """
    what = _one(words)
    if arrival.wanted:
        with speaking("en" if as_json else language):
            click.echo(receive(what, arrival, as_json=as_json))
        return
    with open_store(create=False) as store:
        lookup = Lookup(store)
        shower = _Shower(store, lookup, as_json=as_json, language=language)
        if what == "-":
            good = [shower.show(text) for text in lookup.scans(_typed_lines())]
        elif what.lower().endswith(_PICTURES) or (os.path.exists(what) and not lookup.opens(what)):
            good = _show_picture(Path(what), store, lookup, shower)
        else:
            good = [shower.show(what)]
    if not all(good):
        raise click.exceptions.Exit(1)


def _one(words: tuple[str, ...]) -> str:
    """Return what is to be shown; a code that is typed with blanks comes in pieces.

    Raises:
        UsageError: several codes or pictures.
    """
    whole = [each for each in words if each.lower().endswith(_PICTURES) or _is_code(each)]
    if len(whole) > 1:
        raise UsageError(
            f"scan: {_few(whole)}: give one code or picture at a time; several codes go, a line each, into "
            "`labelkit scan -`"
        )
    return " ".join(words)


def _is_code(text: str) -> bool:
    try:
        read_scan(text)
    except MistypedCode:
        return False
    return True


class _Shower:
    """Prints cards one after the other, with a rule between them."""

    def __init__(self, store: Store, lookup: Lookup, *, as_json: bool, language: str) -> None:
        self._store, self._lookup, self._as_json, self._rule = store, lookup, as_json, ""
        self._language = "en" if as_json else language
        self._records: dict[int, Record | None] = {}

    def show(self, text: str, about: str = "") -> bool:
        """Print the card a text leads to, or why there is none; say whether there is.

        Args:
            text: as for `Lookup.find`.
            about: what stands before the reason.
        """
        try:
            view, found = self._lookup.find(text)
            with speaking(self._language):
                new = view.new_part(read_scan(text))
                record, item = self._record(view), new or found
                place = record.at(item.ordinal) if record else None
                item = as_seen(place) if place else item
                item = as_chosen(record, item) if new and record else item
                number = new_number(record, item.ordinal) if record else ""
                lost = place is not None and old_lost(place) is None
                shown = card(view, item) if new is None else new_card(view, item, number, lost=lost)
                lines = card_lines(shown)
                if record and place:
                    lines += ["", *record_lines(record, place)]
        except LabelkitError as error:
            click.echo(f"labelkit: {about}{error}", err=True)
            return False
        if self._as_json:
            click.echo(json.dumps(card_data(shown), ensure_ascii=False))
        else:
            click.echo(self._rule + "\n".join(lines))
            self._rule = "\n" + "=" * 72 + "\n"
        return True

    def _record(self, view: JobView) -> Record | None:
        """Return the record of a job; None where nothing is recorded yet."""
        number = view.job.number
        if number not in self._records:
            events = self._store.journal.events(number)
            self._records[number] = view.record(events) if events else None
        return self._records[number]


def _typed_lines() -> Iterator[str]:
    """Yield the lines that a hand scanner types, without the control characters that some put round them."""
    if sys.stdin is None:
        raise UsageError("scan -: there is no standard input to read")
    for line in sys.stdin.buffer:
        for typed in line.decode(errors="replace").splitlines():
            yield "".join(letter for letter in typed.expandtabs(1) if letter.isprintable())


@dataclass(frozen=True, slots=True)
class _Symbols:
    """What was read from a picture: how many symbols, and what they say, each once, by whose they are."""

    count: int
    ours: tuple[str, ...]
    others: tuple[str, ...]
    foreign: tuple[str, ...]


def _show_picture(file: Path, store: Store, lookup: Lookup, shower: _Shower) -> list[bool]:
    """Show the cards of a picture, say how much was read and what of it has no card here; return what was shown.

    Raises:
        NotFoundError: no label of this store is in it.
    """
    found = _symbols_in(file, lookup)
    if not found.count:
        raise NotFoundError(
            f"{file}: no symbol can be read in this picture; go closer, wipe the label, or type its code"
        )
    counted = f"{file}: {_several(found.count, 'symbol')} read, {_several(len(found.ours), 'label')} of this store"
    notes = [f"not a label: {_few(found.foreign)}"] if found.foreign else []
    if found.others:
        notes.append(
            f"not of the store {store.where}: {_few(found.others)}; the labelkit.sqlite that knows them lies where "
            "their kit was made: change to that folder, or name the file with LABELKIT_STORE"
        )
    if not found.ours:
        raise NotFoundError("\n".join((counted, *notes)))
    for words in (counted, *(f"{file}: {note}" for note in notes)):
        click.echo(f"labelkit: {words}", err=True)
    return [*(shower.show(code, f"{file}: not shown: ") for code in found.ours), not found.others]


def _symbols_in(file: Path, lookup: Lookup) -> _Symbols:
    from labelkit.proof.checksheet import is_drawn  # numpy and the decoder load only for pictures
    from labelkit.proof.decode import read_symbols
    from labelkit.proof.raster import read_pictures
    from labelkit.proof.rescue import rescued

    def is_ours(text: str) -> bool:
        try:
            lookup.job_of(text)
        except LabelkitError:
            return False
        return True

    count, found = 0, dict[str, dict[str, None]]()
    pictures = read_pictures(file)
    for picture in watched(pictures, label="Reading pages", length=lambda: page_count(file)):
        # A file of ours has no dirt: what is not read at once is not there.
        drawn = file.suffix.lower() == ".pdf" and is_drawn(file)
        read = read_symbols(picture.pixels, thorough=not drawn)
        if not drawn:
            # Under dirt only what this store knows is believed.
            read += rescued(picture.pixels, accept=is_ours, known=read)
        count += len(read)
        for symbol in read:
            kind, words = _sorted_out(symbol.text, is_ours)
            found.setdefault(kind, {})[words] = None
    return _Symbols(count, *(tuple(found.get(kind, ())) for kind in ("ours", "others", "foreign")))


def _sorted_out(text: str, is_ours: Callable[[str], bool]) -> tuple[str, str]:
    """Return whose a symbol is, and its code, or what it says where it has none."""
    try:
        code = read_scan(text)
    except MistypedCode:
        return "foreign", "a sign-in label, for the PIN field of the bench" if is_sign_in(text) else text
    return ("ours" if is_ours(code) else "others"), grouped(code)


def _several(count: int, word: str) -> str:
    return f"{count} {word}{'s'[: count != 1]}"


def _few(texts: Sequence[str]) -> str:
    """Return the first of some texts, as far as a line has room for them."""
    shown = first_of([shortened(text, 40) for text in texts], _FEW)
    return "".join(letter if letter.isprintable() else " " for letter in shown)
