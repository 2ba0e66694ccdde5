"""Photos that a phone takes at the bench: decoded, written anew without what the camera added, shown on their card."""

from __future__ import annotations

import hashlib
import re
from collections.abc import Callable, Collection
from typing import Final

from flask import Flask, Response, redirect, request, url_for
from werkzeug.wrappers import Response as AnyResponse

from labelkit.bench.acting import Asked, Wish, send, shown
from labelkit.bench.web import Bench
from labelkit.bench.working import wrong_job
from labelkit.calc.steps import Bin
from labelkit.errors import InputError, NotFoundError, UsageError
from labelkit.language import gettext as _
from labelkit.model.acts import Photo
from labelkit.proof.raster import photo_jpeg
from labelkit.sheets.jobview import JobView

LARGEST_PHOTO: Final = 16_000_000
"""Bytes of a request that brings a photo."""

# A photo is read in pieces of 64 kB, one of which may wait while the next one comes.
_CHUNKS: Final = 256_000


def add_pictures(app: Flask, bench: Bench) -> None:
    """Add taking a photo of a place, and showing it."""
    room_for_photos(app, bench, ("take_photo",), LARGEST_PHOTO, lambda: request.path.removesuffix("/photo"))

    @app.post("/<code>/photo")
    def take_photo(code: str) -> AnyResponse:
        view, found = bench.find(code)
        record = bench.record(view)
        here = url_for("show", code=code)
        ordinal = _place(view, found)
        faults: dict[str, str] = {}
        wishes: list[Wish] = []
        data = b""
        if refusal := wrong_job(bench, view, found):
            faults["picture"] = refusal
        else:
            sent = request.files.get("picture")
            try:
                data = photo_jpeg(sent.read() if sent else b"", _name(sent.filename if sent else None))
                name = hashlib.sha256(data).hexdigest()
                wishes.append(Wish({"kind": "photo", "sha256": name, "note": request.form.get("note", "")}, ordinal))
            except InputError as error:
                faults["picture"] = str(error)
        answer = send(
            bench,
            view,
            wishes,
            form="photo",
            then=here,
            faults=faults,
            also=lambda: bench.store.journal.keep_picture(data),  # what is refused leaves no picture behind
        )
        if isinstance(answer, Asked):
            page = bench.fill(
                "photo.html",
                title=_("Take the photo again"),
                job=view.job.number,
                asked=answer,
                part=record.at(ordinal).name,
                code=code,
                inside=request.form.get("inside", ""),
            )
            return shown(page, answer)
        return answer

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


def room_for_photos(app: Flask, bench: Bench, endpoints: Collection[str], most: int, back: Callable[[], str]) -> None:
    """Let requests that bring photos be larger than others, for those who are signed in.

    Args:
        app: of the bench.
        bench: which may be one that only shows.
        endpoints: that photos are posted to.
        most: bytes of such a request.
        back: tells where who is not signed in goes on from the sign-in.
    """

    def make_room() -> AnyResponse | None:
        if request.endpoint not in endpoints or request.method != "POST" or bench.read_only:
            return None
        if bench.people.name is None:
            # What was typed is carried through the sign-in like that of any other form, where no photo comes with it.
            small = request.content_length is not None and request.content_length <= app.config["MAX_CONTENT_LENGTH"]
            return None if small else redirect(url_for("sign_in_form", then=back()), 303)
        request.max_content_length = most
        request.max_form_memory_size = _CHUNKS
        return None

    # Before anything reads the form, since that reads the photos.
    app.before_request_funcs.setdefault(None, []).insert(0, make_room)


def _place(view: JobView, found: Bin) -> int:
    """Return the ordinal of the place of the photo: the bin's, or that of a part that stays inside it."""
    wanted = request.form.get("inside", "")
    if not wanted:
        return found.ordinal
    inside = {str(each.ordinal): each.ordinal for each in view.inside.get(found.step, ())}
    if wanted not in inside:
        lost = _("nothing of that number stays inside step {step}; open its card again")
        raise UsageError(lost.format(step=found.step))
    return inside[wanted]


def _name(text: str | None) -> str:
    """Return the name of a file as it may stand in a message."""
    return re.sub(r"[^\w. -]", "", text or "")[-60:] or "photo"
