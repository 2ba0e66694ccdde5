"""Languages: the catalogues are whole, pages and prints say what they hold, and long words still find room."""

from __future__ import annotations

import ast
import itertools
import re
from collections.abc import Callable, Iterable, Iterator
from gettext import c2py

import flask
import pytest

from labelkit.bench.language import COOKIE, add_language
from labelkit.drawing.page import Page
from labelkit.errors import InputError, UsageError
from labelkit.language import LANGUAGES, best_language, gettext, ngettext, pgettext, speaking, spoken
from labelkit.load import partcolumns
from labelkit.load.stock import all_stock, find_stock
from labelkit.model.media import Printable
from labelkit.model.part import SIGNALS
from labelkit.sheets import kit, wording
from labelkit.sheets.cardlines import card_lines
from labelkit.sheets.cardpages import cards_document
from labelkit.sheets.cards import card, card_data
from labelkit.sheets.jobview import JobView
from labelkit.sheets.kit import DOCUMENTS, KitOrder, label_texts, make_kit
from labelkit.sheets.labels import LabelSheets
from labelkit.sheets.newparts import new_parts
from labelkit.sheets.offline import LONGEST, offline_card
from labelkit.sheets.picklist import picklist_csv
from labelkit.sheets.stickers import StickerSheets
from tests import catalogue
from tests.shop import DEMO_UNITS, demo, view_of
from tests.worksheetpages import Placed, words_on

TRANSLATED = catalogue.translated()
# What stands for something else in a message: {step}, %(step)s.
PLACEHOLDER = re.compile(r"\{\w*\}|%\(\w+\)s|%%")
MESSAGE_FUNCTIONS = {"_", "gettext", "ngettext", "pgettext", "noop"}


def view(unit: str = "planetary-reducer") -> JobView:
    return view_of(demo(unit))


# --- the catalogues


@pytest.mark.parametrize("code", TRANSLATED)
def test_a_catalogue_has_every_message_and_no_other(code: str) -> None:
    """Each message of code and templates is there, whole and not guessed; nothing is left over from earlier ones."""
    wanted = {(each.context, each.id) for each in catalogue.messages() if each.id}
    found = {(each.context, each.id): each for each in catalogue.read(code) if each.id}
    forms = {key: each.string if isinstance(each.string, tuple) else (each.string,) for key, each in found.items()}

    assert wanted == set(found), "bring it up to date with `python -m tests.catalogue`"
    assert [] == [key for key, each in found.items() if each.fuzzy]
    assert [] == [key for key, texts in forms.items() if not all(texts)], f"translate them in words/{code}.po"
    assert not catalogue.read(code).obsolete


@pytest.mark.parametrize("code", TRANSLATED)
def test_a_translation_has_what_its_message_stands_for(code: str) -> None:
    """The same placeholders, the same blanks at both ends, the same colon or comma that other words follow.

    What is not translated yet is named by the test before.
    """
    for each in catalogue.read(code):
        originals, texts = ((one,) if isinstance(one, str) else tuple(one) for one in (each.id, each.string))
        for original, text in itertools.product(originals, filter(None, texts)) if each.id else ():
            assert sorted(PLACEHOLDER.findall(original)) == sorted(PLACEHOLDER.findall(text)), text
            assert re.findall(r"^\s*|\s*$", original) == re.findall(r"^\s*|\s*$", text), text
            assert original.endswith(":") == text.endswith(":"), text


@pytest.mark.parametrize("code", TRANSLATED)
def test_refreshing_a_catalogue_that_is_whole_changes_no_translation(code: str) -> None:
    """What `python -m tests.catalogue` writes says what is in git; another Babel may set it down another way."""
    kept, fresh = (
        {(each.context, each.id): each.string for each in words if each.id}  # without the header, which has the minute
        for words in (catalogue.read(code), catalogue.parsed(catalogue.renewed(code), code))
    )

    assert kept == fresh, "run `python -m tests.catalogue`"


def test_a_column_of_a_table_is_called_in_each_language() -> None:
    """In a heading of English, German and Spanish alike: one group of names for each, in that order."""
    groups = {line.split("|")[0].strip(): line.count(";") + 1 for line in partcolumns.TABLE.strip().splitlines()}

    assert {} == {name: count for name, count in groups.items() if count != len(LANGUAGES)}, "load/partcolumns.py"


# Source: GNU gettext manual, "Additional gettext functions for plural forms", and for Arabic its translation team
# (from memory).
PLURAL_FORMS: dict[str, tuple[int, Callable[[int], int]]] = {
    "ja": (1, lambda n: 0),
    "it": (2, lambda n: n != 1),
    "fr": (2, lambda n: n > 1),
    "pl": (3, lambda n: 0 if n == 1 else 1 if 2 <= n % 10 <= 4 and not 10 <= n % 100 < 20 else 2),
    "cs": (3, lambda n: 0 if n == 1 else 1 if 2 <= n <= 4 else 2),
}


def test_a_new_language_has_the_plural_forms_that_it_has() -> None:
    """And no form for millions, which somebody would have to fill and nobody would hear."""
    for code, (count, form) in PLURAL_FORMS.items():
        begun = catalogue.begun(code)
        said = c2py(begun.plural_expr)

        assert count == begun.num_plurals
        assert [form(n) for n in range(200)] == [said(n) for n in range(200)]


def test_no_message_is_hidden_from_the_catalogues() -> None:
    """Messages stand in the code as they are: what is made in place, or inside an f-string, no extractor finds."""
    hidden = []
    for file in catalogue.PACKAGE.rglob("*.py"):
        text = file.read_text(encoding="utf-8")
        if "labelkit.language import" in text:
            hidden += [(file.name, line) for line in _hidden(ast.parse(text), inside=False)]

    assert [] == hidden


def _hidden(node: ast.AST, *, inside: bool) -> Iterator[int]:
    """Yield the lines of messages that no extractor finds; `inside`: an f-string."""
    if isinstance(node, ast.Call) and isinstance(node.func, ast.Name) and node.func.id in MESSAGE_FUNCTIONS:
        made = isinstance(node.args[0], ast.JoinedStr | ast.BinOp)
        if made or (inside and isinstance(node.args[0], ast.Constant)):
            yield node.lineno
    for child in ast.iter_child_nodes(node):
        yield from _hidden(child, inside=inside or isinstance(node, ast.JoinedStr))


# --- what is spoken


def test_english_is_what_stands_in_the_code() -> None:
    """Without a choice every text is as it stands, one and several included."""
    assert "en" == spoken()
    assert ("step {step}", "1 bin", "2 bins", "Set") == (
        gettext("step {step}"),
        ngettext("1 bin", "2 bins", 1),
        ngettext("1 bin", "2 bins", 2),
        pgettext("fits", "Set"),
    )


def test_a_language_is_spoken_inside_and_not_after() -> None:
    """Also when something goes wrong inside."""
    heard = []

    def fails() -> None:
        with speaking("de"):
            heard.append(gettext("step {step}"))
            raise RuntimeError("stop")

    with pytest.raises(RuntimeError, match="stop"):
        fails()

    assert ["Schritt {step}"] == heard
    assert "step {step}" == gettext("step {step}")


def test_an_unknown_language_is_refused() -> None:
    """It names those that there are."""
    with pytest.raises(UsageError, match=r'language "xx".*de'), speaking("xx"):
        pass


def test_a_language_without_a_catalogue_says_how_it_comes_to_one(monkeypatch: pytest.MonkeyPatch) -> None:
    """A name in the list is the first thing that whoever adds a language writes."""
    monkeypatch.setitem(LANGUAGES, "eo", "Esperanto")
    with pytest.raises(InputError, match=r"Esperanto has no words yet: run python -m tests\.catalogue"), speaking("eo"):
        gettext("step {step}")


def test_signal_words_are_those_of_the_trade() -> None:
    """Each language has four, all different.

    Source: the words of ANSI Z535.4 and of their usual German and Spanish renderings on safety labels (from memory).
    """
    words = {}
    for code in LANGUAGES:
        with speaking(code):
            words[code] = [wording.signal_word(signal) for signal in SIGNALS]

    assert {
        "en": ["DANGER", "WARNING", "CAUTION", "NOTICE"],
        "de": ["GEFAHR", "WARNUNG", "VORSICHT", "HINWEIS"],
        "es": ["PELIGRO", "ADVERTENCIA", "ATENCIÓN", "AVISO"],
    } == words


@pytest.mark.parametrize(
    ("wish", "code"),
    [
        ("de-AT,de;q=0.9,en;q=0.8", "de"),
        ("xx;q=1, es-419;q=0.3, en;q=0.2", "es"),
        ("en-GB, de;q=0.9", "en"),
        ("de;q=0, es;q=0.1", "es"),
        ("xx", "en"),
        (";;q=,de;q=x", "en"),
    ],
)
def test_the_language_that_suits_a_browser_best(wish: str, code: str) -> None:
    """Weights count, regions do not, and what cannot be read is passed over (RFC 9110, 12.5.4)."""
    assert code == best_language(wish)


def test_a_card_in_german_keeps_what_the_profile_says() -> None:
    """Its own words are German, those of the profile and all codes are as they were; the page says its language."""
    each = view().teardown.at("8.1")
    plain = card(view(), each)
    with speaking("de"):
        shown, document = card(view(), each), cards_document(view(), lambda _path: b"")
        lines, turn = card_lines(shown), shown.turn

    assert (plain.code, plain.name, plain.step) == (shown.code, shown.name, shown.step)
    assert "LIPPE UNTEN" == shown.way.text
    assert f"Behälter {shown.number} von {shown.total}" == turn
    assert any(line.startswith("SCHRITT 8.1   ") for line in lines)
    assert '<html lang="de">' in document
    assert set(card_data(plain)) == set(card_data(shown))


def test_the_pick_list_of_a_spreadsheet_keeps_its_headers() -> None:
    """What a program reads is English; what a person reads in the cells is not."""
    new = new_parts(view(), {})
    english = picklist_csv(view(), new.picks, new.needs).decode("utf-8-sig").splitlines()
    with speaking("es"):
        spanish = picklist_csv(view(), new.picks, new.needs).decode("utf-8-sig").splitlines()

    assert english[0] == spanish[0]
    assert any("se renueva siempre" in line for line in spanish)


# --- room for long words


def pages(job: JobView) -> Iterator[Page]:
    """Yield every page of every document of a kit that is a PDF, but for the 1:1 sheets, and stickers of a roll."""
    new = new_parts(job, {})
    order = KitOrder(
        view=job,
        bins=job.teardown.bins,
        label_stock=printable("a4-2x5-99x56"),
        first_label=1,
        offline_cards=False,
        documents=frozenset(DOCUMENTS),
        photo=lambda _path: b"",
        paper=find_stock("a4", ("paper",)),
        map_only=True,
        new=new,
        sticker_stock=printable("a4-4x12-46x21"),
    )
    found: list[Page] = []

    def kept(made: Iterable[Page], ending: str, *_: object, **__: object) -> None:
        found.extend(made if ending == ".pdf" else ())

    with pytest.MonkeyPatch.context() as patched:
        patched.setattr(kit, "write", kept)
        make_kit(order)
    yield from found
    yield from StickerSheets(job, new.picks, new.needs, printable("roll-38x21")).pages()


# Of the same pages; one has a part of which next to nothing is recorded, and the list beside its map cannot say it all.
CUT_IN_ENGLISH = {"marine-gear": 2, "planetary-reducer": 0}


def printable(name: str) -> Printable:
    stock = all_stock()[name]
    assert isinstance(stock, Printable)
    return stock


@pytest.mark.parametrize("unit", DEMO_UNITS)
@pytest.mark.parametrize("code", TRANSLATED)
def test_words_of_a_kit_find_room(code: str, unit: str) -> None:
    """No words over others or off the paper; nothing is cut but what is cut in English, too."""
    faults, shortened = [], []
    with speaking(code):
        for page in pages(view(unit)):
            words = words_on(page)
            shortened += [word.said for word in words if "…" in word.said]
            faults += [(page.name, word.said) for word in words if word.box.x < 0 or word.box.right > page.width]
            faults += [(page.name, *pair) for pair in over_each_other(words)]

    assert [] == faults
    assert len(shortened) <= CUT_IN_ENGLISH[unit], shortened


def over_each_other(words: list[Placed]) -> Iterator[tuple[str, str]]:
    """Yield the words that lie on others; each is compared with those that begin before it ends, from the top."""
    ordered = sorted(words, key=lambda word: word.box.y)
    for number, one in enumerate(ordered):
        for other in ordered[number + 1 :]:
            if other.box.y >= one.box.bottom:
                break
            if one.box.overlaps(other.box, 0.1):
                yield one.said, other.said


@pytest.mark.parametrize("unit", DEMO_UNITS)
@pytest.mark.parametrize("code", TRANSLATED)
def test_labels_of_every_kind_cut_nothing(code: str, unit: str) -> None:
    """On a sheet, a wide roll and a small one: nothing cut, nothing over anything else."""
    job = view(unit)
    with speaking(code):
        for name in ("a4-2x5-99x56", "roll-100x50", "roll-50x30"):
            texts = label_texts(job, job.teardown.bins, offline=False)
            sheets = LabelSheets(job, job.teardown.bins, printable(name), texts=texts)
            for page in sheets.pages():
                assert [] == [*over_each_other(words_on(page))]
            assert [] == [words for label in sheets.placed for words in label.shortened]


@pytest.mark.parametrize("code", TRANSLATED)
def test_an_offline_card_keeps_to_its_bytes(code: str) -> None:
    """Longer words leave less room, never a symbol that is too fine: what found none is named in the same language."""
    with speaking(code):
        cards = [offline_card(card(view(), each)) for each in view().teardown.bins]

    assert max(len(each.text.encode()) for each in cards) <= LONGEST
    assert any(each.missing for each in cards)
    for each in cards:
        assert all(word in each.text for word in each.missing)


# --- the bench


@pytest.fixture
def phone() -> flask.testing.FlaskClient:
    """A bench of one page that says its language."""
    app = flask.Flask("bench of a test")
    add_language(app)
    app.add_url_rule("/", view_func=lambda: gettext("All bins"))
    app.add_url_rule("/all.json", "data", lambda: gettext("All bins"))
    app.register_error_handler(UsageError, lambda error: (str(error), 400))
    return app.test_client()


def test_a_phone_is_answered_in_its_own_language(phone: flask.testing.FlaskClient) -> None:
    """As its browser asks; data for programs stays English; and nothing is left behind for who asks next."""
    wish = {"Accept-Language": "de-CH, en;q=0.5"}

    assert "Alle Behälter" == phone.get("/", headers=wish).text
    assert "All bins" == phone.get("/all.json", headers=wish).text
    assert "All bins" == phone.get("/").text
    assert "en" == spoken()


def test_a_language_that_was_chosen_is_kept(phone: flask.testing.FlaskClient) -> None:
    """It wins over the browser's wish, and the phone is led back to its page, never off the bench."""
    chosen = phone.post("/language", data={"language": "es", "then": "/job/1"})
    away = phone.post("/language", data={"language": "es", "then": "//evil.example"})

    assert (303, "/job/1") == (chosen.status_code, chosen.location)
    assert "/" == away.location
    assert "Todas las cajas" == phone.get("/", headers={"Accept-Language": "de"}).text
    cookie = phone.get_cookie(COOKIE)
    assert cookie is not None
    assert ("es", True) == (cookie.value, cookie.http_only)


def test_a_language_that_there_is_not_is_refused(phone: flask.testing.FlaskClient) -> None:
    """It says which there are, and nothing is kept."""
    answer = phone.post("/language", data={"language": "xx"})

    assert 400 == answer.status_code
    assert 'language "xx"' in answer.text
    assert phone.get_cookie(COOKIE) is None
