"""The benchmark table: `python -m tests.bench [NAME ...]` measures everything, or what is named, and prints Markdown.

Each benchmark runs in a process of its own. A bar that is missed is printed and fails nothing: figures depend on the
machine, which the head of the table names. Nothing else should run beside it.
"""

from __future__ import annotations

import argparse
import multiprocessing
import os
import platform
import sys
import sysconfig
import time
import traceback
from concurrent.futures import ProcessPoolExecutor
from datetime import UTC, datetime
from pathlib import Path
from typing import Final

from tests.bench.rows import figure, lines, rows_of

BENCHMARKS: Final = (
    "symbols",
    "labels",
    "prints",
    "dirt",
    "trays",
    "kit",
    "exploded",
    "orders",
    "fits",
    "worksheets",
    "hints",
    "record",
    "app",
)


def head(quick: bool) -> list[str]:
    """Return when and where the figures were measured."""
    built = "--enable-optimizations" in (sysconfig.get_config_var("CONFIG_ARGS") or "")
    build = "configured with --enable-optimizations" if built else "not configured with --enable-optimizations"
    model = _value("/proc/cpuinfo", "model name") or platform.processor() or platform.machine()
    memory = int((_value("/proc/meminfo", "MemTotal") or "0").split()[0]) / 1024**2
    return [
        f"{datetime.now(UTC):%Y-%m-%d %H:%M} UTC, {os.cpu_count()} cores ({model}), {memory:.0f} GB, "
        f"{platform.system()} {platform.release()}",
        f"{platform.python_implementation()} {platform.python_version()} ({sys.executable}), {build}; "
        f"ten million additions take {_additions():.2f} s; load of other work {os.getloadavg()[0]:.1f}",
        "a small sample of everything" if quick else "the usual sample of everything",
    ]


def _additions() -> float:
    """Return how long a loop takes, s: what the build of the interpreter and the machine come to."""
    start, total = time.process_time(), 0
    for each in range(10_000_000):
        total += each
    return time.process_time() - start


def _value(file: str, key: str) -> str:
    """Return the value of a key in one of Linux's files of facts; empty elsewhere."""
    path = Path(file)
    found = (line.partition(":") for line in (path.read_text().splitlines() if path.is_file() else ()))
    return next((value.strip() for name, _, value in found if name.strip() == key), "")


def main() -> None:
    """Measure and print, each benchmark as soon as it is done."""
    parser = argparse.ArgumentParser(prog="python -m tests.bench", description=__doc__)
    parser.add_argument("names", nargs="*", metavar="NAME", help=f"which benchmarks: {', '.join(BENCHMARKS)}")
    parser.add_argument("--quick", action="store_true", help="a small sample, to see that everything still runs")
    given = parser.parse_args()
    if wrong := [name for name in given.names if name not in BENCHMARKS]:
        parser.error(f"there is no benchmark {wrong[0]}; allowed: {', '.join(BENCHMARKS)}")
    print("\n\n".join(head(given.quick)))
    print("\n| benchmark | figure | measured | bar | | of |\n|---|---|---|---|---|---|", flush=True)
    missed: list[str] = []
    for name in given.names or BENCHMARKS:
        start = time.perf_counter()
        print(f"{name} ...", file=sys.stderr, flush=True)
        # A process of its own: its peak of memory, and what it keeps, are no other benchmark's.
        with ProcessPoolExecutor(1, multiprocessing.get_context("spawn")) as alone:
            try:
                found = alone.submit(rows_of, name, given.quick).result()
            except Exception as error:
                traceback.print_exc()
                print(f"| {name} | could not be measured: {' '.join(str(error).split())[:160]} | | | | |", flush=True)
                continue
        print(*lines(name, found), sep="\n", flush=True)
        missed += [f"{name}: {row.name}" for row in found if row.verdict == "MISSED"]
        print(f"{name}: {figure(time.perf_counter() - start)} s", file=sys.stderr, flush=True)
    print(f"\nBars missed: {'; '.join(missed) or 'none'}.")


if __name__ == "__main__":
    main()
