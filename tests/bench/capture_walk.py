"""Walk through the capture of thirty parts in a real browser at phone size, and say what each part takes of a person.

By hand: `python -m tests.bench.capture_walk [FOLDER]`. It prints the taps and letters of each part, the seconds that
the machine took of it, and an estimate of the whole: 1.5 s for a tap with a glove, 0.4 s for a letter on a phone's
keyboard (common practice, no source). Screens are kept in FOLDER, each judged by axe-core against WCAG 2.2.
"""

from __future__ import annotations

import io
import shutil
import sys
import tempfile
import threading
import time
import zipfile
from dataclasses import dataclass
from pathlib import Path
from typing import Any, Literal

import waitress
from axe_playwright_python.sync_playwright import Axe  # type: ignore[import-untyped]
from PIL import Image
from playwright.sync_api import sync_playwright

from labelkit.bench.app import create_app
from labelkit.load.profile import load_profile
from labelkit.store.jobs import Store
from tests.bench_app.hands import PIN, with_pin
from tests.bench_app.test_browser import ARGUMENTS, PHONE, WCAG
from tests.bench_app.test_capture import THIRTY, UNIT

TAP, LETTER = 1.5, 0.4


@dataclass
class Hand:
    """A hand at the phone: counts what it does."""

    page: Any
    taps: int = 0
    letters: int = 0

    def tap(self, where: str) -> None:
        self.page.click(where)
        self.taps += 1

    def type(self, where: str, text: str) -> None:
        self.tap(where)
        self.page.fill(where, text)
        self.letters += len(text)

    def choose(self, name: str, value: str) -> None:
        self.tap(f'label:has(input[name="{name}"][value="{value}"])')


def tell(hand: Hand, name: str, kind: str, typed: dict[str, str], photo: Path | None) -> None:
    """Tell one part as a person would: the name, the kind's picture, then the rest of the form."""
    if hand.page.query_selector(f'button[name=pick][value="{name}|{kind}"]'):
        hand.tap(f'button[name=pick][value="{name}|{kind}"]')
    else:
        hand.type("[name=name]", name)
        hand.tap(f"button[name=kind][value={kind}]")
    for field, text in typed.items():
        if hand.page.query_selector(f'input[type=radio][name="{field}"], input[type=checkbox][name="{field}"]'):
            hand.choose(field, text)
        else:
            hand.type(f'[name="{field}"]', text)
    if photo:
        hand.page.set_input_files("[name=picture]", str(photo))
        hand.taps += 3  # choose, release, use
    hand.tap(".keep button")


def walk(folder: Path) -> None:
    """Capture the thirty parts twice over, in light and in dark."""
    folder.mkdir(parents=True, exist_ok=True)
    photo = folder / "photo.jpg"
    Image.effect_noise((1600, 1200), 60).convert("RGB").save(photo)
    chromium = next(filter(None, map(shutil.which, ("chromium", "chromium-browser"))))
    with tempfile.TemporaryDirectory() as shop, Store(f"{shop}/shop.sqlite") as store, sync_playwright() as playwright:
        with_pin(store)
        server = waitress.create_server(create_app(store), host="127.0.0.1", port=0, threads=4)
        threading.Thread(target=server.run, daemon=True).start()
        address = f"http://127.0.0.1:{server.effective_port}"
        browser = playwright.chromium.launch(executable_path=chromium, args=ARGUMENTS)
        schemes: tuple[Literal["light", "dark"], ...] = ("light", "dark")
        for number, scheme in enumerate(schemes, 1):
            size: Any = PHONE
            context = browser.new_context(viewport=size, color_scheme=scheme, has_touch=True)
            page = context.new_page()
            page.goto(f"{address}/sign-in?then=/capture")
            page.fill("[name=name]", "Ann")
            page.fill("[name=pin]", PIN)
            page.click("form.sheet button")
            for name, text in UNIT.items():
                page.fill(f"[name={name}]", text)
            page.click("text=Start the capture")
            taken: list[float] = []
            for place, (name, kind, typed) in enumerate(THIRTY, 1):
                hand, begun = Hand(page), time.perf_counter()
                tell(hand, name, kind, typed, photo if place % 3 == 0 else None)
                page.wait_for_selector(f"text=Kept: {place} {name}")
                machine = time.perf_counter() - begun
                whole = hand.taps * TAP + hand.letters * LETTER + machine
                taken.append(whole)
                hands = f"{hand.taps} taps, {hand.letters} letters"
                print(f"{scheme} {place:2} {name}: {hands}, machine {machine:.1f} s, together {whole:.0f} s")
            print(f"{scheme}: {max(taken):.0f} s for the slowest part, {sum(taken) / len(taken):.0f} s on average")
            for path in ("/next", "/next?name=Drum&kind=drum", "", "/part/3", "/labels", "/end"):
                page.goto(f"{address}/capture/{number}{path}")
                kept = "".join(letter if letter.isalnum() else "-" for letter in path) or "-list"
                page.screenshot(path=folder / f"{scheme}{kept}.png", full_page=True)
                faults = Axe().run(page, options=WCAG).response["violations"]
                wide = page.evaluate("document.documentElement.scrollWidth > innerWidth")
                print(f"{scheme} {path}: {[each['id'] for each in faults]}{' too wide' if wide else ''}")
            packed = context.request.get(f"{address}/capture/{number}/profile.zip").body()
            zipfile.ZipFile(io.BytesIO(packed)).extractall(folder / scheme)
            print(len(load_profile(str(folder / scheme / "kx1.yaml")).profile.parts), "parts in the profile")
        browser.close()
        server.close()


if __name__ == "__main__":
    walk(Path(sys.argv[1] if len(sys.argv) > 1 else "capture-walk"))
