"""What people do at the bench: every kind of act, with its fields; those of measuring are `model.readings`.

An act is part of an event of the record (`model.events`). Places are counted as the removal order counts them
(`calc.steps.Bin.ordinal`), so that an option chosen later moves nothing.
"""

from __future__ import annotations

from decimal import Decimal
from typing import Annotated, Final, Literal, Self

from pydantic import Field, model_validator

from labelkit.language import gettext as _
from labelkit.model.act import MOST, Act, Figure, Gated, Line, LongLine, Number, Pieces, Place, Sha256, Some, Words
from labelkit.model.readings import FitChosen, Reading  # noqa: F401 - a kind of act, which `KINDS` finds
from labelkit.model.scalars import fault


class Removed(Gated):
    """It came out. `count`: pieces that lie in the bin now; left out: not counted yet."""

    kind: Literal["removed"] = "removed"
    count: Pieces | None = None


class LeftIn(Act):
    """It was not taken out, nor anything inside it."""

    kind: Literal["left_in"] = "left_in"


class LeftClosed(Act):
    """A sub-assembly was not opened: its parts stay in it."""

    kind: Literal["left_closed"] = "left_closed"


class CountFound(Act):
    """So many pieces came out, or lie in the bin."""

    kind: Literal["count_found"] = "count_found"
    count: Pieces


class SideSeen(Act):
    """How it was seen to sit: the face that was up, and what was at which hour."""

    kind: Literal["side_seen"] = "side_seen"
    up: Line | None = None
    clock: Line | None = None

    @model_validator(mode="after")
    def _says_something(self) -> Self:
        if self.up is None and self.clock is None:
            raise fault(_("say which face was up, or the clock position"))
        return self


class Photo(Act):
    """A picture, by the SHA-256 of its bytes, which the store keeps."""

    about = "either"
    kind: Literal["photo"] = "photo"
    sha256: Sha256


class WashStarted(Gated):
    """The washer was started with these places in it; none named: everything that is out."""

    about = "job"
    kind: Literal["wash_started"] = "wash_started"
    places: tuple[Place, ...] = ()


class Washed(Gated):
    """It is clean and dry."""

    kind: Literal["washed"] = "washed"


class Inspected(Gated):
    """It was looked at: one point of it, or all of it.

    Attributes:
        verdict: `ask`: it waits for somebody else's judgement.
        check: number of the point among the part's checks, from 0; None: the whole part.
        new: a new part, by its sticker; else the part of the bin.
    """

    kind: Literal["inspected"] = "inspected"
    verdict: Literal["reuse", "repair", "replace", "ask"]
    check: Annotated[int, Field(ge=0, le=99)] | None = None
    new: bool = False


class Condemned(Act):
    """It is not used, or not used again.

    Attributes:
        why: in words.
        pieces: how many of them; None: all.
        size: of new graded pieces that are of several sizes, mm, as the series has it: which is meant.
        lost: it is not there any more.
        new: a new part, by its sticker; else the part of the bin.
    """

    kind: Literal["condemned"] = "condemned"
    why: Words
    pieces: Some | None = None
    size: Figure | None = None
    lost: bool = False
    new: bool = False


class Ordered(Act):
    """So many pieces of a number were ordered."""

    about = "job"
    kind: Literal["ordered"] = "ordered"
    number: Line
    pieces: Some


Source = Literal["order", "shelf"]
"""Where new pieces are from that were not counted at the door: of what was ordered, or from the shelf."""


class Received(Act):
    """New pieces came: for a place, or by their number for any place. `measured`: their sizes in one line."""

    about = "either"
    kind: Literal["received"] = "received"
    number: Line | None = None
    pieces: Some
    source: Source | None = None
    measured: LongLine | None = None


class Returned(Act):
    """New pieces went back and are to be ordered again. `counted`: how many of them were received at the place."""

    kind: Literal["returned"] = "returned"
    number: Line | None = None
    pieces: Some
    counted: Pieces = 0
    why: Words


class Staged(Act):
    """New pieces lie ready at their place; the label of the old part is retired. `measured`: not when they came."""

    kind: Literal["staged"] = "staged"
    pieces: Some | None = None
    source: Source | None = None
    measured: LongLine | None = None


class Joined(Gated):
    """It was built into its group on the bench; the group is not in the unit yet."""

    kind: Literal["joined"] = "joined"
    new: bool = False


class Installed(Gated):
    """It is in.

    Attributes:
        new: a new part, by its sticker; else the part of the bin.
        pieces: how many went in; None: all.
        sizes: of graded pieces, mm, as measured.
        side: which way it was put in, where the card asks.
        source: where a new part is from that nobody counted before.
    """

    kind: Literal["installed"] = "installed"
    new: bool = False
    pieces: Some | None = None
    source: Source | None = None
    sizes: Annotated[tuple[Figure, ...], Field(max_length=MOST)] = ()
    side: Line | None = None


class Verified(Gated):
    """Somebody looked: it is in, and right."""

    kind: Literal["verified"] = "verified"


class TorqueSigned(Gated):
    """It is tightened. `share`: of the torque, where it was one pass of several; 1 is the last."""

    kind: Literal["torque_signed"] = "torque_signed"
    torque: Figure | None = None
    unit: Line = "N·m"
    angle: Figure | None = None
    share: Annotated[Figure, Field(gt=0, le=1)] = Decimal(1)
    wrench: Line | None = None
    oiled: bool | None = None


class Hold(Act):
    """Nothing may be done with it, or with the job, until somebody releases it."""

    about = "either"
    kind: Literal["hold"] = "hold"
    why: Words


class Released(Act):
    """A hold is over. `of`: number of the hold."""

    about = "either"
    kind: Literal["released"] = "released"
    of: Number
    why: Words


class Deviation(Act):
    """Something is not as the profile wants it, and stays so."""

    about = "either"
    kind: Literal["deviation"] = "deviation"
    what: Words
    reason: Words
    agreed: Line


class OptionSeen(Act):
    """How the unit was seen to be built. `choice` None: it could not be told."""

    about = "job"
    kind: Literal["option_seen"] = "option_seen"
    option: Line
    choice: Line | None = None
    how: Words


class Noted(Act):
    """A remark, in the note: something found, extra, or already wrong."""

    about = "either"
    kind: Literal["noted"] = "noted"
    note: Words | None = Field(default=...)


class Correction(Act):
    """An earlier event does not count. What is right is another event. `of`: number of the event."""

    about = "either"
    kind: Literal["correction"] = "correction"
    of: Number
    why: Words


class Signature(Gated):
    """The job is signed: everything is in, nothing is open."""

    about = "job"
    kind: Literal["signature"] = "signature"
    statement: Words


class Closed(Gated):
    """The job is closed: nothing is written any more."""

    about = "job"
    kind: Literal["closed"] = "closed"


class Reopened(Act):
    """A closed job goes on."""

    about = "job"
    kind: Literal["reopened"] = "reopened"
    why: Words


def condemns(act: Act) -> bool:
    """Say whether an act says of pieces that they are not used: condemned, lost, or to be replaced."""
    return isinstance(act, Condemned) or (isinstance(act, Inspected) and act.verdict == "replace")


def rejects_new(act: Act) -> bool:
    """Say whether an act condemns new pieces."""
    return condemns(act) and of_new(act)


def of_new(act: Act) -> bool:
    """Say whether an act is about a new part that was meant by its sticker, and not about the part of the bin."""
    return isinstance(act, Inspected | Condemned | Joined | Installed | Reading) and act.new


KINDS: Final = {
    kind.model_fields["kind"].default: kind
    for family in (Act, Gated)
    for kind in family.__subclasses__()
    if kind is not Gated
}
"""Every kind of act by its name."""
