"""Profiles from YAML: every field, every cross check, every fault at its place."""

from __future__ import annotations

import contextlib
import hashlib
from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from labelkit import datafiles
from labelkit.errors import InputErrors, Problem
from labelkit.load import crosscheck
from labelkit.load.sound import sound_profile
from labelkit.load.textfile import shown_path
from labelkit.load.validate import fault_paths, validate
from labelkit.load.yamltree import FieldPath, Tree, parse, read_file
from labelkit.model.profile import Profile
from labelkit.model.scalars import HEADER_UNITS, header_unit
from labelkit.units import UnitError


@dataclass(frozen=True, slots=True)
class LoadedProfile:
    """A valid profile with the bytes it was read from.

    Attributes:
        profile: the model.
        file: name of the file, without its folder.
        source: the file's bytes.
        folder: where its photos are looked for; None when it comes from a job's snapshot.
    """

    profile: Profile
    file: str
    source: bytes
    folder: Path | None

    @property
    def sha256(self) -> str:
        """Fingerprint of the file's bytes."""
        return hashlib.sha256(self.source).hexdigest()


def load_profile(name: str) -> LoadedProfile:
    """Read a profile by name (found among the shop's and the packaged ones) or by path.

    Raises:
        NotFoundError: no profile of that name.
        InputError: not readable, or with faults (`InputErrors` holds all of them).
    """
    path = datafiles.find("unit_profiles", name)
    return parse_profile(read_file(path, shown_path(path)), shown_path(path), path.parent)


def parse_profile(source: bytes, file: str, folder: Path | None) -> LoadedProfile:
    """Read a profile from its bytes.

    Args:
        source: the YAML text, UTF-8.
        file: name for messages.
        folder: where photos are looked for; None: their presence is not checked.

    Raises:
        InputError: not readable, or with faults.
    """
    loaded, problems = read_profile(source, file, folder)
    if problems:
        raise InputErrors(problems)
    return loaded


def read_profile(source: bytes, file: str, folder: Path | None) -> tuple[LoadedProfile, list[Problem]]:
    """Read what of a profile is sound, and every fault of it.

    Args:
        source: the YAML text, UTF-8.
        file: name for messages.
        folder: where photos are looked for; None: their presence is not checked.

    Raises:
        InputError: not readable, or with so many faults that nothing is left: all of them.
    """
    profile, problems = judged(parse(source, file), folder)
    if profile is None:
        raise InputErrors(problems)
    return LoadedProfile(profile, Path(file).name, source, folder), problems


def judged(tree: Tree, folder: Path | None) -> tuple[Profile | None, list[Problem]]:
    """Return what of a profile is sound, None where nothing is, and every fault of its file.

    Args:
        tree: the file.
        folder: as for `read_profile`.
    """
    context = unit_context(tree.data)
    profile, problems = validate(tree, Profile, context)
    if profile is None and isinstance(tree.data, dict):
        profile = sound_profile(tree, context)
    told = {problem.path for problem in problems}
    problems += [problem for problem in crosscheck.faults(tree, profile, folder) if problem.path not in told]
    return profile, problems


def unit_context(data: Any) -> dict[str, str]:
    """Return the units of bare numbers, as the header states them; what it states wrongly is left to validation."""
    header = data.get("unit") if isinstance(data, dict) else None
    stated_units = header if isinstance(header, dict) else {}
    found = {}
    for field in HEADER_UNITS:
        if isinstance(stated := stated_units.get(field), str):
            with contextlib.suppress(UnitError):
                found[field] = header_unit(field, stated)
    return found


def bare_figures(tree: Tree) -> Iterator[tuple[str, list[tuple[FieldPath, str]]]]:
    """Yield each field of the header that leaves the unit of bare figures unsaid, with those that stand in the file.

    Args:
        tree: of a profile without faults.
    """
    stated = unit_context(tree.data)
    for field in HEADER_UNITS:
        if field not in stated:
            # Read again without a unit to fall back on, every figure that needs one is a fault.
            _, paths = fault_paths(tree.data, Profile, stated | {field: ""})
            found = [(path, text) for path in paths if isinstance(text := tree.node(path), str)]
            if found:
                yield field, found
