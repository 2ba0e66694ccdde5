"""The bench application, asked without a network."""

from __future__ import annotations

import json
import re
from dataclasses import replace
from pathlib import Path
from typing import Any

import pytest
import yaml
from flask.testing import FlaskClient

from labelkit.bench.app import create_app
from labelkit.calc.codes import grouped
from labelkit.drawing.fonts import font_file
from labelkit.sheets.cards import card, card_data
from labelkit.sheets.jobview import JobView
from labelkit.store.jobs import Store
from tests.bench_app.hands import Page, person
from tests.bench_app.workshop import PUMP, bin_of, code_of, open_job, png, pump

ALLOWED_TAGS = set(
    re.findall(
        r"\w+",
        """html head meta title link script body main header footer nav section article p h1 h2 div span strong small b
        em a ul ol li dl dt dd figure figcaption form fieldset legend label input textarea button details summary img
        svg g path text tspan desc video""",
    )
)


def test_a_sticker_opens_the_card_of_its_part_as_a_new_part(client: FlaskClient, view: JobView) -> None:
    """By scan and by typing; the page of the bin's own label does not say so."""
    seal = bin_of(view, "seal")
    code = view.new_code(seal)
    new, old = (Page(client.get(f"/{each}").text) for each in (code, view.code(seal)))

    assert "NEW PART Radial shaft seal 25 x 40 x 7 Number NOT RECORDED" in new.text
    assert grouped(code) in new.text
    assert "NEW PART" not in old.text
    assert client.get("/", query_string={"code": grouped(code).lower()}).headers["Location"] == f"/{code}"
    assert client.get(f"/{code}.json").json["new"]["name"] == seal.name


def test_a_card_says_what_the_label_led_to(client: FlaskClient, view: JobView) -> None:
    """The page of a code has the step, the name and every word of the card."""
    shown = card(view, bin_of(view, "cover-screws"))
    page = Page(client.get(f"/{shown.code}").text)

    for section in shown.sections:
        for line in section.lines:
            assert f"{line.label} {' '.join(filter(None, (line.text, line.note)))}" in page.text
    for words in (shown.step, shown.name, shown.quantity, *shown.loud, shown.way.text, shown.code_text, *shown.footer):
        assert words in page.text
    for caution in (*shown.hazards, *shown.unit_hazards):
        assert f"{caution.signal.upper()} {caution.when} {caution.text}" in page.text


def test_the_title_begins_with_the_step(client: FlaskClient, view: JobView) -> None:
    """The tab of the browser says which card it is."""
    assert "<title>2.1 Radial shaft seal 25 x 40 x 7</title>" in client.get(f"/{code_of(view, 'seal')}").text


def test_the_json_twin_holds_the_same_card(client: FlaskClient, view: JobView) -> None:
    """A program asks the same address with .json and gets the whole card as data."""
    shown = card(view, bin_of(view, "cover"))
    answer = client.get(f"/{shown.code}.json")
    expected = card_data(shown)

    assert "application/json" == answer.mimetype
    assert json.loads(json.dumps(expected)) == answer.json
    assert (shown.code, "2", 2, 15, "Cover") == tuple(
        answer.json[key] for key in ("code", "step", "number", "total", "name")
    )
    assert {"text": "FLAT FACE UP", "known": "known", "opens": "down", "face": "flat face"} == answer.json["way"]


@pytest.mark.parametrize(
    "typed",
    [
        "{code}",
        "{lower}",
        "{grouped}",
        " {spaced} ",
        "http://192.168.1.20:8080/{code}",
        "HTTP://LOCALHOST:8080/{code}/",
        "kit/cards.html#{code}",
        "12 Cover × 1\nEITHER WAY\n{grouped}",
        "12 Cover × 1 EITHER WAY {grouped}",
    ],
)
def test_whatever_is_typed_or_scanned_leads_to_the_card(client: FlaskClient, view: JobView, typed: str) -> None:
    """The field takes a code in any spelling, a whole address, and the words of an offline symbol."""
    code = code_of(view, "cover")
    forms = {"code": code, "lower": code.lower(), "grouped": grouped(code), "spaced": grouped(code).replace("-", " ")}

    answer = client.get("/", query_string={"code": typed.format(**forms)})

    assert (302, f"/{code}") == (answer.status_code, answer.location)


def test_look_alike_letters_are_accepted(client: FlaskClient, store: Store) -> None:
    """O for 0, I and L for 1, as Crockford's base 32 reads them (published by D. Crockford)."""
    jobs = [open_job(store, pump()) for _ in range(4)]
    codes = [view.code(each) for view in jobs for each in view.teardown.bins]
    assert any("0" in code for code in codes)
    assert any("1" in code for code in codes)

    for code in codes:
        for zero, one in (("O", "I"), ("o", "l")):
            spelt = code.replace("0", zero).replace("1", one)
            assert f"/{code}" == client.get("/", query_string={"code": spelt}).location


def test_a_scanned_address_needs_no_redirect(client: FlaskClient, view: JobView) -> None:
    """What the symbol says is answered at once, also as a hyphenated code in lower case."""
    code = code_of(view, "cover")

    for path in (code, grouped(code).lower()):
        answer = client.get(f"/{path}")
        assert (200, True) == (answer.status_code, "FLAT FACE UP" in answer.text)


def test_home_lists_the_jobs_with_their_serial_numbers(client: FlaskClient, store: Store) -> None:
    """Who knows the unit finds its job: number, serial, unit, options and how many bins; the newest job first."""
    open_job(store, pump(), options={"drive": "splined"}, serial="4711")
    page = Page(client.get("/").text)
    links = [address for address in page.addresses() if address.startswith("/job/")]

    assert ["/job/2", "/job/1"] == links
    assert (
        "2 Gear pump with relief valve serial 4711 P7 · 14 bins Drive: Splined shaft "
        "1 Gear pump with relief valve P7 · 15 bins Drive: still open"
    ) in page.text


def test_a_store_without_a_job_says_so(store: Store) -> None:
    """A bench may be started before the first kit is made."""
    page = person(create_app(store)).open("/")

    assert "There is no job in this store yet." in page.text
    assert any(tag == "input" for tag, _ in page.elements)


def test_a_job_lists_its_bins_tray_by_tray(client: FlaskClient, view: JobView) -> None:
    """Each bin once, with the way to its card and where the part is; an open option's with a question mark."""
    page = Page(client.get("/job/1").text)
    trays = page.text.partition("Tray by tray")[2]
    links = [address for address in page.addresses() if re.fullmatch("/[0-9A-Z]{11}", address)]

    assert {f"/{view.code(each)}" for each in view.teardown.bins} <= set(links)
    for each in view.teardown.bins:
        assert f"{each.step}{'?' * each.doubtful} {each.name} in the unit" in trays
    assert {"key", "splined-hub"} == {each.part.id for each in view.teardown.bins if f" {each.step}? " in trays}


def test_a_job_page_says_which_unit_it_is(client: FlaskClient, store: Store) -> None:
    """Number, serial, unit and options stand on top."""
    open_job(store, pump(), options={"drive": "keyed"}, serial="A-1")

    assert (
        "Job 2 · serial A-1 Gear pump with relief valve · P7 · 14 bins Drive: Keyed shaft"
        in Page(client.get("/job/2").text).text
    )


@pytest.mark.parametrize(
    ("path", "words"),
    [
        ("/job/77", "This bench has no job 77."),
        ("/job/0", "This bench has no job 0."),
        (f"/job/{10**9 - 1}", "This bench has no job 999999999."),
    ],
)
def test_a_job_that_is_not_there_is_told_without_the_store(client: FlaskClient, path: str, words: str) -> None:
    """As a page and as JSON."""
    page = Page(client.get(path).text)

    assert (404, 404) == (client.get(path).status_code, client.get(f"{path}.json").status_code)
    assert page.text.startswith("There is no such job")
    assert words in page.text
    assert words in client.get(f"{path}.json").json["error"]


def test_the_lists_have_json_twins(client: FlaskClient, store: Store, view: JobView) -> None:
    """A program asks for the jobs, then for the bins of one; the codes lead on."""
    open_job(store, pump(), options={"drive": "splined"}, serial="4711")
    jobs = client.get("/jobs.json").json["jobs"]
    data = client.get("/job/1.json").json

    assert [(2, "4711", 14), (1, None, 15)] == [(each["number"], each["serial"], each["bin_count"]) for each in jobs]
    assert jobs[1] == {key: data[key] for key in jobs[1]}
    assert [view.code(each) for each in view.teardown.bins] == [each["code"] for each in data["bins"]]
    assert {"step", "doubtful", "name", "quantity", "place", "code"} == set(data["bins"][0])


def test_a_job_that_cannot_be_read_hides_no_other(client: FlaskClient, store: Store) -> None:
    """A profile of a later version, say: the job is listed with the reason, and its page gives it too."""
    store.create_job(
        number=None, serial="9", file="new.yaml", source=b"format: 7", options={}, address="x", codes=1, photos={}
    )
    page = Page(client.get("/").text)

    assert ["/job/1"] == [address for address in page.addresses() if address.startswith("/job/")]
    assert "2 new.yaml serial 9 new.yaml:1:" in page.text
    assert 400 == client.get("/job/2").status_code


def test_home_asks_for_a_code(client: FlaskClient) -> None:
    """Without a code there is a field for one, ready for a hand scanner."""
    page = Page(client.get("/").text)
    fields = [attrs for tag, attrs in page.elements if tag == "input" and attrs.get("type") != "hidden"]

    assert 1 == len(fields)
    assert "code" == fields[0]["name"]
    assert "autofocus" in fields[0]
    assert client.get("/?code=%20").text == client.get("/").text


def test_a_card_does_not_take_the_focus(client: FlaskClient, view: JobView) -> None:
    """The field at the end of a card would draw the page down to itself."""
    page = Page(client.get(f"/{code_of(view, 'cover')}").text)

    assert [] == [attrs for _, attrs in page.elements if "autofocus" in attrs]


def wrong_codes(store: Store, view: JobView, tmp_path: Path) -> dict[str, str]:
    code = code_of(view, "cover")
    with Store(str(tmp_path / "other.sqlite"), secret=b"another key" * 3) as other:
        first, second = (code_of(open_job(other, pump()), "cover") for _ in range(2))
    wrong = "0" if code[-1] != "0" else "1"
    return {"unknown": first, "elsewhere": second, "mistyped": code[:-1] + wrong, "short": code[:7]}


@pytest.mark.parametrize(
    ("kind", "status", "words"),
    [
        ("unknown", 404, "no label of this bench has this code"),
        ("elsewhere", 404, "this label is of a job that this bench does not have"),
        ("mistyped", 400, "is a mistyped code: its check character does not fit"),
        ("short", 400, "it has 7 characters, a code has 11"),
    ],
)
def test_a_code_without_a_card_says_why(
    client: FlaskClient, store: Store, view: JobView, tmp_path: Path, kind: str, status: int, words: str
) -> None:
    """Unknown, of another job and mistyped are three answers, as a page and as JSON."""
    code = wrong_codes(store, view, tmp_path)[kind]
    for path in (f"/{code}", f"/?code={code}"):
        answer = client.get(path)
        assert (status, True) == (answer.status_code, words in Page(answer.text).text)
    answer = client.get(f"/{code}.json")

    assert (status, True) == (answer.status_code, words in answer.json["error"])


def test_a_bin_that_the_options_took_away_says_so(client: FlaskClient, store: Store, view: JobView) -> None:
    """A label printed while an option was open says later that its part is not in this unit."""
    code = code_of(view, "key")
    assert 200 == client.get(f"/{code}").status_code
    store.update_job(replace(view.job, options={"drive": "splined"}))

    answer = client.get(f"/{code}")

    assert 404 == answer.status_code
    assert (
        f"{grouped(code)}: the label is of Key 6 x 6 x 20, which is there only if Drive = Keyed shaft; "
        "job 1 has Drive = Splined shaft. If the unit has it after all, set the option"
    ) in Page(answer.text).text


@pytest.mark.parametrize(
    "path",
    [
        "/favicon.ico", "/a/b/c", "/fonts/other.ttf", "/no such page", "/%00", "/x/photo", "/é", f"/job/{10**9}/last",
        f"/capture/{2**63}/picks", f"/job/{'9' * 5000}", "/job/\u0663",
    ],
)  # fmt: skip
def test_a_wrong_address_gets_a_page_with_the_field(client: FlaskClient, path: str) -> None:
    """Every wrong address is answered with words and a field for the code, never with a traceback."""
    answer = client.get(path)

    assert answer.status_code in (400, 404)
    assert any(tag == "input" for tag, _ in Page(answer.text).elements)


def test_no_other_method_is_answered(client: FlaskClient, view: JobView) -> None:
    """Pages are read and forms are sent; nothing else is understood."""
    for path in ("/", "/job/1", "/jobs.json", f"/{code_of(view, 'cover')}", "/healthz"):
        for method in (client.put, client.delete, client.patch):
            assert method(path).status_code in (403, 405)


def test_every_answer_has_the_headers_that_keep_it_to_itself(client: FlaskClient, view: JobView) -> None:
    """No scripts but our file, no frames, nothing from elsewhere, no guessing of types, no address given away.

    Source: W3C Content Security Policy level 3; Fetch standard (nosniff); W3C Referrer Policy.
    """
    code = code_of(view, "cover")
    for path in (
        "/",
        f"/{code}",
        f"/{code}.json",
        f"/{code}/photo",
        "/style.css",
        "/healthz",
        "/job/1",
        "/jobs.json",
        "/nothing",
        f"/?code={code}",
    ):
        headers = client.get(path).headers
        policy = dict(item.split(" ", 1) for item in headers["Content-Security-Policy"].split("; "))
        assert ("'none'", "'none'", "'none'", "'self'") == tuple(
            policy[key] for key in ("default-src", "frame-ancestors", "base-uri", "form-action")
        )
        assert ("'self'", "'self'") == (policy["script-src"], policy["style-src"])
        assert ("nosniff", "same-origin") == (headers["X-Content-Type-Options"], headers["Referrer-Policy"])
        assert headers["Cache-Control"]


def test_a_changed_job_is_seen_at_once(client: FlaskClient, view: JobView) -> None:
    """Browsers ask again before they show a kept card: an option may have been closed."""
    assert "no-cache" == client.get(f"/{code_of(view, 'cover')}").headers["Cache-Control"]


def test_health_counts_the_jobs(client: FlaskClient, store: Store) -> None:
    """A monitor sees that the store can be read."""
    open_job(store, pump())

    assert {"status": "ok", "jobs": 2} == client.get("/healthz").json


def test_a_photo_comes_from_the_job_s_snapshot(client: FlaskClient, view: JobView) -> None:
    """The picture is the one of the day the job was opened, with its own type."""
    answer = client.get(f"/{code_of(view, 'cover')}/photo")

    assert (200, "image/png", png()) == (answer.status_code, answer.mimetype, answer.data)
    assert f"/{code_of(view, 'cover')}/photo" in Page(client.get(f"/{code_of(view, 'cover')}").text).addresses()


def test_a_part_without_a_photo_has_none(client: FlaskClient, view: JobView) -> None:
    """No photo, no broken picture on the card."""
    code = code_of(view, "body")

    assert 404 == client.get(f"/{code}/photo").status_code
    assert "img" not in [tag for tag, _ in Page(client.get(f"/{code}").text).elements]


def test_letters_and_style_are_served(client: FlaskClient) -> None:
    """The style sheet names the bench's own font files, and these are the fonts."""
    style = client.get("/style.css")
    fonts = re.findall(r"url\('([^']+)'\)", style.text)

    assert "text/css" == style.mimetype
    assert ["/fonts/regular.ttf", "/fonts/bold.ttf"] == fonts
    for path, face in zip(fonts, ("regular", "bold"), strict=True):
        answer = client.get(path)
        assert ("font/ttf", font_file(face).read_bytes()) == (answer.mimetype, answer.data)


def test_style_and_script_are_sent_once(client: FlaskClient) -> None:
    """Who has them already is told so: 304 and no body. Source: RFC 9110, sections 8.8.3 and 15.4.5."""
    for path in ("/style.css", "/bench.js", "/capture.js"):
        again = client.get(path, headers={"If-None-Match": client.get(path).headers["ETag"]})

        assert (304, b"") == (again.status_code, again.data)


def test_no_page_leads_out_of_the_shop(client: FlaskClient, view: JobView) -> None:
    """Every address on every page is the bench's own."""
    paths = ["/", "/nothing", "/job/1", *(f"/{view.code(each)}" for each in view.teardown.bins)]
    addresses = {address for path in paths for address in Page(client.get(path).text).addresses()}

    assert addresses
    assert [] == [address for address in addresses if not re.match(r"(/(?!/)|#|data:,$)", address)]
    assert re.findall(r"(?:https?:)?//[^\s*]", client.get("/style.css").text) == []


def test_every_link_of_every_card_opens_a_card(client: FlaskClient, view: JobView) -> None:
    """Cards name other cards; none of these ways is blind."""
    for each in view.teardown.bins:
        page = Page(client.get(f"/{view.code(each)}").text)
        for address in {attrs["href"] for tag, attrs in page.elements if tag == "a"}:
            if address.startswith("/"):
                assert 200 == client.get(address).status_code


def test_back_and_next_follow_the_removal_order(client: FlaskClient, view: JobView) -> None:
    """From the first card, Next card leads through every bin in order, and Back leads back."""
    codes = [view.code(each) for each in view.teardown.bins]

    def step(code: str, label: str) -> str | None:
        found = re.search(rf'<a href="/([^"]+)">{label} <b>', client.get(f"/{code}").text)
        return found.group(1) if found else None

    assert [*codes[1:], None] == [step(code, "Next card") for code in codes]
    assert [None, *codes[:-1]] == [step(code, "Back") for code in codes]


def test_a_neighbour_of_an_open_option_has_a_question_mark(client: FlaskClient, view: JobView) -> None:
    """The key may not be in this unit at all: the ways to its card say so, as its label does."""
    bins = view.teardown.bins
    at = bins.index(bin_of(view, "key"))
    ways = [re.findall(r"<b>(step [^<]+)</b>", client.get(f"/{view.code(each)}").text) for each in bins]

    assert f"step {bins[at].step}?" == ways[at - 1][-1] == ways[at + 1][0]
    assert [f"step {bins[0].step}", f"step {bins[2].step}"] == ways[1]


def test_a_card_leads_to_the_bins_of_its_job(client: FlaskClient, view: JobView) -> None:
    """From any card to the list it is in, and to all jobs."""
    addresses = Page(client.get(f"/{code_of(view, 'body')}").text).addresses()

    assert {"/job/1", "/"} <= set(addresses)


EVIL = "<script>x</script><img src=x onerror=y>\"'&{{7*7}}"
# Fields of the pump's profile that hold words of people.
FREE_TEXT = set(
    re.findall(
        r"\w+",
        """name tell text up clock_from twelve feature if_wrong look look_under measure else because as stack_from
        tool""",
    )
)


def poisoned(tree: Any, found: list[str], field: str = "") -> Any:
    """Put a script into every free text of a profile, and note what stands there then."""
    if isinstance(tree, dict):
        inner = {"choices": "name", "tools": "name"}.get(field)
        return {key: poisoned(value, found, inner or key) for key, value in tree.items()}
    if isinstance(tree, list):
        return [poisoned(item, found, field) for item in tree]
    if field not in FREE_TEXT or tree in ("free", "driver", "pliers"):
        return tree
    found.append(f"{len(found)}{EVIL}")
    return found[-1]


def own_scripts_only(page: Page) -> bool:
    """Say whether a page has no script but the bench's own file, and no attribute that is one."""
    scripts = [attrs for tag, attrs in page.elements if tag == "script"]
    handlers = [name for _, attrs in page.elements for name in attrs if name.startswith("on")]
    return [] == handlers and all(attrs == {"src": "/bench.js", "defer": ""} for attrs in scripts)


def test_no_text_of_a_profile_becomes_markup(store: Store) -> None:
    """A profile from elsewhere may hold scripts in any text: names, tells, hazards, tools; they stay words."""
    texts: list[str] = []
    tree = poisoned(yaml.load(PUMP, Loader=yaml.BaseLoader), texts)
    view = open_job(store, pump(yaml.safe_dump(tree, allow_unicode=True)), serial=EVIL)
    client = person(create_app(store)).client
    paths = ["", "job/1", "job/1/next", "job/1/wash", *(view.code(each) for each in view.teardown.bins)]
    pages = [Page(client.get(f"/{path}").text) for path in paths]
    seen = " ".join(page.text for page in pages).lower()
    silent = [view.profile.options["drive"].tell, view.profile.tools["pliers"]]

    assert len(texts) > 40
    assert [] == [text for text in texts if text.lower() not in seen and text not in silent]
    assert f"serial {EVIL}".lower() in seen
    for page in pages:
        assert {tag for tag, _ in page.elements} <= ALLOWED_TAGS
        assert own_scripts_only(page)


def test_what_is_typed_becomes_no_markup(client: FlaskClient) -> None:
    """A code that is a script is repeated as words."""
    for answer in (client.get("/", query_string={"code": EVIL}), client.get("/<script>x<script>")):
        page = Page(answer.text)
        assert 400 == answer.status_code
        assert "<script>x" in page.text
        assert {tag for tag, _ in page.elements} <= ALLOWED_TAGS
        assert own_scripts_only(page)


def test_a_very_long_request_is_answered(client: FlaskClient) -> None:
    """A thousand times too long a code is a mistyped code."""
    answer = client.get("/", query_string={"code": "A" * 60_000})

    assert 400 == answer.status_code
    assert len(answer.text) < 3000
