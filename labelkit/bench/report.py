"""The report of a job: a page that prints, and the same as PDF."""

from __future__ import annotations

from flask import Flask, Response, request
from werkzeug.wrappers import Response as AnyResponse

from labelkit.bench.web import Bench
from labelkit.datafiles import is_path
from labelkit.errors import NotFoundError, shortened
from labelkit.language import gettext as _
from labelkit.load.stock import find_stock
from labelkit.sheets.jobreport import OPEN_TITLE, job_report
from labelkit.sheets.reportsheet import report_pdf

_PAPER = "a4"


def add_report(app: Flask, bench: Bench) -> None:
    """Add the report as a page and as PDF."""

    @app.get("/job/<int:number>/report")
    def report(number: int) -> str:
        view = bench.lookup.view(number)
        told = job_report(view, bench.record(view))
        title = _("Report, job {number}").format(number=number)
        return bench.fill("report.html", title=title, job=number, report=told, open_title=_(OPEN_TITLE))

    @app.get("/job/<int:number>/report.pdf")
    def report_file(number: int) -> AnyResponse:
        view = bench.lookup.view(number)
        name = request.args.get("paper", _PAPER)
        if is_path(name):  # a page opens no file that somebody names to it
            raise NotFoundError(f'there is no paper named "{shortened(name)}"; allowed: a name, and no path')
        paper = find_stock(name, ("paper",))
        headers = {"Content-Disposition": f'inline; filename="job-{number}-report.pdf"'}
        return Response(report_pdf(view, bench.record(view), paper), mimetype="application/pdf", headers=headers)
