"""The first page, and a job: what lies where, what was done last, and what is open."""

from __future__ import annotations

from flask import Flask, Response, flash, jsonify, redirect, request, url_for
from werkzeug.wrappers import Response as AnyResponse

from labelkit.bench.web import Bench
from labelkit.calc.codes import is_sign_in
from labelkit.language import gettext as _
from labelkit.sheets.joblist import JobEntry, bin_entries, entry_data, job_entry
from labelkit.sheets.lookup import read_scan


def add_lists(app: Flask, bench: Bench) -> None:
    """Add the first page and the pages of jobs."""

    def jobs() -> list[JobEntry]:
        return [job_entry(job, bench.lookup.of_job) for job in reversed(bench.store.jobs())]

    @app.get("/")
    def home() -> str | AnyResponse:
        text = request.args.get("code", "")
        if is_sign_in(text):
            flash(_("This is a sign-in label: scan it into the PIN field."))
            return redirect(url_for("sign_in_form"), 303)  # and its secret leaves the address
        if text.strip():
            bench.find(text)
            return redirect(url_for("show", code=read_scan(text)))
        listed = jobs() if bench.may_read else None
        glances = bench.store.journal.glances() if listed else {}
        capturing = bench.store.drafts.open_jobs() if listed else frozenset()
        return bench.fill(
            "home.html", title=_("Bench"), jobs=listed, glances=glances, capturing=capturing, autofocus=True
        )

    @app.get("/jobs.json")
    def jobs_data() -> Response:
        return jsonify(jobs=[entry_data(each) for each in jobs()])

    @app.get("/job/<int:number>.json")
    def job_data(number: int) -> Response:
        view = bench.lookup.view(number)
        about = entry_data(job_entry(view.job, bench.lookup.of_job))
        return jsonify(about | {"bins": [entry_data(each) for each in bin_entries(view)]})

    @app.get("/job/<int:number>/last")
    def last(number: int) -> Response:
        if not bench.may_read:
            return Response("", 401, mimetype="text/plain")
        return Response(str(bench.store.journal.last(number)), mimetype="text/plain")

    @app.get("/healthz")
    def health() -> Response:
        return jsonify(status="ok", jobs=len(bench.store.jobs()))
