"""`labelkit bench`: serve cards and the record of jobs on the shop's network; print sign-in labels."""

from __future__ import annotations

import errno
import io
import logging
import secrets
import socket
from collections.abc import Iterator
from pathlib import Path
from typing import Final
from urllib.parse import urlsplit

import click

from labelkit.bench.app import create_app
from labelkit.bench.captureparts import LARGEST_PHOTOS
from labelkit.bench.people import SHORTEST_PIN, label_text, set_pin
from labelkit.bench.pictures import LARGEST_PHOTO
from labelkit.cli.newfile import check_ending
from labelkit.cli.openjob import this_computer
from labelkit.cli.options import a_name, is_asked, language_option
from labelkit.errors import LabelkitError, UsageError
from labelkit.language import speaking
from labelkit.load.catalogue import load_catalogue
from labelkit.model.address import BENCH_PORT, reaches, with_port
from labelkit.model.catalogue import NO_CATALOGUE
from labelkit.model.job import Job
from labelkit.render import write
from labelkit.sheets.signinlabel import sign_in_label as sign_in_label_page
from labelkit.store.files import replace_file
from labelkit.store.jobs import Store, open_store

_ALL: Final = "0.0.0.0"  # noqa: S104 - all addresses of this computer, for the shop's phones
# Jobs of one address that are named; a shop has thousands.
_NAMED: Final = 12
_EVERYWHERE: Final = (_ALL, "::")
_PRINTER_DPI: Final = 600


@click.command()
@click.option(
    "--host",
    metavar="HOST",
    help="Address to listen at.  [default: all of this computer's; with --behind-proxy 127.0.0.1]",
)
@click.option(
    "--port",
    metavar="N",
    default=BENCH_PORT,
    show_default=True,
    type=click.IntRange(1, 65535),
    help="Port to listen at.",
)
@click.option(
    "--new-pin", is_flag=True, help="Start with another PIN; all must sign in again, sign-in labels are void."
)
@click.option("--new-store", is_flag=True, help="Where there is no store, begin one: for the capture of a first unit.")
@click.option("--read-only", is_flag=True, help="Show everything and take nothing: a screen on the wall.")
@click.option("--behind-proxy", is_flag=True, help="A proxy in front speaks https and says whom it speaks for.")
@click.option(
    "--catalogue", type=click.Path(path_type=Path), metavar="FILE.csv", help="Packs, prices and shelf of the counter."
)
@click.option(
    "--sign-in-label", metavar="NAME", callback=a_name, help="Print a sign-in label for somebody instead of serving."
)
@click.option("--out", type=click.Path(path_type=Path), metavar="FILE", help="Where the sign-in label goes: a .pdf.")
@language_option
def bench(
    host: str | None,
    port: int,
    new_pin: bool,
    new_store: bool,
    read_only: bool,
    behind_proxy: bool,
    catalogue: Path | None,
    sign_in_label: str | None,
    out: Path | None,
    language: str,
) -> None:
    """Serve the cards and the record of all jobs on the shop's network, until Ctrl-C.

    It serves the store of the working folder, or the one that LABELKIT_STORE names; where there is none it does not
    start, since it would answer every label as unknown, but for --new-store.

    Who writes or lists signs in with a name and the bench's PIN. At the first start it asks for one; where nobody can
    be asked it makes one and prints it once. Pages are in the language that each browser asks for; --language is that
    of the sign-in label.

    \b
    Example: labelkit bench --port 8080
             labelkit bench --sign-in-label "Ann Example" --out ann.pdf
    """
    import waitress  # the server loads only when it serves

    # A queue of one or two phones is no news.
    logging.getLogger("waitress.queue").setLevel(logging.ERROR)

    if (sign_in_label is None) != (out is None):
        raise UsageError("--sign-in-label NAME and --out FILE.pdf belong together; one of them is missing")
    with open_store(create=new_store) as store:
        if sign_in_label is not None and out is not None:
            with speaking(language):
                _print_label(store, sign_in_label, out)
            return
        host = host or ("127.0.0.1" if behind_proxy else _ALL)
        counter = NO_CATALOGUE if catalogue is None else load_catalogue(catalogue).catalogue
        listening = _listen(host, port)
        made = None if read_only and not new_pin else _pin(store, new=new_pin)
        app = create_app(store, read_only=read_only, behind_proxy=behind_proxy, catalogue=counter)
        server = waitress.create_server(
            app,
            sockets=[listening],
            ident=None,
            max_request_body_size=max(LARGEST_PHOTO, LARGEST_PHOTOS) + 1,
            # What the proxy says of the client is read by the application.
            clear_untrusted_proxy_headers=not behind_proxy,
        )
        for line in _greeting(store, host, port, made):
            click.echo(line)
        jobs = store.jobs()
        warnings = [] if new_store else _empty(store, jobs)
        warnings += [] if behind_proxy else _unreachable(jobs, host, port)
        for warning in warnings:
            click.echo(f"labelkit: {warning}", err=True)
        try:
            server.run()
        except KeyboardInterrupt:
            server.close()


def _greeting(store: Store, host: str, port: int, made: str | None) -> Iterator[str]:
    """Yield where the bench is, and the PIN where it made one."""
    count = len(store.jobs())
    name = _this_host() if host in _EVERYWHERE else host
    shown = f"http://{f'[{name}]' if ':' in name else name}:{port}"
    held = f"{count} job{'s'[: count != 1]} in {store.where}"
    yield f"labelkit bench: {shown} ({held}); Ctrl-C stops it"
    if made is not None:
        yield f"PIN of this bench: {made}   (shown this once; `labelkit bench --new-pin` makes another)"


def _pin(store: Store, *, new: bool) -> str | None:
    """Give the bench a PIN where it has none, or another one is wanted; return it when nobody chose it."""
    if store.doorway.pin_hash is not None and not new:
        return None
    if is_asked():
        while True:
            asked = f"PIN of the bench, {SHORTEST_PIN} digits or more"
            typed = click.prompt(asked, hide_input=True, confirmation_prompt=True)
            try:
                set_pin(store, typed)
                return None
            except UsageError as error:
                click.echo(f"labelkit: {error}", err=True)
    made = "".join(secrets.choice("0123456789") for _ in range(SHORTEST_PIN))
    set_pin(store, made)
    return made


def _print_label(store: Store, name: str, out: Path) -> None:
    """Write a sign-in label.

    Raises:
        UsageError: no .pdf, or the bench has no PIN yet.
    """
    check_ending(out, ".pdf", "a sign-in label")
    page = sign_in_label_page(label_text(store, name), name, dpi=_PRINTER_DPI)
    written = io.BytesIO()
    write([page], ".pdf", written, title=f"Sign-in label of {name}")
    replace_file(out, written.getvalue())
    click.echo(f"{out}: sign-in label of {name}; print it at 100 %")


def _listen(host: str, port: int) -> socket.socket:
    """Return a socket that listens.

    Raises:
        LabelkitError: no such name, or the place cannot be had.
    """
    try:
        family, *_, place = socket.getaddrinfo(host, port, type=socket.SOCK_STREAM)[0]
    except (OSError, UnicodeError) as error:
        raise LabelkitError(f"--host {host}: is not a name or address of this computer") from error
    try:
        return socket.create_server(place[:2], family=family)
    except OSError as error:
        raise LabelkitError(_cannot_listen(host, port, error)) from error


def _empty(store: Store, jobs: tuple[Job, ...]) -> list[str]:
    """Return a warning when no label can open a card yet."""
    if jobs:
        return []
    return [
        f"the store {store.where} holds no job yet: every label is unknown here until `labelkit kit PROFILE` has made "
        "one with this store; is this the right folder (LABELKIT_STORE)?"
    ]


def _unreachable(jobs: tuple[Job, ...], host: str, port: int) -> list[str]:
    """Return a warning for every address of labels that leads somewhere else."""
    own = _own_hosts(host)
    elsewhere: dict[str, list[str]] = {}
    for job in jobs:
        if not reaches(job.address, own, port):
            elsewhere.setdefault(job.address, []).append(str(job.number))
    return [
        f"the labels of job{'s'[: len(numbers) > 1]} {', '.join(numbers[:_NAMED])}"
        f"{' and others' * (len(numbers) > _NAMED)} say {with_port(address)}, "
        "which does not reach this bench; unless another bench of this store answers there, "
        "start it there, or print them again with --address"
        for address, numbers in elsewhere.items()
    ]


def _this_host() -> str:
    return urlsplit(this_computer()).hostname or "localhost"


def _own_hosts(host: str) -> set[str]:
    name = socket.gethostname().lower()
    own = {"localhost", "127.0.0.1", name, f"{name}.local"}
    return own | {_this_host() if host in _EVERYWHERE else host.lower()}


def _cannot_listen(host: str, port: int, error: OSError) -> str:
    reason = {
        errno.EADDRINUSE: f"something else listens at port {port} already; choose another --port",
        errno.EACCES: f"port {port} needs more rights; choose one above 1023",
        errno.EADDRNOTAVAIL: f"{host} is not an address of this computer",
    }.get(error.errno or 0, error.strerror or str(error))
    return f"the bench cannot listen at {host}:{port}: {reason}"
