"""A whole job on a phone: three people, one pump, from the sign-in to the signature; and what a phone brings along.

Accessibility is judged by axe-core against WCAG 2.2, levels A and AA. `python -m tests.bench.walk FOLDER` walks the
same way and keeps a picture of every screen.
"""

from __future__ import annotations

from collections.abc import Iterator
from typing import Any

import pytest

from labelkit.bench.app import create_app
from labelkit.calc.openpoints import open_points
from labelkit.calc.record import record_of
from labelkit.store.jobs import Store
from tests.bench_app.phones import SIZE, Phone, a_screen, serving
from tests.bench_app.wholejob import walk
from tests.bench_app.workshop import code_of, open_job, pump

# Screens in a state that looks like no other; every page as it is first seen is judged by `test_every_page_browser`.
JUDGED = {"next-danger", "fit-sum", "card-not-ticked", "measure-wrong", "pack-refused", "sign-off-refused", "report"}


@pytest.fixture
def phone(store: Store, browser: Any) -> Iterator[Phone]:
    # axe-core is put into the page, which its Content-Security-Policy would rightly forbid.
    with serving(create_app(store)) as address, a_screen(browser, viewport=SIZE, bypass_csp=True) as page:
        yield Phone(page, address)


def test_a_whole_job_from_the_sign_in_to_the_signature(phone: Phone, store: Store) -> None:
    """Every act is in the record with who did it, nothing is open, the job is signed and closed; no screen on the way
    has a barrier in either theme, nor runs over its side."""
    found: dict[str, list[str]] = {}
    seen: list[str] = []

    def look(name: str) -> None:
        seen.append(name)
        if phone.page.evaluate("document.documentElement.scrollWidth") > SIZE["width"]:
            found[name] = ["it runs over the side"]
        if name in JUDGED:
            found[name] = [*found.get(name, ()), *phone.barriers()]

    view = walk(phone, store, look, everything=False)

    events = store.journal.events(view.job.number)
    record = record_of(view.profile, view.teardown, view.order, events)
    assert {} == {name: barriers for name, barriers in found.items() if barriers}
    assert set(seen) >= JUDGED
    assert {"verified"} == {record.at(each.ordinal).stage for each in view.teardown.bins}
    assert () == open_points(record)
    assert ("Cleo", "Cleo") == (record.signed and record.signed.who, record.closed and record.closed.who)
    assert {"removed": "Ann", "ordered": "Ben", "received": "Ben", "installed": "Cleo"}.items() <= {
        event.act.kind: event.who for event in events
    }.items()
    assert len(events) == len({event.token for event in events}), "nothing was written twice"


def test_a_scan_after_a_tick_opens_the_next_card_and_sends_nothing(phone: Phone, store: Store) -> None:
    """The focus is on the box, the fold or the button that was tapped last: a scanner's Enter must not send the form
    of this card, least of all with its cautions ticked."""
    view = open_job(store, pump(), address=phone.address)
    phone.signs_in("Ann")
    phone.scans(code_of(view, "cover-screws"))
    phone.ticks("removed")

    phone.scans(code_of(view, "plug"))
    assert "Plug M10" == phone.page.locator("h1").inner_text()
    phone.page.locator("#form-removed summary").first.click()
    phone.scans(code_of(view, "cover"))
    assert "Cover" == phone.page.locator("h1").inner_text()
    phone.page.locator("#form-removed button").first.focus()
    phone.scans(code_of(view, "body"))
    assert "Body" == phone.page.locator("h1").inner_text()
    assert 0 == store.journal.last(view.job.number)


def test_what_is_typed_into_a_field_stays_there(phone: Phone, store: Store) -> None:
    """A note that begins with letters is not taken for a code."""
    view = open_job(store, pump(), address=phone.address)
    phone.signs_in("Ann")
    phone.scans(code_of(view, "body"))
    field = phone.form("noted").locator("textarea")
    field.evaluate("each => each.closest('details').open = true")
    field.click()
    phone.page.keyboard.type("dark paint")
    assert "dark paint" == field.input_value()
    assert "" == phone.page.locator("#code").input_value()


def test_without_a_reader_of_symbols_no_camera_is_offered(phone: Phone) -> None:
    """Where the browser cannot read symbols, there is the field alone, with nothing to tap that does nothing."""
    phone.page.add_init_script("delete window.BarcodeDetector")
    phone.open("/")
    assert phone.page.locator("#code").is_visible()
    assert not phone.page.locator("#camera").is_visible()
    assert not phone.page.locator("#film").is_visible()


def test_the_page_s_own_camera_opens_the_card(phone: Phone, store: Store) -> None:
    """Chromium's test camera gives the film; it has no reader here, so that one stands in which reads a code from the
    third picture on. When the camera may not be used, the button says so, and the field still works."""
    view = open_job(store, pump(), address=phone.address)
    code = code_of(view, "cover")
    phone.page.add_init_script(
        """window.BarcodeDetector = class {
             constructor() { this.seen = 0 }
             async detect(film) { return film.videoWidth && ++this.seen > 2 ? [{ rawValue: 'CODE' }] : [] } };
           if (location.search.includes('denied')) navigator.mediaDevices.getUserMedia = () => Promise.reject()
        """.replace("CODE", code)
    )
    phone.open("/")
    with phone.page.expect_navigation():
        phone.page.get_by_role("button", name="Scan with this camera").click()
    assert "Cover" == phone.page.locator("h1").inner_text()

    phone.open("/?denied=1")
    phone.page.locator("#camera").click()
    phone.page.get_by_role("button", name="The camera may not be used here").wait_for()
    phone.scans(code)
    assert "Cover" == phone.page.locator("h1").inner_text()
