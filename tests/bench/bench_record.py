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
from dataclasses import dataclass
from pathlib import Path

from labelkit.calc.allowed import Assembly
from labelkit.calc.gate import judge
from labelkit.calc.record import Record, record_of
from labelkit.model.events import Entry, act_of
from labelkit.store.jobs import Store
from tests.bench.filled import BINS, NOW, Kind, fill, kinds
from tests.bench.rows import Row
from tests.postgres import Server

WORKED = (
    {"kind": "removed", "count": 1},
    {"kind": "washed"},
    {"kind": "inspected", "verdict": "reuse"},
    {"kind": "noted", "note": "seen"},
)
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


@dataclass(frozen=True, slots=True)
class Timing:
    """What was done, and the median and the 95th percentile of what it took, ms."""

    what: str
    median: float
    p95: float


def timed(what: str, turns: int, call: Callable[[int], object]) -> Timing:
    """Do something so many times."""
    took = []
    for turn in range(turns):
        start = time.perf_counter()
        call(turn)
        took.append((time.perf_counter() - start) * 1000)
    took.sort()
    return Timing(what, took[turns // 2], took[int(turns * 0.95)])


def speed(where: str, jobs: int) -> Iterator[Timing]:
    """Time what a page does, and first how long it takes to fill an empty store."""
    with Store(where) as store:
        start = time.perf_counter()
        view = fill(store, jobs, WORKED).last
        filling = (time.perf_counter() - start) * 1000
        yield Timing(f"{jobs:,} jobs x {BINS * len(WORKED)} events", filling, filling)
        profile, removal, order = view.profile, view.teardown, view.order
        one = act_of({"kind": "installed"})

        def derive(turn: int, place: int | None = None) -> Record:
            number = turn * 37 % jobs + 1
            return record_of(profile, removal, order, store.journal.events(number, place=place))

        def append(turn: int) -> None:
            seen = BINS * len(WORKED)
            entry = Entry(act_of({"kind": "washed"}), "Ben", NOW, f"bench-{turn:08}", turn % BINS, seen=seen)
            store.journal.append(turn * 37 % jobs + 1, [entry])

        record = derive(0)
        yield timed("events of one bin, read and derived", 200, lambda turn: derive(turn, turn % BINS))
        yield timed("events of one job, read and derived", 200, derive)
        yield timed(
            "judged by the gate, on a record that is there",
            100,
            lambda turn: judge(Assembly(record), one, turn % 50, "Ben"),
        )
        yield timed("appended", 400, append)
        yield timed("all jobs glanced at", 20, lambda _: store.journal.glances())


def killed_round(where: str, job: int, turn: int, server: Server | None) -> tuple[int, int]:
    """Write from 8 clients, kill them in the middle; return how many events were acknowledged, and how many are lost.

    The program ends where the record has a gap or does not take the next event.
    """
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
        entry = Entry(act_of({"kind": "noted", "note": "after"}), "Ana", NOW, f"after-{turn:06}", None)
        if store.journal.append(job, [entry])[0].event.number != len(events) + 1:
            raise SystemExit(f"round {turn}: the next event does not follow")
    return len(told), len(told.items() - kept.items())


def killed(where: str, rounds: int, server: Server | None) -> list[tuple[int, int]]:
    """Kill writers, round after round, on one job; return how many events were acknowledged in each, and lost."""
    with Store(where) as store:
        job = fill(store, 1, WORKED).last.job.number
    return [killed_round(where, job, turn, server if turn % 2 else None) for turn in range(rounds)]


def rows_of(kind: Kind, jobs: int, rounds: int) -> Iterator[Row]:
    """Yield the rows of one kind of database."""
    filling, *timings = speed(kind.place(), jobs)
    yield Row("store filled", filling.median / 1000, "s", sample=f"{kind.name}, {filling.what}")
    for each in timings:
        yield Row(f"{each.what}, 95th percentile", each.p95, "ms", sample=f"{kind.name}, {jobs:,} jobs x {BINS} bins")
    told, lost = map(sum, zip(*killed(kind.place(), rounds, kind.server), strict=True))
    sample = (
        f"{kind.name}, {rounds} rounds (the bar: 20) of {CLIENTS} clients and {SCANS:,} scans, {told:,} acknowledged"
    )
    yield Row("kill -9: acknowledged events that are lost", lost, bar=0, sample=sample)


def rows(quick: bool) -> Iterator[Row]:
    """Yield the rows of the benchmark table."""
    jobs, rounds = (50, 2) if quick else (1000, 6)
    with kinds() as databases:
        for kind in databases:
            yield from rows_of(kind, jobs, rounds)


def main() -> None:
    """Run everything on both."""
    jobs = int(sys.argv[1]) if len(sys.argv) > 1 else 1000
    rounds = int(sys.argv[2]) if len(sys.argv) > 2 else 20
    with kinds(sys.argv[3].lower() if len(sys.argv) > 3 else "") as databases:
        for kind in databases:
            print(kind.name)
            for each in speed(kind.place(), jobs):
                print(f"  {each.what:48} median {each.median:9.2f} ms   p95 {each.p95:9.2f} ms")
            start = time.perf_counter()
            told, lost = zip(*killed(kind.place(), rounds, kind.server), strict=True)
            print(
                f"  {rounds} rounds killed after {min(told)} to {max(told)} of {SCANS} scans, {sum(told)} acknowledged,"
            )
            print(f"  {sum(lost)} of them lost, no gap, no repair; {time.perf_counter() - start:.0f} s")


if __name__ == "__main__":
    main()
