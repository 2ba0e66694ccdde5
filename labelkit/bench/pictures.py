"""Photos that a phone takes at the bench: decoded, written anew without what the camera added, shown on their card."""

from __future__ import annotations

import hashlib
import io
import re
from collections.abc import Collection
from typing import IO, Any, Final

from flask import Flask, Response, request, url_for
from werkzeug.formparser import FormDataParser
from werkzeug.wrappers import Response as AnyResponse

from labelkit.bench.acting import Wish, answered, send
from labelkit.bench.cards import inside_asked
from labelkit.bench.signin import local_path
from labelkit.bench.web import Bench
from labelkit.bench.working import wrong_job
from labelkit.errors import InputError, NotFoundError
from labelkit.language import gettext as _
from labelkit.model.acts import Photo
from labelkit.proof.raster import photo_jpeg

LARGEST_PHOTO: Final = 16_000_000
"""Bytes of a request that brings a photo."""

# A photo is read in pieces of 64 kB, one of which may wait while the next one comes.
_CHUNKS: Final = 256_000


def add_pictures(app: Flask, bench: Bench) -> None:
    """Add taking a photo of a place, and showing it."""
    room_for_photos(app, bench, ("take_photo",), LARGEST_PHOTO)

    @app.post("/<code>/photo")
    def take_photo(code: str) -> AnyResponse:
        view, found = bench.find(code)
        record = bench.record(view)
        then = local_path(request.form.get("then", ""))
        here = url_for("show", code=code) if then == "/" else then
        ordinal = (inside_asked(view, found) or found).ordinal
        faults: dict[str, str] = {}
        wishes: list[Wish] = []
        data = b""
        if refusal := wrong_job(bench, view, found):
            faults["picture"] = refusal
        else:
            sent = request.files.get("picture")
            try:
                data = photo_jpeg(sent.read() if sent else b"", file_name(sent.filename if sent else None))
                name = hashlib.sha256(data).hexdigest()
                wishes.append(Wish({"kind": "photo", "sha256": name, "note": request.form.get("note", "")}, ordinal))
            except InputError as error:
                faults["picture"] = error.told
        answer = send(
            bench,
            view,
            wishes,
            form="photo",
            then=here,
            faults=faults,
            also=lambda: bench.store.journal.keep_picture(data),  # what is refused leaves no picture behind
        )
        return answered(
            answer,
            lambda asked: bench.fill(
                "photo.html",
                title=_("Take the photo again"),
                job=view.job.number,
                asked=asked,
                part=record.at(ordinal).name,
                code=code,
                inside=request.form.get("inside", ""),
            ),
        )

    @app.get("/<code>/picture/<sha256>")
    def picture(code: str, sha256: str) -> AnyResponse:
        view, found = bench.find(code)
        record = bench.record(view)
        places = {found.ordinal, *(each.ordinal for each in view.inside.get(found.step, ()))}
        acts = [event.act for event in record.standing if event.place in places]
        if sha256 not in {act.sha256 for act in acts if isinstance(act, Photo)}:
            raise NotFoundError(f"step {found.step} has no photo {sha256[:16]}")
        data = bench.store.journal.picture(sha256)
        return Response(data, mimetype="image/jpeg", headers={"Cache-Control": "private, max-age=86400, immutable"})


def room_for_photos(app: Flask, bench: Bench, endpoints: Collection[str], most: int) -> None:
    """Let requests that bring photos be larger than others.

    Args:
        app: of the bench.
        bench: which may be one that only shows.
        endpoints: that photos are posted to.
        most: bytes of such a request.
    """

    def make_room() -> None:
        if request.endpoint not in endpoints or request.method != "POST" or bench.read_only:
            return
        request.max_content_length = most
        request.max_form_memory_size = _CHUNKS
        if bench.people.name is None:
            request.form_data_parser_class = _OnlyWords

    # Before anything reads the form, since that reads the photos.
    app.before_request_funcs.setdefault(None, []).insert(0, make_room)


class _OnlyWords(FormDataParser):
    """Reads of a form what was typed and lets its photos go, so that who is not signed in leaves nothing anywhere.

    What was typed goes through the sign-in like that of any other form; the photo is asked for again.
    """

    def __init__(self, **given: Any) -> None:
        super().__init__(**given)
        self.stream_factory = _nowhere


def _nowhere(*_about: Any, **_more: Any) -> IO[bytes]:
    return _Nowhere()


class _Nowhere(io.BytesIO):
    """A file that keeps nothing of what is written to it."""

    def write(self, data: Any, /) -> int:
        return len(data)


def file_name(text: str | None) -> str:
    """Return the name of a file that was sent as it may stand in a message."""
    return re.sub(r"[^\w. -]", "", text or "")[-60:] or _("photo")
