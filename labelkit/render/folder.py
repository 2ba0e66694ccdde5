"""A folder of results that is either the old one or the complete new one, whatever happens in between."""

from __future__ import annotations

import ctypes
import errno
import os
import shutil
import sys
import tempfile
from collections.abc import Mapping
from pathlib import Path
from typing import Final

from labelkit.errors import OutputError

_AT_FDCWD: Final = -100
_EXCHANGE: Final = 2


def write_folder(out: Path, files: Mapping[str, bytes]) -> None:
    """Write all files into a new folder and put it in the place of `out` in one step.

    On Linux the old and the new folder change places in one system call. Elsewhere the old one is moved aside first;
    if the run dies in that moment, `recover` at the next run puts it back.

    Args:
        out: the folder; it may exist.
        files: contents by file name.

    Raises:
        OutputError: cannot be written (no right, no space); `out` is as it was before.
    """
    aside = _aside(out)
    fresh: Path | None = None
    try:
        out.parent.mkdir(parents=True, exist_ok=True)
        fresh = Path(tempfile.mkdtemp(prefix=f".{out.name}.", suffix=".new", dir=out.parent))
        fresh.chmod(0o777 & ~_umask())
        for name, content in files.items():
            with (fresh / name).open("wb") as stream:
                stream.write(content)
                stream.flush()
                os.fsync(stream.fileno())
        if not out.exists():
            fresh.rename(out)
        elif _exchanged(fresh, out):
            shutil.rmtree(fresh)
        else:
            out.rename(aside)
            fresh.rename(out)
            shutil.rmtree(aside)
    except OSError as error:
        recover(out)
        raise OutputError(
            f"{out}: cannot be written: {error.strerror or error}; what was there is untouched"
        ) from error
    finally:
        if fresh is not None and fresh.exists():
            shutil.rmtree(fresh, ignore_errors=True)


def recover(out: Path) -> None:
    """Finish or undo an exchange that was cut short: a folder moved aside goes back when its place is empty."""
    aside = _aside(out)
    if aside.exists():
        if out.exists():
            shutil.rmtree(aside, ignore_errors=True)
        else:
            aside.rename(out)


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
