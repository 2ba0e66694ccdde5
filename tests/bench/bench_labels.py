"""Label sheets: against the naive way, ten times as many, ten thousand, and the whole command.

Run by hand: python -m tests.bench.bench_labels
"""

from __future__ import annotations

import io
import os
import resource
import subprocess
import sys
import tempfile
import time
from collections.abc import Iterator
from pathlib import Path

import qrcode
from reportlab.lib.units import mm
from reportlab.lib.utils import ImageReader
from reportlab.pdfgen.canvas import Canvas

from labelkit.calc.codes import make_code
from labelkit.drawing.page import Item, Page, Symbol
from labelkit.drawing.symbol import fit_symbol
from labelkit.drawing.text import line
from labelkit.load.stock import PRINTABLE, find_stock
from labelkit.render import write
from labelkit.sheets.kit import label_texts
from labelkit.sheets.labels import LabelSheets
from tests.shop import SECRET, profile_of, view_of

WIDTH, HEIGHT, COLUMNS, ROWS = 210.0, 297.0, 3, 8
SIDE = 20.0


def texts(count: int) -> list[tuple[str, list[str]]]:
    """Return what each label says: the symbol's text and its lines."""
    return [
        (f"http://192.168.1.20:8080/{make_code(SECRET, k)}", [f"{k + 1}", f"Part number {k}", "LIP DOWN", "6:00"])
        for k in range(count)
    ]


def ours(labels: list[tuple[str, list[str]]]) -> bytes:
    """Print with labelkit's pages and writer."""

    def pages() -> Iterator[Page]:
        for start in range(0, len(labels), COLUMNS * ROWS):
            items: list[Item] = []
            for place, (text, lines) in enumerate(labels[start : start + COLUMNS * ROWS]):
                x, y = place % COLUMNS * 70.0 + 4, place // COLUMNS * 37.0 + 4
                plan = fit_symbol(text, side=SIDE, dpi=600)
                items.append(Symbol(x, y, plan.matrix, plan.module, plan.frame, text))
                items += [line(words, x + 24, y + 6 + 7 * k, 6.0, "bold") for k, words in enumerate(lines)]
            yield Page(WIDTH, HEIGHT, tuple(items))

    stream = io.BytesIO()
    write(pages(), ".pdf", stream, title="bench")
    return stream.getvalue()


def naive(labels: list[tuple[str, list[str]]]) -> bytes:
    """Print the usual way: the encoder's picture, placed with drawImage."""
    stream = io.BytesIO()
    canvas = Canvas(stream, (WIDTH * mm, HEIGHT * mm), invariant=1)
    for number, (text, lines) in enumerate(labels):
        place = number % (COLUMNS * ROWS)
        if number and not place:
            canvas.showPage()
        x, y = place % COLUMNS * 70.0 + 4, HEIGHT - (place // COLUMNS * 37.0 + 4)
        code = qrcode.QRCode(error_correction=qrcode.constants.ERROR_CORRECT_Q, border=4)
        code.add_data(text)
        code.make()
        picture = code.make_image().get_image()
        canvas.drawImage(ImageReader(picture), x * mm, (y - SIDE) * mm, SIDE * mm, SIDE * mm)
        canvas.setFont("Helvetica-Bold", 17)
        for k, words in enumerate(lines):
            canvas.drawString((x + 24) * mm, (y - 6 - 7 * k) * mm, words)
    canvas.save()
    return stream.getvalue()


def timed(work: object, *given: object) -> tuple[float, bytes]:
    """Return the best of three runs in seconds, and the result."""
    best, result = float("inf"), b""
    for _ in range(3):
        start = time.perf_counter()
        result = work(*given)  # type: ignore[operator]
        best = min(best, time.perf_counter() - start)
    return best, result


def labels_of(count: int) -> tuple[float, int]:
    """Print full labels of an invented unit with that many parts; return seconds and bytes."""
    parts = "\n".join(
        f"- {{id: p-{k}, name: Part {k} of the unit, form: {{ring: {{od: 72, id: 50, t: 4}}}}, "
        f"sits: {{up: ground face}}}}"
        for k in range(count)
    )
    loaded = profile_of(f"format: 1\nunit: {{mark: BENCH, name: Bench, up: top}}\nparts:\n{parts}\n")
    view = view_of(loaded)
    bins = view.teardown.bins
    start = time.perf_counter()
    sheets = LabelSheets(
        view, bins, find_stock("a4-3x8-70x37", PRINTABLE), texts=label_texts(view, bins, offline=False)
    )
    stream = io.BytesIO()
    write(sheets.pages(), ".pdf", stream, title="bench")
    return time.perf_counter() - start, len(stream.getvalue())


def whole_command() -> list[float]:
    """Return the wall seconds of five cold `labelkit kit` runs for the reducer."""
    seconds = []
    with tempfile.TemporaryDirectory() as folder:
        environment = os.environ | {"LABELKIT_STORE": str(Path(folder) / "store.sqlite")}
        command = [sys.executable, "-m", "labelkit", "kit", "planetary-reducer", "--out", str(Path(folder) / "kit")]
        for _ in range(6):
            start = time.perf_counter()
            subprocess.run(command, check=True, capture_output=True, env=environment)
            seconds.append(time.perf_counter() - start)
    return sorted(seconds[1:])


def main() -> None:
    """Print the table."""
    ours(texts(24))
    naive(texts(24))
    for count in (100, 1000):
        labels = texts(count)
        fast, small = timed(ours, labels)
        slow, large = timed(naive, labels) if count == 100 else _once(naive, labels)
        print(f"{count} symbols with text: {fast:.3f} s, {len(small)} B; naive {slow:.3f} s, {len(large)} B")
        print(f"  {slow / fast:.1f} times faster, {len(large) / len(small):.1f} times smaller")
    labels_of(60)
    few, size = labels_of(600)
    many, _ = labels_of(6000)
    print(f"full labels: 600 in {few:.2f} s, {size / 600:.0f} B each; 6,000 in {many:.2f} s: {many / few:.1f} times")
    ten_thousand, _ = labels_of(10_000)
    peak = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1024
    print(f"10,000 full labels: {ten_thousand:.1f} s, peak of this process {peak:.0f} MB")
    print("labelkit kit, cold, wall s: " + " ".join(f"{seconds:.2f}" for seconds in whole_command()))


def _once(work: object, labels: list[tuple[str, list[str]]]) -> tuple[float, bytes]:
    start = time.perf_counter()
    result: bytes = work(labels)  # type: ignore[operator]
    return time.perf_counter() - start, result


if __name__ == "__main__":
    main()
