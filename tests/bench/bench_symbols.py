"""How long a QR symbol takes: run by hand, `python tests/bench/bench_symbols.py [SYMBOLS]`.

The baseline runs beside it on the same addresses: qrcode's own symbol of the same segments with its own best mask.
Both results are compared in every module. Best of three rounds; the tables of a version are made before the clock
starts, as in any kit of more than a few labels, and no text is met twice in a round.
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


def timed(work: Callable[[str], Rows], texts: list[str]) -> tuple[float, list[Rows]]:
    """Return the best time for one text, in ms, and what came out."""
    best, results = float("inf"), []
    for _ in range(ROUNDS):
        segments._cut.cache_clear()  # a text that was cut before would be found again
        start = time.perf_counter()
        results = [work(text) for text in texts]
        best = min(best, time.perf_counter() - start)
    return best / len(texts) * 1000, results


def compare(start: str, level: qr.Level, count: int) -> str:
    """Return one line: version and level, ms a symbol here and with qrcode, the ratio, how many are equal."""
    texts = addresses(count, SEED, start)
    matrix = qr.encode(texts[0], level)
    ours, mine = timed(lambda text: qr.encode(text, level).rows, texts)
    theirs, other = timed(lambda text: baseline(text, level), texts)
    matrices = [qr.encode(text, level) for text in texts]
    clock = time.perf_counter()
    for one in matrices:
        qr.runs(one)
    covering = (time.perf_counter() - clock) / count * 1000
    equal = sum(a == b for a, b in zip(mine, other, strict=True))
    return (
        f"{matrix.version:>4}-{level}  {ours:9.3f}  {theirs:9.3f}  {theirs / ours:6.1f}  {equal:>6}/{count}"
        f"  {covering:9.3f}"
    )


def main() -> None:
    count = int(sys.argv[1]) if len(sys.argv) > 1 else 200
    print(f"{count} addresses a line, seed {SEED}, best of {ROUNDS} rounds, ms a symbol")
    print("symbol  labelkit     qrcode   ratio  equal       runs")
    for start, level in (
        ("http://10.0.0.5/", "H"),
        ("http://192.168.1.20:8080/", "Q"),
        ("http://192.168.1.20:8080/", "H"),
        ("http://192.168.1.20:8080/" + "A" * 120, "Q"),
    ):
        print(compare(start, level, count))


if __name__ == "__main__":
    main()
