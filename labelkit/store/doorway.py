"""Who may come in: the bench's PIN, and the wrong guesses, counted here so that all processes count together."""

from __future__ import annotations

from collections.abc import Iterable
from typing import Final, Literal

import sqlalchemy as sa

from labelkit.store.database import Database
from labelkit.store.tables import guesses as _guesses
from labelkit.store.tables import meta as _meta

Guessed = Literal["pin", "code"]
PIN: Final = "pin"
"""The row of `meta` that keeps the hashed PIN."""


class Doorway:
    """The PIN of a store, hashed, and what was guessed wrong of late.

    Args:
        database: that of the store.
    """

    def __init__(self, database: Database) -> None:
        self._database = database

    @property
    def pin_hash(self) -> str | None:
        """The hashed PIN; None when none was set yet."""
        with self._database.transaction() as connection:
            return connection.execute(sa.select(_meta.c.value).where(_meta.c.key == PIN)).scalar()

    def set_pin_hash(self, hashed: str) -> None:
        """Set the hashed PIN in place of an earlier one; what was guessed of that one is forgotten."""
        with self._database.transaction(writes=True) as connection:
            connection.execute(sa.delete(_guesses).where(_guesses.c.what == "pin"))
            connection.execute(sa.delete(_meta).where(_meta.c.key == PIN))
            connection.execute(sa.insert(_meta).values(key=PIN, value=hashed))

    def count_wrong(self, what: Guessed, client: str, at: int, *, forget_before: int) -> None:
        """Count a wrong guess.

        Args:
            what: was guessed.
            client: who guessed, as far as it can be told: an address.
            at: when, seconds since 1970.
            forget_before: guesses before this are forgotten.
        """
        with self._database.transaction(writes=True) as connection:
            connection.execute(sa.delete(_guesses).where(_guesses.c.what == what, _guesses.c.at < forget_before))
            connection.execute(sa.insert(_guesses).values(what=what, client=client[:64], at=at))

    def wrong_since(self, what: Guessed, since: int) -> Iterable[tuple[str, int]]:
        """Return client and time of each wrong guess from a time on, the latest first."""
        wanted = sa.select(_guesses.c.client, _guesses.c.at).where(_guesses.c.what == what, _guesses.c.at >= since)
        with self._database.transaction() as connection:
            return [(row.client, row.at) for row in connection.execute(wanted.order_by(_guesses.c.at.desc()))]
