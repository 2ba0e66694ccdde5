"""A progress bar for work that lasts: on a terminal only, on stderr, and only after a second."""

from __future__ import annotations

import sys
import time
from collections.abc import Callable, Iterable, Iterator
from contextlib import ExitStack
from pathlib import Path
from typing import Final, TypeVar

import click

from labelkit.errors import InputError

# Work that is shorter needs no bar. Common practice, no source.
_PATIENCE: Final = 1.0

Item = TypeVar("Item")


def watched(items: Iterable[Item], *, label: str, length: Callable[[], int]) -> Iterator[Item]:
    """Yield items, and show on a terminal how many of them are done.

    Nothing may be printed to stdout before the last item is done: it would run into the bar.

    Args:
        items: what is worked at, one after the other.
        label: what stands before the bar.
        length: how many there are; asked only where a bar is shown.
    """
    if sys.stderr is None or not sys.stderr.isatty():
        yield from items
        return
    start, done = time.monotonic(), 0
    with ExitStack() as stack:
        advance: Callable[[int], None] | None = None
        for item in items:
            yield item
            done += 1
            if advance is not None:
                advance(1)
            elif time.monotonic() - start > _PATIENCE:
                bar = stack.enter_context(click.progressbar(length=length(), label=label, file=sys.stderr))
                advance = bar.update
                advance(done)


def page_count(file: Path) -> int:
    """Return how many pages a file has: those of a PDF, 1 of a picture or of what is none."""
    from labelkit.proof import raster  # the PDF renderer loads only for a bar

    try:
        return raster.page_count(file)
    except InputError:
        return 1
