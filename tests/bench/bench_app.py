"""The bench under load: 1,000 jobs x 60 bins, the real server, cards read and scans recorded at 50 requests a second.

Cards and scans are drawn at random, nine of ten from the bins of the 40 jobs that are in pieces and one of ten from
all: nothing is warm but what such work warms, and each scan makes what is kept of its job stale. Latency counts from
the moment at which a request was due, so that a server that stalls is not let off. Then, in the same run, how many
cards a second the server gives with all clients asking at once, beside a bare Flask `hello` under the same server and
the same load.

Run by hand: python -m tests.bench.bench_app [JOBS] [SECONDS]
"""

from __future__ import annotations

import http.client
import os
import random
import re
import socket
import subprocess
import sys
import tempfile
import threading
import time
from collections.abc import Callable, Iterator, Mapping
from contextlib import contextmanager
from datetime import UTC, datetime
from pathlib import Path
from statistics import median
from urllib.parse import urlencode

from labelkit.calc.steps import places
from labelkit.model.events import Entry, act_of
from labelkit.sheets.jobview import CODES_PER_PLACE, JobView
from labelkit.store.jobs import Store
from tests.bench_app.hands import PIN, with_pin
from tests.shop import demo

NOW = datetime(2026, 3, 2, 7, 30, tzinfo=UTC)
RATE = 50  # requests a second
EVENTS = 5  # every so many requests is a scan that is recorded
BARS = {"card": 30.0, "scan event": 60.0}  # ms, 95th percentile
CLIENTS = 16
ROUNDS = 7
# A shop has so many jobs in pieces; the others are asked for now and then.
IN_WORK, SHARE_IN_WORK = 40, 0.9
HELLO = """
import sys, waitress
from flask import Flask
app = Flask("hello")
app.add_url_rule("/", "hello", lambda: "hello")
waitress.serve(app, host="127.0.0.1", port=int(sys.argv[1]))
"""


def furnish(where: str, jobs: int) -> list[tuple[int, tuple[str, ...]]]:
    """Make a store of jobs of one unit in pieces; return each with the codes of its bins."""
    loaded = demo("marine-gear")
    chosen = {group: option.default or next(iter(option.choices)) for group, option in loaded.profile.options.items()}
    made: list[tuple[int, tuple[str, ...]]] = []
    with Store(where) as store:
        with_pin(store)
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
                view = JobView(job, loaded.profile, store.secret)
                if not made:
                    bins = view.teardown.bins[:60]
                    removed = act_of({"kind": "removed", "count": 1})
                    noted = act_of({"kind": "noted", "note": "seen"})
                store.journal.append(
                    job.number,
                    [
                        Entry(act, "Ana", NOW, f"{act.kind}-{each.ordinal:06}", each.ordinal)
                        for act in (removed, noted)
                        for each in bins
                    ],
                )
                made.append((job.number, tuple(view.code(each) for each in bins)))
    return made


@contextmanager
def serving(command: list[str], port: int, **environ: str) -> Iterator[int]:
    """Run a server until the block ends; gives its process id."""
    process = subprocess.Popen(command, stdout=subprocess.PIPE, env={**os.environ, **environ})
    try:
        for _ in range(600):
            try:
                socket.create_connection(("127.0.0.1", port), 1).close()
                break
            except OSError:
                time.sleep(0.1)
        yield process.pid
    finally:
        process.terminate()
        process.wait()


def free_port() -> int:
    """Return a port that nobody listens at."""
    with socket.create_server(("127.0.0.1", 0)) as found:
        return int(found.getsockname()[1])


def cpu_of(pid: int) -> float:
    """Return the seconds of CPU that a process has used."""
    fields = Path(f"/proc/{pid}/stat").read_text().rpartition(")")[2].split()
    return (int(fields[11]) + int(fields[12])) / os.sysconf("SC_CLK_TCK")


class Client:
    """One connection to a server, with the cookie of a person where there is one."""

    def __init__(self, port: int, cookie: str = "") -> None:
        self.port, self.headers = port, {"Cookie": cookie} if cookie else {}
        self.connection = http.client.HTTPConnection("127.0.0.1", port, timeout=60)

    def asks(self, path: str, form: dict[str, str] | None = None) -> tuple[int, str, http.client.HTTPMessage]:
        """Ask and return status, body and headers."""
        if form is None:
            self.connection.request("GET", path, headers=self.headers)
        else:
            kind = {"Content-Type": "application/x-www-form-urlencoded"}
            self.connection.request("POST", path, urlencode(form), {**self.headers, **kind})
        answer = self.connection.getresponse()
        return answer.status, answer.read().decode("utf-8", "replace"), answer.headers


def signed_in(port: int) -> tuple[str, str]:
    """Sign somebody in; return the cookie and the key of forms."""
    client = Client(port)
    _, page, headers = client.asks("/sign-in")
    client.headers = {"Cookie": headers["Set-Cookie"].partition(";")[0]}
    form = {"csrf": re.findall(r'name="csrf" value="([^"]+)"', page)[0], "name": "Ana", "pin": PIN}
    status, page, headers = client.asks("/sign-in", form)
    if status != 303:
        raise SystemExit(f"the sign-in was answered with {status}: {page[:300]}")
    client.headers = {"Cookie": headers["Set-Cookie"].partition(";")[0]}
    _, page, headers = client.asks("/sign-in")
    cookie = headers["Set-Cookie"].partition(";")[0] if "Set-Cookie" in headers else client.headers["Cookie"]
    return cookie, re.findall(r'name="csrf" value="([^"]+)"', page)[0]


def at_a_rate(
    requests: list[tuple[str, Callable[[Client], int]]], client: Callable[[], Client]
) -> dict[str, list[float]]:
    """Send requests when they are due, however long others take; return their times, ms, by kind."""
    took: dict[str, list[float]] = {kind: [] for kind, _ in requests}
    begin, turn, lock = time.perf_counter() + 0.2, iter(enumerate(requests)), threading.Lock()

    def work() -> None:
        own = client()
        while True:
            with lock:
                number, (kind, send) = next(turn, (0, ("", None)))
            if send is None:
                return
            due = begin + number / RATE
            time.sleep(max(0.0, due - time.perf_counter()))
            status = send(own)
            took[kind].append((time.perf_counter() - due) * 1000)
            if status not in (200, 303):
                raise SystemExit(f"{kind}: answered with {status}")

    threads = [threading.Thread(target=work) for _ in range(CLIENTS)]
    for each in threads:
        each.start()
    for each in threads:
        each.join()
    return took


def at_full_speed(
    send: Callable[[Client], int], client: Callable[[], Client], seconds: float, pid: int
) -> tuple[float, float]:
    """Let all clients ask at once; return answers a second, and ms of the server's CPU for each."""
    counts = [0] * 4
    until, cpu = time.perf_counter() + seconds, cpu_of(pid)

    def work(turn: int) -> None:
        own = client()
        while time.perf_counter() < until:
            send(own)
            counts[turn] += 1

    begin = time.perf_counter()
    threads = [threading.Thread(target=work, args=(turn,)) for turn in range(len(counts))]
    for each in threads:
        each.start()
    for each in threads:
        each.join()
    return sum(counts) / (time.perf_counter() - begin), (cpu_of(pid) - cpu) * 1000 / max(sum(counts), 1)


def side_by_side(
    runs: Mapping[str, tuple[Callable[[Client], int], Callable[[], Client], int]], seconds: float
) -> dict[str, tuple[float, float]]:
    """Run each in turn, again and again, so that what else the machine does slows down all of them; return medians."""
    found: dict[str, list[tuple[float, float]]] = {name: [] for name in runs}
    for _ in range(ROUNDS):
        for name, (send, client, pid) in runs.items():
            found[name].append(at_full_speed(send, client, seconds / ROUNDS, pid))
    return {
        name: (median(speed for speed, _ in each), median(cost for _, cost in each)) for name, each in found.items()
    }


def p95(times: list[float]) -> float:
    """Return the 95th percentile."""
    return sorted(times)[int(len(times) * 0.95)]


def main() -> int:
    """Print the table; the status is 1 when a bar is missed."""
    jobs = int(sys.argv[1]) if len(sys.argv) > 1 else 1000
    seconds = float(sys.argv[2]) if len(sys.argv) > 2 else 20.0
    dice = random.Random(7)
    missed = []
    with tempfile.TemporaryDirectory() as folder:
        where = f"{folder}/shop.sqlite"
        start = time.perf_counter()
        made = furnish(where, jobs)
        print(f"{jobs} jobs x {len(made[0][1])} bins x 2 events in {time.perf_counter() - start:.0f} s; "
              f"{os.cpu_count()} cores, load {os.getloadavg()[0]:.1f} of other work")  # fmt: skip
        port = free_port()
        command = [sys.executable, "-m", "labelkit", "bench", "--host", "127.0.0.1", "--port", str(port)]
        with serving(command, port, LABELKIT_STORE=where) as pid:
            cookie, key = signed_in(port)

            def bin_of_a_job() -> str:
                in_work = dice.random() < SHARE_IN_WORK
                return dice.choice(dice.choice(made[-IN_WORK:] if in_work else made)[1])

            def card(client: Client) -> int:
                return client.asks(f"/{bin_of_a_job()}")[0]

            def scan(client: Client) -> int:
                form = {"csrf": key, "form": "noted", "note": "seen", "seen": "0", "token": f"{dice.random():.17f}"}
                return client.asks(f"/{bin_of_a_job()}/act", form)[0]

            def person() -> Client:
                return Client(port, cookie)

            warming = person()
            for _ in range(400):
                card(warming)
            wanted: list[tuple[str, Callable[[Client], int]]] = [
                ("scan event", scan) if turn % EVENTS == 0 else ("card", card) for turn in range(int(seconds * RATE))
            ]
            cpu = cpu_of(pid)
            took = at_a_rate(wanted, person)
            cpu = (cpu_of(pid) - cpu) * 1000 / len(wanted)
            print(
                f"{RATE} requests a second for {seconds:.0f} s, every {EVENTS}th a scan; CPU {cpu:.1f} ms a request\n"
            )
            print(f"{'':14}{'count':>7}{'median':>9}{'p95':>9}{'worst':>9}{'bar p95':>9}   ms")
            for kind, times in took.items():
                bar = BARS[kind]
                print(f"{kind:14}{len(times):>7}{median(times):>9.1f}{p95(times):>9.1f}{max(times):>9.1f}{bar:>9.0f}")
                if p95(times) > bar:
                    missed.append(kind)
            one = made[0][1][5]
            other = free_port()
            with serving([sys.executable, "-c", HELLO, str(other)], other) as bare:
                runs: dict[str, tuple[Callable[[Client], int], Callable[[], Client], int]] = {
                    "card, one": (lambda client: client.asks(f"/{one}")[0], person, pid),
                    "card, any": (card, person, pid),
                    "hello": (lambda client: client.asks("/")[0], lambda: Client(other), bare),
                }
                speeds = side_by_side(runs, seconds / 2)
    print(f"\n{'at full speed':14}{'a second':>10}{'CPU ms':>9}{'of hello':>10}")
    for kind, (speed, cost) in speeds.items():
        print(f"{kind:14}{speed:>10.0f}{cost:>9.2f}{speed / speeds['hello'][0]:>10.0%}")
    if speeds["card, one"][0] < speeds["hello"][0] / 2:
        missed.append("throughput of the card")
    print(f"\nbars missed: {', '.join(missed) or 'none'}")
    return 1 if missed else 0


if __name__ == "__main__":
    sys.exit(main())
