"""A folder of results that is either the old one or the complete new one, whatever happens in between."""

from __future__ import annotations

import ctypes
import errno
import os
import shutil
import sys
import tempfile
from collections.abc import Callable, Iterator, Mapping
from contextlib import contextmanager
from pathlib import Path
from typing import Final

from labelkit.errors import OutputError

_AT_FDCWD: Final = -100
_EXCHANGE: Final = 2


@contextmanager
def replacing(out: Path) -> Iterator[Callable[[Mapping[str, bytes]], None]]:
    """Fill a new folder inside the block; put it in the place of `out`, in one step, when the block ends.

    Gives the function that writes all files to the disk, beside `out`. What the block does after calling it happens
    while the new folder is complete and the old one still in its place; a block that is left by an exception, or that
    filled nothing, leaves the old one there.

    On Linux the old and the new folder change places in one system call. Elsewhere the old one is moved aside first;
    if the run dies in that moment, `recover` at the next run puts it back.

    Args:
        out: the folder; it may exist, or be a link to where it is or shall be.

    Raises:
        OutputError: cannot be written (no right, no space); `out` is as it was before.
    """
    made: list[Path] = []
    place = _place(out)

    def fill(files: Mapping[str, bytes]) -> None:
        with _told(out):
            if os.path.ismount(place):
                raise OSError(errno.EBUSY, "it is the place of another disk; name a folder inside it")
            if place == Path.cwd():
                raise OSError(errno.EBUSY, "you are in it, and it is replaced as a whole; name another folder")
            place.parent.mkdir(parents=True, exist_ok=True)
            made.append(Path(tempfile.mkdtemp(prefix=f".{place.name}.", suffix=".new", dir=place.parent)))
            made[-1].chmod(0o777 & ~_umask())
            _write(made[-1], files)

    try:
        yield fill
        with _told(out):
            for fresh in made:
                _put(fresh, place)
    finally:
        for fresh in made:
            shutil.rmtree(fresh, ignore_errors=True)


def _write(folder: Path, files: Mapping[str, bytes]) -> None:
    for name, content in files.items():
        (folder / name).parent.mkdir(parents=True, exist_ok=True)
        with (folder / name).open("wb") as stream:
            stream.write(content)
            stream.flush()
            os.fsync(stream.fileno())


def _put(fresh: Path, out: Path) -> None:
    """Put the new folder in its place; the old one is gone afterwards."""
    if not out.exists():
        fresh.rename(out)
    elif not _exchanged(fresh, out):
        aside = _aside(out)
        out.rename(aside)
        fresh.rename(out)
        shutil.rmtree(aside)


@contextmanager
def _told(out: Path) -> Iterator[None]:
    try:
        yield
    except OSError as error:
        recover(out)
        raise OutputError(
            f"{out}: cannot be written: {error.strerror or error}; what was there is untouched"
        ) from error


def recover(out: Path) -> None:
    """Finish or undo an exchange that was cut short: a folder moved aside goes back when its place is empty."""
    place = _place(out)
    aside = _aside(place)
    # Where nothing may be looked at, nothing can have been left; writing there will say so.
    if os.path.exists(aside):
        if place.exists():
            shutil.rmtree(aside, ignore_errors=True)
        else:
            aside.rename(place)


def _place(out: Path) -> Path:
    """Return where a folder is or shall be, links followed."""
    return Path(os.path.realpath(out))


def _aside(out: Path) -> Path:
    return out.parent / f".{out.name}.old"


def _umask() -> int:
    mask = os.umask(0)
    os.umask(mask)
    return mask


def _exchanged(one: Path, other: Path) -> bool:
    """Let two folders change places in one system call; False where the system cannot."""
    if not sys.platform.startswith("linux"):
        return False
    renameat2 = getattr(ctypes.CDLL(None, use_errno=True), "renameat2", None)
    if renameat2 is None:
        return False
    if renameat2(_AT_FDCWD, os.fsencode(one), _AT_FDCWD, os.fsencode(other), _EXCHANGE) == 0:
        return True
    code = ctypes.get_errno()
    if code in (errno.EINVAL, errno.ENOSYS, errno.ENOTSUP):
        return False
    raise OSError(code, os.strerror(code), str(other))
