"""What the capture calls forms and their sizes."""

from __future__ import annotations

from typing import Final

from labelkit.calc.newsizes import SIZE_WORDS
from labelkit.errors import Problem, printable
from labelkit.language import gettext as _
from labelkit.language import noop, spoken
from labelkit.model.form import FORMS
from labelkit.model.formwords import form_words
from labelkit.sheets.wording import capital

# Shorter than elsewhere, since three fields stand side by side on a phone; and those that nobody measures again.
SHORT_WORDS: Final = {
    "od": noop("Outside Ø"),
    "id": noop("Inside Ø"),
    "d": noop("Ø"),
    "section": noop("Section Ø"),
    "wall": noop("Wall"),
    "floor": noop("Floor"),
    "bore": noop("Bore Ø"),
    "flange_od": noop("Flange Ø"),
    "flange_t": noop("Flange thickness"),
    "module": noop("Module"),
    "planet_od": noop("Planet Ø"),
    "wire": noop("Wire Ø"),
    "coils": noop("Coils"),
    "gap": noop("Gap"),
    "waves": noop("Waves"),
    "fits": noop("Sits on or in"),
    "head": noop("Head"),
    "lip": noop("Lip"),
    "ears": noop("Ears"),
    "steps": noop("Steps, Ø x length"),
}
_OWN_WORDS: Final = {
    ("snap_ring", "d"): noop("Shaft or bore Ø"),
    ("wave_spring", "h"): noop("Free height"),
    ("disc_spring", "h"): noop("Free height"),
    **dict.fromkeys((("bolt", "d"), ("nut", "d"), ("plug", "d")), noop("Thread Ø")),
}
# What a size that is one of a few words may be, as the format has it.
_CHOICES: Final = {
    "shaft": noop("shaft"),
    "bore": noop("bore"),
    "inner": noop("inner"),
    "outer": noop("outer"),
    "hex": noop("hexagon"),
    "socket": noop("socket"),
    "countersunk": noop("countersunk"),
    "flange": noop("flange"),
}
_KINDS: Final = {"ring": noop("washer, ring"), "block": noop("block, box"), "drum": noop("drum, cup")}


def size_words(kind: str, name: str) -> str:
    """Return what a size of a kind is called: `Outside Ø`."""
    words = _OWN_WORDS.get((kind, name)) or SHORT_WORDS.get(name) or SIZE_WORDS[name]
    return capital(_(words))


def problem_words(problem: Problem, kind: str = "") -> str:
    """Return what is wrong, in the language that is spoken, with sizes called as the form of a kind asks for them."""
    if not problem.template:
        return problem.message
    sizes = FORMS[kind].model_fields if kind else {}
    told = {name: size_words(kind, text) if text in sizes else text for name, text in problem.values}
    if "allowed" in told:
        told["allowed"] = _(told["allowed"])
    return printable(_(problem.template).format(**told))


def choice_words(word: str) -> str:
    """Return what a choice of a size is called: `countersunk`; `word` is that of the format."""
    return _(_CHOICES[word])


def kind_name(kind: str) -> str:
    """Return the name of a part of which nothing but its kind is told: `Snap ring`."""
    return capital(_usual(kind))


def kind_words(kind: str) -> str:
    """Return what the trade calls a kind: its first word, or more where that would be too narrow."""
    if kind in _KINDS:
        return _(_KINDS[kind])
    return _usual(kind)


def _usual(kind: str) -> str:
    """Return the usual word of a kind; that of English where the language has none yet."""
    words = {language: word for word, of, language in reversed(form_words()) if of == kind}
    return words.get(spoken(), words["en"])
