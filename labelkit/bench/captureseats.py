"""What lies on what in a capture: no part lies on itself, and what lies elsewhere after a change."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from typing import Final

from labelkit.bench.capturetree import NEXT, Captured, Unit
from labelkit.errors import UsageError
from labelkit.language import gettext as _
from labelkit.language import noop


class SeatRing(UsageError):
    """Report parts of which each lies on the next, in a ring."""

    WORDS: Final = noop(
        "{part} is told to lie on this part, so this one does not lie on it: say here that nobody looked, or change "
        "what that one lay on"
    )

    def __init__(self, step: str, part: Captured) -> None:
        self.step, self.part = step, part
        super().__init__(_(self.WORDS).format(part=f"{step} {part.name}"))


def no_ring(unit: Unit, number: int) -> None:
    """Refuse a part that lies on another one which lies on it, by itself or over others.

    Raises:
        SeatRing: there is such a one.
    """
    if last := _closing(_seats(unit), number):
        raise SeatRing(unit.steps()[last], unit.find(last))


def no_rings(unit: Unit) -> None:
    """Refuse a unit in which parts lie on each other in a ring, as some may when one is moved.

    Raises:
        UsageError: there are such parts.
    """
    seats = _seats(unit)
    for first in seats:
        if last := _closing(seats, first):
            told = _("there {part} and {other} would lie on each other: change what one of them lay on first")
            raise UsageError(told.format(part=unit.find(last).name, other=unit.find(first).name))


def _seats(unit: Unit) -> dict[int, int]:
    return {part.number: int(part.on) for _step, part in unit.seated().walk() if part.on}


def _closing(seats: Mapping[int, int], first: int) -> int | None:
    """Return the part by which what one lies on lies on it again, by itself or over others; None without one."""
    at, passed = first, set[int]()
    while at in seats and at not in passed:
        passed.add(at)
        if seats[at] == first:
            return at
        at = seats[at]
    return None


def reseated(before: Unit, after: Unit) -> Iterator[tuple[str, str]]:
    """Yield each part that lies on another one now, because the next one out is another, and that one: steps and names.

    The latter is empty where nothing comes out after it any more.
    """
    was = {part.number: part.on for _step, part in before.seated().walk() if part.on}
    names = {str(part.number): f"{step} {part.name}" for step, part in after.walk()}
    for (_step, told), (_again, part) in zip(after.walk(), after.seated().walk(), strict=True):
        if told.on == NEXT and was.get(part.number, part.on) != part.on:
            yield names[str(part.number)], names.get(part.on, "")
