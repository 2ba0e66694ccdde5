"""Against guessing: how many wrong PINs and codes may be tried, by one client and by all together."""

from __future__ import annotations

import threading
from collections.abc import Callable
from dataclasses import dataclass
from datetime import datetime
from typing import Final

from labelkit.errors import LabelkitError
from labelkit.language import gettext as _
from labelkit.store.doorway import Doorway, Guessed


@dataclass(frozen=True, slots=True)
class Limit:
    """How many wrong guesses are borne.

    Attributes:
        seconds: in so long a time.
        by_one: from one client.
        by_all: from all clients together.
    """

    seconds: int
    by_one: int
    by_all: int


LIMITS: Final[dict[Guessed, Limit]] = {"pin": Limit(900, 5, 30), "code": Limit(60, 5, 10)}
"""Codes: whoever knows which jobs there are still has 2**24 tags to try, which takes longer than a year at this rate,
also where several processes each let one guess more pass (`tests/bench_app/test_security.py` reckons it)."""


class TooManyGuesses(LabelkitError):
    """Report that a client, or everybody, has guessed wrong too often.

    Attributes:
        seconds: after which it may be tried again.
    """

    def __init__(self, what: Guessed, seconds: int) -> None:
        self.seconds = seconds
        pins = _("too many PINs were tried; nothing was looked at: try again in {time}")
        codes = _("too many unknown codes were tried; nothing was looked at: try again in {time}")
        super().__init__((pins if what == "pin" else codes).format(time=_told(seconds)))


class Guard:
    """Counts wrong guesses and refuses further ones.

    Args:
        doorway: keeps the counts.
        clock: gives the time.

    Attributes:
        turn: held from `check` to `wrong`, so that guesses sent at once are not all let pass before one is counted.
    """

    def __init__(self, doorway: Doorway, clock: Callable[[], datetime]) -> None:
        self._doorway = doorway
        self._clock = clock
        self.turn = threading.Lock()

    def check(self, what: Guessed, client: str) -> None:
        """Let a guess pass, right or wrong.

        Raises:
            TooManyGuesses: it is not looked at.
        """
        limit, now = LIMITS[what], self._now()
        wrong = list(self._doorway.wrong_since(what, now - limit.seconds + 1))
        own = [at for who, at in wrong if who == client[:64]]
        for times, most in ((own, limit.by_one), ([at for _who, at in wrong], limit.by_all)):
            if len(times) >= most:
                raise TooManyGuesses(what, max(1, times[most - 1] + limit.seconds - now))

    def wrong(self, what: Guessed, client: str) -> None:
        """Count a wrong guess."""
        now = self._now()
        self._doorway.count_wrong(what, client, now, forget_before=now - LIMITS[what].seconds)

    def _now(self) -> int:
        return int(self._clock().timestamp())


def _told(seconds: int) -> str:
    if seconds < 90:
        return _("{count} seconds").format(count=seconds)
    return _("{count} minutes").format(count=-(-seconds // 60))
