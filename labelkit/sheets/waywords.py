"""Which way a part sits, and at what hour: in the words of labels, cards and sheets."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

from labelkit.calc import facing
from labelkit.language import gettext as _
from labelkit.model.endwords import end_told
from labelkit.model.part import Part, SeenSits
from labelkit.model.scalars import Clock
from labelkit.sheets import wording

Known = Literal["known", "free", "missing"]


@dataclass(frozen=True, slots=True)
class Way:
    """Which way a part sits.

    Attributes:
        text: two or three words in capitals, in the language that is spoken.
        known: whether it is known, free or not recorded.
        opens: where the form's characteristic end points, None when that is not recorded or it has none.
        face: the words of the profile for the face that is up, or for where a face looks; empty when there are none.
    """

    text: str
    known: Known
    opens: Literal["up", "down"] | None
    face: str


def way(part: Part) -> Way:
    """Return which way a part sits; what is not recorded says so."""
    sits = part.sits
    if sits is None or (sits.up is None and sits.opens is None):
        return Way(wording.not_recorded(), "missing", None, "")
    if sits.up == "free":
        return Way(_("EITHER WAY"), "free", None, "")
    return Way(facing.up_words(part), "known", sits.opens, sits.up or "")


def tell_words(part: Part) -> str:
    """Return what tells how a part sits; nothing where it names the end that the way names already."""
    tell = part.sits.tell if part.sits else None
    end = end_told(tell)
    return "" if end and end == end_told(way(part).text) else tell or ""


def clock_words(part: Part) -> tuple[str, Known]:
    """Return a part's clock position: `6 o'clock`, `6:30`, `FREE` or `NOT RECORDED`."""
    clock = part.sits.clock if part.sits else None
    if clock is None:
        return wording.not_recorded(), "missing"
    if clock == "free" or not isinstance(clock, Clock):
        return _("FREE"), "free"
    return facing.hour_words(clock), "known"


def unrecorded(part: Part) -> tuple[bool, bool]:
    """Say of the face that is up and of the hour whether nobody recorded it, neither profile nor, as seen, record."""
    return way(part).known == "missing", clock_words(part)[1] == "missing"


def seen_words(part: Part) -> str:
    """Return who saw how a part sits, and when, where the record knows it and not the profile; else nothing."""
    return _("seen by {who}").format(who=part.sits.by) if isinstance(part.sits, SeenSits) else ""


def printed_way(part: Part) -> str:
    """Return which way a part sits as it is printed: what was seen and is not in the profile says so."""
    return _marked(part, "up", way(part).text)


def hour_words(part: Part) -> str:
    """Return the hour beside a dial: `6:30`, `6:30 (SEEN)`, `FREE` or `NOT REC.`"""
    sits = part.sits
    if sits is None or sits.clock is None:
        return _("NOT REC.")
    return _marked(part, "clock", _("FREE") if sits.clock == "free" else str(sits.clock).upper())


def _marked(part: Part, field: str, words: str) -> str:
    return _("{words} (SEEN)").format(words=words) if _was_seen(part, field) else words


def _was_seen(part: Part, field: str) -> bool:
    return isinstance(part.sits, SeenSits) and field in part.sits.saw


def sits_words(part: Part) -> tuple[tuple[str, ...], tuple[str, ...]]:
    """Return way and clock as pieces of one line, short and in full; only the short leave out that the clock is free.

    A clock that is not recorded is told from one that is free also on the smallest label. What was seen is marked once.
    """
    known = clock_words(part)[1]
    if all(unrecorded(part)):
        return (wording.not_recorded(),), (wording.not_recorded(),)
    words = way(part).text if _was_seen(part, "clock") else printed_way(part)
    if known == "free":
        return (words,), (f"{words},", _("FREE"))
    if known == "known":
        hour = (f"{words},", hour_words(part))
        return hour, hour
    return (f"{words},", _("CLOCK ?")), (f"{words},", _("CLOCK NOT RECORDED"))
