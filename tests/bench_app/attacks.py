"""A bench with everything on it, every address of it, and what an attacker would type."""

from __future__ import annotations

import re
import sqlite3
from collections.abc import Iterator, Mapping
from contextlib import closing, contextmanager
from dataclasses import dataclass, field
from datetime import datetime
from html.parser import HTMLParser
from pathlib import Path
from typing import Any

import yaml
from flask import Flask
from flask.testing import FlaskClient
from werkzeug.routing import Rule
from werkzeug.test import TestResponse

from labelkit.bench.app import create_app
from labelkit.sheets.jobview import JobView
from labelkit.store.jobs import Store
from tests.bench_app.conftest import NOON
from tests.bench_app.hands import Person, off_every_job, person, record, with_pin
from tests.bench_app.workshop import SECRET, open_job, png, pump
from tests.shop import ROOT

SCRIPT = "<script>x()</script>\"onload=x() 'javascript:x()&{{7*7}}"
QUERY = "x'); DROP TABLE events; -- \" OR 1=1"
# Fields of a profile that hold words of people.
_FREE = frozenset(
    re.findall(
        r"\w+",
        """name tell text up clock_from twelve feature if_wrong look look_under measure else because as why note
        stack_from source""",
    )
)
# What a page may lead to without a name: cards, files that pages are made of, and the way in.
OPEN = frozenset({"home", "show", "data", "photo", "style", "bench_script", "font", "health", "sign_in_form"})
# Whatever is sent here is kept by the browser alone.
UNWRITTEN = frozenset({"language"})


def poisoned(tree: Any, field_name: str = "") -> Any:
    """Put a script into every text of a profile that people write."""
    if isinstance(tree, dict):
        inner = {"choices": "name", "tools": "name"}.get(field_name)
        return {key: poisoned(value, inner or key) for key, value in tree.items()}
    if isinstance(tree, list):
        return [poisoned(item, field_name) for item in tree]
    return SCRIPT if field_name in _FREE and tree != "free" else tree


def evil_profile() -> str:
    """Return the reducer's profile with a script in every text."""
    tree = yaml.load((ROOT / "unit_profiles" / "planetary-reducer.yaml").read_text("utf-8"), Loader=yaml.BaseLoader)
    tree["parts"][-1]["photo"] = "photos/evil.png"
    return yaml.safe_dump(poisoned(tree), allow_unicode=True, sort_keys=False)


@dataclass
class Bench:
    """A bench with a poisoned job that is being worked on, a capture, and somebody who is signed in."""

    store: Store
    app: Flask
    view: JobView
    ann: Person
    values: dict[str, dict[str, str]] = field(default_factory=dict)

    def stranger(self) -> FlaskClient:
        """Return the browser of somebody who is not signed in."""
        return self.app.test_client()

    def rules(self, method: str) -> list[Rule]:
        """Return every rule that answers a method."""
        return [rule for rule in self.app.url_map.iter_rules() if method in (rule.methods or ())]

    def addresses(self, rule: Rule) -> Iterator[str]:
        """Yield addresses of a rule: all of its ways, with arguments that exist."""
        about = "capture" if str(rule.rule).startswith("/capture") else str(rule.rule).partition("<code>")[2] or "job"
        values = self.values["all"] | self.values.get(about, {}) | self.values.get(rule.endpoint, {})
        ways = re.search(r"<any\(([^)]+)\):(\w+)>", str(rule.rule))
        for way in ways[1].split(",") if ways else [""]:
            chosen: Mapping[str, Any] = values | ({ways[2]: way.strip()} if ways else {})
            with self.app.test_request_context():
                parts = {name: chosen[name] for name in rule.arguments}
                adapter = self.app.url_map.bind("")
                yield adapter.build(rule.endpoint, parts, method=sorted((rule.methods or {"GET"}) - {"OPTIONS"})[0])

    def all_addresses(self, method: str) -> Iterator[tuple[Rule, str]]:
        """Yield every rule of a method with each of its addresses."""
        for rule in self.rules(method):
            for address in self.addresses(rule):
                yield rule, address

    def contents(self) -> list[str]:
        """Return everything that the store holds but the counts of wrong guesses."""
        with closing(sqlite3.connect(self.store.where)) as connection:
            return [line for line in connection.iterdump() if not re.match(r'INSERT INTO "?guesses', line)]

    def sends(self, address: str, data: dict[str, Any] | None = None, **more: Any) -> TestResponse:
        """Send a form as Ann, with her key."""
        return self.ann.client.post(address, data={"csrf": self.key(), **(data or {})}, **more)

    def key(self) -> str:
        """Return the key of Ann's forms."""
        with self.ann.client.session_transaction() as kept:
            return str(kept["key"])


def furnish(bench: Bench, now: datetime) -> None:
    """Put a record, photos and a capture into a bench whose job is open, and note what addresses need."""
    view, store = bench.view, bench.store
    first = next(each for each in view.teardown.bins if each.part.photo)
    sha = store.journal.keep_picture(png())
    packed = next(each for each in view.teardown.bins if each.part.stack)
    record(
        store,
        view,
        now,
        (first.step, {"kind": "removed", "count": 4, "note": SCRIPT}),
        (first.step, {"kind": "photo", "sha256": sha, "note": SCRIPT}),
        (first.step, {"kind": "condemned", "why": SCRIPT}),
        (first.step, {"kind": "deviation", "what": SCRIPT, "reason": SCRIPT, "agreed": "Bo"}),
        (None, {"kind": "hold", "why": SCRIPT}),
        (None, {"kind": "noted", "note": SCRIPT}),
        who="<script>x()</script>",
    )
    began = bench.sends(
        "/capture",
        {"mark": "Q1", "name": SCRIPT, "up": SCRIPT, "clock_from": SCRIPT, "lengths": "mm", "token": "t" * 12},
    )
    assert began.status_code == 303, began.text
    number = str(began.location).split("/")[2]
    kept = bench.ann.client.post(
        f"/capture/{number}/next",
        data={"csrf": bench.key(), "token": "u" * 12, "kind": "ring", "name": SCRIPT[:80], "qty": "1", "face": ""},
    )
    assert kept.status_code == 303, kept.text
    off_every_job(bench.ann)
    bench.values |= {
        "all": {
            "number": "1",
            "code": view.code(first),
            "event": "1",
            "sha256": sha,
            "step": packed.step,
            "name": next(iter(view.profile.fits)),
        },
        "font": {"name": "regular.ttf"},
        "/receive": {"code": view.new_code(first)},
        "capture": {"number": number, "part": "1"},
    }


def open_evil(store: Store) -> JobView:
    """Open the poisoned job."""
    return open_job(store, pump(evil_profile()), photos={"photos/evil.png": png()}, serial="<script>x()</script>")


@contextmanager
def evil_bench(folder: Path, name: str = "Ann") -> Iterator[Bench]:
    """Open a bench with the evil job and something on every page, and somebody of this name signed in."""
    with Store(str(folder / "shop.sqlite"), secret=SECRET) as store:
        with_pin(store)
        app = create_app(store, clock=lambda: NOON)
        bench = Bench(store, app, open_evil(store), person(app, name))
        furnish(bench, NOON)
        yield bench


class Executables(HTMLParser):
    """Finds what a browser would run: scripts that are not ours, handlers, addresses that are programs, frames."""

    RUNS = ("javascript:", "vbscript:", "data:text", "data:image/svg", "data:application")
    WORDS = frozenset({"value", "title", "alt", "placeholder", "aria-label"})
    FRAMES = frozenset({"iframe", "frame", "object", "embed", "base", "applet", "foreignobject", "portal"})
    OURS = ({"src": "/bench.js", "defer": ""}, {"src": "/capture.js", "defer": ""})

    def __init__(self, text: str) -> None:
        super().__init__(convert_charrefs=True)
        self.found: list[str] = []
        self._script = False
        self.feed(text)
        self.close()

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        given = {name.lower(): value or "" for name, value in attrs}
        if tag in self.FRAMES or (tag == "script" and given not in self.OURS):
            self.found.append(f"<{tag} {given}>")
        if tag == "meta" and "http-equiv" in given:
            self.found.append(f"<meta {given}>")
        self._script = tag == "script"
        for name, value in given.items():
            bare = re.sub(r"[\x00-\x20]", "", value).lower()
            if name.startswith("on") or name == "srcdoc" or (name not in self.WORDS and bare.startswith(self.RUNS)):
                self.found.append(f"<{tag} {name}={value[:60]}>")

    handle_startendtag = handle_starttag

    def handle_endtag(self, tag: str) -> None:
        self._script = self._script and tag != "script"

    def handle_data(self, data: str) -> None:
        if self._script and data.strip():
            self.found.append(f"a script: {data[:60]}")


def executables(text: str) -> list[str]:
    """Return what a browser would run of a page that is not ours, by its elements."""
    return Executables(text).found


def key_of(client: FlaskClient) -> str:
    """Return the key of a browser's forms."""
    client.get("/sign-in")
    with client.session_transaction() as kept:
        return str(kept["key"])


def tries_to_sign_in(client: FlaskClient, pin: str, *, at: str = "10.0.0.1", **more: str) -> TestResponse:
    """Send the sign-in form from an address."""
    data = {"csrf": key_of(client), "name": "Eve", "pin": pin, **more}
    return client.post("/sign-in", data=data, environ_base={"REMOTE_ADDR": at})
