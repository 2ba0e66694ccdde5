"""What every page of the bench stands on: the store, the clock, who is signed in, and how a page is filled."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, field
from datetime import datetime
from functools import cached_property, lru_cache
from pathlib import Path
from typing import Any, Final

from flask import get_flashed_messages, request, url_for

from labelkit.bench.guard import Guard
from labelkit.bench.people import People
from labelkit.calc.record import Record, record_of
from labelkit.calc.steps import Bin, Inside
from labelkit.errors import NotFoundError
from labelkit.language import spoken
from labelkit.render.html import page
from labelkit.sheets.cardpages import TEMPLATES, Entry, entry
from labelkit.sheets.jobview import JobView
from labelkit.sheets.lookup import KEPT_JOBS, Lookup, read_scan
from labelkit.store.jobs import Store

# Cards that are kept drawn: those of the jobs that a shop works on.
_KEPT_CARDS: Final = 1024
FOLDERS: Final = (Path(__file__).parent / "templates", TEMPLATES)


@dataclass(frozen=True)
class Bench:
    """Everything that pages share.

    Attributes:
        store: the jobs; closed by who opened it.
        clock: gives the time, with its zone.
        read_only: nobody can write: a screen on the wall.
    """

    store: Store
    clock: Callable[[], datetime]
    read_only: bool = False
    _records: Callable[[int, str, int], Record] = field(init=False)
    _entries: Callable[[int, str, int, int | None, str], Entry] = field(init=False)

    def __post_init__(self) -> None:
        object.__setattr__(self, "_records", lru_cache(KEPT_JOBS)(self._derived))
        object.__setattr__(self, "_entries", lru_cache(_KEPT_CARDS)(self._drawn))

    @cached_property
    def lookup(self) -> Lookup:
        """Finds bins by their codes."""
        return Lookup(self.store)

    @cached_property
    def guard(self) -> Guard:
        """Stops who guesses."""
        return Guard(self.store.doorway, self.clock)

    @cached_property
    def people(self) -> People:
        """Who is signed in."""
        return People(self.store, self.guard, self.clock)

    @property
    def may_read(self) -> bool:
        """Whether lists may be shown to who asks."""
        return self.read_only or self.people.name is not None

    def record(self, view: JobView) -> Record:
        """Return the state of a job as of its last event."""
        number = view.job.number
        return self._records(number, repr(view.job), self.store.journal.last(number))

    def _derived(self, number: int, _state: str, _last: int) -> Record:
        view = self.lookup.view(number)
        return record_of(view.profile, view.teardown, view.order, self.store.journal.events(number))

    def entry(self, view: JobView, each: Bin, new: Bin | Inside | None = None) -> Entry:
        """Return the card of a bin with its drawings, or that of a new part of it; drawn once for each language."""
        ordinal = None if new is None else new.ordinal
        return self._entries(view.job.number, repr(view.job), each.ordinal, ordinal, spoken())

    def _drawn(self, number: int, _state: str, ordinal: int, new: int | None, _language: str) -> Entry:
        view = self.lookup.view(number)
        places: list[Bin | Inside] = [*view.teardown.bins, *view.teardown.inside]
        by_ordinal = {each.ordinal: each for each in places}
        each = next(each for each in view.teardown.bins if each.ordinal == ordinal)
        photo = url_for("photo", code=view.code(each)) if each.part.photo else None
        return entry(view, each, photo, None if new is None else by_ordinal[new])

    def find(self, text: str) -> tuple[JobView, Bin]:
        """Return the job and bin of a code that came from outside; unknown ones are counted against who asks.

        Raises:
            TooManyGuesses: too many were unknown; this one is not looked at.
            LabelkitError: as for `Lookup.find`.
        """
        client = request.remote_addr or ""
        if self.people.name is not None:
            return self.lookup.find(text)
        with self.guard.turn:
            self.guard.check("code", client)
            read_scan(text)  # what cannot be a code is a slip, not a guess
            try:
                return self.lookup.find(text)
            except NotFoundError:
                self.guard.wrong("code", client)
                raise

    def fill(self, template: str, **values: Any) -> str:
        """Return a page for the person who asks."""
        now = self.clock()
        shared = {
            "person": self.people.name,
            "csrf": self.people.form_key,
            "read_only": self.read_only,
            "may_write": self.people.name is not None and not self.read_only,
            "here": request.full_path.rstrip("?"),
            "messages": lambda: get_flashed_messages(with_categories=True),
            "when": lambda moment: told_time(moment, now),
        }
        return page(FOLDERS, template, **(shared | values))


def told_time(moment: datetime, now: datetime) -> str:
    """Return a time as this computer's clock on the wall shows it: `14:02` today, else with its date.

    >>> told_time(datetime.fromisoformat("2026-03-01T10:00:00+00:00"), datetime.fromisoformat("2026-05-01T10:00+00:00"))
    '2026-03-01 10:00'
    """
    here, today = moment.astimezone(), now.astimezone().date()
    return f"{here:%H:%M}" if here.date() == today else f"{here:%Y-%m-%d %H:%M}"
