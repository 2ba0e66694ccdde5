"""Capture: a unit without a profile is told part by part as it comes apart, and becomes a job with a profile."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace

from flask import Flask, Response, flash, redirect, request, url_for
from werkzeug.wrappers import Response as AnyResponse

from labelkit.bench.acting import Asked, answered
from labelkit.bench.captureend import add_capture_end
from labelkit.bench.capturefiles import add_capture_files
from labelkit.bench.capturelabels import add_capture_labels
from labelkit.bench.capturemore import OF_UNIT
from labelkit.bench.capturemoves import add_capture_moves
from labelkit.bench.capturepages import of_all
from labelkit.bench.captureparts import add_capture_parts
from labelkit.bench.captureprofile import header_faults
from labelkit.bench.capturetree import Unit
from labelkit.bench.capturewords import problem_words
from labelkit.bench.capturework import TOLD_UNIT, Captures, Draft, form_token
from labelkit.bench.typed import whole
from labelkit.bench.web import Bench
from labelkit.calc.codes import MistypedCode, read_code
from labelkit.errors import InputErrors, NotFoundError, UsageError
from labelkit.language import gettext as _
from labelkit.model.address import base_address

_HEADER = ("mark", "name", "up", "clock_from", "lengths")


def add_capture(app: Flask, bench: Bench) -> None:
    """Add the pages of the capture."""
    captures = Captures(bench)
    add_capture_parts(app, bench, captures)
    add_capture_moves(app, bench, captures)
    add_capture_end(app, bench, captures)
    add_capture_labels(app, bench, captures)
    add_capture_files(app, bench, captures)

    @app.before_request
    def finish_first() -> AnyResponse | None:
        """Keep the record of a job empty as long as its parts may still change places."""
        number = _job_asked(bench) if request.method == "POST" else None
        if number is None or not bench.store.drafts.is_open(number):
            return None
        words = _("Job {number} is still being captured. Finish the capture first: then its record begins.")
        title = _("Finish the capture first")
        page = bench.fill("told.html", title=title, words=words.format(number=number), job=None)
        return Response(page, 409, mimetype="text/html")

    @app.get("/capture")
    def captures_list() -> str:
        return _list_page(bench, captures, Asked(0, "start"))

    @app.post("/capture")
    def start_capture() -> AnyResponse:
        return _started(bench, captures)

    @app.get("/capture/<int:number>")
    def capture(number: int) -> str:
        return _unit_page(bench, captures.draft(number), Asked(0, "header"))

    @app.post("/capture/<int:number>/header")
    def capture_header(number: int) -> AnyResponse:
        return _told_anew(bench, captures, captures.draft(number))

    @app.post("/capture/<int:number>/<any(undo, redo):way>")
    def capture_step(number: int, way: str) -> AnyResponse:
        draft = captures.draft(number)
        words = draft.version.undo if way == "undo" else draft.version.redo
        try:
            captures.step(number, back=way == "undo", seen=whole(request.form.get("seen", "")) or 0)
            if words:
                flash((_("Undone: {what}") if way == "undo" else _("Done again: {what}")).format(what=words))
        except UsageError as error:
            flash(str(error), "meanwhile")
        return redirect(url_for("capture", number=number), 303)


def _started(bench: Bench, captures: Captures) -> AnyResponse:
    """Begin the capture of the unit that a form tells, or show the form again with what is wrong."""
    form = _typed()
    header = {"mark": form.get("mark", "").upper(), "lengths": form.get("lengths") or "mm"}
    unit = _told(form | header, Unit("", "", ""))
    faults = header_faults(unit)
    serial = form.get("serial", "")
    if len(serial) > 60:
        faults["serial"] = _("allowed: up to 60 letters and digits")
    if faults:
        wrong = Asked(0, "start", True, form, faults=faults)
        return answered(wrong, lambda asked: _list_page(bench, captures, asked))
    # Gloves tap twice: the second form finds the capture that the first one began.
    token = form_token()
    again = next((each.job for each in captures.all() if captures.written(each.job, token)), None)
    address = base_address(f"{request.scheme}://{request.host}", "Host")
    number = again or captures.start(unit, serial or None, address, token)
    return redirect(url_for("capture_next", number=number), 303)


def _told_anew(bench: Bench, captures: Captures, draft: Draft) -> AnyResponse:
    """Keep what a form tells of the unit itself, or show it again with what is wrong."""
    form = _typed()

    def act(unit: Unit, _fresh: int) -> tuple[Unit, str]:
        return _told(form | {"mark": unit.mark}, unit), TOLD_UNIT

    faults = header_faults(act(draft.unit, 0)[0])
    if not faults:
        try:
            if not captures.written(draft.job, token := form_token()):
                captures.change(draft.job, token, act)
            flash(_("The unit is told anew"))
            return redirect(url_for("capture", number=draft.job), 303)
        except InputErrors as error:  # sizes that are no lengths in the other unit
            faults[""] = problem_words(error.problems[0])
        except UsageError as error:
            faults[""] = str(error)
    wrong = Asked(draft.version.number, "header", True, form, faults=faults)
    return answered(wrong, lambda asked: _unit_page(bench, draft, asked))


def _typed() -> dict[str, str]:
    return {name: " ".join(value.split()) for name, value in request.form.items()}


def _told(form: Mapping[str, str], unit: Unit) -> Unit:
    """Return a unit as a form tells it; what that does not ask stays."""
    header = {name: form.get(name, getattr(unit, name)) for name in _HEADER}
    more = {each.name: form.get(each.name, unit.more.get(each.name, "")) for each in OF_UNIT}
    return Unit(**header, more={name: text for name, text in more.items() if text}, parts=unit.parts)


def _list_page(bench: Bench, captures: Captures, asked: Asked) -> str:
    return bench.fill("captures.html", title=_("Capture a unit"), captures=captures.all(), asked=asked)


def _unit_page(bench: Bench, draft: Draft, asked: Asked) -> str:
    """Return the list of parts, also to choose from it before which one the next part came out; and the unit itself."""
    unit = draft.unit
    typed = {name: getattr(unit, name) for name in _HEADER} | dict(unit.more) | dict(asked.typed)
    may_write = bench.people.name is not None and not bench.read_only
    return bench.fill(
        "capture.html",
        title=_("{mark}: capture").format(mark=unit.mark),
        asked=replace(asked, typed=typed, seen=draft.version.number),
        earlier="earlier" in request.args and may_write,
        later=OF_UNIT,
        opened=asked.sent or "unit" in request.args,
        **of_all(draft),
    )


def _job_asked(bench: Bench) -> int | None:
    """Return the number of the job whose record this request would write to; None for the capture itself."""
    values = request.view_args or {}
    if (request.endpoint or "").startswith("capture"):
        return None
    if isinstance(values.get("number"), int):
        return int(values["number"])
    try:
        return bench.store.job_of(read_code(str(values["code"]))).number if "code" in values else None
    except (MistypedCode, NotFoundError):
        return None
