"""The record: events of jobs, appended and never changed, with the pictures they name."""

from __future__ import annotations

import hashlib
from collections.abc import Callable, Iterable, Mapping, Sequence
from contextlib import AbstractContextManager
from dataclasses import dataclass
from datetime import datetime
from typing import Any

import sqlalchemy as sa

from labelkit.errors import InputError, NotFoundError, UsageError
from labelkit.model.acts import Photo
from labelkit.model.events import Entry, Event, act_of_text, act_text
from labelkit.store.database import Database
from labelkit.store.tables import events as _events
from labelkit.store.tables import jobs as _jobs
from labelkit.store.tables import pictures as _pictures


@dataclass(frozen=True, slots=True)
class Kept:
    """What became of one entry.

    Attributes:
        event: as the record keeps it.
        again: it had been written before, by an entry with the same token; nothing was added.
        meanwhile: what came to the record about the same place, or about the job, after the event that the person had
            seen last: both are kept, and this one's writer is to be told.
    """

    event: Event
    again: bool
    meanwhile: tuple[Event, ...]


@dataclass(frozen=True, slots=True)
class Glance:
    """What a list of jobs tells of a record: how many events, the last one, and whether the job is closed."""

    events: int
    who: str
    when: datetime
    closed: bool


class Journal:
    """The events of all jobs of a store.

    Events of a job are numbered from 1 without gaps. A call returns when what it wrote is on the disk.

    Args:
        database: that of the store.
        changed: begins a change of the store.
    """

    def __init__(self, database: Database, changed: Callable[[], AbstractContextManager[sa.Connection]]) -> None:
        self._database = database
        self._changed = changed

    def append(self, job: int, entries: Sequence[Entry]) -> tuple[Kept, ...]:
        """Write entries, all of them or none.

        Args:
            job: number of the job.
            entries: in the order in which they happened.

        Returns:
            What became of each, in their order.

        Raises:
            NotFoundError: no such job, or a picture that the store has not.
            UsageError: the job is closed, or a token stands at another entry already.
            OutputError: they cannot be written; none of them is.
        """
        with self._database.transaction(writes=True) as connection:
            # Whoever writes to this job waits here; other jobs go on, where the database can do that.
            lock = sa.select(_jobs.c.number).where(_jobs.c.number == job).with_for_update()
            if connection.execute(lock).first() is None:
                raise NotFoundError(f"job {job} is not in the store {self._database.where}; nothing was recorded")
            last = self._last(connection, job)
            before = self._by_token(connection, job, entries)
            fresh = [entry for entry in entries if entry.token not in before]
            if len({entry.token for entry in fresh}) < len(fresh):
                raise UsageError("two entries have the same token; each needs its own")
            self._check(connection, job, fresh)
            added = [
                Event(job, number, entry.act, entry.who, entry.when, entry.token, entry.place)
                for number, entry in enumerate(fresh, last + 1)
            ]
            self._insert(connection, added)
            known = {**before, **{event.token: event for event in added}}
            return tuple(
                Kept(_same(known[entry.token], entry), entry.token in before, self._since(connection, job, entry, last))
                for entry in entries
            )

    def events(self, job: int, *, after: int = 0, place: int | None = None) -> tuple[Event, ...]:
        """Return the events of a job, in their order; none for a job that has none, or is not there.

        Args:
            job: its number.
            after: number of the last event that is not wanted.
            place: only those of this place, and those about the job.
        """
        query = sa.select(_events).where(_events.c.job == job, _events.c.number > after)
        if place is not None:
            query = query.where(sa.or_(_events.c.place == place, _events.c.place.is_(None)))
        with self._database.transaction() as connection:
            return self._read(connection, query.order_by(_events.c.number))

    def last(self, job: int) -> int:
        """Return the number of the last event of a job, 0 when it has none."""
        with self._database.transaction() as connection:
            return self._last(connection, job)

    def names_places(self, job: int) -> bool:
        """Say whether any event of a job is about a part of it: from then on its places keep their order."""
        about = _events.c.place.is_not(None) | (_events.c.kind == "wash_started")  # the only act with places in it
        with self._database.transaction() as connection:
            return connection.execute(sa.select(1).where(_events.c.job == job, about).limit(1)).first() is not None

    def glances(self) -> dict[int, Glance]:
        """Return what a list tells of every job that has events, by its number."""
        # The last number of each job is the end of its stretch of the primary key: nothing is counted through.
        own = _events.alias()
        top = sa.select(sa.func.max(own.c.number)).where(own.c.job == _jobs.c.number).correlate(_jobs).scalar_subquery()
        lasts = sa.select(_events.c.job, _events.c.number, _events.c.who, _events.c.at).where(
            sa.tuple_(_events.c.job, _events.c.number).in_(sa.select(_jobs.c.number, top))
        )
        ends = sa.select(_events.c.job, _events.c.kind).where(_events.c.kind.in_(("closed", "reopened")))
        with self._database.transaction() as connection:
            closed = {job: kind == "closed" for job, kind in connection.execute(ends.order_by(_events.c.number))}
            return {
                row.job: Glance(row.number, row.who, datetime.fromisoformat(row.at), closed.get(row.job, False))
                for row in connection.execute(lasts)
            }

    def restore(self, job: int, events: Iterable[Event], pictures: Mapping[str, bytes]) -> None:
        """Put the record of a job that came from elsewhere in its place; the job has none yet.

        Raises:
            UsageError: it has one.
        """
        with self._changed() as connection:
            if self._last(connection, job):
                raise UsageError(f"job {job} has a record already; it is not mixed with another one")
            for data in pictures.values():
                self.keep_picture(data)
            self._insert(connection, list(events))

    def keep_picture(self, data: bytes) -> str:
        """Keep a picture and return its SHA-256; the same picture is kept once."""
        name = hashlib.sha256(data).hexdigest()
        with self._database.transaction(writes=True) as connection:
            if not _is_kept(connection, name):
                self._database.insert_if_new(connection, _pictures, {"sha256": name, "data": data})
        return name

    def has_picture(self, sha256: str) -> bool:
        """Say whether a picture is kept."""
        with self._database.transaction() as connection:
            return _is_kept(connection, sha256)

    def picture(self, sha256: str) -> bytes:
        """Return a picture.

        Raises:
            NotFoundError: there is none of this name.
        """
        with self._database.transaction() as connection:
            data = connection.execute(sa.select(_pictures.c.data).where(_pictures.c.sha256 == sha256)).scalar()
        if data is None:
            raise NotFoundError(f"the store {self._database.where} has no picture {sha256[:16]}")
        return bytes(data)

    def _check(self, connection: sa.Connection, job: int, entries: Sequence[Entry]) -> None:
        """Refuse entries to a closed job, and such as name a picture that is not there."""
        ends = sa.select(_events.c.kind).where(_events.c.job == job, _events.c.kind.in_(("closed", "reopened")))
        closed = connection.execute(ends.order_by(_events.c.number.desc()).limit(1)).scalar() == "closed"
        for entry in entries:
            if closed and entry.act.kind != "reopened":
                raise UsageError(f"job {job} is closed: nothing is recorded any more; reopen it first, with a reason")
            closed = (closed and entry.act.kind != "reopened") or entry.act.kind == "closed"
        for name in {entry.act.sha256 for entry in entries if isinstance(entry.act, Photo)}:
            if not _is_kept(connection, name):
                raise NotFoundError(f"the store {self._database.where} has no picture {name[:16]}; keep it first")

    def _insert(self, connection: sa.Connection, events: Sequence[Event]) -> None:
        rows = [
            {
                "job": event.job,
                "number": event.number,
                "place": event.place,
                "kind": event.act.kind,
                "who": event.who,
                "at": event.when.isoformat(),
                "token": event.token,
                "body": act_text(event.act),
            }
            for event in events
        ]
        if rows:
            connection.execute(sa.insert(_events), rows)

    def _since(self, connection: sa.Connection, job: int, entry: Entry, last: int) -> tuple[Event, ...]:
        if entry.seen is None or entry.seen >= last:
            return ()
        about: sa.ColumnElement[bool] = _events.c.place.is_(None)
        if entry.place is not None:
            about = sa.or_(about, _events.c.place == entry.place)
        query = sa.select(_events).where(_events.c.job == job, _events.c.number > entry.seen, about)
        found = self._read(connection, query.where(_events.c.number <= last).order_by(_events.c.number))
        return tuple(event for event in found if event.token != entry.token)

    def _by_token(self, connection: sa.Connection, job: int, entries: Sequence[Entry]) -> dict[str, Event]:
        tokens = [entry.token for entry in entries]
        query = sa.select(_events).where(_events.c.job == job, _events.c.token.in_(tokens))
        return {event.token: event for event in self._read(connection, query)}

    def _last(self, connection: sa.Connection, job: int) -> int:
        query = sa.select(sa.func.max(_events.c.number)).where(_events.c.job == job)
        return connection.execute(query).scalar() or 0

    def _read(self, connection: sa.Connection, query: sa.Select[Any]) -> tuple[Event, ...]:
        return tuple(self._event(row) for row in connection.execute(query))

    def _event(self, row: Any) -> Event:
        try:
            act, when = act_of_text(row.kind, row.body), datetime.fromisoformat(row.at)
        except (KeyError, ValueError) as error:
            raise InputError(
                f"the store {self._database.where}: event {row.number} of job {row.job} cannot be read: it is damaged, "
                "or a later labelkit has written it"
            ) from error
        return Event(row.job, row.number, act, row.who, when, row.token, row.place)


def _is_kept(connection: sa.Connection, sha256: str) -> bool:
    return connection.execute(sa.select(_pictures.c.sha256).where(_pictures.c.sha256 == sha256)).first() is not None


def _same(event: Event, entry: Entry) -> Event:
    """Return an event whose entry came again; the time may differ, nothing else."""
    if (event.act, event.who, event.place) != (entry.act, entry.who, entry.place):
        raise UsageError(
            f"the token {entry.token} stands at another entry already, {event.act.kind} by {event.who}; "
            "each entry needs its own"
        )
    return event
