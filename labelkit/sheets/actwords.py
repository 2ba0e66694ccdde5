"""What people did, in words: one line for each act, for histories, lists and reports."""

from __future__ import annotations

from collections.abc import Iterator
from decimal import Decimal
from typing import Final

from labelkit.calc.steps import Bin, Inside, Teardown
from labelkit.calc.steps import teardown as every_place
from labelkit.model import acts
from labelkit.model.events import Event
from labelkit.model.part import Part
from labelkit.model.profile import Profile

VERDICTS: Final = {"reuse": "good, goes in again", "repair": "to be repaired", "replace": "replace", "ask": "ask first"}
_PLAIN: Final = {
    "left_in": "left in",
    "left_closed": "not opened, its parts stay in it",
    "washed": "clean and dry",
    "verified": "verified: in, and right",
    "photo": "photo",
    "closed": "job closed",
}


def event_words(event: Event, profile: Profile, teardown: Teardown) -> str:
    """Return an event in words, with the part that it is about: `22.1 Planet gear: out, 3 counted`."""
    if event.place is None:
        return act_words(event.act)
    found = place_of(teardown, event.place)
    if found is None:
        part = _left_out(profile, event.place)
        return f"{part.name}, which the options leave out: {act_words(event.act, part)}"
    name, part = found
    return f"{name}: {act_words(event.act, part)}"


def place_of(teardown: Teardown, ordinal: int) -> tuple[str, Part] | None:
    """Return name and part of a place; None when the options leave it out."""
    everywhere: list[Bin | Inside] = [*teardown.bins, *teardown.inside]
    for each in everywhere:
        if each.ordinal == ordinal:
            return (f"{each.step} {each.name}" if isinstance(each, Bin) else each.part.name), each.part
    return None


def _left_out(profile: Profile, ordinal: int) -> Part:
    """Return the part of a place that is there under other options only."""
    whole = every_place(profile, dict.fromkeys(profile.options))
    everywhere: list[Bin | Inside] = [*whole.bins, *whole.inside]
    return next(each.part for each in everywhere if each.ordinal == ordinal)


def act_words(act: acts.Act, part: Part | None = None) -> str:
    """Return an act in words.

    Args:
        act: what was done.
        part: whose points of inspection are named.
    """
    lines = [_words(act, part)]
    if act.note and not isinstance(act, acts.Noted):
        lines.append(act.note)
    if isinstance(act, acts.Gated) and act.override is not None:
        told = act.override
        lines.append(f'although the gate said "{told.refusal}": {told.reason} (agreed: {told.agreed})')
    return "; ".join(lines)


def _words(act: acts.Act, part: Part | None) -> str:
    match act:
        case acts.Removed(count=None):
            return "out, not counted yet"
        case acts.Removed(count=count):
            return f"out, {count} counted"
        case acts.CountFound(count=count):
            return f"{count} counted"
        case acts.SideSeen():
            return "seen: " + ", ".join([f"{act.up} up"] * bool(act.up) + [f"at {act.clock}"] * bool(act.clock))
        case acts.Reading():
            return _reading(act, part)
        case acts.FitChosen():
            told = f"{_fit(act.fit)}: {_figures(act.sizes)} {act.unit} chosen"
            return told + (f", then {act.predicted} {act.unit}" if act.predicted is not None else "")
        case acts.WashStarted(places=places):
            return f"washer started with {len(places)} place{'s'[: len(places) != 1]}" if places else "washer started"
        case acts.Inspected(verdict=verdict, check=check):
            point = _point(part, check)
            return f"{point}: {VERDICTS[verdict]}" if point else VERDICTS[verdict]
        case acts.Condemned(why=why, pieces=pieces, lost=lost):
            return f"{'lost' if lost else 'condemned'}{_of(pieces)}: {why}"
        case acts.Ordered(number=number, pieces=pieces):
            return f"{pieces} of {number} ordered"
        case acts.Received():
            return f"{act.pieces} new{f' of {act.number}' * bool(act.number)} came" + _more(act.measured, "measured")
        case acts.Staged(pieces=pieces):
            return f"new{_of(pieces)} lies ready, the old label is retired"
        case acts.Joined(new=new):
            return "built into its group" + ", new" * new
        case acts.Installed():
            return "".join(_installed(act))
        case acts.TorqueSigned():
            return "".join(_torque(act))
        case acts.Hold(why=why):
            return f"HOLD: {why}"
        case acts.Released(of=number, why=why):
            return f"hold {number} is over: {why}"
        case acts.Deviation():
            return f"deviation: {act.what}; {act.reason} (agreed: {act.agreed})"
        case acts.OptionSeen():
            return f"option {act.option}: {act.choice or 'could not be told'}, {act.how}"
        case acts.Noted(note=note):
            return f"note: {note}"
        case acts.Correction(of=number, why=why):
            return f"event {number} does not count: {why}"
        case acts.Signature(statement=statement):
            return f"signed: {statement}"
        case acts.Reopened(why=why):
            return f"reopened: {why}"
    return _PLAIN.get(act.kind, act.kind.replace("_", " "))


def _installed(act: acts.Installed) -> Iterator[str]:
    yield "in"
    if act.pieces is not None:
        yield f", {act.pieces} piece{'s'[: act.pieces != 1]}"
    if act.new:
        yield ", new"
    if act.sizes:
        yield f", {_figures(act.sizes)} mm"
    if act.side:
        yield f", {act.side}"


def _torque(act: acts.TorqueSigned) -> Iterator[str]:
    yield "tightened"
    if act.torque is not None:
        yield f" to {act.torque} {act.unit}"
    if act.angle is not None:
        yield f" and {act.angle}° on"
    if act.share != 1:
        yield f", pass of {act.share}"
    if act.wrench:
        yield f", wrench {act.wrench}"
    if act.oiled is not None:
        yield ", oiled" if act.oiled else ", dry"


def _reading(act: acts.Reading, part: Part | None) -> str:
    what = _fit(act.fit) if act.fit else _point(part, act.check)
    told = f"{_figures(act.values)} {act.unit}" + (f", {act.state}" if act.state else "")
    if act.result is not None:
        told += f", counts as {act.result} {act.unit}"
    if act.verdict in ("out", "borderline"):
        told += f": {act.verdict.upper()}"
    return f"{what}: {told}" if what else told


def _point(part: Part | None, check: int | None) -> str:
    if check is None or part is None or check >= len(part.check):
        return "" if check is None else f"point {check + 1}"
    return part.check[check].look or part.check[check].measure or ""


def _fit(name: str) -> str:
    return name.replace("-", " ")


def _figures(values: tuple[Decimal, ...]) -> str:
    return " ".join(map(str, values))


def _of(pieces: int | None) -> str:
    return "" if pieces is None else f" ({pieces} piece{'s'[: pieces != 1]})"


def _more(text: str | None, word: str) -> str:
    return f", {word} {text}" if text else ""
