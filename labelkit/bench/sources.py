"""Where new pieces are from that nobody counted before: of what was ordered, or from the shelf."""

from __future__ import annotations

from labelkit.calc.record import Record
from labelkit.calc.supply import supply
from labelkit.errors import UsageError
from labelkit.language import gettext as _
from labelkit.model.catalogue import Catalogue


def source_of(record: Record, ordinal: int, more: int, told: str, catalogue: Catalogue) -> str:
    """Return where pieces are from; empty where they were counted at the door, or nobody has to say.

    Args:
        record: of the job.
        ordinal: of the place they go to.
        more: pieces than were counted at the place.
        told: `order` or `shelf`; empty: nobody said.
        catalogue: of the parts counter; without one nothing is on the shelf.

    Raises:
        UsageError: some are on their way and others on the shelf, so that only a person can say.
    """
    if _are_counted(record, ordinal, more, told):
        return ""
    coming, shelf = _open_for(record, ordinal, catalogue)
    if coming and shelf and not told:
        wrong = _("{coming} on the way, {shelf} on the shelf: say which these are")
        raise UsageError(wrong.format(coming=coming, shelf=shelf))
    return told or ("order" if coming else "")


def sources(record: Record, ordinal: int, more: int, catalogue: Catalogue) -> tuple[tuple[str, str], ...]:
    """Return where pieces may be from, as a choice; nothing where nobody has to say. Arguments as for `source_of`."""
    return () if _are_counted(record, ordinal, more, "") else choices(*_open_for(record, ordinal, catalogue))


def choices(coming: int, shelf: int) -> tuple[tuple[str, str], ...]:
    """Return the choice between what is on its way and what lies on the shelf; nothing where it can be one only."""
    if not coming or not shelf:
        return ()
    ordered, there = _("Ordered: {count} on the way"), _("Shelf: {count} there")
    return ("order", ordered.format(count=coming)), ("shelf", there.format(count=shelf))


def _are_counted(record: Record, ordinal: int, more: int, told: str) -> bool:
    return more <= (0 if told == "shelf" else record.loose_for(ordinal))


def _open_for(record: Record, ordinal: int, catalogue: Catalogue) -> tuple[int, int]:
    try:
        at = supply(record, catalogue).awaited(ordinal)
        return at.coming, at.shelf
    except UsageError:  # so many options are open that nobody can say
        return 0, 0
