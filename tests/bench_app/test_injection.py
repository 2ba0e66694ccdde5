"""What people type, send and import stays what it is: words are no markup, no query and no program; junk is refused.

Pages are judged by their elements (`attacks.executables`): whatever a browser would run that is not ours is found.
"""

from __future__ import annotations

import io
import json
import re
from collections.abc import Iterator
from xml.etree import ElementTree

import pytest
from hypothesis import HealthCheck, example, given, settings
from hypothesis import strategies as st

from labelkit.load.stock import PRINTABLE, find_stock
from labelkit.model.acts import Photo
from labelkit.model.events import act_data
from labelkit.render import write
from labelkit.sheets.cardpages import cards_document
from labelkit.sheets.kit import label_texts
from labelkit.sheets.labels import LabelSheets
from tests.bench_app.attacks import QUERY, SCRIPT, Bench, evil_bench, executables
from tests.bench_app.hands import Form, Page, off_every_job
from tests.bench_app.workshop import png

# What a form carries besides what people fill in.
_OURS = frozenset({"csrf", "token", "seen", "form", "kind", "inside", "laid"})
_WORDS = frozenset(
    {"note", "why", "what", "reason", "agreed", "how", "up", "clock", "name", "remark", "statement", "face"}
)
_FIGURES = frozenset({"pieces", "count", "right"})
# What brings photos may be larger than other forms, bytes.
LARGER = {"take_photo": 16_000_000, "capture_keep": 48_000_000, "capture_change": 48_000_000}
# As much as the shortest field takes: a name has 60 letters.
TYPED = "<script>x()</script>\"onload=x() ');DROP TABLE jobs;--{{7*7}}"


@pytest.fixture(scope="module")
def shop(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Bench]:
    """Return a bench on which the tests write what they like."""
    with evil_bench(tmp_path_factory.mktemp("shop"), "<b onload=x()>Ann") as bench:
        yield bench


def pages_of(shop: Bench) -> Iterator[tuple[str, str]]:
    """Yield the address and text of every page, and of some cards."""
    for _, address in shop.all_addresses("GET"):
        answer = shop.ann.client.get(address)
        if answer.mimetype == "text/html":
            yield address, answer.text
    for each in shop.view.teardown.bins[::6]:
        for code in (shop.view.code(each), shop.view.new_code(each)):
            yield f"/{code}", shop.ann.client.get(f"/{code}").text


def test_the_judge_finds_what_a_browser_would_run() -> None:
    """Or the tests below would say nothing."""
    for text in (
        "<script>x()</script>",
        "<script src='//evil.example/x.js'></script>",
        '<p onclick="x()">',
        "<a href=' java\nscript:x()'>",
        "<svg><script>x()</script></svg>",
        '<iframe src="/"></iframe>',
        '<meta http-equiv="refresh" content="0;url=//evil.example">',
        '<button formaction="javascript:x()">',
        "<img src=x onerror=x()>",
    ):
        assert executables(text), text
    ours = '<script src="/bench.js" defer></script><p title="javascript:x()">&lt;script&gt;</p>'
    assert [] == executables(ours)


def test_no_text_of_a_profile_or_record_is_run_on_any_page(shop: Bench) -> None:
    """A script, a handler, a template and an address that is a program, in every text there is; they are shown."""
    shown = 0
    for address, text in pages_of(shop):
        assert [] == executables(text), address
        page = Page(text).text.lower()
        assert page.count("{{7*7}}") == page.count("javascript:x()&"), address
        shown += page.count("<script>x()</script>")

    assert shown > 100


def test_sheets_cards_and_data_hold_no_program(shop: Bench) -> None:
    """The kit's cards as one file, labels as SVG, and JSON that no browser takes for a page."""
    document = cards_document(shop.view, lambda path: png())
    assert [] == executables(document)
    assert "{{7*7}}" in document

    bins = shop.view.teardown.bins[:10]
    stock = find_stock("a4-2x5-99x56", PRINTABLE)
    sheet = io.BytesIO()
    pages = LabelSheets(shop.view, bins, stock, texts=label_texts(shop.view, bins, offline=False)).pages()
    write([next(iter(pages))], ".svg", sheet, title=SCRIPT, subject=SCRIPT)
    for element in ElementTree.fromstring(sheet.getvalue()).iter():
        assert element.tag.rpartition("}")[2].lower() not in ("script", "foreignobject", "handler", "a")
        for name, value in element.attrib.items():
            assert not name.rpartition("}")[2].lower().startswith("on")
            assert not value.lower().strip().startswith("javascript:")

    for _, address in shop.all_addresses("GET"):
        if address.endswith(".json"):
            answer = shop.ann.client.get(address)
            assert ("application/json", "nosniff") == (answer.mimetype, answer.headers["X-Content-Type-Options"])
            assert json.loads(answer.text)


def forms_of(shop: Bench) -> Iterator[tuple[str, Form]]:
    """Yield every form that writes with the page on which it stands."""
    seen = set()
    for address, text in pages_of(shop):
        for form in Page(text).forms:
            if "csrf" in form.names and form.action not in ("/sign-out", "/language"):
                key = (re.sub(r"[0-9A-Z]{11}", "CODE", form.action), form.name)
                if key not in seen:
                    seen.add(key)
                    yield address, form


def test_what_is_typed_into_any_field_stays_words(shop: Bench) -> None:
    """In every field of every form: taken or asked for again, never run, never an error, and kept as it was typed.

    Sent once with nothing but that, and once with it in the fields of words alone, so that it comes to the record.
    """
    count = 0
    for address, form in list(forms_of(shop)):
        fields = form.names - _OURS - {"then"}
        for chosen in (fields, fields & _WORDS):
            sent = dict.fromkeys(fields & _FIGURES, "1") | dict(form.fields) | dict.fromkeys(chosen, TYPED)
            sent["token"] = f"{sent.get('token', '')}-{len(chosen)}"
            off_every_job(shop.ann)
            answer = shop.ann.client.post(form.action, data=sent | {"ticked": form.cautions})
            count += 1
            assert answer.status_code in (200, 303, 400, 403, 404, 409, 422), (address, form.action, answer.status_code)
            assert [] == executables(answer.text), (address, form.name)
            if answer.status_code == 422 and chosen & _WORDS:
                assert "DROP TABLE jobs" in Page(answer.text).text + repr(Page(answer.text).elements), form.action
    assert count > 80

    kept = {
        (event.act.kind, name)
        for event in shop.store.journal.events(1)
        for name, value in act_data(event.act).items()
        if value == TYPED
    }
    assert {
        ("noted", "note"),
        ("hold", "why"),
        ("released", "why"),
        ("deviation", "what"),
        ("deviation", "reason"),
        ("deviation", "agreed"),
        ("condemned", "why"),
        ("side_seen", "up"),
        ("correction", "why"),
    } <= kept
    for address, text in pages_of(shop):
        assert [] == executables(text), address


def test_a_query_in_an_address_stays_words(shop: Bench) -> None:
    """Codes, names, steps and numbers of addresses go into no query as text; the tables stand."""
    before = shop.contents()
    for text in (QUERY, "1 OR 1=1", "1;DROP TABLE jobs", "' UNION SELECT value FROM meta --"):
        for address in (
            "/{}",
            "/{}.json",
            "/job/{}",
            "/job/1/fits/{}",
            "/job/1/pack/{}",
            "/?code={}",
            "/capture/picture/{}",
        ):
            answer = shop.ann.client.get(address.format(text.replace(" ", "%20")))
            assert answer.status_code in (400, 404), (address, text)
            assert shop.store.secret.hex() not in answer.text
    assert before == shop.contents()


KINDS = (
    "multipart/form-data; boundary=a",
    "multipart/form-data",
    "application/x-www-form-urlencoded",
    "application/json",
    "text/xml",
    "\x7f",
    "",
)
_FEW = settings(max_examples=25, deadline=None, suppress_health_check=list(HealthCheck))


@_FEW
@given(body=st.binary(max_size=300), kind=st.sampled_from(KINDS), which=st.integers(0, 200))
@example(body=b"--a\r\nContent-Disposition: form-data; name=", kind=KINDS[0], which=0)
@example(body=b"csrf=%ff%00&csrf=\xff&note=%u1234", kind=KINDS[2], which=3)
def test_a_body_that_is_no_form_is_refused(shop: Bench, body: bytes, kind: str, which: int) -> None:
    """Whatever arrives, with and without a name: an answer in words, nothing written."""
    before = len(shop.store.journal.events(1))
    addresses = [address for _, address in shop.all_addresses("POST")]
    for client in (shop.ann.client, shop.stranger()):
        answer = client.post(addresses[which % len(addresses)], data=body, content_type=kind)
        assert 300 <= answer.status_code < 500
        assert "Content-Security-Policy" in answer.headers
    assert before == len(shop.store.journal.events(1))


@_FEW
@given(
    start=st.sampled_from(
        [b"", b"\xff\xd8\xff\xe0", png(), png()[:40], b"GIF89a", b"RIFF0000WEBPVP8 ", b"BM", b"<svg onload=x()>"]
    ),
    rest=st.binary(max_size=400),
    name=st.sampled_from(["a.jpg", "../../a.php", "<script>.png", "x" * 300, "a\r\nX: y.png", ""]),
)
def test_an_upload_that_is_no_photo_is_refused(shop: Bench, start: bytes, rest: bytes, name: str) -> None:
    """Told by decoding; a picture that is one is written anew, so that nothing appended to it is kept."""
    code = shop.values["all"]["code"]
    before = len(shop.store.journal.events(1))
    answer = shop.sends(
        f"/{code}/photo", {"picture": (io.BytesIO(start + rest), name), "note": SCRIPT, "token": "t" * 10}
    )
    events = shop.store.journal.events(1)

    assert answer.status_code in (303, 409, 422)
    assert [] == executables(answer.text)
    if len(events) > before:
        act = events[-1].act
        assert isinstance(act, Photo)
        kept = shop.store.journal.picture(act.sha256)
        assert kept.startswith(b"\xff\xd8\xff")
        assert len(rest) < 8 or rest not in kept


@pytest.mark.parametrize("size", [65_000, 16_000_001])
def test_a_body_that_is_too_large_is_refused_everywhere(shop: Bench, size: int) -> None:
    """64 kB, a photo 16 MB, on every address; nothing is written."""
    before, body = shop.contents(), b"x" * size
    for rule, address in shop.all_addresses("POST"):
        if rule.endpoint not in LARGER or size > LARGER[rule.endpoint]:
            answer = shop.ann.client.post(address, data=body, content_type="application/x-www-form-urlencoded")
            assert answer.status_code == 413, (address, answer.status_code)
    assert before == shop.contents()


def test_too_many_fields_are_refused(shop: Bench) -> None:
    """Ten thousand fields in few bytes cost nothing."""
    body = "&".join(f"a{k}=" for k in range(10_000))
    answer = shop.ann.client.post(
        "/job/1/act", data=f"csrf={shop.key()}&{body}", content_type="application/x-www-form-urlencoded"
    )

    assert answer.status_code in (400, 413)
