"""The bench in other languages: every page of it, its forms, and the choice on its foot."""

from __future__ import annotations

import ast
import re
from collections.abc import Iterator
from html.parser import HTMLParser
from pathlib import Path

import jinja2
import pytest
from flask import Flask
from flask.testing import FlaskClient
from jinja2 import nodes
from werkzeug.test import TestResponse

from labelkit.bench.app import create_app
from labelkit.bench.captureform import KINDS, sizes_of
from labelkit.bench.capturewords import choice_words
from labelkit.bench.web import FOLDERS
from labelkit.language import LANGUAGES
from labelkit.model.acts import Removed
from labelkit.sheets.jobview import JobView
from labelkit.store.jobs import Store
from tests import catalogue
from tests.bench_app.conftest import NOON
from tests.bench_app.hands import Page, Person, all_out, person, record
from tests.bench_app.workshop import FITTED, PUMP, code_of, open_job, pump
from tests.catalogue import PACKAGE

TRANSLATED = catalogue.translated()
TEMPLATES = sorted(file for folder in FOLDERS for file in folder.glob("*.html"))
# What is the same in every language: units, a kind of file, and an example of figures.
SAME = {"mm", "kg", "YAML", "6:30"}
# What answers with a word, a picture, letters, or a piece of a page.
NO_PAGES = {"capture_picks", "capture_picture", "font", "health", "last", "photo", "picture"}
# Of a capture.
WAYS = ("", "/part/1", "/labels", "/end")
SAYS = {"_", "gettext", "ngettext", "pgettext"}
# Of what a page says besides the words of the profile and of people, so much may be the same as in English: a code, or
# a time. Measured: none to 0.08 of the letters of a page.
BOUND = 0.1


@pytest.fixture
def job(store: Store) -> JobView:
    """Return a job with something on every page: parts that are out, one condemned, a hold and a deviation."""
    view = open_job(store, pump(FITTED), serial="A-17")
    condemned: tuple[str | None, dict[str, object]] = ("1", {"kind": "condemned", "why": "verschlissen"})
    told: list[tuple[str | None, dict[str, object]]] = [
        (None, {"kind": "hold", "why": "Rückfrage"}),
        (None, {"kind": "deviation", "what": "Kratzer", "reason": "ohne Folgen", "agreed": "Bo"}),
    ]
    record(store, view, NOON, *all_out(view), condemned, *told)
    return view


def in_language(app: Flask, code: str) -> Person:
    """Return somebody who is signed in with a browser that asks for a language."""
    someone = person(app)
    someone.client.environ_base["HTTP_ACCEPT_LANGUAGE"] = f"{code}-XX, en;q=0.5"
    return someone


def paths(view: JobView) -> list[str]:
    """Return every page of a job, and those around it."""
    number, code = view.job.number, code_of(view, "cover")
    sticker = view.new_code(view.teardown.of("cover-screws")[0])
    pack = next(each.step for each in view.teardown.bins if each.part.stack)
    ways = ("", "/next", "/wash", "/fits", "/parts", "/sign-off", "/report", "/correct/1", f"/pack/{pack}")
    fits = [f"/job/{number}/fits/{name}" for name in view.profile.fits]
    around = ["/", "/sign-in", "/capture", f"/{code}", f"/{sticker}", f"/{sticker}/receive"]
    return [*around, *(f"/job/{number}{way}" for way in ways), *fits]


class Said(HTMLParser):
    """What a page says, in pieces: its text, and what is said of pictures and to who cannot see."""

    def __init__(self, text: str) -> None:
        super().__init__()
        self.pieces: list[str] = []
        self.language = ""
        self.offered: list[str] = []
        self.feed(text)

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        given = dict(attrs)
        if tag == "html":
            self.language = given.get("lang") or ""
        if tag == "button" and given.get("name") == "language":
            self.offered.append(given.get("value") or "")
        self.pieces += [given[name] or "" for name in ("aria-label", "alt", "placeholder", "title") if given.get(name)]

    def handle_data(self, data: str) -> None:
        self.pieces.append(" ".join(data.split()))

    @property
    def worded(self) -> list[str]:
        """Pieces with a word in them that neither the profile, nor a person, nor the list of languages has."""
        known = {*words(PUMP), *words(" ".join(LANGUAGES.values())), "ann", "bo", "kratzer", "ohne", "folgen"}
        return [piece for piece in self.pieces if any(word not in known for word in words(piece))]


def english(code: str) -> set[str]:
    """Return the messages that a language says otherwise than they stand in the code."""
    texts = (each for each in catalogue.read(code) if isinstance(each.id, str) and each.id)
    return {str(each.id) for each in texts if each.id != each.string}


def words(text: str) -> list[str]:
    return re.findall(r"[^\W\d_]{3,}", text.lower())


def test_no_page_is_forgotten(app: Flask, job: JobView) -> None:
    """Every address that a browser may ask for is opened below, or is no page: data and files have an ending."""
    asked = app.url_map.bind("")
    opened = {asked.match(path)[0] for path in (*paths(job), "/capture/1/next", *(f"/capture/1{way}" for way in WAYS))}
    pages = {
        rule.endpoint
        for rule in app.url_map.iter_rules()
        if "GET" in (rule.methods or ()) and not re.search(r"[.]\w+$", rule.rule)
    }

    assert pages - opened - NO_PAGES == set(), "add each to `paths`, one of a capture to `WAYS`"


@pytest.mark.parametrize("code", TRANSLATED)
def test_every_page_opens_in_a_language(store: Store, app: Flask, job: JobView, code: str) -> None:
    """It says which one it is, offers the others, and says next to nothing as in English."""
    ours, theirs = in_language(app, code), in_language(app, "en")
    found = {}
    for path in paths(job):
        there = Said(ours.client.get(path).text)
        plain = Said(theirs.client.get(path).text).worded
        assert there.language == code, path
        assert LANGUAGES.keys() <= {*there.offered}, path
        said = set(plain)
        found[path] = sum(map(len, said & set(there.worded))) / sum(map(len, said))

    assert {} == {path: share for path, share in found.items() if share > BOUND}


def test_no_message_is_left_in_english(app: Flask, job: JobView) -> None:
    """No page has a message as it stands in the code where the catalogue has another."""
    ours = in_language(app, "de")
    messages = english("de")
    left = {path: messages.intersection(Said(ours.client.get(path).text).pieces) for path in paths(job)}

    assert {} == {path: found for path, found in left.items() if found}


def test_templates_say_nothing_that_is_not_marked() -> None:
    """No word stands in a template as it is: neither between its elements nor in what is said of them."""
    for file in TEMPLATES:
        source = re.sub(r"\{#.*?#\}|\{\{.*?\}\}|\{%.*?%\}", "", file.read_text(encoding="utf-8"), flags=re.DOTALL)
        said = {piece for piece in Said(source).pieces if words(piece) or piece in SAME} - SAME
        assert not said, (file.name, said)
        assert [] == list(_unmarked(file)), file.name


def test_what_pages_are_filled_with_is_marked() -> None:
    """A title and whatever else code puts into a page is said by a function of `SAYS`, never as it stands."""
    unmarked = [
        (file.name, given.value.value)
        for file in (PACKAGE / "bench").glob("*.py")
        for call in ast.walk(ast.parse(file.read_text(encoding="utf-8")))
        if isinstance(call, ast.Call) and isinstance(call.func, ast.Attribute) and call.func.attr == "fill"
        for given in call.keywords
        if isinstance(given.value, ast.Constant) and isinstance(given.value.value, str)
        if given.value.value[:1].isupper()
    ]

    assert [] == unmarked, "write _(...)"


def _unmarked(file: Path) -> Iterator[str]:
    """Yield texts inside the expressions of a template that are sentences, or begin with a capital."""
    tree = jinja2.Environment(extensions=["jinja2.ext.i18n"]).parse(file.read_text(encoding="utf-8"))
    marked = {
        id(text)
        for call in tree.find_all(nodes.Call)
        if isinstance(call.node, nodes.Name) and call.node.name in SAYS
        for text in call.args
    }
    for text in tree.find_all(nodes.Const):
        unmarked = isinstance(text.value, str) and id(text) not in marked and text.value != "NO: "
        if unmarked and re.search(r"^[A-Z][a-z]|[a-z]{3,} [a-z]{2,}", text.value):
            yield text.value


@pytest.mark.parametrize("code", TRANSLATED)
def test_a_form_that_is_sent_in_a_language_is_the_same_act(store: Store, app: Flask, code: str) -> None:
    """The record does not know in which language somebody worked; what was done is told in it."""
    view = open_job(store, pump())
    ours = in_language(app, code)
    counted = {"de": "6 gezählt", "es": "recuento: 6"}[code]

    page = ours.does(f"/{code_of(view, 'cover-screws')}", "removed", counted="all")
    event = store.journal.events(view.job.number)[0]

    assert counted in page.text
    assert (Removed, 6) == (type(event.act), getattr(event.act, "count", None))


@pytest.mark.parametrize("code", TRANSLATED)
def test_a_unit_is_captured_in_a_language(app: Flask, code: str) -> None:
    """Its pages say that they are, and what was done stands on them in it."""
    ours = in_language(app, code)
    unit = {"mark": "kx1", "name": "Getriebe", "up": "Antrieb", "clock_from": "oben"}
    form = ours.open("/capture").form("start")
    start = ours.client.post(form.action, data={**dict(form.fields), **unit}).location
    assert start is not None
    part = f"{start}?name=Scheibe&kind=ring"
    kept = ours.does(part, "part", **{"size-od": "72", "size-id": "50", "size-t": "2"})
    home = start.removesuffix("/next")
    found = {path: Said(ours.client.get(path).text) for path in (start, part, *(home + way for way in WAYS))}
    sent = {"size-od": "40", "size-id": "50", "size-t": "2"}
    fields = dict(ours.open(part).form("part").fields) | sent
    found["refused"] = Said(ours.client.post(part, data=fields).text)
    found["no mark"] = Said(ours.client.post("/capture", data=dict(form.fields) | unit | {"mark": "F 18"}).text)

    swapped = {"de": "Innen-Ø 50 mm ist nicht kleiner als Außen-Ø 40 mm", "es": "Ø interior 50 mm no es menor que"}
    assert any(swapped[code] in piece for piece in found["refused"].pieces)
    assert any({"de": "2 bis 8 von", "es": "de 2 a 8 de"}[code] in piece for piece in found["no mark"].pieces)
    assert {"de": "Gespeichert: 1 Scheibe", "es": "Guardado: 1 Scheibe"}[code] in kept.text
    assert {code} == {said.language for said in found.values()}
    assert {"de": "Außen-Ø", "es": "Ø exterior"}[code] in found[part].pieces
    messages = english(code)
    assert {} == {path: left for path, said in found.items() if (left := messages.intersection(said.pieces))}


def test_what_is_refused_says_so_in_the_language(app: Flask, job: JobView) -> None:
    """Above the page and at the field; what was typed stays."""
    ours = in_language(app, "de")
    address = f"/job/{job.job.number}/sign-off"
    page = Page(ours.send(address, "sign", signed_by="Anna").text)

    assert 'gefunden "Anna", aber Ann ist angemeldet' in page.text
    assert "ansehen, dann abhaken" in page.text
    assert "Unterschrieben mit offenen Punkten" in page.text
    assert "Anna" in dict(page.form("sign").fields).values()


def test_a_caution_is_shown_in_the_language_and_recorded_as_it_was(store: Store, app: Flask) -> None:
    """Its signal word is that of the language, what the profile says stays; the record has one wording for all."""
    view = open_job(store, pump())
    ours = in_language(app, "de")
    code = code_of(view, "cover-screws")
    page = ours.open(f"/{code}")
    ours.does(f"/{code}", "removed", counted="all")
    cover = f"/{code_of(view, 'cover')}"
    ours.does(cover, "removed", counted="all")
    act = store.journal.events(view.job.number)[0].act

    assert "Oben: flat face. Wenn es falsch ist: oil stays in" in ours.open(cover).words
    assert "Up: flat face. If it is wrong: oil stays in" in ours.open(cover).form("installed").cautions
    assert "LINKSGEWINDE: zum Lösen im Uhrzeigersinn drehen" in page.words
    assert "GEFAHR The spring pushes the cover up" in page.text
    assert isinstance(act, Removed)
    assert {"LEFT-HAND thread: turn clockwise to loosen", "DANGER: The spring pushes the cover up"} <= set(act.ticked)


@pytest.mark.parametrize("path", ["/nothing-there", "/job/99", "/job/1/hold"])
def test_an_error_is_told_in_the_language(app: Flask, path: str) -> None:
    """A page that is not there, a job that is not there, an address that takes no such request."""
    ours = in_language(app, "es")
    answer = ours.client.get(path)

    assert answer.status_code >= 400
    assert '<html lang="es">' in answer.text
    assert re.search("No existe|ninguna ficha|no admite", answer.text)


def test_the_choice_wins_over_the_wish_of_the_browser(app: Flask, job: JobView) -> None:
    """Each language stands on the foot in its own name; the one that is spoken is marked, and the page stays."""
    ours = in_language(app, "de")
    here = f"/job/{job.job.number}/fits"
    page = ours.open(here)
    buttons = [attrs for tag, attrs in page.elements if tag == "button" and attrs.get("name") == "language"]
    form = page.form_with("then")
    answer = ours.client.post(form.action, data={**dict(form.fields), "language": "es"})

    assert list(LANGUAGES) == [attrs["value"] for attrs in buttons]
    assert all(name in page.words for name in LANGUAGES.values())
    assert ["de"] == [attrs["value"] for attrs in buttons if "aria-pressed" in attrs]
    assert (303, here) == (answer.status_code, answer.location)
    assert "es" == Said(ours.client.get(here).text).language


def test_a_screen_on_the_wall_can_be_read_in_any_language(store: Store, job: JobView) -> None:
    """It takes no form but the choice of a language; who is not signed in may choose, too."""
    wall = create_app(store, clock=lambda: NOON, read_only=True).test_client()

    assert 303 == choose(wall, "de").status_code
    assert "nur lesen" in wall.get(f"/job/{job.job.number}").text


def test_the_page_of_a_failed_form_offers_no_language(app: Flask, job: JobView) -> None:
    """What was typed there would be lost, and its address cannot be opened again."""
    ours = in_language(app, "de")
    answer = ours.send(f"/job/{job.job.number}/sign-off", "sign", signed_by="")

    assert 422 == answer.status_code
    assert 'name="language"' not in answer.text


def choose(client: FlaskClient, code: str) -> TestResponse:
    return client.post("/language", data={"language": code, "then": "/"})


def test_every_choice_of_a_size_has_its_words() -> None:
    """Also one that a form gets later."""
    for kind in KINDS:
        for size in sizes_of(kind):
            assert all(map(choice_words, size.choices))
