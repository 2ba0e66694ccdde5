"""Walk through the capture of thirty parts in a real browser at phone size; make the kit of it and check that.

By hand: `python -m tests.bench.capture_walk [FOLDER]`. It prints the taps, letters and swipes of each part, the seconds
that the machine took of it, and an estimate of the whole: 1.5 s for a tap with a glove, 0.4 s for a letter on a phone's
keyboard, Enter included (common practice, no source); in brackets with 0.7 s for each swipe that brings the next
control into view. Screens are kept in FOLDER, each judged by axe-core against WCAG 2.2; of the kit everything is asked
that the tests of its sheets ask, both decoders at every resolution.
"""

from __future__ import annotations

import io
import os
import shutil
import statistics
import subprocess
import sys
import tempfile
import threading
import time
import zipfile
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from pathlib import Path
from typing import Any, Literal

import waitress
from PIL import Image

from labelkit.bench.app import create_app
from labelkit.load.profile import load_profile
from labelkit.model.formwords import kinds_of
from labelkit.store.jobs import Store
from tests.bench_app.hands import PIN, with_pin
from tests.bench_app.phones import SIZE, a_browser, barriers
from tests.bench_app.test_capture import THIRTY, UNIT
from tests.kitchecks import kit_faults
from tests.shop import view_of

TAP, LETTER, SWIPE = 1.5, 0.4, 0.7
# Where the keypad or a bar at the foot of the page would cover a control.
HIDDEN = 120


@dataclass
class Hand:
    """A hand at the phone: counts what it does."""

    page: Any
    taps: int = 0
    letters: int = 0
    swipes: int = 0
    waited: float = 0.0

    def tap(self, where: str) -> None:
        self.reach(where)
        self.page.click(where)
        self.taps += 1

    def reach(self, where: str) -> None:
        """Swipe until a control is in view."""
        box = self.page.locator(where).first.bounding_box()
        height = SIZE["height"]
        for _ in range(10):
            stuck = self.page.locator(where).first.evaluate("each => !!each.closest('.keep')")
            if stuck or not box or 0 <= box["y"] <= height - HIDDEN:
                return
            self.page.mouse.wheel(0, 500 if box["y"] > 0 else -500)
            self.wait(50)
            self.swipes += 1
            box = self.page.locator(where).first.bounding_box()

    def wait(self, milliseconds: int) -> None:
        """Wait as a person would, for something that the estimate counts otherwise."""
        self.page.wait_for_timeout(milliseconds)
        self.waited += milliseconds / 1000

    def key(self, text: str) -> None:
        """Type where the cursor is."""
        self.page.keyboard.type(text)
        self.letters += len(text)

    def enter(self) -> None:
        self.page.keyboard.press("Enter")
        self.letters += 1

    def type(self, where: str, text: str) -> None:
        if not self.page.evaluate("where => document.activeElement.matches(where)", where):
            self.tap(where)
        self.key(text)

    def choose(self, name: str, value: str) -> None:
        self.tap(f'label:has(input[name="{name}"][value="{value}"])')

    def chosen(self, name: str) -> str:
        """Return what a question of the form says now."""
        found = self.page.query_selector(f'input[name="{name}"]:checked, input:not([type=radio])[name="{name}"]')
        return str(found.input_value()) if found else ""

    def has(self, where: str) -> bool:
        return self.page.query_selector(where) is not None


def name_it(hand: Hand, name: str, kind: str, last: str) -> None:
    """Say what a part is, the quickest way there is: like the last one, a button, the kind's name, a few letters."""
    pick = f'button[name=pick][value="{name}|{kind}"]'
    own = hand.page.locator(f"button[name=kind][value={kind}]")
    if name == last:
        return hand.tap(".another")
    if not hand.has(pick) and own.inner_text().strip().casefold() == name.casefold():
        return hand.tap(f"button[name=kind][value={kind}]")
    if not hand.has(pick):
        hand.tap("[name=name]")
    for letter in name if not hand.has(pick) else "":
        hand.key(letter)
        hand.wait(250)
        if hand.has(pick):
            break
    # What the name says itself needs no button of its own.
    told = 'button[name=kind][value=""]' if kinds_of(name)[:1] == (kind,) else f"button[name=kind][value={kind}]"
    return hand.tap(pick if hand.has(pick) else told)


def quickly(hand: Hand, typed: dict[str, str]) -> dict[str, str]:
    """Tap once for how it sat, if that says all of it that is to be told; return what is left to tell."""
    seat = {key: typed[key] for key in ("way", "clock", "on") if key in typed}
    for quick in hand.page.query_selector_all("input[name=quick]"):
        says = dict(zip(("way", "clock", "on"), quick.get_attribute("value").split(";"), strict=False))
        told = {key: says[key] for key in seat if says[key]}
        wrong = [key for key in told if told[key] != seat[key].replace("any", "free")]
        # A clock that nobody told would be told with it: here that is a part that is round.
        if (
            len(told) > 1
            and not wrong
            and ("clock" in seat or seat.get("way") in ("free", "any") or len(told) == len(seat))
        ):
            hand.choose("quick", quick.get_attribute("value"))
            return {key: value for key, value in typed.items() if key not in told}
    return typed


def tell(hand: Hand, name: str, kind: str, typed: dict[str, str], photo: Path | None, last: str) -> None:
    """Tell one part as a person would: what it is, then the rest of the form from above."""
    name_it(hand, name, kind, last)
    hand.page.wait_for_selector("#form-part")
    left = {key: text for key, text in typed.items() if key != "same" and hand.chosen(key) != text}
    if name == last and left.get("way") == "any" and (hand.chosen("way"), hand.chosen("clock")) == ("free", "free"):
        del left["way"]
    if "same" in typed and name != last:
        hand.choose("same", typed["same"])
    sizes = {key: left.pop(key) for key in list(left) if key.startswith("size-")}
    inches = [text for text in sizes.values() if text.endswith(" in")]
    if sizes and len(inches) == len(sizes):
        hand.choose("figures_in", "in")
        sizes = {key: text.removesuffix(" in") for key, text in sizes.items()}
    for place, (field, text) in enumerate(sizes.items()):
        if hand.has(f'input[type=radio][name="{field}"]'):
            hand.choose(field, text)
            continue
        while place and not hand.page.evaluate("field => document.activeElement.name === field", field):
            before = hand.page.evaluate("document.activeElement.name")
            hand.enter()
            if hand.page.evaluate("document.activeElement.name") == before:
                break
        hand.type(f'[name="{field}"]', text)
    for field, text in quickly(hand, left).items():
        if field == "face" and hand.has(f'.chips button:text-is("{text}")'):
            hand.tap(f'.chips button:text-is("{text}")')
        elif text == "other" and f"{field}_other" in left:
            continue  # typing beside the buttons chooses itself
        elif hand.has(f'input[type=radio][name="{field}"], input[type=checkbox][name="{field}"]'):
            hand.choose(field, text)
        else:
            hand.type(f'[name="{field}"]', text)
    if photo:
        hand.page.set_input_files("#f-picture", str(photo))
        hand.reach("#shoot")
        hand.taps += 3  # choose, release, use
    hand.tap(".keep [type=submit]")


@contextmanager
def shop_with_phone() -> Iterator[tuple[str, Any]]:
    """Serve an empty shop; yield its address and a browser."""
    with tempfile.TemporaryDirectory() as shop, Store(f"{shop}/shop.sqlite") as store, a_browser() as browser:
        with_pin(store)
        server = waitress.create_server(create_app(store), host="127.0.0.1", port=0, threads=4)
        threading.Thread(target=server.run, daemon=True).start()
        yield f"http://127.0.0.1:{server.effective_port}", browser
        server.close()


def walk(folder: Path) -> None:
    """Capture the thirty parts twice over, in light and in dark, then make the kit and ask everything of it."""
    folder.mkdir(parents=True, exist_ok=True)
    photo = folder / "photo.jpg"
    Image.effect_noise((1600, 1200), 60).convert("RGB").save(photo)
    schemes: tuple[Literal["light", "dark"], ...] = ("light", "dark")
    with shop_with_phone() as (address, browser):
        for number, scheme in enumerate(schemes, 1):
            context = browser.new_context(viewport=SIZE, color_scheme=scheme, has_touch=True)
            page = context.new_page()
            page.goto(f"{address}/sign-in?then=/capture")
            page.fill("[name=name]", "Ann")
            page.fill("[name=pin]", PIN)
            page.click("form.sheet button")
            for name, text in UNIT.items():
                page.fill(f"[name={name}]", text)
            page.click("text=Start the capture")
            _capture(page, scheme, photo)
            paths = (
                "/next", "/next?name=Drum&kind=drum", "/next?name=Ring&kind=ring", "/next?again=30", "", "/part/3",
                "/labels", "/end",
            )  # fmt: skip
            for path in paths:
                page.goto(f"{address}/capture/{number}{path}")
                kept = "".join(letter if letter.isalnum() else "-" for letter in path) or "-list"
                page.screenshot(path=folder / f"{scheme}{kept}.png", full_page=True)
                wide = page.evaluate("document.documentElement.scrollWidth > innerWidth")
                print(f"{scheme} {path}: {barriers(page)}{' too wide' if wide else ''}")
                page.emulate_media(color_scheme=scheme)
            packed = context.request.get(f"{address}/capture/{number}/profile.zip").body()
            zipfile.ZipFile(io.BytesIO(packed)).extractall(folder / scheme)
    kit(folder / "light" / "kx1.yaml", folder / "kit")


def _capture(page: Any, scheme: str, photo: Path) -> None:
    taken: list[float] = []
    swiped: list[float] = []
    alone: list[float] = []
    last = ""
    for place, (name, kind, typed) in enumerate(THIRTY, 1):
        hand, begun = Hand(page), time.perf_counter()
        tell(hand, name, kind, typed, photo if place % 3 == 0 else None, last)
        page.wait_for_selector(f"text=Kept: {place} {name}")
        machine = time.perf_counter() - begun - hand.waited
        taken.append(hand.taps * TAP + hand.letters * LETTER + machine)
        swiped.append(taken[-1] + hand.swipes * SWIPE)
        alone.append(taken[-1] - machine)
        hands = f"{hand.taps} taps, {hand.letters} letters, {hand.swipes} swipes"
        print(f"{scheme} {place:2} {name}: {hands}, machine {machine:.1f} s, {taken[-1]:.0f} s ({swiped[-1]:.0f} s)")
        last = name
    for words, seconds in (("", taken), (" with swipes", swiped), (" without the machine", alone)):
        mean, median = statistics.mean(seconds), statistics.median(seconds)
        over = sum(each > 20 for each in seconds)
        print(
            f"{scheme}{words}: mean {mean:.1f} s, median {median:.1f} s, worst {max(seconds):.1f} s, {over} above 20 s"
        )


def kit(profile: Path, out: Path) -> None:
    """Check the profile, print its whole kit, decode it, and ask everything of its sheets."""
    for folder in (out, Path(f"{out}-new")):
        shutil.rmtree(folder, ignore_errors=True)
    store = out.parent / "kit.sqlite"
    store.unlink(missing_ok=True)
    new = ("--condemned", "3", "--only", "stickers,picklist", "--out", f"{out}-new")
    commands = [("check", str(profile)), ("kit", str(profile), "--out", str(out)), ("kit", "--job", "1", *new)]
    printed = (f"{out}/labels.pdf", f"{out}/trays.pdf", f"{out}-new/stickers.pdf")
    commands += [("proof", file, "--dpi", dpi) for file in printed for dpi in ("203", "300", "600")]
    for command in commands:
        line = [sys.executable, "-m", "labelkit", *command]
        told = subprocess.run(line, env=os.environ | {"LABELKIT_STORE": str(store)}, capture_output=True, text=True)
        said = " ".join((told.stdout + told.stderr).split())[-200:]
        print(f"{told.returncode} labelkit {command[0]} {' '.join(command[-3:])}: ... {said}")
    counts, faults = kit_faults(view_of(load_profile(str(profile))))
    for name, count in counts.items():
        print(f"{count:4} {name}")
    print(f"{len(faults)} faults", *faults, sep="\n  ")


if __name__ == "__main__":
    walk(Path(sys.argv[1] if len(sys.argv) > 1 else "capture-walk"))
