"""The pages on which one part is told: what it is, then the rest of it; and where it is moved to."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace
from typing import Any, Final

from flask import Flask, flash, redirect, request, session, url_for
from werkzeug.wrappers import Response as AnyResponse

from labelkit import forms
from labelkit.bench import capturetree
from labelkit.bench.acting import Asked, shown
from labelkit.bench.captureform import KINDS, alike, counts, hours, sizes_in, sizes_of, told, typed_of
from labelkit.bench.capturepictures import kind_picture, specimen, way_picture
from labelkit.bench.capturetree import NEXT, Captured, Unit
from labelkit.bench.capturewords import choice_words, kind_words
from labelkit.bench.capturework import Captures, Draft, form_token, moved
from labelkit.bench.web import Bench
from labelkit.calc.suggest import kinds, suggest
from labelkit.errors import InputError, InputErrors, LabelkitError, UsageError
from labelkit.language import gettext as _
from labelkit.proof.raster import photo_jpeg

LARGEST_PHOTOS: Final = 48_000_000
"""Bytes of a request that brings photos of one part."""
MOST_PHOTOS: Final = 12
# A photo is read in pieces of 64 kB, one of which may wait while the next one comes.
_CHUNKS: Final = 256_000
_ON_BUTTONS: Final = 8
_NAMES: Final = 200


def add_capture_parts(app: Flask, bench: Bench, captures: Captures) -> None:
    """Add the pages of one part."""

    def room_for_photos() -> AnyResponse | None:
        """Take a large request for photos alone, and from nobody who is not signed in."""
        if request.endpoint not in ("capture_keep", "capture_change") or request.method != "POST" or bench.read_only:
            return None
        if bench.people.name is None:
            return redirect(url_for("sign_in_form", then=request.path), 303)
        request.max_content_length = LARGEST_PHOTOS
        request.max_form_memory_size = _CHUNKS
        return None

    # Before anything reads the form, since that reads the photos.
    app.before_request_funcs.setdefault(None, []).insert(0, room_for_photos)

    @app.get("/capture/<int:number>/next")
    def capture_next(number: int) -> str:
        draft = captures.draft(number)
        where = _where(draft.unit)
        name, kind = _chosen(captures, draft)
        if not name or "what" in request.args or (kind is None):
            return _what_page(bench, captures, draft, name, where, url_for("capture_next", number=number))
        asked = Asked(0, "part", typed=sizes_in(name, kind))
        return _how_page(bench, draft, Captured(draft.version.given + 1, name), kind, where, asked)

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
        kind = found.kind
        if "kind" in request.args or "pick" in request.args:
            name, chosen = _chosen(captures, draft)
            kind, found = chosen or "", replace(found, name=name or found.name)
        return _how_page(bench, draft, found, kind, {}, Asked(0, "part", typed=typed_of(found, draft.unit)))

    @app.post("/capture/<int:number>/part/<int:part>")
    def capture_change(number: int, part: int) -> AnyResponse:
        kept: list[Captured] = []

        def act(unit: Unit, fresh: int) -> tuple[Unit, int, str]:
            words = _("part {step} {name}, told anew").format(step=unit.steps()[part], name=kept[0].name)
            return capturetree.change(unit, kept[0]), fresh - 1, words

        draft = captures.draft(number)
        return _sent(bench, captures, draft, draft.unit.find(part), kept, act, {})

    @app.post("/capture/<int:number>/part/<int:part>/<any(up, down, move, into, out, remove, gather):way>")
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
            flash(_words(error), "meanwhile")
            return redirect(here, 303)
        flash(after.version.words[:1].upper() + after.version.words[1:])
        _tell_moved(before, after)
        return redirect(f"{url_for('capture', number=number)}#part-{part}", 303)


def _moved(unit: Unit, part: int, way: str) -> Unit:
    if way in ("up", "down"):
        return capturetree.nudge(unit, part, up=way == "up")
    if way == "move":
        return capturetree.move(unit, part, request.form.get("step", ""))
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
    known = unit.steps()
    found: dict[str, int | None] = {}
    for name in ("inside", "before"):
        text = request.values.get(name, "")
        wanted = int(text) if text.isascii() and text.isdigit() else 0
        if wanted in known:
            found[name] = wanted
    return found


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
        suggested=[each for each in suggest(name, names, most=_ON_BUTTONS) if name or each.times],
        known=sorted({each for each, _ in names})[:_NAMES],
        kinds=[(kind, kind_words(kind), kind_picture(kind)) for kind in dict.fromkeys([*likely, *KINDS])],
        last=_last(draft),
        **_shared(draft),
    )


def _how_page(bench: Bench, draft: Draft, part: Captured, kind: str, where: dict[str, int | None], asked: Asked) -> str:
    unit = draft.unit
    there = part.number in unit.steps()
    ends = bool(kind) and forms.direction(specimen(kind))
    ways = [(way, *way_picture(kind, way)) for way in (("up", "down", "free") if ends else ("free",))]
    # Most of what is round goes in any way round: one tap for both.
    ways += [("any", _("EITHER WAY, clock FREE"), way_picture(kind, "free")[1]), ("", *way_picture(kind, ""))]
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
        counts=counts(),
        ways=ways,
        ends=ends,
        hours=hours(),
        near=_near(unit, part, where),
        next_name=NEXT,
        asked=replace(asked, seen=draft.version.number),
        where=where,
        action=request.path,
        photos=part.photos,
        same=None if there else alike(unit, part, kind),
        **_shared(draft),
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
    photos, photo_fault = _photos(bench)
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
            start = _("part {step} {name}").partition("{")[0]
            flash(_("Kept: {what}").format(what=after.version.words.removeprefix(start)))
            _tell_moved(draft.unit, after)
            if there:
                return redirect(f"{url_for('capture', number=number)}#part-{part.number}", 303)
            return redirect(url_for("capture_next", number=number, inside=where.get("inside")), 303)
    typed = {key: value for key, value in request.form.items() if key not in ("csrf", "token", "kept")}
    asked = Asked(draft.version.number, "part", True, typed, faults=faults)
    page = _how_page(bench, draft, replace(new, name=new.name or part.name, photos=photos), kind, where, asked)
    return shown(page, asked)


def _photos(bench: Bench) -> tuple[tuple[str, ...], str]:
    """Return the photos of the form, those sent before and the new ones, and what is wrong with one of them.

    Every photo that can be read is kept, also when something else of the form is wrong: a phone sends none twice.
    """
    found = [name for name in request.form.getlist("kept") if len(name) == 64 and name.isalnum()]
    fault = ""
    for sent in request.files.getlist("picture"):
        data = sent.read()
        if not data and not sent.filename:
            continue
        try:
            found.append(bench.store.journal.keep_picture(photo_jpeg(data, "photo")))
        except InputError as error:
            fault = str(error)
    if len(found) > MOST_PHOTOS:
        fault = _("{count} photos of one part; allowed: {most}").format(count=len(found), most=MOST_PHOTOS)
    return tuple(dict.fromkeys(found))[:MOST_PHOTOS], fault


def _words(error: LabelkitError) -> str:
    if isinstance(error, InputErrors):
        return "; ".join(dict.fromkeys(problem.message for problem in error.problems))
    return str(error)


def _shared(draft: Draft) -> dict[str, Any]:
    return {
        "number": draft.job,
        "unit": draft.unit,
        "steps": draft.unit.steps(),
        "job": None,
        "stock": session.get("label_stock", ""),
    }
