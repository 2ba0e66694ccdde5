"""The capture in a real browser at phone size: parts are dragged to their place, Enter goes from size to size."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest

from labelkit.bench.app import create_app
from labelkit.bench.capturetree import unit_of
from labelkit.store.jobs import Store
from tests.bench_app.hands import Person, person, with_pin
from tests.bench_app.phones import SIZE, Phone, a_screen, serving
from tests.bench_app.test_capture import started, tell
from tests.bench_app.workshop import SECRET, png


@pytest.fixture(scope="module")
def shop(tmp_path_factory: pytest.TempPathFactory, browser: Any) -> Iterator[tuple[Store, Phone, Person]]:
    """A capture of four parts: the third is inside the second."""
    folder = tmp_path_factory.mktemp("capture")
    with Store(str(folder / "shop.sqlite"), secret=SECRET) as store:
        with_pin(store)
        app = create_app(store)
        ann = person(app)
        started(ann)
        tell(ann, "Bolt")
        tell(ann, "Carrier")
        tell(ann, "Planet", where="&inside=2")
        tell(ann, "Cover")
        with serving(app) as address, a_screen(browser, viewport=SIZE, has_touch=True) as page:
            phone = Phone(page, address)
            phone.belongs_to(app, "Ann")
            yield store, phone, ann


def steps(store: Store) -> dict[str, str]:
    return {part.name: step for step, part in unit_of(store.drafts.current(1).body).walk()}


def test_a_part_is_dragged_or_carried_by_keys_and_it_is_one_step_to_undo(shop: tuple[Store, Phone, Person]) -> None:
    """What is inside it comes along; where it would land is shown; a tap on the handle only opens its page."""
    store, phone, _ = shop
    page = phone.page
    phone.open("/capture/1")
    assert [] == phone.barriers()
    assert "part/4#order" in page.locator("#part-4 .handle").get_attribute("href")
    before = steps(store)

    handle, target = page.locator("#part-2 .handle").bounding_box(), page.locator("#part-4").bounding_box()
    assert min(handle["width"], handle["height"]) >= 48  # as large as every target for gloves
    page.mouse.move(handle["x"] + 20, handle["y"] + 20)
    page.mouse.down()
    page.mouse.move(handle["x"] + 20, target["y"] + target["height"] - 2, steps=6)
    assert 1 == page.locator(".captured .here").count()
    with page.expect_navigation():
        page.mouse.up()
    assert {"Bolt": "1", "Cover": "2", "Carrier": "3", "Planet": "3.1"} == steps(store)
    assert "Carrier moved" in phone.text
    with page.expect_navigation():
        page.get_by_role("button", name="Undo").click()
    assert before == steps(store)

    page.locator("#part-4 .handle").focus()
    for _ in range(2):
        page.keyboard.press("ArrowUp")
    assert "before step 2" in page.locator("#carried").inner_text()
    with page.expect_navigation():
        page.keyboard.press("Enter")
    assert {"Bolt": "1", "Cover": "2", "Carrier": "3", "Planet": "3.1"} == steps(store)

    with page.expect_navigation():
        page.locator("#part-1 .handle").click()
    assert page.url.endswith("/capture/1/part/1#order")


def test_a_part_is_told_with_few_taps(shop: tuple[Store, Phone, Person], tmp_path: Path) -> None:
    """Three letters of its name, the keypad at once, Enter from size to size, one tap for how it sat, a photo."""
    store, phone, _ = shop
    page = phone.page
    phone.open("/capture/1/next")
    page.locator("[name=name]").fill("thr")
    with page.expect_navigation():
        page.get_by_role("button", name="Thrust washer", exact=True).click()
    for text in ("72,1", "50", "0.104 in"):
        page.keyboard.type(text)
        page.keyboard.press("Enter")
    page.locator("[name=qty_other]").fill("24")
    page.locator("label:has([name=quick])").first.click()
    for number in range(2):
        file = tmp_path / f"{number}.png"
        file.write_bytes(png(40 + number, 30))
        page.set_input_files("#f-picture", str(file))
    assert "Photos: 2" == page.locator("#shoot").inner_text()
    phone.taps("Keep part 4")

    part = unit_of(store.drafts.current(1).body).parts[-1]
    assert ("Thrust washer", "ring", {"od": "72,1", "id": "50", "t": "0.104 in"}) == (part.name, part.kind, part.sizes)
    assert ("24", "free", "free", "next", 2) == (part.qty, part.way, part.clock, part.on, len(part.photos))
