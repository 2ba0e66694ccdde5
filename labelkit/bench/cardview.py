"""What a card shows besides the card itself: where the part is, what may be done with it now, and its history."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass
from decimal import Decimal
from typing import Final

from labelkit.bench.about import About
from labelkit.bench.acting import cautions_of
from labelkit.bench.cardforms import (
    as_the_card_says,
    going_with,
    left_to_go_in,
    settles,
    sizes_to_tell,
    sources_asked,
)
from labelkit.bench.cardnext import forms_of, goes_in_now, more_of
from labelkit.bench.fieldwords import VERDICTS
from labelkit.bench.points import Point, points_of
from labelkit.bench.serials import unnumbered
from labelkit.bench.tightened import TURNED
from labelkit.calc.fitsizes import as_measured
from labelkit.calc.gate import Ruling, judge
from labelkit.calc.grades import chosen_words, lying_words, new_number
from labelkit.calc.measured import sized
from labelkit.calc.openpoints import place_points
from labelkit.calc.passes import Pass, passes_of, unsigned
from labelkit.calc.placerecord import PlaceRecord
from labelkit.calc.record import Record
from labelkit.calc.steps import choice_words
from labelkit.drawing.page import Box
from labelkit.language import gettext as _
from labelkit.model.act import Act
from labelkit.model.acts import Inspected, Installed, Joined, Photo, Removed, TorqueSigned, Washed
from labelkit.model.events import Event
from labelkit.model.part import Fasten
from labelkit.render.html import Markup
from labelkit.render.svg import svg_fragment
from labelkit.sheets import waywords, wording
from labelkit.sheets.actwords import act_words
from labelkit.sheets.placewords import stage_words, together_words, waits_words
from labelkit.sheets.seen import as_seen
from labelkit.sheets.torquesheet import order_of, pattern_drawing, share_words
from labelkit.units import units_of

_PATTERN_WIDTH: Final = 56.0
# Kinds of open points that stand on top of a card.
_QUESTIONS: Final = ("seen", "count", "ask", "limit")
# A size that is only named so that the gate does not ask for it before the form is filled in.
_SOME_SIZE: Final = Decimal(1)


@dataclass(frozen=True, slots=True)
class Line:
    """One event of a history: the event, its words, the number of its correction, and whether it may have one."""

    event: Event
    words: str
    corrected: int | None
    correctable: bool


@dataclass(frozen=True)
class CardState:
    """Where a part is and what may be done.

    Attributes:
        ordinal: of the place.
        name: step and name.
        stage: in words, with what was counted or found.
        expected: pieces it has; None: no fixed count.
        questions: what must be decided about it: how it sits, a count that is not right, whom to ask, a reading out of
            limits.
        singly: a reading of several pieces is outside its limits, of which perhaps not all are condemned.
        forms: names of the forms that come next, the first one first.
        more: names of the other forms that make sense.
        cautions: to be ticked before, by form.
        gate: what the gate says to its going in; None when nobody asks yet.
        loud: the gate's refusal belongs on top: the part was scanned to go in.
        points: of inspection.
        verdicts: what may be found at a point, value and words.
        whole_verdicts: what may become of the whole part, likewise.
        holds: open ones.
        history: the last event first.
        pictures: SHA-256 of the photos taken at the bench, the last first.
        says: which way up and at which clock position it sits by the card.
        unknown: whether the card does not say which way up, and at which clock position.
        fasten: how it is tightened.
        torque_words: the full torque in all three units.
        pattern: the order of tightening as a drawing; None when there is none.
        order: the same as numbers.
        share_choices: passes that are signed apart, value and words; empty where there is one only, of a torque.
        share: the pass that comes next.
        unit_choices: units of torque, value and words.
        graded: its sizes are measured when it goes in.
        measured: the pieces that go in as they measured, as the field of their sizes takes them.
        chosen: the sizes that were chosen for its fit; empty where none was.
        lying: which of them lie where already, in words.
        number: of what goes there new.
        goes_in: pieces that still go in by this label, where only some are new; None: all of it.
        has_parts: it is a sub-assembly.
        waits: says that its new parts are not here; empty when it waits for none.
        settles: the options that are decided by its being there, in words; empty where none is open.
        pairs: names of what it is matched with, while nobody wrote down its serial number.
        sources: where a new part that goes in uncounted may be from; empty where nobody has to say.
        together: what it goes in joined with, and why; empty where it is in no group.
        whole: the group that goes in, or is verified, in one with it; empty where each part of it is told alone.
        with_it: how each other part of that group sits by its card, where its card says it.
        sizes: of which new pieces may be condemned, value and words; empty where it need not be said.
        spread: how its pieces lie, where there are several and the profile says; else empty.
    """

    ordinal: int
    name: str
    stage: str
    expected: int | None
    questions: tuple[str, ...]
    singly: bool
    forms: tuple[str, ...]
    more: tuple[str, ...]
    cautions: Mapping[str, tuple[str, ...]]
    gate: Ruling | None
    loud: bool
    points: tuple[Point, ...]
    verdicts: tuple[tuple[str, str], ...]
    whole_verdicts: tuple[tuple[str, str], ...]
    holds: tuple[Event, ...]
    history: tuple[Line, ...]
    pictures: tuple[str, ...]
    says: tuple[str, str]
    unknown: tuple[bool, bool]
    fasten: Fasten | None
    torque_words: str
    pattern: Markup | None
    order: tuple[int, ...]
    share_choices: tuple[tuple[str, str], ...]
    share: str
    unit_choices: tuple[tuple[str, str], ...]
    graded: bool
    measured: str
    chosen: str
    lying: tuple[str, ...]
    number: str
    goes_in: int | None
    has_parts: bool
    waits: str
    settles: str
    pairs: tuple[str, ...]
    sources: tuple[tuple[str, str], ...]
    together: tuple[str, str]
    whole: str
    with_it: tuple[str, ...]
    sizes: tuple[tuple[str, str], ...]
    spread: str


def card_state(about: About, who: str) -> CardState:
    """Return where a part is and what a person may do with it."""
    record, place, part = about.record, about.place, about.place.item.part
    seen = as_seen(place).part
    gate = _gate(about, who)
    asks = [point for point in place_points(record, place) if point.kind in _QUESTIONS]
    forms = forms_of(about, goes_in=gate is not None and gate.allowed)
    placed = next((each for each in record.order if each.bin.ordinal == about.ordinal), None)
    acts: dict[str, Act] = {"removed": Removed(), "washed": Washed(), "joined": Joined(), "installed": Installed()}
    acts |= {"torque": TorqueSigned(), "points": Inspected(verdict="reuse")}
    pattern, order = _pattern(part.fasten, order_of(part))
    verdicts = tuple((value, _(words)) for value, words in VERDICTS)
    others = going_with(about) if gate is None or gate.allowed else ()
    cautions = {name: cautions_of(record, act, about.ordinal, who) for name, act in acts.items()}
    for other in others:
        more = cautions_of(record, acts["installed"], other.ordinal, who)
        cautions["installed"] = tuple(dict.fromkeys((*cautions["installed"], *more)))
    return CardState(
        ordinal=about.ordinal,
        name=place.name,
        stage=stage_words(record, place),
        expected=place.expected,
        questions=tuple(point.text for point in asks),
        singly=place.expected != 1 and any(point.kind == "limit" for point in asks),
        forms=forms,
        more=tuple(name for name in more_of(about) if name not in forms),
        cautions=cautions,
        gate=gate,
        loud=gate is not None and bool(gate.refusal) and goes_in_now(record, place),
        points=points_of(record, about.ordinal, about.profile.unit.lengths),
        verdicts=verdicts,
        whole_verdicts=tuple(each for each in verdicts if about.of_new or each[0] in wording.verdicts_of(part)),
        holds=place.holds,
        history=_history(record, about.ordinal),
        pictures=_pictures(place),
        says=as_the_card_says(about),
        unknown=waywords.unrecorded(seen),
        fasten=part.fasten,
        torque_words=wording.torque_words(part.fasten.torque) if part.fasten and part.fasten.torque else "",
        pattern=pattern,
        order=order,
        share_choices=_shares(place),
        share=_share(*(unsigned(place) or passes_of(place)[-1:])[:1]),
        unit_choices=tuple((unit, unit) for unit in units_of("torque")),
        graded=part.series is not None,
        measured=_measured(about) if about.new else "",
        chosen=chosen_words(record, about.ordinal),
        lying=lying_words(record, about.ordinal),
        number=new_number(record, about.ordinal),
        goes_in=left_to_go_in(about),
        has_parts=bool(part.parts),
        waits=waits_words(record, place),
        settles=choice_words(record.profile, {group: (choice,) for group, choice in settles(about).items()}),
        pairs=unnumbered(record, about.ordinal, new=about.new),
        sources=sources_asked(about),
        together=together_words(record.profile, placed) if placed else ("", ""),
        whole=placed.group or "" if placed and others else "",
        with_it=tuple(_with_it(others)),
        sizes=tuple((str(size), f"{size} mm") for size in sizes_to_tell(about)),
        spread=waywords.tell_words(part) or "" if place.expected != 1 else "",
    )


def _with_it(others: Iterable[About]) -> Iterator[str]:
    for other in others:
        if ways := ", ".join(filter(None, as_the_card_says(other))):
            yield f"{other.place.name}: {ways}"


def _measured(about: About) -> str:
    """Return the pieces that go in, in the unit of bare figures: the old ones that stay, the new ones as they measured.

    Empty where some of the new ones were not measured.
    """
    unit, new = about.profile.unit.lengths, as_measured(about.record, about.ordinal)
    old = [size for _place, size in about.record.stays.get(about.ordinal, ())] if new else []
    return " ".join(str(sized(size, unit).value) for size in (*old, *(each.mm for each in new)))


def _gate(about: About, who: str) -> Ruling | None:
    """Return what the gate says to a part that lies on the bench; its size and the cautions are asked for later."""
    place = about.place
    if not (place.is_out or (place.stays_in and about.new)):
        return None
    sizes = about.record.chosen.get(about.ordinal, (_SOME_SIZE,))
    sizes = sizes * (place.expected or place.count or 1) if len(sizes) == 1 else sizes
    # A stack that was chosen may have fewer pieces than came out.
    fewer = bool(place.item.part.series) and len(sizes) < (place.expected or 0) - (place.placed or 0)
    act: Act = Installed(new=about.new, sizes=sizes, pieces=len(sizes) if fewer else None)
    if about.assembly.is_built(place):
        act = Joined(new=about.new)
    ruling = judge(about.assembly, act, about.ordinal, who)
    return Ruling(not ruling.refusal, ruling.refusal, (), ruling.told, ruling.overridable)


def _pattern(fasten: Fasten | None, order: tuple[int, ...]) -> tuple[Markup | None, tuple[int, ...]]:
    if fasten is None or not order:
        return None, order
    kind = fasten.pattern if isinstance(fasten.pattern, str) else "own"
    drawn = pattern_drawing(kind, order)
    if drawn is None:
        return None, order
    title = _("Order of tightening by place: {order}").format(order="-".join(map(str, order)))
    return Markup(svg_fragment(drawn.items, Box(0, 0, _PATTERN_WIDTH, drawn.height), title=title)), order


def _shares(place: PlaceRecord) -> tuple[tuple[str, str], ...]:
    """Return the passes of a pattern as choices; empty where the full torque is the only one."""
    fasten, passes = place.item.part.fasten, passes_of(place)
    if fasten is None or (len(passes) < 2 and all(each.degrees is None for each in passes)):
        return ()
    found = []
    for number, each in enumerate(passes, 1):
        told = share_words(fasten.torque, each.share) if fasten.torque and each.degrees is None else each.words
        found.append((_share(each), _("pass {number}: {torque}").format(number=number, torque=told)))
    return tuple(found)


def _share(*passes: Pass) -> str:
    """Return how a form names a pass; empty where there is none."""
    return next((TURNED if each.degrees is not None else str(each.share) for each in passes), "")


def _history(record: Record, ordinal: int) -> tuple[Line, ...]:
    """Return the events of a place, the last first; corrected ones say so."""
    found = []
    for event in record.events:
        if event.place == ordinal:
            by = record.corrected.get(event.number)
            words = act_words(event.act, record.at(ordinal).item.part)
            found.append(Line(event, words, by.number if by else None, by is None and event.act.kind != "correction"))
    return tuple(reversed(found))


def _pictures(place: PlaceRecord) -> tuple[str, ...]:
    """Return the photos of a place, the last first."""
    return tuple(e.act.sha256 for e in reversed(place.events) if isinstance(e.act, Photo))
