"""What a profile leaves unrecorded: its open points, for the file's comments and for whoever fills them in later."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

from labelkit.language import noop
from labelkit.model.part import Part, Sits
from labelkit.model.profile import Header

_NO_SEAT = Sits()


@dataclass(frozen=True, slots=True)
class Unrecorded:
    """One open point of a part or of the header.

    Attributes:
        field: name of the field that would answer it, as in `sits.clock`.
        words: what is not recorded: `clock position`.
        write: what to write there, as an example; of `sits.clock` what stands within `sits`.
    """

    field: str
    words: str
    write: str


def of_unit(header: Header) -> tuple[Unrecorded, ...]:
    """Return the open points of a header."""
    asked = (
        (header.source, "source", noop("where the figures come from"), "source: shop notes, 2026"),
        (header.clock_from, "clock_from", noop("from where clock positions are read"), "clock_from: above"),
        (header.twelve, "twelve", noop("what is at 12 o'clock"), "twelve: fill plug"),
        (header.mass, "mass", noop("mass of the unit"), "mass: 136"),
        (header.oil, "oil", noop("oil"), 'oil: {kind: ISO VG 150, volume_l: "3.1"}'),
    )
    return tuple(Unrecorded(*words) for value, *words in asked if value is None)


def of_part(part: Part, *, numbered: bool = False) -> tuple[Unrecorded, ...]:
    """Return the open points of a part, in the order in which it is asked for them.

    What a part need not have is none: a photo, inspection points, a part that it lies on where anything else is known
    of its seat. A part that stays inside another has no seat of its own, and a sub-assembly is not ordered.

    Args:
        part: the part; those inside it are not looked at.
        numbered: the sizes of its series have order numbers.
    """
    return tuple(_of_part(part, numbered))


def _of_part(part: Part, numbered: bool) -> Iterator[Unrecorded]:
    if part.form is None:
        yield Unrecorded("form", noop("kind and sizes"), 'form: {ring: {od: 72, id: 50, t: "2.60"}}')
    elif (count := part.form.counted) and getattr(part.form, count) is None:
        yield Unrecorded("form", noop("how many teeth or lugs"), f"{count}: 24")
    if not part.captured:
        sits = part.sits or _NO_SEAT
        if sits.up is None and sits.opens is None:
            yield Unrecorded("sits.up", noop("which way up"), "up: ground face")
        if sits.clock is None:
            yield Unrecorded("sits.clock", noop("clock position"), 'clock: "6:00"')
        if part.sits is None:
            yield Unrecorded("sits.on", noop("what it lies on"), "on: id of that part")
    if part.mass is None:
        yield Unrecorded("mass", noop("mass"), 'mass: "0.04"')
    if part.held is None:
        yield Unrecorded("held", noop("how it is held"), "held: {by: slip}")
    if part.wash is None:
        yield Unrecorded("wash", noop("how it is washed"), "wash: basket")
    if part.renew is None and not part.parts:
        yield Unrecorded("renew", noop("when it is renewed"), "renew: if_worn")
    if part.new_only and not part.number and not numbered:
        yield Unrecorded("number", noop("order number"), "number: KR2-1107")
