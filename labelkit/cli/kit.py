"""`labelkit kit`: make everything that is printed for one job."""

from __future__ import annotations

import re
import socket
from collections.abc import Mapping
from pathlib import Path
from typing import Final
from urllib.parse import urlsplit

import click

from labelkit.calc.steps import choose, places, select_steps
from labelkit.errors import InputError, UsageError, allowed_text
from labelkit.load.profile import LoadedProfile, load_profile, parse_profile
from labelkit.load.stock import find_stock
from labelkit.model.job import Job
from labelkit.sheets.jobview import CODES_PER_PLACE, JobView
from labelkit.sheets.kit import DOCUMENTS, KitOrder, make_kit, write_kit
from labelkit.sheets.letters import letter_problems
from labelkit.store.jobs import Store, open_store

DEFAULT_LABELS: Final = "a4-2x5-99x56"
LARGEST_PHOTO: Final = 12_000_000  # bytes


@click.command()
@click.argument("profile", required=False)
@click.option("--option", "options", multiple=True, metavar="GROUP=CHOICE", help="Choose an option; repeat for more.")
@click.option("--job", "number", type=int, metavar="N", help="Job number: an earlier job is printed again as it was.")
@click.option("--serial", help="Serial number of the unit.")
@click.option("--label-stock", default=DEFAULT_LABELS, show_default=True, help="Label sheets or roll, by name or file.")
@click.option("--address", metavar="URL", help="Where `labelkit bench` will answer; default: this computer, port 8080.")
@click.option("--offline-cards", is_flag=True, help="Symbols carry the cards' own words, for phones without network.")
@click.option("--only", metavar="A,B", help=f"Make only these documents: {', '.join(DOCUMENTS)}.")
@click.option("--steps", metavar="5-9,12", help="Print only these steps.")
@click.option("--first-label", type=int, default=1, show_default=True, help="First free label of a started sheet.")
@click.option("--out", type=click.Path(path_type=Path), default=Path("kit"), show_default=True, help="Folder to make.")
def kit(
    profile: str | None,
    options: tuple[str, ...],
    number: int | None,
    serial: str | None,
    label_stock: str,
    address: str | None,
    offline_cards: bool,
    only: str | None,
    steps: str | None,
    first_label: int,
    out: Path,
) -> None:
    """Make the kit of a job: labels, cards and the manifest kit.json.

    PROFILE is a name (planetary-reducer) or a path to a YAML file; it may be left out when --job names an earlier job.

    \b
    Example: labelkit kit planetary-reducer --option output=splined --out kit
    """
    documents = _documents(only)
    stock = find_stock(label_stock, ("labels", "stickers", "roll"))
    chosen = option_pairs(options)
    wanted = load_profile(profile) if profile else None
    with open_store() as store:
        job, notes = _job(store, wanted, number, serial, chosen, address)
        # The snapshot is read again only where it is not the file that was just read.
        loaded = wanted if wanted and wanted.sha256 == job.sha256 else parse_profile(job.source, job.file, None)
        view = JobView(job, loaded.profile, store.secret)
        bins = select_steps(view.teardown.bins, steps) if steps else view.teardown.bins
        order = KitOrder(
            view=view,
            bins=bins,
            label_stock=stock,
            first_label=first_label,
            offline_cards=offline_cards,
            documents=documents,
            photo=lambda path: store.photo(job.number, path),
            warnings=tuple(notes + [str(problem) for problem in letter_problems(loaded)]),
        )
        files = make_kit(order)
        write_kit(out, files)
    for note in notes:
        click.echo(f"labelkit: {note}", err=True)
    click.echo(f"{out}: job {job.number}, {len(bins)} labels on {stock.name}: {', '.join(files)}")


def _documents(only: str | None) -> frozenset[str]:
    names = [name.strip() for name in only.split(",")] if only else list(DOCUMENTS)
    for name in names:
        if name not in DOCUMENTS:
            raise UsageError(f"--only {name}: there is no such document; {allowed_text(name, DOCUMENTS)}")
    return frozenset(names)


def option_pairs(options: tuple[str, ...]) -> dict[str, str]:
    """Return the choices of `--option GROUP=CHOICE`, by group.

    Raises:
        UsageError: not written so.
    """
    chosen: dict[str, str] = {}
    for text in options:
        group, equals, choice = text.partition("=")
        if not equals or not group or not choice:
            raise UsageError(f'--option {text}: write it as GROUP=CHOICE, as in "output=splined"')
        chosen[group] = choice
    return chosen


def _job(
    store: Store,
    wanted: LoadedProfile | None,
    number: int | None,
    serial: str | None,
    chosen: Mapping[str, str],
    address: str | None,
) -> tuple[Job, list[str]]:
    """Return the job to print, opened now or earlier, and what to tell the user about it."""
    known = {job.number: job for job in store.jobs()} if number is not None else {}
    if number is not None and number in known:
        return _earlier(store, known[number], wanted, serial, chosen, address)
    if wanted is None:
        if number is None:
            raise UsageError("name a profile, or an earlier job with --job")
        store.job(number)  # says which jobs there are
        raise UsageError(f"job {number} is not in the store; name its profile")
    options = choose(wanted.profile, chosen)
    if number is None and (same := store.same(wanted.sha256, options, serial)):
        note = (
            f"job {same.number} is printed again: same profile, options and serial number. "
            f"For another unit of this kind give --serial or --job"
        )
        return _with_address(store, same, address), [note]
    job = store.create_job(
        number=number,
        serial=serial,
        file=wanted.file,
        source=wanted.source,
        options=options,
        address=_address(address) if address else this_computer(),
        codes=places(wanted.profile) * CODES_PER_PLACE,
        photos=_photos(wanted),
    )
    return job, []


def _earlier(
    store: Store,
    job: Job,
    wanted: LoadedProfile | None,
    serial: str | None,
    chosen: Mapping[str, str],
    address: str | None,
) -> tuple[Job, list[str]]:
    notes = []
    if serial is not None and serial != job.serial:
        raise UsageError(
            f"job {job.number} is of serial number {job.serial or 'not given'}, not {serial}; use another --job"
        )
    if wanted is not None and wanted.file != job.file:
        raise UsageError(f"job {job.number} is of {job.file}, not of {wanted.file}; use another --job")
    if wanted is not None and wanted.sha256 != job.sha256:
        notes.append(
            f"job {job.number} keeps the profile it was opened with; {wanted.file} has changed since and is not used"
        )
    if chosen:
        settled = choose(parse_profile(job.source, job.file, None).profile, chosen)
        options = {**job.options, **{group: settled[group] for group in chosen}}
        job = store.update_job(job.number, options=options, address=job.address)
    return _with_address(store, job, address), notes


def _with_address(store: Store, job: Job, address: str | None) -> Job:
    if address is None or _address(address) == job.address:
        return job
    return store.update_job(job.number, options=job.options, address=_address(address))


def _address(text: str) -> str:
    """Return a base address as the symbols spell it: scheme in lower case, the rest in upper case."""
    try:
        parts = urlsplit(text if "://" in text else f"http://{text}")
        port = f":{parts.port}" if parts.port else ""
    except ValueError as error:
        raise UsageError(
            f"--address {text}: {error}; allowed: http://HOST:PORT, as http://192.168.1.20:8080"
        ) from error
    host = parts.hostname or ""
    if parts.scheme.lower() not in ("http", "https") or not re.fullmatch(r"[\w.:-]+", host):
        raise UsageError(
            f"--address {text}: allowed: http://HOST:PORT or https://HOST:PORT, as http://192.168.1.20:8080"
        )
    if parts.path.strip("/") or parts.query or parts.fragment:
        raise UsageError(f"--address {text}: leave out what follows the port; the code follows it on the label")
    shown = f"[{host}]" if ":" in host else host
    return f"{parts.scheme.lower()}://{shown.upper()}{port}"


def this_computer() -> str:
    """Return this computer's address on its network; no packet is sent to find it out."""
    with socket.socket(socket.AF_INET, socket.SOCK_DGRAM) as probe:
        try:
            probe.connect(("192.0.2.1", 9))  # a documentation address (RFC 5737): only the route is looked up
            host = str(probe.getsockname()[0])
        except OSError:
            host = "127.0.0.1"
    return f"http://{host}:8080"


def _photos(wanted: LoadedProfile) -> dict[str, bytes]:
    """Return the pictures a profile names, by their path in it."""
    found: dict[str, bytes] = {}
    for _, part in wanted.profile.walk():
        if part.photo and wanted.folder:
            file = wanted.folder / part.photo
            if file.stat().st_size > LARGEST_PHOTO:
                raise InputError(f"{file}: the picture has over {LARGEST_PHOTO / 1e6:.0f} MB; make it smaller")
            found[part.photo] = file.read_bytes()
    return found
