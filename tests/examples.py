"""The README's pictures, made again from the job that it prints: `python -m tests.examples`; needs Chromium."""

from __future__ import annotations

import io
import itertools
import json
import os
import tempfile
import threading
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import Any, Final

import pypdfium2
import waitress
from click.testing import CliRunner
from PIL import Image, ImageDraw

from labelkit.bench.app import create_app
from labelkit.cli.kit import kit
from labelkit.proof.raster import pictures_of
from labelkit.store.jobs import Store
from tests.bench_app.phones import SIZE, a_browser
from tests.bench_app.workshop import SECRET
from tests.shop import ROOT

ORDER: Final = (
    *("planetary-reducer", "--serial", "4711", "--option", "output=splined", "--label-stock", "a4-2x5-99x56"),
    *("--address", "http://192.168.1.20:8080", "--only", "labels,trays,exploded,worksheets", "--map-only"),
)
STEP: Final = "11"  # whose label, tray and card are shown
SITS: Final = "14"  # who is on the page that shows how parts sit
DPI: Final = 90  # of the pictures of whole pages
FINER: Final = 3  # drawn so much finer and reduced, letters keep their places


def page(folder: Path, name: str, number: int) -> Image.Image:
    """Return a page of a document of the kit, `FINER` times `DPI`; pages count from 0."""
    drawn = pictures_of((folder / name).read_bytes(), name, dpi=DPI * FINER)
    return Image.fromarray(next(itertools.islice(drawn, number, None)).pixels).convert("L")


def seats_page(manifest: dict[str, Any], folder: Path) -> int:
    """Return the page of the worksheets that shows how a step sits, from 0."""
    (name,) = (each["name"] for each in manifest["bins"] if each["step"] == SITS)
    document = pypdfium2.PdfDocument((folder / "worksheets.pdf").read_bytes())
    texts = [each.get_textpage().get_text_range() for each in document]
    document.close()
    return next(number for number, text in enumerate(texts) if "WHICH WAY IT SITS" in text and name in text)


@contextmanager
def served(store: Store) -> Iterator[str]:
    """Serve a store's cards at the address given."""
    server = waitress.create_server(create_app(store), host="127.0.0.1", port=0, threads=2)
    thread = threading.Thread(target=server.run, daemon=True)
    thread.start()
    yield f"http://127.0.0.1:{server.effective_port}"
    server.close()
    thread.join(5)


def card(address: str, code: str) -> Image.Image:
    """Return what a phone shows of a card."""
    with a_browser() as browser:
        screen = browser.new_context(viewport=SIZE, device_scale_factor=2, color_scheme="light").new_page()
        screen.goto(f"{address}/{code}")
        shot = screen.screenshot()
    return Image.open(io.BytesIO(shot)).convert("RGB")


def together(pieces: list[tuple[Image.Image, tuple[int, int, int, int]]]) -> Image.Image:
    """Return pieces in their boxes (left, top, width, height), each as wide as its box and cut at its foot."""
    sheet = Image.new("RGB", (1220, 640), "white")
    for picture, (left, top, width, height) in pieces:
        piece = picture.resize((width, round(picture.height * width / picture.width)), Image.Resampling.LANCZOS)
        sheet.paste(piece.crop((0, 0, width, height)).convert("RGB"), (left, top))
        ImageDraw.Draw(sheet).rectangle((left - 1, top - 1, left + width, top + height), outline="#999")
    return sheet


def main() -> None:
    with tempfile.TemporaryDirectory() as name:
        folder, where = Path(name) / "kit", str(Path(name) / "shop.sqlite")
        os.environ["LABELKIT_STORE"] = where
        with Store(where, secret=SECRET) as store, served(store) as address:
            CliRunner().invoke(kit, [*ORDER, "--out", str(folder)], catch_exceptions=False)
            manifest = json.loads((folder / "kit.json").read_text(encoding="utf-8"))
            (shown,) = (each for each in manifest["bins"] if each["step"] == STEP)
            phone = card(address, shown["code"])
        label, steps = shown["label"], [[place["step"] for place in tray["places"]] for tray in manifest["trays"]]
        tray = next(number for number, lying in enumerate(steps) if STEP in lying)
        seats = seats_page(manifest, folder)
        shots = {
            picture: page(folder, document, number)
            for picture, document, number in (
                ("labels", "labels.pdf", label["page"] - 1),
                ("tray", "trays.pdf", tray),
                ("exploded", "exploded.pdf", 0),
                ("seats", "worksheets.pdf", seats),
            )
        }
        box = (label["x_mm"], label["y_mm"], label["x_mm"] + label["w_mm"], label["y_mm"] + label["h_mm"])
        left, top, right, bottom = (round(side * DPI * FINER / 25.4) for side in box)
        first = together(
            [
                (shots["labels"].crop((left, top, right, bottom)), (12, 12, 478, 270)),
                (shots["tray"], (512, 12, 391, 270)),
                (shots["exploded"], (12, 301, 891, 326)),
                (phone, (922, 12, 285, 615)),
            ]
        )
        for picture, shot in shots.items():
            shot.reduce(FINER).save(ROOT / "examples" / f"{picture}.png", optimize=True)
        first.quantize(128).save(ROOT / "examples" / "kit.png", optimize=True)


if __name__ == "__main__":
    main()
