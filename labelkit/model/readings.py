"""Acts that say what was measured, of an inspection point or of a fit, and what was chosen for it."""

from __future__ import annotations

from decimal import Decimal
from typing import Annotated, Literal, Self

from pydantic import Field, model_validator

from labelkit.model.act import Act, Figure, Gated, Line
from labelkit.model.part import CheckTime
from labelkit.model.scalars import fault


class Reading(Gated):
    """What was measured: of an inspection point, or of a fit.

    Attributes:
        check: number of the point among the part's checks, from 0.
        new: of a new part, by its sticker; else of the part of the bin.
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
    new: bool = False
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
    verdict: Literal["ok", "borderline", "unexpected", "out", "none", "refused", "ask", "no_limit"] | None = None

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
