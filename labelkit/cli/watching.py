"""Which files were saved since they were last looked at, for commands that look again."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence
from pathlib import Path
from typing import Final

PAUSE: Final = 0.5
"""Seconds between two looks; a save is answered before the hand is back on the keys."""

_Stamp = tuple[int, int, int] | None
"""What changes when a file is saved: time, size, and the file itself, as editors put a new one in its place."""


def _stamp(path: Path | None) -> _Stamp:
    """Return what a file is now; None where there is none."""
    try:
        found = path.stat() if path else None
    except OSError:
        return None
    return (found.st_mtime_ns, found.st_size, found.st_ino) if found else None


def saves(names: Sequence[str], find: Callable[[str], Path | None], pause: Callable[[], None]) -> Iterator[list[str]]:
    """Yield the names whose files have changed, as often as some have: saved, put in place or gone.

    A file is stamped before it is yielded, so that what is saved while it is being read is seen at the next look.

    Args:
        names: as they were given.
        find: the file of a name, which may be another one each time; None where there is none.
        pause: waits before each look; whoever wants to end raises from it.
    """
    last = {name: _stamp(find(name)) for name in names}
    while True:
        pause()
        now = {name: _stamp(find(name)) for name in names}
        changed = [name for name in names if now[name] != last[name]]
        last = now
        if changed:
            yield changed
