"""Simulated dirt: how many labels are read, by the decoder alone, by the ladder of steps, and by the frame.

Run by hand: python -m tests.bench.bench_dirt [--images 300]. The dirt is simulated and seeded; no real grease was
photographed.
"""

from __future__ import annotations

import argparse
import math
import os
import time
from collections.abc import Iterator
from dataclasses import dataclass
from multiprocessing import Pool
from statistics import mean

from labelkit.proof.decode import read_symbols
from labelkit.proof.rescue import rescued
from tests.bench.dirt import Scene, read_label, shoot
from tests.bench.rows import Row


@dataclass(frozen=True)
class Case:
    name: str
    scene: Scene
    bar: float | None = None  # least share that has to be read


CASES = (
    Case("no dirt", Scene(), 0.99),
    Case("spatter 5 %", Scene(spatter=0.05), 0.95),
    Case("spatter 10 %", Scene(spatter=0.10)),
    Case("smear 10 %", Scene(smear=0.10), 0.90),
    Case("smear 15 %", Scene(smear=0.15)),
    Case("two symbols, two smears", Scene(strokes=2, symbols=2), 0.95),
    Case("spatter 5 %, neighbours, letters touching", Scene(spatter=0.05, neighbours=True, touching=True), 0.95),
    Case("smear 10 %, neighbours, letters touching", Scene(smear=0.10, neighbours=True, touching=True), 0.90),
)


@dataclass(frozen=True)
class Result:
    plain: bool
    ladder: bool
    label: bool
    wrong: int
    seconds: float


def run(job: tuple[Scene, int]) -> Result:
    """Read one picture in every way; a text that is on none of its labels is wrong, whoever read it."""
    shot = shoot(*job)
    plain = [symbol.text for symbol in read_symbols(shot.image, thorough=False)]
    ladder = [symbol.text for symbol in read_symbols(shot.image, thorough=True)]
    frames = [symbol.text for symbol in rescued(shot.image)]
    start = time.perf_counter()
    label = [symbol.text for symbol in read_label(shot.image)]
    seconds = time.perf_counter() - start
    right = {shot.text, *shot.others}
    wrong = sum(text not in right for text in (*plain, *ladder, *frames, *label))
    # The label in the middle of the view counts; with neighbours in view, reading another label first is no fault.
    found = shot.text in label or shot.text in frames
    return Result(shot.text in plain, shot.text in ladder, found, wrong, seconds)


@dataclass(frozen=True)
class Found:
    """What became of the pictures of a case: the shares read by each way, wrong texts, and seconds of each picture."""

    case: Case
    decoder: float
    ladder: float
    label: float
    wrong: int
    seconds: list[float]


def measured(count: int) -> Iterator[Found]:
    """Shoot and read so many pictures of each case."""
    with Pool(os.cpu_count()) as pool:
        for case in CASES:
            results = pool.map(run, [(case.scene, seed) for seed in range(count)], chunksize=8)
            plain, ladder, label = (
                sum(getattr(result, name) for result in results) / count for name in ("plain", "ladder", "label")
            )
            wrong = sum(result.wrong for result in results)
            yield Found(case, plain, ladder, label, wrong, sorted(result.seconds for result in results))


def rows(quick: bool) -> Iterator[Row]:
    """Yield the rows of the benchmark table."""
    count = 16 if quick else 300
    wrong = dirty = 0
    for found in measured(count):
        name = f"simulated, read: {found.case.name}"
        sample = f"{count} pictures, {found.decoder:.0%} by the decoder alone, mean {mean(found.seconds) * 1000:.0f} ms"
        yield Row(name, found.label * 100, "%", found.case.bar and found.case.bar * 100, ">=", sample)
        wrong += found.wrong
        dirty += count if found.case.scene != Scene() else 0
    yield Row("simulated, wrong texts", wrong, bar=0, sample=f"{dirty:,} dirty pictures (the bar: 2,000)")


def main() -> None:
    """Run all cases and print the table."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--images", type=int, default=300, help="pictures of each case")
    count = parser.parse_args().images
    print(f"SIMULATED dirt, {count} seeded pictures a case, 6 to 9 pixels per mm, tilt to 35 degrees, any way up")
    print("share read (of one case good to about", f"{100 / math.sqrt(count):.0f} points), ms per picture\n")
    print(f"{'case':44}{'decoder':>9}{'ladder':>9}{'+ frame':>9}{'bar':>6}{'ms':>7}{'worst':>7}  wrong texts")
    for found in measured(count):
        bar = "" if found.case.bar is None else f"{found.case.bar:.0%}"
        print(
            f"{found.case.name:44}{found.decoder:>9.1%}{found.ladder:>9.1%}{found.label:>9.1%}{bar:>6}"
            f"{mean(found.seconds) * 1000:>7.0f}{found.seconds[-1] * 1000:>7.0f}  {found.wrong}",
            flush=True,
        )


if __name__ == "__main__":
    main()
