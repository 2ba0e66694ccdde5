"""Text files as people save them: read whole, as UTF-8, and what else a file is said plainly."""

from __future__ import annotations

import re
from pathlib import Path
from typing import Final

from labelkit.errors import InputError, InputErrors, Problem, nearest

Place = tuple[int, int]

_LINE_END: Final = re.compile("\r\n|\r|\n")


def shown_path(path: Path) -> str:
    """Return a path as short as it can be said from here."""
    try:
        return str(path.resolve().relative_to(Path.cwd()))
    except ValueError:
        return str(path)


def read_bytes(path: Path, shown: str, kind: str, largest: int) -> bytes:
    """Return a file's bytes, at most one more than the largest number allowed; say plainly why it cannot be read.

    Args:
        path: the file.
        shown: its name for messages.
        kind: what it should be: YAML, CSV.
        largest: bytes.

    Raises:
        InputError: missing, a folder or not readable.
    """
    try:
        with path.open("rb") as stream:
            return stream.read(largest + 1)  # a device or pipe does not tell its size
    except FileNotFoundError as error:
        raise InputError(f"{shown}: there is no such file{_meant(path, shown)}") from error
    except IsADirectoryError as error:
        raise InputError(f"{shown}: is a folder; a {kind} file is wanted here") from error
    except OSError as error:
        raise InputError(f"{shown}: cannot be read: {error.strerror}") from error


def _meant(path: Path, shown: str) -> str:
    """Return the end of a message: the file beside it that was probably meant; empty where none is near."""
    try:
        files = sorted(other for other in path.parent.iterdir() if other.is_file())
    except OSError:
        return ""
    # A slip of the name is likelier than one of the ending.
    of_ending = {other.stem: other.name for other in files if other.suffix == path.suffix}
    for beside in (of_ending, {other.stem: other.name for other in files}):
        if near := nearest(path.stem, beside):
            return f"; did you mean {shown.removesuffix(path.name)}{beside[near]}?"
    return ""


def decoded(data: bytes, file: str, kind: str) -> str:
    """Return a file's text, without a byte-order mark.

    Args:
        data: its bytes.
        file: its name for messages.
        kind: what it should be: YAML, CSV.

    Raises:
        InputError: not UTF-8: what else it is, and of a stray byte where it stands.
    """
    if data[:2] in (b"\xff\xfe", b"\xfe\xff"):
        raise InputError(f"{file}: is UTF-16 text; save it as UTF-8")
    if b"\0" in data:
        raise InputError(f"{file}: is a binary file; a {kind} text file is wanted here")
    try:
        return data.decode("utf-8-sig")
    except UnicodeDecodeError as error:
        before = error.object[: error.start].decode()  # the decoder's own copy, without the mark
        message = f"holds the byte 0x{error.object[error.start]:02X}, which is not UTF-8; save the file as UTF-8"
        raise InputErrors([Problem(file, *end_of(before), "", message)]) from error


def end_of(text: str, start: Place = (1, 1)) -> Place:
    """Return line and column just behind a text that starts there.

    >>> end_of("a\\r\\nbc"), end_of("bc", (7, 5))
    ((2, 3), (7, 7))
    """
    lines = _LINE_END.split(text)
    return start[0] + len(lines) - 1, len(lines[-1]) + (start[1] if len(lines) == 1 else 1)
