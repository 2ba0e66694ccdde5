"""What closes a chain of parts in place, so that its end play can be read: told from how the parts are held.

What lies on the chain is followed to what is screwed down, held by its ring, or tightened itself. Common practice, no
source.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence

from labelkit.calc.assembly import Placed
from labelkit.calc.steps import Bin, Teardown
from labelkit.model.profile import Fit


def closed_by(teardown: Teardown, order: Iterable[Placed], fit: Fit) -> frozenset[str] | None:
    """Return the steps that are in when a play can be read, those of its own parts too; None: the profile cannot tell.

    Args:
        teardown: the removal order of a job.
        order: its order of assembly.
        fit: the play.
    """
    lying: dict[str, list[Bin]] = {}
    for placed in order:
        for need in placed.needs:
            lying.setdefault(need.step, []).append(placed.bin)
    rings = {each.part.holder for each in teardown.bins if each.part.held and each.part.held.by == "ring"}
    own = teardown.of(*fit.parts)
    found: dict[str, Bin] = {}
    waiting = [whole_of(teardown, each) for each in own]
    while waiting:
        each = waiting.pop()
        if each.step in found:
            continue
        found[each.step] = each
        if each.part.tightened or each.part.id in rings:
            continue
        kept_by = keeping(teardown, each, lying.get(each.step, ()))
        if not kept_by:
            return None
        waiting += [whole_of(teardown, other) for other in kept_by]
    return frozenset((*found, *(each.step for each in own))) or None


def whole_of(teardown: Teardown, each: Bin) -> Bin:
    """Return what a bin goes in with: itself, or the sub-assembly that it is inside."""
    while each.parent:
        each = teardown.at(each.parent)
    return each


def keeping(teardown: Teardown, each: Bin, lying: Sequence[Bin] = ()) -> Sequence[Bin]:
    """Return what keeps a part in its place: its ring, the screws through it, else what lies on it; empty: unknown."""
    if each.part.holder:
        return teardown.of(each.part.holder)
    if not each.part.screwed:
        return lying
    bins = teardown.bins
    return [other for other in bins if other.part.fasten and other.part.sits and other.part.sits.on == each.part.id]
