"""How long a sign-in counts, and how often PINs and codes may be guessed: by one client, by all, at once, in a year."""

from __future__ import annotations

from collections.abc import Iterator
from concurrent.futures import ThreadPoolExecutor
from dataclasses import dataclass
from datetime import datetime, timedelta
from itertools import count

import pytest
from flask import Flask
from werkzeug.security import generate_password_hash

from labelkit.bench.app import create_app
from labelkit.bench.guard import LIMITS
from labelkit.bench.people import SHIFT, label_text
from labelkit.calc.codes import TAG_BITS, is_genuine, make_code, serial_of
from labelkit.store.jobs import Store
from tests.bench_app.attacks import key_of, tries_to_sign_in
from tests.bench_app.conftest import NOON
from tests.bench_app.hands import PIN, Page, person
from tests.bench_app.workshop import SECRET, open_job, pump

YEAR = timedelta(days=365.25)
# So many processes share a store at most without a year of guessing being enough; each lets one guess more pass.
PROCESSES = 4


@dataclass
class Clock:
    """A clock that a test sets forward."""

    now: datetime = NOON

    def __call__(self) -> datetime:
        return self.now


@pytest.fixture
def clock() -> Clock:
    return Clock()


@pytest.fixture
def door(store: Store, clock: Clock) -> Flask:
    """Return an application whose clock can be set, over a store of its own."""
    return create_app(store, clock=clock)


def test_a_sign_in_ends_with_the_shift(door: Flask, clock: Clock) -> None:
    """A second before its end it counts, then no more; nor does one from the future, after a clock was set back."""
    ann = person(door)
    for later, status in ((SHIFT - timedelta(seconds=1), 200), (SHIFT, 303), (-timedelta(seconds=1), 303)):
        clock.now = NOON + later
        assert status == ann.client.get("/capture").status_code


def test_a_new_pin_ends_every_sign_in_and_every_label(door: Flask, store: Store) -> None:
    """Whoever left the shop cannot come back with what they have; who guessed at the lost one may come in at once."""
    ann, label = person(door), label_text(store, "Ann")
    assert 303 == tries_to_sign_in(door.test_client(), label).status_code
    tried = [tries_to_sign_in(door.test_client(), "000000", at="10.9.9.9").status_code for _ in range(6)]
    store.doorway.set_pin_hash(generate_password_hash("135791", method="pbkdf2:sha256:1"))

    assert 303 == ann.client.get("/capture").status_code
    assert [403, 403, 303] == [
        tries_to_sign_in(door.test_client(), each).status_code for each in (label, PIN, "135791")
    ]
    assert (429, 303) == (tried[-1], tries_to_sign_in(door.test_client(), "135791", at="10.9.9.9").status_code)


def test_a_label_is_of_one_name_only(door: Flask, store: Store) -> None:
    """Another name before the slash, or nothing behind it, opens nothing."""
    label = label_text(store, "Ann")
    for text in (label.replace("Ann", "Bo"), "Ann/", "/", label[:-1], f"{label}A"):
        assert 403 == tries_to_sign_in(door.test_client(), text, at=f"10.1.0.{len(text)}").status_code


def test_the_cookie_is_for_the_bench_alone(store: Store) -> None:
    """No script reads it, no other site sends it, behind a proxy it only travels encrypted, and nobody can forge it.

    Source: the attributes of cookies by RFC 6265bis.
    """
    for behind_proxy in (False, True):
        client = create_app(store, clock=lambda: NOON, behind_proxy=behind_proxy).test_client()
        cookie = client.get("/sign-in").headers["Set-Cookie"]
        flags = {flag.strip() for flag in cookie.split(";")[1:]}
        assert {"HttpOnly", "SameSite=Lax", "Path=/"} <= flags
        assert behind_proxy == ("Secure" in flags)
    ann = person(create_app(store, clock=lambda: NOON)).client
    value = ann.get_cookie("labelkit").value  # type: ignore[union-attr]
    stranger = create_app(store, clock=lambda: NOON).test_client()
    for forged, status in ((value, 200), (value[:-2] + "xx", 303), ("x", 303), (value.split(".")[0] + "..", 303)):
        stranger.set_cookie("labelkit", forged)
        assert status == stranger.get("/capture").status_code


def test_wrong_pins_are_limited_for_one_client(door: Flask, clock: Clock) -> None:
    """After so many wrong ones also the right one is not looked at, until the time is over; others still come in."""
    limit = LIMITS["pin"]
    answers = [tries_to_sign_in(door.test_client(), f"00000{k}").status_code for k in range(limit.by_one)]
    blocked = tries_to_sign_in(door.test_client(), PIN)
    forwarded = {"X-Forwarded-For": "10.9.9.9", "Forwarded": "for=10.9.9.9"}
    client = door.test_client()
    dodged = client.post(
        "/sign-in",
        data={"csrf": key_of(client), "name": "Eve", "pin": PIN},
        headers=forwarded,
        environ_base={"REMOTE_ADDR": "10.0.0.1"},
    )

    assert {403} == set(answers)
    assert (429, 429) == (blocked.status_code, dodged.status_code)
    assert "nothing was looked at: try again in 15 minutes" in Page(blocked.text).text
    assert 303 == tries_to_sign_in(door.test_client(), PIN, at="10.0.0.2").status_code
    clock.now += timedelta(seconds=limit.seconds)
    assert 303 == tries_to_sign_in(door.test_client(), PIN).status_code


def test_wrong_pins_are_limited_over_all_clients(door: Flask) -> None:
    """An attacker with many addresses is stopped, too."""
    limit = LIMITS["pin"]
    answers = [tries_to_sign_in(door.test_client(), "000000", at=f"10.0.1.{k}").status_code for k in range(60)]

    assert limit.by_all == answers.count(403)
    assert {429} == set(answers[limit.by_all :])


def wrong_codes() -> Iterator[str]:
    """Yield codes that are well formed, of the first job of the store, and wrong."""
    for number in count():
        code = make_code(b"a key that is not the store's%d" % number, 2)
        if not is_genuine(SECRET, code):
            yield code


def test_unknown_codes_are_limited(door: Flask, store: Store, clock: Clock) -> None:
    """For one client and over all; meanwhile a right code is not looked at either; who is signed in goes on working."""
    view = open_job(store, pump())
    right, limit, wrong = view.code(view.teardown.bins[0]), LIMITS["code"], wrong_codes()

    def scan(text: str, client: str) -> int:
        return door.test_client().get(f"/{text}", environ_base={"REMOTE_ADDR": client}).status_code

    ann = person(door)
    assert [404] * limit.by_one == [scan(next(wrong), "10.0.0.1") for _ in range(limit.by_one)]
    assert (429, 200) == (scan(right, "10.0.0.1"), scan(right, "10.0.0.2"))
    rest = [scan(next(wrong), f"10.0.1.{k}") for k in range(20)]
    assert limit.by_all - limit.by_one == rest.count(404)
    assert (429, 200) == (scan(right, "10.0.0.2"), ann.client.get(f"/{right}").status_code)
    clock.now += timedelta(seconds=limit.seconds)
    assert 200 == scan(right, "10.0.0.1")


def test_guesses_that_come_at_once_are_counted_one_by_one(door: Flask, store: Store) -> None:
    """Sixteen requests in the same moment are no way round the limit."""
    open_job(store, pump())
    wrong = wrong_codes()
    codes = [next(wrong) for _ in range(16)]
    with ThreadPoolExecutor(16) as pool:
        answers = list(pool.map(lambda code: door.test_client().get(f"/{code}.json").status_code, codes))

    assert LIMITS["code"].by_one == answers.count(404)
    assert set(answers) == {404, 429}


def test_guessing_a_code_takes_longer_than_a_year() -> None:
    """Expected time to hit any of 60,000 codes, for somebody who knows which labels there are.

    A guess names one label (what it says besides the tag), so it is right for that one or for none: that there are
    60,000 helps nobody. Best is to go through the tags of one label, 2**23 + 1/2 tries on average; spread over labels
    it is 2**24; with random codes also those count that no label has: 2**50 / 60,000.
    """
    labels = range(60_000)
    guesses = [make_code(b"guessed", serial) for serial in (0, 59_999)]
    assert [0, 59_999] == [serial_of(code) for code in guesses]
    one_label, spread, random = (2**TAG_BITS + 1) / 2, 2**TAG_BITS, 2**50 / len(labels)
    tries = min(one_label, spread, random)
    limit = LIMITS["code"]
    in_that_time = limit.by_all + PROCESSES - 1

    assert timedelta(seconds=limit.seconds) * (tries / in_that_time) > YEAR
