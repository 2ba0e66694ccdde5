"""The pages on which one part is told: which one it is, then the rest of it."""

from __future__ import annotations

from dataclasses import replace
from typing import Any, Final

from flask import request, url_for

from labelkit import forms
from labelkit.bench import capturetree
from labelkit.bench.acting import Asked
from labelkit.bench.captureagain import faces_before, quick_ways
from labelkit.bench.captureform import COUNTS, HOURS, KINDS, alike, sizes_of, typed_of
from labelkit.bench.capturemore import asked_of
from labelkit.bench.capturepictures import kind_picture, specimen, way_picture
from labelkit.bench.capturetree import NEXT, Captured, Unit
from labelkit.bench.capturewords import button_words, choice_words, kind_words
from labelkit.bench.capturework import Captures, Draft
from labelkit.bench.typed import whole
from labelkit.bench.web import Bench
from labelkit.calc.suggest import Suggestion, kinds, suggest
from labelkit.language import gettext as _

_NAMES: Final = 200


def shared(draft: Draft) -> dict[str, Any]:
    """Return what every page of a capture shows; nothing is asked where it would undo a later revision."""
    return ({"may_write": False} if draft.revised else {}) | {
        "revised": draft.revised,
        "number": draft.job,
        "unit": draft.unit,
        "steps": draft.unit.steps(),
        "job": None,
    }


def of_all(draft: Draft) -> dict[str, Any]:
    """Return what the pages of all parts show."""
    whole = draft.made
    more = {"version": draft.version, "rows": list(draft.unit.walk()), "points": whole.open if whole else {}}
    return shared(draft) | more | {"whole": whole}


def where_asked(unit: Unit) -> dict[str, int | None]:
    """Return inside which part, or before which one, the address or the form wants the new part."""
    found: dict[str, int | None] = {}
    for name in ("inside", "before"):
        if part := part_asked(unit, name):
            found[name] = part.number
    return found


def part_asked(unit: Unit, name: str) -> Captured | None:
    """Return the part whose number stands in a field of the address or the form; None when there is none."""
    wanted = whole(request.values.get(name, "")) or 0
    return unit.find(wanted) if wanted in unit.steps() else None


def what_page(
    bench: Bench,
    captures: Captures,
    draft: Draft,
    name: str,
    where: dict[str, int | None],
    action: str,
    wrong: str = "",
) -> str:
    """Return the page that asks which part it is.

    Args:
        bench: the bench.
        captures: those before, from which names are suggested.
        draft: the capture.
        name: what is typed so far.
        where: inside which part, or before which one, it is to go.
        action: the address that what is chosen goes to.
        wrong: why what was sent does not tell it.
    """
    names = captures.names(draft.unit)
    likely = [kind for kind in kinds(name, names) if kind in KINDS] if name else []
    return bench.fill(
        "capture_what.html",
        title=_("What is it?"),
        faults={"name": wrong} if wrong else {},
        name=name,
        where=where,
        action=action,
        suggested=suggested(captures, draft, name),
        known=sorted({each for each, _ in names})[:_NAMES],
        kinds=[(kind, button_words(kind), kind_picture(kind)) for kind in dict.fromkeys([*likely, *KINDS])],
        last=draft.unit.latest(lambda _part: True),
        **shared(draft),
    )


def suggested(captures: Captures, draft: Draft, name: str) -> tuple[Suggestion, ...]:
    """Return the names that have a button, for what is typed so far: of this unit, of others, and the forms' words."""
    here = {part.name for _step, part in draft.unit.walk()}
    return suggest(name, captures.names(draft.unit), here)


def part_page(bench: Bench, draft: Draft, part: int, unmoved: Asked | None) -> str:
    """Return the page of a part that is captured; `unmoved`: the form that was to move it and could not."""
    found = draft.unit.find(part)
    asked = Asked(0, "part", typed=typed_of(found, draft.unit))
    return how_page(bench, draft, found, found.kind, {}, asked, unmoved)


def how_page(
    bench: Bench,
    draft: Draft,
    part: Captured,
    kind: str,
    where: dict[str, int | None],
    asked: Asked,
    unmoved: Asked | None = None,
) -> str:
    """Return the page that asks for the rest of a part.

    Args:
        bench: the bench.
        draft: the capture.
        part: as far as it is told; new where the capture has none of its number.
        kind: of its form; empty: not told.
        where: inside which part, or before which one, a new one is to go.
        asked: what is typed.
        unmoved: the form that was to move it and could not.
    """
    unit = draft.unit
    there = part.number in unit.steps()
    step, near = placed(unit, part, where)
    ends = bool(kind) and forms.sided(specimen(kind))
    ways = [(way, *way_picture(kind, way)) for way in (("up", "down", "free") if ends else ("free",))]
    # Most of what is round goes in any way round: one tap for both.
    ways += [("any", _("EITHER WAY, clock FREE"), way_picture(kind, "free")[1]), ("", *way_picture(kind, ""))]
    same = None if there else alike(unit, part, kind)
    figures = [size for size in sizes_of(kind) if size.first and not size.choices]
    return bench.fill(
        "capture_part.html",
        title=f"{step} {part.name}",
        part=part,
        step=step,
        there=there,
        kind=kind,
        kind_words=kind_words(kind) if kind else "",
        picture=kind_picture(kind) if kind else "",
        sizes=sizes_of(kind),
        choice_words=choice_words,
        counts=COUNTS,
        ways=ways,
        ends=ends,
        hours=HOURS,
        near=near,
        quick={} if there else quick_ways(unit, part, kind, near, ends=ends),
        faces=faces_before(unit),
        # The keypad comes at once where sizes are what is typed next, and not over what is only to be tapped.
        keypad=not there
        and not same
        and not asked.typed
        and len(figures) == sum(size.first for size in sizes_of(kind)),
        more=asked_of(kind) if there else (),
        next_name=NEXT,
        asked=replace(asked, seen=draft.version.number),
        where=where,
        action=url_for("capture_part", number=draft.job, part=part.number) if there else request.path,
        unmoved=unmoved or Asked(0),
        photos=part.photos,
        same=None if asked.typed and not asked.sent else same,
        **shared(draft),
    )


def placed(unit: Unit, part: Captured, where: dict[str, int | None]) -> tuple[str, tuple[str, Captured] | None]:
    """Return the step of a part, or that which a new one will get; and the part before it, with its own."""
    there = unit if part.number in unit.steps() else capturetree.add(unit, part, **where)
    steps, before = there.steps(), there.before(part.number)
    return steps[part.number], (steps[before.number], before) if before else None
