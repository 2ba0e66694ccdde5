"""How many fits a second: the choice alone, the whole answer with its sum in words, and with several pieces.

Run by hand: python -m tests.bench.bench_fits
"""

from __future__ import annotations

import time
from collections.abc import Callable
from decimal import Decimal

from labelkit.calc.readings import USUAL_TAKING, take
from labelkit.calc.selecting import Asked, selective
from labelkit.calc.selective import Gap, Pieces, Target, graded, select
from labelkit.calc.showing import USUAL_SHOW

D = Decimal
READ = (D("1.08"), D("1.10"), D("1.12"))
RESOLUTION = D("0.01")
CALLS = 5000


def rate(what: str, call: Callable[[], object]) -> None:
    """Print how many calls a second of processor time, the best of three runs."""
    least = float("inf")
    for _ in range(3):
        start = time.process_time()
        for _ in range(CALLS):
            call()
        least = min(least, time.process_time() - start)
    print(f"{what:48}{CALLS / least:10.0f} /s")


def main() -> None:
    """Print the rates."""
    target = Target.of(D("0.40"), D("0.60"))
    one = Pieces(graded(D("2.00"), D("3.50"), D("0.15")))
    three = Pieces((D("0.10"), D("0.15"), D("0.20"), D("0.30"), D("0.50")), D("0.005"), 3)

    def answer(pieces: Pieces, fitted: Decimal) -> object:
        taken = take(READ, USUAL_TAKING, USUAL_SHOW)
        gap = Gap(taken.mean, fitted, "reduces", taken.uncertainty or D(0))
        return selective(taken, target, gap, pieces, Asked(), RESOLUTION)

    gap = Gap(D("1.10"), D("2.60"), "reduces", D("0.012"))
    rate("choice of one piece of 11", lambda: select(gap, target, one))
    rate("three readings, choice, sum in words", lambda: answer(one, D("2.60")))
    rate("the same, up to three pieces of 5", lambda: answer(three, D("0.15")))


if __name__ == "__main__":
    main()
