"""The drafts of captures behind their pages: read, changed one step at a time, and made the snapshot of their job."""

from __future__ import annotations

import re
import secrets
from collections import Counter
from collections.abc import Callable
from dataclasses import dataclass, replace
from functools import lru_cache
from typing import Final

from flask import request

from labelkit.bench.captureprofile import Made, empty_source, file_name, made
from labelkit.bench.capturetree import MOST_PARTS, Unit, unit_of, unit_text
from labelkit.bench.web import Bench
from labelkit.calc.codes import BLOCK_SIZE
from labelkit.calc.suggest import names_before
from labelkit.errors import LabelkitError, NotFoundError, UsageError
from labelkit.language import gettext as _
from labelkit.language import noop, said, spoken
from labelkit.model.job import DEFAULT_STOCKS
from labelkit.model.profile import Profile
from labelkit.sheets.jobview import CODES_PER_PLACE
from labelkit.store.drafts import Version

# Names are suggested from so many jobs, the latest first.
_RECENT: Final = 12
# Every part that is ever captured has codes of its own, from the first one on.
_CODES: Final = MOST_PARTS * CODES_PER_PLACE // BLOCK_SIZE * BLOCK_SIZE

# A label is printed as soon as its part is told, which a sheet of labels does not suit.
_STOCKS: Final = replace(DEFAULT_STOCKS, labels="roll-100x50")

_TOKEN: Final = re.compile(r"[\w-]{8,60}", re.ASCII)

# What was done, in words: kept with each version in English, said in the language that is spoken.
ADDED: Final = noop("part {step} {name}")
TOLD_ANEW: Final = noop("part {step} {name}, told anew")
GATHERED: Final = noop("sub-assembly {name}")
TAKEN_OUT: Final = noop("{part} taken out of the list")
MOVED: Final = noop("{part} moved")
TOLD_UNIT: Final = noop("the unit")
_DONE: Final = (TOLD_ANEW, ADDED, GATHERED, TAKEN_OUT, MOVED, TOLD_UNIT)

Names = Counter[tuple[str, str | None]]
Act = Callable[[Unit, int], tuple[Unit, str]]


@dataclass(frozen=True, slots=True)
class Draft:
    """A capture as it is now.

    Attributes:
        version: of the store; what was done is said in the language that is spoken.
        unit: what it says.
        revised: its job has taken up a later revision of the profile since.
    """

    version: Version
    unit: Unit
    revised: bool = False

    @property
    def job(self) -> int:
        """Number of its job."""
        return self.version.job

    @property
    def made(self) -> Made | None:
        """Its profile; None as long as there is no part."""
        return _made(self.version.body, spoken()) if self.unit.parts else None


@lru_cache(16)
def _made(body: str, _language: str) -> Made:
    return made(unit_of(body))


class Captures:
    """The captures of a bench. Whoever writes to one works on its job: the next label that they scan is of it."""

    def __init__(self, bench: Bench) -> None:
        self._bench = bench
        self._drafts = bench.store.drafts

    def start(self, unit: Unit, serial: str | None, address: str, token: str) -> int:
        """Reserve a job with its codes, begin its capture and return its number."""
        with self._bench.store.changing():
            job = self._bench.store.create_job(
                number=None,
                serial=serial,
                file=file_name(unit),
                source=empty_source(unit),
                options={},
                address=address,
                codes=_CODES,
                photos={},
                stocks=_STOCKS,
            )
            self._drafts.start(job.number, unit_text(unit), who=self._who, at=self._now, token=token)
        self._bench.people.work_on(job.number)
        return job.number

    def all(self) -> list[Draft]:
        """Return every capture, the latest first."""
        return [Draft(version, unit_of(version.body)) for version in self._drafts.all().values()]

    def draft(self, job: int) -> Draft:
        """Return a capture.

        Raises:
            NotFoundError: there is none.
        """
        version = self._drafts.current(job)
        words, undo, redo = (said(done, _DONE) for done in (version.words, version.undo, version.redo))
        revised = self._drafts.is_revised(job, self._bench.store.job(job).version)
        return Draft(replace(version, words=words, undo=undo, redo=redo), unit_of(version.body), revised)

    def made(self, job: int) -> Made:
        """Return the profile of a capture.

        Raises:
            NotFoundError: there is none, or it has no part yet.
        """
        found = self.draft(job).made
        if found is None:
            raise NotFoundError(_("nothing is captured of job {number} yet: tell the first part").format(number=job))
        return found

    def written(self, job: int, token: str) -> bool:
        """Say whether a form was kept already: gloves tap twice, and networks send again."""
        return self._drafts.written(job, token)

    def change(self, job: int, token: str, act: Act) -> Draft:
        """Change a capture as it is at this moment, whoever else is at it, and keep it as a new version.

        Args:
            job: number of its job.
            token: of the form.
            act: takes the unit and the number for a new part; returns the unit as it is then, and what was done, in
                words that are kept.

        Raises:
            UsageError: it cannot be done, or the job has taken up a later revision since; nothing is changed.
            InputErrors: the parts would contradict each other; nothing is changed.
        """
        with self._bench.store.changing():
            now = self.draft(job)
            self._check_revision(now)
            unit, words = act(now.unit, now.version.given + 1)
            given = max((now.version.given, *unit.steps()))
            if given > _CODES // CODES_PER_PLACE:
                full = _("a capture has room for {count} parts; import the rest as a profile")
                raise UsageError(full.format(count=_CODES // CODES_PER_PLACE))
            self._check_order(now, unit)
            self._drafts.append(
                job, unit_text(unit), words=words[:200], given=given, who=self._who, at=self._now, token=token
            )
            self._bench.people.work_on(job)
            return self._published(job)

    def step(self, job: int, *, back: bool, seen: int) -> Draft:
        """Undo, or do again what was undone.

        Raises:
            UsageError: somebody has changed something since this page was made, the record forbids it, or the job has
                taken up a later revision since.
        """
        with self._bench.store.changing():
            now = self.draft(job)
            if now.version.number != seen:
                changed = _("something was changed since ({what}); look at the list again first")
                raise UsageError(changed.format(what=now.version.words))
            self._check_revision(now)
            self._drafts.step(job, back=back)
            after = self._published(job)
            self._check_order(now, after.unit)
            return after

    def finish(self, job: int) -> None:
        """Finish a capture.

        Raises:
            NotFoundError: it has no part.
        """
        self.made(job)
        self._drafts.finish(job)

    def go_on(self, job: int) -> None:
        """Go on with a capture that was finished.

        Raises:
            UsageError: its job has taken up a later revision since.
        """
        with self._bench.store.changing():
            self._check_revision(self.draft(job))
            self._drafts.go_on(job)

    def names(self, unit: Unit) -> Names:
        """Return the names that parts were given before, here and in the latest jobs, with their kinds."""
        found: Names = names_before(self._profiles())
        found.update((part.name, part.kind or None) for _, part in unit.walk())
        return found

    def _profiles(self) -> list[Profile]:
        found: dict[str, Profile] = {}
        for job in reversed(self._bench.store.jobs()):
            if len(found) == _RECENT:
                break
            try:
                found.setdefault(job.sha256, self._bench.lookup.of_job(job).profile)
            except LabelkitError:  # it cannot be read any more, or has no part yet
                continue
        return list(found.values())

    def _check_order(self, now: Draft, unit: Unit) -> None:
        """Refuse to move what the record of the job speaks of: it knows parts by their place in the profile."""
        before, after = list(now.unit.steps()), list(unit.steps())
        if after[: len(before)] != before and self._bench.store.journal.names_places(now.job):
            recorded = _(
                "the record of job {number} speaks of parts already, so they keep their order; "
                "what is told of a part can still be changed, and a new one added as the last"
            )
            raise UsageError(recorded.format(number=now.job))

    def _check_revision(self, now: Draft) -> None:
        """Refuse to put a capture over a later revision that its job has taken up since."""
        if now.revised:
            revised = _(
                "job {number} has taken up a later revision of its profile since it was captured, which this would "
                "undo. Change the profile's file instead, and let the job take that up with labelkit diff"
            )
            raise UsageError(revised.format(number=now.job))

    def _published(self, job: int) -> Draft:
        """Make the job's snapshot what its draft says now."""
        draft = replace(self.draft(job), revised=False)
        whole = draft.made
        self._drafts.publish(
            job,
            whole.loaded.source if whole else empty_source(draft.unit),
            file=file_name(draft.unit),
            version=draft.version.number,
            indices=whole.indices if whole else (),
            photos=whole.shown if whole else {},
        )
        return draft

    @property
    def _who(self) -> str:
        return self._bench.people.name or ""

    @property
    def _now(self) -> str:
        return self._bench.clock().isoformat()


def form_token() -> str:
    """Return the token of the form that was sent; a form without one is never taken for another."""
    sent = request.form.get("token", "")
    return sent if _TOKEN.fullmatch(sent) else secrets.token_urlsafe(12)
