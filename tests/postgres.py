"""A private PostgreSQL for tests: a cluster in a temporary folder, reached by its socket only, gone at the end.

It runs as another user where the tests run as root, as PostgreSQL demands. Each test has a schema of its own in it.
"""

from __future__ import annotations

import glob
import os
import shutil
import subprocess
import tempfile
import uuid
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from urllib.parse import quote

import psycopg

# Where packages put programs that are not meant to be typed.
_FOLDERS = sorted(glob.glob("/usr/lib/postgresql/*/bin") + glob.glob("/usr/pgsql-*/bin"), reverse=True)


class NoServer(Exception):
    """There is no PostgreSQL that could be started, and why."""


def _program(name: str) -> str:
    found = shutil.which(name) or shutil.which(name, path=os.pathsep.join(_FOLDERS))
    if found is None:
        raise NoServer(
            f"no PostgreSQL here: {name} is neither in PATH nor in /usr/lib/postgresql (apt install postgresql)"
        )
    return found


def _user() -> str | None:
    """Return who the server runs as; None: who runs the tests."""
    return None if os.geteuid() else "postgres" if _exists("postgres") else "nobody"


def _exists(user: str) -> bool:
    return subprocess.run(["id", user], capture_output=True).returncode == 0


class Server:
    """A running cluster.

    Args:
        folder: its own, empty.
        safe: what was committed is on the disk at once, as a shop has it; tests that end no server go without.
    """

    def __init__(self, folder: Path, *, safe: bool) -> None:
        self.folder, self.user = folder, _user()
        folder.chmod(0o755)
        if self.user:
            shutil.chown(folder, self.user)
        self._run("initdb", "-D", self._data, "-U", "shop", "--auth=trust", "-E", "UTF8", "--locale=C", "--no-sync")
        # An address of its own is its folder: no port of the machine is taken.
        self._options = f"-c listen_addresses='' -c unix_socket_directories='{folder}' -c max_connections=60"
        self._options += "" if safe else " -c fsync=off"
        self.start()

    @property
    def _data(self) -> str:
        return str(self.folder / "data")

    def start(self) -> None:
        """Start it, also after it was killed."""
        self._run("pg_ctl", "-D", self._data, "-w", "-l", str(self.folder / "log"), "-o", self._options, "start")

    def stop(self, mode: str = "fast") -> None:
        """Stop it; `immediate` is as a power cut would."""
        self._run("pg_ctl", "-D", self._data, "-w", "-m", mode, "stop")

    def url(self, schema: str | None = None) -> str:
        """Return the address of a schema, of a new one where none is named."""
        name = schema or f"t{uuid.uuid4().hex}"
        with psycopg.connect(host=str(self.folder), user="shop", dbname="postgres", autocommit=True) as connection:
            connection.execute(psycopg.sql.SQL("CREATE SCHEMA IF NOT EXISTS {}").format(psycopg.sql.Identifier(name)))
        options = quote(f"-csearch_path={name}", safe="")
        return f"postgresql://shop@/postgres?host={quote(str(self.folder), safe='')}&options={options}"

    def _run(self, name: str, *words: str) -> None:
        # What the server inherits must not keep a pipe of ours open.
        with (self.folder.parent / f"{self.folder.name}.out").open("ab") as out:
            done = subprocess.run(
                [_program(name), *words], user=self.user, cwd="/", stdin=subprocess.DEVNULL, stdout=out, stderr=out
            )
        if done.returncode:
            raise NoServer(f"{name} failed: {Path(out.name).read_text(errors='replace')[-400:]}")


@contextmanager
def running_server(*, safe: bool = False) -> Iterator[Server]:
    """Start a cluster and take it away at the end.

    Raises:
        NoServer: the programs are missing, or do not work here.
    """
    _program("initdb"), _program("pg_ctl")
    # Short: the path of a socket has at most 107 characters.
    folder = Path(tempfile.mkdtemp(prefix="lkpg"))
    try:
        server = Server(folder, safe=safe)
        try:
            yield server
        finally:
            server.stop("immediate")
    finally:
        shutil.rmtree(folder, ignore_errors=True)
        Path(f"{folder}.out").unlink(missing_ok=True)
