"""Labels of a capture: of one part as soon as it is told, or of all in one go, through the ordinary label sheets."""

from __future__ import annotations

import io
from collections.abc import Mapping, Sequence
from dataclasses import replace

from flask import Flask, Response, flash, redirect, request, url_for
from werkzeug.wrappers import Response as AnyResponse

from labelkit.bench.acting import Asked, answered
from labelkit.bench.capturework import Captures
from labelkit.bench.typed import whole
from labelkit.bench.web import Bench
from labelkit.calc.steps import Bin, select_steps
from labelkit.errors import NotFoundError, UsageError
from labelkit.language import gettext as _
from labelkit.language import ngettext, spoken
from labelkit.load.stock import PRINTABLE, all_stock, find_stock
from labelkit.model.job import Job
from labelkit.model.media import Printable
from labelkit.model.stock import Roll
from labelkit.render import write
from labelkit.sheets.jobview import JobView
from labelkit.sheets.labels import LabelSheets


class _Untrayed(JobView):
    """A job whose trays are not laid out yet: what is captured later may move every place on them."""

    def place_words(self, each: Bin) -> str:  # noqa: ARG002  # whatever the bin
        """Return no place."""
        return ""


def add_capture_labels(app: Flask, bench: Bench, captures: Captures) -> None:
    """Add the page of labels and the labels. They are printed on the stock of the job, which is chosen there."""

    def view_of(number: int) -> JobView:
        captures.made(number)
        plain = bench.lookup.view(number)
        view = _Untrayed(plain.job, plain.profile, plain.secret)
        return view.as_seen(bench.record(view))

    @app.get("/capture/<int:number>/labels")
    def capture_labels(number: int) -> str | AnyResponse:
        if captures.draft(number).made is None:
            flash(_("Nothing is captured yet"), "meanwhile")
            return redirect(url_for("capture_next", number=number), 303)
        return _page(bench, view_of(number), Asked(0, "labels"), request.args.get("steps", ""), _first(request.args))

    @app.post("/capture/<int:number>/labels")
    def capture_stock(number: int) -> AnyResponse:
        """Keep what the labels are printed on, and in which language, as `labelkit kit` does; offer the wanted ones."""
        view, typed = view_of(number), {name: text.strip() for name, text in request.form.items()}
        if faults := _faults(view, typed):
            wrong = Asked(0, "labels", True, typed, faults=faults)
            return answered(wrong, lambda asked: _page(bench, view, asked, "", 1))
        with bench.store.changing():
            job = bench.store.job(number)
            bench.store.update_job(replace(job, stocks=replace(job.stocks, labels=typed["stock"]), language=spoken()))
        steps = typed.get("steps", "")
        count = len(_bins(view, steps))
        ready = ngettext("{count} label is ready to print", "{count} labels are ready to print", count)
        flash(ready.format(count=count))
        return redirect(url_for("capture_labels", number=number, steps=steps or None, first=_first(typed)), 303)

    @app.get("/capture/<int:number>/labels.pdf")
    def capture_labels_pdf(number: int) -> Response:
        view = view_of(number)
        return _pdf(view, _bins(view, request.args.get("steps", "")), "labels")

    @app.get("/capture/<int:number>/part/<int:part>/label.pdf")
    def capture_label(number: int, part: int) -> Response:
        view = view_of(number)
        # As the job has it: a revision may have given the part another place than the capture did.
        found = [each for each in view.teardown.bins if view.job.indices[each.ordinal] == part - 1]
        if not found:
            raise NotFoundError(_("this part is not in the capture any more: somebody took it out, or undid it"))
        return _pdf(view, found, "label")


def _faults(view: JobView, typed: Mapping[str, str]) -> dict[str, str]:
    """Return what is wrong with the labels that a form asks for, by the field."""
    stock, steps, faults = typed.get("stock", ""), typed.get("steps", ""), dict[str, str]()
    try:
        _bins(view, steps)
    except UsageError:
        faults["steps"] = _('found "{steps}"; allowed: steps of the list, as in 5-9,12').format(steps=steps)
    if stock not in _stocks(view.job):
        faults["stock"] = _("there is no such stock; allowed: one of the list")
    elif not 1 <= _first(typed) <= (most := find_stock(stock, PRINTABLE).per_page):
        faults["first"] = _("allowed: 1 to {most}, the places on one sheet").format(most=most)
    return faults


def _page(bench: Bench, view: JobView, asked: Asked, steps: str, first: int) -> str:
    """Return the page; `steps` and `first` are those of the labels that are offered."""
    job = view.job
    return bench.fill(
        "capture_labels.html",
        title=_("{mark}: labels").format(mark=view.profile.unit.mark),
        number=job.number,
        unit=view.profile.unit,
        asked=replace(asked, typed={"stock": job.stocks.labels, "steps": steps, "first": str(first)} | {**asked.typed}),
        stocks=_stocks(job),
        count=len(_bins(view, steps)),
        stock=job.stocks.labels,
        file=url_for("capture_labels_pdf", number=job.number, steps=steps or None, first=first),
        job=None,
    )


def _stocks(job: Job) -> tuple[str, ...]:
    """Return the names of the stock that labels can be printed on, rolls first, and what the job has besides."""
    found = {name: stock for name, stock in all_stock().items() if isinstance(stock, Printable)}
    return tuple(dict.fromkeys([*sorted(found, key=lambda name: not isinstance(found[name], Roll)), job.stocks.labels]))


def _bins(view: JobView, steps: str) -> tuple[Bin, ...]:
    """Return the bins that are meant: `5`, or `5-9,12`, a step with its parts; all where nothing is said."""
    return select_steps(view.teardown.bins, steps) if steps.strip() else view.teardown.bins


def _first(typed: Mapping[str, str]) -> int:
    """Return the place of the first label on a started sheet, from 1; 0 where what was typed is none."""
    return whole(typed.get("first") or "1") or 0


def _pdf(view: JobView, bins: Sequence[Bin], name: str) -> Response:
    """Return labels as a PDF file. They name no tray: that is laid out when all parts are told."""
    job, texts = view.job, {each.step: view.url(each) for each in bins}
    sheets = LabelSheets(view, bins, find_stock(job.stocks.labels, PRINTABLE), first=_first(request.args), texts=texts)
    written = io.BytesIO()
    title = _("{mark}: bin labels of job {number}").format(mark=view.profile.unit.mark, number=job.number)
    write(sheets.pages(), ".pdf", written, title=title)
    shown_as = f'inline; filename="job-{job.number}-{name}.pdf"'
    return Response(written.getvalue(), mimetype="application/pdf", headers={"Content-Disposition": shown_as})
