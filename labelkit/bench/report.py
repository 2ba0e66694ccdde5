"""The report of a job: a page that prints, and the same as PDF."""

from __future__ import annotations

import re
from typing import Final

from flask import Flask, Response, request
from werkzeug.wrappers import Response as AnyResponse

from labelkit.bench.web import Bench
from labelkit.datafiles import is_path
from labelkit.errors import NotFoundError, shortened
from labelkit.language import gettext as _
from labelkit.load.stock import find_stock
from labelkit.sheets.jobreport import OPEN_TITLE, job_report
from labelkit.sheets.reportsheet import report_pdf
from labelkit.sheets.reportwords import BREAK
from labelkit.units import FACTORS

_PAPER: Final = "a4"
# A figure and its unit, a time and its zone.
_NEVER_PARTED: Final = re.compile(rf"(?<=\d) (?=(?:{'|'.join(map(re.escape, FACTORS))})(?!\w))|(?<=:\d\d) ")
_SHORT: Final = 20  # letters: so short a line is not parted at all


def add_report(app: Flask, bench: Bench) -> None:
    """Add the report as a page and as PDF."""

    @app.get("/job/<int:number>/report")
    def report(number: int) -> str:
        view = bench.lookup.view(number)
        told = job_report(view, bench.record(view))
        title = _("Report, job {number}").format(number=number)
        return bench.fill("report.html", title=title, job=number, report=told, lines=_lines, open_title=_(OPEN_TITLE))

    @app.get("/job/<int:number>/report.pdf")
    def report_file(number: int) -> AnyResponse:
        view = bench.lookup.view(number)
        name = request.args.get("paper", _PAPER)
        if is_path(name):  # a page opens no file that somebody names to it
            raise NotFoundError(f'there is no paper named "{shortened(name)}"; allowed: a name, and no path')
        paper = find_stock(name, ("paper",))
        headers = {"Content-Disposition": f'inline; filename="job-{number}-report.pdf"'}
        return Response(report_pdf(view, bench.record(view), paper), mimetype="application/pdf", headers=headers)


def _lines(text: str) -> list[str]:
    """Return the lines of a cell, in which nothing is parted that belongs together."""
    return [
        line.replace(" ", "\u00a0") if len(line) <= _SHORT else _NEVER_PARTED.sub("\u00a0", line)
        for line in text.split(BREAK)
    ]
