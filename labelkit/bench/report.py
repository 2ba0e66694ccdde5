"""The report of a job: a page that prints, and the same as PDF."""

from __future__ import annotations

import io

from flask import Flask, Response, request
from werkzeug.wrappers import Response as AnyResponse

from labelkit.bench.signin import needs_person
from labelkit.bench.web import Bench
from labelkit.load.stock import find_stock
from labelkit.render import write
from labelkit.sheets.jobreport import job_report
from labelkit.sheets.reportsheet import report_pages

_PAPER = "a4"


def add_report(app: Flask, bench: Bench) -> None:
    """Add the report as a page and as PDF."""

    @app.get("/job/<int:number>/report")
    def report(number: int) -> str | AnyResponse:
        if elsewhere := needs_person(bench):
            return elsewhere
        view = bench.lookup.view(number)
        told = job_report(view, bench.record(view))
        return bench.fill("report.html", title=f"Report, job {number}", job=number, report=told)

    @app.get("/job/<int:number>/report.pdf")
    def report_pdf(number: int) -> AnyResponse:
        if elsewhere := needs_person(bench):
            return elsewhere
        view = bench.lookup.view(number)
        paper = find_stock(request.args.get("paper", _PAPER), ("paper",))
        stream = io.BytesIO()
        pages = report_pages(view, job_report(view, bench.record(view)), paper)
        write(pages, ".pdf", stream, title=f"Report, job {number}", subject=view.profile.unit.name)
        name = f"job-{number}-report.pdf"
        headers = {"Content-Disposition": f'inline; filename="{name}"'}
        return Response(stream.getvalue(), mimetype="application/pdf", headers=headers)
