"""What the program itself writes into notes of the record: kept in English, said in the language that is spoken.

A note is made of pieces (`calc.notepieces`). What people wrote in it stays as it was typed.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from typing import Final

from labelkit.calc.measured import DIFFERENCES
from labelkit.calc.notepieces import BETWEEN, RENUMBERED, fields_of, pieces_of
from labelkit.calc.slips import ODD
from labelkit.language import gettext as _
from labelkit.language import noop
from labelkit.model.acts import of_new, rejects_new
from labelkit.model.events import Event

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
DEPTH_BY_PROFILE: Final = noop("depth as the profile has it, not measured")
PLATE: Final = noop("{plate} measured")
SEATED: Final = noop("seated anew before each")
THEN: Final = noop("then {size}")
LAID: Final = noop("plates scanned one by one, {count} of {total} in their order: {list}")
STANDS: Final = noop("looked at again, it stands")
LOOKED: Final = noop("looked at as it came, and right: {what}")
SERIAL: Final = noop("serial number {serial}")
SIGNED: Final = noop("Everything is in as the profile says, every reading is in this record, nothing is open.")
SIGNED_BUT: Final = noop(
    "Everything is in; what is not as the profile says was agreed on and is listed as a deviation."
)
SIGNED_OPEN: Final = noop("Signed with points open; the record lists them.")
_STATEMENTS: Final = (SIGNED, SIGNED_BUT, SIGNED_OPEN)
TICKED: Final = noop("ticked: {what}")
LEFT_OVER: Final = noop("Nothing is left over on bench, trays or floor")
OLD_PARTS: Final = noop("Old parts kept and tagged until now")
OIL: Final = noop("Oil filled: {kind}, {much}")
OIL_UNKNOWN: Final = noop("Oil filled, kind and quantity {unknown}: write them in the note")
HOW_MUCH: Final = noop("quantity {unknown}: write it in the note")
OIL_NOTED: Final = noop("Oil filled, kind and quantity as noted here")
MUCH_NOTED: Final = noop("quantity as noted here")
REVISED: Final = noop("profile revision {now} taken up instead of {was}")
TURNED: Final = noop("Unit turned by hand, no leak, no noise, serial plate on")
_STACK: Final = (DEPTH, DEPTH_BY_PROFILE, PLATE)
_FITS: Final = (*GASKETS.values(), *WAVES.values(), ADDED, DRAG, TRIALS, *_STACK, SEATED, THEN, LAID)
_SIGNED: Final = (TICKED, LEFT_OVER, OLD_PARTS, OIL, OIL_UNKNOWN, HOW_MUCH, OIL_NOTED, MUCH_NOTED, TURNED)
_KEPT: Final = (*_FITS, *_SIGNED, *DIFFERENCES, *ODD, STANDS, LOOKED, SERIAL, REVISED, RENUMBERED)
# Fields that are words of the program again.
_WORDS: Final = ("much", "name", "things", "unknown", "what", "word")
_OF_NEW: Final = ("received", "staged", "returned")


def said(note: str | None) -> str:
    """Return a note in the language that is spoken, as far as the program wrote it; empty where there is none.

    >>> said("gasket: in, pressed; 0.30 mm added for it; look again")
    'gasket: in, pressed; 0.30 mm added for it; look again'
    """
    return BETWEEN.join(map(_piece, pieces_of(note)))


def statement(points: int, deviations: int) -> str:
    """Return what is proposed to be signed.

    Args:
        points: how many are open.
        deviations: how many were agreed on.
    """
    return _(SIGNED_OPEN if points else SIGNED_BUT if deviations else SIGNED)


def signed(statement: str) -> str:
    """Return what was signed, in the language that is spoken where it is the program's own statement."""
    return _(statement) if statement in _STATEMENTS else statement


def as_kept(statement: str) -> str:
    """Return a statement as the record keeps it: the program's own is English, whoever signs it."""
    return next((each for each in _STATEMENTS if _(each) == statement), statement)


def stands(odd: Iterable[str]) -> Iterator[str]:
    """Yield what was odd about figures, as the record keeps it, and that they stand; nothing where nothing was."""
    told = tuple(odd)
    yield from (*told, STANDS) if told else ()


def asked(odd: Iterable[str]) -> str:
    """Return what to ask of odd figures before they are kept."""
    return _("{odd}; type it right, or tick that it stands").format(odd=said(BETWEEN.join(odd)))


def then_in(note: str | None) -> str:
    """Return what a fit will be by a note, where it is of another kind than the sizes that set it; empty without one.

    >>> then_in("then 3.40 N·m; looked at"), then_in("looked at")
    ('3.40 N·m', '')
    """
    return _kept(THEN, note).get("size", "")


def looked(what: str) -> str:
    """Return that a new part was looked at as it came, as the record keeps it: in one piece."""
    return LOOKED.format(what=what.replace(BETWEEN, ", "))


def looked_in(note: str | None) -> str:
    """Return the same of a note in the language that is spoken; empty where it says no such thing."""
    return BETWEEN.join(said(each) for each in pieces_of(note) if fields_of(each, LOOKED))


def serials_of(events: Iterable[Event], *, new: bool) -> list[str]:
    """Return the serial numbers that were written down of a place's pieces, without those of new ones that are gone.

    Args:
        events: of the place, in their order.
        new: of its new pieces, not of those that came out.
    """
    found: list[str] = []
    for event in events:
        if (event.act.kind in _OF_NEW or of_new(event.act)) != new:
            continue
        if event.act.kind == "returned" or rejects_new(event.act):
            found.clear()
        elif kept := _kept(SERIAL, event.act.note):
            found.append(kept["serial"])
    return found


def are_trials(note: str | None) -> bool:
    """Say whether the figures beside a note are those of trials, each with a piece of its own."""
    return bool(_kept(TRIALS, note))


def _kept(template: str, note: str | None) -> dict[str, str]:
    """Return what the first piece of a note holds that was made of a template, by its fields; empty without one."""
    found = (fields_of(each, template) for each in pieces_of(note))
    return next((fields for fields in found if fields), {})


def _piece(words: str) -> str:
    for template in _KEPT:
        if (fields := fields_of(words, template)) is not None:
            return _(template).format(**fields | {name: _(_piece(fields[name])) for name in _WORDS if name in fields})
    return words
