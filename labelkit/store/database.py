"""A database and its transactions: an SQLite file, or another one named by URL.

An SQLite file is kept in write-ahead mode with full synchronisation: who reads never waits for who writes, and what was
acknowledged is on the disk. While a program has it open, a file `-wal` beside it belongs to it.
"""

from __future__ import annotations

import importlib
import sqlite3
import threading
import time
import warnings
from collections.abc import Iterator, Mapping, Sequence
from contextlib import closing, contextmanager, nullcontext
from dataclasses import dataclass
from pathlib import Path
from typing import Any, Final

import sqlalchemy as sa
from sqlalchemy.exc import SQLAlchemyError

from labelkit.errors import InputError, StoreError, UsageError
from labelkit.language import gettext as _
from labelkit.language import noop

# How long one process waits for another that makes a kit, in seconds. Common practice, no source.
PATIENCE: Final = 60
_MAKING: Final = 7_215_460_131  # any number that no other program locks
_SHORT_WHILE: Final = 0.02  # seconds
# How SQLite says what PostgreSQL says.
_SHORT: Final = {"canceling statement due to lock timeout": "database is locked"}
# What a user can do about a reason that SQLite tells in its own words.
_HELP: Final = {
    "database is locked": " by another program, which may be making a kit; try again",
    "attempt to write a readonly database": "; also to read it, one needs the right to write to it and to its folder",
}
# Who taps on a phone is told no address; who looks after the bench finds it in its window.
_AWAY: Final = noop(
    "The bench cannot use its store just now. Nothing was written: try again in a moment. "
    "If it stays so, tell who looks after the bench."
)
_DAMAGED: Final = noop("The bench cannot read its store. Nothing was written. Tell who looks after the bench.")


class _Change(threading.local):
    """The connection of the change that is going on in a thread."""

    connection: sa.Connection | None = None


@dataclass(frozen=True, slots=True)
class _Statement:
    """A query as the driver takes it: its text, the values that stand in it, and their order; None: by their names."""

    text: str
    own: Mapping[str, object]
    order: Sequence[str] | None

    @classmethod
    def of(cls, query: sa.Select[Any], engine: sa.Engine) -> _Statement:
        ready = query.compile(engine)
        return cls(str(ready), ready.params, getattr(ready, "positiontup", None))

    def given(self, values: Mapping[str, object]) -> Mapping[str, object] | Sequence[object]:
        whole = {**self.own, **values}
        return whole if self.order is None else [whole[name] for name in self.order]


class Database:
    """A database whose transactions are begun, kept and told in one way.

    Args:
        where: a file path or a database URL (`postgresql+driver://...`).

    Attributes:
        where: the same for people, without a password.

    Raises:
        UsageError: a URL that names no database.
    """

    def __init__(self, where: str) -> None:
        self._url = _url(where)
        shown = self._url.render_as_string(hide_password=True).replace("+psycopg://", "://", 1)
        self.where = shown if "://" in where else where
        self.engine = _engine(self._url, self.where)
        self._writer = self.engine.execution_options(writes=True)
        self._statements: dict[sa.Select[Any], _Statement] = {}
        self._change = _Change()

    @property
    def is_file(self) -> bool:
        """Whether it is a file of its own."""
        return self.engine.dialect.name == "sqlite"

    @property
    def is_missing(self) -> bool:
        """Whether it is a file that is not there."""
        try:
            return self.is_file and not Path(self._url.database or "").exists()
        except OSError:  # what can be the name of no file is told when it is opened
            return False

    def wait_alone(self, connection: sa.Connection) -> None:
        """Wait until no other transaction that has asked for the same goes on; SQLite lets only one write anyway."""
        if not self.is_file:
            connection.execute(sa.select(sa.func.pg_advisory_xact_lock(_MAKING)))

    def insert_if_new(self, connection: sa.Connection, table: sa.Table, row: dict[str, Any]) -> None:
        """Insert a row unless one of its key is there, also when another transaction puts it there just now."""
        # Only the dialect at hand is loaded: both would cost every command a fiftieth of a second.
        insert = importlib.import_module(f"sqlalchemy.dialects.{self.engine.dialect.name}").insert
        connection.execute(insert(table).values(**row).on_conflict_do_nothing())

    def close(self) -> None:
        """Let go of it."""
        self.engine.dispose()

    @contextmanager
    def transaction(self, *, writes: bool = False) -> Iterator[sa.Connection]:
        """Work as part of the change that is going on in this thread, or on its own.

        Args:
            writes: something may be written.

        Raises:
            InputError: it is no database, or a damaged one.
            StoreError: it cannot be used.
        """
        current = self._change.connection
        engine = self._writer if writes else self.engine
        try:
            with engine.begin() if current is None else nullcontext(current) as connection:
                yield connection
        except SQLAlchemyError as error:
            reason = str(getattr(error, "orig", error)).splitlines()[0]
            reason = _SHORT.get(reason, reason)
            words = f"the store {self.where} cannot be used: {reason}{_HELP.get(reason, '')}"
            if "not a database" in reason or "malformed" in reason:
                raise InputError(words, told=_(_DAMAGED)) from error
            raise StoreError(words, told=_(_AWAY)) from error

    def glance(self, query: sa.Select[Any], **values: object) -> Sequence[Any] | None:
        """Return the first row of one statement that reads, None when there is none: asked with every page.

        The shortest way to the driver, which takes a sixth of the time of a transaction.

        Args:
            query: of a module, so that it is made ready once; its columns are texts and whole numbers.
            values: of its parameters.

        Raises:
            InputError, StoreError: as for `transaction`.
        """
        if self._change.connection is None:
            statement = self._statements.get(query)
            if statement is None:
                statement = self._statements[query] = _Statement.of(query, self.engine)
            try:
                with closing(self.engine.raw_connection()) as connection:
                    cursor = connection.cursor()
                    cursor.execute(statement.text, statement.given(values))
                    return cursor.fetchone()
            except (self.engine.dialect.loaded_dbapi.Error, SQLAlchemyError):
                pass  # once more, the way that tells what it is, and that connects anew
        with self.transaction() as connection:
            return connection.execute(query, values).first()

    @contextmanager
    def changing(self, first: sa.Select[Any]) -> Iterator[sa.Connection]:
        """Make every transaction of this thread, until the block ends, part of one.

        Args:
            first: what the change begins with, a row that is locked for it: no two changes go on at once.
        """
        before = self._change.connection
        with self.transaction(writes=True) as connection:
            connection.execute(first)
            self._change.connection = connection
            try:
                yield connection
            finally:
                self._change.connection = before


_ALLOWED: Final = "a file, or a URL of PostgreSQL, as in postgresql://user@host/name"


def _url(where: str) -> sa.URL:
    try:
        url = sa.make_url(where) if "://" in where else sa.URL.create("sqlite", database=where)
        url.render_as_string(hide_password=False)  # what drivers are told later must have letters that can be sent
        (url.host or "").encode("idna")
    except (SQLAlchemyError, ValueError) as error:
        scheme = where.partition("://")[0]
        raise UsageError(f"LABELKIT_STORE: {scheme}://... is not the URL of a database; allowed: {_ALLOWED}") from error
    if url.drivername in ("postgresql", "postgres"):
        url = url.set(drivername="postgresql+psycopg")
    in_memory = url.database in (None, "", ":memory:") or url.query.get("mode") == "memory"
    if url.get_backend_name() == "sqlite" and in_memory:
        raise UsageError(f'LABELKIT_STORE: "{where}" keeps nothing, no label could be opened later; name a file')
    return url


def _engine(url: sa.URL, where: str) -> sa.Engine:
    postgres = url.get_backend_name() == "postgresql"
    if not postgres and url.get_backend_name() != "sqlite":
        raise UsageError(f"LABELKIT_STORE: {where} is not a database that can be opened; allowed: {_ALLOWED}")
    try:
        # A server may have been restarted since a connection was last used.
        with warnings.catch_warnings(category=sa.exc.SAWarning, action="error"):
            engine = sa.create_engine(url, pool_pre_ping=postgres)
    except ImportError as error:
        # By the path of the clone, as the README says: by its name, an index would be asked for some other labelkit.
        how = f"the driver of {url.drivername}"
        if postgres:
            how = 'it in the folder that labelkit was installed from: pip install ".[postgres]"'
        raise UsageError(f"LABELKIT_STORE: {where}: {error}; install {how}") from error
    except (SQLAlchemyError, sa.exc.SAWarning, ValueError, TypeError) as error:
        raise UsageError(f"LABELKIT_STORE: {where} is not a database that can be opened: {error}") from error
    if engine.dialect.name == "sqlite":
        sa.event.listen(engine, "connect", _set_up_sqlite)
        sa.event.listen(engine, "begin", _begin_sqlite)
    elif postgres:
        sa.event.listen(engine, "begin", _begin_postgres)
    return engine


def _begin_sqlite(connection: sa.Connection) -> None:
    # Who will write says so at once: a reader that turns writer cannot wait for another writer.
    writes = connection.get_execution_options().get("writes", False)
    connection.exec_driver_sql("BEGIN IMMEDIATE" if writes else "BEGIN")


def _begin_postgres(connection: sa.Connection) -> None:
    connection.exec_driver_sql(f"SET LOCAL lock_timeout = {max(1, PATIENCE * 1000)}")


def _set_up_sqlite(connection: Any, _record: object) -> None:
    connection.isolation_level = None  # transactions are begun by the listener above, not by the driver
    connection.execute(f"PRAGMA busy_timeout={PATIENCE * 1000}")
    _write_ahead(connection)
    connection.execute("PRAGMA synchronous=FULL")


def _write_ahead(connection: Any) -> None:
    """Set a file to write-ahead mode, which it remembers; wait for others that hold it, as SQLite itself does not."""
    until = time.monotonic() + PATIENCE
    while True:
        try:
            if connection.execute("PRAGMA journal_mode").fetchone()[0] != "wal":
                connection.execute("PRAGMA journal_mode=WAL")
            return
        except sqlite3.OperationalError as error:
            if "locked" not in str(error) or time.monotonic() > until:
                raise
            time.sleep(_SHORT_WHILE)
