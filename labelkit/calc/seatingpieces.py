"""Pieces of parts on an axis: which part may stand on one, where a piece begins and ends, where two of them meet."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from labelkit import forms
from labelkit.calc import seatingwords as words
from labelkit.calc.seatingbody import Solid, Stop, Way, solid, stop
from labelkit.calc.steps import Bin
from labelkit.model.formbase import Form
from labelkit.model.hardwareform import Screw
from labelkit.model.part import Part
from labelkit.model.scalars import Clock


@dataclass(frozen=True, slots=True)
class Seated:
    """One piece of a part at its place.

    Attributes:
        bin: the part's.
        form: the part's.
        z: of its lowest point on its axis, mm.
        flipped: its `way` end is down.
        solid: what of it stops others, in its own frame.
    """

    bin: Bin
    form: Form
    z: float
    flipped: bool
    solid: Solid


def aside(part: Part) -> str | None:
    """Return why a part stands on no axis, whatever it lies on; None where it may."""
    form, sits = part.form, part.sits
    if form is None:
        return words.NO_FORM
    if form.stands == "yields":
        return words.GROOVE if form.kind == "o_ring" else words.SPRING
    if part.qty not in (1, "set"):
        return words.SEVERAL
    free = sits is not None and sits.up == "free"
    told = sits is not None and sits.opens is not None
    at_an_hour = sits is not None and isinstance(sits.clock, Clock) and form.aside
    if at_an_hour or (screwed_in(part) and (form.aside or forms.sided(form))):
        return words.BESIDE
    if not forms.section(form).axial and form.kind != "outline":
        return words.BESIDE
    return words.END if forms.sided(form) and not free and not told else None


def screwed_in(part: Part) -> bool:
    """Say whether a part is screwed in and has no end that is said to look up: it may go in from the side."""
    return part.screwed and part.sits is not None and part.sits.up == "free" and part.sits.opens is None


def flipped(part: Part) -> bool:
    """Say whether the `way` end of a part is down."""
    return part.sits is not None and part.sits.opens == "down"


def within(piece: Seated, each: Bin) -> bool:
    """Say whether a piece is of a part, or of what belongs to it."""
    return piece.bin.step == each.step or piece.bin.step.startswith(f"{each.step}.")


def drawn_range(pieces: Sequence[Seated]) -> tuple[float, float]:
    """Return the lowest and the highest point of some pieces, as they are drawn."""
    return min(piece.z for piece in pieces), max(piece.z + forms.section(piece.form).height for piece in pieces)


def shared(one: Seated, other: Seated) -> float:
    """Return how much of the axis what of two pieces stops others shares, mm; negative is how far they are apart."""
    both = (one, other)
    return min(p.z + p.solid.top for p in both) - max(p.z + p.solid.bottom for p in both)


def height(pieces: Sequence[Seated]) -> float:
    """Return how much of the axis some pieces take, as they are drawn."""
    low, high = drawn_range(pieces)
    return high - low


def meet(moving: Seated, still: Seated, way: Way) -> Stop | None:
    """Return where one piece is stopped by another: some by lugs and planets as well."""
    mine, its = (
        solid(one.form, flipped=one.flipped, whole=True) if _meets_whole(one.form, other.form) else one.solid
        for one, other in ((moving, still), (still, moving))
    )
    return stop(mine or moving.solid, its or still.solid, way)


def farthest(moving: Seated, still: Seated, way: Way) -> float:
    """Return how far one piece can be from another, against the way of pushing, at the most, when they meet."""
    if way == "down":
        return _ends(still)[1] - _ends(moving)[0]
    return _ends(moving)[1] - _ends(still)[0]


def _ends(piece: Seated) -> tuple[float, float]:
    """Return the lowest and the highest point of what of a piece can stop another, planets included."""
    if piece.form.kind == "carrier":
        return drawn_range([piece])
    return piece.z + piece.solid.bottom, piece.z + piece.solid.top


def _meets_whole(form: Form, other: Form) -> bool:
    """Say whether a part meets another with its lugs or planets too: a plate its ring, a carrier the next one."""
    return (form.kind, other.kind) in (("steel_plate", "snap_ring"), ("carrier", "carrier"))


def is_screw(piece: Seated) -> bool:
    """Say whether a piece is a screw: its head lies in a recess that few forms show, and stops only what lies on it."""
    return isinstance(piece.form, Screw)
