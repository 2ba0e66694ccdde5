"""From what was typed or scanned to the bin it belongs to: one way for the terminal and the bench."""

from __future__ import annotations

from functools import lru_cache
from typing import Final

from labelkit.calc.codes import grouped, read_code
from labelkit.calc.steps import Bin
from labelkit.errors import NotFoundError
from labelkit.load.profile import parse_profile
from labelkit.model.job import Job
from labelkit.sheets.jobview import JobView
from labelkit.sheets.offline import code_in
from labelkit.store.jobs import Store

# Jobs whose profiles are kept read; the next ones push out the longest unused.
KEPT_JOBS: Final = 64


class Lookup:
    """Finds bins by their codes; the profile of each job is read once.

    Args:
        store: the jobs; closed by who opened it.
    """

    def __init__(self, store: Store) -> None:
        self._store = store
        self._view = lru_cache(KEPT_JOBS)(self._read)

    def find(self, text: str) -> tuple[JobView, Bin]:
        """Return the job and the bin that a text leads to.

        Args:
            text: a code as typed, a printed address, or the words of an offline card.

        Raises:
            MistypedCode: the text cannot be a code.
            NotFoundError: the code is unknown, of a job that is not here, or of a bin that the options leave out.
        """
        code = read_code(code_in(text))
        job = self._store.job_of(code)
        # Options and address may change while a view is kept, so they are part of its key.
        view = self._view(job.number, tuple(sorted(job.options.items())), job.address)
        found = view.bin_of(code)
        if found is None:
            raise NotFoundError(
                f"{grouped(code)}: job {job.number} has no such bin under its options: {view.option_words()}"
            )
        return view, found

    def _read(self, number: int, _options: tuple[tuple[str, str | None], ...], _address: str) -> JobView:
        return _view_of(self._store.job(number), self._store)


def _view_of(job: Job, store: Store) -> JobView:
    """Return a job of a store as the sheets see it, from its own snapshot of the profile."""
    return JobView(job, parse_profile(job.source, job.file, None).profile, store.secret)
