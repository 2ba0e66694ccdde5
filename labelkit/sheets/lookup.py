"""From what was typed or scanned to the bin it belongs to: one way for the terminal and the bench."""

from __future__ import annotations

import re
from collections.abc import Iterable, Iterator
from dataclasses import dataclass, field, replace
from functools import lru_cache
from typing import Final

from labelkit.calc.codes import MistypedCode, grouped, read_code
from labelkit.calc.steps import Bin, choice_words, options_told
from labelkit.errors import LabelkitError, NotFoundError
from labelkit.language import gettext as _
from labelkit.load.profile import parse_profile
from labelkit.model.job import Job
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


class LeftOutError(NotFoundError):
    """Report the code of a part that the options of its job leave out.

    Args:
        told: for people.
        job: number of the job.
        choices: of options, as `drive=keyed`, with which it has the part.
    """

    def __init__(self, told: str, job: int, choices: Iterable[str]) -> None:
        settings = " ".join(f"--option {choice}" for choice in choices)
        super().__init__(f"{told}: `labelkit kit --job {job} {settings}`", told=told)
        self.job = job


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

    def find(self, text: str) -> tuple[JobView, Bin]:
        """Return the job and the bin that a text leads to.

        Args:
            text: a code as typed, a printed address, or the words of an offline card.

        Raises:
            MistypedCode: the text cannot be a code.
            NotFoundError: the code is unknown, or of a job that is not here.
            LeftOutError: it is of a part that the options leave out.
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
            raise _no_bin(view, code)
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
        return JobView(unit.job, _profile_of(unit.job.source, unit.job.file), self._store.secret)


@lru_cache(_KEPT_JOBS)
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
            _(
                '"{first}" and what follows it do not end with the code of a card; '
                "scan the whole label again, or type its code"
            ).format(first=first)
        )
    return read_code(typed)


def _no_bin(view: JobView, code: str) -> NotFoundError:
    """Return why a job has no bin of a code of its own, and what to do when the unit has the part after all."""
    everything = replace(view, job=replace(view.job, options=dict.fromkeys(view.job.options)), alike=None)
    new = everything.new_part(code)
    found = everything.bin_of(code) if new is None else new
    if found is None:
        told = _("job {number} has no such bin under its options: {options}")
        told = told.format(number=view.job.number, options="; ".join(options_told(view.profile, view.job.options)))
        return NotFoundError(f"{grouped(code)}: {told}")
    if view.new_part(code) is not None:
        inside = _("the sticker is of {name}, which stays inside a part that has no bin, and so no card")
        return NotFoundError(f"{grouped(code)}: {inside.format(name=found.name)}")
    has = {group: choice for group, choice in view.job.options.items() if choice is not None}
    wants = {
        group: choices
        for group, choices in everything.teardown.undecided(found).items()
        if group in has and has[group] not in choices
    }
    told = _(
        "{label}, which is there only if {when}; job {number} has {now}. If the unit has it after all, set the option"
    )
    told = told.format(
        label=(_("the label is of {name}") if new is None else _("the sticker is of {name}")).format(name=found.name),
        when=choice_words(view.profile, wants),
        number=view.job.number,
        now=choice_words(view.profile, {group: (has[group],) for group in wants}),
    )
    return LeftOutError(
        f"{grouped(code)}: {told}",
        view.job.number,
        (f"{group}={choices[0]}" for group, choices in wants.items() if choices),
    )
