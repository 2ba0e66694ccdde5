"""Two processes of `labelkit bench` on one store: whoever of them is asked, it is one bench."""

from __future__ import annotations

import http.client
import os
import re
import socket
import subprocess
import sys
import time
from collections.abc import Iterator
from contextlib import ExitStack
from dataclasses import dataclass, field
from pathlib import Path
from urllib.parse import urlencode

import pytest

from labelkit.bench.guard import LIMITS
from labelkit.sheets.jobview import JobView
from labelkit.store.jobs import Store
from tests.bench.bench_app import free_port
from tests.bench_app.hands import PIN, Page, with_pin
from tests.bench_app.workshop import SECRET, code_of, open_job, pump
from tests.postgres import NoServer, running_server


@dataclass
class Browser:
    """One browser behind a proxy that gives each of its requests to the next process."""

    ports: list[int]
    turn: int = 0
    cookie: str = ""
    answered_by: list[int] = field(default_factory=list)

    def asks(self, path: str, form: dict[str, str] | None = None, client: str = "10.0.0.1") -> tuple[int, str]:
        self.turn += 1
        port = self.ports[self.turn % len(self.ports)]
        connection = http.client.HTTPConnection("127.0.0.1", port, timeout=30)
        headers = {"Host": "bench.shop", "X-Forwarded-For": client, "X-Forwarded-Proto": "https"}
        headers |= {"X-Forwarded-Host": "bench.shop", "Cookie": self.cookie}
        if form is None:
            connection.request("GET", path, headers=headers)
        else:
            kind = {"Content-Type": "application/x-www-form-urlencoded", "Origin": "https://bench.shop"}
            connection.request("POST", path, urlencode(form), headers | kind)
        answer = connection.getresponse()
        if given := answer.headers.get("Set-Cookie"):
            self.cookie = given.partition(";")[0]
        text = answer.read().decode()
        connection.close()
        return answer.status, text

    def key(self) -> str:
        return str(re.findall(r'name="csrf" value="([^"]+)"', self.asks("/sign-in")[1])[0])

    def signs_in(self, name: str) -> None:
        assert 303 == self.asks("/sign-in", {"csrf": self.key(), "name": name, "pin": PIN})[0]


@dataclass
class Shop:
    """Two processes on one store."""

    store: Store
    view: JobView
    ports: list[int]

    def browser(self) -> Browser:
        return Browser(self.ports)


@pytest.fixture(scope="module", params=["sqlite", "postgresql"])
def shop(request: pytest.FixtureRequest, tmp_path_factory: pytest.TempPathFactory) -> Iterator[Shop]:
    folder: Path = tmp_path_factory.mktemp("shop")
    with ExitStack() as stack:
        where = str(folder / "shop.sqlite")
        if request.param == "postgresql":
            try:
                where = stack.enter_context(running_server()).url()
            except NoServer as reason:
                pytest.skip(str(reason))
        store = stack.enter_context(Store(where, secret=SECRET))
        with_pin(store)
        view = open_job(store, pump())
        ports = [free_port(), free_port()]
        for port in ports:
            command = [sys.executable, "-m", "labelkit", "bench", "--behind-proxy", "--port", str(port)]
            process = subprocess.Popen(
                command, env={**os.environ, "LABELKIT_STORE": where}, stdout=subprocess.DEVNULL, cwd=folder
            )
            stack.callback(process.wait)
            stack.callback(process.terminate)
        for port in ports:
            for _ in range(600):
                try:
                    socket.create_connection(("127.0.0.1", port), 1).close()
                    break
                except OSError:
                    time.sleep(0.05)
        yield Shop(store, view, ports)


def test_a_sign_in_counts_in_every_process(shop: Shop) -> None:
    """Signed in at one, known at the other; signed out at one, unknown at both."""
    ann = shop.browser()
    ann.signs_in("Ann")
    assert [200] * 4 == [ann.asks("/job/1")[0] for _ in range(4)]
    assert 303 == ann.asks("/sign-out", {"csrf": ann.key()})[0]
    assert [303] * 2 == [ann.asks("/job/1")[0] for _ in range(2)]


def test_what_is_recorded_in_one_is_seen_in_the_other_at_once(shop: Shop) -> None:
    """A form that one process made is taken by the other; both show each event; a form sent to both is kept once."""
    ann, path = shop.browser(), f"/{code_of(shop.view, 'body')}"
    ann.signs_in("Ann")
    before = shop.store.journal.last(1)
    for number in range(4):
        for _ in range(2):  # what both processes keep of the page must not outlive the event
            form = Page(ann.asks(path)[1]).form("noted")
        sent = {**dict(form.fields), "note": f"note {number} of two processes"}
        assert [303, 303] == [ann.asks(form.action, sent)[0] for _ in range(2)]
        for _ in range(2):
            page = Page(ann.asks(path)[1]).text
            assert f"note {number} of two processes" in page
        assert [str(before + number + 1)] * 2 == [ann.asks("/job/1/last")[1] for _ in range(2)]


def test_wrong_pins_are_counted_together(shop: Shop) -> None:
    """A client that guesses at both in turn has no more tries than at one."""
    eve = shop.browser()
    answers = [
        eve.asks("/sign-in", {"csrf": eve.key(), "name": "Eve", "pin": "000000"}, "10.0.0.66")[0]
        for _ in range(LIMITS["pin"].by_one + 3)
    ]

    assert [403] * LIMITS["pin"].by_one + [429] * 3 == answers


def test_a_new_pin_ends_sign_ins_everywhere(shop: Shop) -> None:
    """No process keeps the old one."""
    ann = shop.browser()
    ann.signs_in("Ann")
    assert [200] * 2 == [ann.asks("/job/1")[0] for _ in range(2)]
    shop.store.doorway.set_pin_hash("pbkdf2:sha256:1$salt$none")
    assert [303] * 2 == [ann.asks("/job/1")[0] for _ in range(2)]
    with_pin(shop.store)
