"""`labelkit bench`: serve cards on the shop's network."""

from __future__ import annotations

import errno
import os
import socket

import click

from labelkit.bench.app import create_app
from labelkit.cli.kit import this_computer
from labelkit.errors import LabelkitError
from labelkit.model.job import Job
from labelkit.store.jobs import DEFAULT_FILE, Store


@click.command()
@click.option("--host", default="0.0.0.0", show_default=True, help="Address to listen at.")  # noqa: S104 - the shop's phones
@click.option("--port", default=8080, show_default=True, type=click.IntRange(1, 65535), help="Port to listen at.")
def bench(host: str, port: int) -> None:
    """Serve the cards of all jobs on the shop's network, until Ctrl-C.

    \b
    Example: labelkit bench --port 8080
    """
    import waitress  # the server loads only when it serves

    with Store(os.environ.get("LABELKIT_STORE", DEFAULT_FILE), create=False) as store:
        jobs = store.jobs()
        app = create_app(store)
        try:
            server = waitress.create_server(app, host=host, port=port, threads=8, ident=None)
        except OSError as error:
            raise LabelkitError(_cannot_listen(host, port, error)) from error
        shown = this_computer() if host in ("0.0.0.0", "::") else f"http://{host}"  # noqa: S104
        click.echo(
            f"labelkit bench: {_with_port(shown, port)} ({len(jobs)} job{'s'[: len(jobs) != 1]}); Ctrl-C stops it"
        )
        for warning in _unreachable(jobs, host, port):
            click.echo(f"labelkit: {warning}", err=True)
        try:
            server.run()
        except KeyboardInterrupt:
            server.close()


def _with_port(address: str, port: int) -> str:
    head, colon, _ = address.rpartition(":")
    return f"{head if colon and head.count(':') else address}:{port}"


def _unreachable(jobs: tuple[Job, ...], host: str, port: int) -> list[str]:
    """Return a warning for every job whose labels point somewhere else."""
    own = _own_hosts(host)
    found = []
    for job in jobs:
        _, _, place = job.address.partition("://")
        name, _, its_port = place.rpartition(":") if ":" in place else (place, "", "80")
        if name.lower() not in own or its_port != str(port):
            found.append(
                f"the labels of job {job.number} say {job.address}, which does not reach this bench; "
                f"start it there, or print them again with --address"
            )
    return found


def _own_hosts(host: str) -> set[str]:
    name = socket.gethostname().lower()
    own = {"localhost", "127.0.0.1", name, f"{name}.local"}
    if host in ("0.0.0.0", "::"):  # noqa: S104
        own.add(this_computer().removeprefix("http://").rpartition(":")[0])
    else:
        own.add(host.lower())
    return own


def _cannot_listen(host: str, port: int, error: OSError) -> str:
    reason = {
        errno.EADDRINUSE: f"something else listens at port {port} already; choose another --port",
        errno.EACCES: f"port {port} needs more rights; choose one above 1023",
        errno.EADDRNOTAVAIL: f"{host} is not an address of this computer",
    }.get(error.errno or 0, error.strerror or str(error))
    return f"the bench cannot listen at {host}:{port}: {reason}"
