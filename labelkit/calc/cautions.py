"""The cautions of an act: which must be shown and ticked before it, word for word.

A `notice` is not about injury and is not ticked. Signal words by the meaning of ANSI Z535.4.
"""

from __future__ import annotations

import re
from collections.abc import Iterable
from typing import Final

from labelkit import language
from labelkit.calc.apart import ahead, still_readable
from labelkit.calc.lifting import METRIC
from labelkit.calc.record import Record
from labelkit.calc.steps import Bin
from labelkit.calc.washing import carried
from labelkit.language import noop
from labelkit.model.act import Act
from labelkit.model.acts import Inspected, Installed, Joined, Removed, TorqueSigned, Washed, WashStarted
from labelkit.model.facewords import tells_itself
from labelkit.model.part import SIGNALS, Hazard, Moment, Part
from labelkit.model.profile import Profile, fit_words
from labelkit.model.readings import Reading

# At which moment of its own cautions an act is; those of the unit count from the one named first.
_MOMENTS: Final[dict[type[Act], tuple[Moment, ...]]] = {
    Removed: ("removal", "teardown"),
    WashStarted: ("wash",),
    Washed: ("wash",),
    Joined: ("assembly",),
    Installed: ("assembly",),
    Inspected: ("inspection",),
    Reading: ("inspection",),
}
# Nothing is moved at these: what is true of a part at every moment was ticked when it came out.
_STILL: Final = frozenset[Moment](("inspection",))
LIFT: Final = noop("LIFT {mass}")
"""What labels shout of a heavy part, and its caution says."""
_LIFTED: Final = re.compile(r"(: (?:.+: )?)LIFT (\S+ \S+)", re.DOTALL)
# The same of every profile; the record has one wording for all, which is translated when it is shown.
_LOOSEN: Final = noop("LEFT-HAND thread: turn clockwise to loosen")
_TIGHTEN: Final = noop("LEFT-HAND thread: turn counter-clockwise to tighten")
_LEFT_HAND: Final[dict[type[Act], str]] = {
    Removed: _LOOSEN,
    Joined: _TIGHTEN,
    Installed: _TIGHTEN,
    TorqueSigned: _TIGHTEN,
}
# Asked again only when other steps are meant, so that nobody learns to tick without reading.
_AHEAD: Final = noop("Out of order; before it, not out yet: {steps}")
_UNREAD: Final = noop("Not read yet as found: {fits}. Read it before this comes out")
_WRONG_WAY: Final = noop("Up: {up}. If it is wrong: {what}")
_WRONG_FACE: Final = noop("{up}. If it is wrong: {what}")
_SHOWN: Final = 3


def cautions(record: Record, act: Act, place: int | None) -> tuple[tuple[str, ...], tuple[str, ...]]:
    """Return the cautions of an act: of its parts, ticked each time; and of the whole unit, ticked once by each person.

    Args:
        record: of the job.
        act: that is about to be recorded.
        place: the ordinal of its place; None: the job.
    """
    of_parts, of_the_unit = _said_at(record, act, place)
    own = [_LEFT_HAND[type(act)]] if place is not None and _is_left_hand(record, act, place) else []
    own += [_caution_words(risk, name) for risk, name in of_parts if risk.hurts]
    sits = record.at(place).item.part.sits if place is not None and isinstance(act, Installed) else None
    if sits and sits.if_wrong and sits.up not in (None, "free"):
        wrong = _WRONG_FACE if tells_itself(sits.up) else _WRONG_WAY
        own.append(wrong.format(up=sits.up, what=sits.if_wrong))
    general = [_caution_words(each) for each in of_the_unit if each.hurts]
    if place is not None and isinstance(act, Removed):
        general += _out_of_order(record, place)
        general += _unread(record, place)
    return tuple(dict.fromkeys(own)), tuple(general)


def notices(record: Record, act: Act, place: int | None) -> tuple[str, ...]:
    """Return what else is said at an act, of the whole unit and of its parts: of no injury, so that nobody ticks it.

    Arguments as for `cautions`.
    """
    of_parts, of_the_unit = _said_at(record, act, place)
    told = [_caution_words(each) for each in of_the_unit if not each.hurts]
    told += [_caution_words(risk, name) for risk, name in of_parts if not risk.hurts]
    return tuple(dict.fromkeys(told))


def of_unit(profile: Profile, *moments: Moment) -> list[Hazard]:
    """Return what is said of the whole unit at some moments, or at none in particular; notices too."""
    return [hazard for hazard in profile.hazards if hazard.at in (None, *moments)]


def hazards_at(part: Part, *moments: Moment) -> list[Hazard]:
    """Return the cautions of a part at some moments; those of none in particular wherever it is moved."""
    wanted = moments if _STILL.issuperset(moments) else (None, *moments)
    return [hazard for hazard in part.hazards if hazard.at in wanted]


def weight_at(part: Part, *moments: Moment) -> list[Hazard]:
    """Return the caution of what a part weighs: a heavy one is as heavy wherever it is moved.

    None where a caution of the same moment names as much.

    Source: of the signal word, the load constant of the revised NIOSH lifting equation, which nobody lifts alone.
    """
    if part.mass is None or not part.lift or _STILL.issuperset(moments):
        return []
    if any(hazard.hurts and hazard.kg >= part.mass.kg for hazard in hazards_at(part, *moments)):
        return []
    alone = float(part.mass.kg) < METRIC.load
    return [Hazard(signal="caution" if alone else "warning", text=LIFT.format(mass=part.lift))]


def _said_at(record: Record, act: Act, place: int | None) -> tuple[list[tuple[Hazard, str]], list[Hazard]]:
    """Return what is said of the parts of an act, each with the name to say with it, and of the whole unit.

    The worst stands first in both.
    """
    of_a_fit = isinstance(act, Reading) and act.fit is not None
    moments: tuple[Moment, ...] = () if of_a_fit else _MOMENTS.get(type(act), ())
    if not moments:
        return [], []
    still = _STILL.issuperset(moments)
    of_the_unit = [each for each in of_unit(record.profile, *moments) if each.at is not None or not still]
    # What goes into the washer is lifted into it, with what is inside; of many parts each caution names its own. What
    # is true of something inside at every moment goes along wherever that is moved; the rest is of its own acts.
    washed = isinstance(act, WashStarted | Washed)
    load = act.places if isinstance(act, WashStarted) else () if place is None else (place,)
    told = []
    for each in map(record.at, load):
        risks = [*hazards_at(each.item.part, moments[0]), *weight_at(each.item.part, moments[0])]
        told += [(risk, each.name if washed else "") for risk in risks]
        for inner in () if still else carried(record, each):
            risks = hazards_at(inner.item.part, moments[0])
            told += [(risk, inner.name) for risk in risks if washed or risk.at is None]
    told.sort(key=lambda pair: SIGNALS.index(pair[0].signal))
    return told, sorted(of_the_unit, key=lambda hazard: SIGNALS.index(hazard.signal))


def _is_left_hand(record: Record, act: Act, place: int) -> bool:
    return record.at(place).item.part.thread == "left" and type(act) in _LEFT_HAND


def _out_of_order(record: Record, ordinal: int) -> list[str]:
    """Return which steps before a part are not out, its own turn not having come."""
    place = record.at(ordinal)
    if place.stage != "in_unit" or not isinstance(place.item, Bin):
        return []
    names = [each.name for each in ahead(record, place.item)]
    shown = names if len(names) <= _SHOWN + 1 else [*names[:_SHOWN], f"... {names[-1]} ({len(names)})"]
    return [_AHEAD.format(steps=", ".join(shown))] if names else []


def _unread(record: Record, ordinal: int) -> list[str]:
    """Return which fits a part is the next to end, or to loosen, that nobody has read as they were found."""
    if record.at(ordinal).stage != "in_unit":
        return []
    fits = [fit_words(name) for name, end in still_readable(record).items() if end.ordinal == ordinal]
    return [_UNREAD.format(fits=", ".join(fits))] if fits else []


def signal_of(text: str) -> str:
    """Return the signal word that a caution begins with, in lower case; empty when it has none."""
    word = text.partition(":")[0].lower()
    return word if word in SIGNALS else ""


def worst_first(texts: Iterable[str]) -> tuple[str, ...]:
    """Return cautions once each: which way a left-hand thread turns, then the worst signal word first.

    What has no signal word hurts nobody, and stands last.

    Source: of grouped cautions the most severe stands first (common practice, no source).
    """
    ranks = {signal: rank for rank, signal in enumerate(SIGNALS)} | dict.fromkeys(_LEFT_HAND.values(), -1)
    return tuple(sorted(dict.fromkeys(texts), key=lambda text: ranks.get(text, ranks.get(signal_of(text), len(ranks)))))


def said(text: str) -> str:
    """Return a caution of the record, whose own words are English, in the language that is spoken."""
    if signal := signal_of(text):
        words = text[len(signal) :]
        if lifted := _LIFTED.fullmatch(words):
            words = lifted[1] + language.gettext(LIFT).format(mass=lifted[2])
        return language.gettext(signal.upper()) + words
    return language.said(text, (_AHEAD, _UNREAD, _WRONG_WAY, _WRONG_FACE))


def _caution_words(hazard: Hazard, name: str = "") -> str:
    """Return a caution as it is shown and ticked: `WARNING: 20.5 kg: two people or hoist`, its part's name before."""
    return ": ".join(filter(None, (hazard.signal.upper(), name, hazard.text)))
