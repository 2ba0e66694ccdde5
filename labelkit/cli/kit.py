"""`labelkit kit`: make everything that is printed for one job."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from pathlib import Path
from typing import Any, Final
from urllib.parse import urlsplit

import click

from labelkit.calc.record import Record
from labelkit.calc.steps import select_steps
from labelkit.cli.buying import Buying, buying_options
from labelkit.cli.openjob import Wanted, open_job, paper_of, serial_of, stock_of, stocks_named
from labelkit.cli.options import (
    LABEL_STOCK,
    counted,
    factors_of,
    job_language_option,
    language_of,
    laying_of,
    names_of,
    option_pairs,
    started_sheet_options,
)
from labelkit.errors import UsageError
from labelkit.language import speaking
from labelkit.load.catalogue import LoadedCatalogue
from labelkit.load.profile import load_profile, parse_profile
from labelkit.model.address import BENCH_PORT, base_address, is_own, port_of, reaches, with_port
from labelkit.model.catalogue import Catalogue
from labelkit.model.job import DEFAULT_STOCKS, Job
from labelkit.sheets.jobview import JobView
from labelkit.sheets.kit import DOCUMENTS, KitOrder, make_kit, placing_kit, tiles_of
from labelkit.sheets.letters import letter_problems
from labelkit.sheets.newparts import NewParts, new_parts
from labelkit.sheets.traytiles import sheet_words
from labelkit.store.jobs import Store, open_store

_OF_JOB: Final = "  [default: that of the job, {}]"


@click.command()
@click.argument("profile", required=False)
@click.option("--option", "options", multiple=True, metavar="GROUP=CHOICE", help="Choose an option; repeat for more.")
@click.option("--job", "number", type=int, metavar="N", help="Job number: an earlier job is printed again.")
@click.option("--serial", metavar="TEXT", help="Serial number of the unit; an earlier job that has none takes it.")
@click.option("--label-stock", metavar="NAME", help=f"{LABEL_STOCK}{_OF_JOB.format(DEFAULT_STOCKS.labels)}")
@click.option(
    "--sticker-stock",
    metavar="NAME",
    help=f"The same for stickers of new parts.{_OF_JOB.format(DEFAULT_STOCKS.stickers)}",
)
@click.option("--tray", "trays", multiple=True, metavar="NAME", help="Tray stock; repeat for several sizes.")
@click.option("--gap", metavar="MM", help="Clear distance between things on a tray.  [default: 8]")
@click.option("--flag", metavar="WxH", help="Size of the flags with the step numbers.  [default: 30x15]")
@click.option(
    "--grade",
    metavar="N",
    type=click.IntRange(0, 2),
    help="How things lie in each row of a tray: 0 side by side; 1 the last of them also below each other, in a column; "
    "2 in columns anywhere, which takes the fewest trays.  [default: 2]",
)
@click.option(
    "--paper", metavar="NAME", help=f"Paper of all other sheets, by name or file.{_OF_JOB.format(DEFAULT_STOCKS.paper)}"
)
@click.option("--map-only", is_flag=True, help="Print maps of the trays only, no sheets at 1:1.")
@click.option("--printer", metavar="NAME", help="Correct the 1:1 sheets for a printer that `labelkit printer` knows.")
@click.option(
    "--address", metavar="URL", help=f"Where `labelkit bench` will answer.  [default: this computer, port {BENCH_PORT}]"
)
@click.option("--offline-cards", is_flag=True, help="Symbols carry the cards' own words, for phones without network.")
@click.option("--only", metavar="A,B", help=f"Make only these documents: {', '.join(DOCUMENTS)}.")
@click.option("--steps", metavar="5-9,12", help="Print only labels and stickers of these steps.")
@started_sheet_options
@buying_options
@job_language_option
@click.option(
    "--out",
    metavar="FOLDER",
    type=click.Path(path_type=Path),
    default=Path("kit"),
    show_default=True,
    help="Folder to make.",
)
def kit(
    profile: str | None,
    options: tuple[str, ...],
    number: int | None,
    serial: str | None,
    label_stock: str | None,
    sticker_stock: str | None,
    paper: str | None,
    trays: tuple[str, ...],
    gap: str | None,
    flag: str | None,
    grade: int | None,
    address: str | None,
    only: str | None,
    steps: str | None,
    buying: Buying,
    language: str | None,
    out: Path,
    **given: Any,
) -> None:
    """Make the kit of a job: labels, tray sheets, cards, what is new of it, and the manifest kit.json.

    Stickers and pick list are of what is always renewed and of what is condemned or lost, with all it pulls: what the
    bench recorded, and what is named here besides.

    What a job is printed on, and its language, are those of its last whole kit; where --only, --steps, --first-label
    or --first-sticker ask for a part of it, another stock, paper or language is for that print only. Serial number,
    options, trays and address are the job's whatever is printed.

    PROFILE is a name (planetary-reducer) or a path to a YAML file; it may be left out when --job names an earlier job.

    \b
    Example: labelkit kit planetary-reducer --option output=splined --tray tray-600x400 --out kit
             labelkit kit --job 1 --condemned 22.1 --only stickers,picklist --out new-parts
    """
    asked, counter = _Asked.read(only, steps, given), buying.read()
    wanted = Wanted(
        profile=load_profile(profile) if profile else None,
        number=number,
        serial=None if serial is None else serial_of(serial),
        chosen=option_pairs(options),
        address=None if address is None else base_address(address, "--address"),
        laying=laying_of(trays, gap, flag, grade),
        stocks=stocks_named(labels=label_stock, stickers=sticker_stock, paper=paper),
        language=language,
        whole=asked.whole,
    )
    # A job is kept, or changed, only with its kit: whatever fails inside leaves store and folder as they were. The
    # order of the two ends is meant: first the new folder is complete on the disk beside the old one, then the store
    # keeps the job, then the folder takes its place. Cut off in between, there is a job without labels, and the same
    # command prints them; the other way round there would be labels that open no card.
    with open_store() as store, placing_kit(out) as put, store.changing():
        order = _order(store, wanted, asked, buying, counter)
        with speaking(language_of(order.view.job)):
            files, warnings = make_kit(order)
        put(files)
    for warning in warnings:
        click.echo(f"labelkit: {warning}", err=True)
    counts = "".join(f", {words}" for words in _counts(order))
    click.echo(f"{out}: job {order.view.job.number}{counts}: {', '.join(files)}")


@dataclass(frozen=True, slots=True)
class _Asked:
    """What is to be printed of the job.

    Attributes:
        steps: only labels and stickers of these; None: of all.
        for_new: stickers or pick list were asked for by name.
        whole: the whole kit was asked for, on fresh sheets.
        printer: that the sheets are corrected for; None: for none.
        prints: how it is printed, by the names of `KitOrder`.
    """

    steps: str | None
    for_new: bool
    whole: bool
    printer: str | None
    prints: Mapping[str, Any]

    @classmethod
    def read(cls, only: str | None, steps: str | None, given: Mapping[str, Any]) -> _Asked:
        """Read what the options of these names say; errors as for `names_of`."""
        documents = names_of("--only", only, tuple(DOCUMENTS))
        names = ("first_label", "first_sticker", "offline_cards", "map_only")
        prints = {"documents": documents, **{name: given[name] for name in names}}
        return cls(
            steps=steps,
            for_new=only is not None and not documents.isdisjoint(("stickers", "picklist")),
            whole=only is None and steps is None and given["first_label"] == given["first_sticker"] == 1,
            printer=given["printer"],
            prints=prints,
        )


def _order(store: Store, wanted: Wanted, asked: _Asked, buying: Buying, counter: LoadedCatalogue) -> KitOrder:
    """Open the job and return what is made of it."""
    job, notes = open_job(store, wanted)
    # The snapshot is read again only where it is not the file that was just read.
    same = wanted.profile if wanted.profile and wanted.profile.sha256 == job.sha256 else None
    loaded = same or parse_profile(job.source, job.file, None)
    view = JobView(job, loaded.profile, store.secret)
    record = view.record(store.journal.events(job.number))
    new, told = _new_parts(view, buying, counter.catalogue, record, needed=asked.for_new)
    view, sheets = view.as_seen(record), paper_of(job)
    return KitOrder(
        view=view,
        bins=view.teardown.bins if asked.steps is None else select_steps(view.teardown.bins, asked.steps),
        photo=lambda path: store.photo(job.number, path),
        warnings=(*notes, *_unreachable(job), *(str(problem) for problem in letter_problems(loaded)), *told),
        label_stock=stock_of(job, "labels"),
        sticker_stock=stock_of(job, "stickers"),
        paper=sheets,
        factors=factors_of(asked.printer, sheets),
        new=new,
        delimiter=counter.delimiter,
        **asked.prints,
    )


def _unreachable(job: Job) -> list[str]:
    """Return a warning where no phone can open what the symbols hold, or none before the bench is told.

    Only a proxy speaks https, and answers at a port of its own.
    """
    parts = urlsplit(job.address)
    if is_own(job.address):
        told = "leads each phone to itself, and the symbols hold it; --address names the bench, as"
        return [f"{job.address} {told} http://192.168.1.20:{BENCH_PORT}"]
    if parts.scheme == "https" or reaches(job.address, (parts.hostname or "",), BENCH_PORT):
        return []
    usual = f"{job.address.removesuffix(f':{parts.port}')}:{BENCH_PORT}"
    return [
        f"{with_port(job.address)} does not reach a bench at its usual port, {BENCH_PORT}, and the symbols hold it: "
        f"start it with --port {port_of(job.address)}, or print again with --address {usual}"
    ]


def _new_parts(
    view: JobView, buying: Buying, catalogue: Catalogue, record: Record, *, needed: bool
) -> tuple[NewParts | None, list[str]]:
    """Return what must be new; where nobody asked for it and it cannot be told, None and why."""
    try:
        return new_parts(view, buying.verdicts, catalogue, record), []
    except UsageError as error:
        if needed or buying.verdicts:
            raise
        return None, [f"no stickers and no pick list: {error}"]


def _counts(order: KitOrder) -> list[str]:
    """Return what there is to print, before anybody does."""
    counts = []
    if "labels" in order.documents:
        counts.append(f"{counted(len(order.bins), 'label')} on {order.label_stock.name}")
    if "stickers" in order.documents and order.new and (found := order.new.picks_of(order.view, order.bins)):
        counts.append(f"{counted(len(found), 'sticker')} on {order.stickers_on.name}")
    if "trays" in order.documents and order.view.trays.trays:
        counts.append(counted(len(order.view.trays.trays), "tray"))
        if not order.map_only:
            counts.append(sheet_words(tiles_of(order)))
    return counts
