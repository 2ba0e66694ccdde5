"""What comes out of a capture: labels, one or all; the profile's file; the same with its photos; the photos."""

from __future__ import annotations

from typing import Final

from flask import Flask, Response, request, session
from werkzeug.wrappers import Response as AnyResponse

from labelkit.bench.capturelabels import label_pdf, label_stocks, labels_pdf
from labelkit.bench.captureprofile import Made
from labelkit.bench.capturework import Captures
from labelkit.bench.files import STATIC, unless_known
from labelkit.bench.typed import whole
from labelkit.bench.web import Bench
from labelkit.errors import NotFoundError, allowed_text, shortened
from labelkit.language import gettext as _
from labelkit.load.archive import pack

_USUAL: Final = "roll-100x50"


def add_capture_files(app: Flask, bench: Bench, captures: Captures) -> None:
    """Add the files of a capture."""

    def whole_of(number: int) -> Made:
        whole = captures.draft(number).made
        if whole is None:
            raise NotFoundError(_("nothing is captured of job {number} yet: tell the first part").format(number=number))
        return whole

    def stock() -> str:
        """Return the stock that is asked for, and keep it for the next label."""
        known = label_stocks()
        if wanted := request.args.get("stock", ""):
            if wanted not in known:
                told = f'there is no label stock named "{shortened(wanted)}"'
                raise NotFoundError(f"{told}; {allowed_text(wanted, known, most=len(known))}")
            session["label_stock"] = wanted
        kept = str(session.get("label_stock", ""))
        return kept if kept in known else _USUAL

    script = (STATIC / "capture.js").read_text(encoding="utf-8")

    @app.get("/capture.js")
    def capture_script() -> Response:
        return unless_known(script, "text/javascript")

    @app.get("/capture/<int:number>/labels")
    def capture_labels(number: int) -> str:
        whole_of(number)
        unit = captures.draft(number).unit
        stocks = label_stocks()
        return bench.fill(
            "capture_labels.html",
            title=_("{mark}: labels").format(mark=unit.mark),
            number=number,
            unit=unit,
            stocks=stocks,
            chosen=session.get("label_stock", _USUAL),
            job=None,
        )

    @app.get("/capture/<int:number>/labels.pdf")
    def capture_labels_pdf(number: int) -> AnyResponse:
        whole_of(number)
        steps = request.args.get("steps", "").strip() or None
        return _pdf(labels_pdf(bench.lookup.view(number), steps, stock(), _first()), f"job-{number}-labels.pdf")

    @app.get("/capture/<int:number>/part/<int:part>/label.pdf")
    def capture_label(number: int, part: int) -> AnyResponse:
        captures.draft(number).unit.find(part)
        return _pdf(label_pdf(bench.lookup.view(number), part, stock(), _first()), f"job-{number}-label.pdf")

    @app.get("/capture/<int:number>/profile.<any(yaml, zip):kind>")
    def capture_file(number: int, kind: str) -> AnyResponse:
        whole = whole_of(number)
        file, source = whole.loaded.file, whole.loaded.source
        name = file.removesuffix("yaml") + kind
        if kind == "yaml":
            data, what = source, "application/yaml"
        else:
            photos = {path: bench.store.journal.picture(each) for path, each in whole.photos.items()}
            data, what = pack(file, source, photos), "application/zip"
        return Response(data, mimetype=what, headers={"Content-Disposition": f'attachment; filename="{name}"'})

    @app.get("/capture/picture/<sha256>")
    def capture_picture(sha256: str) -> AnyResponse:
        data = bench.store.journal.picture(sha256)
        return Response(data, mimetype="image/jpeg", headers={"Cache-Control": "private, max-age=86400, immutable"})


def _first() -> int:
    found = whole(request.args.get("first", ""))
    return 1 if found is None else found


def _pdf(data: bytes, name: str) -> Response:
    return Response(data, mimetype="application/pdf", headers={"Content-Disposition": f'inline; filename="{name}"'})
