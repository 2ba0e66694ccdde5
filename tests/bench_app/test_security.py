"""Who may do what: sign-in, form keys, limits of guessing, sessions, headers, and that nothing secret leaks.

The bench of these tests holds a job with every kind of page and a capture; each test walks the application's own table
of addresses, so that a page added later is tried too.
"""

from __future__ import annotations

import logging
import re
from collections.abc import Iterator
from concurrent.futures import ThreadPoolExecutor
from dataclasses import dataclass
from datetime import datetime, timedelta
from itertools import count
from pathlib import Path

import pytest
from flask import Flask
from flask.testing import FlaskClient
from werkzeug.security import generate_password_hash
from werkzeug.test import TestResponse

from labelkit.bench.app import create_app
from labelkit.bench.guard import LIMITS
from labelkit.bench.people import SHIFT, label_text
from labelkit.calc.codes import TAG_BITS, is_genuine, make_code, serial_of
from labelkit.store.jobs import Store
from tests.bench_app.attacks import OPEN, QUERY, UNWRITTEN, Bench, furnish, open_evil
from tests.bench_app.conftest import NOON
from tests.bench_app.hands import PIN, Page, person, with_pin
from tests.bench_app.workshop import SECRET

YEAR = timedelta(days=365.25)
EVIL = "https://evil.example"
# So many processes share a store at most without a year of guessing being enough; each lets one guess more pass.
PROCESSES = 4


@pytest.fixture(scope="module")
def shop(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Bench]:
    """Return a bench that its tests leave as it is."""
    with Store(str(tmp_path_factory.mktemp("shop") / "shop.sqlite"), secret=SECRET) as store:
        with_pin(store)
        app = create_app(store, clock=lambda: NOON)
        bench = Bench(store, app, open_evil(store), person(app))
        furnish(bench, NOON)
        yield bench


def key_of(client: FlaskClient) -> str:
    """Return the key of a browser's forms."""
    client.get("/sign-in")
    with client.session_transaction() as kept:
        return str(kept["key"])


def tries_to_sign_in(client: FlaskClient, pin: str, *, at: str = "10.0.0.1", **more: str) -> TestResponse:
    """Send the sign-in form from an address."""
    data = {"csrf": key_of(client), "name": "Eve", "pin": pin, **more}
    return client.post("/sign-in", data=data, environ_base={"REMOTE_ADDR": at})


def test_without_a_name_nothing_but_cards_can_be_read(shop: Bench) -> None:
    """Every address that answers a name leads to the sign-in without one, but for those that are named here."""
    for rule, address in shop.all_addresses("GET"):
        with_name, without = shop.ann.client.get(address), shop.stranger().get(address)
        assert 200 == with_name.status_code, address
        if rule.endpoint in OPEN:
            assert 200 == without.status_code, address
        else:
            to_sign_in = without.status_code == 303 and without.location.startswith("/sign-in?then=/")
            assert to_sign_in or (without.status_code, without.data) == (401, b""), address


def test_without_a_name_no_page_offers_to_write(shop: Bench) -> None:
    """First page and card have no form that writes, no list of captures, no photo of the bench, no history."""
    card = f"/{shop.values['all']['code']}"
    for address in ("/", card):
        page = Page(shop.stranger().get(address).text)
        assert {form.action for form in page.forms if "csrf" in form.names} <= {"/language"}
        assert not [link for link in page.addresses() if re.match(r"/capture|/job/\d+/|.*/(picture|receive)", link)]
        assert "History" not in page.text
    own = Page(shop.ann.client.get(card).text)
    assert "History" in own.text
    assert f"{card}/act" in {form.action for form in own.forms if "csrf" in form.names}


def test_without_a_name_nothing_is_written(shop: Bench) -> None:
    """Every form is refused, also with a key and with what a right one would hold."""
    before = shop.contents()
    for rule, address in shop.all_addresses("POST"):
        client = shop.stranger()
        answer = client.post(address, data={"csrf": key_of(client), "form": "noted", "note": "x", "pin": "000000"})
        if rule.endpoint not in UNWRITTEN:
            assert answer.status_code in (401, 403) or answer.location.startswith("/sign-in"), address
    assert before == shop.contents()


@pytest.mark.parametrize("key", [None, "", "wrong", "of another browser"])
def test_a_form_without_this_browser_s_key_is_refused(shop: Bench, key: str | None) -> None:
    """Another page cannot send a form in somebody's name; nothing is written."""
    before = shop.contents()
    given = key_of(shop.stranger()) if key == "of another browser" else key
    data = {"form": "noted", "note": "x", "pin": PIN, "name": "Eve"} | ({} if given is None else {"csrf": given})
    for rule, address in shop.all_addresses("POST"):
        if rule.endpoint not in UNWRITTEN:
            assert 403 == shop.ann.client.post(address, data=data).status_code, address
    assert before == shop.contents()
    assert "Ann" in shop.ann.open("/").text


@pytest.mark.parametrize("origin", [EVIL, "null", "http://localhost:8081", "http://localhost.evil.example"])
def test_a_form_from_another_site_is_refused_flatly(shop: Bench, origin: str) -> None:
    """Also with the right key; what it holds is not offered to be sent once more, signed in or not.

    Source: the Origin header by the Fetch standard, section "Origin header".
    """
    before = shop.contents()
    for rule, address in shop.all_addresses("POST"):
        if rule.endpoint not in UNWRITTEN:
            data = {"csrf": shop.key(), "note": "written by Eve", "name": "Eve", "pin": PIN}
            answer = shop.ann.client.post(address, data=data, headers={"Origin": origin})
            assert (403, False) == (answer.status_code, "written by Eve" in answer.text), address
            answer = shop.stranger().post(address, data=data, headers={"Origin": origin})
            assert "written by Eve" not in answer.text, address
            assert 400 > answer.status_code >= 300 or 403 == answer.status_code
    assert before == shop.contents()


def test_a_form_from_our_own_page_is_taken(shop: Bench) -> None:
    """The check of the origin does not refuse what browsers send by themselves."""
    answer = shop.sends("/job/1/work", {"then": "/job/1"}, headers={"Origin": "http://localhost"})

    assert (303, "/job/1") == (answer.status_code, answer.location)


def test_a_screen_that_only_shows_writes_nothing(shop: Bench) -> None:
    """Everybody reads everything on it; no form is taken, signed in or not."""
    app = create_app(shop.store, clock=lambda: NOON, read_only=True)
    before = shop.contents()
    for rule, address in shop.all_addresses("POST"):
        client = app.test_client()
        answer = client.post(address, data={"csrf": key_of(client), "name": "Eve", "pin": PIN, "form": "noted"})
        assert 403 == answer.status_code or rule.endpoint in UNWRITTEN, address
    for rule, address in shop.all_addresses("GET"):
        page = app.test_client().get(address)
        assert 200 == page.status_code, address
        if page.mimetype == "text/html" and rule.endpoint != "sign_in_form" and not rule.endpoint.startswith("capture"):
            sent = {form.action for form in Page(page.text).forms if "csrf" in form.names}
            assert sent <= {"/language"}, address
    assert before == shop.contents()


def answers_of_every_kind(shop: Bench) -> Iterator[tuple[int, TestResponse]]:
    """Yield answers by the status that they must have."""
    ann, stranger = shop.ann.client, shop.stranger()
    code = shop.values["all"]["code"]
    yield 200, ann.get("/")
    yield 200, ann.get(f"/{code}/photo")
    yield 303, stranger.get("/job/1")
    yield 400, ann.get("/1234")
    yield 401, stranger.post("/job/1/act")
    yield 403, ann.post("/job/1/act")
    yield 404, ann.get("/job/77")
    yield 404, ann.get("/no/such/page")
    yield 404, ann.get("/job/77.json")
    yield 405, ann.get("/job/1/work")
    yield 409, shop.sends(f"/{code}/act", {"form": "installed"})
    yield 413, shop.sends("/job/1/act", {"note": "x" * 100_000})
    yield 422, shop.sends("/job/1/act", {"form": "hold", "why": ""})
    app = create_app(shop.store, clock=lambda: NOON)
    app.add_url_rule("/broken/inside", "broken", lambda: [][1])
    yield 500, app.test_client().get("/broken/inside")


def test_every_answer_bears_the_headers(shop: Bench) -> None:
    """Also errors, redirects and files: no script but ours, no frame, no guessing of types, no address given away.

    Source: W3C Content Security Policy level 3; Fetch standard (nosniff); W3C Referrer Policy.
    """
    for status, answer in answers_of_every_kind(shop):
        assert status == answer.status_code, (status, answer.request.path, answer.status_code)
        policy = dict(item.split(" ", 1) for item in answer.headers["Content-Security-Policy"].split("; "))
        wanted = {"default-src": "'none'", "script-src": "'self'", "base-uri": "'none'", "form-action": "'self'"}
        assert wanted.items() <= policy.items()
        assert ("'none'", "nosniff") == (policy["frame-ancestors"], answer.headers["X-Content-Type-Options"])
        assert ("same-origin", True) == (answer.headers["Referrer-Policy"], "Cache-Control" in answer.headers)
        assert b"Traceback" not in answer.data
        assert "Access-Control-Allow-Origin" not in answer.headers
    for _, address in shop.all_addresses("GET"):
        assert "Content-Security-Policy" in shop.ann.client.get(address).headers


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
    """Whoever left the shop cannot come back with what they have."""
    ann, label = person(door), label_text(store, "Ann")
    assert 303 == tries_to_sign_in(door.test_client(), label).status_code
    store.doorway.set_pin_hash(generate_password_hash("135791", method="pbkdf2:sha256:1"))

    assert 303 == ann.client.get("/capture").status_code
    assert [403, 403, 303] == [
        tries_to_sign_in(door.test_client(), each).status_code for each in (label, PIN, "135791")
    ]


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


@pytest.mark.parametrize(
    "then",
    [
        EVIL,
        "//evil.example",
        "/\\evil.example",
        "\\\\evil.example",
        "/\t/evil.example",
        "javascript:alert(1)",
        "evil.example",
        "http:evil.example",
        "/job/1\r\nSet-Cookie: a=b",
    ],
)
def test_no_form_leads_away_from_the_bench(shop: Bench, then: str) -> None:
    """Wherever a form says what comes then, only an address of the bench is opened."""
    page = Page(shop.stranger().get("/sign-in", query_string={"then": then}).text)
    assert ("then", "/") in page.form_with("pin").fields
    answers = [tries_to_sign_in(shop.stranger(), PIN, then=then), shop.sends("/job/1/work", {"then": then})]
    answers += [
        shop.stranger().post(address, data={"language": "en", "then": then})
        for rule, address in shop.all_addresses("POST")
        if rule.endpoint in UNWRITTEN
    ]

    for answer in answers:
        assert (303, True) == (answer.status_code, answer.location in ("/", "/job/1", "/job/1/next"))
        assert "a=b" not in answer.headers.get_all("Set-Cookie")


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
    code = open_evil(store)
    right, limit, wrong = code.code(code.teardown.bins[0]), LIMITS["code"], wrong_codes()

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
    open_evil(store)
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


def test_no_secret_is_in_logs_or_addresses(
    shop: Bench, caplog: pytest.LogCaptureFixture, capsys: pytest.CaptureFixture[str], tmp_path: Path
) -> None:
    """PIN, form key, session and sign-in label; a card's code is in its address by design, and in no log."""
    caplog.set_level(logging.DEBUG)
    client = shop.stranger()
    label = label_text(shop.store, "Ann")
    code = shop.values["all"]["code"]
    answers = [
        tries_to_sign_in(client, "987654"),
        tries_to_sign_in(client, PIN),
        tries_to_sign_in(shop.stranger(), label),
        client.get(f"/{code}"),
        client.post(f"/{code}/act", data={"csrf": key_of(client), "form": "noted", "note": QUERY * 200}),
        client.get("/job/77"),
    ]
    app = create_app(shop.store, clock=lambda: NOON)
    app.add_url_rule("/broken/inside", "broken", lambda: [][1])
    ann = person(app).client
    answers.append(ann.get("/broken/inside"))
    cookies = [each.get_cookie("labelkit").value for each in (client, ann)]  # type: ignore[union-attr]
    secrets = ["987654", PIN, label.rpartition("/")[2], key_of(client), key_of(ann), *cookies, SECRET.hex()]
    said = caplog.text + "".join(capsys.readouterr())
    pages = [answer.text for answer in answers] + [
        shop.ann.client.get(a).text
        for _, a in shop.all_addresses("GET")
        if not a.endswith((".pdf", ".zip", ".ttf")) and "picture" not in a and "photo" not in a
    ]
    addresses = [address for text in pages for address in Page(text).addresses()]
    addresses += [answer.location or "" for answer in answers]

    assert "IndexError" in said
    assert [] == [secret for secret in secrets if secret in said]
    assert code not in said
    assert [] == [address for address in addresses for secret in [*secrets, shop.key()] if secret in address]
    for text in pages:
        for written in re.findall(r"<form[^>]*>.*?</form>", text, re.DOTALL):
            assert 'method="post"' in written or 'name="csrf"' not in written


def test_no_path_leaves_its_folder(shop: Bench) -> None:
    """Dots and slashes, plain and encoded, in every part of every address and in every name that a form gives."""
    outside = [
        "../../../etc/passwd",
        "..%2f..%2fetc%2fpasswd",
        "%2e%2e/app.py",
        "....//app.py",
        "/etc/passwd",
        "..\\app.py",
    ]
    outside += ["%00", "..%00.ttf", "~", "%c0%ae%c0%ae/", "regular.ttf/../../app.py"]
    for text in outside:
        for address in (
            "/fonts/{}",
            "/{}",
            "/{}/photo",
            "/{}.json",
            "/job/1/pack/{}",
            "/job/1/fits/{}",
            "/capture/picture/{}",
        ):
            answer = shop.ann.client.get(address.format(text))
            assert answer.status_code in (308, 400, 404), (address, text, answer.status_code)
            assert not re.search(r"root:|create_app|import ", answer.text)
        code = shop.values["all"]["code"]
        assert shop.ann.client.get(f"/{code}/picture/{text}").status_code in (308, 400, 404)
