"""What was typed of a fit and looks wrong: somebody must say that it stands before it is kept."""

from __future__ import annotations

from collections.abc import Iterator
from decimal import Decimal
from itertools import pairwise
from typing import Final

from labelkit.bench.fitform import FitForm
from labelkit.calc.slips import slip
from labelkit.language import gettext as _
from labelkit.model.profile import Series
from labelkit.units import Quantity, parse

# A piece without a tolerance is of its size within this share of the least step of its series. Own choice.
_OF_A_STEP: Final = Decimal("0.2")


def fit_doubts(form: FitForm) -> tuple[str, ...]:
    """Return what looks like a slip, and which sizes are none of the series; empty before anything was sent."""
    return tuple(dict.fromkeys((*_slips(form), *_unlisted(form)))) if form.was_sent else ()


def _slips(form: FitForm) -> Iterator[str]:
    """Yield what looks like a slip: of plates and depth beside the profile, of a play or torque beside its target."""
    pairs: list[tuple[Quantity, Quantity, Quantity]] = []
    if form.kind == "stack":
        usual = {plate.id: parse(plate.nominal, "length", form.unit) for plate in form.plates}
        for text in form.given.get("plate", ()):
            plate, _equals, size = text.partition("=")
            pairs.append((parse(size, "length", form.unit), usual[plate], usual[plate]))
        depths = [parse(text, "length", form.unit) for text in form.said.get("depth", ())]
        pairs += [(each, depth, depth) for depth in depths for each in form.values]
    elif form.limits and form.at != "apart":
        # What is read in order to choose a piece may lie anywhere.
        low, high = form.fit.target
        pairs += [(each, low, high) for each in form.values]
    yield from filter(None, (slip(*pair) for pair in pairs))


def _unlisted(form: FitForm) -> Iterator[str]:
    """Yield of pieces which size is none of the series, and what there is."""
    if form.series is None:
        return
    listed = sorted(form.series.thicknesses())
    steps = [thick - thin for thin, thick in pairwise(listed)]
    near = form.series.tol.mm if form.series.tol else min(steps, default=Decimal(0)) * _OF_A_STEP
    for size in (*form.fitted, *(spacer for spacer, _torque in form.trials_read)):
        if all(abs(size.mm - each) > near for each in listed):
            told = _("{size} is none of the sizes that there are: {sizes}")
            yield told.format(size=size, sizes=series_words(form.series))


def series_words(series: Series) -> str:
    """Return the sizes that there are, their unit once where they share it: `2.00, 2.15 mm`."""
    listed = series.listed()
    if len({size.unit for size in listed}) > 1:
        return ", ".join(map(str, listed))
    return f"{', '.join(str(size.value) for size in listed)} {listed[0].unit}"
