"""Profiles from YAML: every field, every cross check, every fault at its place."""

from __future__ import annotations

import hashlib
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from labelkit import datafiles
from labelkit.errors import InputErrors
from labelkit.load import crosscheck
from labelkit.load.validate import validate
from labelkit.load.yamltree import parse, read_file
from labelkit.model.profile import Profile


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
    return parse_profile(read_file(path, _shown(path)), _shown(path), path.parent)


def parse_profile(source: bytes, file: str, folder: Path | None) -> LoadedProfile:
    """Read a profile from its bytes.

    Args:
        source: the YAML text, UTF-8.
        file: name for messages.
        folder: where photos are looked for; None: their presence is not checked.

    Raises:
        InputError: not readable, or with faults.
    """
    tree = parse(source, file)
    profile, problems = validate(tree, Profile, unit_context(tree.data))
    told = {problem.path for problem in problems}
    problems += [problem for problem in crosscheck.faults(tree, profile, folder) if problem.path not in told]
    if profile is None or problems:
        raise InputErrors(problems)
    return LoadedProfile(profile, Path(file).name, source, folder)


def unit_context(data: Any) -> dict[str, str]:
    """Return the units of bare numbers, as the header states them; what it states wrongly is left to validation."""
    header = data.get("unit") if isinstance(data, dict) else None
    known = {"lengths": ("mm", "in"), "masses": ("kg", "g", "lb"), "torques": ("N·m", "lbf·ft", "lbf·in")}
    if not isinstance(header, dict):
        return {}
    return {key: header[key] for key, units in known.items() if header.get(key) in units}


def _shown(path: Path) -> str:
    """Return a path as short as it can be said from here."""
    try:
        return str(path.resolve().relative_to(Path.cwd()))
    except ValueError:
        return str(path)
