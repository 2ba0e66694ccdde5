"""From what was typed or scanned to the bin it belongs to: one way for the terminal and the bench."""

from __future__ import annotations

import re
from collections.abc import Iterable, Iterator
from dataclasses import dataclass, field, replace
from functools import lru_cache
from typing import Final

from labelkit.calc.codes import MistypedCode, grouped, read_code
from labelkit.calc.steps import Bin, condition
from labelkit.errors import LabelkitError, NotFoundError
from labelkit.language import gettext as _
from labelkit.load.profile import parse_profile
from labelkit.model.job import Job
from labelkit.model.part import Part
from labelkit.model.profile import Profile
from labelkit.sheets.jobview import JobView
from labelkit.sheets.offline import LONGEST, code_in
from labelkit.store.jobs import Store
from labelkit.store.pulse import Pulse

# Jobs, and profiles, that are kept read; the next ones push out the longest unused.
_KEPT_JOBS: Final = 64
# Views are small where jobs share what is worked out: one profile, the same options and trays.
_KEPT_VIEWS: Final = 1024
# A code as labels and cards print it; that one, typed with spaces, or anything in one piece, as an address.
_PRINTED: Final = re.compile(r"[0-9A-Za-z]{4}-[0-9A-Za-z]{4}-[0-9A-Za-z]{3}")
_TYPED: Final = re.compile(r"\S+|[0-9A-Za-z]{4}[\s-][0-9A-Za-z]{4}[\s-][0-9A-Za-z]{3}")
# How the words of an offline card begin: with the step.
_STEP: Final = re.compile(r"\d+(\.\d+)*\s+\S")


@dataclass(frozen=True, slots=True)
class _Unit:
    """What jobs have in common when their orders and trays are the same, and one of them."""

    sha256: str
    laid: str
    job: Job = field(compare=False)


class Lookup:
    """Finds bins by their codes, and jobs by their numbers; each profile is read once, also when jobs share it.

    Args:
        store: the jobs; closed by who opened it.
    """

    def __init__(self, store: Store) -> None:
        self._store = store
        self._view = lru_cache(_KEPT_VIEWS)(self._read)
        self._seen = lru_cache(_KEPT_VIEWS)(self._at_state)
        self._alike = lru_cache(_KEPT_JOBS)(self._worked_out)
        self._profile = lru_cache(_KEPT_JOBS)(_profile_of)

    def find(self, text: str) -> tuple[JobView, Bin]:
        """Return the job and the bin that a text leads to.

        Args:
            text: a code as typed, a printed address, or the words of an offline card.

        Raises:
            MistypedCode: the text cannot be a code.
            NotFoundError: the code is unknown, of a job that is not here, or of a bin that the options leave out.
        """
        code = read_scan(text)
        return self.at(code, self._store.pulse(code))

    def at(self, code: str, pulse: Pulse | None) -> tuple[JobView, Bin]:
        """Return the job and the bin of a code.

        Args:
            code: as `read_scan` returns it.
            pulse: what the store says of its job.

        Raises:
            NotFoundError: as for `find`.
        """
        if pulse is None:
            pulse = self._store.proved(code, pulse)
        view, state = self._seen(pulse.number, pulse.state)
        if state != pulse.state:  # it was changed between the two times that it was read
            self._seen.cache_clear()
        found = view.bin_of(code)
        if found is None:
            self._store.proved(code, pulse)  # what a job has is genuine
            raise NotFoundError(f"{grouped(code)}: {_why_not(view, code)}")
        return view, found

    def job_of(self, text: str) -> Job:
        """Return the job that a text is of, also where the job's options leave out its bin; errors as for `find`."""
        return self._store.job_of(read_scan(text))

    def view(self, number: int) -> JobView:
        """Return a job by its number.

        Raises:
            NotFoundError: no such job; says which there are.
        """
        return self.of_job(self._store.job(number))

    def opens(self, text: str) -> bool:
        """Say whether a text leads to a bin."""
        try:
            self.find(text)
        except LabelkitError:
            return False
        return True

    def scans(self, lines: Iterable[str]) -> Iterator[str]:
        """Yield each scan of a hand scanner, which types line after line: a line, or all lines of an offline card.

        A card begins with a step and ends with its code; every text in between may look like anything, so only a
        printed code that stands alone ends it. Its lines come together, also when their end is missing: they are told
        as one then, as soon as another label follows or they are longer than any card. Blank lines are nothing.
        """
        words: list[str] = []
        for line in filter(None, map(str.strip, lines)):
            if not words and (not _STEP.match(line) or _TYPED.fullmatch(line) or self.opens(line)):
                yield line
            elif words and not _PRINTED.fullmatch(line) and _TYPED.fullmatch(line) and self.opens(line):
                yield "\n".join(words)
                yield line
                words = []
            else:
                words.append(line)
                # Keyboards garble letters into several, so that a card may grow on its way.
                if _PRINTED.fullmatch(line) or sum(map(len, words)) > 2 * LONGEST:
                    yield "\n".join(words)
                    words = []
        if words:
            yield "\n".join(words)

    def of_job(self, job: Job) -> JobView:
        """Return a job of the store with its profile read.

        Raises:
            InputErrors: the profile it keeps cannot be read by this version.
        """
        # What a job says besides its profile may change while a view is kept, so it is part of the key.
        return self._view(job.number, repr(job))

    def _at_state(self, number: int, _state: tuple[str | None, ...]) -> tuple[JobView, tuple[str | None, ...]]:
        view = self.view(number)
        after = self._store.pulse_of(number)
        return view, () if after is None else after.state

    def _read(self, number: int, _state: str) -> JobView:
        job = self._store.job(number)
        alike = self._alike(_Unit(job.sha256, repr((job.file, job.options, job.numbering, job.laying)), job))
        # Nor is the same profile kept a thousand times.
        return JobView(replace(job, source=alike.job.source), alike.profile, self._store.secret, alike)

    def _worked_out(self, unit: _Unit) -> JobView:
        return JobView(unit.job, self._profile(unit.job.source, unit.job.file), self._store.secret)


def _profile_of(source: bytes, file: str) -> Profile:
    return parse_profile(source, file, None).profile


def read_scan(text: str) -> str:
    """Return the code in what was typed or scanned: a code, a printed address, or the words of an offline card.

    Raises:
        MistypedCode: there is none in it.
    """
    typed = code_in(text)
    first, more, _rest = typed.partition("\n")
    if more:
        raise MistypedCode(
            f'"{first}" and what follows it do not end with the code of a card; '
            "scan the whole label again, or type its code"
        )
    return read_code(typed)


def _why_not(view: JobView, code: str) -> str:
    """Return why a job has no bin of a code of its own."""
    undecided = replace(view, job=replace(view.job, options=dict.fromkeys(view.job.options)), alike=None)
    told = _("job {number} has no such bin under its options: {options}")
    told = told.format(number=view.job.number, options=view.option_words())
    new, left_out = undecided.new_part(code), undecided.bin_of(code)
    if new is not None:
        name = new.name if isinstance(new, Bin) else new.part.name
        if view.new_part(code) is not None:
            inside = _("the sticker is of {name}, which stays inside a part that has no bin, and so no card")
            return inside.format(name=name)
        return f"{told}; " + _("the sticker is of {name}").format(name=name) + _only_if(view, new.part)
    if left_out is None:
        return told
    return f"{told}; " + _("the label is of {name}").format(name=left_out.name) + _only_if(view, left_out.part)


def _only_if(view: JobView, part: Part) -> str:
    when = condition(view.profile, part)
    return _(", which is there only if {when}").format(when=when) if when else ""
