"""Hints at work that can hurt somebody or spoil a part: tightening, cautions, tools and the wash."""

from __future__ import annotations

import re
from collections.abc import Iterator, Mapping
from typing import Final

from labelkit import forms
from labelkit.calc.cautions import hazards_at
from labelkit.calc.lifting import METRIC
from labelkit.calc.plausible import SLACK, STRONGEST, screw_stress
from labelkit.calc.tightening import order
from labelkit.errors import UsageError
from labelkit.load.companions import Entry
from labelkit.model.hardwareform import Bolt, CoilSpring, Hardware, Threaded
from labelkit.model.part import Fasten
from labelkit.model.ringform import DiscSpring, SnapRing
from labelkit.sheets.hints.subject import Found, Rule, Subject, at, listed, weighs
from labelkit.sheets.hints.words import LEFT_HAND, PRESS, SPRING

# From so many on, screws of one joint are tightened in an order. Common practice, no source.
_MANY: Final = 4
# What solvent swells, or what soaks it up.
_SPOILT: Final = {"rubber": "rubber swells", "lining": "linings soak it up"}
_IN_SOLVENT: Final = ("basket", "small_basket")
# What nobody does with bare hands.
_BY_TOOL: Final = ("press", "pliers")


def _fastened(subject: Subject) -> Iterator[tuple[Entry, Fasten]]:
    for entry in subject.entries:
        if entry.part.fasten:
            yield entry, entry.part.fasten


def torque_missing(subject: Subject) -> Iterator[Found]:
    """A screw without a torque is tightened by feel, and an angle counts from a torque.

    What sets a preload is tightened until it is right.
    """
    preload = {name for fit in subject.profile.fits.values() if fit.kind == "preload" for name in fit.chain}
    for entry in subject.entries:
        part, fasten = entry.part, entry.part.fasten
        if not part.tightened or part.id in preload or (fasten and fasten.torque):
            continue
        angle = fasten.angle if fasten else None
        before = f", from which its {angle.value:f} degrees count" if angle else ""
        write = f"angle: {angle.value:f}" if angle else "oiled: false"
        yield (
            at(entry, *(["fasten"] if fasten else [])),
            f"no torque is recorded of {part.id}{before}: it is tightened by feel, and the torque sheet has nothing to "
            f"sign; write fasten: {{torque: 25, {write}}}, with the figure of the unit's own manual",
        )


def torque_unlikely(subject: Subject) -> Iterator[Found]:
    """Twelve times too much or too little is a unit that was taken for another.

    A torque before an angle may be small.
    """
    for entry, fasten in _fastened(subject):
        form = entry.part.form
        if fasten.torque is None or not isinstance(form, Bolt):
            continue
        stress = screw_stress(fasten.torque, form.d)
        if stress > STRONGEST or (stress < SLACK and not fasten.angle):
            which = (
                f"more than the strongest screws bear ({STRONGEST:.0f} MPa, class 12.9 by ISO 898-1)"
                if stress > STRONGEST
                else "so little that it hardly clamps"
            )
            yield (
                at(entry, "fasten", "torque"),
                f"{fasten.torque} puts a screw of {form.d} under about {stress:.0f} MPa, {which}: look at the unit of "
                f"torque: (1 lbf·ft = 12 lbf·in = 1.36 N·m), and at d:",
            )


def dry_or_oiled(subject: Subject) -> Iterator[Found]:
    """One torque clamps a third harder oiled than dry: it is part of the value. One hint for all of a profile."""
    open_ones = [e for e, fasten in _fastened(subject) if fasten.torque is not None and fasten.oiled is None]
    if open_ones:
        yield (
            at(open_ones[0], "fasten"),
            f"dry or oiled is not recorded of {listed([each.part.id for each in open_ones])}: oiled threads clamp "
            f"about a third harder at the same torque; write oiled: true or oiled: false in fasten:",
        )


def order_missing(subject: Subject) -> Iterator[Found]:
    """Screws that are tightened one after the other round the joint warp it."""
    for entry, fasten in _fastened(subject):
        count = entry.part.qty
        if isinstance(count, int) and count >= _MANY and fasten.torque and fasten.pattern is None:
            yield (
                at(entry, "fasten"),
                f"nothing says in which order the {count} of {entry.part.id} are tightened: the joint can warp; write "
                f"pattern: circle, row or two_rows, or the list of the unit's own manual",
            )


def order_unfit(subject: Subject) -> Iterator[Found]:
    """An order that leaves a screw out is not drawn on the torque sheet."""
    for entry, fasten in _fastened(subject):
        if fasten.pattern is None or not isinstance(entry.part.qty, int):
            continue
        try:
            order(fasten.pattern, entry.part.qty)
        except UsageError as error:
            yield (
                at(entry, "fasten", "pattern"),
                f"{entry.part.id}: {error}; the torque sheet can draw no order; correct pattern: or qty:",
            )


def passes_unfinished(subject: Subject) -> Iterator[Found]:
    """The last round has all of the torque, and none has less than the one before."""
    for entry, fasten in _fastened(subject):
        shares = fasten.passes
        if shares and (shares[-1] != 1 or list(shares) != sorted(shares)):
            told = ", ".join(f"{share:f}" for share in shares)
            yield (
                at(entry, "fasten", "passes"),
                f"the passes of {entry.part.id} are {told} of the torque: they must rise and end with all of it, or "
                f'the screws stay loose; write passes: ["0.7", "1.0"]',
            )


def stretched_again(subject: Subject) -> Iterator[Found]:
    """A screw that is tightened by angle is stretched, and mostly used once."""
    for entry, fasten in _fastened(subject):
        if fasten.angle and fasten.angle.value and not entry.part.new_only:
            yield (
                at(entry, "fasten", "angle"),
                f"{entry.part.id} is tightened by {fasten.angle.value:f} degrees, which stretches it, and may go in "
                f"again: see in the unit's own manual whether it must be new; write renew: always and one_time: true "
                f"if so, or a check: of its length",
            )


def left_hand_unmarked(subject: Subject) -> Iterator[Found]:
    """Forcing a left-hand thread breaks the shaft: the label must shout it."""
    for entry in subject.entries:
        part = entry.part
        words = (part.name, part.short or "", part.out.note or "" if part.out else "")
        screwed = isinstance(part.form, Threaded) or part.screwed
        if screwed and part.thread == "right" and any(LEFT_HAND.search(text) for text in words):
            yield (
                at(entry),
                f"{part.id} is called left-hand, but its thread is not: the label does not shout it, and forcing it "
                f"breaks the shaft; write thread: left",
            )


def _warned(subject: Subject, entry: Entry, words: re.Pattern[str]) -> bool:
    """Say whether a caution at the part, at what it is inside, or for the whole unit has one of these words."""
    told = [each.part.hazards for each in (entry, *entry.above)] + [subject.profile.hazards]
    return any(hazard.hurts and words.search(hazard.text) for hazards in told for hazard in hazards)


def _cautioned(entry: Entry | None) -> bool:
    return entry is not None and any(hazard.hurts for hazard in entry.part.hazards)


def ring_without_caution(subject: Subject) -> Iterator[Found]:
    """A retaining ring that slips off the pliers flies into an eye."""
    for entry in subject.entries:
        if isinstance(entry.part.form, SnapRing) and not _cautioned(entry):
            yield (
                at(entry),
                f"{entry.part.id} is under tension and has no caution; write hazards: [{{signal: caution, at: removal, "
                f'text: "Can fly off: eye protection, cover it with a rag"}}]',
            )


def spring_without_caution(subject: Subject) -> Iterator[Found]:
    """A spring that is let go throws itself or what holds it; the caution may stand at that."""
    for entry in subject.entries:
        part = entry.part
        if not isinstance(part.form, CoilSpring | DiscSpring) or _warned(subject, entry, SPRING):
            continue
        near = (entry, subject.known.get(part.holder or ""), *subject.resting.get(part.id, ()))
        if not any(_cautioned(each) for each in near):
            yield (
                at(entry),
                f"{part.id} is spring-loaded, and neither it nor what holds it has a caution; write hazards: "
                f'[{{signal: warning, at: removal, text: "Spring: its force, and how it is let off"}}]',
            )


def press_without_caution(subject: Subject) -> Iterator[Found]:
    """What is pressed lets go at once, and what breaks flies."""
    for entry in subject.entries:
        out = entry.part.out
        if out is None:
            continue
        tool = subject.profile.tools.get(out.tool or "", out.by or "")
        if PRESS.search(tool) and not _warned(subject, entry, PRESS):
            yield (
                at(entry, "out"),
                f"{entry.part.id} comes out under a press, and nothing warns of it; write hazards: "
                f'[{{signal: warning, at: removal, text: "Press: set square, guard shut, nobody in line"}}]',
            )


def heavy_without_caution(subject: Subject) -> Iterator[Found]:
    """Nobody lifts so much alone, however well it stands.

    Source: load constant of the revised NIOSH lifting equation, 23 kg.
    """
    for entry in subject.labelled:
        mass = entry.part.mass
        if mass and float(mass.kg) >= METRIC.load and not _cautioned(entry):
            yield (
                at(entry, "mass"),
                f"{entry.part.id} weighs {mass}; above {weighs(METRIC.load, mass.unit)} nobody lifts alone (revised "
                f"NIOSH lifting equation), and nothing says so; write hazards: [{{signal: warning, at: removal, "
                f'text: "{mass}: hoist only"}}]',
            )


def group_without_caution(subject: Subject) -> Iterator[Found]:
    """What goes in in one lift weighs the sum of it, and no part's own caution says how much that is.

    Parts of one version only are not counted. Source: as of a heavy part.
    """
    for number, rule in enumerate(subject.profile.assembly):
        joined = [subject.known[name].part for name in rule.join]
        masses = [
            part.mass.kg * (1 if part.qty == "set" else part.qty) for part in joined if part.mass and not part.only
        ]
        told = any(h.kg for part in joined for h in hazards_at(part, "assembly") if h.hurts)
        if sum(masses) >= METRIC.load and not told:
            whole, most = (weighs(each, subject.profile.unit.masses) for each in (sum(masses), METRIC.load))
            yield (
                ("assembly", number),
                f"{listed(list(rule.join))} weigh {whole} together; above {most} nobody lifts alone (revised NIOSH "
                f"lifting equation), and nothing says so when they go in; write at one of them "
                f'hazards: [{{signal: warning, at: assembly, text: "In one lift {whole}: hoist only"}}]',
            )


def tool_missing(subject: Subject) -> Iterator[Found]:
    """A press needs its driver and pliers their tips: looked for while the unit is open, they cost an hour."""
    for entry in subject.entries:
        out = entry.part.out
        if out and out.by in _BY_TOOL and out.tool is None:
            yield (
                at(entry, "out"),
                f"{entry.part.id} comes out by {out.by}, and no tool is named: it is looked for when the unit is open; "
                f'write tools: {{own-name: "{out.by.capitalize()}, its size"}} and out: {{tool: own-name}}',
            )


def spoilt_by_wash(subject: Subject) -> Iterator[Found]:
    """Solvent is for metal. Source: public manuals forbid solvent on rubber and linings; common practice."""
    for entry in subject.entries:
        part = entry.part
        of = forms.materials(part.form) if part.form else ()
        why = next((words for material, words in _SPOILT.items() if material in of), "")
        if why and part.wash in _IN_SOLVENT:
            yield (
                at(entry, "wash"),
                f"{part.id} goes into the {'basket' if part.wash == 'basket' else 'small basket'} with solvent: {why}; "
                f"write wash: no_solvent, or wash: not_washed for what is renewed",
            )


def lost_in_wash(subject: Subject) -> Iterator[Found]:
    """A ball, pin, key or spring that lies loose in a part is gone when that part is washed."""
    for entry in subject.entries:
        part = entry.part
        loose = part.held is not None and part.held.by == "loose"
        small = isinstance(part.form, Hardware) and not isinstance(part.form, Threaded)
        if loose and small and entry.above and part.wash in (None, "basket", "small_basket"):
            yield (
                at(entry, "wash") if part.wash else at(entry),
                f"{part.id} lies loose in {entry.above[-1].part.id} and falls out in the washer; write wash: before, "
                f"so that nothing is washed until it is out and bagged",
            )


RULES: Final[Mapping[str, Rule]] = {
    "torque-missing": torque_missing,
    "torque-unlikely": torque_unlikely,
    "dry-or-oiled": dry_or_oiled,
    "tightening-order-missing": order_missing,
    "tightening-order-unfit": order_unfit,
    "passes-unfinished": passes_unfinished,
    "stretched-again": stretched_again,
    "left-hand-unmarked": left_hand_unmarked,
    "ring-without-caution": ring_without_caution,
    "spring-without-caution": spring_without_caution,
    "press-without-caution": press_without_caution,
    "heavy-without-caution": heavy_without_caution,
    "group-without-caution": group_without_caution,
    "tool-missing": tool_missing,
    "spoilt-by-wash": spoilt_by_wash,
    "lost-in-wash": lost_in_wash,
}
