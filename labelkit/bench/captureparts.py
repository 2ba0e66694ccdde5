"""The pages on which one part is told: what it is, then the rest of it."""

from __future__ import annotations

from dataclasses import replace
from typing import Final

from flask import Flask, flash, redirect, request, url_for
from werkzeug.wrappers import Response as AnyResponse

from labelkit.bench import captureseats, capturetree
from labelkit.bench.acting import Asked, answered
from labelkit.bench.captureagain import typed_again
from labelkit.bench.captureform import KINDS, sizes_in, sizes_of, told, typed_of
from labelkit.bench.capturemoves import fault_words, tell_moved
from labelkit.bench.capturepages import how_page, part_asked, part_page, placed, suggested, what_page, where_asked
from labelkit.bench.captureseats import SeatRing
from labelkit.bench.capturetree import Captured, Unit
from labelkit.bench.capturewords import kind_name
from labelkit.bench.capturework import ADDED, TOLD_ANEW, Captures, Draft, form_token
from labelkit.bench.pictures import file_name, room_for_photos
from labelkit.bench.web import Bench
from labelkit.calc.suggest import kinds
from labelkit.errors import InputError, InputErrors, UsageError
from labelkit.language import gettext as _
from labelkit.proof.raster import photo_jpeg
from labelkit.render.html import Markup

LARGEST_PHOTOS: Final = 48_000_000
"""Bytes of a request that brings photos of one part."""
_MOST_PHOTOS: Final = 12


def add_capture_parts(app: Flask, bench: Bench, captures: Captures) -> None:
    """Add the pages of one part."""
    room_for_photos(app, bench, ("capture_keep", "capture_change"), LARGEST_PHOTOS)

    @app.get("/capture/<int:number>/next")
    def capture_next(number: int) -> str:
        draft = captures.draft(number)
        where = where_asked(draft.unit)
        if like := part_asked(draft.unit, "again"):
            fresh = Captured(draft.version.given + 1, like.name)
            _step, near = placed(draft.unit, fresh, where)
            typed = typed_again(like, draft.unit, near[1] if near else None)
            return how_page(bench, draft, fresh, like.kind, where, Asked(0, "part", typed=typed))
        name, kind = _chosen(captures, draft)
        if not name or "what" in request.args or (kind is None):
            wrong = ""
            if "kind" in request.args and "what" not in request.args:
                unknown = _("the name does not tell its shape: tap the drawing of it below")
                wrong = unknown if name else _("type what it is called, or tap what kind it is")
            return what_page(bench, captures, draft, name, where, url_for("capture_next", number=number), wrong)
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
        draft = captures.draft(number)
        return _sent(bench, captures, draft, Captured(draft.version.given + 1, ""))

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
        draft = captures.draft(number)
        return _sent(bench, captures, draft, draft.unit.find(part))


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
    # A free outline is none that a few figures tell: its page is that of a part without a form.
    return name[:80], kind if kind is None or kind in KINDS else ""


def _sent(bench: Bench, captures: Captures, draft: Draft, part: Captured) -> AnyResponse:
    """Keep what a form tells of a part, a new one where it is not there yet, or show it again with what is wrong."""
    number, token = draft.job, form_token()
    if captures.written(number, token):
        flash(_("This part is kept already"))
        return redirect(url_for("capture_next", number=number), 303)
    there = part.number in draft.unit.steps()
    where = {} if there else where_asked(draft.unit)
    kind = request.form.get("kind", "")
    kind = kind if kind in KINDS else ""
    photos, photo_fault = _photos_sent(bench)
    new, faults = told(request.form, draft.unit, part, kind, photos)
    if photo_fault:
        faults["picture"] = photo_fault

    def act(unit: Unit, fresh: int) -> tuple[Unit, str]:
        kept = new if there else replace(new, number=fresh)
        unit = capturetree.change(unit, kept) if there else capturetree.add(unit, kept, **where_asked(unit))
        captureseats.no_ring(unit, kept.number)
        return unit, (TOLD_ANEW if there else ADDED).format(step=unit.steps()[kept.number], name=kept.name)

    if not faults:
        try:
            after = captures.change(number, token, act)
        except SeatRing as ring:
            there_told = url_for("capture_part", number=number, part=ring.part.number)
            link = Markup('<a href="{}">{} {}</a>').format(there_told, ring.step, ring.part.name)
            faults["on_step"] = Markup.escape(_(SeatRing.WORDS)).format(part=link)
        except (UsageError, InputErrors) as error:
            faults[""] = fault_words(error)
        else:
            step = after.unit.steps()[part.number if there else after.version.given]
            flash(_("Kept: {what}").format(what=f"{step} {new.name}"))
            tell_moved(draft.unit, after.unit)
            if there:
                return redirect(f"{url_for('capture', number=number)}#part-{part.number}", 303)
            return redirect(url_for("capture_next", number=number, inside=where.get("inside")), 303)
    typed = {key: value for key, value in request.form.items() if key not in ("csrf", "token", "kept")}
    called = {f"size-{size.name}": size.words for size in sizes_of(kind)}
    wrong = Asked(draft.version.number, "part", True, typed, faults=faults, called=called)
    again = replace(new, name=new.name or part.name, photos=photos)
    return answered(wrong, lambda asked: how_page(bench, draft, again, kind, where, asked))


def _photos_sent(bench: Bench) -> tuple[tuple[str, ...], str]:
    """Return the photos of the form, those sent before and the new ones, and what is wrong with one of them.

    The first is the one that cards show. Every photo that can be read is kept, also when something else of the form is
    wrong: a phone sends none twice.
    """
    found = [name for name in request.form.getlist("kept")[: _MOST_PHOTOS + 1] if bench.store.journal.has_picture(name)]
    fault = ""
    for sent in request.files.getlist("picture"):
        data = sent.read()
        if not data and not sent.filename:
            continue
        try:
            found.append(bench.store.journal.keep_picture(photo_jpeg(data, file_name(sent.filename))))
        except InputError as error:
            fault = error.told
    if len(found) > _MOST_PHOTOS:
        fault = _("{count} photos of one part; allowed: {most}").format(count=len(found), most=_MOST_PHOTOS)
    shown = request.form.get("shown", "")
    return tuple(sorted(dict.fromkeys(found), key=lambda each: each != shown))[:_MOST_PHOTOS], fault
