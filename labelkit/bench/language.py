"""In which language the bench speaks: the one that was chosen on this phone, else what its browser asks for."""

from __future__ import annotations

from contextlib import AbstractContextManager
from typing import Final

from flask import Flask, g, redirect, request
from werkzeug.wrappers import Response

from labelkit.bench.signin import local_path
from labelkit.errors import UsageError, allowed_text
from labelkit.language import LANGUAGES, best_language, speaking

COOKIE: Final = "language"
# A phone keeps its choice for a year.
_KEPT: Final = 365 * 24 * 3600


def add_language(app: Flask) -> None:
    """Let every answer be said in the language of who asks, and add the address that chooses it, `POST /language`.

    It comes before all that answers, so that a page that asks to sign in is said in that language too, and a screen
    that only shows can be read by everybody. What machines read, addresses that end in `.json`, stays English.
    """
    app.before_request(_begin)
    app.teardown_request(_end)
    app.add_url_rule("/language", "language", _choose, methods=["POST"])


def _wanted() -> str:
    """Return the language of who asks, by its code."""
    if request.path.endswith(".json"):
        return "en"
    chosen = request.cookies.get(COOKIE, "")
    return chosen if chosen in LANGUAGES else best_language(request.headers.get("Accept-Language", ""))


def _begin() -> Response | None:
    # Entered here and left at the end of the request: an error page is said in the same language.
    g.spoken = speaking(_wanted())
    g.spoken.__enter__()
    # Nothing is written but what this browser shows: it needs nobody's name, and no form of ours.
    return _choose() if request.endpoint == "language" else None


def _end(_error: BaseException | None) -> None:
    spoken: AbstractContextManager[None] | None = g.pop("spoken", None)
    if spoken is not None:
        spoken.__exit__(None, None, None)


def _choose() -> Response:
    """Keep the language that was chosen, and go back to the page that asked."""
    code = request.form.get("language", "")
    if code not in LANGUAGES:
        raise UsageError(f'language "{code}": {allowed_text(code, LANGUAGES)}')
    answer = redirect(local_path(request.form.get("then", "/")), 303)
    answer.set_cookie(COOKIE, code, max_age=_KEPT, httponly=True, samesite="Lax", secure=request.is_secure)
    return answer
