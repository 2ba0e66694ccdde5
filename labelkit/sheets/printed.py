"""What a kit says was printed: its symbols with their places, and whose each of them is."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from labelkit.proof.compare import Expected
from labelkit.sheets.manifest import (
    MANIFEST,
    SymbolPlace,
    expected_on_stickers,
    expected_symbols,
    read_manifest,
    sticker_text,
)


@dataclass(frozen=True, slots=True)
class PrintedKit:
    """A kit's folder, read for a proof: its bin labels or, beside them, its stickers, whose pages count from 1 again.

    Attributes:
        file: its manifest.
        job: number of its job.
        expected: every symbol that was printed.
        steps: the step of each label by what its symbol says; of a part that goes inside another with its name.
        codes: the step of each bin of the kit, or of each sticker, by its code, with a label or without.
        what: `labels` or `stickers`.
        stickers: those of the same kit; None where it has none.
    """

    file: Path
    job: int
    expected: tuple[Expected, ...]
    steps: Mapping[str, str]
    codes: Mapping[str, str]
    what: str = "labels"
    stickers: PrintedKit | None = None

    @property
    def sheets(self) -> tuple[PrintedKit, ...]:
        """The labels and, where there are any, the stickers."""
        return (self, self.stickers) if self.stickers else (self,)

    @property
    def texts(self) -> frozenset[str]:
        """What its labels and stickers say."""
        return frozenset().union(*(each.steps for each in self.sheets))

    def sheet_of(self, texts: Iterable[str]) -> PrintedKit:
        """Return what a page with these symbols is of: the labels, unless it has more in common with the stickers."""
        found = [*texts]
        return max(self.sheets, key=lambda each: sum(text in each.steps for text in found))


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
        expected=_expected(expected_symbols(manifest)),
        steps={each["text"]: str(each["step"]) for each in bins if each["label"]},
        codes={str(each["code"]): str(each["step"]) for each in bins},
        stickers=_stickers(folder, manifest) if manifest["stickers"] else None,
    )


def _stickers(folder: Path, manifest: dict[str, Any]) -> PrintedKit:
    of_bin = {each["part"] for each in manifest["order"]}
    told = [
        (each, str(each["step"]) if each["part"] in of_bin else f"{each['step'] or '-'} ({each['name']})")
        for each in manifest["stickers"]
    ]
    return PrintedKit(
        file=folder / MANIFEST,
        job=manifest["job"],
        expected=_expected(expected_on_stickers(manifest)),
        steps={sticker_text(manifest, each): words for each, words in told},
        codes={str(each["code"]): words for each, words in told},
        what="stickers",
    )


def _expected(places: Iterable[SymbolPlace]) -> tuple[Expected, ...]:
    return tuple(Expected(place.page, place.text, place.x_mm, place.y_mm, place.side_mm) for place in places)
