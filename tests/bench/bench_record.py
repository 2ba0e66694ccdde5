"""The record under load, on SQLite and on a PostgreSQL of our own: speed with 1,000 jobs, and writers that are killed.

Speed: 1,000 jobs x 60 bins x 4 events; reading and deriving one job, judging an act, appending an event.
Kill: 20 times, 8 clients write 1,000 scans and are killed (SIGKILL) somewhere in between; every second time the
PostgreSQL server dies with them. Every acknowledged event must be there, without a gap, and the store must take
the next one at once.

Run by hand: python -m tests.bench.bench_record [JOBS] [ROUNDS] [sqlite | postgresql]
"""

from __future__ import annotations

import random
import subprocess
import sys
import tempfile
import time
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from datetime import UTC, datetime
from pathlib import Path

from labelkit.calc.gate import judge
from labelkit.calc.record import record_of
from labelkit.calc.steps import places
from labelkit.model.events import Entry, act_of
from labelkit.sheets.jobview import CODES_PER_PLACE, JobView
from labelkit.store.jobs import Store
from tests.postgres import NoServer, Server, running_server
from tests.shop import demo

NOW = datetime(2026, 3, 2, 7, 30, tzinfo=UTC)
CLIENTS, SCANS = 8, 1000
CLIENT = """
import sys
from datetime import UTC, datetime
from labelkit.model.events import Entry, act_of
from labelkit.store.jobs import Store
where, job, name, count = sys.argv[1], int(sys.argv[2]), sys.argv[3], int(sys.argv[4])
with Store(where) as store:
    for turn in range(count):
        token = f"{name}-{turn:06}"
        entry = Entry(act_of({"kind": "removed", "count": 1}), name, datetime.now(UTC), token, turn % 60)
        print(store.journal.append(job, [entry])[0].event.number, token, flush=True)
"""


def open_jobs(store: Store, count: int) -> JobView:
    """Open jobs of the reducer, each with a worked record; return a view of the last one."""
    loaded = demo("planetary-reducer")
    chosen = {group: option.default or "std" for group, option in loaded.profile.options.items()}
    for _ in range(count):
        job = store.create_job(
            number=None,
            serial=None,
            file=loaded.file,
            source=loaded.source,
            options=chosen,
            address="http://h",
            codes=places(loaded.profile) * CODES_PER_PLACE,
            photos={},
        )
        view = JobView(job, loaded.profile, store.secret)
        done = ({"kind": "removed", "count": 1}, {"kind": "washed"}, {"kind": "inspected", "verdict": "reuse"})
        entries = [
            Entry(act_of(each), "Ana", NOW, f"{each['kind']}-{place:06}", place)
            for each in (*done, {"kind": "noted", "note": "seen"})
            for place in range(60)
        ]
        store.journal.append(job.number, entries)
    return view


def timed(what: str, turns: int, call: Callable[[int], object]) -> None:
    """Print the median and the 95th percentile of some calls, ms."""
    took = []
    for turn in range(turns):
        start = time.perf_counter()
        call(turn)
        took.append((time.perf_counter() - start) * 1000)
    took.sort()
    print(f"  {what:48} median {took[turns // 2]:7.2f} ms   p95 {took[int(turns * 0.95)]:7.2f} ms")


def speed(where: str, jobs: int) -> None:
    """Time what a page does."""
    with Store(where) as store:
        start = time.perf_counter()
        view = open_jobs(store, jobs)
        print(f"  {jobs} jobs x 240 events written in {time.perf_counter() - start:.1f} s")
        profile, removal, order = view.profile, view.teardown, view.order
        one = act_of({"kind": "installed"})

        def derive(turn: int, place: int | None = None) -> object:
            number = turn * 37 % jobs + 1
            return record_of(profile, removal, order, store.journal.events(number, place=place))

        def append(turn: int) -> None:
            entry = Entry(act_of({"kind": "washed"}), "Ben", NOW, f"bench-{turn:08}", turn % 60, seen=240)
            store.journal.append(turn * 37 % jobs + 1, [entry])

        record = derive(0)
        timed("events of one bin, read and derived", 200, lambda turn: derive(turn, turn % 60))
        timed("events of one job, read and derived", 200, derive)
        timed("judged by the gate, on a record that is there", 100, lambda turn: judge(record, one, turn % 50, "Ben"))  # type: ignore[arg-type]
        timed("appended", 400, append)
        timed("all jobs glanced at", 20, lambda _: store.journal.glances())


def killed_round(where: str, job: int, turn: int, server: Server | None) -> int:
    """Write from 8 clients, kill them in the middle, check; return how many events were acknowledged."""
    with tempfile.TemporaryDirectory() as folder:
        files = [Path(folder) / f"{client}" for client in range(CLIENTS)]
        names = [f"r{turn:02}c{client}" for client in range(CLIENTS)]
        command = [sys.executable, "-c", CLIENT, where, str(job)]
        running = []
        for file, name in zip(files, names, strict=True):
            with file.open("wb") as out:
                arguments = [*command, name, str(SCANS // CLIENTS)]
                running.append(subprocess.Popen(arguments, stdout=out, stderr=subprocess.PIPE, text=True))
        aim = random.Random(turn).randrange(50, SCANS - 50)
        while sum(file.read_bytes().count(b"\n") for file in files) < aim:
            if failed := [process for process in running if process.poll()]:
                raise SystemExit(f"round {turn}: a client ended: {failed[0].communicate()[1][-400:]}")
            time.sleep(0.005)
        if server is not None:
            server.stop("immediate")
        for process in running:
            process.kill()
        for process in running:
            process.communicate()
        if server is not None:
            server.start()
        lines = [line for file in files for line in file.read_text().splitlines(keepends=True) if line.endswith("\n")]
    told = {int(number): token for number, token in (line.split() for line in lines)}
    with Store(where, create=False) as store:
        events = store.journal.events(job)
        kept = {event.number: event.token for event in events}
        if list(kept) != list(range(1, len(events) + 1)):
            raise SystemExit(f"round {turn}: the numbers have a gap")
        if not told.items() <= kept.items():
            raise SystemExit(f"round {turn}: acknowledged events are lost: {sorted(set(told) - set(kept))[:5]}")
        entry = Entry(act_of({"kind": "noted", "note": "after"}), "Ana", NOW, f"after-{turn:06}", None)
        if store.journal.append(job, [entry])[0].event.number != len(events) + 1:
            raise SystemExit(f"round {turn}: the next event does not follow")
    return len(told)


def killed(where: str, rounds: int, server: Server | None) -> None:
    """Kill writers, round after round, on one job."""
    with Store(where) as store:
        job = open_jobs(store, 1).job.number
    start = time.perf_counter()
    counts = [killed_round(where, job, turn, server if turn % 2 else None) for turn in range(rounds)]
    took = time.perf_counter() - start
    print(
        f"  {rounds} rounds killed after {min(counts)} to {max(counts)} of {SCANS} scans, {sum(counts)} acknowledged:"
    )
    print(f"  every one is there, no gap, no repair; {took:.0f} s")


@contextmanager
def stores() -> Iterator[list[tuple[str, Callable[[], str], Server | None]]]:
    """Give a name, a maker of new places and a server for each kind of database."""
    with tempfile.TemporaryDirectory() as folder:
        count = iter(range(100))
        found: list[tuple[str, Callable[[], str], Server | None]] = [
            ("SQLite", lambda: f"{folder}/{next(count)}.sqlite", None)
        ]
        try:
            with running_server(safe=True) as server:
                yield [*found, ("PostgreSQL", server.url, server)]
        except NoServer as reason:
            print(reason)
            yield found


def main() -> None:
    """Run everything on both."""
    jobs = int(sys.argv[1]) if len(sys.argv) > 1 else 1000
    rounds = int(sys.argv[2]) if len(sys.argv) > 2 else 20
    only = sys.argv[3].lower() if len(sys.argv) > 3 else ""
    with stores() as kinds:
        for name, place, server in (kind for kind in kinds if only in kind[0].lower()):
            print(name)
            speed(place(), jobs)
            killed(place(), rounds, server)


if __name__ == "__main__":
    main()
