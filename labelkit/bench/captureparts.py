"""The pages on which one part is told: what it is, then the rest of it."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace
from typing import Final

from flask import Flask, flash, redirect, request, url_for
from werkzeug.wrappers import Response as AnyResponse

from labelkit.bench import capturetree
from labelkit.bench.acting import Asked, shown
from labelkit.bench.captureagain import typed_again
from labelkit.bench.captureform import KINDS, sizes_in, told, typed_of
from labelkit.bench.capturemoves import fault_words, tell_moved
from labelkit.bench.capturepages import before_it, how_page, part_asked, part_page, suggested, what_page, where_asked
from labelkit.bench.capturephotos import photos_sent
from labelkit.bench.capturetree import Captured, SeatRing, Unit
from labelkit.bench.capturewords import kind_name
from labelkit.bench.capturework import ADDED, TOLD_ANEW, Captures, Draft, form_token
from labelkit.bench.pictures import room_for_photos
from labelkit.bench.web import Bench
from labelkit.calc.suggest import kinds
from labelkit.errors import InputErrors, UsageError
from labelkit.language import gettext as _
from labelkit.render.html import Markup

LARGEST_PHOTOS: Final = 48_000_000
"""Bytes of a request that brings photos of one part."""


def add_capture_parts(app: Flask, bench: Bench, captures: Captures) -> None:
    """Add the pages of one part."""
    room_for_photos(app, bench, ("capture_keep", "capture_change"), LARGEST_PHOTOS)

    @app.get("/capture/<int:number>/next")
    def capture_next(number: int) -> str:
        draft = captures.draft(number)
        where = where_asked(draft.unit)
        if like := part_asked(draft.unit, "again"):
            fresh = Captured(draft.version.given + 1, like.name)
            near = before_it(draft.unit, fresh, where)
            typed = typed_again(like, draft.unit, near[1] if near else None)
            return how_page(bench, draft, fresh, like.kind, where, Asked(0, "part", typed=typed))
        name, kind = _chosen(captures, draft)
        if not name or "what" in request.args or (kind is None):
            unnamed = "kind" in request.args and not name and "what" not in request.args
            here = url_for("capture_next", number=number)
            return what_page(bench, captures, draft, name, where, here, unnamed=unnamed)
        asked = Asked(0, "part", typed=sizes_in(name, kind))
        return how_page(bench, draft, Captured(draft.version.given + 1, name), kind, where, asked)

    @app.get("/capture/<int:number>/picks")
    def capture_picks(number: int) -> str:
        """Return the buttons with the names that what is typed so far may become."""
        draft = captures.draft(number)
        name = " ".join(request.args.get("name", "").split())[:80]
        return bench.fill("capture_picks.html", suggested=suggested(captures, draft, name))

    @app.post("/capture/<int:number>/next")
    def capture_keep(number: int) -> AnyResponse:
        kept: list[Captured] = []

        def act(unit: Unit, fresh: int) -> tuple[Unit, int, str]:
            part = replace(kept[0], number=fresh)
            where = where_asked(unit)
            new = capturetree.add(unit, part, **where)
            kept[0] = part
            return new, fresh, ADDED.format(step=new.steps()[fresh], name=part.name)

        draft = captures.draft(number)
        return _sent(bench, captures, draft, Captured(draft.version.given + 1, ""), kept, act, where_asked(draft.unit))

    @app.get("/capture/<int:number>/part/<int:part>")
    def capture_part(number: int, part: int) -> str:
        draft = captures.draft(number)
        found = draft.unit.find(part)
        if "what" in request.args:
            here = url_for("capture_part", number=number, part=part)
            return what_page(bench, captures, draft, found.name, {}, here)
        if "kind" not in request.args and "pick" not in request.args:
            return part_page(bench, draft, part, None)
        name, chosen = _chosen(captures, draft)
        found = replace(found, name=name or found.name)
        return how_page(bench, draft, found, chosen or "", {}, Asked(0, "part", typed=typed_of(found, draft.unit)))

    @app.post("/capture/<int:number>/part/<int:part>")
    def capture_change(number: int, part: int) -> AnyResponse:
        kept: list[Captured] = []

        def act(unit: Unit, fresh: int) -> tuple[Unit, int, str]:
            words = TOLD_ANEW.format(step=unit.steps()[part], name=kept[0].name)
            return capturetree.change(unit, kept[0]), fresh - 1, words

        draft = captures.draft(number)
        return _sent(bench, captures, draft, draft.unit.find(part), kept, act, {})


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

    def without_ring(unit: Unit, fresh: int) -> tuple[Unit, int, str]:
        found = act(unit, fresh)
        capturetree.no_ring(found[0], kept[0].number)
        return found

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
            after = captures.change(number, token, without_ring)
        except SeatRing as ring:
            there_told = url_for("capture_part", number=number, part=ring.part.number)
            faults["on_step"] = Markup('{} <a href="{}">{}</a>').format(str(ring), there_told, ring.part.name)
        except (UsageError, InputErrors) as error:
            faults[""] = fault_words(error)
        else:
            step = after.unit.steps()[kept[0].number]
            flash(_("Kept: {what}").format(what=f"{step} {kept[0].name}"))
            tell_moved(draft.unit, after)
            if there:
                return redirect(f"{url_for('capture', number=number)}#part-{part.number}", 303)
            return redirect(url_for("capture_next", number=number, inside=where.get("inside")), 303)
    typed = {key: value for key, value in request.form.items() if key not in ("csrf", "token", "kept")}
    asked = Asked(draft.version.number, "part", True, typed, faults=faults)
    page = how_page(bench, draft, replace(new, name=new.name or part.name, photos=photos), kind, where, asked)
    return shown(page, asked)
