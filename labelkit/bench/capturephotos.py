"""Photos that come with the form of a captured part."""

from __future__ import annotations

from typing import Final

from flask import request

from labelkit.bench.web import Bench
from labelkit.errors import InputError
from labelkit.language import gettext as _
from labelkit.proof.raster import photo_jpeg

_MOST_PHOTOS: Final = 12


def photos_sent(bench: Bench) -> tuple[tuple[str, ...], str]:
    """Return the photos of the form, those sent before and the new ones, and what is wrong with one of them.

    The first is the one that cards show. Every photo that can be read is kept, also when something else of the form is
    wrong: a phone sends none twice.
    """
    found = [name for name in request.form.getlist("kept")[: _MOST_PHOTOS + 1] if bench.store.journal.has_picture(name)]
    fault = ""
    for sent in request.files.getlist("picture"):
        data = sent.read()
        if not data and not sent.filename:
            continue
        try:
            found.append(bench.store.journal.keep_picture(photo_jpeg(data, "photo")))
        except InputError as error:
            fault = str(error)
    if len(found) > _MOST_PHOTOS:
        fault = _("{count} photos of one part; allowed: {most}").format(count=len(found), most=_MOST_PHOTOS)
    shown = request.form.get("shown", "")
    return tuple(sorted(dict.fromkeys(found), key=lambda each: each != shown))[:_MOST_PHOTOS], fault
