"""The bench under load: 1,000 jobs x 60 bins, the real server, cards read and scans recorded at 50 requests a second.

Cards and scans are drawn at random, nine of ten from the bins of the 40 jobs that are in pieces and one of ten from
all: nothing is warm but what such work warms, and each scan makes what is kept of its job stale. Latency counts from
the moment at which a request was due, so that a server that stalls is not let off.

Then, in the same run, how many answers a second the server gives with all clients asking at once, beside a bare Flask
`hello` under the same server and the same load: a warm card, one that is asked for again and again; cards as above,
with no scans between; cold cards, each asked for once. What asks is as thin as can be, so that it is the server that
is measured, and looks whether each answer is the card of the code that was asked for.

Run by hand: python -m tests.bench.bench_app [JOBS] [SECONDS] [sqlite | postgresql]
"""

from __future__ import annotations

import http.client
import os
import random
import re
import socket
import subprocess
import sys
import threading
import time
from collections.abc import Callable, Iterator, Mapping
from concurrent.futures import ThreadPoolExecutor
from contextlib import contextmanager
from dataclasses import dataclass
from pathlib import Path
from statistics import median
from urllib.parse import urlencode

from labelkit.calc.codes import grouped
from labelkit.store.jobs import Store
from tests.bench.filled import BINS, fill, kinds
from tests.bench.rows import Row
from tests.bench_app.hands import PIN, with_pin

RATE = 50  # requests a second
EVENTS = 5  # every so many requests is a scan that is recorded
BARS = {"card": 30.0, "scan event": 60.0}  # ms, 95th percentile
THROUGHPUT = 0.5  # least share of a bare hello's, of a warm card
JUDGED = "SQLite"  # what the bars were set for
CLIENTS = 16
AT_ONCE = 4  # clients that ask at full speed
ROUNDS = 7
# A shop has so many jobs in pieces; the others are asked for now and then.
IN_WORK, SHARE_IN_WORK = 40, 0.9
HELLO = """
import logging, sys, waitress
from flask import Flask
logging.getLogger("waitress.queue").setLevel(logging.ERROR)
app = Flask("hello")
app.add_url_rule("/", "hello", lambda: "hello")
waitress.serve(app, host="127.0.0.1", port=int(sys.argv[1]))
"""


@dataclass(frozen=True)
class Figures:
    """What was measured.

    Attributes:
        filling: seconds that it took to fill the store.
        times: ms of each answer by kind, at the rate.
        cpu: ms of the server's CPU for each of these answers.
        speeds: answers a second and ms of CPU for each, by what was asked at full speed.
    """

    filling: float
    times: dict[str, list[float]]
    cpu: float
    speeds: dict[str, tuple[float, float]]


def furnish(where: str, jobs: int) -> list[tuple[int, tuple[str, ...]]]:
    """Make a store of jobs of one unit in pieces; return each with the codes of its bins."""
    with Store(where) as store:
        with_pin(store)
        done = ({"kind": "removed", "count": 1}, {"kind": "noted", "note": "seen"})
        return [*fill(store, jobs, done).bins.items()]


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


class Line:
    """A connection that asks for pages and does as little else as it can."""

    def __init__(self, port: int, cookie: str = "") -> None:
        self.socket = socket.create_connection(("127.0.0.1", port), 60)
        self.socket.setsockopt(socket.IPPROTO_TCP, socket.TCP_NODELAY, 1)
        self.rest = f" HTTP/1.1\r\nHost: 127.0.0.1:{port}\r\n{f'Cookie: {cookie}' if cookie else 'X-None: 1'}\r\n\r\n"

    def asks(self, path: str, expected: bytes) -> None:
        """Ask for a page, which must be there and say what is expected."""
        self.socket.sendall(f"GET {path}{self.rest}".encode())
        answer = b""
        while b"\r\n\r\n" not in answer:
            answer += self.more(path)
        head, _, body = answer.partition(b"\r\n\r\n")
        wanted = int(head.lower().partition(b"content-length: ")[2].partition(b"\r\n")[0])
        pieces, length = [body], len(body)
        while length < wanted:
            pieces.append(self.more(path))
            length += len(pieces[-1])
        if not head.startswith(b"HTTP/1.1 200 ") or expected not in b"".join(pieces):
            raise SystemExit(f"{path}: {expected!r} is not in the answer; it begins {answer[:300]!r}")

    def more(self, path: str) -> bytes:
        """Return what comes next."""
        came = self.socket.recv(65536)
        if not came:
            raise SystemExit(f"{path}: the server hung up")
        return came


@dataclass(frozen=True)
class Load:
    """What is asked of a server at full speed: its process, how a client connects, and what it asks for next."""

    pid: int
    connects: Callable[[], Line]
    next: Callable[[], tuple[str, bytes]]


def at_full_speed(load: Load, seconds: float) -> tuple[float, float]:
    """Let all clients ask at once; return answers a second, and ms of the server's CPU for each."""
    until, lines = time.perf_counter() + seconds, [load.connects() for _ in range(AT_ONCE)]

    def work(line: Line) -> int:
        count = 0
        while time.perf_counter() < until:
            line.asks(*load.next())
            count += 1
        return count

    begin, cpu = time.perf_counter(), cpu_of(load.pid)
    with ThreadPoolExecutor(AT_ONCE) as pool:
        count = sum(pool.map(work, lines))
    took, used = time.perf_counter() - begin, cpu_of(load.pid) - cpu
    for line in lines:
        line.socket.close()
    return count / took, used * 1000 / count


def side_by_side(loads: Mapping[str, Load], seconds: float) -> dict[str, tuple[float, float]]:
    """Run each in turn, again and again, so that what else the machine does slows down all of them; return medians."""
    found: dict[str, list[tuple[float, float]]] = {name: [] for name in loads}
    for _ in range(ROUNDS):
        for name, load in loads.items():
            found[name].append(at_full_speed(load, seconds / ROUNDS))
    return {
        name: (median(speed for speed, _ in each), median(cost for _, cost in each)) for name, each in found.items()
    }


def p95(times: list[float]) -> float:
    """Return the 95th percentile."""
    return sorted(times)[int(len(times) * 0.95)]


def measured(where: str, jobs: int, seconds: float) -> Figures:
    """Fill an empty store, serve it, and ask.

    Args:
        where: a file or a URL.
        jobs: how many.
        seconds: how long at the rate; half as long at full speed for each kind.
    """
    dice = random.Random(7)
    start = time.perf_counter()
    made = furnish(where, jobs)
    filling = time.perf_counter() - start
    port = free_port()
    command = [sys.executable, "-m", "labelkit", "bench", "--host", "127.0.0.1", "--port", str(port)]
    with serving(command, port, LABELKIT_STORE=where) as pid:
        cookie, key = signed_in(port)

        asked: set[str] = set()

        def bin_of_a_job() -> str:
            in_work = dice.random() < SHARE_IN_WORK
            code = dice.choice(dice.choice(made[-IN_WORK:] if in_work else made)[1])
            asked.add(code)
            return code

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
        times = at_a_rate(wanted, person)
        cpu = (cpu_of(pid) - cpu) * 1000 / len(wanted)
        one = made[0][1][5]
        shuffled = [code for _, bins in made for code in bins]
        dice.shuffle(shuffled)
        still_cold = iter(shuffled)

        def cold() -> str:
            return next(code for code in still_cold if code not in asked)

        def asks_for(code: str) -> tuple[str, bytes]:
            return f"/{code}", grouped(code).encode()

        other = free_port()
        with serving([sys.executable, "-c", HELLO, str(other)], other) as bare:
            loads = {
                "warm card": Load(pid, lambda: Line(port, cookie), lambda: asks_for(one)),
                "cards at work": Load(pid, lambda: Line(port, cookie), lambda: asks_for(bin_of_a_job())),
                "cold card": Load(pid, lambda: Line(port, cookie), lambda: asks_for(cold())),
                "hello": Load(bare, lambda: Line(other), lambda: ("/", b"hello")),
            }
            speeds = side_by_side(loads, seconds / 2)
    return Figures(filling, times, cpu, speeds)


def rows_of(figures: Figures, name: str, jobs: int, seconds: float) -> Iterator[Row]:
    """Yield the rows of one kind of database."""
    sample = f"{name}, {jobs:,} jobs x {BINS} bins, {RATE} requests a second for {seconds:g} s"
    for kind, times in figures.times.items():
        bar = BARS[kind] if name == JUDGED else None
        yield Row(f"{kind}, 95th percentile", p95(times), "ms", bar, sample=sample)
    hello, _ = figures.speeds["hello"]
    for kind, (speed, cost) in figures.speeds.items():
        if kind != "hello":
            bar = THROUGHPUT if (name, kind) == (JUDGED, "warm card") else None
            sample = f"{name}, {speed:.0f} a second, hello {hello:.0f}, {cost:.2f} ms CPU each"
            yield Row(f"{kind}: throughput / that of a bare hello", speed / hello, "", bar, ">=", sample)


def rows(quick: bool) -> Iterator[Row]:
    """Yield the rows of the benchmark table."""
    jobs, seconds = (50, 4.0) if quick else (1000, 20.0)
    with kinds() as databases:
        for each in databases:
            yield from rows_of(measured(each.place(), jobs, seconds), each.name, jobs, seconds)


def main() -> None:
    """Print what was measured, then the rows."""
    jobs = int(sys.argv[1]) if len(sys.argv) > 1 else 1000
    seconds = float(sys.argv[2]) if len(sys.argv) > 2 else 20.0
    with kinds(sys.argv[3].lower() if len(sys.argv) > 3 else "sqlite") as databases:
        for each in databases:
            print(f"{each.name}; {os.cpu_count()} cores, load {os.getloadavg()[0]:.1f} of other work")
            found = measured(each.place(), jobs, seconds)
            print(f"{jobs} jobs x {BINS} bins x 2 events in {found.filling:.0f} s")
            print(f"{RATE} requests a second, every {EVENTS}th a scan; CPU {found.cpu:.1f} ms a request\n")
            print(f"{'':14}{'count':>7}{'median':>9}{'p95':>9}{'worst':>9}{'bar p95':>9}   ms")
            for kind, times in found.times.items():
                print(
                    f"{kind:14}{len(times):>7}{median(times):>9.1f}{p95(times):>9.1f}{max(times):>9.1f}{BARS[kind]:>9.0f}"
                )
            print(f"\n{'at full speed':14}{'a second':>10}{'CPU ms':>9}{'of hello':>10}")
            for kind, (speed, cost) in found.speeds.items():
                print(f"{kind:14}{speed:>10.0f}{cost:>9.2f}{speed / found.speeds['hello'][0]:>10.0%}")
            missed = [row.name for row in rows_of(found, each.name, jobs, seconds) if row.verdict == "MISSED"]
            print(f"\nbars missed: {', '.join(missed) or 'none'}\n")


if __name__ == "__main__":
    main()
