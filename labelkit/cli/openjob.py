"""The job that a kit is made for: opened now, or found in the store and printed again."""

from __future__ import annotations

import os
import socket
from collections.abc import Iterator, Mapping, Sequence
from contextlib import contextmanager
from dataclasses import dataclass, replace
from typing import Final, Literal, NamedTuple

from labelkit.calc.steps import choose, places
from labelkit.cli.options import language_of, usual_language
from labelkit.datafiles import is_path
from labelkit.drawing.fonts import missing_letters
from labelkit.errors import InputError, LabelkitError, UsageError
from labelkit.load.archive import LARGEST_PHOTO
from labelkit.load.profile import LoadedProfile, parse_profile
from labelkit.load.stock import PRINTABLE, find_stock
from labelkit.load.textfile import read_bytes
from labelkit.model.address import BENCH_PORT
from labelkit.model.job import Job, Stocks
from labelkit.model.laying import DEFAULT_LAYING, Laying
from labelkit.model.media import Paper, Printable, StockKind
from labelkit.sheets.jobview import CODES_PER_PLACE
from labelkit.store.jobs import Store

_LONGEST_SERIAL: Final = 60


class Use(NamedTuple):
    """What is printed on a stock, the option that names it, and of which kinds it may be."""

    words: str
    option: str
    kinds: tuple[StockKind, ...]


STOCKS: Final = {
    "labels": Use("labels", "--label-stock", PRINTABLE),
    "stickers": Use("stickers", "--sticker-stock", PRINTABLE),
    "paper": Use("sheets", "--paper", ("paper",)),
}
"""Of each of `Stocks`."""


@dataclass(frozen=True, slots=True)
class Wanted:
    """What was asked for.

    Attributes:
        profile: as it was read; None: that of the job.
        number: of the job; None: the same job as before, or the next one.
        serial: of the unit; None: as before, or nobody knows it yet.
        chosen: choices by option group.
        address: where the labels point; None: as before, or this computer.
        laying: how the trays are laid out; None: as before, or as usual.
        stocks: what it is printed on, of `Stocks`; what is left out is as before, or as usual.
        language: that it is printed in; None: as before, or as usual.
        whole: the whole kit is printed: what it is printed on, and its language, stay with the job.
    """

    profile: LoadedProfile | None
    number: int | None
    serial: str | None
    chosen: Mapping[str, str]
    address: str | None
    laying: Laying | None
    stocks: Mapping[str, str]
    language: str | None
    whole: bool


def open_job(store: Store, wanted: Wanted) -> tuple[Job, list[str]]:
    """Return the job to print, opened now or earlier, and what to tell the user about it.

    Raises:
        UsageError: no profile, or something that does not go with the earlier job.
        NotFoundError: no such job.
    """
    loaded = wanted.profile
    if wanted.number is not None:
        earlier = store.find(wanted.number) if loaded else store.job(wanted.number)
        if earlier is not None:
            return _earlier(store, earlier, wanted)
    if loaded is None:
        raise UsageError("name a profile, or an earlier job with --job")
    options = choose(loaded.profile, wanted.chosen)
    if wanted.number is None and (same := store.same(loaded.sha256, options, wanted.serial)):
        note = (
            f"job {same.number} is printed again: same profile, options and serial number. "
            f"For another unit of this kind give --serial or --job"
        )
        return _earlier(store, same, replace(wanted, chosen={}), [note])
    job = store.create_job(
        number=wanted.number,
        serial=wanted.serial,
        file=loaded.file,
        source=loaded.source,
        options=options,
        address=wanted.address or this_computer(),
        codes=places(loaded.profile) * CODES_PER_PLACE,
        photos=photos_of(loaded),
        laying=wanted.laying or DEFAULT_LAYING,
        stocks=Stocks(**wanted.stocks),
        language=wanted.language or usual_language(),
    )
    taken = [f"{group} {choice}" for group, choice in options.items() if choice and group not in wanted.chosen]
    if not taken:
        return job, []
    return job, [f"taken by default: {', '.join(taken)}; --job {job.number} --option GROUP=CHOICE changes it"]


def _earlier(store: Store, job: Job, wanted: Wanted, said: Sequence[str] = ()) -> tuple[Job, list[str]]:
    notes = list(said)
    loaded = wanted.profile
    if wanted.serial and job.serial and wanted.serial != job.serial:
        told = f"job {job.number} has serial number {job.serial}, not {wanted.serial}"
        raise UsageError(f"{told}; for another unit leave --job out, or give another number")
    if loaded is not None and loaded.file != job.file:
        raise UsageError(f"job {job.number} is of {job.file}, not of {loaded.file}; use another --job")
    if loaded is not None and loaded.sha256 != job.sha256:
        notes.append(
            f"job {job.number} keeps the profile it was opened with; {loaded.file} has changed since and is not used"
        )
    options = dict(job.options)
    if wanted.chosen:
        settled = choose(parse_profile(job.source, job.file, None).profile, wanted.chosen)
        options |= {group: settled[group] for group in wanted.chosen}
    turned = [group for group, choice in job.options.items() if choice is not None and options[group] != choice]
    if turned:
        notes.append(
            f"option {', '.join(turned)} was {', '.join(str(job.options[group]) for group in turned)} and is changed: "
            "steps may have other numbers now; take the earlier labels off and print all of them again"
        )
    for what, name in wanted.stocks.items():
        if not wanted.whole and name != (kept := getattr(job.stocks, what)):
            notes.append(f"{STOCKS[what].words} on {name} for this print only: job {job.number} keeps {kept}")
    if wanted.laying and wanted.laying != job.laying:
        notes.append(f"the trays of job {job.number} are laid out anew: places on earlier labels and sheets are void")
    return _changed(store, job, wanted, options, renumber=bool(turned)), notes


def _changed(
    store: Store, job: Job, wanted: Wanted, options: Mapping[str, str | None], *, renumber: bool = False
) -> Job:
    """Keep what is new of a job and return it as it is printed now.

    How a part of the kit is printed, on what and in which language, is for that print; all else is true of the job. A
    choice that was open leaves all step numbers as they are on the labels.
    """
    stocks, language = replace(job.stocks, **wanted.stocks), wanted.language or language_of(job)
    printed = replace(job, stocks=stocks, language=language)
    changed = replace(
        printed if wanted.whole else job,
        serial=job.serial or wanted.serial,
        options=dict(options),
        numbering=dict(options) if renumber else job.numbering,
        address=wanted.address or job.address,
        laying=wanted.laying or job.laying,
    )
    if changed != job:
        store.update_job(changed)
    return replace(changed, stocks=stocks, language=language)


def stocks_named(**names: str | None) -> dict[str, str]:
    """Return what is named now, by the names of `Stocks`, as a job keeps it: a path is the same from every folder.

    Raises:
        LabelkitError: as for `find_stock`.
    """
    found = {}
    for what, name in names.items():
        if name is not None:
            find_stock(name, STOCKS[what].kinds)
            found[what] = os.path.abspath(name) if is_path(name) else name
    return found


def stock_of(job: Job, what: Literal["labels", "stickers"]) -> Printable:
    """Return what a job's labels or stickers are printed on.

    Raises:
        UsageError: it is not there any more, or cannot be read.
    """
    with _as_kept(job, what):
        return find_stock(getattr(job.stocks, what), PRINTABLE)


def paper_of(job: Job) -> Paper:
    """Return the paper that a job's sheets are printed on; errors as for `stock_of`."""
    with _as_kept(job, "paper"):
        return find_stock(job.stocks.paper, ("paper",))


@contextmanager
def _as_kept(job: Job, what: str) -> Iterator[None]:
    """Say of a stock that is not there any more who named it, and when."""
    try:
        yield
    except LabelkitError as error:
        told = f"the {STOCKS[what].words} of job {job.number} were last printed on {getattr(job.stocks, what)}: {error}"
        raise UsageError(f"{told}. Name another with {STOCKS[what].option}") from error


def serial_of(text: str) -> str:
    """Return a serial number as cards show it, without spaces round it.

    Raises:
        UsageError: it is none that can be printed on one line.
    """
    serial = text.strip()
    if not serial or len(serial) > _LONGEST_SERIAL or not serial.isprintable() or missing_letters(serial):
        shown = serial if len(serial) <= _LONGEST_SERIAL else serial[: _LONGEST_SERIAL - 3] + "..."
        raise UsageError(
            f'--serial "{shown}": allowed: 1 to {_LONGEST_SERIAL} letters and digits on one line, as on the name plate'
        )
    return serial


def this_computer() -> str:
    """Return this computer's address on its network; no packet is sent to find it out."""
    with socket.socket(socket.AF_INET, socket.SOCK_DGRAM) as probe:
        try:
            probe.connect(("192.0.2.1", 9))  # a documentation address (RFC 5737): only the route is looked up
            host = str(probe.getsockname()[0])
        except OSError:
            host = "127.0.0.1"
    return f"http://{host}:{BENCH_PORT}"


def photos_of(loaded: LoadedProfile) -> dict[str, bytes]:
    """Return the pictures a profile names, by their path in it.

    Raises:
        InputError: one cannot be read, or is too large.
    """
    found: dict[str, bytes] = {}
    for _, part in loaded.profile.walk():
        if part.photo and loaded.folder:
            file = loaded.folder / part.photo
            found[part.photo] = data = read_bytes(file, str(file), "photo", LARGEST_PHOTO)
            if len(data) > LARGEST_PHOTO:
                raise InputError(f"{file}: the photo has over {LARGEST_PHOTO / 1e6:.0f} MB; make it smaller")
    return found
