"""What the capture calls forms and their sizes."""

from __future__ import annotations

from typing import Final

from labelkit.calc.measured import OWN_WORDS, SIZE_WORDS
from labelkit.errors import Problem, printable
from labelkit.language import gettext as _
from labelkit.language import noop, spoken
from labelkit.model.form import FORMS
from labelkit.model.formwords import form_words
from labelkit.sheets.wording import capital

# Words of sizes that are shorter than elsewhere, since three fields stand side by side on a phone.
_SHORT: Final = {
    "outside diameter": noop("Outside Ø"),
    "inside diameter": noop("Inside Ø"),
    "diameter": noop("Ø"),
    "thread diameter": noop("Thread Ø"),
    "shaft or bore diameter": noop("Shaft or bore Ø"),
    "diameter over the planets": noop("Ø over the planets"),
    "length under the head": noop("Length under head"),
    "section": noop("Section Ø"),
    "bore": noop("Bore Ø"),
    "wire": noop("Wire Ø"),
}
# Sizes that nobody measures again.
_ONLY_CAPTURED: Final = {
    "wall": noop("Wall"),
    "floor": noop("Floor"),
    "flange_od": noop("Flange Ø"),
    "flange_t": noop("Flange thickness"),
    "module": noop("Module"),
    "planet_od": noop("Planet Ø"),
    "coils": noop("Coils"),
    "gap": noop("Gap"),
    "waves": noop("Waves"),
    "fits": noop("Sits on or in"),
    "head": noop("Head"),
    "lip": noop("Lip"),
    "ears": noop("Ears"),
    "steps": noop("Steps, Ø x length"),
}
CAPTURED_SIZES: Final = {**SIZE_WORDS, **_ONLY_CAPTURED}
"""The sizes that the capture asks for, with their words elsewhere."""
# What a size that is one of a few words may be, as the format has it.
_CHOICES: Final = {
    "shaft": noop("shaft"),
    "bore": noop("bore"),
    "inner": noop("inner"),
    "outer": noop("outer"),
    "hex": noop("hexagon"),
    "socket": noop("socket"),
    "countersunk": noop("countersunk (length with head)"),
    "flange": noop("flange"),
}
_LONG: Final = 13  # letters: so long a word is too wide for the button of a kind
_KINDS: Final = {"ring": noop("washer, ring"), "block": noop("block, box"), "drum": noop("drum, cup")}


def size_words(kind: str, name: str) -> str:
    """Return what a size of a kind is called: `Outside Ø`."""
    words = OWN_WORDS.get((kind, name)) or CAPTURED_SIZES[name]
    return capital(_(_SHORT.get(words, words)))


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


def button_words(kind: str) -> str:
    """Return the words of a kind for its narrow button: a long compound may be parted before the word it ends with.

    >>> from labelkit.language import speaking
    >>> with speaking("de"):
    ...     button_words("plug").replace("\u00ad", "-"), button_words("gear")
    ('Verschluss-schraube', 'Zahnrad')
    """
    words = kind_words(kind)
    ends = {word.lower() for word, _kind, language in form_words() if language == spoken() and len(word) < len(words)}
    end = max(filter(words.endswith, ends), key=len, default="")
    return f"{words.removesuffix(end)}\u00ad{end}" if end and len(words) >= _LONG else words


def _usual(kind: str) -> str:
    """Return the usual word of a kind; that of English where the language has none yet."""
    words = {language: word for word, of, language in reversed(form_words()) if of == kind}
    return words.get(spoken(), words["en"])
