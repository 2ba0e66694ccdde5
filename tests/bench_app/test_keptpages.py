"""A card that is asked for again is given again, unmade, and never otherwise than it would be made now."""

from __future__ import annotations

import re
import sqlite3
from collections.abc import Callable
from dataclasses import dataclass, field, replace
from datetime import datetime, timedelta
from typing import Any

import pytest
from flask import Flask
from sqlalchemy.exc import OperationalError
from werkzeug.security import generate_password_hash
from werkzeug.test import TestResponse

from labelkit.bench import cards
from labelkit.bench.app import create_app
from labelkit.bench.guard import LIMITS
from labelkit.bench.web import Bench
from labelkit.sheets.jobview import JobView
from labelkit.store.jobs import Store
from tests.bench_app.hands import Page, Person, person, record
from tests.bench_app.workshop import code_of, open_job, pump

# So early that a shift ends before the day does.
MORNING = datetime.fromisoformat("2026-03-02T06:00:00").astimezone()
TOKENS = re.compile(r'(?<=name="token" value=")[^"]*')


@dataclass
class Shop:
    """A bench that runs for long, its clock, and who made a card: that bench first."""

    store: Store
    view: JobView
    now: datetime = MORNING
    made: list[Bench] = field(default_factory=list)

    def __post_init__(self) -> None:
        self.app = self.bench()
        self.ann = person(self.app, "Ann")
        self.path = f"/{code_of(self.view, 'cover')}"

    def bench(self) -> Flask:
        """Return a bench that nobody has asked yet."""
        return create_app(self.store, clock=lambda: self.now)

    def asks(self, path: str = "", **given: str) -> TestResponse:
        """Return Ann's card, which must be as a bench that was started just now makes it."""
        path = path or self.path
        answer = self.ann.client.get(path, headers=given)
        fresh = self.bench().test_client()
        fresh.set_cookie("labelkit", cookie_of(self.ann))
        expected = fresh.get(path, headers=given)
        assert (expected.status, list(expected.headers)) == (answer.status, list(answer.headers))
        assert TOKENS.sub("", expected.text) == TOKENS.sub("", answer.text)
        return answer

    def makes(self, ask: Callable[[], object]) -> int:
        """Return how many cards the bench that runs for long makes to answer."""
        before = len(self.made)
        ask()
        return sum(each is self.made[0] for each in self.made[before:])


def cookie_of(ann: Person) -> str:
    cookie = ann.client.get_cookie("labelkit")
    assert cookie is not None
    return str(cookie.value)


@pytest.fixture
def shop(store: Store, view: JobView, monkeypatch: pytest.MonkeyPatch) -> Shop:
    opened, page = Shop(store, view), cards._page

    def watched(bench: Bench, *given: Any) -> str:
        opened.made.append(bench)
        return page(bench, *given)

    monkeypatch.setattr(cards, "_page", watched)
    opened.ann.open(opened.path)
    return opened


def test_a_warm_card_is_given_unmade_with_tokens_of_its_own(shop: Shop) -> None:
    """Headers and words are those of the card as it was made; no token comes twice, so that each form is written."""
    tokens = TOKENS.findall(shop.ann.client.get(shop.path).text)

    assert 0 == shop.makes(lambda: tokens.extend(TOKENS.findall(shop.asks().text)))
    assert len(tokens) == len(set(tokens)) > 10
    assert {16} == {len(token) for token in tokens}
    pages = [shop.ann.open(shop.path) for _ in range(2)]
    for number, page in enumerate(pages):
        assert 303 == shop.ann.send(shop.path, "noted", page=page, note=f"note {number}").status_code
    assert ["note 0", "note 1"] == [event.act.note for event in shop.store.journal.events(1)]


def noted(shop: Shop) -> None:
    with Store(shop.store.where) as other:
        record(other, shop.view, MORNING, ("2", {"kind": "noted", "note": "seen by Bo"}))


def option_chosen(shop: Shop) -> None:
    with Store(shop.store.where) as other:
        other.update_job(replace(other.job(1), options={"drive": "splined"}))


def other_pin(shop: Shop) -> None:
    shop.store.doorway.set_pin_hash(generate_password_hash("135791", method="pbkdf2:sha256:1"))


def later(**time: float) -> Callable[[Shop], None]:
    def passes(shop: Shop) -> None:
        shop.now += timedelta(**time)

    return passes


@pytest.mark.parametrize(
    ("change", "words"),
    [
        (noted, "seen by Bo"),
        (option_chosen, "2 of 14"),
        (other_pin, "Sign in to record what you do"),
        (later(hours=12), "Sign in to record what you do"),
        (later(hours=-1), "Sign in to record what you do"),
    ],
    ids=["an event", "an option", "the PIN", "the shift is over", "the clock is set back"],
)
def test_no_card_outlives_what_it_says(shop: Shop, change: Callable[[Shop], None], words: str) -> None:
    """Whatever another process changes, or time itself, the next answer is what is right then."""
    before = Page(shop.asks().text).text
    change(shop)
    after: list[str] = []

    assert 1 == shop.makes(lambda: after.append(Page(shop.asks().text).text))
    assert (False, True) == (words in before, words in after[0]), after


def test_the_times_of_a_history_change_at_midnight(shop: Shop) -> None:
    """What was done today is told by the hour, what was done before with its date."""
    begin = datetime.fromisoformat("2026-03-02T22:00:00").astimezone()
    shop.now = begin
    shop.ann = person(shop.app, "Ann")
    record(shop.store, shop.view, begin, ("2", {"kind": "noted", "note": "seen"}))
    assert "Bo, 22:00" in Page(shop.asks().text).text
    shop.now = begin + timedelta(hours=3)

    assert "Bo, 2026-03-02 22:00" in Page(shop.asks().text).text


def test_a_kept_card_is_nobody_elses(shop: Shop) -> None:
    """Others read it under their name, in their language, at its other address; strangers without forms."""
    bo = person(shop.app, "Bo")
    german = {"Accept-Language": "de"}
    for ask in (lambda: bo.open(shop.path), lambda: shop.asks(**german), lambda: shop.asks(f"{shop.path}?look=1")):
        assert 1 == shop.makes(ask)
        assert 0 == shop.makes(ask)
    keys = {page.form("noted").fields[0] for page in (shop.ann.open(shop.path), bo.open(shop.path))}
    stranger = Page(shop.app.test_client().get(shop.path).text)

    assert 2 == len(keys)
    assert [] == [form for form in stranger.forms if form.action.endswith("/act")]


def test_a_message_is_told_by_a_page_that_was_made(shop: Shop) -> None:
    """What was just done is told once, and a cookie that is set belongs to that one answer."""
    assert 303 == shop.ann.send(shop.path, "noted", note="seen").status_code
    cookie = cookie_of(shop.ann)
    for _ in range(2):
        client = shop.app.test_client()
        client.set_cookie("labelkit", cookie)
        assert 1 == shop.makes(lambda client=client: client.get(shop.path))  # type: ignore[misc]
    assert "Set-Cookie" in shop.ann.client.get(shop.path).headers
    assert "Set-Cookie" not in shop.ann.client.get(shop.path).headers


def test_a_stranger_is_counted_before_a_warm_card_is_shown(shop: Shop) -> None:
    """Who has guessed too often sees no card, however often others have asked for it, or they themselves before."""
    stranger = shop.app.test_client()
    assert [200, 200] == [stranger.get(shop.path).status_code for _ in range(2)]
    for _ in range(LIMITS["code"].by_one):
        shop.store.doorway.count_wrong("code", "127.0.0.1", int(MORNING.timestamp()), forget_before=0)

    assert (429, 200) == (stranger.get(shop.path).status_code, shop.asks().status_code)


def test_a_card_that_speaks_of_two_jobs_is_made_each_time(shop: Shop) -> None:
    """Who works on another job is told so; the other job may change without this one's."""
    other = open_job(shop.store, pump())
    shop.ann.does(f"/{code_of(other, 'cover')}", "noted", note="works on it")
    assert 409 == shop.ann.client.get(shop.path).status_code

    for _ in range(2):
        assert 1 == shop.makes(lambda: shop.asks(f"{shop.path}?look=1"))


def test_a_store_that_is_gone_is_told_instead_of_a_page(
    shop: Shop, monkeypatch: pytest.MonkeyPatch, caplog: pytest.LogCaptureFixture
) -> None:
    """What cannot be looked at is not given again; nothing else is asked of the store, and only the log names it."""

    def gone(*_: object, **__: object) -> None:
        raise OperationalError("", {}, sqlite3.OperationalError("disk I/O error"))

    monkeypatch.setattr(shop.store._database.engine, "begin", gone)
    monkeypatch.setattr(shop.store._database.engine, "raw_connection", gone)
    for path in (shop.path, "/"):
        answer = shop.ann.client.get(path, headers={"Accept-Language": "de"})

        assert 503 == answer.status_code
        assert "Die Werkbank kann gerade nicht an ihre Daten" in answer.text
        assert "disk I/O error" not in answer.text
    assert "disk I/O error" in caplog.text
