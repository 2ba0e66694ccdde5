"""Files that pages are made of: letters, style, script, pictures."""

from __future__ import annotations

from pathlib import Path
from typing import Final

from flask import Flask, Response, request

from labelkit.bench.web import Bench
from labelkit.drawing.fonts import FAMILY, WEIGHT, font_file
from labelkit.errors import NotFoundError
from labelkit.language import gettext as _
from labelkit.sheets.cardpages import css, picture_type

STATIC: Final = Path(__file__).parent / "static"


def add_files(app: Flask, bench: Bench) -> None:
    """Add the files; the letters are kept by the browser for a day."""
    fonts = {f"{face}.ttf": font_file(face) for face in ("regular", "bold")}
    rules = "".join(
        f"@font-face {{ font-family: '{FAMILY[face]}'; font-weight: {WEIGHT[face]}; src: url('/fonts/{face}.ttf'); }}\n"
        for face in ("regular", "bold")
    )
    style_sheet = rules + css() + (STATIC / "bench.css").read_text(encoding="utf-8")
    script = (STATIC / "bench.js").read_text(encoding="utf-8")

    @app.get("/<code>/photo")
    def photo(code: str) -> Response:
        view, found = bench.find(code)
        if found.part.photo is None:
            raise NotFoundError(_("step {step} has no photo").format(step=found.step))
        picture = bench.store.photo(view.job.number, found.part.photo)
        return unless_known(picture, picture_type(picture))

    @app.get("/style.css")
    def style() -> Response:
        return unless_known(style_sheet, "text/css")

    @app.get("/bench.js")
    def bench_script() -> Response:
        return unless_known(script, "text/javascript")

    @app.get("/fonts/<name>")
    def font(name: str) -> Response:
        if name not in fonts:
            raise NotFoundError(f"there is no font {name}")
        return Response(fonts[name].read_bytes(), mimetype="font/ttf", headers={"Cache-Control": "max-age=86400"})


def unless_known(data: str | bytes, kind: str) -> Response:
    """Return a file, or only that it is still the one that the browser has: most of a page, on a slow phone.

    The browser asks each time, `Cache-Control: no-cache`: an address stays while its file changes.
    """
    answer = Response(data, mimetype=kind)
    answer.add_etag()
    answer.make_conditional(request)
    return answer
