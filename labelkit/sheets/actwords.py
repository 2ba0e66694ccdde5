"""What people did, in words: one line for each act, for histories, lists and reports."""

from __future__ import annotations

import re
from collections.abc import Iterable, Iterator
from decimal import Decimal
from typing import Final

from labelkit import language
from labelkit.calc.facing import card_words, look_words
from labelkit.calc.measured import measured_words
from labelkit.calc.notepieces import hold_words
from labelkit.calc.steps import Teardown
from labelkit.calc.steps import teardown as every_place
from labelkit.calc.verdicts import VERDICT_WORDS
from labelkit.language import gettext as _
from labelkit.language import ngettext, noop, pgettext, speaking
from labelkit.model import acts
from labelkit.model.act import Act, Gated
from labelkit.model.events import Event
from labelkit.model.part import Part
from labelkit.model.profile import Profile, fit_words
from labelkit.model.readings import FitChosen, Reading
from labelkit.sheets import wording
from labelkit.sheets.keptnotes import said, signed

# The texts of these tables are translated when they are said.
VERDICTS: Final = {
    "reuse": noop("good, goes in again"),
    "repair": noop("to be repaired"),
    "replace": noop("replace"),
    "ask": noop("ask first"),
}
_PLAIN: Final = {
    "left_in": noop("left in"),
    "left_closed": noop("not opened, its parts stay in it"),
    "washed": noop("clean and dry"),
    "verified": noop("verified: in, and right"),
    "photo": noop("photo"),
    "closed": noop("job closed"),
}

# What a card says in the words of people who saw it.
_SEEN: Final = ("{face} UP", "{hour} o'clock")

# What needs no other mark after it.
_MARKS: Final = ("?", "!", "…", "...", ":", ";")

# A refusal up to so many letters, two lines of a phone, is said whole.
_SHORT: Final = 90
# Where a sentence ends and another begins: behind a mark, before a capital.
_NEXT_SENTENCE: Final = re.compile(r"[.](?=\s+[A-ZÁÄÉÍÑÓÖÜ])|(?<=[!?])(?=\s+[A-ZÁÄÉÍÑÓÖÜ])")


def event_words(event: Event, profile: Profile, teardown: Teardown, *, override: bool = True) -> str:
    """Return an event in words, with the part that it is about: `22.1 Planet gear: out, 3 counted`.

    Args:
        event: the event.
        profile: of the job.
        teardown: of the job.
        override: say it too where the gate was overridden.
    """
    if event.place is None:
        act = event.act
        if isinstance(act, acts.OptionSeen) and (option := profile.options.get(act.option)):
            # In the words of the profile; the record keeps the ids.
            choice = option.choices.get(act.choice or "", act.choice)
            act = act.model_copy(update={"option": option.name, "choice": choice})
        return act_words(act, override=override)
    found = place_of(teardown, event.place)
    if found is None:
        part = _left_out(profile, event.place)
        gone = _("{part}, which the options leave out: {act}")
        return gone.format(part=part.name, act=act_words(event.act, part, override=override))
    name, part = found
    return f"{name}: {act_words(event.act, part, override=override)}"


def place_of(teardown: Teardown, ordinal: int) -> tuple[str, Part] | None:
    """Return name and part of a place; None when the options leave it out."""
    found = teardown.items.get(ordinal)
    return (found.full_name, found.part) if found else None


def _left_out(profile: Profile, ordinal: int) -> Part:
    """Return the part of a place that is there under other options only."""
    return every_place(profile, dict.fromkeys(profile.options)).items[ordinal].part


def act_words(act: Act, part: Part | None = None, *, override: bool = True) -> str:
    """Return an act in words.

    Args:
        act: what was done.
        part: whose points of inspection are named.
        override: say it too where the gate was overridden.
    """
    words = _words(act, part)
    # What is built in says so itself.
    told_apart = acts.of_new(act) and not isinstance(act, acts.Joined | acts.Installed)
    lines = [_("new: {what}").format(what=words) if told_apart else words]
    if act.note and not isinstance(act, acts.Noted):
        lines.append(said(act.note))
    if override and isinstance(act, Gated) and act.override is not None:
        told = act.override
        although = _('although labelkit said "{refusal}": {reason} (agreed: {agreed})')
        lines.append(although.format(refusal=in_short(told.refusal), reason=bare(told.reason), agreed=told.agreed))
    return in_one_line(lines)


def bare(text: str) -> str:
    """Return words without the full stop that ends them, so that others can follow; three dots stay."""
    return text.removesuffix(".") if not text.endswith("..") else text


def in_short(refusal: str) -> str:
    """Return of a refusal its first sentence, of a list in it the first entry, and a count that ends it.

    The record keeps the whole.

    >>> in_short("NO: 63 points open: gear not verified; axle not verified. Allowed now: verify the gear")
    'NO: 63 points open: gear not verified; ...'
    """
    first = _NEXT_SENTENCE.split(refusal, maxsplit=1)[0]
    entry, more, _others = first.partition("; ")
    if more:
        return f"{entry}; ..."
    entry, *others = first.split(", ")
    return f"{entry} ... {others[-1]}" if len(first) > _SHORT and len(others) > 1 else first


def in_one_line(texts: Iterable[str]) -> str:
    """Return what several people wrote as one line; a question or a call keeps its mark, and no other stands beside it.

    >>> in_one_line(["signed: all is in.", "who looks?", "Bo"])
    'signed: all is in; who looks? Bo'
    """
    line = ""
    for text in filter(None, texts):
        line = text if not line else f"{line} {text}" if line.endswith(_MARKS) else f"{bare(line)}; {text}"
    return line


def _words(act: Act, part: Part | None) -> str:
    match act:
        case acts.Removed(count=None):
            return _("out, not counted yet")
        case acts.Removed(count=count):
            return _("out, {count} counted").format(count=count)
        case acts.CountFound(count=count):
            return _("{count} counted").format(count=count)
        case acts.SideSeen():
            return _seen(act, part)
        case Reading():
            return _reading(act, part)
        case FitChosen():
            return _chosen(act)
        case acts.WashStarted(places=places):
            told = ngettext("washer started with {count} part", "washer started with {count} parts", len(places))
            return told.format(count=len(places)) if places else _("washer started")
        case acts.Inspected(verdict=verdict, check=check):
            point, told = _point(part, check), verdict_words(part, check, verdict)
            return f"{point}: {told}" if point else told
        case acts.Condemned(why=why, pieces=pieces, lost=lost):
            size = f", {act.size} mm" if act.size is not None else ""
            return (_("lost") if lost else _("condemned")) + f"{_of(pieces)}{size}: {why}"
        case acts.Ordered(number=number, pieces=pieces):
            told = ngettext("{count} of {number} ordered", "{count} of {number} ordered", pieces)
            return told.format(count=pieces, number=number)
        case acts.Received():
            return _received(act, part)
        case acts.Returned(pieces=pieces, number=number, why=why):
            told = ngettext("{count} new sent back: {why}", "{count} new sent back: {why}", pieces)
            if number:
                told = ngettext(
                    "{count} new of {number} sent back: {why}", "{count} new of {number} sent back: {why}", pieces
                )
            return told.format(count=pieces, number=number, why=said(why))
        case acts.Staged(pieces=pieces):
            # Of a set, and of some pieces of several, old ones may stay: their label counts on.
            some = part is not None and (part.qty == "set" or 0 < (pieces or 0) < part.qty)
            ready = _("new{pieces} lies ready") if some else _("new{pieces} lies ready, the old label is retired")
            return ready.format(pieces=_of(pieces)) + _came(act, part)
        case acts.Joined(new=new):
            return _("built into its group") + _(", new") * new
        case acts.Installed():
            return "".join(_installed(act, part))
        case acts.TorqueSigned():
            return "".join(_torque(act))
        case acts.Hold():
            return _("HOLD: {why}").format(why=hold_words(act))
        case acts.Released(of=number, why=why):
            return _("the hold of event {number} is over: {why}").format(number=number, why=why)
        case acts.Deviation():
            told = _("deviation: {what}; {reason} (agreed: {agreed})")
            return told.format(what=bare(act.what), reason=bare(act.reason), agreed=act.agreed)
        case acts.OptionSeen():
            told = _("option {option}: {choice}, {how}")
            return told.format(option=act.option, choice=act.choice or _("could not be told"), how=act.how)
        case acts.Noted(note=note):
            return _("note: {note}").format(note=said(note))
        case acts.Correction(of=number, why=why):
            return _("event {number} does not count: {why}").format(number=number, why=why)
        case acts.Signature(statement=statement):
            return _("signed: {statement}").format(statement=signed(statement))
        case acts.Reopened(why=why):
            return _("reopened: {why}").format(why=why)
    return _(_PLAIN[act.kind]) if act.kind in _PLAIN else act.kind.replace("_", " ")


def _seen(act: acts.SideSeen, part: Part | None) -> str:
    if part is not None:
        act = act.model_copy(update={"up": _as_card(act.up, part), "clock": _as_card(act.clock, part)})
    return _("seen: {way}").format(way=look_words(act.up, act.clock))


def _chosen(act: FitChosen) -> str:
    told = _("{fit}: {size} chosen").format(fit=fit_words(act.fit), size=f"{_figures(act.sizes)} {act.unit}")
    then = _(", then {size}").format(size=f"{act.predicted} {act.unit}")
    return told + (then if act.predicted is not None else "")


def _received(act: acts.Received, part: Part | None) -> str:
    told = ngettext("{count} new came", "{count} new came", act.pieces)
    if act.number:
        told = ngettext("{count} new of {number} came", "{count} new of {number} came", act.pieces)
    return told.format(count=act.pieces, number=act.number) + _came(act, part)


def _came(act: acts.Received | acts.Staged, part: Part | None) -> str:
    """Return where new pieces are from and what they measure, as far as it was said."""
    sizes = measured_words(act.measured, part, said(act.note)) if act.measured else ""
    return _source(act) + (_(", measured {sizes}").format(sizes=sizes) if sizes else "")


def _source(act: acts.Received | acts.Staged | acts.Installed) -> str:
    return {"order": _(", of what was ordered"), "shelf": _(", from the shelf"), None: ""}[act.source]


def _as_card(text: str | None, part: Part) -> str | None:
    """Return how something sits as the card says it now where the record keeps the card's words, which are English."""
    with speaking("en"):
        kept = card_words(part)
    told = card_words(part)
    pairs = {", ".join(filter(None, kept)): ", ".join(filter(None, told)), **dict(zip(kept, told, strict=True))}
    return pairs.get(text, text) if text else text


def _side(side: str, part: Part) -> str:
    """Return the same of what was put in: where the profile does not say it, the card had it as it was seen."""
    told = _as_card(side, part)
    if told != side or all(card_words(part)):
        return told or side
    return ", ".join(
        language.said(each, _SEEN) if each[:1].isdigit() or each.isupper() else each for each in side.split(", ")
    )


def _installed(act: acts.Installed, part: Part | None) -> Iterator[str]:
    yield pgettext("of the unit", "in")
    if act.pieces is not None:
        yield ngettext(", {count} piece", ", {count} pieces", act.pieces).format(count=act.pieces)
    if act.new:
        yield _(", new") + _source(act)
    if act.sizes:
        yield f", {_figures(act.sizes)} mm"
    if act.side:
        yield f", {_side(act.side, part) if part else act.side}"


def _torque(act: acts.TorqueSigned) -> Iterator[str]:
    turned = act.torque is None and act.angle is not None
    yield _("turned {degrees}° further").format(degrees=act.angle) if turned else _("tightened")
    if act.torque is not None:
        yield _(" to {torque}").format(torque=f"{act.torque} {act.unit}")
    if act.angle is not None and not turned:
        yield _(" and {degrees}° on").format(degrees=act.angle)
    if act.share != 1:
        yield _(", pass of {share} %").format(share=wording.plain(act.share * 100))
    if act.wrench:
        yield _(", wrench {wrench}").format(wrench=act.wrench)
    if act.oiled is not None:
        yield ", " + (_("oiled") if act.oiled else _("dry"))


def _reading(act: Reading, part: Part | None) -> str:
    what = fit_words(act.fit) if act.fit else _point(part, act.check)
    told = f"{_figures(act.values)} {act.unit}" + (f", {said(act.state)}" if act.state else "")
    if act.result is not None:
        told += _(", counts as {size}").format(size=f"{act.result} {act.unit}")
    if act.verdict in ("out", "borderline", "unexpected"):
        told += ": " + (pgettext("of limits", "OUT") if act.verdict == "out" else _(VERDICT_WORDS[act.verdict]))
    return f"{what}: {told}" if what else told


def verdict_words(part: Part | None, check: int | None, verdict: str) -> str:
    """Return what was said of a part, or of one of its points; what is judged when it is together goes in no more."""
    points = part.check if part and check is not None else ()
    together = check is not None and check < len(points) and points[check].at == "assembled"
    return _("OK") if together and verdict == "reuse" else _(VERDICTS[verdict])


def _point(part: Part | None, check: int | None) -> str:
    if check is None or part is None or check >= len(part.check):
        return "" if check is None else _("point {number}").format(number=check + 1)
    return part.check[check].look or part.check[check].measure or ""


def _figures(values: tuple[Decimal, ...]) -> str:
    return " ".join(map(str, values))


def _of(pieces: int | None) -> str:
    if pieces is None:
        return ""
    return ngettext(" ({count} piece)", " ({count} pieces)", pieces).format(count=pieces)
