"""The hostile evening: everything that reads what comes from outside is handed what nobody sends by mistake.

Run by hand: python -m tests.bench.hostile [MINUTES] [SEED] [--only NAME ...] [--keep FOLDER]
             python -m tests.bench.hostile --again FILE

The time is divided over the targets of `tests.bench.hostility`. An error in the program's own words is right; any
other, more than 5 s of the processor or 500 MB for one case, and a promise that is not kept (a refused form that
changed the record, a profile that was written and does not load) is a fault. Each fault is made as small as can be in a
while and saved. The same seed tries the same cases, as many as the time allows: case N of a target depends on nothing
but seed, target and N. A target runs in a process of its own, so that one that dies is told, too.
"""

from __future__ import annotations

import argparse
import logging
import multiprocessing
import pickle
import time
import warnings
from collections import Counter
from collections.abc import Sequence
from multiprocessing.connection import Connection
from pathlib import Path
from random import Random

from tests.bench.hostility import loader, pages, pictures, scans, sums, tables, units
from tests.bench.hostility.watch import Target, fault_of, limit, say, smallest

TARGETS: Sequence[Target] = (
    *loader.TARGETS,
    *units.TARGETS,
    *tables.TARGETS,
    *scans.TARGETS,
    *pictures.TARGETS,
    *pages.TARGETS,
    *sums.TARGETS,
)


def attack(target: Target, minutes: float, seed: int, keep: Path, told: Connection | None = None) -> None:
    """Try cases of a target for a while, print what broke, save it, and send how many were tried."""
    limit()
    warnings.simplefilter("error")
    logging.disable()
    keep.mkdir(parents=True, exist_ok=True)
    current = keep / f"{_file(target)}.current"
    faults: Counter[str] = Counter()
    until, count = time.monotonic() + minutes * 60, 0
    while time.monotonic() < until:
        case = target.make(Random(f"{seed} {target.name} {count}"))
        current.write_bytes(pickle.dumps((target.name, case)))
        found = fault_of(target, case)
        count += 1
        if found is None:
            continue
        faults[found.key] += 1
        if faults[found.key] == 1:
            small = smallest(target, case, found)
            name = f"{_file(target)}-{seed}-{count - 1}"
            (keep / f"{name}.case").write_bytes(pickle.dumps((target.name, small)))
            last = fault_of(target, small) or found
            (keep / f"{name}.txt").write_text(f"{found.key}\n\n{small!r}\n\n{last.words}", errors="backslashreplace")
            say(f"  {target.name}, case {count - 1}: {found.key}; {keep / name}.txt")
    current.unlink()
    if told is not None:
        told.send((count, dict(faults), time.process_time() / 60))


def _file(target: Target) -> str:
    return "".join(letter if letter.isalnum() else "-" for letter in target.name)


def main() -> None:
    """Attack every target in its turn, and print one line for each."""
    parser = argparse.ArgumentParser(prog="python -m tests.bench.hostile", description=__doc__)
    parser.add_argument("minutes", nargs="?", type=float, default=60.0)
    parser.add_argument("seed", nargs="?", type=int, default=1)
    names = [target.name for target in TARGETS]
    parser.add_argument("--only", nargs="+", metavar="NAME", choices=names, help=", ".join(names))
    parser.add_argument("--keep", type=Path, default=Path("hostile-cases"), help="folder for the cases that broke")
    parser.add_argument("--again", type=Path, metavar="FILE", help="try one case that was saved, in this process")
    given = parser.parse_args()
    if given.again:
        name, case = pickle.loads(given.again.read_bytes())
        _named(name).tries(case)
        return
    chosen = [target for target in TARGETS if not given.only or target.name in given.only]
    whole = sum(target.share for target in chosen)
    spawning = multiprocessing.get_context("spawn")
    for target in chosen:
        minutes = given.minutes * target.share / whole
        ours, theirs = spawning.Pipe(duplex=False)
        alone = spawning.Process(target=_by_name, args=(target.name, minutes, given.seed, given.keep, theirs))
        alone.start()
        theirs.close()
        alone.join()
        if alone.exitcode or not ours.poll():
            say(f"{target.name}: the process died ({alone.exitcode}); see {given.keep / _file(target)}.current")
            continue
        count, faults, used = ours.recv()
        broke = "; ".join(f"{key} ({times} times)" for key, times in faults.items()) or "nothing"
        say(f"{target.name}: {count} cases in {minutes:.1f} minutes, {used:.1f} of the processor; broke: {broke}")


def _by_name(name: str, minutes: float, seed: int, keep: Path, told: Connection) -> None:
    attack(_named(name), minutes, seed, keep, told)


def _named(name: str) -> Target:
    return next(target for target in TARGETS if target.name == name)


if __name__ == "__main__":
    main()
