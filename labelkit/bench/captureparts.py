"""The pages on which one part is told: what it is, then the rest of it; and where it is moved to."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import replace
from typing import Any, Final

from flask import Flask, flash, redirect, request, session, url_for
from werkzeug.wrappers import Response as AnyResponse

from labelkit import forms
from labelkit.bench import capturetree
from labelkit.bench.acting import Asked, shown
from labelkit.bench.captureagain import faces_before, quick_ways, typed_again
from labelkit.bench.captureform import COUNTS, HOURS, KINDS, alike, sizes_in, sizes_of, told, typed_of
from labelkit.bench.capturemore import choices
from labelkit.bench.capturephotos import photos_sent
from labelkit.bench.capturepictures import kind_picture, specimen, way_picture
from labelkit.bench.capturetree import NEXT, Captured, Unit
from labelkit.bench.capturewords import choice_words, kind_name, kind_words
from labelkit.bench.capturework import Captures, Draft, form_token, moved
from labelkit.bench.pictures import room_for_photos
from labelkit.bench.typed import whole
from labelkit.bench.web import Bench
from labelkit.calc.suggest import Suggestion, kinds, suggest
from labelkit.errors import InputErrors, LabelkitError, UsageError
from labelkit.language import gettext as _
from labelkit.model.form import FORMS, Threaded

LARGEST_PHOTOS: Final = 48_000_000
"""Bytes of a request that brings photos of one part."""
_ON_BUTTONS: Final = 8
_NAMES: Final = 200


def add_capture_parts(app: Flask, bench: Bench, captures: Captures) -> None:
    """Add the pages of one part."""
    room_for_photos(app, bench, ("capture_keep", "capture_change"), LARGEST_PHOTOS)

    @app.get("/capture/<int:number>/next")
    def capture_next(number: int) -> str:
        draft = captures.draft(number)
        where = _where(draft.unit)
        if like := _part_asked(draft.unit, "again"):
            fresh = Captured(draft.version.given + 1, like.name)
            near = _near(draft.unit, fresh, where)
            typed = typed_again(like, draft.unit, near[1] if near else None)
            return _how_page(bench, draft, fresh, like.kind, where, Asked(0, "part", typed=typed))
        name, kind = _chosen(captures, draft)
        if not name or "what" in request.args or (kind is None):
            return _what_page(bench, captures, draft, name, where, url_for("capture_next", number=number))
        asked = Asked(0, "part", typed=sizes_in(name, kind))
        return _how_page(bench, draft, Captured(draft.version.given + 1, name), kind, where, asked)

    @app.get("/capture/<int:number>/picks")
    def capture_picks(number: int) -> str:
        """Return the buttons with the names that what is typed so far may become."""
        draft = captures.draft(number)
        name = " ".join(request.args.get("name", "").split())[:80]
        return bench.fill("capture_picks.html", suggested=_suggested(captures, draft, name))

    @app.post("/capture/<int:number>/next")
    def capture_keep(number: int) -> AnyResponse:
        kept: list[Captured] = []

        def act(unit: Unit, fresh: int) -> tuple[Unit, int, str]:
            part = replace(kept[0], number=fresh)
            where = _where(unit)
            new = capturetree.add(unit, part, **where)
            kept[0] = part
            return new, fresh, _("part {step} {name}").format(step=new.steps()[fresh], name=part.name)

        draft = captures.draft(number)
        return _sent(bench, captures, draft, Captured(draft.version.given + 1, ""), kept, act, _where(draft.unit))

    @app.get("/capture/<int:number>/part/<int:part>")
    def capture_part(number: int, part: int) -> str:
        draft = captures.draft(number)
        found = draft.unit.find(part)
        if "what" in request.args:
            here = url_for("capture_part", number=number, part=part)
            return _what_page(bench, captures, draft, found.name, {}, here)
        if "kind" not in request.args and "pick" not in request.args:
            return _part_page(bench, draft, part, None)
        name, chosen = _chosen(captures, draft)
        found = replace(found, name=name or found.name)
        return _how_page(bench, draft, found, chosen or "", {}, Asked(0, "part", typed=typed_of(found, draft.unit)))

    @app.post("/capture/<int:number>/part/<int:part>")
    def capture_change(number: int, part: int) -> AnyResponse:
        kept: list[Captured] = []

        def act(unit: Unit, fresh: int) -> tuple[Unit, int, str]:
            words = _("part {step} {name}, told anew").format(step=unit.steps()[part], name=kept[0].name)
            return capturetree.change(unit, kept[0]), fresh - 1, words

        draft = captures.draft(number)
        return _sent(bench, captures, draft, draft.unit.find(part), kept, act, {})

    @app.post("/capture/<int:number>/part/<int:part>/<any(up, down, move, before, into, out, remove, gather):way>")
    def capture_move(number: int, part: int, way: str) -> AnyResponse:
        def act(unit: Unit, fresh: int) -> tuple[Unit, int, str]:
            name, step = unit.find(part).name, unit.steps()[part]
            if way == "gather":
                whole = Captured(fresh, " ".join(request.form.get("name", "").split()))
                if not whole.name:
                    raise UsageError(_("type the name of the sub-assembly"))
                last = _by_step(unit, request.form.get("last", "") or step)
                return (
                    capturetree.gather(unit, part, last, whole),
                    fresh,
                    _("sub-assembly {name}").format(name=whole.name),
                )
            new = _moved(unit, part, way)
            words = _("{part} taken out of the list") if way == "remove" else _("{part} moved")
            return new, fresh - 1, words.format(part=name)

        here = url_for("capture_part", number=number, part=part) + "#order"
        token = form_token()
        try:
            before = captures.draft(number).unit
            if captures.written(number, token):
                flash(_("This was done already"))
                return redirect(url_for("capture", number=number), 303)
            after = captures.change(number, token, act)
        except (UsageError, InputErrors) as error:
            if way not in _MOVES:
                flash(_words(error), "meanwhile")
                return redirect(here, 303)
            empty = next((name for name in _MOVES[way] if not request.form.get(name, "").strip()), _MOVES[way][-1])
            wrong = Asked(0, way, True, request.form, faults={empty: _words(error)})
            return shown(_part_page(bench, captures.draft(number), part, wrong), wrong)
        flash(after.version.words[:1].upper() + after.version.words[1:])
        _tell_moved(before, after)
        return redirect(f"{url_for('capture', number=number)}#part-{part}", 303)


# Ways to move a part for which something is typed, with the fields.
_MOVES: Final[Mapping[str, tuple[str, ...]]] = {"move": ("step",), "gather": ("name", "last")}


def _moved(unit: Unit, part: int, way: str) -> Unit:
    if way in ("up", "down"):
        return capturetree.nudge(unit, part, up=way == "up")
    if way == "move":
        return capturetree.move(unit, part, request.form.get("step", ""))
    if way == "before":
        return capturetree.put_before(unit, part, whole(request.form.get("before", "")))
    return {"into": capturetree.into, "out": capturetree.out_of, "remove": capturetree.remove}[way](unit, part)


def _by_step(unit: Unit, step: str) -> int:
    found = next((part.number for place, part, _ in unit.walk() if place == step.strip()), None)
    if found is None:
        raise UsageError(_('there is no step "{step}"; allowed: a step of the list').format(step=step))
    return found


def _tell_moved(before: Unit, after: Draft) -> None:
    """Say which labels would now bear another step, if they were printed already."""
    if steps := moved(before, after.unit):
        one = _("Now step {step}: labels printed before say another step. Their codes stay right")
        some = _("Now steps {first} to {last}: labels printed before say another step. Their codes stay right")
        words = some.format(first=steps[0], last=steps[-1]) if len(steps) > 1 else one.format(step=steps[0])
        flash(words, "told")


def _where(unit: Unit) -> dict[str, int | None]:
    """Return inside which part, or before which one, the address or the form wants the new part."""
    found: dict[str, int | None] = {}
    for name in ("inside", "before"):
        if part := _part_asked(unit, name):
            found[name] = part.number
    return found


def _part_asked(unit: Unit, name: str) -> Captured | None:
    """Return the part whose number stands in a field of the address or the form; None when there is none."""
    wanted = whole(request.values.get(name, "")) or 0
    return unit.find(wanted) if wanted in unit.steps() else None


def _chosen(captures: Captures, draft: Draft) -> tuple[str, str | None]:
    """Return the name and the kind that were chosen; None: not chosen, and the name says nothing."""
    pick = request.args.get("pick", "")
    name = " ".join(request.args.get("name", "").split())
    kind = request.args.get("kind")
    if pick:
        name, _, kind = pick.rpartition("|")
    if kind == "":
        kind = next(iter(kinds(name, captures.names(draft.unit))), None)
    elif kind == "none":
        kind = ""
    if not name and kind in KINDS:
        name = kind_name(kind)
    return name[:80], kind if kind in (*KINDS, "", None) else None


def _what_page(
    bench: Bench, captures: Captures, draft: Draft, name: str, where: dict[str, int | None], action: str
) -> str:
    names = captures.names(draft.unit)
    likely = [kind for kind in kinds(name, names) if kind in KINDS] if name else []
    return bench.fill(
        "capture_what.html",
        title=_("What is it?"),
        name=name,
        where=where,
        action=action,
        suggested=_suggested(captures, draft, name),
        known=sorted({each for each, _ in names})[:_NAMES],
        kinds=[(kind, kind_words(kind), kind_picture(kind)) for kind in dict.fromkeys([*likely, *KINDS])],
        last=_last(draft),
        **shared(draft),
    )


def _suggested(captures: Captures, draft: Draft, name: str) -> list[Suggestion]:
    """Return the names that have a button: what was typed before, and where something is typed the forms' own words."""
    found = suggest(name, captures.names(draft.unit), most=_ON_BUTTONS)
    return [each for each in found if name or each.times]


def _part_page(bench: Bench, draft: Draft, part: int, unmoved: Asked | None) -> str:
    """Return the page of a part that is captured; `unmoved`: the form that was to move it and could not."""
    found = draft.unit.find(part)
    asked = Asked(0, "part", typed=typed_of(found, draft.unit))
    return _how_page(bench, draft, found, found.kind, {}, asked, unmoved)


def _how_page(
    bench: Bench,
    draft: Draft,
    part: Captured,
    kind: str,
    where: dict[str, int | None],
    asked: Asked,
    unmoved: Asked | None = None,
) -> str:
    unit = draft.unit
    there = part.number in unit.steps()
    ends = bool(kind) and forms.sided(specimen(kind))
    ways = [(way, *way_picture(kind, way)) for way in (("up", "down", "free") if ends else ("free",))]
    # Most of what is round goes in any way round: one tap for both.
    ways += [("any", _("EITHER WAY, clock FREE"), way_picture(kind, "free")[1]), ("", *way_picture(kind, ""))]
    near, same = _near(unit, part, where), None if there else alike(unit, part, kind)
    figures = [size for size in sizes_of(kind) if size.first and not size.choices]
    return bench.fill(
        "capture_part.html",
        title=f"{_step(unit, part, where)} {part.name}",
        part=part,
        step=_step(unit, part, where),
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
        quick=() if there else quick_ways(unit, part, kind, near, ends=ends),
        faces=faces_before(unit),
        # The keypad comes at once where sizes are what is typed next, and not over what is only to be tapped.
        keypad=not there
        and not same
        and not asked.typed
        and len(figures) == sum(size.first for size in sizes_of(kind)),
        more=choices() if there else {},
        screwed=kind in FORMS and issubclass(FORMS[kind], Threaded),
        next_name=NEXT,
        asked=replace(asked, seen=draft.version.number),
        where=where,
        action=url_for("capture_part", number=draft.job, part=part.number) if there else request.path,
        unmoved=unmoved or Asked(0),
        photos=part.photos,
        same=None if asked.typed and not asked.sent else same,
        **shared(draft),
    )


def _step(unit: Unit, part: Captured, where: dict[str, int | None]) -> str:
    """Return the step of a part, or that which a new one will get."""
    if part.number in unit.steps():
        return unit.steps()[part.number]
    return capturetree.add(unit, part, **where).steps()[part.number]


def _near(unit: Unit, part: Captured, where: dict[str, int | None]) -> tuple[str, Captured] | None:
    """Return the part before this one with its step: it is suggested."""
    whole = unit if part.number in unit.steps() else capturetree.add(unit, part, **where)
    before = whole.before(part.number)
    return (whole.steps()[before.number], before) if before else None


def _last(draft: Draft) -> tuple[str, Captured] | None:
    """Return the part that was captured last, with its step."""
    known = draft.unit.steps()
    return (known[max(known)], draft.unit.find(max(known))) if known else None


def _sent(
    bench: Bench,
    captures: Captures,
    draft: Draft,
    part: Captured,
    kept: list[Captured],
    act: Callable[[Unit, int], tuple[Unit, int, str]],
    where: dict[str, int | None],
) -> AnyResponse:
    """Keep what a form tells of a part, or show it again with what is wrong."""
    number, token = draft.job, form_token()
    there = part.number in draft.unit.steps()
    if captures.written(number, token):
        flash(_("This part is kept already"))
        return redirect(url_for("capture_next", number=number), 303)
    kind = request.form.get("kind", "")
    kind = kind if kind in KINDS else ""
    photos, photo_fault = photos_sent(bench)
    new, faults = told(request.form, draft.unit, part, kind, photos)
    if photo_fault:
        faults["picture"] = photo_fault
    if not faults:
        kept.append(new)
        try:
            after = captures.change(number, token, act)
        except (UsageError, InputErrors) as error:
            faults[""] = _words(error)
        else:
            step = after.unit.steps()[kept[0].number]
            flash(_("Kept: {what}").format(what=f"{step} {kept[0].name}"))
            _tell_moved(draft.unit, after)
            if there:
                return redirect(f"{url_for('capture', number=number)}#part-{part.number}", 303)
            return redirect(url_for("capture_next", number=number, inside=where.get("inside")), 303)
    typed = {key: value for key, value in request.form.items() if key not in ("csrf", "token", "kept")}
    asked = Asked(draft.version.number, "part", True, typed, faults=faults)
    page = _how_page(bench, draft, replace(new, name=new.name or part.name, photos=photos), kind, where, asked)
    return shown(page, asked)


def _words(error: LabelkitError) -> str:
    if isinstance(error, InputErrors):
        return "; ".join(dict.fromkeys(problem.message for problem in error.problems))
    return str(error)


def shared(draft: Draft) -> dict[str, Any]:
    """Return what every page of a capture shows."""
    return {
        "number": draft.job,
        "unit": draft.unit,
        "steps": draft.unit.steps(),
        "job": None,
        "stock": session.get("label_stock", ""),
    }
