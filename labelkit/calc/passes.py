"""The passes in which the fasteners of a place are tightened: which of them nobody has signed yet."""

from __future__ import annotations

from dataclasses import dataclass
from decimal import Decimal

from labelkit.calc.placerecord import PlaceRecord, turned_on
from labelkit.language import gettext as _
from labelkit.model.acts import TorqueSigned
from labelkit.model.events import Event


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

    def is_in(self, act: TorqueSigned) -> bool:
        """Say whether it is part of what was signed; without a figure all of it is, as wanted."""
        if act.torque is None and act.angle is None and act.share == 1:
            return True
        if self.degrees is not None:
            return act.angle is not None
        return act.share == self.share and (act.torque is not None or act.angle is None)


def passes_of(place: PlaceRecord) -> tuple[Pass, ...]:
    """Return the passes of a place in their order; none where nobody recorded how it is tightened."""
    fasten = place.item.part.fasten
    if fasten is None:
        return ()
    degrees = turned_on(place.item)
    turned = (Pass(Decimal(1), degrees),) if degrees is not None else ()
    whole = (Decimal(1),) if fasten.torque else ()
    return (*map(Pass, fasten.passes or whole), *turned)


def unsigned(place: PlaceRecord) -> tuple[Pass, ...]:
    """Return the passes that nobody signed since the part came out; none where the whole is signed."""
    if place.torque is not None:
        return ()
    acts = [act for _event, act in signings(place)]
    return tuple(each for each in passes_of(place) if not any(each.is_in(act) for act in acts))


def signings(place: PlaceRecord) -> tuple[tuple[Event, TorqueSigned], ...]:
    """Return what was signed of a place since it last came out, in its order."""
    return tuple((e, e.act) for e in place.events if isinstance(e.act, TorqueSigned) and e.number > place.since)


def wanted_words(place: PlaceRecord) -> str:
    """Return to what the fasteners of a place are still to be tightened: `60 N·m, 90° further`; empty: to nothing."""
    fasten, left = place.item.part.fasten, unsigned(place)
    if fasten is None:
        return ""
    torque = [str(fasten.torque)] if fasten.torque and any(each.degrees is None for each in left) else []
    return ", ".join([*torque, *(each.words for each in left if each.degrees is not None)])


def skipped(place: PlaceRecord, act: TorqueSigned) -> tuple[Pass, ...]:
    """Return the passes that come before the one of an act, and that nobody signed."""
    if act.torque is None and act.angle is None and act.share == 1:  # all of it, as wanted
        return ()
    alone = act.torque is None
    return tuple(each for each in unsigned(place) if each.degrees is None and (alone or each.share < act.share))
