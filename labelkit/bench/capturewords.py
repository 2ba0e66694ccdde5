"""What the capture calls forms and their sizes."""

from __future__ import annotations

from typing import Final

from labelkit.model.formwords import form_words

_WORDS: Final = {
    "od": "Outside Ø",
    "id": "Inside Ø",
    "t": "Thickness",
    "h": "Height",
    "w": "Width",
    "b": "Width",
    "l": "Length",
    "d": "Ø",
    "section": "Section Ø",
    "wall": "Wall",
    "floor": "Floor",
    "bore": "Bore Ø",
    "flange_od": "Flange Ø",
    "flange_t": "Flange thickness",
    "teeth": "Teeth",
    "module": "Module",
    "width": "Width",
    "planets": "Planets",
    "planet_od": "Planet Ø",
    "wire": "Wire Ø",
    "length": "Free length",
    "coils": "Coils",
    "gap": "Gap",
    "lugs": "Lugs",
    "waves": "Waves",
    "fits": "Sits on or in",
    "head": "Head",
    "lip": "Lip",
    "ears": "Ears",
    "steps": "Steps, Ø x length",
    "splines": "Steps with splines",
}
_OWN_WORDS: Final = {
    ("snap_ring", "d"): "Shaft or bore Ø",
    ("wave_spring", "h"): "Free height",
    ("disc_spring", "h"): "Free height",
}
_KINDS: Final = {"ring": "washer, ring", "block": "block, box", "drum": "drum, cup"}


def size_words(kind: str, name: str) -> str:
    """Return what a size of a kind is called: `Outside Ø`."""
    return _OWN_WORDS.get((kind, name), _WORDS[name])


def kind_words(kind: str) -> str:
    """Return what the trade calls a kind: its first word, or more where that would be too narrow."""
    return _KINDS.get(kind) or next(word for word, of, language in form_words() if of == kind and language == "en")
