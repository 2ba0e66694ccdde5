"""A profile with its photos as one ZIP file, for another shop; and back, trusting nothing that such a file says."""

from __future__ import annotations

import io
import re
import stat
import zipfile
import zlib
from collections.abc import Iterator, Mapping
from pathlib import PurePosixPath
from typing import Final

from labelkit.errors import InputError

MOST_FILES: Final = 2_000
LARGEST_PHOTO: Final = 12_000_000  # bytes
_LARGEST_PROFILE: Final = 4_000_000
LARGEST_ALL: Final = 400_000_000
_PHOTOS: Final = (".jpg", ".jpeg", ".png", ".webp")
_PROFILES: Final = (".yaml", ".yml")
# The same profile gives the same bytes: the earliest time that a ZIP file can say.
_NO_TIME: Final = (1980, 1, 1, 0, 0, 0)
# What a path may consist of on every system: no drive, no step upward, no name that Windows keeps for a device.
_STEP: Final = re.compile(r"(?!\.+$)[^<>:\"|?*\\/\x00-\x1f\x7f]{1,120}(?<![. ])")
_DEVICE: Final = re.compile(r"(con|prn|aux|nul|com\d|lpt\d)(\..*)?", re.IGNORECASE)


def pack(name: str, source: bytes, photos: Mapping[str, bytes]) -> bytes:
    """Return a ZIP file of a profile; the same profile gives the same bytes.

    Args:
        name: of the profile's file.
        source: its bytes.
        photos: by their paths beside it.
    """
    written = io.BytesIO()
    with zipfile.ZipFile(written, "w", zipfile.ZIP_DEFLATED) as packed:
        packed.writestr(zipfile.ZipInfo(name, _NO_TIME), source, zipfile.ZIP_DEFLATED)
        for path in sorted(photos):
            packed.writestr(zipfile.ZipInfo(path, _NO_TIME), photos[path])  # photos are compressed already
    return written.getvalue()


def unpack(content: bytes, file: str) -> dict[str, bytes]:
    """Return what a ZIP file holds by path: one profile at the top, and photos. The profile comes first.

    Args:
        content: its bytes.
        file: its name for messages.

    Raises:
        InputError: no such file, damaged, encrypted, a path that leads elsewhere, too many or too large files, no
            profile or two, or anything that is neither profile nor photo.
    """
    try:
        with zipfile.ZipFile(io.BytesIO(content)) as packed:
            found = dict(_read(packed, file))
    except (zipfile.BadZipFile, zlib.error, EOFError, NotImplementedError, OSError, ValueError) as error:
        raise InputError(f"{file}: is no whole ZIP file ({error}); make it with `labelkit pack`") from error
    profiles = [path for path in found if path.lower().endswith(_PROFILES)]
    if len(profiles) != 1 or "/" in profiles[0]:
        told = ", ".join(profiles) or "none"
        raise InputError(f"{file}: holds these profiles: {told}; allowed: one, beside its folders of photos")
    return {profiles[0]: found.pop(profiles[0]), **found}


def _read(packed: zipfile.ZipFile, file: str) -> Iterator[tuple[str, bytes]]:
    entries = [entry for entry in packed.infolist() if entry.file_size or not entry.filename.endswith("/")]
    if len(entries) > MOST_FILES:
        raise InputError(f"{file}: holds {len(entries)} files; allowed: {MOST_FILES}")
    seen: set[str] = set()
    left = LARGEST_ALL
    for entry in entries:
        path = _checked(entry, file)
        if path.casefold() in seen:
            raise InputError(f"{file}: {path}: is in it twice; upper and lower case are the same file on some systems")
        seen.add(path.casefold())
        most = min(left, _LARGEST_PROFILE if path.lower().endswith(_PROFILES) else LARGEST_PHOTO)
        with packed.open(entry) as stream:
            data = stream.read(most + 1)  # whatever size the file states
        if len(data) > most:
            allowed = f"a profile {_LARGEST_PROFILE / 1e6:.0f}, a photo {LARGEST_PHOTO / 1e6:.0f}"
            raise InputError(
                f"{file}: {path}: has over {most / 1e6:.0f} MB; "
                f"allowed: {allowed}, all together {LARGEST_ALL / 1e6:.0f}"
            )
        left -= len(data)
        yield path, data


def _checked(entry: zipfile.ZipInfo, file: str) -> str:
    """Return the path of an entry that may be written below any folder."""
    path = entry.filename
    where = f"{file}: {path[:80]!r}"
    steps = PurePosixPath(path).parts
    if path.startswith("/") or not steps or "/".join(steps) != path or len(path) > 240:
        raise InputError(f"{where}: leads elsewhere; allowed: a path below the profile, as photos/carrier-1.jpg")
    if not all(_STEP.fullmatch(step) and not _DEVICE.fullmatch(step) for step in steps):
        raise InputError(f"{where}: not every system can write this; allowed: a path as photos/carrier-1.jpg")
    if stat.S_IFMT(entry.external_attr >> 16) not in (0, stat.S_IFREG):
        raise InputError(f"{where}: is a link or a device; allowed: files")
    if entry.compress_type not in (zipfile.ZIP_STORED, zipfile.ZIP_DEFLATED):
        raise InputError(f"{where}: is compressed in a rare way ({entry.compress_type}); make it with `labelkit pack`")
    if entry.flag_bits & 1:
        raise InputError(f"{where}: is encrypted; pack it without a password")
    if not path.lower().endswith((*_PROFILES, *_PHOTOS)):
        raise InputError(f"{where}: is neither profile nor photo; allowed: {', '.join((*_PROFILES, *_PHOTOS))}")
    return path
