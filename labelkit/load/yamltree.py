"""YAML read without implicit typing: every scalar stays the text that was typed, with its place.

This is the only module that knows PyYAML. It listens to the parser's events instead of loading, because loading turns
`12:00` into 720, `00123` into 83 and `no` into False, keeps the second of two equal keys, and recurses.
"""

from __future__ import annotations

import re
from collections.abc import Iterator
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any, Final

import yaml

from labelkit.errors import InputError, InputErrors, Problem, printable, shortened
from labelkit.load.textfile import Place, decoded, end_of, read_bytes

LARGEST_FILE: Final = 16_000_000  # bytes; a profile of 10,000 parts has about 4 million
DEEPEST: Final = 24

Key = str | int
FieldPath = tuple[Key, ...]
_NOTHING: Final = ("", "~", "null")


@dataclass(slots=True)
class Tree:
    """A YAML document as plain text, lists and dicts, with the place of every value and key.

    Attributes:
        file: name of the file as the user gave it.
        data: None, str, list or dict of these.
        places: line and column (from 1) of each value, by its path.
        keys: line and column of each mapping key, by the path of its value.
        problems: duplicate keys, tags and aliases, found while reading.
    """

    file: str
    data: Any = None
    places: dict[FieldPath, Place] = field(default_factory=dict)
    keys: dict[FieldPath, Place] = field(default_factory=dict)
    problems: list[Problem] = field(default_factory=list)

    def place(self, path: FieldPath, *, key: bool = False) -> Place:
        """Return where a value (or its key) stands; for a path that is not there, where its parent stands."""
        table = self.keys if key else self.places
        while path and path not in table:
            path = path[:-1]
        return table.get(path) or self.places.get(path) or (1, 1)

    def problem(self, path: FieldPath, message: str, *, key: bool = False) -> Problem:
        """Return a fault at this path."""
        return self.problem_at(self.place(path, key=key), path, message)

    def problem_at(self, place: Place, path: FieldPath, message: str) -> Problem:
        """Return a fault at this place; what the file holds never reaches a terminal as a control character."""
        return Problem(self.file, *place, printable(path_text(path)), printable(message))


def path_text(path: FieldPath) -> str:
    """Return a path as people write it.

    >>> path_text(("parts", 3, "sits", "clock"))
    'parts[3].sits.clock'
    """
    text = ""
    for key in path:
        text += f"[{key}]" if isinstance(key, int) else f".{shortened(key)}" if text else shortened(key)
    return text


def read_file(path: Path, shown: str | None = None) -> bytes:
    """Return a file's bytes; say plainly why it cannot be read.

    Raises:
        InputError: missing, a folder, not readable, too large or empty.
    """
    name = shown or str(path)
    data = read_bytes(path, name, "YAML", LARGEST_FILE)
    if len(data) > LARGEST_FILE:
        raise InputError(f"{name}: the file has over {LARGEST_FILE / 1e6:.0f} MB; no profile is that large")
    if not data.strip():
        raise InputError(f"{name}: the file is empty")
    return data


def parse(data: bytes, file: str) -> Tree:
    """Read one YAML document.

    Args:
        data: the file's bytes, UTF-8.
        file: its name for messages.

    Raises:
        InputError: not text, or not YAML.
    """
    text = _text(data, file)
    tree = Tree(file)
    loader = getattr(yaml, "CBaseLoader", yaml.BaseLoader)
    try:
        tree.data = _Builder(tree, yaml.parse(text, Loader=loader)).document()
    except yaml.MarkedYAMLError as error:
        place = _place(mark) if (mark := error.problem_mark or error.context_mark) else (1, 1)
        reason = str(error.problem or error.context)
        hint = next((f"; {words}" for start, words in _HINTS.items() if reason.startswith(start)), "")
        raise InputErrors([tree.problem_at(place, (), f"is not YAML: {reason}{hint}")]) from error
    return tree


# What people mostly did when the parser says so.
_HINTS: Final = {
    "mapping values are not allowed": 'put a text that holds ": " in quotes',
    "found character": "indent with spaces, and put a text that begins with a sign in quotes",
    "did not find expected": "look for a bracket or quote that is not closed, or a line that is indented otherwise",
    "could not find expected ':'": "a field is written as NAME: VALUE",
    "exceeded maximum nesting depth": f"allowed: {DEEPEST} levels",
}
# All but the printable characters. Source: YAML 1.2.2, section 5.1.
_NO_YAML: Final = re.compile("[\0-\x08\x0b\x0c\x0e-\x1f\x7f-\x84\x86-\x9f\ud800-\udfff\ufeff\ufffe\uffff]")


def _text(data: bytes, file: str) -> str:
    """Return a file's text; say what else it is."""
    text = decoded(data, file, "YAML")
    if found := _NO_YAML.search(text):
        message = f"holds the control character U+{ord(found[0]):04X}; take it out"
        raise InputErrors([Problem(file, *end_of(text[: found.start()]), "", message)])
    return text


class _Builder:
    """Builds the tree from events; keeps its depth in hand instead of trusting the interpreter's stack."""

    def __init__(self, tree: Tree, events: Iterator[Any]) -> None:
        self.tree = tree
        self.events = events

    def document(self) -> Any:
        value: Any = None
        documents = 0
        for event in self.events:
            if isinstance(event, yaml.DocumentStartEvent):
                documents += 1
                if documents > 1:
                    second = "a second document starts; one is allowed"
                    raise InputErrors([self.tree.problem_at(_place(event.start_mark), (), second)])
                value = self._value(next(self.events), ())
        return value

    def _value(self, event: Any, path: FieldPath) -> Any:
        self.tree.places[path] = _place(event.start_mark)
        if len(path) > DEEPEST:
            raise InputErrors([self.tree.problem(path, f"nests deeper than {DEEPEST} levels")])
        if isinstance(event, yaml.AliasEvent):
            self._fault(path, f"the alias *{event.anchor} is not allowed; write the value itself")
            return None
        self._plain(event, path)
        if isinstance(event, yaml.ScalarEvent):
            plain = event.implicit[0] and event.style in (None, "")
            return None if plain and event.value in _NOTHING else event.value
        return self._list(path) if isinstance(event, yaml.SequenceStartEvent) else self._mapping(path)

    def _list(self, path: FieldPath) -> list[Any]:
        items: list[Any] = []
        while not isinstance(event := next(self.events), yaml.SequenceEndEvent):
            items.append(self._value(event, (*path, len(items))))
        return items

    def _mapping(self, path: FieldPath) -> dict[str, Any]:
        found: dict[str, Any] = {}
        while not isinstance(event := next(self.events), yaml.MappingEndEvent):
            place = _place(event.start_mark)
            if not isinstance(event, yaml.ScalarEvent):
                raise InputErrors([self.tree.problem_at(place, path, "a key is one word")])
            key = event.value
            here = (*path, key)
            if key in found:
                first = self.tree.keys[here][0]
                message = f"the key {shortened(key)} stands here twice (first in line {first}); keep one"
                self.tree.problems.append(self.tree.problem_at(place, here, message))
            self.tree.keys[here] = self.tree.places[here] = place
            self._plain(event, here)
            found[key] = self._value(next(self.events), here)
        return found

    def _plain(self, event: Any, path: FieldPath) -> None:
        """Note an anchor or a tag of a value or key."""
        if event.anchor:
            self._fault(path, f"the anchor &{event.anchor} is not allowed; write the value where it is used")
        if event.tag and event.tag != "!":
            self._fault(path, f"the tag {event.tag} is not allowed; take it out")

    def _fault(self, path: FieldPath, message: str) -> None:
        self.tree.problems.append(self.tree.problem(path, message))


def _place(mark: Any) -> Place:
    return mark.line + 1, mark.column + 1
