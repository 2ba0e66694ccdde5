"""What the program itself writes into notes of the record: kept in English, said in the language that is spoken.

A note is made of pieces. What people wrote in it stays as it was typed.
"""

from __future__ import annotations

import re
from functools import cache
from typing import Final

from labelkit.language import gettext as _
from labelkit.language import noop

GASKETS: Final = {
    "none": noop("gasket: none belongs here"),
    "pressed": noop("gasket: in, pressed"),
    "new": noop("gasket: in, new, not pressed"),
    "out": noop("gasket: left out"),
}
WAVES: Final = {
    "free": noop("wave plate free"),
    "flat": noop("wave plate flat"),
    "none": noop("no wave plate"),
}
ADDED: Final = noop("{size} added for it")
DRAG: Final = noop("drag of the seal {size}, taken away")
TRIALS: Final = noop("trials {list}")
DEPTH: Final = noop("depth")
PLATE: Final = noop("{plate} measured")
SEATED: Final = noop("seated anew before each")
THEN: Final = noop("then {size}")
LAID: Final = noop("plates scanned one by one, {count} of {total} in their order: {list}")
_KEPT: Final = (*GASKETS.values(), *WAVES.values(), ADDED, DRAG, TRIALS, DEPTH, PLATE, SEATED, THEN, LAID)
# What a field may hold, so that words which somebody typed are not taken for the program's own.
_FIELDS: Final = {
    "count": r"\d+",
    "list": r"\d.*",
    "plate": r"\S+ \d\S*(?: \S+)?",
    "size": r"[-−]?\d\S*(?: \S+)?",
    "total": r"\d+",
}
_BETWEEN: Final = "; "


def said(note: str | None) -> str:
    """Return a note in the language that is spoken, as far as the program wrote it; empty where there is none.

    >>> said("gasket: in, pressed; 0.30 mm added for it; look again")
    'gasket: in, pressed; 0.30 mm added for it; look again'
    """
    return _BETWEEN.join(map(_piece, (note or "").split(_BETWEEN)))


def _piece(words: str) -> str:
    for template in _KEPT:
        if found := _pattern(template).fullmatch(words):
            return _(template).format(**found.groupdict())
    return words


@cache
def _pattern(template: str) -> re.Pattern[str]:
    pieces = re.split(r"\{(\w+)\}", template)
    return re.compile(
        "".join(f"(?P<{each}>{_FIELDS[each]})" if number % 2 else re.escape(each) for number, each in enumerate(pieces))
    )
