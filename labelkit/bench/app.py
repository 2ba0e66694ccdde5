"""The web application: answers a printed address with the part's card. The only module that knows Flask."""

from __future__ import annotations

from collections.abc import Callable
from typing import Final

from flask import Flask, Response, jsonify, redirect, request, url_for
from werkzeug.wrappers import Response as AnyResponse

from labelkit.calc.steps import Bin
from labelkit.drawing.fonts import FAMILY, WEIGHT, font_file
from labelkit.errors import LabelkitError, NotFoundError
from labelkit.sheets.cardpages import bench_page, css, entry, home_page, job_page, picture_type
from labelkit.sheets.cards import card, card_data
from labelkit.sheets.joblist import JobEntry, bin_entries, entry_data, job_entry
from labelkit.sheets.jobview import JobView
from labelkit.sheets.lookup import Lookup
from labelkit.store.jobs import Store

LARGEST_REQUEST: Final = 64_000  # bytes

# Nothing is loaded from anywhere else, nothing runs, nobody frames the page. The drawings carry how their letters are
# set in a style attribute; whatever comes from a profile is escaped and makes none.
_HEADERS: Final = {
    "Content-Security-Policy": (
        "default-src 'none'; style-src 'self'; style-src-attr 'unsafe-inline'; font-src 'self'; img-src 'self' data:; "
        "form-action 'self'; base-uri 'none'; frame-ancestors 'none'"
    ),
    "X-Content-Type-Options": "nosniff",
    "Referrer-Policy": "no-referrer",
    "Cache-Control": "no-cache",
}


def create_app(store: Store) -> Flask:
    """Return the application over a store.

    Args:
        store: the jobs; closed by who opened it.
    """
    app = Flask("labelkit.bench", static_folder=None)
    app.config["MAX_CONTENT_LENGTH"] = LARGEST_REQUEST
    lookup = Lookup(store)
    find = lookup.find

    def jobs() -> list[JobEntry]:
        return [job_entry(job, lookup.of_job) for job in reversed(store.jobs())]

    _add_pages(app, find, jobs)
    _add_lists(app, lookup, jobs)
    _add_files(app, store, find)
    app.after_request(_with_headers)
    app.register_error_handler(LabelkitError, _failed)
    app.register_error_handler(404, lambda _error: (_message("There is no such page", _LOST), 404))
    return app


_LOST: Final = "This address has no card. Scan the label again, or type its code below."


def _add_pages(app: Flask, find: Callable[[str], tuple[JobView, Bin]], jobs: Callable[[], list[JobEntry]]) -> None:
    @app.get("/")
    def home() -> str | AnyResponse:
        text = request.args.get("code", "")
        if not text.strip():
            return home_page(jobs())
        view, found = find(text)
        return redirect(url_for("show", code=view.code(found)))

    @app.get("/<code>")
    def show(code: str) -> str:
        view, found = find(code)
        photo = url_for("photo", code=view.code(found)) if found.part.photo else None
        shown = entry(view, found, photo)
        title = f"{found.step} {found.name}"
        return bench_page(shown, title=title, neighbours=_neighbours(view, found), job=view.job.number)

    @app.get("/<code>.json")
    def data(code: str) -> Response:
        view, found = find(code)
        return jsonify(card_data(card(view, found)))


def _neighbours(view: JobView, found: Bin) -> tuple[tuple[str, str, str], ...]:
    bins = view.teardown.bins
    place = bins.index(found)
    around = (("Back", place - 1), ("Next out", place + 1))
    return tuple(
        (label, view.code(bins[k]), f"step {bins[k].step}{'?' * bins[k].doubtful}")
        for label, k in around
        if 0 <= k < len(bins)
    )


def _add_lists(app: Flask, lookup: Lookup, jobs: Callable[[], list[JobEntry]]) -> None:
    @app.get("/jobs.json")
    def jobs_data() -> Response:
        return jsonify(jobs=[entry_data(each) for each in jobs()])

    @app.get("/job/<int:number>")
    def job(number: int) -> str:
        view = lookup.view(number)
        return job_page(job_entry(view.job, lookup.of_job), bin_entries(view))

    @app.get("/job/<int:number>.json")
    def job_data(number: int) -> Response:
        view = lookup.view(number)
        about = entry_data(job_entry(view.job, lookup.of_job))
        return jsonify(about | {"bins": [entry_data(each) for each in bin_entries(view)]})


def _add_files(app: Flask, store: Store, find: Callable[[str], tuple[JobView, Bin]]) -> None:
    fonts = {f"{face}.ttf": font_file(face) for face in ("regular", "bold")}
    rules = "".join(
        f"@font-face {{ font-family: '{FAMILY[face]}'; font-weight: {WEIGHT[face]}; src: url('/fonts/{face}.ttf'); }}\n"
        for face in ("regular", "bold")
    )
    style_sheet = rules + css()

    @app.get("/<code>/photo")
    def photo(code: str) -> Response:
        view, found = find(code)
        if found.part.photo is None:
            raise NotFoundError(f"step {found.step} has no photo")
        picture = store.photo(view.job.number, found.part.photo)
        return Response(picture, mimetype=picture_type(picture))

    @app.get("/style.css")
    def style() -> Response:
        return Response(style_sheet, mimetype="text/css")

    @app.get("/fonts/<name>")
    def font(name: str) -> Response:
        if name not in fonts:
            raise NotFoundError(f"there is no font {name}")
        return Response(fonts[name].read_bytes(), mimetype="font/ttf", headers={"Cache-Control": "max-age=86400"})

    @app.get("/healthz")
    def health() -> Response:
        return jsonify(status="ok", jobs=len(store.jobs()))


def _message(title: str, words: str) -> str:
    return bench_page(None, title=title, message=words)


def _failed(error: LabelkitError) -> tuple[Response, int]:
    status = 404 if isinstance(error, NotFoundError) else 400
    if request.path.endswith(".json"):
        return jsonify(error=str(error)), status
    title = "There is no such job" if request.endpoint == "job" else "This code opens no card"
    return Response(_message(title, str(error)), mimetype="text/html"), status


def _with_headers(response: Response) -> Response:
    for name, value in _HEADERS.items():
        response.headers.setdefault(name, value)
    return response
