"""Every page of the bench in a real browser, and a hand scanner that is used while somebody fills in a field.

Accessibility is judged by axe-core against WCAG 2.2, levels A and AA.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path
from typing import Any

import pytest
from flask import Flask

from labelkit.bench.app import create_app
from labelkit.store.jobs import Store
from tests.bench_app.attacks import Bench, furnish
from tests.bench_app.conftest import NOON
from tests.bench_app.hands import person, with_pin
from tests.bench_app.phones import SIZE, Phone, a_screen, barriers, covered, overflowing, serving, small_targets
from tests.bench_app.workshop import FITTED, SECRET, code_of, open_job, png, pump


@dataclass
class Shop:
    """A bench with something on every page, and a phone."""

    bench: Bench
    phone: Phone


@pytest.fixture(scope="module")
def shop(tmp_path_factory: pytest.TempPathFactory, browser: Any) -> Iterator[Shop]:
    folder: Path = tmp_path_factory.mktemp("pages")
    with Store(str(folder / "shop.sqlite"), secret=SECRET) as store:
        with_pin(store)
        app: Flask = create_app(store, clock=lambda: NOON)
        view = open_job(store, pump(FITTED), photos={"photos/cover.png": png(320, 240)})
        bench = Bench(store, app, view, person(app))
        furnish(bench, NOON)
        with serving(app) as address, a_screen(browser, viewport=SIZE, bypass_csp=True) as page:
            phone = Phone(page, address)
            phone.belongs_to(app, "Ann")
            yield Shop(bench, phone)


@dataclass(frozen=True)
class Seen:
    """What is not right on a page, everything unfolded."""

    endpoint: str
    barriers: list[str]
    overflowing: list[int]
    small: list[Any]
    covered: list[str]


@pytest.fixture(scope="module")
def seen(shop: Shop) -> dict[str, Seen]:
    """Whatever address answers with a page is looked at once: none is forgotten."""
    found, page = {}, shop.phone.page
    for endpoint, address in (
        *((rule.endpoint, address) for rule, address in shop.bench.all_addresses("GET")),
        ("message", "/7K3M-9Q2X-F4H"),
        ("message", f"/{'Z' * 200}"),
    ):
        answer = shop.bench.ann.client.get(address)
        if answer.mimetype == "text/html" and "<main" in answer.text:
            shop.phone.open(address)
            page.evaluate("for (const each of document.querySelectorAll('details')) each.open = true")
            found[address] = Seen(endpoint, barriers(page), overflowing(page), small_targets(page), covered(page))
    return found


def test_no_page_of_the_bench_has_a_barrier(seen: dict[str, Seen]) -> None:
    """Judged in light and dark."""
    assert {} == {address: each.barriers for address, each in seen.items() if each.barriers}
    assert {"show", "fit", "pack", "report", "capture_part", "sign_in_form", "message"} <= {
        each.endpoint for each in seen.values()
    }


def test_no_page_of_the_bench_runs_over_its_side(seen: dict[str, Seen]) -> None:
    """On a large screen, on a phone, and on the narrowest one."""
    assert {} == {address: each.overflowing for address, each in seen.items() if each.overflowing}


def test_targets_are_large_enough_for_gloves(seen: dict[str, Seen]) -> None:
    """Every button, field, fold and way of every page."""
    assert {} == {address: each.small for address, each in seen.items() if each.small}


def test_nothing_lies_over_what_is_tapped(seen: dict[str, Seen]) -> None:
    """Every field can be typed into, every button and way be reached."""
    assert {} == {address: each.covered for address, each in seen.items() if each.covered}


def test_the_judge_is_awake(shop: Shop) -> None:
    """Words that are too pale are found in both themes, a field without a name, a wide page and a low button."""
    shop.phone.open("/sign-in")
    shop.phone.page.add_style_tag(content="label { color: #777 !important; background: #888 !important }")
    shop.phone.page.locator("label[for=code]").evaluate("each => each.remove()")

    rules = {" ".join(line.split()[:2]).rstrip(":") for line in shop.phone.barriers()}

    assert {"light color-contrast", "light label", "dark color-contrast"} == rules
    low = "main { width: 900px } button { height: 20px !important; min-height: 0 !important }"
    shop.phone.page.add_style_tag(content=low)
    assert [390, 320] == overflowing(shop.phone.page)
    assert small_targets(shop.phone.page)
    shop.phone.page.add_style_tag(content="label { position: relative; top: 60px; z-index: 1; background: red }")
    assert covered(shop.phone.page)


class Keys:
    """Keys that are pressed at known times, whatever else this computer does: a scanner's, or somebody's."""

    def __init__(self, page: Any) -> None:
        self._devtools = page.context.new_cdp_session(page)
        self._now = page.evaluate("(performance.timeOrigin + performance.now()) / 1000")

    def type(self, text: str, every: float) -> None:
        """Type a text and Enter, a key every so many seconds."""
        for letter in text:
            self._send(letter, letter)
            self._now += every
        self._send("Enter", "\r")

    def _send(self, key: str, text: str) -> None:
        code = {"windowsVirtualKeyCode": 13} if key == "Enter" else {}
        for kind in ("keyDown", "keyUp"):
            more = {"text": text} if kind == "keyDown" else {}
            event = {"type": kind, "key": key, "timestamp": self._now, **code, **more}
            self._devtools.send("Input.dispatchKeyEvent", event)


SCANNER, FASTEST_TYPIST, SLOW_TYPIST = 0.012, 0.06, 0.25  # seconds between two keys. Common practice, no source


def test_a_scan_into_a_field_opens_the_card_and_leaves_the_field_as_it_was(shop: Shop) -> None:
    """Address or code, at whatever field has the focus; nothing is sent, and the field is left as it was before."""
    page, view = shop.phone.page, shop.bench.view
    card = f"{shop.phone.address}/{code_of(view, 'plug')}"
    dashed = "-".join((code_of(view, "plug")[:4], code_of(view, "plug")[4:8], code_of(view, "plug")[8:])).lower()
    for path, field, scanned in (
        ("/job/1", "#f-noted-note", card.upper().replace("HTTP://127.0.0.1", "HTTP://BENCH.LOCAL")),
        (f"/{code_of(view, 'cover-screws')}", "#f-removed-count", code_of(view, "plug")),
        ("/job/1/fits/side-play", "#f-read-reading1", dashed),
        ("/capture/2/next?name=Ring&kind=ring", "[name=remark]", card),
    ):
        last = shop.bench.store.journal.last(1)
        shop.phone.open(path)
        page.evaluate("for (const each of document.querySelectorAll('details')) each.open = true")
        page.locator(field).fill("2")
        page.locator(field).focus()
        page.locator(field).evaluate("each => addEventListener('pagehide', () => (sessionStorage.held = each.value))")
        Keys(page).type(scanned, SCANNER)
        page.wait_for_url(card)

        assert "2" == page.evaluate("sessionStorage.held"), path
        assert last == shop.bench.store.journal.last(1)


def test_whoever_types_is_not_disturbed(shop: Shop) -> None:
    """A code that is typed by hand into a note stays there and is kept; so does a scanned number that is no code."""
    page, code = shop.phone.page, code_of(shop.bench.view, "plug")
    for text, every in ((code, FASTEST_TYPIST), (code, SLOW_TYPIST), ("40171000123", SCANNER), ("1234567", SCANNER)):
        shop.phone.open("/job/1")
        page.evaluate("for (const each of document.querySelectorAll('details')) each.open = true")
        page.locator("#f-hold-why").focus()
        with page.expect_navigation():
            Keys(page).type(text, every)

        assert text == getattr(shop.bench.store.journal.events(1)[-1].act, "why", "")


def test_the_code_field_takes_what_is_scanned_or_typed(shop: Shop) -> None:
    """By scanner or by hand, with the focus in it or nowhere; and a sign-in label stays in the field of the PIN."""
    page, code = shop.phone.page, code_of(shop.bench.view, "plug")
    for every, focus in ((SCANNER, True), (SLOW_TYPIST, True), (SCANNER, False)):
        shop.phone.open("/job/1")
        if focus:
            page.locator("#code").focus()
        Keys(page).type(code, every)
        page.wait_for_url(f"{shop.phone.address}/{code}")
    page.locator("#code").focus()
    Keys(page).type(f"Ann/{'PSBQ27ZW' * 3}", SCANNER)
    page.wait_for_url(f"{shop.phone.address}/sign-in")
    page.locator("#f-pin").focus()
    page.evaluate("document.querySelector('#f-pin').form.addEventListener('submit', e => e.preventDefault())")
    Keys(page).type(code, SCANNER)

    assert code == page.locator("#f-pin").input_value()
