"""What comes out of a capture: the profile with its photos, as one file; each photo; and the pages' script."""

from __future__ import annotations

from flask import Flask, Response

from labelkit.bench.capturework import Captures
from labelkit.bench.files import STATIC, unless_known
from labelkit.bench.web import Bench
from labelkit.load.archive import pack


def add_capture_files(app: Flask, bench: Bench, captures: Captures) -> None:
    """Add the files of a capture."""
    script = (STATIC / "capture.js").read_text(encoding="utf-8")

    @app.get("/capture.js")
    def capture_script() -> Response:
        return unless_known(script, "text/javascript")

    @app.get("/capture/<int:number>/profile.zip")
    def capture_file(number: int) -> Response:
        made = captures.made(number)
        file, photos = made.loaded.file, {path: bench.store.journal.picture(each) for path, each in made.photos.items()}
        packed = pack(file, made.loaded.source, photos)
        name = f'attachment; filename="{file.removesuffix("yaml")}zip"'
        return Response(packed, mimetype="application/zip", headers={"Content-Disposition": name})

    @app.get("/capture/picture/<sha256>")
    def capture_picture(sha256: str) -> Response:
        data = bench.store.journal.picture(sha256)
        return Response(data, mimetype="image/jpeg", headers={"Cache-Control": "private, max-age=86400, immutable"})
