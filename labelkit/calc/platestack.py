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
from labelkit.language import gettext as _
from labelkit.language import spoken
from labelkit.model.plates import touching


def plate_stack(
    found: Sequence[str],
    wanted: Sequence[str],
    frictions: Collection[str],
    *,
    names: Mapping[str, str] | None = None,
    ends: tuple[str, str] | None = None,
    dished: Collection[str] = (),
    ticked: Collection[int] = (),
) -> Answer:
    """Hold a stack against the order it must have.

    Args:
        found: the plates as they lie, from the end where `wanted` begins.
        wanted: the plates as they must lie.
        frictions: which of them are friction plates.
        names: how plates are called, where not by themselves; one form for one and for many.
        ends: what the first and the last plate lie against; None: the piston, and the other end.
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
    places = touching(found, frictions)
    kinds = list(dict.fromkeys((*frictions, *wanted, *found)))
    kinds = [kind for kind in kinds if kind in have or kind in need]
    counts = ", ".join(
        _("{plates} {count} of {wanted}").format(plates=called(kind, need[kind]), count=have[kind], wanted=need[kind])
        for kind in kinds
        if _told(kind, have, need, frictions)
    )
    wrong = [place for place, (one, two) in enumerate(zip_longest(found, wanted), 1) if one != two]
    sums = [
        _("found:  {plates}").format(plates=" ".join(found) or _("nothing")),
        _("wanted: {plates}").format(plates=" ".join(wanted)),
    ]
    sums += [
        _("{plates}: {count} of {wanted}").format(plates=called(kind, need[kind]), count=have[kind], wanted=need[kind])
        for kind in kinds
    ]
    values: dict[str, Value] = {
        "counts": {kind: (have[kind], need[kind]) for kind in kinds},
        "touching": places,
        "wrong_places": tuple(wrong),
        "ends": _ends_right(found, wanted),
    }
    if wrong:
        against = ends or (_("the piston"), _("the other end"))
        line = _refusal(found, wanted, frictions, called, places, counts, against, wrong)
        return Answer("plates", "out", values, tuple(sums), (line,))
    open_places = tuple(k for k, plate in enumerate(found, 1) if plate in dished and k not in ticked)
    values["dish_open"] = open_places
    if open_places:
        which = ", ".join(f"{k} ({called(found[k - 1], 1)})" for k in open_places)
        look = _("look at the direction of the dish at {places} and tick it").format(places=which)
        return Answer("plates", "ask", values, tuple(sums), (look,))
    return Answer("plates", "ok", values, tuple(sums))


_SHORTEST_WORD: Final = 3
Called = Callable[[str, int], str]


def _caller(names: Mapping[str, str]) -> Called:
    def called(kind: str, count: int) -> str:
        name = names.get(kind, kind)
        # A letter is not made a word, and other languages have no such rule: there the name stands for one and many.
        single = count == 1 or len(name) < _SHORTEST_WORD or name.endswith("s") or spoken() != "en"
        return name if single else f"{name}s"

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
        faults.append(_("two frictions touch at places {places}").format(places=where))
    for place, (end, right) in zip((0, -1), zip(ends, _ends_right(found, wanted), strict=True), strict=True):
        # A plate that is missing at the end is told by its count.
        if not right and found and Counter(found) == Counter(wanted):
            told = _("{plate} belongs against {end}, not {other}")
            faults.append(told.format(plate=called(wanted[place], 1), end=end, other=called(found[place], 1)))
    if not faults:
        faults.append(_first_wrong(found, wanted, called, wrong[0]))
    told = _("NO: {faults}: {cure}")
    return told.format(faults="; ".join([*faults, counts]), cure=_cure(found, wanted, frictions, called, places))


def _first_wrong(found: Sequence[str], wanted: Sequence[str], called: Called, place: int) -> str:
    here = called(found[place - 1], 1) if place <= len(found) else _("nothing")
    right = called(wanted[place - 1], 1) if place <= len(wanted) else _("nothing")
    return _("place {place} has {found}, {wanted} belongs there").format(place=place, found=here, wanted=right)


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
            return _("put one {plate} between").format(plate=called(kind, 1))
    few, many = _("{count} {plates} missing"), _("{count} {plates} too many")
    words = [few.format(count=count, plates=called(kind, count)) for kind, count in missing.items()]
    words += [many.format(count=count, plates=called(kind, count)) for kind, count in over.items()]
    return ", ".join(words) or _("all are there, put them in their order")
