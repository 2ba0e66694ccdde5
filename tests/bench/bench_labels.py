"""Label sheets: against the naive way, ten times as many, and ten thousand.

Run by hand: python -m tests.bench.bench_labels
"""

from __future__ import annotations

import io
import resource
import time
from collections.abc import Callable, Iterator

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
from tests.bench.rows import Row
from tests.shop import SECRET, profile_of, view_of

WIDTH, HEIGHT, COLUMNS, ROWS = 210.0, 297.0, 3, 8
SIDE = 20.0
TIMES_FASTER, TIMES_SMALLER = 12.0, 15.0  # at least, of a thousand labels
PEAK = 300.0  # MB


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


def timed(work: Callable[[], bytes], times: int) -> tuple[float, bytes]:
    """Return the best of some runs in seconds, and the result."""
    best, result = float("inf"), b""
    for _ in range(times):
        start = time.perf_counter()
        result = work()
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


def against_naive(count: int) -> Iterator[Row]:
    """Yield how much faster and smaller a sheet of symbols with text is than the naive one."""
    labels = texts(count)
    bars = (TIMES_FASTER, TIMES_SMALLER) if count >= 1000 else (None, None)
    fast, small = timed(lambda: ours(labels), 3)
    slow, large = timed(lambda: naive(labels), 1)
    sample = f"{count:,} symbols with text, {fast:.2f} s, {len(small):,} B"
    yield Row("times faster than placed pictures", slow / fast, "", bars[0], ">=", sample)
    yield Row("times smaller than placed pictures", len(large) / len(small), "", bars[1], ">=", sample)


def rows(quick: bool) -> Iterator[Row]:
    """Yield the rows of the benchmark table; the peak is that of this process."""
    ours(texts(24))
    naive(texts(24))
    yield from against_naive(100 if quick else 1000)
    labels_of(60)
    counts = (60, 600) if quick else (600, 6000)
    (few, size), (many, _) = (labels_of(count) for count in counts)
    sample = f"{counts[0]:,} full labels in {few:.2f} s, {size / counts[0]:.0f} B each, {counts[1]:,} in {many:.2f} s"
    yield Row("ten times as many take so many times as long", many / few, sample=sample)
    count = 1000 if quick else 10_000
    seconds, _ = labels_of(count)
    peak = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1024
    yield Row("peak memory", peak, "MB", PEAK, sample=f"{count:,} full labels in {seconds:.1f} s")


def main() -> None:
    """Print the rows."""
    for row in rows(quick=False):
        print(f"{row.name:56}{row.measured:>10}  {row.verdict:8}{row.sample}")


if __name__ == "__main__":
    main()
