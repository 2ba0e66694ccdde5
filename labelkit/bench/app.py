"""The web application: cards of what was scanned, and the job record, for phones on the shop's network."""

from __future__ import annotations

import hashlib
import hmac
from collections.abc import Callable
from datetime import UTC, datetime
from typing import Final

from flask import Flask, Response, current_app, jsonify, request
from werkzeug.exceptions import HTTPException
from werkzeug.middleware.proxy_fix import ProxyFix
from werkzeug.routing import IntegerConverter

from labelkit.bench.capture import add_capture
from labelkit.bench.cards import add_cards
from labelkit.bench.corrections import add_corrections
from labelkit.bench.files import add_files
from labelkit.bench.fits import add_fits
from labelkit.bench.guard import TooManyGuesses
from labelkit.bench.keptpages import KeptPages
from labelkit.bench.language import add_language
from labelkit.bench.lists import add_lists
from labelkit.bench.packs import add_packs
from labelkit.bench.parts import add_parts
from labelkit.bench.people import SHIFT
from labelkit.bench.pictures import add_pictures
from labelkit.bench.receiving import add_receiving
from labelkit.bench.report import add_report
from labelkit.bench.sessions import Sessions
from labelkit.bench.signin import add_sign_in
from labelkit.bench.signoff import add_sign_off
from labelkit.bench.teardown import add_teardown
from labelkit.bench.wash import add_wash
from labelkit.bench.web import Bench
from labelkit.bench.whereabouts import add_whereabouts
from labelkit.bench.working import add_working
from labelkit.errors import LabelkitError, NotFoundError, StoreError
from labelkit.language import gettext as _
from labelkit.language import noop
from labelkit.model.catalogue import NO_CATALOGUE, Catalogue
from labelkit.sheets.lookup import LeftOutError
from labelkit.store.jobs import Store

_LARGEST_REQUEST: Final = 64_000  # bytes

# Nothing is loaded from anywhere else, nobody frames the page. The drawings carry how their letters are set in a style
# attribute; whatever comes from a profile is escaped and makes none.
_HEADERS: Final = {
    "Content-Security-Policy": (
        "default-src 'none'; script-src 'self'; connect-src 'self'; style-src 'self'; style-src-attr 'unsafe-inline'; "
        "font-src 'self'; img-src 'self' data: blob:; media-src 'self' blob:; form-action 'self'; base-uri 'none'; "
        "frame-ancestors 'none'"
    ),
    "Permissions-Policy": "camera=(self), microphone=(), geolocation=()",
    "Cross-Origin-Opener-Policy": "same-origin",
    "Cross-Origin-Resource-Policy": "same-origin",
    "X-Content-Type-Options": "nosniff",
    # Addresses of cards are told to nobody else; with `no-referrer` a browser sends our own forms with `Origin: null`.
    "Referrer-Policy": "same-origin",
    "Cache-Control": "no-cache",
}


class _Number(IntegerConverter):
    """A number of an address: databases refuse to compare with much larger ones."""

    regex = "[0-9]{1,9}"


def now() -> datetime:
    """Return the time."""
    return datetime.now(UTC)


def create_app(
    store: Store,
    *,
    clock: Callable[[], datetime] = now,
    read_only: bool = False,
    behind_proxy: bool = False,
    catalogue: Catalogue = NO_CATALOGUE,
) -> Flask:
    """Return the application over a store. It keeps no state of its own: several may serve one store.

    Args:
        store: the jobs; closed by who opened it.
        clock: gives the time, with its zone.
        read_only: nobody can write, and everything can be read: a screen on the wall.
        behind_proxy: a proxy speaks https in front of it and says for whom; cookies only travel encrypted then.
        catalogue: of the parts counter; without one nothing is on the shelf.
    """
    app = Flask("labelkit.bench", static_folder=None)
    app.config.update(
        MAX_CONTENT_LENGTH=_LARGEST_REQUEST,
        MAX_FORM_MEMORY_SIZE=_LARGEST_REQUEST,
        SECRET_KEY=hmac.new(store.secret, b"sessions of the bench", hashlib.sha256).digest(),
        SESSION_COOKIE_NAME="labelkit",
        SESSION_COOKIE_HTTPONLY=True,
        SESSION_COOKIE_SAMESITE="Lax",
        SESSION_COOKIE_SECURE=behind_proxy,
        PERMANENT_SESSION_LIFETIME=SHIFT,
        # A sign-in ends with the shift, however much is done: there is nothing to send again with every page.
        SESSION_REFRESH_EACH_REQUEST=False,
    )
    app.session_interface = Sessions(app)
    app.url_map.converters["int"] = _Number
    bench = Bench(store, clock, read_only=read_only)
    add_language(app)
    add_sign_in(app, bench)
    add_lists(app, bench)
    add_whereabouts(app, bench, catalogue)
    add_working(app, bench)
    add_teardown(app, bench, catalogue)
    add_wash(app, bench)
    add_corrections(app, bench)
    add_cards(app, bench, catalogue)
    add_pictures(app, bench)
    add_files(app, bench)
    add_fits(app, bench)
    add_packs(app, bench)
    add_report(app, bench)
    add_parts(app, bench, catalogue)
    add_receiving(app, bench, catalogue)
    add_sign_off(app, bench)
    add_capture(app, bench)
    app.wsgi_app = KeptPages(app.wsgi_app, store, clock)  # type: ignore[method-assign]
    if behind_proxy:
        app.wsgi_app = ProxyFix(app.wsgi_app, x_for=1, x_proto=1, x_host=1)  # type: ignore[method-assign]
    app.after_request(_with_headers)
    app.register_error_handler(LabelkitError, lambda error: _failed(bench, error))
    app.register_error_handler(StoreError, lambda error: _away(bench, error))
    app.register_error_handler(HTTPException, lambda error: _refused(bench, error))
    return app


def _failed(bench: Bench, error: LabelkitError) -> tuple[Response, int]:
    status = 404 if isinstance(error, NotFoundError) else 429 if isinstance(error, TooManyGuesses) else 400
    no_card = _("This code opens no card")
    titles = {"job": _("There is no such job"), "show": no_card, "home": no_card}
    title = _("Try again later") if status == 429 else titles.get(request.endpoint or "", _("This cannot be done"))
    left_out_of = error.job if isinstance(error, LeftOutError) else None
    return _told(bench, title, error.told, status, left_out_of), status


def _away(bench: Bench, error: StoreError) -> tuple[Response, int]:
    current_app.logger.error("%s", error)
    bench.people.knows(None)  # nor can the store be asked who this is
    return _told(bench, _("Try again later"), error.told, 503), 503


def _refused(bench: Bench, error: HTTPException) -> tuple[Response, int]:
    status = error.code or 500
    if status == 404:
        return _told(bench, _("There is no such page"), _(_LOST), status), status
    words = _(_REASONS.get(status, noop("The bench could not answer this. Nothing was written.")))
    return _told(bench, _("This cannot be done ({status})").format(status=status), words, status), status


_CODE: Final = 40  # letters of a mistyped code at most that come back into its field
_LOST: Final = noop("This address has no card. Scan the label again, or type its code below.")
_REASONS: Final = {
    405: noop("This page takes no such request."),
    413: noop(
        "This is larger than the bench takes: a photo may have 16 megabytes, all those of one captured part 48, "
        "a form 64 kilobytes."
    ),
}


def _told(bench: Bench, title: str, words: str, status: int, left_out_of: int | None = None) -> Response:
    if request.path.endswith(".json"):
        return jsonify(error=words)
    asked = request.view_args or {}
    typed = request.args.get("code", asked.get("code", ""))[:_CODE]
    page = bench.fill("told.html", title=title, words=words, left_out_of=left_out_of, mistyped=typed, autofocus=True)
    return Response(page, status, mimetype="text/html")


def _with_headers(response: Response) -> Response:
    known = {name for name, _ in response.headers}
    response.headers.extend([(name, value) for name, value in _HEADERS.items() if name not in known])
    return response
