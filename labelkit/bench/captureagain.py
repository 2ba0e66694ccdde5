"""What need not be told twice of a captured part: how it sat, in one tap, and all of one that is like another."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final

from labelkit.bench.captureform import typed_of
from labelkit.bench.capturepictures import way_words
from labelkit.bench.capturetree import NEXT, Captured, Unit
from labelkit.language import gettext as _
from labelkit.sheets.waywords import face_words

_FACES: Final = 4


@dataclass(frozen=True, slots=True)
class Quick:
    """How a part sat, told in one tap.

    Attributes:
        way, face, clock, on: as in the fields of the form.
        words: for people.
    """

    way: str
    face: str
    clock: str
    on: str
    words: str

    @property
    def value(self) -> str:
        """What the form sends."""
        return ";".join((self.way, self.clock, self.on, self.face))


def quick_ways(
    unit: Unit, part: Captured, kind: str, near: tuple[str, Captured] | None, *, ends: bool
) -> tuple[Quick, ...]:
    """Return what most parts are like: free on the dial, on the next one out or on the one before; and as the last one.

    A part whose form has ends says by a tap of its own which of them was up.

    Args:
        unit: what is captured so far.
        part: the new one.
        kind: of form.
        near: the part before it, with its step.
        ends: its form has ends.
    """
    way = "" if ends else "free"
    lead = "" if ends else way_words(kind, "free") + ", "
    free, below = _("clock FREE"), _("on the next one out")
    found = [Quick(way, "", "free", NEXT, f"{lead}{free}, {below}")]
    # Not on one that lies on this one.
    if near and near[1].on != str(part.number):
        on = _("on {part}").format(part=f"{near[0]} {near[1].name}")
        found.append(Quick(way, "", "free", str(near[1].number), f"{lead}{free}, {on}"))
    like = _last_like(unit, part, kind)
    same = _as_it_sat(unit, *like, near) if like else None
    return (*found, same) if same and same.value not in {each.value for each in found} else tuple(found)


def _last_like(unit: Unit, part: Captured, kind: str) -> tuple[str, Captured] | None:
    """Return the last part of the same kind of which it is told how it sat, with its step."""
    found = [
        (step, each)
        for step, each, _ in unit.walk()
        if kind and each.kind == kind and each.number != part.number and (each.way or each.face) and each.clock
    ]
    return max(found, key=lambda pair: pair[1].number, default=None)


def _as_it_sat(unit: Unit, step: str, part: Captured, near: tuple[str, Captured] | None) -> Quick:
    on = _seat_of(part, unit, near[1] if near else None)["on"]
    on = on if on != "other" else part.on
    said = [way_words(part.kind, part.way) if part.way else face_words(part.face)]
    said.append(_("clock FREE") if part.clock == "free" else part.clock)
    if on == NEXT:
        said.append(_("on the next one out"))
    elif on:
        said.append(_("on {part}").format(part=f"{unit.steps()[int(on)]} {unit.find(int(on)).name}"))
    words = _("As {part}: {seat}").format(part=f"{step} {part.name}", seat=", ".join(said))
    return Quick(part.way, part.face, part.clock, on, words)


def faces_before(unit: Unit) -> tuple[str, ...]:
    """Return the faces that were named so far, the latest first, and what faces are usually called."""
    named = [part.face for _, part, _ in sorted(unit.walk(), key=lambda row: -row[1].number) if part.face]
    return tuple(dict.fromkeys([*named, _("marked side"), _("ground face"), _("groove side"), _("chamfer")]))[:_FACES]


def typed_again(part: Captured, unit: Unit, near: Captured | None) -> dict[str, str]:
    """Return the fields for one more part like another: all but what is its own, photos and remarks.

    It lies as that one did: on the next one out, or on the one before it, or on the same.

    Args:
        part: the one that it is like.
        unit: what is captured so far.
        near: the part that will be before the new one.
    """
    own = dict.fromkeys(("along", "along_step", "remark"), "")
    return typed_of(part, unit) | own | _seat_of(part, unit, near)


def _seat_of(part: Captured, unit: Unit, near: Captured | None) -> dict[str, str]:
    """Return the fields for what another part lies on that lies as this one does."""
    before = unit.before(part.number)
    steps = {str(number): step for number, step in unit.steps().items()}
    follower = next((str(each.number) for each in _beside(unit, part) if unit.before(each.number) == part), NEXT)
    if part.on in (NEXT, follower):
        return {"on": NEXT, "on_step": ""}
    if near and before and part.on == str(before.number):
        return {"on": str(near.number), "on_step": ""}
    return {"on": "other" if part.on else "", "on_step": steps.get(part.on, "")}


def _beside(unit: Unit, part: Captured) -> tuple[Captured, ...]:
    above = unit.parent(part.number)
    return unit.level(above.number if above else None)
