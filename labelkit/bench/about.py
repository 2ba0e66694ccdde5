"""What a form of a card is about, and what is read of it."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from typing import Any

from labelkit.bench.acting import Wish
from labelkit.calc.allowed import Assembly
from labelkit.calc.placerecord import PlaceRecord
from labelkit.calc.record import Record
from labelkit.model.catalogue import NO_CATALOGUE, Catalogue
from labelkit.model.profile import Profile

Typed = Mapping[str, str]


@dataclass(frozen=True, slots=True)
class About:
    """The place that a form is about.

    Attributes:
        assembly: the order of assembly against the record of the job.
        place: the place.
        new: the sticker of the new part was scanned, not the label of the bin.
        catalogue: of the parts counter; without one nothing is on the shelf.
    """

    assembly: Assembly
    place: PlaceRecord
    new: bool = False
    catalogue: Catalogue = NO_CATALOGUE

    @property
    def record(self) -> Record:
        """The record of the job."""
        return self.assembly.record

    @property
    def ordinal(self) -> int:
        """The ordinal of the place."""
        return self.place.item.ordinal

    @property
    def of_new(self) -> bool:
        """Whether the new piece is meant, and not yet what is in, which the label of the bin means, too."""
        return self.new and not self.place.is_in

    @property
    def profile(self) -> Profile:
        """The profile of the job."""
        return self.record.profile

    def wish(self, kind: str, **data: Any) -> Wish:
        """Return an act of this place."""
        return Wish({"kind": kind, **data}, self.ordinal)


@dataclass(slots=True)
class Wanted:
    """What a form asks for, what to say besides, what is wrong with it by field, and which options it decides."""

    wishes: list[Wish] = field(default_factory=list)
    tells: list[str] = field(default_factory=list)
    faults: dict[str, str] = field(default_factory=dict)
    options: dict[str, str] = field(default_factory=dict)
