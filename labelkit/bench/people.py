"""Who is at the bench: a name and the bench's PIN, or a printed sign-in label; kept in a signed cookie."""

from __future__ import annotations

import hashlib
import hmac
import secrets
from base64 import b32encode
from collections.abc import Callable
from datetime import datetime, timedelta
from typing import Final

from flask import g, request, session
from werkzeug.security import check_password_hash, generate_password_hash

from labelkit.bench.guard import Guard
from labelkit.errors import UsageError
from labelkit.language import gettext as _
from labelkit.model.events import LONGEST_NAME
from labelkit.store.jobs import Store

SHORTEST_PIN: Final = 6
_LONGEST_PIN: Final = 64
SHIFT: Final = timedelta(hours=12)
"""How long a sign-in lasts."""

_WHO, _STAMP, _SINCE, _KEY, _JOB = "who", "pin", "since", "key", "job"


class WrongSignIn(UsageError):
    """Report a sign-in that is not right.

    Attributes:
        field: `name` or `pin`, where the message belongs.
    """

    def __init__(self, field: str, message: str) -> None:
        self.field = field
        super().__init__(message)


class People:
    """Signs people in and says who asks. Several processes on one store know the same people.

    Args:
        store: keeps the hashed PIN.
        guard: stops who guesses.
        clock: gives the time.
    """

    def __init__(self, store: Store, guard: Guard, clock: Callable[[], datetime]) -> None:
        self._store = store
        self._guard = guard
        self._clock = clock

    @property
    def name(self) -> str | None:
        """The name of who asks; None when nobody is signed in, or the PIN was changed since, or the shift is over."""
        who, since = session.get(_WHO), session.get(_SINCE)
        if not isinstance(who, str) or not isinstance(since, int | float):
            return None
        age = self._clock().timestamp() - since
        if session.get(_STAMP) != self._stamp() or not 0 <= age < SHIFT.total_seconds():
            return None
        return who

    @property
    def shift(self) -> tuple[float, float]:
        """From when until when who asks is signed in, in seconds since 1970; somebody is."""
        since = float(session[_SINCE])
        return since, since + SHIFT.total_seconds()

    @property
    def job(self) -> int | None:
        """The number of the job that who asks works on; None when none is chosen, or nobody is signed in."""
        number = session.get(_JOB)
        return number if isinstance(number, int) and self.name is not None else None

    @staticmethod
    def work_on(number: int) -> None:
        """Keep the job that who asks works on, as long as the sign-in lasts."""
        session[_JOB] = number

    @property
    def form_key(self) -> str:
        """What every form of this browser carries, so that no other page can send one in its name."""
        if _KEY not in session:
            session[_KEY] = secrets.token_urlsafe(18)
        return str(session[_KEY])

    @staticmethod
    def is_from_elsewhere() -> bool:
        """Say whether the browser tells that the form stood on a page of another site."""
        origin = request.headers.get("Origin")
        return origin is not None and origin != request.host_url.rstrip("/")

    def form_is_ours(self) -> bool:
        """Say whether the form that was sent carries this browser's key."""
        known, given = session.get(_KEY), request.form.get("csrf", "")
        return isinstance(known, str) and hmac.compare_digest(known.encode(), given.encode())

    def knows(self, pin_hash: str | None) -> None:
        """Take the hashed PIN that was read together with something else, so that it is not read again."""
        g.pin_stamp = _stamp(pin_hash)

    def sign_in(self, name: str, pin: str) -> str:
        """Sign somebody in and return the name.

        Args:
            name: as typed; not needed with a label.
            pin: as typed, or what a sign-in label says.

        Raises:
            WrongSignIn: no name, or not the PIN.
            TooManyGuesses: it is not looked at.
        """
        client = request.remote_addr or ""
        with self._guard.turn:
            self._guard.check("pin", client)
            if "/" in pin:
                name, right = pin.rpartition("/")[0], self._is_label(pin)
            else:
                right = check_password_hash(self._store.doorway.pin_hash or "", pin)
            if not right:
                self._guard.wrong("pin", client)
                raise WrongSignIn("pin", _("this is not the bench's PIN, nor a sign-in label printed for it"))
        name = _signer_name(name)
        session.clear()
        session.permanent = True
        session.update({_WHO: name, _STAMP: self._stamp(), _SINCE: self._clock().timestamp()})
        return name

    def sign_out(self) -> None:
        """Let nobody be signed in any more in this browser."""
        session.clear()

    def _stamp(self) -> str:
        if "pin_stamp" not in g:  # read once for each request
            self.knows(self._store.doorway.pin_hash)
        return str(g.pin_stamp)

    def _is_label(self, text: str) -> bool:
        name = " ".join(text.rpartition("/")[0].split())
        return hmac.compare_digest(label_text(self._store, name).encode(), text.strip().encode())


def _stamp(pin_hash: str | None) -> str:
    return hashlib.sha256((pin_hash or "").encode()).hexdigest()[:16]


def _signer_name(text: str) -> str:
    """Return a name as the record keeps it, without needless blanks.

    Raises:
        WrongSignIn: there is none, or it is too long.
    """
    name = " ".join(text.split())
    if not name or len(name) > LONGEST_NAME or not name.isprintable():
        wanted = _("write your name, 1 to {most} letters: the record says who did what")
        raise WrongSignIn("name", wanted.format(most=LONGEST_NAME))
    return name


def label_text(store: Store, name: str) -> str:
    """Return what the symbol of a sign-in label says: it counts until the PIN is changed.

    Raises:
        UsageError: the bench has no PIN yet.
    """
    hashed = store.doorway.pin_hash
    if hashed is None:
        raise UsageError("the bench has no PIN yet; start `labelkit bench` once, then print sign-in labels")
    proof = hmac.new(store.secret, f"sign-in\n{hashed}\n{name}".encode(), hashlib.sha256).digest()
    return f"{name}/{b32encode(proof[:15]).decode()}"


def set_pin(store: Store, pin: str) -> None:
    """Set the bench's PIN; whoever is signed in must sign in again, and sign-in labels are void.

    Raises:
        UsageError: too short to withstand guessing, or with a slash.
    """
    if not SHORTEST_PIN <= len(pin) <= _LONGEST_PIN or not pin.isprintable() or "/" in pin:
        raise UsageError(
            f"a PIN has {SHORTEST_PIN} to {_LONGEST_PIN} digits or letters, no slash; found {len(pin)} characters"
        )
    store.doorway.set_pin_hash(generate_password_hash(pin))
