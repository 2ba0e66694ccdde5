"""The passes in which the fasteners of a place are tightened: which of them nobody has signed yet."""

from __future__ import annotations

from dataclasses import dataclass
from decimal import Decimal

from labelkit.calc.placerecord import PlaceRecord, turned_on
from labelkit.language import gettext as _
from labelkit.model.acts import TorqueSigned


@dataclass(frozen=True, slots=True)
class Pass:
    """One pass over all screws: a share of the torque, or, behind the last of these, `degrees` further."""

    share: Decimal
    degrees: Decimal | None = None

    @property
    def words(self) -> str:
        """What is signed: `the pass of 50 %`, `90° further`."""
        if self.degrees is not None:
            return _("{degrees}° further").format(degrees=self.degrees)
        return _("the pass of {share} %").format(share=f"{(self.share * 100).normalize():f}")


def passes_of(place: PlaceRecord) -> tuple[Pass, ...]:
    """Return the passes of a place in their order; none where nobody recorded how it is tightened."""
    fasten = place.item.part.fasten
    if fasten is None or not (fasten.torque or fasten.passes):
        return ()
    degrees = turned_on(place.item)
    turned = (Pass(Decimal(1), degrees),) if degrees is not None else ()
    return (*map(Pass, fasten.passes or (Decimal(1),)), *turned)


def unsigned(place: PlaceRecord) -> tuple[Pass, ...]:
    """Return the passes that nobody signed since the part came out; none where the whole is signed."""
    if place.torque is not None:
        return ()
    acts = [e.act for e in place.events if isinstance(e.act, TorqueSigned) and e.number > place.since]
    signed = {act.share for act in acts}
    return tuple(each for each in passes_of(place) if each.degrees is not None or each.share not in signed)


def wanted_words(place: PlaceRecord) -> str:
    """Return to what the fasteners of a place are still to be tightened: `60 N·m, 90° further`; empty: to nothing."""
    fasten, left = place.item.part.fasten, unsigned(place)
    if fasten is None or fasten.torque is None:
        return ""
    torque = [str(fasten.torque)] if any(each.degrees is None for each in left) else []
    return ", ".join([*torque, *(each.words for each in left if each.degrees is not None)])


def skipped(place: PlaceRecord, act: TorqueSigned) -> tuple[Pass, ...]:
    """Return the passes that come before the one of an act, and that nobody signed."""
    if act.torque is None and act.angle is None and act.share == 1:  # all of it, as wanted
        return ()
    alone = act.torque is None
    return tuple(each for each in unsigned(place) if each.degrees is None and (alone or each.share < act.share))
