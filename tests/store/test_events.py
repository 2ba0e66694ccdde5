"""The record in the database: no gaps, nothing doubled, nothing lost, nothing changed; on both databases."""

from __future__ import annotations

import itertools
import subprocess
import sys
from concurrent.futures import ThreadPoolExecutor
from dataclasses import replace
from datetime import UTC, datetime, timedelta, timezone
from typing import Any

import pytest
import sqlalchemy as sa

from labelkit.errors import InputError, NotFoundError, OutputError, UsageError
from labelkit.model.acts import KINDS
from labelkit.model.events import ActFaults, Entry, Event, act_of
from labelkit.store import tables
from labelkit.store.jobs import Store
from tests.bench_app.workshop import open_job, png, pump

NOW = datetime(2026, 3, 2, 7, 30, tzinfo=UTC)
_tokens = itertools.count()


def entry(kind: str = "removed", place: int | None = 0, *, who: str = "Ana", token: str = "", **fields: Any) -> Entry:
    seen = fields.pop("seen", None)
    act = act_of({"kind": kind, **fields})
    return Entry(act, who, NOW, token or f"token-{next(_tokens):06}", place, seen)


@pytest.fixture
def job(store: Store) -> int:
    return open_job(store, pump()).job.number


def write(store: Store, job: int, *entries: Entry) -> list[Event]:
    return [kept.event for kept in store.journal.append(job, entries)]


def test_the_table_has_room_for_every_kind_of_act() -> None:
    """PostgreSQL refuses a name that is longer than its column, SQLite does not."""
    assert max(map(len, KINDS)) <= tables.events.c.kind.type.length


def test_an_event_comes_back_as_it_was(store: Store, job: int) -> None:
    """Figures keep their zeros, times their moment, whatever zone they were told in."""
    act = act_of(
        {"kind": "reading", "check": 0, "at": "apart", "values": ["0.30", "2.600"], "unit": "mm", "cold": True}
    )
    there = NOW.astimezone(timezone(timedelta(hours=5)))

    (kept,) = store.journal.append(job, [Entry(act, " Ana ", there, "token-abc", 2)])

    assert (kept.event,) == store.journal.events(job)
    assert Event(job, 1, act, "Ana", NOW, "token-abc", 2) == kept.event
    assert ["0.30", "2.600"] == kept.event.data()["act"]["values"]


def test_events_of_each_job_are_numbered_from_one(store: Store, job: int) -> None:
    """Another job has numbers of its own, and each knows only its events."""
    other = open_job(store, pump(), serial="2").job.number

    written = [write(store, number, entry()) for number in (job, other, job, job, other)]

    assert [1, 1, 2, 3, 2] == [events[0].number for events in written]
    assert [1, 2, 3] == [event.number for event in store.journal.events(job)]
    assert (3, 2, 0) == (store.journal.last(job), store.journal.last(other), store.journal.last(99))


def test_events_since_and_of_one_place(store: Store, job: int) -> None:
    """A page asks for what is new, a card for its own part and what is about the job."""
    write(store, job, entry(place=1), entry(place=2), entry("closed", None), entry("reopened", None, why="x"))

    assert [3, 4] == [event.number for event in store.journal.events(job, after=2)]
    assert [2, 3, 4] == [event.number for event in store.journal.events(job, place=2)]


def test_the_same_entry_sent_again_is_told_and_not_doubled(store: Store, job: int) -> None:
    """A phone that had no answer sends once more; another act under the same token is an error."""
    first = entry(token="phone-0001", count=2)

    (once,), (again,) = store.journal.append(job, [first]), store.journal.append(job, [first])

    assert not once.again
    assert again.again
    assert once.event == again.event
    assert 1 == store.journal.last(job)
    with pytest.raises(UsageError, match="the token phone-0001 stands at another entry already, removed by Ana"):
        store.journal.append(job, [entry(token="phone-0001", count=3)])


def test_entries_are_written_together_or_not_at_all(store: Store, job: int) -> None:
    """A correction and what is right instead, or neither."""
    with pytest.raises(NotFoundError, match="has no picture"):
        store.journal.append(job, [entry(), entry("photo", None, sha256="0" * 64)])
    with pytest.raises(UsageError, match="two entries have the same token"):
        store.journal.append(job, [entry(token="twice-0001"), entry(token="twice-0001")])
    assert () == store.journal.events(job)


def test_an_option_is_set_with_the_event_that_says_why_or_not_at_all(store: Store, job: int) -> None:
    """The record is part of the change around it."""
    before = store.job(job)

    def decide(fails: bool) -> None:
        with store.changing():
            write(store, job, entry("option_seen", None, option="drive", choice="keyed", how="looked"))
            store.update_job(replace(before, options={"drive": "keyed"}))
            if fails:
                raise OutputError("no room")

    with pytest.raises(OutputError):
        decide(fails=True)
    assert ((), before) == (store.journal.events(job), store.job(job))
    decide(fails=False)
    assert (1, {"drive": "keyed"}) == (store.journal.last(job), store.job(job).options)


def test_two_people_at_one_bin_are_both_kept_and_the_second_is_told(store: Store, job: int) -> None:
    """What came about the same place, or the job, since the page was made; nothing about other places."""
    seen = write(store, job, entry(place=1))[0].number
    first = write(store, job, entry("condemned", 1, why="cracked", who="Ben"))[0]
    hold = write(store, job, entry("hold", None, why="wait", who="Owner"))[0]
    write(store, job, entry(place=2, who="Ben"))

    (kept,) = store.journal.append(job, [entry("washed", 1, seen=seen)])
    (fresh,) = store.journal.append(job, [entry("washed", 1, seen=store.journal.last(job))])

    assert (first, hold) == kept.meanwhile
    assert () == fresh.meanwhile
    assert [1, 2, 3, 4, 5, 6] == [event.number for event in store.journal.events(job)]


def test_many_at_once_leave_no_gap_and_no_double(store: Store, job: int) -> None:
    """Eight threads write to one job; each number is given once, and each is told of what it had not seen."""

    def scan(worker: int) -> list[int]:
        return [store.journal.append(job, [entry(place=worker, seen=0)])[0].event.number for _ in range(10)]

    with ThreadPoolExecutor(8) as threads:
        numbers = list(itertools.chain(*threads.map(scan, range(8))))

    assert list(range(1, 81)) == sorted(numbers)
    assert 80 == store.journal.last(job)


def test_a_closed_job_takes_nothing_until_it_is_reopened(store: Store, job: int) -> None:
    """Also within one call."""
    write(store, job, entry("closed", None))

    with pytest.raises(UsageError, match=f"job {job} is closed: nothing is recorded any more; reopen it first"):
        write(store, job, entry())
    assert 3 == write(store, job, entry("reopened", None, why="leak"), entry())[-1].number


def test_a_job_that_is_not_there_takes_nothing(store: Store, job: int) -> None:
    """And says so."""
    with pytest.raises(NotFoundError, match=r"job 99 is not in the store .*; nothing was recorded"):
        write(store, 99, entry())


@pytest.mark.parametrize("statement", ["UPDATE events SET who = 'Eve'", "DELETE FROM events"])
def test_no_program_changes_what_was_written(store: Store, job: int, statement: str) -> None:
    """Neither this one nor another one on the same database."""
    expected = write(store, job, entry())

    refused = pytest.raises(OutputError, match="the record is only appended to")
    with refused, store._database.transaction(writes=True) as connection:
        connection.execute(sa.text(statement))
    assert expected == list(store.journal.events(job))


def test_pictures_are_kept_once_by_what_they_hold(store: Store, job: int) -> None:
    """Two entries may name the same picture; a picture nobody kept has no event."""
    name = store.journal.keep_picture(png())

    assert name == store.journal.keep_picture(png())
    assert png() == store.journal.picture(name)
    write(store, job, entry("photo", 1, sha256=name), entry("photo", None, sha256=name))
    with pytest.raises(NotFoundError, match="has no picture ffff"):
        store.journal.picture("f" * 64)


def test_a_list_of_jobs_tells_the_last_event_and_what_is_closed(store: Store, job: int) -> None:
    """A job without events is not in it."""
    other = open_job(store, pump(), serial="2").job.number
    write(store, job, entry(), entry("closed", None, who="Owner"))

    glances = store.journal.glances()

    assert (2, "Owner", NOW, True) == (glances[job].events, glances[job].who, glances[job].when, glances[job].closed)
    assert other not in glances


def test_an_event_of_a_later_program_is_named(store: Store, job: int) -> None:
    """A kind this program does not know is told with its number, and no traceback."""
    write(store, job, entry())
    with store._database.transaction(writes=True) as connection:
        columns, values = "job, number, kind, who, at, token, body", "2, 'welded', 'Ana', '2026-03-02', 'x', '{}'"
        connection.execute(sa.text(f"INSERT INTO events ({columns}) VALUES ({job}, {values})"))

    with pytest.raises(InputError, match=f"event 2 of job {job} cannot be read: it is damaged, or a later labelkit"):
        store.journal.events(job)


@pytest.mark.parametrize(
    ("fields", "field"),
    [
        ({"who": " "}, "who"),
        ({"who": "A" * 61}, "who"),
        ({"who": "A\nB"}, "who"),
        ({"token": "short"}, "token"),
        ({"token": "with space"}, "token"),
        ({"when": datetime(2026, 1, 1)}, "when"),
        ({"place": None}, "place"),
        ({"place": -1}, "place"),
    ],
)
def test_an_entry_without_name_time_or_place_is_none(fields: dict[str, Any], field: str) -> None:
    """Each fault is told at its field."""
    whole = {"act": act_of({"kind": "removed"}), "who": "Ana", "when": NOW, "token": "token-000001", "place": 1}

    with pytest.raises(ActFaults) as told:
        Entry(**{**whole, **fields})
    assert [field] == list(told.value.faults)


WRITER = """
import sys
from datetime import UTC, datetime
from labelkit.model.events import Entry, act_of
from labelkit.store.jobs import Store
where, job, name = sys.argv[1], int(sys.argv[2]), sys.argv[3]
with Store(where) as store:
    for turn in range(100_000):
        token = f"{name}-{turn:06}"
        entry = Entry(act_of({"kind": "removed", "count": turn % 9}), name, datetime.now(UTC), token, turn % 60)
        kept = store.journal.append(job, [entry])
        print(kept[0].event.number, token, flush=True)
"""


def test_a_killed_writer_loses_nothing_that_was_acknowledged(store: Store, job: int, where: str) -> None:
    """Two clients are killed in the middle; every event they were told of is there, whole, without a gap, and the next
    start needs no repair."""
    command = [sys.executable, "-c", WRITER, where, str(job)]
    running = [subprocess.Popen([*command, f"client{k}"], stdout=subprocess.PIPE, text=True) for k in range(2)]
    said = [[process.stdout.readline() for _ in range(5)] for process in running]  # type: ignore[union-attr]
    for process in running:
        process.kill()
    acknowledged: dict[int, str] = {}
    for process, lines in zip(running, said, strict=True):
        rest = process.communicate()[0].splitlines(keepends=True)
        whole = [line.split() for line in (*lines, *rest) if line.endswith("\n")]
        acknowledged |= {int(number): token for number, token in whole}

    with Store(where, create=False) as again:
        events = again.journal.events(job)
        assert list(range(1, len(events) + 1)) == [event.number for event in events]
        assert acknowledged.items() <= {event.number: event.token for event in events}.items()
        assert len(events) + 1 == write(again, job, entry())[0].number
    assert len(acknowledged) >= 10
