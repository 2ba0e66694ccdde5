"""How a note of the record is made: of pieces, each of what somebody wrote or of a template of the program.

What the program writes is kept in English. Its words are `sheets.keptnotes`, those of sizes `calc.measured`, and here
those of an order number that a later revision changed.
"""

from __future__ import annotations

import re
from functools import cache
from typing import Final

from labelkit.language import gettext as _
from labelkit.language import noop
from labelkit.model.act import Act
from labelkit.model.acts import Hold

BETWEEN: Final = "; "
"""What stands between the pieces of a note."""
RENUMBERED: Final = noop("came as {was}, the number is {now} by now")
"""The note at a place of whose new pieces a later revision changes the number: what came there keeps its own."""
RENUMBERED_HERE: Final = noop("came as {was}, the number is {now} by now: say whether it still does")
"""The hold on such a place while some of these pieces are here."""
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


def renumbered(act: Act) -> dict[str, str] | None:
    """Return the number before (`was`) and since (`now`) where an act says that it was changed; None where not."""
    if isinstance(act, Hold):
        return fields_of(act.why, RENUMBERED_HERE)
    return fields_of(act.note or "", RENUMBERED)


def hold_words(act: Act) -> str:
    """Return why there is a hold: in the language that is spoken where the program wrote it, else as it was typed."""
    fields = renumbered(act) if isinstance(act, Hold) else None
    return _(RENUMBERED_HERE).format(**fields) if fields else getattr(act, "why", "")


@cache
def _pattern(template: str) -> re.Pattern[str]:
    pieces = re.split(r"\{(\w+)\}", template)
    return re.compile(
        "".join(f"(?P<{each}>{_FIELDS[each]})" if number % 2 else re.escape(each) for number, each in enumerate(pieces))
    )
