"""How long a QR symbol takes: run by hand, `python tests/bench/bench_symbols.py [SYMBOLS]`.

The baseline runs beside it on the same addresses: qrcode's own symbol of the same segments with its own best mask.
Both results are compared in every module. Processor time, best of three rounds; the tables of a version are made
before the clock starts, as in any kit of more than a few labels, and no text is met twice in a round.
"""

from __future__ import annotations

import random
import sys
import time
from collections.abc import Callable

import qrcode
from qrcode import util

from labelkit.drawing import qr, segments

SEED = 20
ROUNDS = 3
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


def compare(start: str, level: qr.Level, count: int) -> str:
    """Return one line: version and level, ms a symbol here and with qrcode, the ratio, how many are equal, runs."""
    texts = addresses(count, SEED, start)
    matrices = {text: qr.encode(text, level) for text in texts}
    equal = sum(matrices[text].rows == baseline(text, level) for text in texts)
    works = (
        lambda text: qr.encode(text, level),
        lambda text: baseline(text, level),
        lambda text: qr.runs(matrices[text]),
    )
    rounds = [[timed(work, texts) for work in works] for _ in range(ROUNDS)]  # in turn: a busy machine slows all
    ours, theirs, covering = (min(times) for times in zip(*rounds, strict=True))
    return (
        f"{matrices[texts[0]].version:>4}-{level}  {ours:9.3f}  {theirs:9.3f}  {theirs / ours:6.1f}"
        f"  {equal:>6}/{count}  {covering:9.3f}"
    )


def main() -> None:
    """Print a line for each kind of address."""
    count = int(sys.argv[1]) if len(sys.argv) > 1 else 200
    print(f"{count} addresses a line, seed {SEED}, best of {ROUNDS} rounds, processor ms a symbol")
    print("symbol  labelkit     qrcode   ratio  equal       runs")
    for start, level in KINDS:
        print(compare(start, level, count))


if __name__ == "__main__":
    main()
