"""A job: one unit on the bench, with its own snapshot of the profile."""

from __future__ import annotations

import hashlib
from collections.abc import Mapping
from dataclasses import dataclass, field
from typing import Any, Final, Self

from labelkit.model.laying import DEFAULT_LAYING, Laying


@dataclass(frozen=True, slots=True)
class Stocks:
    """What a job is printed on, by the names of stock or the paths of its files: labels, stickers, all other sheets."""

    labels: str = "a4-2x5-99x56"
    stickers: str = "a4-4x12-46x21"
    paper: str = "a4"

    @classmethod
    def of_plain(cls, data: Mapping[str, Any]) -> Self:
        """Return what `dataclasses.asdict` made data of; an earlier version did not know of paper.

        Raises:
            KeyError, TypeError, ValueError: it did not.
        """
        names = {name: data[name] for name in ("labels", "stickers")} | {"paper": data.get("paper", cls().paper)}
        if not all(isinstance(name, str) and "\0" not in name for name in names.values()):
            raise ValueError(f"found {names!r}; needed: names of stock")
        return cls(**names)


DEFAULT_STOCKS: Final = Stocks()


@dataclass(frozen=True, slots=True)
class Job:
    """One unit on the bench.

    Attributes:
        number: what people call it, from 1.
        serial: the unit's serial number, as given.
        file: name of the profile's file.
        source: the profile's bytes as they were when the job was opened; later edits never change them.
        options: option group to choice, None while open.
        numbering: the options by which steps are numbered: those of the first print, so that a choice made later
            leaves a number out and changes none.
        laying: how its trays are laid out.
        stocks: what its last whole kit was printed on.
        language: code of the language of its last whole kit; None: none was printed yet, or by an earlier version.
        address: where the labels' URL points, without the code.
        block: number of the first block of codes that belongs to the job.
        blocks: how many blocks follow each other.
        version: of the capture that its profile was made by; 0 where it came from a file. Every later revision that it
            takes up adds one.
        indices: which number of the job's codes each place has, by its ordinal, where a part that came into the profile
            later stands before earlier ones; empty: its ordinal.
        changed: ids of the parts of which a later revision says something else than what was printed first.
    """

    number: int
    serial: str | None
    file: str
    source: bytes = field(repr=False)
    options: Mapping[str, str | None]
    address: str
    block: int
    blocks: int
    numbering: Mapping[str, str | None]
    laying: Laying = DEFAULT_LAYING
    stocks: Stocks = DEFAULT_STOCKS
    language: str | None = None
    version: int = 0
    indices: tuple[int, ...] = ()
    changed: tuple[str, ...] = ()

    @property
    def sha256(self) -> str:
        """Fingerprint of the profile's snapshot."""
        return hashlib.sha256(self.source).hexdigest()
