"""Lists in sentences that are long: the first few, and how many more there are."""

from __future__ import annotations

from collections.abc import Sequence

from labelkit.language import ngettext


def first_of(texts: Sequence[str], most: int | None, between: str = ", ") -> str:
    """Return the first of several texts, and how many more there are: `cover, seal, and 3 more`.

    Args:
        texts: all of them.
        most: how many are named; None: all.
        between: what stands between two; its first letter stands before the number, too.

    >>> first_of(["cover", "seal", "pin"], 2), first_of(["cover", "seal"], 2, "; ")
    ('cover, seal, and 1 more', 'cover; seal')
    """
    words, more = between.join(texts[:most]), len(texts) - len(texts[:most])
    told = ngettext("and {count} more", "and {count} more", more)
    return f"{words}{between[0]} {told.format(count=more)}" if more else words
