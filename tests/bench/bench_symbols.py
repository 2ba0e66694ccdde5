"""How long a QR symbol takes: run by hand, `python -m tests.bench.bench_symbols [SYMBOLS]`.

The baseline runs beside it on the same addresses: qrcode's own symbol of the same segments with its own best mask.
Both results are compared in every module. Processor time, best of three rounds; the tables of a version are made
before the clock starts, as in any kit of more than a few labels, and no text is met twice in a round.
"""

from __future__ import annotations

import random
import sys
import time
from collections.abc import Callable, Iterator
from dataclasses import dataclass

import qrcode
from qrcode import util

from labelkit.drawing import qr, segments
from tests.bench.rows import Row

SEED = 20
ROUNDS = 3
TIMES_FASTER = 8.0  # at least
CODE_LETTERS = "0123456789ABCDEFGHJKMNPQRSTVWXYZ"
QRCODE_LEVEL = {
    "L": qrcode.ERROR_CORRECT_L,
    "M": qrcode.ERROR_CORRECT_M,
    "Q": qrcode.ERROR_CORRECT_Q,
    "H": qrcode.ERROR_CORRECT_H,
}
QRCODE_MODE = {"numeric": util.MODE_NUMBER, "alphanumeric": util.MODE_ALPHA_NUM, "byte": util.MODE_8BIT_BYTE}

KINDS: tuple[tuple[str, qr.Level], ...] = (
    ("http://10.0.0.5/", "H"),
    ("http://192.168.1.20:8080/", "Q"),
    ("http://192.168.1.20:8080/", "H"),
    ("http://192.168.1.20:8080/" + "A" * 120, "Q"),
)

Rows = tuple[int, ...]


def addresses(count: int, seed: int, start: str) -> list[str]:
    """Return as many different addresses of cards."""
    rng = random.Random(seed)
    return [start + "".join(rng.choices(CODE_LETTERS, k=11)) for _ in range(count)]


def baseline(text: str, level: qr.Level) -> Rows:
    """Return the rows of qrcode's own symbol of the same segments, in the same version, with its best mask."""
    version = qr.smallest_version(text, level)
    symbol = qrcode.QRCode(version, QRCODE_LEVEL[level])
    for mode, data in segments.segments(text, version):
        symbol.add_data(util.QRData(data, mode=QRCODE_MODE[mode]))
    symbol.make(fit=False)
    return tuple(int("".join("1" if dark else "0" for dark in row), 2) for row in symbol.modules)


def timed(work: Callable[[str], object], texts: list[str]) -> float:
    """Return the processor time of one text, in ms."""
    segments._cut.cache_clear()  # a text that was cut before would be found again
    start = time.process_time()
    for text in texts:
        work(text)
    return (time.process_time() - start) / len(texts) * 1000


@dataclass(frozen=True, slots=True)
class Compared:
    """A kind of symbols: version and level, how many are unlike qrcode's; ms of one here, with qrcode, of its runs."""

    name: str
    unlike: int
    ours: float
    theirs: float
    covering: float


def compare(start: str, level: qr.Level, count: int) -> Compared:
    """Make so many symbols of one kind of address in both ways."""
    texts = addresses(count, SEED, start)
    matrices = {text: qr.encode(text, level) for text in texts}
    unlike = sum(matrices[text].rows != baseline(text, level) for text in texts)
    works = (
        lambda text: qr.encode(text, level),
        lambda text: baseline(text, level),
        lambda text: qr.runs(matrices[text]),
    )
    rounds = [[timed(work, texts) for work in works] for _ in range(ROUNDS)]  # in turn: a busy machine slows all
    return Compared(
        f"{matrices[texts[0]].version}-{level}", unlike, *(min(times) for times in zip(*rounds, strict=True))
    )


def rows(quick: bool) -> Iterator[Row]:
    """Yield the rows of the benchmark table."""
    count = 20 if quick else 200
    kinds = [compare(start, level, count) for start, level in KINDS]
    for each in kinds:
        sample = f"{count} symbols of version {each.name}, {each.ours:.3f} ms each, best of {ROUNDS}"
        faster = each.theirs / each.ours
        yield Row("times faster than qrcode's best mask", faster, "", TIMES_FASTER, ">=", sample)
    sample = f"{count * len(kinds)} symbols"
    yield Row("unlike qrcode's in a module", sum(each.unlike for each in kinds), bar=0, sample=sample)


def main() -> None:
    """Print a line for each kind of address."""
    count = int(sys.argv[1]) if len(sys.argv) > 1 else 200
    print(f"{count} addresses a line, seed {SEED}, best of {ROUNDS} rounds, processor ms a symbol")
    print("symbol  labelkit     qrcode   ratio  unlike       runs")
    for start, level in KINDS:
        found = compare(start, level, count)
        print(
            f"{found.name:>6}  {found.ours:8.3f}  {found.theirs:9.3f}  {found.theirs / found.ours:6.1f}"
            f"  {found.unlike:>6}  {found.covering:9.3f}"
        )


if __name__ == "__main__":
    main()
