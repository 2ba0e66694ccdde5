"""Serial numbers and pair marks of matched parts: who still lacks one, and how a note keeps it."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from typing import Final

from labelkit.calc.record import Record
from labelkit.language import gettext as _
from labelkit.model.acts import Installed
from labelkit.sheets import keptnotes
from labelkit.sheets.actwords import in_one_line

_OF_NEW: Final = ("received", "staged", "returned")


def unnumbered(record: Record, ordinal: int, *, new: bool) -> tuple[str, ...]:
    """Return the names of what a part is matched with while nobody wrote down its number; empty otherwise.

    Args:
        record: of the job.
        ordinal: of its place.
        new: it is about the new part of the place, not the one that came out.
    """
    place = record.at(ordinal)
    pairs = tuple(dict.fromkeys(other.part.name for each in place.item.part.pair for other in record.teardown.of(each)))
    numbered = False
    for event in place.events if pairs else ():
        of_new = event.act.kind in _OF_NEW or (isinstance(event.act, Installed) and event.act.new)
        if of_new == new:
            # What went back took its number along.
            numbered = event.act.kind != "returned" and (numbered or bool(keptnotes.serial_in(event.act.note)))
    return () if numbered else pairs


def note_of(form: Mapping[str, str], *, before: Iterable[str] = ()) -> str:
    """Return what a form says in its fields `serial` and `note` as one note, after what else belongs into it."""
    serial, note = (form.get(name, "").strip() for name in ("serial", "note"))
    return in_one_line((*before, keptnotes.SERIAL.format(serial=serial) if serial else "", note))


def lacks(record: Record, ordinal: int, form: Mapping[str, str]) -> dict[str, str]:
    """Return the fault of a form that lets a matched new part lie ready, or go in, without its number."""
    pairs = unnumbered(record, ordinal, new=True)
    if not pairs or form.get("serial", "").strip():
        return {}
    told = _("matched with {parts}: write down its serial number or pair mark; where it has none, write that")
    return {"serial": told.format(parts=", ".join(pairs))}
