"""What a valid profile leaves unsaid, or says so that sizes, sums or people trip over it: hints, never faults.

A rule is a function of a `Subject`: the profile, the tree of its file and the folder of its photos. Its name in the
table is the kind of all hints that it gives, and the first line of its docstring says why it matters. Each hint says
what to write.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Final

from labelkit.errors import Problem
from labelkit.load.profile import LoadedProfile
from labelkit.load.yamltree import FieldPath, Tree, parse
from labelkit.sheets.hints import alike, bodies, order, recorded, setting, together, working
from labelkit.sheets.hints.subject import Rule, Subject

RULES: Final[Mapping[str, Rule]] = {
    **recorded.RULES,
    **alike.RULES,
    **together.RULES,
    **bodies.RULES,
    **setting.RULES,
    **order.RULES,
    **working.RULES,
}
"""The rule of each kind of hint."""

# Tables of the file whose entries stand under a name: a hint about one points at the name.
_NAMED: Final = frozenset(("options", "tools", "series", "fits"))


@dataclass(frozen=True, slots=True, order=True)
class Hint:
    """One hint at its place.

    Attributes:
        problem: its place and what is said.
        kind: which rule gave it.
    """

    problem: Problem
    kind: str

    def __str__(self) -> str:
        return f"{self.problem} [{self.kind}]"


def hints(loaded: LoadedProfile, kinds: Mapping[str, Rule] = RULES) -> list[Hint]:
    """Return every hint of a profile, in the order of the file; none where nothing is missing.

    Args:
        loaded: a profile without faults.
        kinds: the rules that are asked.
    """
    tree = parse(loaded.source, loaded.file)
    subject = Subject(loaded.profile, tree, loaded.folder)
    found = {Hint(_placed(tree, path, text), kind) for kind, rule in kinds.items() for path, text in rule(subject)}
    return sorted(found)


def _placed(tree: Tree, path: FieldPath, text: str) -> Problem:
    named = len(path) == 2 and path[0] in _NAMED
    return tree.problem_at(tree.place(path, key=named), path, f"hint: {text}")
