"""The store: jobs with their snapshots, in an SQLite file or another database named by URL."""

from __future__ import annotations

import os
import secrets
from collections.abc import Iterator, Mapping
from contextlib import AbstractContextManager, contextmanager
from typing import Any, Final, Self

import sqlalchemy as sa

from labelkit.calc.codes import BLOCK_SIZE, BLOCKS, grouped, is_genuine
from labelkit.errors import InputError, NotFoundError, UsageError
from labelkit.language import gettext as _
from labelkit.model.job import DEFAULT_STOCKS, Job, Stocks
from labelkit.model.laying import DEFAULT_LAYING, Laying
from labelkit.store import tables
from labelkit.store.database import Database
from labelkit.store.doorway import Doorway
from labelkit.store.drafts import Drafts
from labelkit.store.events import Journal
from labelkit.store.jobrows import changing_row, job_of, options_text, profile_row, snapshot_row
from labelkit.store.pulse import Pulse, pulse_of_code, pulse_of_job
from labelkit.store.tables import ADDED, ONE_AT_A_TIME, SCHEMA
from labelkit.store.tables import jobs as _jobs
from labelkit.store.tables import meta as _meta
from labelkit.store.tables import photos as _photos

_DEFAULT_FILE: Final = "labelkit.sqlite"
_VARIABLE: Final = "LABELKIT_STORE"
LARGEST_NUMBER: Final = 999_999


class _Outdated(Exception):
    """A store is of an earlier version, which can be brought to this one."""


class Store:
    """Jobs kept in one database, with the secret that makes their codes unguessable.

    Args:
        where: a file path or a database URL (`postgresql+driver://...`).
        secret: the key of a store that is made now; random when left out. An existing store keeps its own.
        create: make the store when it is not there.

    Raises:
        NotFoundError: not there, and `create` is False.
        InputError: there, but not a store, or one of a later version.
        OutputError: cannot be made or written.
        UsageError: a URL that names no database.

    Attributes:
        where: the file or URL for people, without a password.
        secret: the key.
        journal: the events of its jobs.
        doorway: who may come in.
        drafts: profiles that are captured at the bench.
    """

    def __init__(self, where: str, *, secret: bytes | None = None, create: bool = True) -> None:
        self._database = Database(where)
        self.where = self._database.where
        self.journal = Journal(self._database, self._changed)
        self.doorway = Doorway(self._database)
        self.drafts = Drafts(self._database, self._changed)
        if not create and self._database.is_missing:
            raise self._not_there()
        try:
            self.secret = self._open(secret, create=create)
        except BaseException:
            self.close()
            raise

    def __enter__(self) -> Self:
        return self

    def __exit__(self, *_: object) -> None:
        self.close()

    def close(self) -> None:
        """Let go of the database."""
        self._database.close()

    @contextmanager
    def changing(self) -> Iterator[None]:
        """Keep all changes made inside, in this thread, or none of them.

        They are kept when the block ends and dropped when it is left by any exception. What is read inside sees them;
        whoever else reads the store sees what was there before, and whoever else changes it waits.

        Raises:
            OutputError: they cannot be kept; none of them is.
        """
        with self._changed():
            yield

    def _changed(self) -> AbstractContextManager[sa.Connection]:
        return self._database.changing(ONE_AT_A_TIME)

    def _open(self, secret: bytes | None, *, create: bool) -> bytes:
        """Return the store's key; make the store where there is none yet."""
        try:
            with self._database.transaction() as connection:
                key = self._key(connection)
        except _Outdated:
            with self._database.transaction(writes=True) as connection:
                tables.upgrade(connection)
            return self._open(secret, create=create)
        if key is not None:
            return key
        if not create:
            raise self._not_there()
        with self._database.transaction(writes=True) as connection:
            # Another process may be making it.
            self._database.wait_alone(connection)
            return self._key(connection) or self._made(connection, secret or secrets.token_bytes(32))

    def _key(self, connection: sa.Connection) -> bytes | None:
        """Return the key of the store that is there, None when nothing is."""
        there = set(sa.inspect(connection).get_table_names())
        if _meta.name in there:
            known = dict(connection.execute(sa.select(_meta.c.key, _meta.c.value)).all())
            version = known.get("schema", "unknown")
            if version in ADDED:
                raise _Outdated(version)
            if version != SCHEMA:
                raise InputError(
                    f"{self.where}: is a store of version {version}; this program reads {SCHEMA} and earlier ones. "
                    "A later labelkit has used it: use that one, or a later one still"
                )
            try:
                return bytes.fromhex(known["secret"])
            except (KeyError, ValueError) as error:
                raise InputError(
                    f"{self.where}: its key is damaged, and without it no label opens; put back a copy from before"
                ) from error
        # A file holds one store and nothing else; a server's database may hold what it likes beside it.
        if strange := there if self._database.is_file else there & set(tables.tables.tables):
            raise InputError(
                f"{self.where}: is a database of something else (it has the table {min(strange)}); "
                "name another one (LABELKIT_STORE)"
            )
        return None

    def _made(self, connection: sa.Connection, key: bytes) -> bytes:
        """Make an empty store with this key."""
        tables.make(connection)
        rows = [{"key": "schema", "value": SCHEMA}, {"key": "secret", "value": key.hex()}]
        connection.execute(sa.insert(_meta), rows)
        return key

    def _not_there(self) -> NotFoundError:
        where, folder = self.where, ""
        if not self._database.is_file:
            return NotFoundError(
                f"the database {where} holds no store yet; `labelkit kit PROFILE` makes it there. If there are jobs "
                f"already, {_VARIABLE} names the wrong database"
            )
        if "://" not in where and not os.path.isabs(where):
            folder = f" in {os.getcwd()}"
        return NotFoundError(
            f"there is no store {where}{folder}; the store lies where the kit was made: change to that folder, or name "
            f"the file with {_VARIABLE}. Where no kit was made yet, `labelkit kit PROFILE` makes both, and "
            "`labelkit bench --new-store` an empty one, for a unit to capture"
        )

    def jobs(self) -> tuple[Job, ...]:
        """Return all jobs, by number."""
        with self._database.transaction() as connection:
            rows = connection.execute(sa.select(_jobs).order_by(_jobs.c.number)).mappings().all()
        return tuple(self._job(row) for row in rows)

    def job(self, number: int) -> Job:
        """Return one job.

        Raises:
            NotFoundError: no such job; says which there are.
        """
        found = self.find(number)
        if found is None:
            told = _("This bench has no job {number}.").format(number=number)
            raise NotFoundError(f"job {number} is not in the store {self.where}; {self._known_jobs()}", told=told)
        return found

    def find(self, number: int) -> Job | None:
        """Return one job, or None when there is none of this number."""
        possible = 1 <= number <= LARGEST_NUMBER  # a database refuses to compare with much larger ones
        return self._first(sa.select(_jobs).where(_jobs.c.number == number)) if possible else None

    def job_of(self, code: str) -> Job:
        """Return the job a code belongs to.

        Args:
            code: as `labelkit.calc.codes.read_code` returns it.

        Raises:
            NotFoundError: it is of a job that is not in this store, or it is unknown though its job is here.
        """
        return self.job(self.proved(code, self.pulse(code)).number)

    def pulse(self, code: str) -> Pulse | None:
        """Return the job that a code speaks of, whether it is genuine or not; None when it is not in this store."""
        return pulse_of_code(self._database, code)

    def pulse_of(self, number: int) -> Pulse | None:
        """Return a job without its profile; None when there is none of this number."""
        return pulse_of_job(self._database, number)

    def proved(self, code: str, pulse: Pulse | None) -> Pulse:
        """Return the job that a code speaks of when the code is genuine.

        Args:
            code: as `labelkit.calc.codes.read_code` returns it.
            pulse: as `pulse` has told of it.

        Raises:
            NotFoundError: as for `job_of`.
        """
        if pulse is None:
            raise NotFoundError(
                f"{grouped(code)}: this label is of a job that is not in the store {self.where}; {self._known_jobs()}. "
                "Is this the right store (LABELKIT_STORE), or was the label printed in another shop?",
                told=_(
                    "{code}: this label is of a job that this bench does not have. Was it printed in another shop?"
                ).format(code=grouped(code)),
            )
        if not is_genuine(self.secret, code):
            raise NotFoundError(
                f"{grouped(code)} is unknown: no label of the store {self.where} has this code. "
                "It was printed with another store; print the label again from here",
                told=_(
                    "{code}: no label of this bench has this code. Was it printed before the job came here? "
                    "Then print the labels again from here."
                ).format(code=grouped(code)),
            )
        return pulse

    def same(self, sha256: str, options: Mapping[str, str | None], serial: str | None) -> Job | None:
        """Return the last job of exactly this profile, options and serial number, or None."""
        query = (
            sa.select(_jobs)
            .where(_jobs.c.sha256 == sha256, _jobs.c.options == options_text(options))
            .where(_jobs.c.serial.is_(None) if serial is None else _jobs.c.serial == serial)
            .order_by(_jobs.c.number.desc())
            .limit(1)
        )
        return self._first(query)

    def create_job(
        self,
        *,
        number: int | None,
        serial: str | None,
        file: str,
        source: bytes,
        options: Mapping[str, str | None],
        address: str,
        codes: int,
        photos: Mapping[str, bytes],
        laying: Laying = DEFAULT_LAYING,
        stocks: Stocks = DEFAULT_STOCKS,
        language: str | None = None,
    ) -> Job:
        """Open a job and keep its snapshot.

        Args:
            number: its number; None: the next free one.
            serial: the unit's serial number, as given.
            file: name of the profile's file.
            source: its bytes.
            options: option group to choice, None while open; also those by which its steps are numbered.
            address: where the labels' URL points, without the code.
            codes: how many codes it needs.
            photos: the profile's pictures by the path the profile names.
            laying: how its trays are laid out.
            stocks: what it is printed on.
            language: code of the language it is printed in; None: it is not printed yet.

        Raises:
            UsageError: the number is taken or out of range, or the store has no codes left.
        """
        row: dict[str, Any] = {
            "blocks": max(1, -(-codes // BLOCK_SIZE)),
            **profile_row(source, file),
            **changing_row(
                serial=serial,
                options=options,
                numbering=options,
                address=address,
                laying=laying,
                stocks=stocks,
                language=language,
            ),
            "captured": None,
        }
        with self._changed() as connection:
            highest = connection.execute(sa.select(sa.func.max(_jobs.c.number))).scalar() or 0
            end = connection.execute(sa.select(sa.func.max(_jobs.c.block + _jobs.c.blocks))).scalar() or 0
            row |= {"number": highest + 1 if number is None else number, "block": end}
            if not 1 <= row["number"] <= LARGEST_NUMBER:
                raise UsageError(f"job {row['number']}; allowed: a number from 1 to {LARGEST_NUMBER}")
            if end + row["blocks"] > BLOCKS:
                raise UsageError(f"the store {self.where} has no codes left; start another one (LABELKIT_STORE)")
            if self.find(row["number"]) is not None:
                raise UsageError(f"job {row['number']} is taken; leave the number out for the next free one")
            connection.execute(sa.insert(_jobs).values(**row))
            _insert_photos(connection, row["number"], photos)
        return job_of(row)

    def update_job(self, job: Job) -> Job:
        """Keep what may change while a unit is in pieces: serial number, options, address, trays, stock, language."""
        values = changing_row(
            serial=job.serial,
            options=job.options,
            numbering=job.numbering,
            address=job.address,
            laying=job.laying,
            stocks=job.stocks,
            language=job.language,
        )
        with self._changed() as connection:
            connection.execute(sa.update(_jobs).where(_jobs.c.number == job.number).values(**values))
        return job

    def revise_job(self, job: Job, photos: Mapping[str, bytes]) -> Job:
        """Keep a job with a later revision of its profile.

        Args:
            job: as it is now.
            photos: the profile's pictures by the path it names, instead of the earlier ones.
        """
        values = snapshot_row(job.source, file=job.file, version=job.version, indices=job.indices, changed=job.changed)
        with self._changed() as connection:
            connection.execute(sa.update(_jobs).where(_jobs.c.number == job.number).values(**values))
            connection.execute(sa.delete(_photos).where(_photos.c.job == job.number))
            _insert_photos(connection, job.number, photos)
            return self.update_job(job)

    def photo(self, number: int, path: str) -> bytes:
        """Return a picture of a job's snapshot.

        Raises:
            NotFoundError: the job has no such picture.
        """
        query = sa.select(_photos.c.data).where(_photos.c.job == number, _photos.c.path == path)
        with self._database.transaction() as connection:
            data = connection.execute(query).scalar()
        if data is None:
            raise NotFoundError(f"job {number} has no picture {path}")
        return bytes(data)

    def _first(self, query: sa.Select[Any]) -> Job | None:
        with self._database.transaction() as connection:
            row = connection.execute(query).mappings().first()
        return None if row is None else self._job(row)

    def _job(self, row: Mapping[Any, Any]) -> Job:
        try:
            return job_of(row)
        except (AttributeError, KeyError, TypeError, ValueError) as error:
            raise InputError(
                f"the store {self.where}: what it holds of job {row['number']} is damaged; put back a copy from before"
            ) from error

    def _known_jobs(self) -> str:
        query = sa.select(sa.func.count(), sa.func.min(_jobs.c.number), sa.func.max(_jobs.c.number))
        with self._database.transaction() as connection:
            count, low, high = connection.execute(query).one()
        if count < 2:
            return "it holds no job yet" if not count else f"it holds 1 job, number {low}"
        return f"it holds {count} jobs, {low} to {high}"


def _insert_photos(connection: sa.Connection, job: int, photos: Mapping[str, bytes]) -> None:
    if photos:
        rows = [{"job": job, "path": path, "data": data} for path, data in photos.items()]
        connection.execute(sa.insert(_photos), rows)


def open_store(*, create: bool = True) -> Store:
    """Open the store that LABELKIT_STORE names, or that of the working folder; arguments and errors as for `Store`."""
    return Store(os.environ.get(_VARIABLE, _DEFAULT_FILE), create=create)
