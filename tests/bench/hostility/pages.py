"""Every route of the bench, signed in and not, with jobs in several states: nothing answers 500, nothing is half done.

A case is a chain of requests on a fresh copy of one shop. Some are sent to addresses of the application's own table
with whatever values; some open a page, fill in one of its forms as it is, and spoil a few of its fields.
"""

from __future__ import annotations

import io
import shutil
import sqlite3
from collections.abc import Iterator
from contextlib import closing, contextmanager
from dataclasses import dataclass
from datetime import datetime
from functools import cache
from pathlib import Path
from random import Random
from typing import Any, Final
from urllib.parse import quote, urlencode

from flask import Flask
from flask.testing import FlaskClient
from werkzeug.test import TestResponse

from labelkit.bench.app import create_app
from labelkit.sheets.jobview import JobView
from labelkit.store.jobs import Store
from tests.bench.hostility.mutate import bent, figure, near, text
from tests.bench.hostility.scans import folder
from tests.bench.hostility.watch import Broken, Target
from tests.bench_app.attacks import Bench, executables, furnish, open_evil
from tests.bench_app.conftest import NOON
from tests.bench_app.hands import PIN, Form, Page, Person, all_out, person, record, with_pin
from tests.bench_app.workshop import FITTED, SECRET, open_job, png, pump

_METHODS: Final = ("GET", "GET", "GET", "POST", "POST", "HEAD", "OPTIONS", "PUT", "DELETE", "PATCH", "TRACE", "X")

_EVERYWHERE: Final = ("/", "/language", "/sign-out")  # forms of every page; each is tried from one


class Sheet(Page):
    """A page with what its forms let choose, besides what they would send untouched."""

    def __init__(self, page: str) -> None:
        self.choices: list[dict[str, list[str]]] = []
        self.methods: list[str] = []
        self._select = ""
        super().__init__(page)

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        super().handle_starttag(tag, attrs)
        given = {name: value or "" for name, value in attrs}
        if tag == "form":
            self.choices.append({})
            self.methods.append(given.get("method", "get").lower())
        if not self.forms:
            return
        if tag == "select":
            self._select = given.get("name", "")
            self.forms[-1].names.add(self._select)
        name = self._select if tag == "option" else given.get("name", "")
        several = tag in ("button", "option") or given.get("type") in ("radio", "checkbox")
        if name and several and name != "ticked":
            self.choices[-1].setdefault(name, []).append(given.get("value", "on"))


@dataclass(frozen=True)
class _Known:
    """What the shop holds at the start: addresses, and the forms of every page by their fields and choices."""

    rules: tuple[tuple[str, tuple[str, ...]], ...]
    addresses: tuple[str, ...]
    forms: tuple[tuple[str, int, tuple[str, ...], tuple[tuple[str, tuple[str, ...]], ...]], ...]
    words: tuple[str, ...]
    names: tuple[str, ...]


def _states(store: Store, now: datetime) -> list[JobView]:
    """Open pumps that are new, coming apart, all out, being built and closed."""
    views = [open_job(store, pump(FITTED), photos={"photos/cover.png": png()}, serial=str(n)) for n in range(5)]
    first = views[0].teardown.bins[0]
    record(store, views[1], now, (first.step, {"kind": "removed", "count": 6}))
    for view in views[2:]:
        record(store, view, now, *all_out(view))
    for view in views[3:]:
        body = view.teardown.of("body")[0].step
        record(store, view, now, (body, {"kind": "installed"}), (body, {"kind": "verified"}))
    closing_acts = ((None, {"kind": "signature", "statement": "all right"}), (None, {"kind": "closed"}))
    record(store, views[4], now, *closing_acts)  # type: ignore[arg-type]
    return views


@cache
def _known() -> _Known:
    path = folder() / "shop.sqlite"
    with Store(str(path), secret=SECRET) as store:
        with_pin(store)
        app = create_app(store, clock=lambda: NOON)
        bench = Bench(store, app, open_evil(store), person(app))
        furnish(bench, NOON)
        views = _states(store, NOON)
        addresses = [address for _, address in bench.all_addresses("GET")]
        for view in views:
            base = f"/job/{view.job.number}"
            ways = ("", "/next", "/wash", "/fits", "/fits/side-play", "/parts", "/sign-off", "/report", ".json")
            addresses += [base + way for way in ways]
            valve, cover = view.teardown.of("valve")[0], view.teardown.bins[0]
            addresses += [f"{base}/pack/{valve.step}", f"{base}/correct/1", f"{base}/correct/2"]
            for each in (cover, valve, view.teardown.of("seal")[0], view.teardown.of("side-plate")[0]):
                addresses += [f"/{view.code(each)}", f"/{view.new_code(each)}/receive"]
        forms, seen = [], set[str]()
        for address in dict.fromkeys(addresses):
            answer = bench.ann.client.get(address)
            if answer.mimetype == "text/html":
                sheet = Sheet(answer.text)
                for index, form in enumerate(sheet.forms):
                    if form.action in _EVERYWHERE and form.action in seen:
                        continue
                    seen.add(form.action)
                    choices = tuple((name, tuple(values)) for name, values in sheet.choices[index].items())
                    forms.append((address, index, tuple(sorted(form.names)), choices))
        rules = tuple((str(rule.rule), tuple(sorted(rule.methods or ()))) for rule in app.url_map.iter_rules())
        words = {word for address in addresses for word in address.split("/")}
    for left in (f"{path}-wal", f"{path}-shm"):
        Path(left).unlink(missing_ok=True)
    names = sorted({name for _, _, known, choices in forms for name in (*known, *dict(choices))})
    return _Known(rules, tuple(dict.fromkeys(addresses)), tuple(forms), tuple(sorted(words)), tuple(names))


# --- what is sent -----------------------------------------------------------------------------------------------------


def _value(random: Random) -> str:
    way = random.random()
    if way < 0.15:
        return random.choice(_known().words)
    return text(random) if way < 0.6 else figure(random) if way < 0.85 else near(random, random.choice(_known().words))


def _path(random: Random, rule: str) -> str:
    """Return an address of a rule, with values that are or are not there."""
    out = ""
    for index, piece in enumerate(rule.replace(">", "<").split("<")):
        if not index % 2:
            out += piece
        elif "any(" in piece and random.random() < 0.8:
            out += random.choice(piece.partition("(")[2].partition(")")[0].split(",")).strip()
        elif piece.startswith("int:") and random.random() < 0.85:
            out += random.choice(("0", "1", "2", "3", "4", "5", "6", "7", "8", "007", "9" * 30, str(2**63), "٣"))
        else:
            out += quote(_value(random)[:300], safe=random.choice(("", "/", "/?#%")), errors="replace")
    return out


def _step(random: Random) -> dict[str, Any]:
    known = _known()
    who = random.choice(("ann", "ann", "ann", "stranger", "wall"))
    if random.random() < 0.65:
        address, index, names, choices = random.choice(known.forms)
        typed: dict[str, list[str]] = {
            name: [random.choice(values) for _ in range(random.choice((1, 1, 1, 2)))]
            for name, values in choices
            if random.random() < 0.6
        }
        for name in random.sample(names, min(len(names), random.choice((0, 1, 1, 2, 3, 9)))):
            if name not in ("csrf", "token") or random.random() < 0.05:
                typed[name] = [_value(random) for _ in range(random.choice((1, 1, 1, 0, 3)))]
        if random.random() < 0.1:
            typed[random.choice(known.names)] = [_value(random)]
        files = {}
        if random.random() < 0.3:
            data = png(random.choice((1, 30)), 20)
            files = {
                random.choice(("picture", "photos", "picture1")): bent(random, data) if random.random() < 0.6 else data
            }
        return {
            "who": who,
            "open": address,
            "form": index,
            "typed": typed,
            "tick": random.random() < 0.8,
            "files": files,
        }
    rule, methods = random.choice(known.rules)
    method = random.choice(methods) if random.random() < 0.85 else random.choice(_METHODS)
    path = _path(random, rule) if random.random() < 0.6 else random.choice(known.addresses)
    if random.random() < 0.05:
        path = "/" + quote(_value(random)[:2000], errors="replace") + path
    fields = {random.choice(known.names): [_value(random)] for _ in range(random.randrange(4))}
    step: dict[str, Any] = {"who": who, "method": method, "path": path, "fields": fields, "key": random.random() < 0.8}
    if random.random() < 0.4:
        step["query"] = {
            random.choice((*known.names, "then", "at", "q", "lang", "page", "after", "seen")): _value(random)[:500]
            for _ in range(random.randrange(1, 4))
        }
    if random.random() < 0.35:
        names = (
            "Accept-Language",
            "Cookie",
            "Host",
            "Origin",
            "Referer",
            "If-None-Match",
            "If-Modified-Since",
            "Range",
        )
        more = ("Content-Type", "X-Forwarded-For", "Accept", "Content-Length", "Transfer-Encoding", "Accept-Encoding")
        step["headers"] = {random.choice((*names, *more)): _header(random) for _ in range(random.randrange(1, 3))}
    if random.random() < 0.15:
        step["body"] = random.randbytes(random.randrange(300)) if random.random() < 0.5 else _multipart(random)
    return step


def _header(random: Random) -> str:
    telling = (
        "labelkit=eyJ3aG8iOiJBbm4ifQ.x.y", "labelkit=" + "a" * 3000, 'W/"x"', "bytes=0-", "bytes=9-1,-5", "*", "0",
        "de-DE;q=x, es;q=9e9, *;q=0", "multipart/form-data", "multipart/form-data; boundary=", "-1", "[::1", "a b",
        "text/plain; charset=utf-7", "multipart/form-data; boundary=x", "application/json", "chunked", "gzip;q=,",
        "application/x-www-form-urlencoded; charset=x", "evil.example:99999999", "http://localhost", "null",
        "Thu, 32 Foo 2026 99:99:99 GMT",
    )  # fmt: skip
    words = random.choice(telling) if random.random() < 0.8 else _value(random)[:500]
    return words.replace("\r", "").replace("\n", "").encode("latin-1", "replace").decode("latin-1")


def _multipart(random: Random) -> bytes:
    name = _value(random)[:40].encode("utf-8", "replace")
    part = b'--x\r\nContent-Disposition: form-data; name="picture"; filename="' + name + b'"\r\n\r\n' + png() + b"\r\n"
    return bent(random, part + b"--x--\r\n", random.choice((0, 1, 3)))


def make(random: Random) -> list[dict[str, Any]]:
    """Return a chain of requests."""
    return [_step(random) for _ in range(random.choice((4, 20, 40)))]


# --- what comes back --------------------------------------------------------------------------------------------------


@contextmanager
def _shop() -> Iterator[tuple[Store, dict[str, FlaskClient]]]:
    """Open a fresh copy of the shop with three browsers: Ann's, a stranger's, and that of a screen on the wall."""
    _known()
    path = folder() / "copy.sqlite"
    for each in folder().glob("copy.sqlite*"):
        each.unlink()
    shutil.copyfile(folder() / "shop.sqlite", path)
    with Store(str(path), secret=SECRET) as store:
        app, wall = create_app(store, clock=lambda: NOON), create_app(store, clock=lambda: NOON, read_only=True)
        app.testing = wall.testing = True  # what is raised comes through
        yield store, {"ann": person(app).client, "stranger": app.test_client(), "wall": wall.test_client()}


def contents(where: str) -> list[str]:
    """Return all that a store holds but the counts of wrong guesses."""
    with closing(sqlite3.connect(where)) as connection:
        return [line for line in connection.iterdump() if not line.startswith('INSERT INTO "guesses')]


def tries(case: list[dict[str, Any]]) -> None:
    """Send the chain; look at each answer, and whether what was refused changed anything."""
    with _shop() as (store, browsers), closing(sqlite3.connect(store.where)) as watching:
        version, before = _version(watching), contents(store.where)
        for step in case:
            if not isinstance(step, dict) or "who" not in step:
                continue
            answer = _sent(browsers[step["who"]], step)
            if answer is None:
                continue
            told = f"{answer.request.method} {answer.request.path}"
            _looked_at(answer, told)
            if (now := _version(watching)) == version:
                continue
            version, after = now, contents(store.where)
            refused = answer.status_code >= 400 or answer.request.method != "POST" or step["who"] != "ann"
            changed = set(before) ^ set(after)
            if answer.request.path.startswith("/capture"):  # its photos are kept while the rest is typed once more
                changed = {line for line in changed if not line.startswith('INSERT INTO "pictures')}
            if changed and refused:
                raise Broken(f"{told} answers {answer.status_code} to {step['who']} and changed the store")
            before = after


def _version(connection: sqlite3.Connection) -> int:
    """Return a number that changes when another connection has written."""
    return int(connection.execute("PRAGMA data_version").fetchone()[0])


def _looked_at(answer: TestResponse, told: str) -> None:
    if answer.status_code >= 500:
        raise Broken(f"{told} answers {answer.status_code}")
    if answer.mimetype == "text/html" and answer.request.method != "HEAD" and (found := executables(answer.text)):
        raise Broken(f"a browser would run {found[:3]} of {told}")
    if answer.mimetype == "application/json" and answer.request.method == "GET":
        answer.get_json()


def _sent(client: FlaskClient, step: dict[str, Any]) -> TestResponse | None:
    return _filled(client, step) if "open" in step else _raw(client, step)


def _filled(client: FlaskClient, step: dict[str, Any]) -> TestResponse | None:
    """Open a page and send one of its forms; None where it has no such form for who asks."""
    opened = client.get(step["open"])
    _looked_at(opened, f"GET {step['open']}")
    sheet = Sheet(opened.text) if opened.mimetype == "text/html" else None
    index = step.get("form", 0)
    if sheet is None or index >= len(sheet.forms):
        return None
    form, address = sheet.forms[index], sheet.forms[index].action or step["open"]
    data = _data(form, step.get("typed", {}), tick=bool(step.get("tick")))
    if sheet.methods[index] == "get":
        return client.get(address, query_string=data)
    for name, content in step.get("files", {}).items():
        data.setdefault(name, []).append((io.BytesIO(content), "IMG_1.png"))
    multipart = "multipart/form-data" if step.get("files") else None
    return client.post(address, data=data, content_type=multipart)


def _data(form: Form, typed: dict[str, list[str]], *, tick: bool) -> dict[str, list[Any]]:
    data: dict[str, list[Any]] = {}
    own = [(name, value) for name, value in form.fields if name not in typed]
    ticked = [("ticked", words) for words in form.cautions] if tick else []
    for name, value in (*own, *((name, value) for name, values in typed.items() for value in values), *ticked):
        data.setdefault(name, []).append(value.encode("utf-8", "replace").decode())
    return data


def _raw(client: FlaskClient, step: dict[str, Any]) -> TestResponse:
    """Send a request as it stands; with the right key, or without one."""
    fields = {name: [_clean(value) for value in values] for name, values in step.get("fields", {}).items()}
    if step.get("key"):
        with client.session_transaction() as kept:
            fields["csrf"] = [str(kept.get("key", ""))]
    path, _, behind = (step.get("path", "/") or "/").partition("?")  # an address may have words behind it already
    asked = urlencode({_clean(name): _clean(value) for name, value in step.get("query", {}).items()})
    body: Any = step.get("body")
    return client.open(
        path or "/",
        method=step.get("method", "GET"),
        query_string="&".join(filter(None, (_clean(behind), asked))),
        headers=step.get("headers"),
        data=fields if body is None and step.get("method") not in ("GET", "HEAD") else body,
    )


def _clean(value: str) -> str:
    return value.encode("utf-8", "replace").decode()


# --- the way in -------------------------------------------------------------------------------------------------------


def make_sign_in(random: Random) -> list[str]:
    """Return name, PIN, where to go then, and a cookie."""
    return [
        near(random, "Ann") if random.random() < 0.7 else _value(random),
        PIN if random.random() < 0.6 else _value(random),
        random.choice(("/", "//evil.example", "/\\evil", "/job/1", "javascript:x()", _value(random)))[:3000],
        _header(random),
    ]


@cache
def _door() -> tuple[Store, Flask]:
    path = folder() / "door.sqlite"
    _known()
    shutil.copyfile(folder() / "shop.sqlite", path)
    store = Store(str(path), secret=SECRET)
    app = create_app(store, clock=lambda: NOON)
    app.testing = True
    return store, app


def tries_sign_in(case: list[str]) -> None:
    """Try to come in; nobody is led elsewhere."""
    if len(case) != 4:
        return
    name, pin, then, cookie = map(_clean, case)
    store, app = _door()
    with closing(sqlite3.connect(store.where)) as connection, connection:
        connection.execute("DELETE FROM guesses")
    client = app.test_client()
    _looked_at(client.get("/sign-in", query_string={"then": then}, headers={"Cookie": cookie}), "GET /sign-in")
    with client.session_transaction() as kept:
        key = str(kept.get("key", ""))
    answer = client.post("/sign-in", data={"csrf": key, "name": name, "pin": pin, "then": then, "carried-note": name})
    _looked_at(answer, "POST /sign-in")
    if answer.status_code == 303:
        if not answer.location.startswith("/") or answer.location.startswith(("//", "/\\")):
            raise Broken(f"led to {answer.location!r}")
        for address in ("/", "/job/1"):
            _looked_at(Person(client).client.get(address), f"GET {address}")


TARGETS = (Target("pages", make, tries, 6.0), Target("sign-in", make_sign_in, tries_sign_in, 0.4))
