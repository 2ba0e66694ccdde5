"""What people do at the bench: every kind of act, with its fields.

An act is part of an event of the record (`model.events`). Places are counted as the removal order counts them
(`calc.steps.Bin.ordinal`), so that an option chosen later moves nothing.
"""

from __future__ import annotations

from decimal import Decimal
from typing import Annotated, ClassVar, Final, Literal, Self

from pydantic import AfterValidator, BaseModel, ConfigDict, Field, StringConstraints, model_validator

from labelkit.language import gettext as _
from labelkit.model.part import CheckTime
from labelkit.model.scalars import fault

LONGEST_NAME: Final = 60
LONGEST_TEXT: Final = 2000
_MOST: Final = 9999

Where = Literal["place", "job", "either"]
"""Whether an act is about one place, about the job, or may be about either."""


def _printable(text: str) -> str:
    if bad := next((letter for letter in text if not letter.isprintable() and letter not in "\n\t"), None):
        told = _("holds the character {code}, which cannot be printed")
        raise fault(told.format(code=f"U+{ord(bad):04X}"))
    return text


def _one_line(text: str) -> str:
    if "\n" in text or "\t" in text:
        raise fault(_("is longer than one line"))
    return text


Words = Annotated[
    str,
    StringConstraints(strip_whitespace=True, min_length=1, max_length=LONGEST_TEXT),
    AfterValidator(_printable),
]
Line = Annotated[
    str,
    StringConstraints(strip_whitespace=True, min_length=1, max_length=LONGEST_NAME),
    AfterValidator(_printable),
    AfterValidator(_one_line),
]
LongLine = Annotated[
    str,
    StringConstraints(strip_whitespace=True, min_length=1, max_length=LONGEST_TEXT),
    AfterValidator(_printable),
    AfterValidator(_one_line),
]
Pieces = Annotated[int, Field(ge=0, le=_MOST)]
Some = Annotated[int, Field(ge=1, le=_MOST)]
Place = Annotated[int, Field(ge=0, le=99_999)]
Number = Annotated[int, Field(ge=1, le=10_000_000)]
Figure = Annotated[Decimal, Field(allow_inf_nan=False, max_digits=15)]
Sha256 = Annotated[str, StringConstraints(pattern=r"^[0-9a-f]{64}$")]


class Override(BaseModel):
    """Why somebody goes on although the gate refused; it stays visible on every list of deviations.

    Attributes:
        reason: their reason.
        agreed: who agreed.
        refusal: what the gate had said.
    """

    model_config = ConfigDict(frozen=True, extra="forbid", defer_build=True)

    reason: Words
    agreed: Line
    refusal: Words


class Act(BaseModel):
    """What was done. `kind` names it; `about` says whether it belongs to a place or to the job."""

    model_config = ConfigDict(frozen=True, extra="forbid", defer_build=True)
    about: ClassVar[Where] = "place"

    kind: str
    note: Words | None = None


class Gated(Act):
    """An act that the gate judges before it is written.

    Attributes:
        ticked: the cautions that were shown and ticked, word for word.
        override: why it was done although the gate refused.
    """

    ticked: tuple[Words, ...] = ()
    override: Override | None = None


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


class Reading(Act):
    """What was measured: of an inspection point, or of a fit.

    Attributes:
        check: number of the point among the part's checks, from 0.
        fit: id of the fit.
        at: when in the job.
        values: as read, with their zeros.
        unit: of every figure here.
        result: the one value that counts, where several were read.
        fitted: sizes of the graded pieces that were in.
        state: in which state it was read: `wave flat`, `gasket pressed`.
        verdict: what the sum came to (`calc.answers.Verdict`); None: not judged.
    """

    about = "either"
    kind: Literal["reading"] = "reading"
    check: Annotated[int, Field(ge=0, le=99)] | None = None
    fit: Line | None = None
    at: CheckTime
    values: Annotated[tuple[Figure, ...], Field(min_length=1, max_length=500)]
    unit: Line
    result: Figure | None = None
    fitted: tuple[Figure, ...] = ()
    tool: Line | None = None
    resolution: Figure | None = None
    state: Line | None = None
    cold: bool | None = None
    verdict: Literal["ok", "borderline", "out", "none", "refused", "ask", "no_limit"] | None = None

    @model_validator(mode="after")
    def _of_one_thing(self) -> Self:
        if (self.check is None) == (self.fit is None):
            raise fault("a reading is either of a check or of a fit")
        return self

    @property
    def value(self) -> Decimal:
        """The result, or the mean of the values, exact."""
        return self.result if self.result is not None else sum(self.values, Decimal(0)) / len(self.values)


class FitChosen(Act):
    """Which pieces set a fit, and what it will be with them, in the unit given."""

    about = "job"
    kind: Literal["fit_chosen"] = "fit_chosen"
    fit: Line
    sizes: Annotated[tuple[Figure, ...], Field(min_length=1, max_length=20)]
    unit: Line = "mm"
    predicted: Figure | None = None


class WashStarted(Gated):
    """The washer was started with these places in it; none named: everything that is out."""

    about = "job"
    kind: Literal["wash_started"] = "wash_started"
    places: tuple[Place, ...] = ()


class Washed(Gated):
    """It is clean and dry."""

    kind: Literal["washed"] = "washed"


class Inspected(Act):
    """It was looked at: one point of it, or all of it. `ask`: it waits for somebody else's judgement."""

    kind: Literal["inspected"] = "inspected"
    verdict: Literal["reuse", "repair", "replace", "ask"]
    check: Annotated[int, Field(ge=0, le=99)] | None = None


class Condemned(Act):
    """It is not used again. `pieces`: how many of them; left out: all. `lost`: it is not there any more."""

    kind: Literal["condemned"] = "condemned"
    why: Words
    pieces: Some | None = None
    lost: bool = False


class Ordered(Act):
    """So many pieces of a number were ordered."""

    about = "job"
    kind: Literal["ordered"] = "ordered"
    number: Line
    pieces: Some


class Received(Act):
    """New pieces came: for a place, or by their number for any place. `measured`: their sizes in one line."""

    about = "either"
    kind: Literal["received"] = "received"
    number: Line | None = None
    pieces: Some
    measured: LongLine | None = None


class Returned(Act):
    """New pieces went back and are to be ordered again. `counted`: how many of them were received at the place."""

    kind: Literal["returned"] = "returned"
    number: Line | None = None
    pieces: Some
    counted: Pieces = 0
    why: Words


class Staged(Act):
    """New pieces lie ready at their place; the label of the old part is retired."""

    kind: Literal["staged"] = "staged"
    pieces: Some | None = None


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
    """

    kind: Literal["installed"] = "installed"
    new: bool = False
    pieces: Some | None = None
    sizes: Annotated[tuple[Figure, ...], Field(max_length=20)] = ()
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


KINDS: Final = {
    kind.model_fields["kind"].default: kind
    for family in (Act, Gated)
    for kind in family.__subclasses__()
    if kind is not Gated
}
"""Every kind of act by its name."""
