"""What a kit says was printed: its symbols with their places, and whose each of them is."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from pathlib import Path

from labelkit.proof.compare import Expected
from labelkit.sheets.manifest import MANIFEST, expected_symbols, read_manifest


@dataclass(frozen=True, slots=True)
class PrintedKit:
    """A kit's folder, read for a proof.

    Attributes:
        file: its manifest.
        job: number of its job.
        expected: every symbol that was printed.
        steps: the step of each label by what its symbol says.
        codes: the step of each bin of the kit by its code, with a label or without.
    """

    file: Path
    job: int
    expected: tuple[Expected, ...]
    steps: Mapping[str, str]
    codes: Mapping[str, str]


def has_kit(folder: Path) -> bool:
    """Say whether a folder holds a kit."""
    return (folder / MANIFEST).is_file()


def read_kit(folder: Path) -> PrintedKit:
    """Read the kit of a folder.

    Raises:
        InputError: there is none, or it is damaged.
    """
    manifest = read_manifest(folder)
    bins = manifest["bins"]
    return PrintedKit(
        file=folder / MANIFEST,
        job=manifest["job"],
        expected=tuple(
            Expected(place.page, place.text, place.x_mm, place.y_mm, place.side_mm)
            for place in expected_symbols(manifest)
        ),
        steps={each["text"]: str(each["step"]) for each in bins if each["label"]},
        codes={str(each["code"]): str(each["step"]) for each in bins},
    )
