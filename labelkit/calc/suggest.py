"""What a part is probably called and what it probably is, while its name is typed."""

from __future__ import annotations

import difflib
from collections import Counter
from collections.abc import Collection, Iterable, Iterator
from dataclasses import dataclass
from typing import Final

from labelkit.language import spoken
from labelkit.model.formwords import folded, form_words, kinds_of
from labelkit.model.profile import Profile

MOST: Final = 8
# As near as this, a word is taken for another with a slip of the thumb. Chosen by trying, no source.
_SLIP: Final = 0.75
_EXACT, _START, _WORD, _INSIDE, _NEAR, _NO = range(6)


@dataclass(frozen=True, slots=True)
class Suggestion:
    """A name with the form that it goes with.

    Attributes:
        name: as it was written before, or as the trade says.
        kind: of form; None when neither the name nor anybody before says.
        times: how often parts were called so before; 0: it comes from the forms.
    """

    name: str
    kind: str | None
    times: int


def names_before(profiles: Iterable[Profile]) -> Counter[tuple[str, str | None]]:
    """Return how often each name was given to a part of each form."""
    return Counter(
        (part.name, part.form.kind if part.form else None) for profile in profiles for _, part in profile.walk()
    )


def suggest(typed: str, before: Counter[tuple[str, str | None]], here: Collection[str] = ()) -> tuple[Suggestion, ...]:
    """Return `MOST` names at most for what is typed so far, the likeliest first; none for no letter.

    What was typed before stands above the forms' own words where both fit equally well, names of the same unit above
    those of others, the frequent above the rare, then the short above the long. Case, accents and signs do not count.
    The forms' words are those of the language that is spoken; of the others, where nothing fits but by a slip, those
    that are typed without one.

    Args:
        typed: any text.
        before: names of parts with their forms, and how often.
        here: those of them that the same unit has.

    >>> [each.name for each in suggest("lip s", Counter({("Lip seal 40 x 60 x 8", "lip_seal"): 1}))]
    ['Lip seal 40 x 60 x 8', 'Lip seal']
    """
    wanted = folded(typed)
    found: dict[str, tuple[tuple[int, bool, int, int, str], Suggestion]] = {}

    def look(offered: Iterable[Suggestion], worst: int = _NEAR) -> None:
        for each in offered:
            fit = _fit(wanted, folded(each.name))
            order = (fit, each.name not in here, -each.times, len(each.name), each.name)
            same = found.get(folded(each.name))
            if fit <= worst and (same is None or order < same[0]):
                found[folded(each.name)] = order, each

    if wanted:
        look(_before(before))
        look(_trade(own=True))
        if all(order[0] == _NEAR for order, _ in found.values()):
            look(_trade(own=False), worst=_INSIDE)
    return tuple(suggestion for _, suggestion in sorted(found.values(), key=lambda pair: pair[0])[:MOST])


def kinds(name: str, before: Counter[tuple[str, str | None]]) -> tuple[str, ...]:
    """Return the forms that a part of this name may have, the likeliest first.

    What the same name had before comes first, then what the words of the name say; empty when nothing tells.
    """
    wanted = folded(name)
    counted: Counter[str] = Counter()
    for (known, kind), times in before.items():
        if kind is not None and folded(known) == wanted:
            counted[kind] += times
    return tuple(dict.fromkeys([*(kind for kind, _ in counted.most_common()), *kinds_of(name)]))


def _trade(*, own: bool) -> Iterator[Suggestion]:
    """Yield the forms' words of the language that is spoken, or of the others."""
    for word, kind, language in form_words():
        if (language == spoken()) is own:
            yield Suggestion(word[:1].upper() + word[1:], kind, 0)


def _before(before: Counter[tuple[str, str | None]]) -> Iterator[Suggestion]:
    for (name, kind), times in before.items():
        yield Suggestion(name, kind or next(iter(kinds_of(name)), None), times)


def _fit(wanted: str, name: str) -> int:
    """Return how well a name fits what is typed, best first; both are folded."""
    if wanted == name:
        return _EXACT
    if name.startswith(wanted):
        return _START
    words = name.split()
    if all(any(word.startswith(piece) for word in words) for piece in wanted.split()):
        return _WORD
    if wanted in name:
        return _INSIDE
    near = len(wanted) > 3 and difflib.SequenceMatcher(None, wanted, name[: len(wanted)]).ratio() >= _SLIP
    return _NEAR if near else _NO
