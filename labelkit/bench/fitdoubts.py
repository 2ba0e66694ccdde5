"""What was typed of a fit and looks wrong: somebody must say that it stands before it is kept."""

from __future__ import annotations

from collections.abc import Iterator

from labelkit.bench.fitform import FitForm
from labelkit.calc.slips import odd_play, slip, unlisted
from labelkit.units import Quantity, parse


def fit_doubts(form: FitForm) -> tuple[str, ...]:
    """Return in English what looks like a slip, and which sizes are none of the series; empty before it was sent."""
    if not form.was_sent:
        return ()
    pieces = (*form.fitted, *(spacer for spacer, _torque in form.trials_read))
    odd = _stack(form) if form.kind == "stack" else odd_play(form.fit, form.at, form.values)
    return tuple(dict.fromkeys((*odd, *unlisted(form.series, pieces))))


def _stack(form: FitForm) -> Iterator[str]:
    """Yield what looks like a slip of plates and depth beside the profile."""
    pairs: list[tuple[Quantity, Quantity]] = []
    usual = {plate.id: parse(plate.nominal, "length", form.unit) for plate in form.plates}
    for text in form.given.get("plate", ()):
        plate, _equals, size = text.partition("=")
        pairs.append((parse(size, "length", form.unit), usual[plate]))
    depths = [parse(text, "length", form.unit) for text in form.said.get("depth", ())]
    pairs += [(each, depth) for depth in depths for each in form.values]
    yield from filter(None, (slip(read, right, right) for read, right in pairs))
