"""Single files that are either the old or the complete new one, whatever happens in between."""

from __future__ import annotations

import os
from pathlib import Path

from labelkit.errors import OutputError


def replace_file(path: Path, data: bytes) -> None:
    """Write a file beside its place and put it there in one step.

    Args:
        path: the file; it may exist, its folder must.
        data: all bytes of it.

    Raises:
        OutputError: cannot be written (no folder, no right, no space); what was there is as it was.
    """
    fresh = path.with_name(f".{path.name}.{os.getpid()}.new")
    try:
        with fresh.open("wb") as stream:
            stream.write(data)
            stream.flush()
            os.fsync(stream.fileno())
        fresh.replace(path)
    except OSError as error:
        fresh.unlink(missing_ok=True)
        raise OutputError(f"{path}: cannot be written: {error.strerror}; what was there is untouched") from error
