"""Somebody at the bench without a browser: signs in, reads pages, fills in their forms as they are and sends them."""

from __future__ import annotations

import re
from collections.abc import Iterable
from dataclasses import dataclass, field
from html.parser import HTMLParser

from flask import Flask
from flask.testing import FlaskClient
from werkzeug.security import generate_password_hash
from werkzeug.test import TestResponse

from labelkit.model.act import Act
from labelkit.model.events import Entry, Event, act_of
from labelkit.sheets.jobview import JobView
from labelkit.store.jobs import Store

PIN = "246810"
# One round, so that a test need not wait for what makes guessing slow.
QUICK_HASH = generate_password_hash(PIN, method="pbkdf2:sha256:1")


@dataclass
class Form:
    """One form of a page: where it goes, what it would send untouched, and which cautions it wants ticked."""

    name: str
    action: str
    fields: list[tuple[str, str]] = field(default_factory=list)
    cautions: list[str] = field(default_factory=list)
    names: set[str] = field(default_factory=set)


class Page(HTMLParser):
    """The elements of a page with their attributes, its text, and its forms."""

    def __init__(self, text: str) -> None:
        super().__init__()
        self.elements: list[tuple[str, dict[str, str]]] = []
        self.words: list[str] = []
        self.forms: list[Form] = []
        self._area: tuple[str, list[str]] | None = None
        self.feed(text)

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        given = {name: value or "" for name, value in attrs}
        self.elements.append((tag, given))
        if tag == "form":
            self.forms.append(Form(given.get("id", "").removeprefix("form-"), given.get("action", "")))
        elif tag in ("input", "textarea") and self.forms and "name" in given:
            form, kind = self.forms[-1], given.get("type", "text")
            form.names.add(given["name"])
            if given["name"] == "ticked":
                form.cautions.append(given["value"])
            elif tag == "textarea":
                self._area = (given["name"], [])
            elif kind not in ("checkbox", "radio") or "checked" in given:
                form.fields.append((given["name"], given.get("value", "")))

    def handle_endtag(self, tag: str) -> None:
        if tag == "textarea" and self._area is not None:
            name, words = self._area
            self.forms[-1].fields.append((name, "".join(words)))
            self._area = None

    def handle_data(self, data: str) -> None:
        self.words.append(data)
        if self._area is not None:
            self._area[1].append(data)

    @property
    def text(self) -> str:
        return " ".join(" ".join(self.words).split())

    def addresses(self) -> list[str]:
        kinds = ("href", "src", "action", "srcset", "data", "poster", "xlink:href", "formaction")
        return [attrs[kind] for _, attrs in self.elements for kind in kinds if kind in attrs]

    def form_with(self, name: str) -> Form:
        """Return the form that has a field."""
        return next(form for form in self.forms if name in form.names)

    def form(self, name: str) -> Form:
        found = [form for form in self.forms if form.name == name]
        assert found, f"no form {name}; there are {[form.name for form in self.forms]}"
        return found[0]


@dataclass
class Person:
    """Somebody who is signed in with a browser of their own."""

    client: FlaskClient
    name: str = "Ann"

    def open(self, path: str) -> Page:
        answer = self.client.get(path, follow_redirects=True)
        assert answer.status_code == 200, (path, answer.status_code, Page(answer.text).text)
        return Page(answer.text)

    def send(
        self, path: str, name: str, *, tick: bool | Iterable[str] = True, page: Page | None = None, **typed: object
    ) -> TestResponse:
        """Open a page, fill in one of its forms, tick its cautions and send it; the answer is not followed."""
        form = (page or self.open(path)).form(name)
        ticked = form.cautions if tick is True else list(tick or ())
        own = [(key, value) for key, value in form.fields if key not in typed]
        for key, value in typed.items():
            own += [(key, str(each)) for each in (value if isinstance(value, list | tuple) else [value])]
        data: dict[str, list[str]] = {}
        for key, value in [*own, *(("ticked", text) for text in ticked)]:
            data.setdefault(key, []).append(value)
        return self.client.post(form.action, data=data)

    def does(self, path: str, name: str, **typed: object) -> Page:
        """Send a form that must be kept and return the page that is opened then."""
        answer = self.send(path, name, **typed)  # type: ignore[arg-type]
        assert answer.status_code == 303, Page(answer.text).text[:1500]
        return self.open(answer.location)

    def is_refused(self, path: str, name: str, **typed: object) -> Page:
        """Send a form that must be refused by the gate and return the page that asks again."""
        answer = self.send(path, name, **typed)  # type: ignore[arg-type]
        assert answer.status_code == 409, (answer.status_code, Page(answer.text).text[:1500])
        return Page(answer.text)


def with_pin(store: Store) -> None:
    """Give a store the PIN of the tests."""
    store.doorway.set_pin_hash(QUICK_HASH)


def person(app: Flask, name: str = "Ann") -> Person:
    """Return somebody who has signed in."""
    client = app.test_client()
    found = re.search(r'name="csrf" value="([^"]+)"', client.get("/sign-in").text)
    assert found
    answer = client.post("/sign-in", data={"csrf": found[1], "name": name, "pin": PIN})
    assert answer.status_code == 303, Page(answer.text).text
    client.get("/")  # takes the greeting
    return Person(client, name)


def off_every_job(someone: Person) -> None:
    """Let somebody work on no job in particular, so that pages of each job may be used."""
    with someone.client.session_transaction() as kept:
        kept.pop("job", None)


def record(
    store: Store, view: JobView, clock: object, *acts: tuple[str | None, dict[str, object]], who: str = "Bo"
) -> list[Event]:
    """Write acts straight into the record, each with the step of its place; what came before a test begins."""
    last = store.journal.last(view.job.number)
    entries = []
    for number, (step, data) in enumerate(acts, last + 1):
        act: Act = act_of(data)
        ordinal = None if step is None else view.teardown.at(step).ordinal
        entries.append(Entry(act, who, clock, f"setup-{number:06d}", ordinal))  # type: ignore[arg-type]
    return [kept.event for kept in store.journal.append(view.job.number, entries)]


def all_out(view: JobView, *, but: Iterable[str] = ()) -> list[tuple[str | None, dict[str, object]]]:
    """Return the acts by which every bin came out, was counted, and found good; those of some steps are left away."""
    acts: list[tuple[str | None, dict[str, object]]] = []
    for each in view.teardown.bins:
        if each.step not in but:
            count = each.part.qty if isinstance(each.part.qty, int) else 5
            acts.append((each.step, {"kind": "removed", "count": count}))
            acts.append((each.step, {"kind": "inspected", "verdict": "reuse"}))
    return acts
