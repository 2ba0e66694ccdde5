"""How many fits a second: the choice alone, the whole answer with its sum in words, and with several pieces.

Run by hand: python -m tests.bench.bench_fits
"""

from __future__ import annotations

from collections.abc import Callable, Iterator
from decimal import Decimal

from labelkit.calc.readings import USUAL_TAKING, take
from labelkit.calc.selecting import Asked, selective
from labelkit.calc.selective import Gap, Pieces, Target, graded, select
from labelkit.calc.showing import USUAL_SHOW
from tests.bench.rows import Row, least

D = Decimal
READ = (D("1.08"), D("1.10"), D("1.12"))
RESOLUTION = D("0.01")
BAR = 10_000  # a second


def rows(quick: bool) -> Iterator[Row]:
    """Yield how many calls a second of processor time, the best of three runs."""
    target = Target.of(D("0.40"), D("0.60"))
    one = Pieces(graded(D("2.00"), D("3.50"), D("0.15")))
    three = Pieces((D("0.10"), D("0.15"), D("0.20"), D("0.30"), D("0.50")), D("0.005"), 3)

    def answer(pieces: Pieces, fitted: Decimal) -> object:
        taken = take(READ, USUAL_TAKING, USUAL_SHOW)
        gap = Gap(taken.mean, fitted, "reduces", taken.uncertainty or D(0))
        return selective(taken, target, gap, pieces, Asked(), RESOLUTION)

    gap = Gap(D("1.10"), D("2.60"), "reduces", D("0.012"))
    works: dict[str, Callable[[], object]] = {
        "choice of one piece of 11": lambda: select(gap, target, one),
        "three readings, choice, sum in words": lambda: answer(one, D("2.60")),
        "the same, up to three pieces of 5": lambda: answer(three, D("0.15")),
    }
    calls = 500 if quick else 5000
    for what, call in works.items():
        seconds, _ = least(lambda call=call: [call() for _ in range(calls)])  # type: ignore[misc]
        yield Row(what, calls / seconds, "a second", BAR, ">=", f"{calls:,} fits, best of 3, processor time")


def main() -> None:
    """Print the rates."""
    for row in rows(quick=False):
        print(f"{row.name:56}{row.measured:>20}  {row.verdict}")


if __name__ == "__main__":
    main()
