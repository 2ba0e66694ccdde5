"""Why a part's place on its axis is not known, and which dimensions disagree: in words."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Final, NamedTuple

from labelkit.calc.listed import first_of
from labelkit.calc.seatingbody import Solid, Stop
from labelkit.language import noop
from labelkit.model.form import Shaft
from labelkit.model.formbase import Form
from labelkit.model.part import Part
from labelkit.units import Quantity

# Why a part is not in the section; several parts share one of them. Translated when they are said.
NO_FORM: Final = noop("no form")
OPEN: Final = noop("there only if an open option says so")
CAPTURED: Final = noop("stays inside another part")
SPRING: Final = noop("a spring: how far it is squeezed is not recorded")
GROOVE: Final = noop("in a groove that no form shows")
SEVERAL: Final = noop("several pieces: where each stands is not recorded")
BESIDE: Final = noop("stands beside the axis or is not round: where is not recorded")
ANYWHERE: Final = noop("where on its seat it stands is not recorded")
END: Final = noop("which end is up is not recorded")
NO_SEAT: Final = noop("what it lies on is not recorded")
SEAT_GONE: Final = noop("what it lies on is not in this job")
SEAT_ASIDE: Final = noop("what it lies on is not drawn here")
DEPTH: Final = noop("how far it goes in or on is not recorded: no shoulder stops it")
NO_MATE: Final = noop("no form shows the bore or journal that it sits in or on")
RING: Final = noop("it and what it lies on lie on each other, in a ring")
DISAGREES: Final = noop("its sizes disagree with what it lies on: labelkit check --hints tells which")


class Thing(NamedTuple):
    """A part and what of it stops another, in its own frame, as far as it is named in words."""

    part: Part
    solid: Solid


def figure(value: float) -> str:
    """Return a length in words, mm, to a hundredth.

    >>> figure(31.0), figure(2.345)
    ('31', '2.35')
    """
    return f"{value + 1e-9:.2f}".rstrip("0").rstrip(".")


def sizes(form: Form) -> str:
    """Return the sizes of a form as the profile names them: `od 62, id 40, t 3`."""
    if isinstance(form, Shaft):
        return "steps " + ", ".join(f"{_size(d)} x {_size(length)}" for d, length in form.steps)
    named = [(name, getattr(form, name)) for name in type(form).model_fields]
    return ", ".join(f"{name} {_size(size)}" for name, size in named if isinstance(size, Quantity))


def _size(size: Quantity) -> str:
    return str(size.value) if size.unit == "mm" else str(size)


def named(part: Part) -> str:
    """Return a part with its sizes: `thrust-2 (od 62, id 40, t 3)`."""
    return f"{part.id} ({sizes(part.form)})" if part.form else part.id


def no_face(mine: Thing, its: Thing) -> str:
    """Say that a part passes what it lies on, or hangs beside it."""
    where = " and ".join(_between(low, high) for low, high in mine.solid.radii())
    there = " and ".join(_between(low, high) for low, high in its.solid.radii())
    return (
        f"{named(mine.part)} finds no face of {its.part.id} {where}: {named(its.part)} has material only {there}; "
        f"correct a size, or say in sits.on what it lies on"
    )


def in_the_way(mine: Thing, its: Part, other: Part, met: Stop, gap: float) -> str:
    """Say that something is in the way before a part reaches what it lies on, `gap` mm before, where they met."""
    return (
        f"{named(mine.part)} does not reach {its.id}: {named(other)} is in its way {_between(met.low, met.high)} by "
        f"{figure(gap)} mm; pushed home they would share that room: correct a size, or say in sits.on what it lies on"
    )


def one_place(part: Part, others: Sequence[Part], seat: Part, met: Stop) -> str:
    """Say that a part and others lie at one place of their seat, where they met it."""
    names = first_of([other.id for other in others], 2)
    return (
        f"{part.id} and {names} lie on {seat.id} at one place, {_between(met.low, met.high)}: "
        f"let each lie on the one below it (sits.on), or give it the clock position at which it stands"
    )


def no_step(part: Part, seat: Part, bore: float) -> str:
    """Say that no step of a shaft has the diameter of a bore that goes on it."""
    steps = seat.form.steps if isinstance(seat.form, Shaft) else ()
    have = ", ".join(dict.fromkeys(_size(d) for d, _ in steps))
    return f"{named(part)} goes on no step of {seat.id}: its bore is {figure(bore)}, the steps are {have}"


def ring(parts: Sequence[Part]) -> str:
    """Say that parts lie on each other in a ring."""
    names = " on ".join([*(part.id for part in parts), parts[0].id])
    return f"{names}: what lies on what runs in a ring, so that none of them finds its place"


def _between(low: float, high: float) -> str:
    return f"between radius {figure(low)} and {figure(high)}"
