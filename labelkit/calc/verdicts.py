"""What the answer of a fit comes to, in words that are the same on paper, on a screen and on a page."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Final, cast

from labelkit.calc.answers import Answer, Verdict
from labelkit.language import gettext as _
from labelkit.language import noop

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


def taken(answer: Answer) -> str:
    """Return what is to be taken and what it gives, `3.20 mm, then 0.50 mm`; empty where nothing was chosen."""
    choice, predicted, unit = (answer.values.get(name) for name in ("choice", "predicted", "unit"))
    if not choice or predicted is None:
        return ""
    words = choice if isinstance(choice, str) else " + ".join(f"{size} {unit}" for size in cast(tuple[object], choice))
    return _("{pieces}, then {predicted}").format(pieces=words, predicted=f"{predicted} {unit}")
