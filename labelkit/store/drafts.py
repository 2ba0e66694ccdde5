"""Drafts of profiles that are captured part by part at the bench, every version of them, with the jobs they become.

A change appends a whole new version and touches none of the earlier ones; undo and redo step from version to version.
A draft belongs to a job from its beginning, so that a label that is printed in the middle opens its part for good.
"""

from __future__ import annotations

import zlib
from collections.abc import Callable, Mapping, Sequence
from contextlib import AbstractContextManager
from dataclasses import dataclass
from typing import Any

import sqlalchemy as sa

from labelkit.errors import InputError, NotFoundError
from labelkit.store.database import Database
from labelkit.store.jobrows import snapshot_row
from labelkit.store.tables import drafts as _drafts
from labelkit.store.tables import jobs as _jobs
from labelkit.store.tables import photos as _photos
from labelkit.store.tables import pictures as _pictures
from labelkit.store.tables import versions as _versions


@dataclass(frozen=True, slots=True)
class Version:
    """A draft as it is now.

    Attributes:
        job: number of its job.
        number: of the version, from 1.
        body: what it says, as the bench wrote it.
        words: what was done last.
        given: how many part numbers have been given, those of versions that were undone counted.
        done: the capture is finished.
        undo: what would be undone, in words; empty when nothing can be.
        redo: what would be done again, in words; empty when nothing can be.
    """

    job: int
    number: int
    body: str
    words: str
    given: int
    done: bool
    undo: str
    redo: str


class Drafts:
    """The drafts of a store.

    Args:
        database: that of the store.
        changed: begins a change of the store.
    """

    def __init__(self, database: Database, changed: Callable[[], AbstractContextManager[sa.Connection]]) -> None:
        self._database = database
        self._changed = changed

    def start(self, job: int, body: str, *, who: str, at: str, token: str) -> None:
        """Begin the draft of a job that has none; arguments as for `append`."""
        with self._changed() as connection:
            connection.execute(sa.insert(_drafts).values(job=job, current=1, given=0, done=False))
            self._insert(connection, job, 1, None, body, "started", who, at, token)

    def current(self, job: int) -> Version:
        """Return a draft as it is now.

        Raises:
            NotFoundError: the job was not captured here.
        """
        with self._database.transaction() as connection:
            return self._current(connection, job)

    def is_open(self, job: int) -> bool:
        """Say whether a job is being captured."""
        query = sa.select(_drafts.c.done).where(_drafts.c.job == job)
        with self._database.transaction() as connection:
            return connection.execute(query).scalar() is False

    def open_jobs(self) -> frozenset[int]:
        """Return the numbers of the jobs that are being captured."""
        query = sa.select(_drafts.c.job).where(_drafts.c.done.is_(False))
        with self._database.transaction() as connection:
            return frozenset(connection.execute(query).scalars())

    def is_revised(self, job: int, version: int) -> bool:
        """Say whether a job has taken up a revision of its profile since it was opened, or captured.

        Args:
            job: its number.
            version: of its snapshot, as the job says it. Each version of a draft that has a part is its job's snapshot.
        """
        if not version:
            return False
        query = sa.select(_drafts.c.current).where(_drafts.c.job == job)
        with self._database.transaction() as connection:
            return bool(connection.execute(query).scalar() != version)

    def all(self) -> dict[int, Version]:
        """Return every draft by the number of its job, the latest job first."""
        with self._database.transaction() as connection:
            numbers = connection.execute(sa.select(_drafts.c.job).order_by(_drafts.c.job.desc())).scalars().all()
            return {number: self._current(connection, number) for number in numbers}

    def written(self, job: int, token: str) -> bool:
        """Say whether a change with this token has been kept, also when it was undone since."""
        query = sa.select(_versions.c.number).where(_versions.c.job == job, _versions.c.token == token)
        with self._database.transaction() as connection:
            return connection.execute(query).first() is not None

    def append(self, job: int, body: str, *, words: str, given: int, who: str, at: str, token: str) -> None:
        """Keep a changed draft as a new version.

        Args:
            job: number of its job.
            body: what it says now.
            words: what was done, for people.
            given: how many part numbers have been given with it.
            who: who did it.
            at: when, ISO 8601.
            token: of this change; each needs its own.
        """
        with self._changed() as connection:
            now = self._current(connection, job)
            highest = sa.select(sa.func.max(_versions.c.number)).where(_versions.c.job == job)
            number = (connection.execute(highest).scalar() or 0) + 1
            self._insert(connection, job, number, now.number, body, words, who, at, token)
            self._set(connection, job, current=number, given=max(given, now.given))

    def step(self, job: int, *, back: bool) -> Version:
        """Undo the last change, or do the one that was undone last again; without one nothing happens."""
        with self._changed() as connection:
            now = self._row(connection, job)
            other = self._version(connection, job, now.current).parent if back else self._later(connection, job, now)
            if other is not None:
                self._set(connection, job, current=other)
            return self._current(connection, job)

    def finish(self, job: int) -> None:
        """Say that a capture is finished."""
        with self._changed() as connection:
            self._set(connection, job, done=True)

    def go_on(self, job: int) -> None:
        """Say that a capture that was finished goes on."""
        with self._changed() as connection:
            self._set(connection, job, done=False)

    def publish(
        self, job: int, source: bytes, *, file: str, version: int, indices: Sequence[int], photos: Mapping[str, str]
    ) -> None:
        """Make the job's snapshot what its draft says.

        Args:
            job: its number.
            source: the profile's bytes.
            file: name of the profile's file.
            version: number of the version it is of.
            indices: which number of the job's codes each place has, in the order of the profile.
            photos: SHA-256 of each kept picture, by its path in the profile.

        Raises:
            NotFoundError: a picture is not in the store.
        """
        values = snapshot_row(source, file=file, version=version, indices=indices)
        with self._changed() as connection:
            connection.execute(sa.update(_jobs).where(_jobs.c.number == job).values(**values))
            there = set(connection.execute(sa.select(_photos.c.path).where(_photos.c.job == job)).scalars())
            if gone := there - set(photos):
                connection.execute(sa.delete(_photos).where(_photos.c.job == job, _photos.c.path.in_(gone)))
            for path in [path for path in photos if path not in there]:
                query = sa.select(_pictures.c.data).where(_pictures.c.sha256 == photos[path])
                if (data := connection.execute(query).scalar()) is None:
                    raise NotFoundError(f"the store {self._database.where} has no picture {photos[path][:16]}")
                connection.execute(sa.insert(_photos).values(job=job, path=path, data=data))

    def _current(self, connection: sa.Connection, job: int) -> Version:
        row = self._row(connection, job)
        now = self._version(connection, job, row.current)
        later = self._later(connection, job, row)
        redo = "" if later is None else str(self._version(connection, job, later).words)
        try:
            body = zlib.decompress(now.body).decode()
        except (zlib.error, UnicodeDecodeError) as error:
            raise InputError(
                f"the store {self._database.where}: the capture of job {job} is damaged; put back a copy from before"
            ) from error
        undo = "" if now.parent is None else str(now.words)
        return Version(job, row.current, body, now.words, row.given, bool(row.done), undo, redo)

    def _row(self, connection: sa.Connection, job: int) -> Any:
        row = connection.execute(sa.select(_drafts).where(_drafts.c.job == job)).first()
        if row is None:
            raise NotFoundError(f"job {job} has no capture: its profile came from a file, or there is no such job")
        return row

    def _version(self, connection: sa.Connection, job: int, number: int) -> Any:
        query = sa.select(_versions).where(_versions.c.job == job, _versions.c.number == number)
        return connection.execute(query).one()

    def _later(self, connection: sa.Connection, job: int, row: Any) -> int | None:
        query = sa.select(sa.func.max(_versions.c.number))
        return connection.execute(query.where(_versions.c.job == job, _versions.c.parent == row.current)).scalar()

    def _insert(
        self,
        connection: sa.Connection,
        job: int,
        number: int,
        parent: int | None,
        body: str,
        words: str,
        who: str,
        at: str,
        token: str,
    ) -> None:
        row = {"job": job, "number": number, "parent": parent, "words": words, "who": who, "at": at, "token": token}
        connection.execute(sa.insert(_versions).values(**row, body=zlib.compress(body.encode())))

    def _set(self, connection: sa.Connection, job: int, **values: object) -> None:
        connection.execute(sa.update(_drafts).where(_drafts.c.job == job).values(**values))
