"""Pages that are asked for again: given once more, without making them, as long as all that they were made of holds.

A card says what follows from what the browser sends, from what the store holds of its job and of who may sign in, and
from the time. The first is the key under which a page is kept; the others are looked at anew with each request, so
that no page is given that would be made otherwise now, whoever has changed something, in this process or another.
"""

from __future__ import annotations

import re
import secrets
from collections.abc import Callable, Iterable
from dataclasses import dataclass
from datetime import datetime
from itertools import chain
from typing import Any, Final
from wsgiref.types import StartResponse, WSGIApplication, WSGIEnvironment

from flask import request
from werkzeug.wsgi import ClosingIterator

from labelkit.bench.kept import Cache
from labelkit.errors import LabelkitError
from labelkit.store.jobs import Store
from labelkit.store.pulse import Pulse

TOKEN: Final = 12
"""Bytes of the token by which a form is written once."""
_LETTERS: Final = TOKEN * 4 // 3  # of a token in base 64, which three bytes fill without a rest
# Texts of people hold no such quotation marks: they are escaped.
_FIELD: Final = b'name="token" value="'
_TOKENS: Final = re.compile(_FIELD + rb'[^"]*')
_MOST: Final = 1024
_LONGEST: Final = 4000  # letters of what a browser sends
# All that a page may depend on; `None` is what a request does not bring.
_SENT: Final = (
    "REQUEST_METHOD",
    "wsgi.url_scheme",
    "HTTP_HOST",
    "SCRIPT_NAME",
    "PATH_INFO",
    "QUERY_STRING",
    "HTTP_COOKIE",
    "HTTP_ACCEPT_LANGUAGE",
)
_NOTE: Final = "labelkit.made_of"


@dataclass(frozen=True, slots=True)
class MadeOf:
    """What a page was made of besides what the browser sent.

    Attributes:
        code: that was asked for.
        pulse: of its job.
        since: it would be the same from this time on, in seconds since 1970.
        until: and before this one.
    """

    code: str
    pulse: Pulse
    since: float
    until: float


def note(made_of: MadeOf) -> None:
    """Let the page that answers this request be given again. Nothing else may matter to it, nor to who may see it."""
    request.environ[_NOTE] = made_of


class Page:
    """A page whose forms have tokens of their own each time that it is given.

    >>> page = Page(b'<input name="token" value="spent">')
    >>> page.given() != page.given(), len(page.given())
    (True, 45)
    """

    def __init__(self, body: bytes) -> None:
        self._pieces = _TOKENS.split(body)

    def given(self) -> bytes:
        """Return it with fresh tokens."""
        count = len(self._pieces) - 1
        fresh = secrets.token_urlsafe(TOKEN * count).encode()
        fields = [_FIELD + fresh[start : start + _LETTERS] for start in range(0, _LETTERS * count, _LETTERS)]
        return b"".join(chain.from_iterable(zip(self._pieces, [*fields, b""], strict=True)))


@dataclass(frozen=True, slots=True)
class _Answer:
    made_of: MadeOf
    headers: list[tuple[str, str]]
    page: Page


class KeptPages:
    """An application that gives pages again, where it said of them what they were made of.

    Args:
        app: makes the pages.
        store: that they tell of.
        clock: gives the time.
    """

    def __init__(self, app: WSGIApplication, store: Store, clock: Callable[[], datetime]) -> None:
        self._app = app
        self._store = store
        self._clock = clock
        self._answers: Cache[tuple[str | None, ...], _Answer] = Cache(_MOST)

    def __call__(self, environ: WSGIEnvironment, start_response: StartResponse) -> Iterable[bytes]:
        """Answer, as WSGI wants it (PEP 3333)."""
        sent = tuple(map(environ.get, _SENT))
        known = self._answers.get(sent)
        if known is not None and self._holds(known.made_of):
            start_response("200 OK", known.headers.copy())
            return [known.page.given()]
        told: list[tuple[str, list[tuple[str, str]]]] = []

        def start(status: str, headers: list[tuple[str, str]], error: Any = None, /) -> Any:
            told.append((status, headers))
            return start_response(status, headers, error)

        answer = self._app(environ, start)
        made_of: MadeOf | None = environ.get(_NOTE)
        if made_of is None:
            return answer
        body = b"".join(answer)
        status, headers = told[-1]
        if status == "200 OK":
            self._keep(sent, _Answer(made_of, headers.copy(), Page(body)))
        return ClosingIterator([body], getattr(answer, "close", None))

    def _keep(self, sent: tuple[str | None, ...], answer: _Answer) -> None:
        """Keep an answer that is nothing but a page; a cookie that is set is set once."""
        plain = all(name != "Set-Cookie" for name, _value in answer.headers)
        # A page that was made while its job was changed may be of neither state.
        if plain and sum(map(len, filter(None, sent))) <= _LONGEST and self._holds(answer.made_of):
            self._answers[sent] = answer

    def _holds(self, made_of: MadeOf) -> bool:
        """Say whether a page would be made the same now."""
        try:
            return made_of.since <= self._clock().timestamp() < made_of.until and (
                self._store.pulse(made_of.code) == made_of.pulse
            )
        except LabelkitError:  # told by the application, which meets it, too
            return False
