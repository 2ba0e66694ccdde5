"""The whole command, from the shell and back: the kit of the reducer, with a new store and a new folder each time.

Run by hand: python -m tests.bench.bench_kit [PYTHON]. PYTHON is the interpreter of another installation of labelkit;
its build decides much. Compiled files are there, as after the first run of an installed labelkit.
"""

from __future__ import annotations

import os
import subprocess
import sys
import tempfile
import time
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from pathlib import Path
from statistics import median

from tests.bench.rows import Row

UNIT = "planetary-reducer"
BAR = 1.5  # s of wall time
ORDERS = {"labels, trays, cards": ("--only", "labels,trays,cards"), "all documents": ()}
VARIABLE = "LABELKIT_BENCH_PYTHON"


@dataclass(frozen=True, slots=True)
class Run:
    """Seconds of one run: by the clock, and of the processor."""

    wall: float
    cpu: float


def once(python: str, options: Sequence[str]) -> Run:
    """Make the kit once."""
    with tempfile.TemporaryDirectory() as folder:
        environ = {name: value for name, value in os.environ.items() if name != "PYTHONDONTWRITEBYTECODE"}
        environ["LABELKIT_STORE"] = str(Path(folder) / "store.sqlite")
        command = [python, "-m", "labelkit", "kit", UNIT, "--out", str(Path(folder) / "kit"), *options]
        start = time.perf_counter()
        # Its own directory: what is installed is run, not what happens to lie here.
        running = subprocess.Popen(
            command, cwd=folder, env=environ, stdout=subprocess.DEVNULL, stderr=subprocess.DEVNULL
        )
        _, status, used = os.wait4(running.pid, 0)
        running.returncode = os.waitstatus_to_exitcode(status)
        wall = time.perf_counter() - start
    if running.returncode:
        raise SystemExit(f"{' '.join(command)}: ended with {running.returncode}")
    return Run(wall, used.ru_utime + used.ru_stime)


def rows_of(python: str, times: int) -> Iterator[Row]:
    """Yield the rows of one interpreter."""
    for what, options in ORDERS.items():
        once(python, options)  # writes compiled files where there are none
        runs = [once(python, options) for _ in range(times)]
        walls, cpus = sorted(run.wall for run in runs), sorted(run.cpu for run in runs)
        sample = f"{UNIT}, {what}, {times} runs, {walls[0]:.2f} to {walls[-1]:.2f} s, {python}"
        yield Row("wall time, median", median(walls), "s", BAR if options else None, sample=sample)
        yield Row("processor time, median", median(cpus), "s", sample=f"{what}, least {cpus[0]:.2f} s")


def rows(quick: bool) -> Iterator[Row]:
    """Yield the rows of the benchmark table; LABELKIT_BENCH_PYTHON names another interpreter."""
    yield from rows_of(os.environ.get(VARIABLE) or sys.executable, 3 if quick else 15)


def main() -> None:
    """Print the rows."""
    for row in rows_of(sys.argv[1] if len(sys.argv) > 1 else sys.executable, 15):
        print(f"{row.name:30}{row.measured:>10}  {row.verdict:8}{row.sample}")


if __name__ == "__main__":
    main()
