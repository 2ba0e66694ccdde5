"""What every act has, and the texts and figures that its fields may hold."""

from __future__ import annotations

from decimal import Decimal
from typing import Annotated, ClassVar, Final, Literal

from pydantic import AfterValidator, BaseModel, ConfigDict, Field, StringConstraints

from labelkit.language import gettext as _
from labelkit.model.scalars import fault

LONGEST_NAME: Final = 60
LONGEST_TEXT: Final = 2000
LAST_PLACE: Final = 99_999
MOST: Final = 9999
"""Pieces that a place may have, at most."""

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
Pieces = Annotated[int, Field(ge=0, le=MOST)]
Some = Annotated[int, Field(ge=1, le=MOST)]
Place = Annotated[int, Field(ge=0, le=LAST_PLACE)]
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
