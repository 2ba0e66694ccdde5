"""What may be done now to put a unit together, and what stands before a part, in words."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

from labelkit.calc.apart import lies_on
from labelkit.calc.fitpoints import to_look_for
from labelkit.calc.grades import chosen_words
from labelkit.calc.passes import wanted_words
from labelkit.calc.placerecord import PlaceRecord
from labelkit.calc.record import Record
from labelkit.language import gettext as _
from labelkit.model.profile import fit_words


@dataclass(frozen=True, slots=True)
class Allowed:
    """Something that may be done now.

    Attributes:
        what: it is installed, joined with its group on the bench, looked at, a fit is measured or a size chosen for it;
            `out`: it comes out for a new part, of its own or inside it; `swap`: it comes out again, since another size
            is chosen; `wait`: it is installed as soon as its new parts are here.
        text: for people.
        place: the ordinal of the place; None for a fit.
        fit: id of the fit.
    """

    what: Literal["install", "join", "verify", "measure", "choose", "out", "swap", "wait"]
    text: str
    place: int | None = None
    fit: str | None = None


@dataclass(frozen=True, slots=True)
class Missing:
    """What stands before a part, and why.

    Attributes:
        place: that is to be in, and verified; None: a fit is to be seen to.
        why: the reason, for people.
        do: what is to be done where that is something else than to put the part in, or to verify it.
        out: that is to take out what is there.
    """

    place: PlaceRecord | None
    why: str
    do: str = ""
    out: bool = False

    @property
    def key(self) -> str:
        """What tells it from everything else that may be missing."""
        return self.place.name if self.place else self.do

    @property
    def text(self) -> str:
        """Say what is to be done."""
        if self.do or self.place is None:
            return self.do
        return verify(self.place).text if self.place.stage == "installed" else self.place.name


def measure(fit: str) -> Allowed:
    """Return that a fit is measured."""
    return Allowed("measure", _("measure {fit}").format(fit=fit_words(fit)), fit=fit)


def choose(fit: str) -> Allowed:
    """Return that a size is chosen for a fit."""
    return Allowed("choose", _("choose {fit}").format(fit=fit_words(fit)), fit=fit)


def again(record: Record, fit: str) -> Allowed:
    """Return what is done with a fit that is outside its target: another size is chosen where a piece sets it.

    What a part makes that is missing or there twice is looked for first.
    """
    if to_look_for(record, fit):
        told = _("{fit}: look first for what the difference tells, then measure it again")
        return Allowed("measure", told.format(fit=fit_words(fit)), fit=fit)
    return choose(fit) if record.profile.fits[fit].set_by else measure(fit)


def swap(record: Record, place: PlaceRecord) -> Allowed:
    """Return that a piece comes out again for the one that was chosen."""
    ordinal = place.item.ordinal
    # What is over it comes out first, each with what that lies under in its turn.
    parts = _(", then ").join(each.name for each in (*lies_on(record, place.item), place))
    told = _("take out {part}; chosen is {sizes}").format(part=parts, sizes=chosen_words(record, ordinal))
    return Allowed("swap", told, ordinal)


def take_out(place: PlaceRecord) -> Allowed:
    """Return that a part comes out for a new one, of its own or inside it."""
    return Allowed("out", _("take out {part}").format(part=place.name), place.item.ordinal)


def wait(place: PlaceRecord) -> Allowed:
    """Return that a part goes in once its new parts are here."""
    text = _("{part}, as soon as its new parts are here").format(part=place.name)
    return Allowed("wait", text, place.item.ordinal)


def verify(place: PlaceRecord) -> Allowed:
    """Return that a part that is in is tightened, or looked at."""
    told = (_("tighten {part}") if wanted_words(place) else _("verify {part}")).format(part=place.name)
    return Allowed("verify", told, place.item.ordinal)
