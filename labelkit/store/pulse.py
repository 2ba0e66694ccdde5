"""What changes about a job, read in one go and without its profile: whether what is known of it still holds."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any, Final

import sqlalchemy as sa

from labelkit.calc.codes import BLOCK_SIZE, serial_of
from labelkit.store.database import Database
from labelkit.store.doorway import PIN
from labelkit.store.tables import events, jobs, meta


@dataclass(frozen=True, slots=True)
class Pulse:
    """A job at one moment.

    Attributes:
        number: of the job.
        block: number of its first block of codes.
        blocks: how many it has.
        state: everything of it that may change, as the store keeps it; another one when any of it has changed.
        last: number of the last event of its record, 0 when it has none.
        pin_hash: the hashed PIN of the bench; None when none was set yet.
    """

    number: int
    block: int
    blocks: int
    state: tuple[str | None, ...]
    last: int
    pin_hash: str | None


_LAST: Final = sa.select(sa.func.max(events.c.number)).where(events.c.job == jobs.c.number).scalar_subquery()
_STATE: Final = (
    jobs.c.serial,
    jobs.c.sha256,
    jobs.c.options,
    jobs.c.numbering,
    jobs.c.address,
    jobs.c.laying,
    jobs.c.captured,
    jobs.c.stocks,
    jobs.c.language,
)
_QUERY: Final = (
    sa.select(
        jobs.c.number,
        jobs.c.block,
        jobs.c.blocks,
        _LAST.label("last"),
        sa.select(meta.c.value).where(meta.c.key == PIN).scalar_subquery().label("pin"),
        *_STATE,
    )
    .order_by(jobs.c.block.desc())
    .limit(1)
)
_OF_BLOCK: Final = _QUERY.where(jobs.c.block <= sa.bindparam("wanted"))
_OF_NUMBER: Final = _QUERY.where(jobs.c.number == sa.bindparam("wanted"))


def pulse_of_code(database: Database, code: str) -> Pulse | None:
    """Return the job that a code speaks of, whether the code is genuine or not; None when there is no such job."""
    block = serial_of(code) // BLOCK_SIZE
    found = _first(database, _OF_BLOCK, block)
    return found if found is not None and block < found.block + found.blocks else None


def pulse_of_job(database: Database, number: int) -> Pulse | None:
    """Return a job by its number; None when there is none."""
    return _first(database, _OF_NUMBER, number)


def _first(database: Database, query: sa.Select[Any], wanted: int) -> Pulse | None:
    row = database.glance(query, wanted=wanted)
    if row is None:
        return None
    number, block, blocks, last, pin, *state = row
    return Pulse(number, block, blocks, tuple(state), last or 0, pin)
