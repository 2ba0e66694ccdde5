"""What the capture calls forms and their sizes."""

from __future__ import annotations

from typing import Final

from labelkit.language import gettext as _
from labelkit.language import noop, spoken
from labelkit.model.formwords import form_words
from labelkit.sheets.wording import capital

_WORDS: Final = {
    "od": noop("Outside Ø"),
    "id": noop("Inside Ø"),
    "t": noop("Thickness"),
    "h": noop("Height"),
    "w": noop("Width"),
    "b": noop("Width"),
    "l": noop("Length"),
    "d": noop("Ø"),
    "section": noop("Section Ø"),
    "wall": noop("Wall"),
    "floor": noop("Floor"),
    "bore": noop("Bore Ø"),
    "flange_od": noop("Flange Ø"),
    "flange_t": noop("Flange thickness"),
    "teeth": noop("Teeth"),
    "module": noop("Module"),
    "width": noop("Width"),
    "planets": noop("Planets"),
    "planet_od": noop("Planet Ø"),
    "wire": noop("Wire Ø"),
    "length": noop("Free length"),
    "coils": noop("Coils"),
    "gap": noop("Gap"),
    "lugs": noop("Lugs"),
    "waves": noop("Waves"),
    "fits": noop("Sits on or in"),
    "head": noop("Head"),
    "lip": noop("Lip"),
    "ears": noop("Ears"),
    "steps": noop("Steps, Ø x length"),
    "splines": noop("Steps with splines"),
}
_OWN_WORDS: Final = {
    ("snap_ring", "d"): noop("Shaft or bore Ø"),
    ("wave_spring", "h"): noop("Free height"),
    ("disc_spring", "h"): noop("Free height"),
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
    return _(_OWN_WORDS.get((kind, name), _WORDS[name]))


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
