"""How a note of the record is made: of pieces, each of what somebody wrote or of a template of the program.

What the program writes is kept in English. Its words are `sheets.keptnotes`, those of sizes `calc.measured`.
"""

from __future__ import annotations

import re
from functools import cache
from typing import Final

BETWEEN: Final = "; "
"""What stands between the pieces of a note."""
# What a field may hold, so that words which somebody typed are not taken for the program's own.
_FIELDS: Final = {
    "count": r"\d+",
    "kind": r".+",
    "list": r"\d.*",
    "much": r".+",
    "name": r"[a-z ]+",
    "now": r".+",
    "plate": r".+ \d\S*(?: \S+)?",
    "serial": r".+",
    "sizes": r"\d.*",
    "things": r"[a-z ]+",
    "times": r"\d+",
    "total": r"\d+",
    "unknown": r"[A-Z ]+",
    "was": r".+",
    "what": r".+",
    "word": r"[a-z]+",
} | dict.fromkeys(("large", "nearest", "off", "size", "small", "wanted"), r"[-−]?\d\S*(?: \S+)?")


def pieces_of(note: str | None) -> list[str]:
    """Return the pieces of a note; one that is empty where there is none."""
    return (note or "").split(BETWEEN)


def fields_of(piece: str, template: str) -> dict[str, str] | None:
    """Return with which fields a template of the program makes a piece; None where it was not made of it.

    >>> fields_of("serial number K 7", "serial number {serial}"), fields_of("look again", "serial number {serial}")
    ({'serial': 'K 7'}, None)
    """
    found = _pattern(template).fullmatch(piece)
    return found.groupdict() if found else None


@cache
def _pattern(template: str) -> re.Pattern[str]:
    pieces = re.split(r"\{(\w+)\}", template)
    return re.compile(
        "".join(f"(?P<{each}>{_FIELDS[each]})" if number % 2 else re.escape(each) for number, each in enumerate(pieces))
    )
