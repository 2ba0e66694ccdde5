"""Serial numbers and pair marks of matched parts: who still lacks one, and how a note keeps it."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from typing import Final

from labelkit.calc.placerecord import PlaceRecord
from labelkit.calc.record import Record
from labelkit.language import gettext as _
from labelkit.sheets import keptnotes
from labelkit.sheets.actwords import in_one_line

_SURE: Final = "sure-serial"


def unnumbered(record: Record, ordinal: int, *, new: bool) -> tuple[str, ...]:
    """Return what a part is matched with, and the numbers of these, while nobody wrote down its own; empty otherwise.

    Args:
        record: of the job.
        ordinal: of its place.
        new: it is about the new part of the place, not the one that came out.
    """
    others = _others(record, ordinal)
    if not others or _serial(record.at(ordinal), new=new):
        return ()
    told = ((other.item.part.name, _serial(other, new=new)) for other in others)
    return tuple(dict.fromkeys(f"{name} ({serial})" if serial else name for name, serial in told))


def unlike(record: Record, ordinal: int, form: Mapping[str, str], *, new: bool) -> dict[str, str]:
    """Return the fault of a form whose number is another than that of what the part is matched with.

    Both may be right, as a pair has one mark, or a serial number for each: the field `sure-serial` holds the number
    once more where it stands.
    """
    own = form.get("serial", "").strip()
    if not own or form.get(_SURE) == own:
        return {}
    marks = ((other.name, _serial(other, new=new)) for other in _others(record, ordinal))
    told = _("{part} has {theirs}, this one {own}: is it one pair? Look again, and say that it stands")
    differing = ((name, theirs) for name, theirs in marks if theirs and theirs.casefold() != own.casefold())
    wrong = [told.format(part=name, theirs=theirs, own=own) for name, theirs in differing]
    return {_SURE: "; ".join(wrong)} if wrong else {}


def _others(record: Record, ordinal: int) -> list[PlaceRecord]:
    """Return the places of what a part is matched with."""
    return record.of(*record.at(ordinal).item.part.pair)


def _serial(place: PlaceRecord, *, new: bool) -> str:
    """Return the number that was written down of a part; empty where none was, or it went back with the part."""
    return next(reversed(keptnotes.serials_of(place.events, new=new)), "")


def note_of(form: Mapping[str, str], *, before: Iterable[str] = ()) -> str:
    """Return what a form says in its fields `serial` and `note` as one note, after what else belongs into it."""
    serial, note = (form.get(name, "").strip() for name in ("serial", "note"))
    stands = keptnotes.STANDS if serial and form.get(_SURE) == serial else ""
    return in_one_line((*before, keptnotes.SERIAL.format(serial=serial) if serial else "", stands, note))


def lacks(record: Record, ordinal: int, form: Mapping[str, str]) -> dict[str, str]:
    """Return the fault of a form that lets a matched new part lie ready, or go in, without its number."""
    pairs = unnumbered(record, ordinal, new=True)
    if not pairs or form.get("serial", "").strip():
        return {}
    told = _("matched with {parts}: write down its serial number or pair mark; where it has none, write: none")
    return {"serial": told.format(parts=", ".join(pairs))}
