"""The job that somebody works on, so that a label of another job is refused before anything is done with it."""

from __future__ import annotations

from flask import Flask, redirect, request, url_for
from werkzeug.wrappers import Response as AnyResponse

from labelkit.bench.signin import local_path
from labelkit.bench.web import Bench
from labelkit.calc.gate import right_job
from labelkit.calc.steps import Bin
from labelkit.errors import LabelkitError
from labelkit.sheets.jobview import JobView


def add_working(app: Flask, bench: Bench) -> None:
    """Add the choice of the job that somebody works on."""

    @app.post("/job/<int:number>/work")
    def work(number: int) -> AnyResponse:
        bench.people.work_on(bench.lookup.view(number).job.number)
        then = local_path(request.form.get("then", ""))
        return redirect(url_for("job", number=number) if then == "/" else then, 303)


def wrong_job(bench: Bench, view: JobView, found: Bin) -> str:
    """Return in one line why a label is not of the job that is worked on; empty when it is, or none is chosen."""
    number = bench.people.job
    if number in (None, view.job.number):
        return ""
    try:
        wanted = bench.lookup.view(number)
    except LabelkitError:  # it was deleted, or its profile cannot be read any more
        return ""
    return right_job(view.job, view.profile, wanted.job, wanted.profile, found.part.id).refusal
