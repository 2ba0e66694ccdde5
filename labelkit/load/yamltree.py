"""YAML read without implicit typing: every scalar stays the text that was typed, with its place.

This is the only module that knows PyYAML. It listens to the parser's events instead of loading, because loading turns
`12:00` into 720, `00123` into 83 and `no` into False, keeps the second of two equal keys, and recurses.
"""

from __future__ import annotations

import re
from collections.abc import Iterator
from dataclasses import dataclass, field
from functools import reduce
from operator import getitem
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
_QUOTES: Final = ("'", '"')
# What stands on either side of a decimal comma: the 0 and the 30 mm of 0,30 mm.
_WHOLE: Final = re.compile(r"[+-]?[0-9]+")
_DECIMALS: Final = re.compile(r"[0-9]+(?:[^0-9.,:/-].*)?")


@dataclass(slots=True)
class Tree:
    """A YAML document as plain text, lists and dicts, with the place of every value and key.

    Attributes:
        file: name of the file as the user gave it.
        data: None, str, list or dict of these.
        places: line and column (from 1) of each value, by its path.
        keys: line and column of each mapping key, by the path of its value.
        commas: of lists in brackets, by their paths, the values that may be the decimals of the one before: a comma
            and no blank stands between the two, as in [2,45].
        problems: duplicate keys, tags and aliases, found while reading.
    """

    file: str
    data: Any = None
    places: dict[FieldPath, Place] = field(default_factory=dict)
    keys: dict[FieldPath, Place] = field(default_factory=dict)
    commas: dict[FieldPath, tuple[int, ...]] = field(default_factory=dict)
    problems: list[Problem] = field(default_factory=list)

    def place(self, path: FieldPath, *, key: bool = False) -> Place:
        """Return where a value (or its key) stands; for a path that is not there, where its parent stands."""
        table = self.keys if key else self.places
        while path and path not in table:
            path = path[:-1]
        return table.get(path) or self.places.get(path) or (1, 1)

    def node(self, path: FieldPath) -> Any:
        """Return what stands at a path that is there."""
        return reduce(getitem, path, self.data)

    def mixes_commas(self, path: FieldPath) -> bool:
        """Say whether some commas of a list have a blank behind them and some have none: [2,45, 2,60].

        Figures that run on, as in [1,4,2, 5], have no decimal comma among them.
        """
        behind = self.commas[path]
        return len(behind) < len(self.node(path)) - 1 and not any(k + 1 in behind for k in behind)

    def join_commas(self, path: FieldPath) -> None:
        """Put the figures of a list together again that their decimal commas part."""
        items, behind = self.node(path), self.commas.pop(path)
        starts = [k for k in range(len(items)) if k not in behind]
        places = [self.places[(*path, k)] for k in starts]
        items[:] = [f"{items[k]},{items[k + 1]}" if k + 1 in behind else items[k] for k in starts]
        self.places |= {(*path, k): place for k, place in enumerate(places)}

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
    builder = _Builder(tree, yaml.parse(text, Loader=loader))
    try:
        tree.data = builder.document()
    except yaml.MarkedYAMLError as error:
        place, message = _not_yaml(error, text, builder.long_quote)
        raise InputErrors([tree.problem_at(place, (), f"is not YAML: {message}")]) from error
    return tree


# What people mostly did when the parser says so; with libyaml it words some of them otherwise.
_LOOK: Final = "look for a bracket or quote that is not closed, or a line that is indented otherwise"
_HINTS: Final = {
    "mapping values are not allowed": 'put a text that holds ": " in quotes',
    "found a tab character": "indent with spaces",
    "found character": "indent with spaces, and put a text that begins with a sign in quotes",
    "did not find expected": _LOOK,
    "expected": _LOOK,
    "could not find expected ':'": "a field is written as NAME: VALUE",
    "exceeded maximum nesting depth": f"allowed: {DEEPEST} levels",
}


def _not_yaml(error: yaml.MarkedYAMLError, text: str, long_quote: Any) -> tuple[Place, str]:
    """Return where a text ceases to be YAML, and why.

    Args:
        error: as the parser tells it.
        text: that it read.
        long_quote: the last text in quotes that runs over several lines; None: there is none before the error.
    """
    mark, begun, context = error.problem_mark or error.context_mark, error.context_mark, str(error.context)
    reason = str(error.problem or error.context)
    hint = next((f"; {words}" for start, words in _HINTS.items() if reason.startswith(start)), "")
    if mark is None:
        return (1, 1), f"{reason}{hint}"
    before = text[mark.index - mark.column : mark.index]
    if begun is not None and "quoted scalar" in context and "end of stream" in reason:
        return _place(begun), f"{reason}; the quote that opens here is not closed"
    if long_quote is not None and long_quote.end_mark.line == mark.line:
        told = "the quote that opens here is closed there only: look for one that is missing"
        return _place(long_quote.start_mark), f"{reason} in line {mark.line + 1}; {told}"
    if begun is not None and "simple key" in context:
        return _place(begun), f"{reason}{hint}"
    if begun is not None and "flow" in context:
        return _place(mark), f"{reason}{hint}; the bracket opens at {begun.line + 1}:{begun.column + 1}"
    if reason.startswith("mapping values") and ": " not in before:
        indent = len(before) - len(before.lstrip())
        return (mark.line + 1, indent + 1), f"{reason}; indent the field like those beside it, and{hint[1:]}"
    return _place(mark), f"{reason}{hint}"


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
        self.long_quote: Any = None  # the last text in quotes that runs over several lines

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
            if event.style in _QUOTES and _place(event.start_mark)[0] < _place(event.end_mark)[0]:
                self.long_quote = event
            return None if plain and event.value in _NOTHING else event.value
        if isinstance(event, yaml.SequenceStartEvent):
            return self._list(path, in_brackets=bool(event.flow_style))
        return self._mapping(path, in_brackets=bool(event.flow_style))

    def _list(self, path: FieldPath, *, in_brackets: bool) -> list[Any]:
        items: list[Any] = []
        behind: list[int] = []
        before = None
        while not isinstance(event := next(self.events), yaml.SequenceEndEvent):
            if in_brackets and _runs_on(before, event):
                behind.append(len(items))
            items.append(self._value(event, (*path, len(items))))
            before = event
        if behind:
            self.tree.commas[path] = tuple(behind)
        return items

    def _mapping(self, path: FieldPath, *, in_brackets: bool) -> dict[str, Any]:
        found: dict[str, Any] = {}
        key, value = "", None
        while not isinstance(event := next(self.events), yaml.MappingEndEvent):
            place = _place(event.start_mark)
            if not isinstance(event, yaml.ScalarEvent):
                raise InputErrors([self.tree.problem_at(place, path, "a key is one word")])
            before, value = value, next(self.events)
            if in_brackets and _runs_on(before, event) and _is_left_out(value):
                # No field is called 30: in {t: 0,30} they are the decimals of the 0.
                found[key] = f"{found[key]},{event.value}"
                continue
            key = event.value
            here = (*path, key)
            if key in found:
                first = self.tree.keys[here][0]
                message = f"the key {shortened(key)} stands here twice (first in line {first}); keep one"
                self.tree.problems.append(self.tree.problem_at(place, here, message))
                for stale in [each for each in self.tree.commas if each[: len(here)] == here]:
                    del self.tree.commas[stale]  # the value that is kept is the second
            self.tree.keys[here] = self.tree.places[here] = place
            self._plain(event, here)
            found[key] = self._value(value, here)
        return found

    def _plain(self, event: Any, path: FieldPath) -> None:
        """Note an anchor or a tag of a value or key."""
        if event.anchor:
            self._fault(path, f"the anchor &{event.anchor} is not allowed; write the value where it is used")
        if event.tag and event.tag != "!":
            self._fault(path, f"the tag {event.tag} is not allowed; take it out")

    def _fault(self, path: FieldPath, message: str) -> None:
        self.tree.problems.append(self.tree.problem(path, message))


def _runs_on(one: Any, two: Any) -> bool:
    """Say whether two values or keys in brackets are plain figures with a comma and no blank between them."""
    if not (isinstance(one, yaml.ScalarEvent) and isinstance(two, yaml.ScalarEvent)):
        return False
    line, column = _place(one.end_mark)
    plain = one.implicit[0] and two.implicit[0] and (line, column + 1) == _place(two.start_mark)
    return plain and bool(_WHOLE.fullmatch(one.value) and _DECIMALS.fullmatch(two.value))


def _is_left_out(value: Any) -> bool:
    """Say whether a key has no value at all."""
    return isinstance(value, yaml.ScalarEvent) and _place(value.start_mark) == _place(value.end_mark)


def _place(mark: Any) -> Place:
    return mark.line + 1, mark.column + 1
