"""A store full of jobs in pieces, on SQLite or on a PostgreSQL of our own, for the benchmarks of store and bench."""

from __future__ import annotations

import tempfile
from collections.abc import Callable, Iterator, Mapping, Sequence
from contextlib import contextmanager
from dataclasses import dataclass
from datetime import UTC, datetime
from pathlib import Path
from typing import Any, Final

from labelkit.calc.steps import places
from labelkit.model.events import Event, act_of
from labelkit.sheets.jobview import CODES_PER_PLACE, JobView
from labelkit.store.jobs import Store
from tests.postgres import NoServer, Server, running_server
from tests.shop import demo

NOW: Final = datetime(2026, 3, 2, 7, 30, tzinfo=UTC)
BINS: Final = 60
_UNIT: Final = "marine-gear"


@dataclass(frozen=True, slots=True)
class Filled:
    """What was put into a store.

    Attributes:
        bins: codes of the bins by the number of their job.
        last: the job that was opened last.
    """

    bins: Mapping[int, tuple[str, ...]]
    last: JobView


@dataclass(frozen=True, slots=True)
class Kind:
    """A kind of database: its name, a maker of new empty places in it, and its server where it has one."""

    name: str
    place: Callable[[], str]
    server: Server | None


def fill(store: Store, jobs: int, acts: Sequence[Mapping[str, Any]]) -> Filled:
    """Open jobs of one unit, as a kit does, and put the same acts on record for each of the first 60 bins of each.

    Args:
        store: empty.
        jobs: how many.
        acts: as `act_of` takes them; each kind once, since tokens are made from it.
    """
    loaded = demo(_UNIT)
    chosen = {group: option.default or next(iter(option.choices)) for group, option in loaded.profile.options.items()}
    done = [act_of(each) for each in acts]
    bins: dict[int, tuple[str, ...]] = {}
    first: JobView | None = None
    with store.changing():
        for _ in range(jobs):
            job = store.create_job(
                number=None,
                serial=None,
                file=loaded.file,
                source=loaded.source,
                options=chosen,
                address="http://bench",
                codes=places(loaded.profile) * CODES_PER_PLACE,
                photos={},
            )
            view = JobView(job, loaded.profile, store.secret, first)
            first = first or view
            own = view.teardown.bins[:BINS]
            record = [
                Event(job.number, number, act, "Ana", NOW, f"{act.kind}-{each.ordinal:06}", each.ordinal)
                for number, (act, each) in enumerate(((act, each) for act in done for each in own), 1)
            ]
            store.journal.restore(job.number, record, {})
            bins[job.number] = tuple(view.code(each) for each in own)
    return Filled(bins, view)


@contextmanager
def kinds(only: str = "") -> Iterator[list[Kind]]:
    """Give every kind of database that is here; a server is ended when the block ends.

    Args:
        only: part of the name of those that are wanted, in small letters.
    """
    with tempfile.TemporaryDirectory() as folder:
        count = iter(range(1000))
        sqlite = Kind("SQLite", lambda: str(Path(folder) / f"{next(count)}.sqlite"), None)
        found = [sqlite] if only in "sqlite" else []
        if only not in "postgresql":
            yield found
            return
        try:
            with running_server(safe=True) as server:
                yield [*found, Kind("PostgreSQL", server.url, server)]
        except NoServer as reason:
            print(reason)
            yield found
