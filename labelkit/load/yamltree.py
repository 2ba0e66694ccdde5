"""YAML read without implicit typing: every scalar stays the text that was typed, with its place.

This is the only module that knows PyYAML. It listens to the parser's events instead of loading, because loading turns
`12:00` into 720, `00123` into 83 and `no` into False, keeps the second of two equal keys, and recurses.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any, Final

import yaml

from labelkit.errors import InputError, InputErrors, Problem

LARGEST_FILE: Final = 16_000_000  # bytes; a profile of 10,000 parts has about 4 million
DEEPEST: Final = 24

Place = tuple[int, int]
Key = str | int
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
    places: dict[tuple[Key, ...], Place] = field(default_factory=dict)
    keys: dict[tuple[Key, ...], Place] = field(default_factory=dict)
    problems: list[Problem] = field(default_factory=list)

    def place(self, path: tuple[Key, ...], *, key: bool = False) -> Place:
        """Return where a value (or its key) stands; for a path that is not there, where its parent stands."""
        table = self.keys if key else self.places
        while path and path not in table:
            path = path[:-1]
        return table.get(path) or self.places.get(path) or (1, 1)

    def problem(self, path: tuple[Key, ...], message: str, *, key: bool = False) -> Problem:
        """Return a fault at this path."""
        return Problem(self.file, *self.place(path, key=key), path_text(path), message)


def path_text(path: tuple[Key, ...]) -> str:
    """Return a path as people write it.

    >>> path_text(("parts", 3, "sits", "clock"))
    'parts[3].sits.clock'
    """
    text = ""
    for key in path:
        text += f"[{key}]" if isinstance(key, int) else f".{key}" if text else str(key)
    return text


def read_file(path: Path, shown: str | None = None) -> bytes:
    """Return a file's bytes; say plainly why it cannot be read.

    Raises:
        InputError: missing, a folder, not readable, too large or empty.
    """
    name = shown or str(path)
    try:
        size = path.stat().st_size
        if size > LARGEST_FILE:
            raise InputError(f"{name}: the file has {size / 1e6:.0f} MB; allowed: at most {LARGEST_FILE / 1e6:.0f} MB")
        data = path.read_bytes()
    except FileNotFoundError as error:
        raise InputError(f"{name}: there is no such file") from error
    except IsADirectoryError as error:
        raise InputError(f"{name}: is a folder; a YAML file is wanted here") from error
    except OSError as error:
        raise InputError(f"{name}: cannot be read: {error.strerror}") from error
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
    try:
        text = data.decode("utf-8-sig")
    except UnicodeDecodeError as error:
        raise InputError(f"{file}: is not UTF-8 text (byte {error.start}); save it as UTF-8") from error
    if "\0" in text:
        raise InputError(f"{file}: is a binary file; a YAML text file is wanted here")
    tree = Tree(file)
    loader = getattr(yaml, "CBaseLoader", yaml.BaseLoader)
    try:
        tree.data = _Builder(tree, yaml.parse(text, Loader=loader)).document()
    except yaml.MarkedYAMLError as error:
        mark = error.problem_mark or error.context_mark
        line, column = (mark.line + 1, mark.column + 1) if mark else (1, 1)
        message = f"is not YAML: {error.problem or error.context}"
        raise InputErrors([Problem(file, line, column, "", message)]) from error
    except yaml.YAMLError as error:
        raise InputError(f"{file}: is not YAML: {error}") from error
    return tree


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
                    raise InputErrors(
                        [Problem(self.tree.file, *_place(event), "", "a second document starts; one is allowed")]
                    )
                value = self._value(next(self.events), ())
        return value

    def _value(self, event: Any, path: tuple[Key, ...]) -> Any:
        self.tree.places[path] = _place(event)
        if len(path) > DEEPEST:
            raise InputErrors([self.tree.problem(path, f"nests deeper than {DEEPEST} levels")])
        if isinstance(event, yaml.AliasEvent):
            self._fault(path, f"the alias *{event.anchor} is not allowed; write the value itself")
            return None
        if event.anchor:
            self._fault(path, f"the anchor &{event.anchor} is not allowed; write the value where it is used")
        if event.tag and event.tag != "!":
            self._fault(path, f"the tag {event.tag} is not allowed; take it out")
        if isinstance(event, yaml.ScalarEvent):
            plain = event.implicit[0] and event.style in (None, "")
            return None if plain and event.value in _NOTHING else event.value
        return self._list(path) if isinstance(event, yaml.SequenceStartEvent) else self._mapping(path)

    def _list(self, path: tuple[Key, ...]) -> list[Any]:
        items: list[Any] = []
        while not isinstance(event := next(self.events), yaml.SequenceEndEvent):
            items.append(self._value(event, (*path, len(items))))
        return items

    def _mapping(self, path: tuple[Key, ...]) -> dict[str, Any]:
        found: dict[str, Any] = {}
        while not isinstance(event := next(self.events), yaml.MappingEndEvent):
            if not isinstance(event, yaml.ScalarEvent):
                raise InputErrors([Problem(self.tree.file, *_place(event), path_text(path), "a key is one word")])
            key = event.value
            here = (*path, key)
            first = self.tree.keys.get(here)
            second = _place(event)
            if key in found and first:
                message = f"the key {key} stands here twice (first in line {first[0]}); keep one"
                self.tree.problems.append(Problem(self.tree.file, *second, path_text(here), message))
            self.tree.keys[here] = second
            found[key] = self._value(next(self.events), here)
        return found

    def _fault(self, path: tuple[Key, ...], message: str) -> None:
        self.tree.problems.append(self.tree.problem(path, message))


def _place(event: Any) -> Place:
    return event.start_mark.line + 1, event.start_mark.column + 1
