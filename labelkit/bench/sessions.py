"""Sessions of browsers: signed cookies, as Flask has them, read once and not with every page that brings one."""

from __future__ import annotations

import time
from functools import cached_property
from typing import Any, Final

from flask import Flask, Request
from flask.sessions import SecureCookieSession, SecureCookieSessionInterface

from labelkit.bench.kept import Cache

# Browsers whose cookies are kept read, and for how many seconds: their age is looked at again then.
_KEPT: Final = 512
_SECONDS: Final = 60.0


class Sessions(SecureCookieSessionInterface):
    """Opens the session of a request.

    Args:
        app: whose key signs the cookies.
    """

    def __init__(self, app: Flask) -> None:
        self._app = app
        self._read: Cache[str, tuple[float, dict[str, Any]]] = Cache(_KEPT)

    @cached_property
    def _serializer(self) -> Any:
        return super().get_signing_serializer(self._app)

    def get_signing_serializer(self, app: Flask) -> Any:
        """Return what signs and reads cookies."""
        return self._serializer if app is self._app else super().get_signing_serializer(app)

    def open_session(self, app: Flask, request: Request) -> SecureCookieSession | None:
        """Return the session that a request brings, a new one when its cookie is none of ours."""
        cookie = request.cookies.get(self.get_cookie_name(app), "")
        known = self._read.get(cookie)
        if known is not None and time.monotonic() - known[0] < _SECONDS:
            return self.session_class(known[1])
        found = super().open_session(app, request)
        # What holds a list, as of messages, is changed in place: it is read each time.
        if found and all(isinstance(value, str | int | float) for value in found.values()):
            self._read[cookie] = (time.monotonic(), dict(found))
        return found
