"""A pack of plates, scanned plate by plate as they are laid: what is right so far, and what comes next."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from labelkit.calc.answers import Answer
from labelkit.calc.assembly import partners
from labelkit.calc.platestack import plate_stack
from labelkit.calc.steps import Bin, Teardown
from labelkit.errors import UsageError
from labelkit.language import gettext as _
from labelkit.language import ngettext, pgettext
from labelkit.model.plates import is_friction


@dataclass(frozen=True, slots=True)
class PackScan:
    """How far a pack is.

    Attributes:
        right: plates from the start that lie as they must.
        wanted: how many the pack has.
        next: the bin of the plate that comes next; None: all lie, or something is wrong.
        refusal: one line: which plates are wrong and what to do; empty while all are right.
        answer: of the whole stack, once all plates were scanned.
    """

    right: int
    wanted: int
    next: Bin | None
    refusal: str
    answer: Answer | None

    @property
    def complete(self) -> bool:
        """Whether every plate lies in its place."""
        return self.right == self.wanted and not self.refusal


def pack_scan(
    teardown: Teardown, pack: Bin, scanned: Sequence[Bin], *, from_start: bool = False, whole: bool = False
) -> PackScan:
    """Hold scanned plates against the order of a pack.

    Args:
        teardown: of the job.
        pack: the bin of a part with a stack.
        scanned: the bins of the plates, in the order in which they were laid; a bin of several plates once for each.
        from_start: from the end that `stack_from` names, the removal order; else the other way round, as it is built.
        whole: there are no more plates.

    Raises:
        UsageError: the part is no pack of plates.
    """
    if not pack.part.stack:
        told = _("step {step}, {part}, is no pack of plates: its profile gives no stack")
        raise UsageError(told.format(step=pack.step, part=pack.name))
    order = pack.part.stack if from_start else tuple(reversed(pack.part.stack))
    bins = {name: next(iter(partners(teardown, pack, name)), None) for name in order}
    own = {each.ordinal: name for name, each in bins.items() if each is not None}
    right = 0
    for plate, name in zip(scanned, order, strict=False):
        if own.get(plate.ordinal) != name:
            break
        right += 1
    if stranger := next((each for each in scanned if each.ordinal not in own), None):
        return PackScan(right, len(order), None, _stranger_words(teardown, pack, stranger), None)
    found = [own[each.ordinal] for each in scanned]
    if whole or len(found) >= len(order):
        answer = _answer(pack, order, found)
        return PackScan(right, len(order), None, "" if answer.verdict == "ok" else answer.notes[0], answer)
    if right == len(found):
        return PackScan(right, len(order), bins[order[right]], "", None)
    return PackScan(right, len(order), None, _wrong_words(pack, order, found, right), None)


def _answer(pack: Bin, order: Sequence[str], found: Sequence[str]) -> Answer:
    start, end = pack.part.stack_from or _("its first end"), _("the other end")
    ends = (start, end) if tuple(order) == pack.part.stack else (end, start)
    frictions = [part.id for part in pack.part.parts if is_friction(part)]
    return plate_stack(found, order, frictions, names=_names(pack), ends=ends)


def _names(pack: Bin) -> dict[str, str]:
    """Return what each kind of plate is called: `friction` and `steel` where the pack has one kind of them only."""
    names = {part.id: part.short or part.name for part in pack.part.parts}
    words = {"friction_plate": pgettext("plate", "friction"), "steel_plate": pgettext("plate", "steel")}
    for form, word in words.items():
        kinds = [part for part in pack.part.parts if part.form and part.form.kind == form]
        many = [part.id for part in kinds if pack.part.stack.count(part.id) > 1]
        if len(many) == 1:
            names[many[0]] = word
    return names


def _wrong_words(pack: Bin, order: Sequence[str], found: Sequence[str], right: int) -> str:
    """Return that the first wrong plate is wrong, and which belongs there."""
    names, laid = _names(pack), found[right]
    frictions = {part.id for part in pack.part.parts if is_friction(part)}
    if laid in frictions and right and found[right - 1] in frictions:
        told = _("NO: two frictions would touch: place {place} is {found}, {wanted} belongs there. Take it out")
    else:
        told = _("NO: place {place} is {found}, {wanted} belongs there. Take it out")
    return told.format(place=right + 1, found=names[laid], wanted=names[order[right]])


def _stranger_words(teardown: Teardown, pack: Bin, stranger: Bin) -> str:
    """Return that a plate is none of this pack, and whose it is."""
    told = _("{plate} is of {home}, not of {pack}") if stranger.parent else _("{plate} is of no pack, not of {pack}")
    told = told.format(
        plate=stranger.full_name,
        home=teardown.at(stranger.parent).name if stranger.parent else "",
        pack=pack.full_name,
    )
    frictions = sum(pack.part.stack.count(part.id) for part in pack.part.parts if is_friction(part))
    if not frictions:
        return _("NO: {stranger}. Take it out").format(stranger=told)
    refusal = ngettext(
        "NO: {stranger}; {pack} has {count} friction plate and none of these. Take it out",
        "NO: {stranger}; {pack} has {count} friction plates and none of these. Take it out",
        frictions,
    )
    return refusal.format(stranger=told, pack=pack.name, count=frictions)
