"""What need not be told twice of a captured part: how it sat, in one tap, and all of one that is like another."""

from __future__ import annotations

from typing import Final

from labelkit.bench.captureform import typed_of
from labelkit.bench.capturepictures import way_words
from labelkit.bench.capturetree import NEXT, Captured, Unit
from labelkit.calc.facing import face_words
from labelkit.language import gettext as _

_FACES: Final = 4


def quick_ways(
    unit: Unit, part: Captured, kind: str, near: tuple[str, Captured] | None, *, ends: bool
) -> dict[str, str]:
    """Return what most parts are like: free on the dial, on the next one out or on the one before; and as the last one.

    A part whose form has ends says by a tap of its own which of them was up.

    Args:
        unit: what is captured so far.
        part: the new one.
        kind: of form.
        near: the part before it, with its step.
        ends: its form has ends.

    Returns:
        The words by what the form sends: way, clock, what it lay on and face, as in its fields.
    """
    way = "" if ends else "free"
    free, below = _("clock FREE"), _("on the next one out")
    lead = free if ends else f"{way_words(kind, 'free')}, {free}"
    found = {_sent(way, "free", NEXT): f"{lead}, {below}"}
    # Not on one that lies on this one.
    if near and near[1].on not in (NEXT, str(part.number)):
        on = _("on {part}").format(part=f"{near[0]} {near[1].name}")
        found[_sent(way, "free", str(near[1].number))] = f"{lead}, {on}"
    like = unit.latest(
        lambda each: kind == each.kind != "" and each.number != part.number and (each.way or each.face) and each.clock
    )
    if like:
        found.setdefault(*_as_it_sat(unit, *like, near))
    return found


def _as_it_sat(unit: Unit, step: str, part: Captured, near: tuple[str, Captured] | None) -> tuple[str, str]:
    on = _seat_of(part, unit, near[1] if near else None)["on"]
    on = on if on != "other" else part.on
    said = [way_words(part.kind, part.way) if part.way else face_words(part.face)]
    said.append(_("clock FREE") if part.clock == "free" else part.clock)
    if on == NEXT:
        said.append(_("on the next one out"))
    elif on:
        said.append(_("on {part}").format(part=f"{unit.step_of(on)} {unit.find(int(on)).name}"))
    words = _("As {part}: {seat}").format(part=f"{step} {part.name}", seat=", ".join(said))
    return _sent(part.way, part.clock, on, part.face), words


def _sent(way: str, clock: str, on: str, face: str = "") -> str:
    return ";".join((way, clock, on, face))


def faces_before(unit: Unit) -> tuple[str, ...]:
    """Return the faces that were named so far, the latest first, and what faces are usually called."""
    named = [part.face for _, part in sorted(unit.walk(), key=lambda row: -row[1].number) if part.face]
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
    _above, beside, place = unit.place(part.number)
    before, after = beside[:place][-1:], beside[place + 1 : place + 2]
    if part.on in (NEXT, *(str(each.number) for each in after)):
        return {"on": NEXT, "on_step": ""}
    if near and part.on in [str(each.number) for each in before]:
        return {"on": str(near.number), "on_step": ""}
    return {"on": "other" if part.on else "", "on_step": unit.step_of(part.on)}
