"""Runs one case under watch: what it raises, how long it takes, how much memory it wants; and makes it smaller."""

from __future__ import annotations

import resource
import signal
import sys
import time
import traceback
from collections.abc import Callable, Iterator
from contextlib import suppress
from dataclasses import dataclass
from pathlib import Path
from random import Random
from types import FrameType
from typing import Any, Final, NoReturn

import click

from labelkit.errors import LabelkitError

LONGEST: Final = 5.0  # s of the processor, for one case
MOST_MEMORY: Final = 500  # MB that one case may add
_ROOM: Final = 3_000_000_000  # bytes of address space: the machine is shared
_SHRINKING: Final = 25.0  # s of the processor

Case = Any  # bytes, text, numbers, lists and dicts of them


class TooLong(BaseException):
    """A case took too long; no `except Exception` of the program takes it."""


@dataclass(frozen=True)
class Target:
    """What is attacked.

    Attributes:
        name: of the target.
        make: gives a case of a random generator.
        tries: hands the case to the program; raises what it raises.
        share: of the time, beside the others.
    """

    name: str
    make: Callable[[Random], Case]
    tries: Callable[[Case], None]
    share: float = 1.0


@dataclass(frozen=True)
class Fault:
    """What broke: a key that is the same for the same fault, and the words."""

    key: str
    words: str


def limit() -> None:
    """Give this process its room, and let its processor time be counted."""
    resource.setrlimit(resource.RLIMIT_AS, (_ROOM, _ROOM))
    signal.signal(signal.SIGPROF, _stop)


def _stop(_signal: int, _frame: FrameType | None) -> NoReturn:
    raise TooLong(f"over {LONGEST} s")


def fault_of(target: Target, case: Case) -> Fault | None:
    """Return what is wrong when a target meets a case; None where it answers, or refuses in its own words."""
    with suppress(OSError):
        Path("/proc/self/clear_refs").write_text("5")  # the peak is counted from here
    before, start = _memory("VmRSS"), time.process_time()
    signal.setitimer(signal.ITIMER_PROF, LONGEST)
    try:
        target.tries(case)
    except (click.ClickException, click.exceptions.Exit, click.Abort):
        pass
    except LabelkitError as error:
        if not str(error).strip():
            return Fault("refused without a word", repr(error))
    except (Exception, TooLong) as error:
        signal.setitimer(signal.ITIMER_PROF, 0)
        return Fault(_key(error), "".join(traceback.format_exception(error)))
    finally:
        signal.setitimer(signal.ITIMER_PROF, 0)
    took, more = time.process_time() - start, _memory("VmHWM") - before
    if took > LONGEST:
        return Fault("too long", f"{took:.1f} s")
    return Fault("too much memory", f"{more} MB") if more > MOST_MEMORY else None


def _key(error: BaseException) -> str:
    """Return the kind of an error and where in the program it was raised."""
    frames = [frame for frame in traceback.extract_tb(error.__traceback__) if "/labelkit/" in frame.filename]
    last = frames[-1] if frames else None
    place = f"{Path(last.filename).name}:{last.name}:{last.line}" if last else ""
    kind = "too long" if isinstance(error, TooLong) else type(error).__name__
    return f"{kind} at {place}" if kind != "Broken" else f"{kind}: {str(error)[:60]}"


class Broken(Exception):
    """A promise that was not kept, told in words."""


def _memory(name: str) -> int:
    with suppress(OSError):
        for line in Path("/proc/self/status").read_text().splitlines():
            if line.startswith(name):
                return int(line.split()[1]) // 1024
    return 0


def smallest(target: Target, case: Case, fault: Fault) -> Case:
    """Return a case that still makes the same fault, as small as can be found in a while."""
    until = time.process_time() + _SHRINKING
    again = True
    while again:
        again = False
        for smaller in _smaller(case):
            if time.process_time() > until:
                return case
            found = fault_of(target, smaller)
            if found is not None and found.key == fault.key:
                case, again = smaller, True
                break
    return case


def _smaller(value: Case) -> Iterator[Case]:
    """Yield what is left of a value without some of it, the largest pieces first."""
    if isinstance(value, bytes | str | list):
        whole: Any = value
        step = (len(whole) + 1) // 2
        while step:
            for start in range(0, len(whole), step):
                yield whole[:start] + whole[start + step :]
            step //= 2
    if isinstance(value, list):
        for index, item in enumerate(value):
            for smaller in _smaller(item):
                yield [*value[:index], smaller, *value[index + 1 :]]
    if isinstance(value, dict):
        for key in value:
            yield {name: item for name, item in value.items() if name != key}
        for key, item in value.items():
            for smaller in _smaller(item):
                yield value | {key: smaller}


def say(words: str) -> None:
    """Print at once."""
    print(words, file=sys.stdout, flush=True)
