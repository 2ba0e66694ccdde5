"""What every page of the bench stands on: the store, the clock, who is signed in, and how a page is filled."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, field
from datetime import datetime, time, timedelta
from functools import cached_property
from pathlib import Path
from typing import Any, Final

from flask import g, get_flashed_messages, request, url_for

from labelkit.bench.guard import Guard
from labelkit.bench.kept import Cache
from labelkit.bench.keptpages import MadeOf, note
from labelkit.bench.people import People
from labelkit.calc.notepieces import hold_words
from labelkit.calc.record import Record
from labelkit.calc.steps import Bin, Inside
from labelkit.errors import NotFoundError
from labelkit.language import spoken
from labelkit.model.events import Event
from labelkit.model.part import SeenSits
from labelkit.render.html import page
from labelkit.sheets.cardpages import TEMPLATES, Entry, entry
from labelkit.sheets.cards import Card
from labelkit.sheets.jobview import JobView
from labelkit.sheets.lookup import Lookup, read_scan
from labelkit.store.jobs import Store

# Cards that are kept drawn, one for all jobs of the same unit, and records: those of the jobs that a shop works on.
_KEPT_CARDS: Final = 1024
_KEPT_RECORDS: Final = 256
_LONGEST: Final = 1000  # letters of the address of a page
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
    _records: Cache[tuple[int, str, int], Record] = field(init=False, default_factory=lambda: Cache(_KEPT_RECORDS))
    _events: Cache[int, tuple[Event, ...]] = field(init=False, default_factory=lambda: Cache(_KEPT_RECORDS))
    _drawings: Cache[tuple[object, ...], Entry] = field(init=False, default_factory=lambda: Cache(_KEPT_CARDS))

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
        last = self._last(number)
        key = (number, view.state, last)
        known = self._records.get(key)
        if known is None:
            known = self._records[key] = view.record(self._read(number, last))
        return known

    def _read(self, number: int, last: int) -> tuple[Event, ...]:
        """Return the events of a job; those that are known stay as they are, since the record is only appended to."""
        events = self._events.get(number) or ()
        if len(events) < last:
            events = self._events[number] = (*events, *self.store.journal.events(number, after=len(events)))
        return events[:last]

    def _last(self, number: int) -> int:
        """Return the number of the last event of a job, as it was read with the code where one was asked for."""
        known: tuple[int, int] = g.pop("last", (0, 0))
        return known[1] if known[0] == number else self.store.journal.last(number)

    def entry(self, view: JobView, each: Bin | Inside, shown: Card | None = None) -> Entry:
        """Return the card of a part with its drawings, or that of a new one of it; drawn once for each language.

        What the record of its place knows and the profile does not say is drawn each time.
        """
        photo = url_for("photo", code=view.code(each)) if isinstance(each, Bin) and each.part.photo else None
        if isinstance(each.part.sits, SeenSits):
            return entry(view, each, photo, shown)
        alike = view.alike or view
        key = (alike.job.sha256, alike.state, each.ordinal, spoken())
        drawn = self._drawings.get(key)
        if drawn is None:
            drawn = self._drawings[key] = entry(alike, each, photo)
        return entry(view, each, photo, shown, alike=drawn)

    def may_be_given_again(self, code: str) -> None:
        """Let the page that answers this request be given again, as long as nothing has changed of which it speaks.

        It must be made of nothing but the job of this code, its record, the person, the language and the address. Who
        is not signed in is looked at each time, since many codes may be tried.

        Args:
            code: of the job, as it was found.
        """
        if self.people.name is not None:
            since, until = self.people.shift
            today = self.clock().astimezone().date()  # of which times of the day are told without it
            begin, end = (datetime.combine(day, time()).timestamp() for day in (today, today + timedelta(1)))
            note(MadeOf(read_scan(code), g.pulse, max(since, begin), min(until, end)))

    def find(self, text: str) -> tuple[JobView, Bin]:
        """Return the job and bin of a code that came from outside; unknown ones are counted against who asks.

        Raises:
            TooManyGuesses: too many were unknown; this one is not looked at.
            LabelkitError: as for `Lookup.find`.
        """
        code = read_scan(text)  # what cannot be a code is a slip, not a guess
        pulse = self.store.pulse(code)
        if pulse is not None:
            self.people.knows(pulse.pin_hash)
            g.pulse, g.last = pulse, (pulse.number, pulse.last)
        if self.people.name is not None:
            return self.lookup.at(code, pulse)
        client = request.remote_addr or ""
        with self.guard.turn:
            self.guard.check("code", client)
            try:
                return self.lookup.at(code, pulse)
            except NotFoundError:
                self.guard.wrong("code", client)
                raise

    def fill(self, template: str, **values: Any) -> str:
        """Return a page for the person who asks.

        Args:
            template: its name.
            values: what the template names, besides what every page knows; none of that may be named again, but
                `may_write`: False where nothing can be written any more to what it is of, whoever asks.
        """
        now = self.clock()
        shared = {
            "person": self.people.name,
            "csrf": self.people.form_key,
            "read_only": self.read_only,
            "working": None if self.read_only else self.people.job,
            "may_write": values.pop("may_write", True) and self.people.name is not None and not self.read_only,
            "here": request.full_path.rstrip("?"),
            "again": _again(),
            "messages": lambda: get_flashed_messages(with_categories=True),
            "when": lambda moment: _told_time(moment, now),
            "hold_words": hold_words,
        }
        return page(FOLDERS, template, **shared, **values)


def _again() -> str:
    """Return the address at which this page is opened once more; empty for what a form has sent."""
    if request.method != "GET":
        return ""
    whole = request.full_path.rstrip("?")
    # A code that was typed is answered once; a query that is too long is none of a page.
    return request.path if request.path == "/" or len(whole) > _LONGEST else whole


def _told_time(moment: datetime, now: datetime) -> str:
    """Return a time as this computer's clock on the wall shows it: `14:02` today, else with its date.

    >>> _told_time(datetime.fromisoformat("2026-03-01T10:00+00:00"), datetime.fromisoformat("2026-05-01T10:00+00:00"))
    '2026-03-01 10:00'
    """
    here, today = moment.astimezone(), now.astimezone().date()
    return f"{here:%H:%M}" if here.date() == today else f"{here:%Y-%m-%d %H:%M}"
