"""The form of a fit: which fields it has, and what was typed into them as the figures of its sum."""

from __future__ import annotations

import re
from collections.abc import Mapping
from dataclasses import dataclass, field
from typing import Any, Final

from labelkit.calc.answers import Answer
from labelkit.calc.fitsums import work_out
from labelkit.errors import UsageError
from labelkit.language import gettext as _
from labelkit.language import noop
from labelkit.model.part import CheckTime
from labelkit.model.profile import Fit, Series
from labelkit.units import Quantity

TIMES: Final[tuple[tuple[CheckTime, str], ...]] = (
    ("before", noop("Before the teardown")),
    ("apart", noop("Dry fit, to choose")),
    ("assembled", noop("Fitted, read again")),
)
GASKETS: Final = (
    ("none", noop("None belongs here")),
    ("pressed", noop("In, pressed")),
    ("new", noop("In, new, not pressed")),
    ("out", noop("Left out")),
)
WAVES: Final = (("free", noop("Free")), ("flat", noop("Pressed flat")), ("none", noop("There is none")))
_TRIALS: Final = 2
_DEPTHS: Final = 3


@dataclass(frozen=True, slots=True)
class Plate:
    """A kind of plate of a stack: its id, name, how many, and its thickness by the profile."""

    id: str
    name: str
    count: int
    nominal: str


@dataclass(frozen=True)
class FitForm:
    """The form of a fit with what was typed into it.

    Attributes:
        name: id of the fit.
        fit: the fit.
        at: which time of the job the reading is of.
        kind: of the sum: that of the fit, and of a stack that is together its clearance.
        said: what the profile says, by the names of `labelkit fit`.
        series: the sizes that there are of what sets it; None: the profile does not say.
        together: how many of them may lie together.
        lie: how many pieces lie together where the old ones were; 0: any number.
        plates: of a stack.
        measured: what was measured of the parts in this job, by the field that it belongs into.
        typed: the fields as they were typed.
        faults: what is wrong with a field, by its name.
        values: what was read.
        fitted: the pieces that were in.
        trials_read: spacers and their torques, where two were tried.
        given: everything the sum takes.
    """

    name: str
    fit: Fit
    at: CheckTime
    kind: str
    said: Mapping[str, Any]
    series: Series | None = None
    together: int = 1
    lie: int = 0
    plates: tuple[Plate, ...] = ()
    measured: Mapping[str, str] = field(default_factory=dict)
    typed: Mapping[str, str] = field(default_factory=dict)
    faults: dict[str, str] = field(default_factory=dict)
    values: tuple[Quantity, ...] = ()
    fitted: tuple[Quantity, ...] = ()
    trials_read: tuple[tuple[Quantity, Quantity], ...] = ()
    given: dict[str, Any] = field(default_factory=dict)

    @staticmethod
    def id(name: str) -> str:
        """Return the id of a field, which no other form of the page has."""
        return f"read-{name}"

    @property
    def by_play(self) -> bool:
        """Whether a preload is set by the play with the spacer that is in: its target is a length."""
        return self.kind == "preload" and self.at == "apart" and self.fit.target[0].kind == "length"

    @property
    def torque(self) -> bool:
        """Whether it is read as a torque."""
        return self.kind == "preload" and not self.by_play

    @property
    def unit(self) -> str:
        """The unit of bare figures."""
        typed = self.typed.get("unit", "")
        if self.torque or typed not in ("mm", "in"):
            return str(self.said["unit"])
        return typed

    @property
    def readings(self) -> int:
        """How many fields for readings there are; 0 where a depth is read instead."""
        if self.kind == "stack":
            return 0
        return self.fit.times

    @property
    def depths(self) -> int:
        """How many fields for a depth there are."""
        return _DEPTHS if self.kind == "stack" else 0

    @property
    def pieces(self) -> int:
        """How many fields for the pieces that were in there are."""
        chooses = self.kind in ("end_play", "clearance") and self.at != "assembled" and "series" in self.said
        if self.by_play:
            return self.lie or 1
        return self.together if chooses else 0

    @property
    def trials(self) -> int:
        """How many fields for trials with a spacer there are."""
        return _TRIALS if self.torque and self.at == "apart" else 0

    @property
    def limits(self) -> bool:
        """Whether what is read has limits: what bearings are squeezed by shows as a torque, and has none as such."""
        return not self.torque or self.fit.target[0].kind != "length"

    @property
    def wave(self) -> bool:
        """Whether it must be said how the wave plate was."""
        return self.kind in ("clearance", "stack") and self.said.get("limit_state") != "none"

    @property
    def limit(self) -> bool:
        """Whether it must be said how the limit means the wave plate: the profile does not tell."""
        return self.wave and "limit_state" not in self.said

    @property
    def state(self) -> str:
        """The state that the profile wants it read in, to be ticked; empty where none, or where a wave plate asks."""
        return "" if self.wave else self.fit.state or ""

    def unanswered(self, *, kept: bool) -> dict[str, str]:
        """Return what was asked of the reading besides its figures and is not answered, by the field.

        Args:
            kept: the reading may be recorded as it is.
        """
        asked = {
            "seated": bool(self.fit.seat),
            "gasket": self.kind == "end_play",
            "cold": self.kind != "stack" and not self.torque,
        }
        told = _("not answered yet; it is recorded so") if kept else _("not answered yet")
        found = {name: told for name, there in asked.items() if there and not self.typed.get(name)}
        if self.state and not self.typed.get("as_wanted"):
            told = _('"Read with: {state}": not answered yet, and without it nothing is recorded')
            found[""] = told.format(state=self.state)  # the tick is called by the state
        return found

    @property
    def was_sent(self) -> bool:
        """Whether somebody asked for the sum."""
        return "sum" in self.typed

    def answer(self) -> Answer | None:
        """Return the answer; None where nothing was asked for, or something that was typed is wrong."""
        if not self.was_sent or self.faults:
            return None
        try:
            return work_out(self.kind, self.given)
        except UsageError as error:
            self.faults[""] = _plain(str(error))
            return None


# What the options of the command are called on the page.
_OPTIONS: Final = {
    "reading": noop("reading"),
    "fitted": noop("size that was in"),
    "series": noop("series"),
    "depth": noop("depth"),
    "plate": noop("plate"),
    "target": noop("target"),
    "aim": noop("aim"),
    "drag": noop("drag"),
    "trial": noop("trial"),
    "chain": noop("chain"),
}


def _plain(message: str) -> str:
    """Return a message of the command in the words of the page: `--reading "x"` is the reading x."""
    return re.sub(r"--([a-z-]+)", lambda found: _(_OPTIONS.get(found[1], found[1].replace("-", " "))), message)
