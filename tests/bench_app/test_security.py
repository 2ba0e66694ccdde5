"""Who may do what: sign-in, form keys, limits of guessing, sessions, headers, and that nothing secret leaks.

The bench of these tests holds a job with every kind of page and a capture; each test walks the application's own table
of addresses, so that a page added later is tried too.
"""

from __future__ import annotations

import logging
import re
from collections.abc import Iterator
from pathlib import Path

import pytest
from werkzeug.test import TestResponse

from labelkit.bench.app import create_app
from labelkit.bench.people import label_text
from tests.bench_app.attacks import OPEN, QUERY, UNWRITTEN, Bench, evil_bench, key_of, tries_to_sign_in
from tests.bench_app.conftest import NOON
from tests.bench_app.hands import PIN, Page, person
from tests.bench_app.workshop import SECRET

EVIL = "https://evil.example"


@pytest.fixture(scope="module")
def shop(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Bench]:
    """Return a bench that its tests leave as it is."""
    with evil_bench(tmp_path_factory.mktemp("shop")) as bench:
        yield bench


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
    for _rule, address in shop.all_addresses("GET"):
        page = app.test_client().get(address)
        assert 200 == page.status_code, address
        if page.mimetype == "text/html":
            sent = {form.action for form in Page(page.text).forms if "csrf" in form.names}
            assert sent <= {"/language"}, address
            assert 'href="/capture"' not in page.text, address
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
    yield 500, person(app).client.get("/broken/inside")


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
        client.get("/", query_string={"code": label}),
    ]
    assert "PIN field" in client.get("/sign-in").text
    assert label.rpartition("/")[2] not in answers[-1].text
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
