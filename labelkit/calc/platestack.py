"""Is a pack of plates stacked as it must be?

Source: common practice, no source: the order comes from the unit's own data, which must name every plate.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Callable, Collection, Mapping, Sequence
from itertools import zip_longest
from typing import Final

from labelkit.calc.answers import Answer, Value
from labelkit.errors import UsageError
from labelkit.model.plates import touching


def plate_stack(
    found: Sequence[str],
    wanted: Sequence[str],
    frictions: Collection[str],
    *,
    names: Mapping[str, str] | None = None,
    ends: tuple[str, str] = ("the piston", "the other end"),
    dished: Collection[str] = (),
    ticked: Collection[int] = (),
) -> Answer:
    """Hold a stack against the order it must have.

    Args:
        found: the plates as they lie, from the end where `wanted` begins.
        wanted: the plates as they must lie.
        frictions: which of them are friction plates.
        names: how plates are called, where not by themselves; one form for one and for many.
        ends: what the first and the last plate lie against.
        dished: plates whose dish has a direction.
        ticked: places, from 1, of dished plates whose direction was looked at.

    Returns:
        `ok`; `out` with one line that says which places and what to do; `ask` where only a dish is not looked at.

    Raises:
        UsageError: nothing is wanted.

    >>> answer = plate_stack("S F S F S F F S F".split(), "S F S F S F S F S F".split(), ["F"],
    ...                      names={"S": "steel", "F": "friction"})
    >>> answer.notes[0]
    'NO: two frictions touch at places 6/7; frictions 5 of 5, steels 4 of 5: put one steel between'
    """
    if not wanted:
        raise UsageError("plates: the order they must have is empty; allowed: at least one plate")
    called = _caller(names or {})
    have, need = Counter(found), Counter(wanted)
    places = touching(found, frictions.__contains__)
    kinds = list(dict.fromkeys((*frictions, *wanted, *found)))
    kinds = [kind for kind in kinds if kind in have or kind in need]
    counts = ", ".join(
        f"{called(kind, need[kind])} {have[kind]} of {need[kind]}"
        for kind in kinds
        if _told(kind, have, need, frictions)
    )
    wrong = [place for place, (one, two) in enumerate(zip_longest(found, wanted), 1) if one != two]
    sums = [f"found:  {' '.join(found) or 'nothing'}", f"wanted: {' '.join(wanted)}"]
    sums += [f"{called(kind, need[kind])}: {have[kind]} of {need[kind]}" for kind in kinds]
    values: dict[str, Value] = {
        "counts": {kind: (have[kind], need[kind]) for kind in kinds},
        "touching": places,
        "wrong_places": tuple(wrong),
        "ends": _ends_right(found, wanted),
    }
    if wrong:
        line = _refusal(found, wanted, frictions, called, places, counts, ends, wrong)
        return Answer("plates", "out", values, tuple(sums), (line,))
    open_places = tuple(k for k, plate in enumerate(found, 1) if plate in dished and k not in ticked)
    values["dish_open"] = open_places
    if open_places:
        which = ", ".join(f"{k} ({called(found[k - 1], 1)})" for k in open_places)
        return Answer(
            "plates", "ask", values, tuple(sums), (f"look at the direction of the dish at {which} and tick it",)
        )
    return Answer("plates", "ok", values, tuple(sums))


SHORTEST_WORD: Final = 3
Called = Callable[[str, int], str]


def _caller(names: Mapping[str, str]) -> Called:
    def called(kind: str, count: int) -> str:
        name = names.get(kind, kind)
        # A letter is not made a word.
        return name if count == 1 or len(name) < SHORTEST_WORD or name.endswith("s") else f"{name}s"

    return called


def _told(kind: str, have: Counter[str], need: Counter[str], frictions: Collection[str]) -> bool:
    """Whether the one line counts a kind: frictions, the plates between them, and whatever is not complete."""
    return kind in frictions or need[kind] > 1 or have[kind] != need[kind]


def _ends_right(found: Sequence[str], wanted: Sequence[str]) -> tuple[bool, bool]:
    return (bool(found) and found[0] == wanted[0], bool(found) and found[-1] == wanted[-1])


def _refusal(
    found: Sequence[str],
    wanted: Sequence[str],
    frictions: Collection[str],
    called: Called,
    places: tuple[tuple[int, int], ...],
    counts: str,
    ends: tuple[str, str],
    wrong: Sequence[int],
) -> str:
    """Return the one line: what is wrong, where, the counts, what to do."""
    faults = []
    if places:
        where = ", ".join(f"{one}/{two}" for one, two in places)
        faults.append(f"two frictions touch at places {where}")
    for place, (end, right) in zip((0, -1), zip(ends, _ends_right(found, wanted), strict=True), strict=True):
        # A plate that is missing at the end is told by its count.
        if not right and found and Counter(found) == Counter(wanted):
            faults.append(f"{called(wanted[place], 1)} belongs against {end}, not {called(found[place], 1)}")
    if not faults:
        faults.append(_first_wrong(found, wanted, called, wrong[0]))
    return f"NO: {'; '.join([*faults, counts])}{_cure(found, wanted, frictions, called, places)}"


def _first_wrong(found: Sequence[str], wanted: Sequence[str], called: Called, place: int) -> str:
    here = called(found[place - 1], 1) if place <= len(found) else "nothing"
    right = called(wanted[place - 1], 1) if place <= len(wanted) else "nothing"
    return f"place {place} has {here}, {right} belongs there"


def _cure(
    found: Sequence[str],
    wanted: Sequence[str],
    frictions: Collection[str],
    called: Called,
    places: tuple[tuple[int, int], ...],
) -> str:
    missing, over = Counter(wanted) - Counter(found), Counter(found) - Counter(wanted)
    if places and not over and len(missing) == 1 and len(places) == sum(missing.values()):
        kind = next(iter(missing))
        if kind not in frictions:
            return f": put one {called(kind, 1)} between"
    words = [f"{count} {called(kind, count)} missing" for kind, count in missing.items()]
    words += [f"{count} {called(kind, count)} too many" for kind, count in over.items()]
    return f": {', '.join(words)}" if words else ": all are there, put them in their order"
