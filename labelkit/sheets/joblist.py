"""The jobs of a store and the bins of a job as lists: what the bench shows to who has no label at hand."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import asdict, dataclass
from typing import Any

from labelkit.calc.codes import grouped
from labelkit.calc.steps import options_told
from labelkit.errors import LabelkitError
from labelkit.model.job import Job
from labelkit.sheets import wording
from labelkit.sheets.jobview import JobView


@dataclass(frozen=True, slots=True)
class JobEntry:
    """One job of a list.

    Attributes:
        number: of the job.
        serial: of the unit, None where nobody gave one.
        unit: its name; that of the profile's file where the profile cannot be read.
        mark: its mark; empty where the profile cannot be read.
        options: each option in words, the open ones too.
        bin_count: how many bins it has.
        fault: why it cannot be shown; empty when it can.
    """

    number: int
    serial: str | None
    unit: str
    mark: str
    options: tuple[str, ...]
    bin_count: int
    fault: str


@dataclass(frozen=True, slots=True)
class BinEntry:
    """One bin of a job.

    Attributes:
        code: of its label, without hyphens.
        step: in the removal order.
        doubtful: it is there only under an option that is still open.
        name: of the part.
        quantity: how many, in words.
        place: where its things lie, in words.
    """

    code: str
    step: str
    doubtful: bool
    name: str
    quantity: str
    place: str

    @property
    def code_text(self) -> str:
        """The code in groups of four."""
        return grouped(self.code)


def job_entry(job: Job, view_of: Callable[[Job], JobView]) -> JobEntry:
    """Return the entry of a job; one whose profile cannot be read is listed too, with the reason.

    Args:
        job: the job.
        view_of: reads its profile.
    """
    try:
        view = view_of(job)
    except LabelkitError as error:
        return JobEntry(job.number, job.serial, job.file, "", (), 0, str(error).splitlines()[0])
    header = view.profile.unit
    options = options_told(view.profile, view.job.options)
    return JobEntry(job.number, job.serial, header.name, header.mark, options, len(view.teardown.bins), "")


def bin_entries(view: JobView) -> tuple[BinEntry, ...]:
    """Return the bins of a job, in removal order."""
    return tuple(
        BinEntry(
            view.code(each),
            each.step,
            each.doubtful,
            each.name,
            wording.quantity_words(each.part),
            view.place_words(each),
        )
        for each in view.teardown.bins
    )


def entry_data(entry: JobEntry | BinEntry) -> dict[str, Any]:
    """Return an entry as plain data for JSON."""
    return asdict(entry)
