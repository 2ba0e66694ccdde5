"""Simulated dirt: how many labels are read, by the decoder alone, by the ladder of steps, and by the frame.

Run by hand: python tests/bench/bench_dirt.py [--images 300]. The dirt is simulated and seeded; no real grease was
photographed. Ends with status 1 when a bar is missed.
"""

from __future__ import annotations

import argparse
import math
import sys
import time
from dataclasses import dataclass
from multiprocessing import Pool

from dirt import Scene, shoot

from labelkit.proof.decode import read_symbols
from labelkit.proof.rescue import read_label, rescued


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


def main() -> int:
    """Run all cases, print the table and return the exit status."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--images", type=int, default=300, help="pictures of each case")
    count = parser.parse_args().images
    print(f"SIMULATED dirt, {count} seeded pictures a case, 6 to 9 pixels per mm, tilt to 35 degrees, any way up")
    print("share read (of one case good to about", f"{100 / math.sqrt(count):.0f} points), ms per picture\n")
    print(f"{'case':44}{'decoder':>9}{'ladder':>9}{'+ frame':>9}{'bar':>6}{'ms':>7}{'worst':>7}  wrong texts")
    missed, wrong, dirty = [], 0, 0
    with Pool(2) as pool:
        for case in CASES:
            results = pool.map(run, [(case.scene, seed) for seed in range(count)], chunksize=8)
            plain, ladder, label = (
                sum(getattr(result, name) for result in results) for name in ("plain", "ladder", "label")
            )
            faults = sum(result.wrong for result in results)
            times = sorted(result.seconds * 1000 for result in results)
            bar = "" if case.bar is None else f"{case.bar:.0%}"
            print(
                f"{case.name:44}{plain / count:>9.1%}{ladder / count:>9.1%}{label / count:>9.1%}{bar:>6}"
                f"{sum(times) / count:>7.0f}{times[-1]:>7.0f}  {faults}",
                flush=True,
            )
            wrong += faults
            dirty += count if case.scene != Scene() else 0
            if case.bar is not None and label / count < case.bar:
                missed.append(case.name)
    print(f"\nwrong texts in {dirty} dirty pictures: {wrong} (bar: none)")
    print(f"bars missed: {', '.join(missed) or 'none'}")
    return 1 if missed or wrong else 0


if __name__ == "__main__":
    sys.exit(main())
