"""Cards in a real browser: from the printed page to the card, offline, without script, for everybody.

Accessibility is judged by axe-core against WCAG 2.2, levels A and AA.
"""

from __future__ import annotations

import io
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass, field
from datetime import UTC, datetime
from pathlib import Path
from typing import Any

import pypdfium2
import pytest
import zxingcpp

from labelkit.bench.app import create_app
from labelkit.load.stock import find_stock
from labelkit.sheets.cardpages import cards_document
from labelkit.sheets.jobview import JobView
from labelkit.sheets.kit import KitOrder, make_kit
from labelkit.store.jobs import Store
from tests.bench_app.hands import all_out, person, record, with_pin
from tests.bench_app.phones import SIZE, barriers, overflowing, serving
from tests.bench_app.workshop import SECRET, code_of, open_job, png, pump
from tests.shop import demo

# A long sub-assembly step, a danger, an open option, a stack, not recorded, and a heavy part that holds others.
STEPS = ("10", "7", "15", "34", "19", "25.3")


@dataclass
class Shop:
    """A bench that serves a job whose labels carry its own address."""

    address: str
    reducer: JobView
    pump: JobView
    kit: dict[str, bytes]
    folder: Path

    def code(self, step: str) -> str:
        return self.reducer.code(self.reducer.teardown.at(step))


@pytest.fixture(scope="module")
def shop(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Shop]:
    folder = tmp_path_factory.mktemp("shop")
    with Store(str(folder / "shop.sqlite"), secret=SECRET) as store, serving(app := create_app(store)) as address:
        with_pin(store)
        reducer = open_job(store, demo("planetary-reducer"), options={"output": "splined"}, address=address)
        small = open_job(store, pump(), address=address, photos={"photos/cover.png": png(640, 480)})
        order = KitOrder(
            view=reducer,
            bins=reducer.teardown.bins,
            label_stock=find_stock("a4-3x8-70x37"),
            first_label=1,
            offline_cards=False,
            documents=frozenset({"labels", "cards"}),
            photo=lambda path: store.photo(1, path),
            paper=find_stock("a4", ("paper",)),
        )
        kit, _ = make_kit(order)
        for name, content in kit.items():
            (folder / name).write_bytes(content)
        (folder / "pump.html").write_text(cards_document(small, lambda path: store.photo(2, path)), encoding="utf-8")
        pack = [act for act in all_out(reducer) if act[0] not in ("1", "2", "31")]
        record(store, reducer, datetime.now(UTC), *pack)
        record(store, reducer, datetime.now(UTC), ("11", {"kind": "noted", "note": "scratched"}))
        cookie = person(app).client.get_cookie("labelkit")
        assert cookie is not None
        SIGNED[:] = [{"name": "labelkit", "value": cookie.value, "url": address}]
        yield Shop(address, reducer, small, kit, folder)


@pytest.fixture(scope="module")
def browser(browser: Any) -> Iterator[Any]:
    yield browser
    for kept in KEPT.values():
        kept.page.context.close()
    KEPT.clear()


@dataclass
class Watched:
    """A page of the browser with everything it asked for and complained of."""

    page: Any
    asked: list[str] = field(default_factory=list)
    said: list[str] = field(default_factory=list)


# The cookie of somebody who is signed in at the bench.
SIGNED: list[dict[str, str]] = []
# A page starts a process of its own, which costs more than most tests: one page serves all with the same settings.
KEPT: dict[tuple[Any, ...], Watched] = {}


@contextmanager
def phone(browser: Any, *, fresh: bool = False, signed: bool = True, **settings: Any) -> Iterator[Watched]:
    """Open a page as a phone has it; a fresh one knows nothing of what was shown before."""
    key = (signed, *settings.items())
    watched = None if fresh else KEPT.get(key)
    if watched is None:
        context = browser.new_context(viewport=SIZE, **settings)
        context.add_cookies(SIGNED if signed else [])
        watched = Watched(context.new_page())
        watched.page.on("request", lambda request: watched.asked.append(request.url))
        watched.page.on("console", lambda message: watched.said.append(message.text))
    if not fresh:
        KEPT[key] = watched
        watched.page.set_viewport_size(SIZE)
        watched.page.emulate_media(color_scheme="light")
    yield watched
    if fresh:
        watched.page.context.close()


def symbols_of(pdf: bytes) -> list[str]:
    """Return what zxing-cpp reads from the first page at 300 dpi."""
    document = pypdfium2.PdfDocument(pdf)
    picture = document[0].render(scale=300 / 72, grayscale=True).to_numpy()
    document.close()
    return [symbol.text for symbol in zxingcpp.read_barcodes(picture) if symbol.valid]


def test_the_symbol_on_the_printed_page_opens_the_card(shop: Shop, browser: Any) -> None:
    """From the PDF through an independent decoder to the browser: step and name on the card are the label's."""
    found = {text.rpartition("/")[2]: text for text in symbols_of(shop.kit["labels.pdf"])}
    first_page = shop.reducer.teardown.bins[:24]

    assert {shop.reducer.code(each) for each in first_page} == set(found)
    with phone(browser) as opened:
        for each in first_page[::5]:
            opened.page.goto(found[shop.reducer.code(each)])
            assert each.step == opened.page.locator(".step").inner_text()
            assert each.part.name == opened.page.locator("h1").inner_text()


def test_no_request_leaves_the_machine(shop: Shop, browser: Any) -> None:
    """Cards, messages and letters come from the bench alone, and the browser complains of nothing."""
    with phone(browser, fresh=True) as opened:
        for path in (shop.code("10"), shop.code("34"), code_of(shop.pump, "cover"), ""):
            opened.page.goto(f"{shop.address}/{path}", wait_until="networkidle")

    outside = [url for url in opened.asked if not url.startswith((f"{shop.address}/", "data:"))]
    assert [] == outside
    own = {url.removeprefix(shop.address) for url in opened.asked}
    assert {"/style.css", "/fonts/regular.ttf", "/fonts/bold.ttf"} <= own
    assert [] == opened.said


def test_the_file_of_cards_needs_nothing_else(shop: Shop, browser: Any) -> None:
    """cards.html opens from a folder or a stick: it asks for no file and no address beside itself."""
    address = (shop.folder / "cards.html").as_uri()
    with phone(browser, fresh=True) as opened:
        opened.page.goto(f"{address}#{shop.code('10')}", wait_until="networkidle")

    assert {address} == {url.partition("#")[0] for url in opened.asked if not url.startswith("data:")}
    assert [] == opened.said


def test_the_file_of_cards_has_no_barrier(shop: Shop, browser: Any) -> None:
    """As it is for pages of the bench, with its cautions unfolded."""
    with phone(browser, bypass_csp=True) as opened:
        opened.page.goto(f"{(shop.folder / 'pump.html').as_uri()}#{code_of(shop.pump, 'cover-screws')}")
        opened.page.locator("details:visible > summary").evaluate_all("all => all.forEach(each => each.click())")

        assert [] == barriers(opened.page)


def test_nothing_runs_over_the_side(shop: Shop, browser: Any) -> None:
    """No card scrolls sideways, nor does the file with all of them."""
    codes = [shop.reducer.code(each) for each in shop.reducer.teardown.bins[::9]] + [shop.code(step) for step in STEPS]
    with phone(browser) as opened:
        for address in ((shop.folder / "cards.html").as_uri(), *(f"{shop.address}/{code}" for code in codes)):
            opened.page.goto(address)

            assert [] == overflowing(opened.page), address


def test_the_step_is_the_loudest(shop: Shop, browser: Any) -> None:
    """On a phone the step is set largest, then quantity and name; all of it is on the screen at once."""
    with phone(browser, signed=False) as opened:
        for step in ("10", "25.3", "7"):
            opened.page.goto(f"{shop.address}/{shop.code(step)}")
            sizes = opened.page.evaluate(
                """['.step', '.count', 'h1', '.top .meta'].map(
                    name => parseFloat(getComputedStyle(document.querySelector(name)).fontSize))"""
            )
            header = opened.page.locator("header.top").bounding_box()
            assert sorted(sizes, reverse=True) == sizes
            assert sizes[0] >= 2 * sizes[1]
            assert header["y"] + header["height"] < SIZE["height"] / 3


@pytest.mark.parametrize("width", [320, 390])
def test_no_loud_word_is_broken(shop: Shop, browser: Any, width: int) -> None:
    """Signal words, way and clock are never split within a word, also on a narrow phone."""
    with phone(browser) as opened:
        opened.page.set_viewport_size({"width": width, "height": 844})
        opened.page.goto(f"{shop.address}/{shop.code('34')}")
        opened.page.locator("summary", has_text="Cautions for the whole unit").click()
        lines = opened.page.locator(".hazard strong span, .loud li, figcaption .missing").evaluate_all(
            """all => all.map(each => { const range = document.createRange(); range.selectNodeContents(each);
               return [each.textContent, new Set([...range.getClientRects()].map(box => box.top)).size] })"""
        )

    assert {"WARNING", "CAUTION", "NOTICE", "NEW ONLY", "NOT RECORDED"} <= {words for words, _ in lines}
    assert [] == [words for words, count in lines if count > len(words.split())]
    assert [] == [words for words, count in lines if " " not in words and count != 1]


@pytest.mark.parametrize("number", [0, 12, 40])
def test_the_file_shows_exactly_the_card_that_was_asked_for(shop: Shop, browser: Any, number: int) -> None:
    """At #CODE there is that card alone, and the list of all others below it."""
    each = shop.reducer.teardown.bins[number]
    with phone(browser) as opened:
        opened.page.goto(f"{(shop.folder / 'cards.html').as_uri()}#{shop.reducer.code(each)}")
        shown = opened.page.locator("article:visible")

        assert 1 == shown.count()
        assert each.step == shown.locator(".step").inner_text()
        assert len(shop.reducer.teardown.bins) == opened.page.locator("nav.index a:visible").count()


def test_links_in_the_file_change_the_card(shop: Shop, browser: Any) -> None:
    """A link to another card, and a line of the list, show that card alone and bring it into view."""
    with phone(browser) as opened:
        opened.page.goto(f"{(shop.folder / 'cards.html').as_uri()}#{shop.code('10')}")
        opened.page.locator("article:visible a").first.click()
        assert ["11"] == opened.page.locator("article:visible .step").all_inner_texts()
        opened.page.locator(f"nav.index a[href='#{shop.code('34')}']").click()
        assert ["34"] == opened.page.locator("article:visible .step").all_inner_texts()
        assert 0 <= opened.page.locator("article:visible .step").bounding_box()["y"] < 100


def test_everything_works_without_script(shop: Shop, browser: Any) -> None:
    """The bench needs no script: a card opens, a typed code opens the next one, cautions unfold."""
    with phone(browser, java_script_enabled=False) as opened:
        opened.page.goto(shop.address)
        opened.page.fill("#code", shop.code("34").lower())
        opened.page.press("#code", "Enter")
        assert "34" == opened.page.locator(".step").inner_text()
        opened.page.locator("summary", has_text="Cautions for the whole unit").click()
        assert "136\N{NO-BREAK SPACE}kg: lift and turn" in opened.page.locator("details .hazard").first.inner_text()
        opened.page.locator("nav.steps a").last.click()
        assert "35" == opened.page.locator(".step").inner_text()


def test_a_mistyped_code_is_mended_where_it_stands(shop: Shop, browser: Any) -> None:
    """It comes back into its field, all of it marked, so that a scanner or a hand writes over it."""
    wrong = shop.code("34")[:-1] + ("1" if shop.code("34")[-1] != "1" else "2")
    with phone(browser) as opened:
        opened.page.goto(shop.address)
        opened.page.fill("#code", wrong)
        opened.page.press("#code", "Enter")
        opened.page.wait_for_url("**/?code=*")
        assert wrong == opened.page.input_value("#code")
        opened.page.keyboard.type(shop.code("34"))
        opened.page.keyboard.press("Enter")
        opened.page.wait_for_url(f"**/{shop.code('34')}")


def test_from_the_list_of_jobs_to_a_card(shop: Shop, browser: Any) -> None:
    """Without a label at hand and without script: the job, its bin, the card, and back to the list."""
    with phone(browser, java_script_enabled=False) as opened:
        opened.page.goto(shop.address)
        opened.page.locator("nav.jobs a", has_text="Orvexal").click()
        opened.page.locator("#trays summary").first.click()
        opened.page.locator("#trays details[open] a").first.click()
        assert shop.reducer.teardown.bins[0].step == opened.page.locator(".step").inner_text()
        opened.page.locator("nav.bar a", has_text="Job 1").click()
        assert opened.page.url == f"{shop.address}/job/1"


def test_what_a_hand_scanner_types_opens_the_card(shop: Shop, browser: Any) -> None:
    """On the home page the field is ready: a scanner's keys and its Enter are enough."""
    with phone(browser) as opened:
        opened.page.goto(shop.address)
        opened.page.keyboard.type(f"{shop.address}/{shop.code('11')}")
        opened.page.keyboard.press("Enter")
        opened.page.wait_for_url(f"**/{shop.code('11')}")

        assert "Input cover (motor flange)" == opened.page.locator("h1").inner_text()
        opened.page.keyboard.type(shop.code("12"))
        opened.page.keyboard.press("Enter")
        opened.page.wait_for_url(f"**/{shop.code('12')}")


def test_what_others_record_is_seen_without_a_tap(shop: Shop, browser: Any) -> None:
    """A page that lists renews itself, at once while nobody types; where somebody does it only offers to."""

    def note(words: str) -> None:
        with Store(str(shop.folder / "shop.sqlite")) as store:
            record(store, shop.pump, datetime.now(UTC), ("1", {"kind": "noted", "note": words}))

    look = "document.dispatchEvent(new Event('visibilitychange'))"
    with phone(browser) as opened:
        opened.page.goto(f"{shop.address}/job/2", wait_until="networkidle")
        note("a first remark")
        opened.page.evaluate(look)
        opened.page.get_by_text("a first remark").first.wait_for()
        opened.page.locator("summary", has_text="Put the job on hold").click()
        opened.page.fill("#f-hold-why", "waits for")
        note("a second remark")
        opened.page.evaluate(look)
        opened.page.locator("#news").wait_for()

        assert 0 == opened.page.get_by_text("a second remark").count()
        assert "waits for" == opened.page.input_value("#f-hold-why")
        opened.page.click("#news")
        opened.page.get_by_text("a second remark").first.wait_for()


def test_the_photo_is_shown(shop: Shop, browser: Any) -> None:
    """The part's photo loads and stays within the phone's width."""
    with phone(browser) as opened:
        opened.page.goto(f"{shop.address}/{code_of(shop.pump, 'cover')}", wait_until="load")
        widths = "e => [e.naturalWidth, e.getBoundingClientRect().width]"
        natural, shown = opened.page.locator("img.photo").evaluate(widths)

    assert 640 == natural
    assert 300 < shown <= SIZE["width"]


def test_the_letters_are_the_bench_s_own(shop: Shop, browser: Any) -> None:
    """Card and file are set in the faces that tell 0 from O and 1 from l, not in what the phone has."""
    for address in (f"{shop.address}/{shop.code('10')}", f"{(shop.folder / 'cards.html').as_uri()}#{shop.code('10')}"):
        with phone(browser, fresh=True) as opened:
            opened.page.goto(address)
            loaded = opened.page.evaluate(
                "document.fonts.ready.then(all => [...all].filter(f => f.status == 'loaded').map(f => f.weight))"
            )
        assert ["400", "700"] == sorted(loaded)


def test_dark_pages_are_dark(shop: Shop, browser: Any) -> None:
    """Where a phone is set to dark, the page is dark and its drawings light: seen in the pixels."""
    from PIL import Image

    with phone(browser) as opened:
        opened.page.emulate_media(color_scheme="dark")
        opened.page.goto(f"{shop.address}/{shop.code('34')}")
        picture = Image.open(io.BytesIO(opened.page.locator(".sits").screenshot())).convert("L")
    levels = picture.histogram()

    assert sum(levels[:64]) > 0.6 * sum(levels)
    assert sum(levels[200:]) > 0.03 * sum(levels)
