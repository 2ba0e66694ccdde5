"""`labelkit bench`: serve cards on the shop's network."""

from __future__ import annotations

import errno
import logging
import socket
from typing import Final
from urllib.parse import urlsplit

import click

from labelkit.bench.app import create_app
from labelkit.cli.openjob import this_computer
from labelkit.errors import LabelkitError
from labelkit.model.job import Job
from labelkit.store.jobs import Store, open_store

_EVERYWHERE: Final = ("0.0.0.0", "::")  # noqa: S104 - all addresses of this computer


@click.command()
@click.option("--host", default="0.0.0.0", show_default=True, help="Address to listen at.")  # noqa: S104 - the shop's phones
@click.option("--port", default=8080, show_default=True, type=click.IntRange(1, 65535), help="Port to listen at.")
def bench(host: str, port: int) -> None:
    """Serve the cards of all jobs on the shop's network, until Ctrl-C.

    It serves the store of the working folder, or the one that LABELKIT_STORE names; where there is none it does not
    start, since it would answer every label as unknown.

    \b
    Example: labelkit bench --port 8080
    """
    import waitress  # the server loads only when it serves

    # A queue of one or two phones is no news.
    logging.getLogger("waitress.queue").setLevel(logging.ERROR)

    with open_store(create=False) as store:
        jobs = store.jobs()
        server = waitress.create_server(create_app(store), sockets=[_listen(host, port)], threads=8, ident=None)
        name = _this_host() if host in _EVERYWHERE else host
        shown = f"http://{f'[{name}]' if ':' in name else name}:{port}"
        held = f"{len(jobs)} job{'s'[: len(jobs) != 1]} in {store.where}"
        click.echo(f"labelkit bench: {shown} ({held}); Ctrl-C stops it")
        for warning in (*_empty(store, jobs), *_unreachable(jobs, host, port)):
            click.echo(f"labelkit: {warning}", err=True)
        try:
            server.run()
        except KeyboardInterrupt:
            server.close()


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
        its = urlsplit(job.address)
        its_port = its.port or (443 if its.scheme == "https" else 80)
        if its.hostname not in own or its_port != port:
            elsewhere.setdefault(job.address, []).append(str(job.number))
    return [
        f"the labels of job {', '.join(numbers)} say {address}, which does not reach this bench; "
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
