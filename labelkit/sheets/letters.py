"""Letters that no font here can print: named before anything is printed, never an empty box on a label."""

from __future__ import annotations

import unicodedata
from typing import Any

from labelkit.drawing.fonts import missing_letters
from labelkit.errors import Problem
from labelkit.load.profile import LoadedProfile
from labelkit.load.yamltree import Key, parse


def letter_problems(loaded: LoadedProfile) -> list[Problem]:
    """Return a fault for every text of a profile with a letter that no font has."""
    if not missing_letters(loaded.source.decode("utf-8-sig")):
        return []
    tree = parse(loaded.source, loaded.file)
    found = []
    for path in tree.places:
        value = _value(tree.data, path)
        if isinstance(value, str) and (letters := missing_letters(value)):
            named = ", ".join(f"{letter} (U+{ord(letter):04X} {_name(letter)})" for letter in letters)
            message = f"no font here has the letter {named}; write it in other letters"
            found.append(tree.problem(path, message))
    return found


def _value(data: Any, path: tuple[Key, ...]) -> Any:
    for key in path:
        data = data[key]
    return data


def _name(letter: str) -> str:
    return unicodedata.name(letter, "without a name").lower()
