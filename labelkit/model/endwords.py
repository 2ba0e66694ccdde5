"""Which end of a part points up, in words."""

from __future__ import annotations

from functools import cache
from typing import Final

from labelkit.language import LANGUAGES, noop, speaking
from labelkit.language import gettext as _

# The words for a form's characteristic end (`Form.way`), pointing up and pointing down: those that everybody in the
# trade uses, and those of which the profile's own words say more.
_USUAL: Final = {
    "LARGE EDGE": (noop("LARGE EDGE UP"), noop("LARGE EDGE DOWN")),
    "LARGE END": (noop("LARGE END UP"), noop("LARGE END DOWN")),
    "LIP": (noop("LIP UP"), noop("LIP DOWN")),
    "SHARP EDGE": (noop("SHARP EDGE UP"), noop("SHARP EDGE DOWN")),
    "SMALL END": (noop("SMALL END UP"), noop("SMALL END DOWN")),
}
_ENDS: Final = _USUAL | {
    "FIRST STEP": (noop("FIRST STEP UP"), noop("FIRST STEP DOWN")),
    "HEAD": (noop("HEAD UP"), noop("HEAD DOWN")),
    "LONG BOSS": (noop("LONG BOSS UP"), noop("LONG BOSS DOWN")),
    "MARKED END": (noop("MARKED END UP"), noop("MARKED END DOWN")),
    "MARKED SIDE": (noop("MARKED SIDE UP"), noop("MARKED SIDE DOWN")),
    "MOUTH": (noop("MOUTH UP"), noop("MOUTH DOWN")),
    "OPEN": (noop("OPEN UP"), noop("OPEN DOWN")),
    "OPEN SIDE": (noop("OPEN SIDE UP"), noop("OPEN SIDE DOWN")),
    "PLANETS": (noop("PLANETS UP"), noop("PLANETS DOWN")),
    "SKIRT": (noop("SKIRT UP"), noop("SKIRT DOWN")),
}


def usual(end: str) -> bool:
    """Say whether everybody in the trade calls an end so."""
    return end in _USUAL


def end_words(end: str, opens: str) -> str:
    """Return where an end points: `LIP UP`.

    Args:
        end: the word for it, as `model.form.Form.way` has it.
        opens: `up` or `down`.
    """
    up, down = _ENDS[end]
    words = down if opens == "down" else up
    return _(words)


def end_told(words: str | None) -> str | None:
    """Return the end that a remark names and nothing else, in whatever language; None where it says anything else.

    A part that was captured without all of its sizes has no form, but keeps the words of the button that was tapped,
    in its capitals. A remark without them is a remark, and is not looked up: every catalogue would be read for it.

    >>> end_told("LIP DOWN"), end_told("lip toward the oil")
    ('LIP', None)
    """
    return _ends_by_words().get(words) if words and words.isupper() else None


@cache
def _ends_by_words() -> dict[str, str]:
    found = {}
    for name in LANGUAGES:
        with speaking(name):
            found.update({_(words): end for end, both in _ENDS.items() for words in both})
    return found
