"""What the answer of a fit comes to, in words that are the same on paper, on a screen and on a page."""

from __future__ import annotations

from collections.abc import Mapping
from decimal import Decimal
from typing import Final, cast

from labelkit.calc.answers import Answer, Verdict, places_of, shown
from labelkit.calc.figures import as_read
from labelkit.calc.limits import Limits
from labelkit.language import gettext as _
from labelkit.language import noop
from labelkit.model.readings import Reading
from labelkit.units import Quantity

VERDICT_WORDS: Final[Mapping[Verdict, str]] = {
    "ok": noop("OK"),
    "borderline": noop("BORDERLINE"),
    "unexpected": noop("NOT AS PREDICTED"),
    "out": noop("OUT of limits"),
    "none": noop("NONE FITS"),
    "refused": noop("REFUSED"),
    "ask": noop("ASK FIRST"),
    "no_limit": noop("no limit given, nothing is judged"),
}


def value_of(act: Reading, limits: Limits) -> Decimal:
    """Return the value of a reading that counts, with one number of decimals wherever it is told.

    A mean has as many as were read, and more only where it takes them to see on which side of the limits it lies; what
    its sum came to has those of the sum.

    Args:
        act: the reading.
        limits: of what was read; none where nothing is judged.
    """
    if act.result is not None or len(act.values) == 1:
        return as_read(Quantity(act.value, act.unit))
    places = limits.places(Quantity(act.value, act.unit), places_of(*act.values))
    return as_read(Quantity(shown(act.value, places), act.unit))


def taken(answer: Answer) -> str:
    """Return what is to be taken and what it gives, `3.20 mm, then 0.50 mm`; empty where nothing was chosen."""
    choice, predicted, unit = (answer.values.get(name) for name in ("choice", "predicted", "unit"))
    if not choice or predicted is None:
        return ""
    words = choice if isinstance(choice, str) else " + ".join(f"{size} {unit}" for size in cast(tuple[object], choice))
    return _("{pieces}, then {predicted}").format(pieces=words, predicted=f"{predicted} {unit}")
