"""The end of a capture: what is still open, everything recorded as out, finished, or gone on with."""

from __future__ import annotations

from flask import Flask, flash, redirect, url_for
from werkzeug.wrappers import Response as AnyResponse

from labelkit.bench.acting import Asked, Wish, answered, cautions_of, nothing_asked, send
from labelkit.bench.capturepages import of_all
from labelkit.bench.capturework import Captures, Draft
from labelkit.bench.web import Bench
from labelkit.calc.cautions import cautions
from labelkit.errors import UsageError
from labelkit.language import gettext as _
from labelkit.language import ngettext
from labelkit.model.acts import Removed
from labelkit.sheets.jobview import JobView


def add_capture_end(app: Flask, bench: Bench, captures: Captures) -> None:
    """Add the page at the end of a capture, and what is done there."""

    @app.get("/capture/<int:number>/end")
    def capture_end(number: int) -> str | AnyResponse:
        draft = captures.draft(number)
        if draft.made is None:
            flash(_("Nothing is captured yet"), "meanwhile")
            return redirect(url_for("capture_next", number=number), 303)
        return _end_page(bench, draft, None)

    @app.post("/capture/<int:number>/out")
    def capture_out(number: int) -> AnyResponse:
        """Record that everything is out: each part was in somebody's hand when it was captured."""
        draft = captures.draft(number)
        if draft.made is None or not draft.version.done:
            flash(_("Finish the capture first: then the record begins"), "meanwhile")
            return redirect(url_for("capture_end", number=number), 303)
        view = bench.lookup.view(number)
        wishes = _all_out(bench, view)
        bench.people.work_on(number)
        told = ngettext("{count} part is out", "{count} parts are out", len(wishes)).format(count=len(wishes))
        answer = send(bench, view, wishes, form="out", then=url_for("job", number=number), told=told)
        return answered(answer, lambda asked: _end_page(bench, draft, asked))

    @app.post("/capture/<int:number>/done")
    def capture_done(number: int) -> AnyResponse:
        captures.finish(number)
        flash(_("The capture of job {number} is finished").format(number=number))
        return redirect(url_for("capture_end", number=number), 303)

    @app.post("/capture/<int:number>/go-on")
    def capture_go_on(number: int) -> AnyResponse:
        try:
            captures.go_on(number)
            flash(_("The capture of job {number} goes on").format(number=number))
        except UsageError as error:
            flash(str(error), "meanwhile")
        return redirect(url_for("capture", number=number), 303)


def _all_out(bench: Bench, view: JobView) -> list[Wish]:
    """Return the acts that take out what nobody has recorded as out, all its pieces."""
    record = bench.record(view)
    return [
        Wish({"kind": "removed", "count": str(each.part.qty) if each.part.qty != "set" else ""}, each.ordinal)
        for each in view.teardown.bins
        if record.at(each.ordinal).stage == "in_unit"
    ]


def _cautions(bench: Bench, view: JobView) -> tuple[str, ...]:
    """Return what is to be ticked before everything is taken out, in its order: of the unit, and of each part."""
    record, out = bench.record(view), Removed()
    own = (text for wish in _all_out(bench, view) for text in cautions(record, out, wish.place)[0])
    return tuple(dict.fromkeys((*cautions_of(record, out, None, bench.people.name or ""), *own)))


def _end_page(bench: Bench, draft: Draft, asked: Asked | None) -> str:
    """Return the page with everything that comes out of a capture, and what is open."""
    view = bench.lookup.view(draft.job)
    record = bench.record(view)
    left = sum(record.at(each.ordinal).stage == "in_unit" for each in view.teardown.bins)
    return bench.fill(
        "capture_end.html",
        title=_("{mark}: end of the capture").format(mark=draft.unit.mark),
        asked=asked or nothing_asked(record),
        left=left if draft.version.done and record.closed is None else 0,
        cautions=_cautions(bench, view),
        **of_all(draft),
    )
