"""Somebody at the bench with a phone: a real browser that is tapped and typed at, on a server of its own."""

from __future__ import annotations

import shutil
import threading
from collections.abc import Iterator
from contextlib import contextmanager
from typing import Any

import pytest
import waitress
from flask import Flask

from tests.bench_app.hands import PIN, person

CHROMIUM = next(filter(None, map(shutil.which, ("chromium", "chromium-browser"))), None)
SIZE = {"width": 390, "height": 844}  # CSS pixels of a common phone. Source: common practice, no source
ARGUMENTS = (
    "--no-sandbox",
    "--disable-gpu",
    "--disable-background-networking",
    "--disable-component-update",
    "--disable-sync",
    "--no-first-run",
    # A camera that shows a test picture, and a browser that lets pages use it.
    "--use-fake-device-for-media-stream",
    "--use-fake-ui-for-media-stream",
)
WCAG = {"runOnly": {"type": "tag", "values": ["wcag2a", "wcag2aa", "wcag21a", "wcag21aa", "wcag22aa"]}}
# Taps every closed fold around an element, the outermost last.
_UNFOLD = """element => {
  for (let fold = element.closest('details'); fold; fold = fold.parentElement.closest('details'))
    if (!fold.open) fold.querySelector('summary').click() }"""

# Judges a page by rules of axe-core. What passes is counted only: it would be brought here place by place.
_JUDGE = """async (only) => {
  const judged = await axe.run(document, { runOnly: only, resultTypes: ['violations'] })
  return [judged.passes.length, judged.violations.flatMap(each => each.nodes.map(node => [each.id, node.html]))] }"""


@contextmanager
def serving(app: Flask) -> Iterator[str]:
    """Serve an application as the bench does, and give its address."""
    server = waitress.create_server(app, host="127.0.0.1", port=0, threads=4)
    thread = threading.Thread(target=server.run, daemon=True)
    thread.start()
    yield f"http://127.0.0.1:{server.effective_port}"
    server.close()
    thread.join(5)


@contextmanager
def a_browser() -> Iterator[Any]:
    """Start Chromium; the test is skipped where it or Playwright is not installed."""
    playwright = pytest.importorskip("playwright.sync_api", reason="playwright is not installed")
    if CHROMIUM is None:
        pytest.skip("chromium is not installed")
    with playwright.sync_playwright() as running:
        opened = running.chromium.launch(executable_path=CHROMIUM, args=[*ARGUMENTS])
        yield opened
        opened.close()


@contextmanager
def a_screen(browser: Any, **settings: Any) -> Iterator[Any]:
    """Open a page that knows nothing of the others, and close it."""
    context = browser.new_context(**settings)
    yield context.new_page()
    context.close()


class Phone:
    """A phone, and what its owner does with it.

    Attributes:
        page: of the browser.
        address: of the bench.
    """

    def __init__(self, page: Any, address: str) -> None:
        self.page, self.address = page, address
        page.set_default_timeout(10_000)

    def belongs_to(self, app: Flask, name: str, job: int | None = None) -> None:
        """Give the phone to somebody who has just signed in, and works on a job or on none yet."""
        client = person(app, name).client
        if job is not None:
            with client.session_transaction() as kept:
                key = kept["key"]
            assert 303 == client.post(f"/job/{job}/work", data={"csrf": key}).status_code
            client.get(f"/job/{job}")  # takes what was told
        cookie = client.get_cookie("labelkit")
        assert cookie is not None
        self.page.context.clear_cookies()
        self.page.context.add_cookies([{"name": "labelkit", "value": cookie.value, "url": self.address}])

    def signs_in(self, name: str) -> None:
        self.open("/sign-in")
        self.page.get_by_label("Your name").fill(name)
        self.page.get_by_label("PIN of the bench").fill(PIN)
        self.taps("Sign in")

    def open(self, path: str) -> str:
        """Open a page of the bench and return what is to be read on it."""
        self.page.goto(f"{self.address}{path}")
        return self.text

    def scans(self, code: str) -> str:
        """Scan a label with a hand scanner, which types the code and Enter, at whatever has the focus."""
        with self.page.expect_navigation():
            self.page.keyboard.type(code)
            self.page.keyboard.press("Enter")
        return self.text

    def taps(self, words: str, form: str = "") -> str:
        """Tap the button of these words, in one of the forms when it is named, and return the page that answers."""
        within = self.form(form) if form else self.page
        with self.page.expect_navigation():
            within.get_by_role("button", name=words, exact=True).click()
        return self.text

    def follows(self, words: str) -> str:
        """Tap a link with these words."""
        with self.page.expect_navigation():
            self.page.get_by_role("link", name=words).first.click()
        return self.text

    def form(self, name: str) -> Any:
        """Return a form of the page by its name, unfolded when it lies in a fold."""
        found = self.page.locator(f"#form-{name}")
        found.evaluate(_UNFOLD)
        return found

    def ticks(self, form: str) -> list[str]:
        """Tick every caution of a form; what was ticked."""
        boxes = self.form(form).locator("input[name=ticked]").all()
        for box in boxes:
            box.check()
        return [box.get_attribute("value") for box in boxes]

    def types(self, form: str, **typed: str) -> None:
        """Type into fields of a form by their names."""
        for name, text in typed.items():
            field = self.form(form).locator(f"[name={name}]")
            field.evaluate(_UNFOLD)
            field.fill(text)

    def chooses(self, form: str, name: str, value: str) -> None:
        """Tap a choice of a form."""
        choice = self.form(form).locator(f"input[name={name}][value='{value}']")
        choice.evaluate(_UNFOLD)
        choice.check()

    @property
    def text(self) -> str:
        """All that is to be read on the page; what is folded away is not."""
        return " ".join(self.page.evaluate("document.querySelector('main').innerText").split())

    @property
    def refusal(self) -> str:
        """What stands in the loud field; its beginning must be seen without scrolling."""
        box = self.page.locator("div.refused").first
        assert box.bounding_box()["y"] < SIZE["height"] * 2 / 3, "the refusal is not seen at once"
        return " ".join(box.inner_text().split())

    def barriers(self) -> list[str]:
        """Return what is a barrier on the open page."""
        return barriers(self.page)


def barriers(page: Any) -> list[str]:
    """Return what axe-core finds on a page against WCAG 2.2 A and AA in both themes, one place a line.

    In the dark theme only contrasts differ.
    """
    from axe_playwright_python.sync_playwright import Axe

    page.evaluate(Axe().axe_script)
    found = []
    for scheme, only in (("light", WCAG["runOnly"]), ("dark", ["color-contrast"])):
        page.emulate_media(color_scheme=scheme)
        passes, places = page.evaluate(_JUDGE, only)
        assert passes
        found += [f"{scheme} {rule}: {html[:200]}" for rule, html in places]
    page.emulate_media(color_scheme="light")
    return found


def overflowing(page: Any) -> list[int]:
    """Return at which widths a page scrolls sideways, down to the 320 pixels of WCAG 2.2, 1.4.10 (reflow)."""
    found = []
    for width in (1280, SIZE["width"], 320):
        page.set_viewport_size({**SIZE, "width": width})
        if page.evaluate("document.documentElement.scrollWidth") > width:
            found.append(width)
    page.set_viewport_size(SIZE)
    return found


def small_targets(page: Any) -> list[Any]:
    """Return what is too small for gloves, with width and height.

    Buttons, fields and ways measure at least 44 pixels high, as WCAG 2.2 asks at level AAA (2.5.5); no target is
    smaller than 24 by 24 (2.5.8).
    """
    boxes = page.evaluate(
        """[...document.querySelectorAll('a, button, input:not([type=hidden]), textarea, summary')]
           .filter(e => e.checkVisibility() && !e.matches('p a')).map(e => [e, e.getBoundingClientRect()])
           .map(([e, b]) => [e.matches('button, summary, textarea, nav a, input[type=text]'),
                             e.outerHTML.slice(0, 90), b.width, b.height])"""
    )
    assert boxes
    return [box for box in boxes if box[2] < 24 or box[3] < (44 if box[0] else 24)]


def covered(page: Any) -> list[str]:
    """Return what a finger in its middle does not reach, because something lies over it.

    A tap that falls on the label of a control is one on the control, but for a field that is typed into beside another.
    """
    found: list[str] = page.evaluate(
        """[...document.querySelectorAll('a, button, summary, textarea, select, input:not([type=hidden])')]
           .filter(e => e.checkVisibility() && !e.disabled).filter(e => {
             e.scrollIntoView({block: 'center', behavior: 'instant'})
             const b = e.getClientRects()[0]
             if (!b || b.width < 2) return false
             const hit = document.elementFromPoint(b.x + b.width / 2, b.y + b.height / 2)
             const typed = e.matches('textarea, select, input:not([type=radio], [type=checkbox], [type=file])')
             return !hit || !(e.contains(hit) || (!typed && e.labels && [...e.labels].some(l => l.contains(hit))))
           }).map(e => e.outerHTML.slice(0, 90))"""
    )
    return found
