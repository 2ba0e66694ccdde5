"""Find data files by name: first in the shop's own folder, then among those that come with labelkit.

The shop's folder is `$LABELKIT_SHOP/layouts` and `$LABELKIT_SHOP/unit_profiles`; without that variable it is
`layouts` and `unit_profiles` in the working folder. A file may lie in a folder of its own there, with its photos. A
shop's file hides the packaged file of the same name.
"""

from __future__ import annotations

import os
from pathlib import Path
from typing import Final, Literal

from labelkit.errors import InputError, NotFoundError, UsageError, allowed_text

DataKind = Literal["layouts", "unit_profiles"]

SHOP_VARIABLE: Final = "LABELKIT_SHOP"
_ENDINGS: Final = (".yaml", ".yml")
_WORDS: Final[dict[DataKind, str]] = {"layouts": "layout file", "unit_profiles": "unit profile"}
_PACKAGE: Final = Path(__file__).resolve().parent


def find(kind: DataKind, name: str) -> Path:
    """Return the file of this name.

    Args:
        kind: what it is.
        name: a name without ending, looked up; anything with a path separator or an ending is a path, and is
            returned as it is, there or not.

    Raises:
        NotFoundError: no file of that name.
        UsageError: the shop's folder is named but not there.
    """
    if is_path(name):
        return Path(name)
    known = _table(kind)
    if name not in known:
        message = f'there is no {_WORDS[kind]} named "{name}"; {allowed_text(name, known, most=40)}'
        raise NotFoundError(f"{message} (or write a path, as in ./{name or 'mine'}.yaml)")
    return known[name]


def files(kind: DataKind) -> list[Path]:
    """Return the files behind all names that `find` knows: the shop's first, each group in alphabetical order."""
    return list(_table(kind).values())


def is_packaged(path: Path) -> bool:
    """Say whether a file came with labelkit, and so is none that a shop edits."""
    return any(path.is_relative_to(_packaged(kind)) for kind in _WORDS)


def is_path(name: str) -> bool:
    """Say whether a text is meant as a path.

    >>> is_path("planetary-reducer"), is_path("mine/reducer"), is_path("reducer.yaml")
    (False, True, True)
    """
    return "/" in name or "\\" in name or bool(Path(name).suffix)


def _table(kind: DataKind) -> dict[str, Path]:
    found: dict[str, Path] = {}
    for folder in (shop_folder() / kind, _packaged(kind)):
        for path in _data_files(folder):
            found.setdefault(path.stem, path)
    return found


def shop_folder() -> Path:
    """Return the shop's own folder: the one that LABELKIT_SHOP names, else the working folder.

    Raises:
        UsageError: it is named but not there.
    """
    shop = os.environ.get(SHOP_VARIABLE, "")
    if shop and not Path(shop).is_dir():
        raise UsageError(
            f"{SHOP_VARIABLE}: found {shop}, which is not a folder; allowed: the folder that holds the "
            f"shop's own layouts and unit_profiles"
        )
    return Path(shop)


def _packaged(kind: DataKind) -> Path:
    # Installers unpack a wheel, so its data are plain files; in a checkout they lie beside the package.
    installed = _PACKAGE / "_data" / kind
    return installed if installed.is_dir() else _PACKAGE.parent / kind


def _data_files(folder: Path) -> list[Path]:
    """Return the YAML files of a folder and of those in it, `.yaml` before `.yml`; none when it is not there."""
    if not folder.is_dir():
        return []
    try:
        inside = [path for path in folder.iterdir() if path.name[0] != "."]
        inside += [path for each in inside if each.is_dir() for path in each.iterdir() if path.name[0] != "."]
        found = [path for path in inside if path.suffix in _ENDINGS]
    except OSError as error:
        raise InputError(f"{folder}: the folder cannot be read: {error.strerror}") from error
    return sorted(found, key=lambda path: (path.stem, len(path.parts), path.suffix))
