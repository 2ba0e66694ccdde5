"""Everything of a job that is new, worked out once for its stickers and its pick list."""

from __future__ import annotations

from collections.abc import Collection, Mapping
from dataclasses import dataclass

from labelkit.calc.arrivals import Arrivals
from labelkit.calc.needs import Needs, findings
from labelkit.calc.pulling import Finding, Verdict
from labelkit.calc.record import Record
from labelkit.calc.shortage import Shortage
from labelkit.calc.steps import Bin
from labelkit.calc.supply import Progress, supply
from labelkit.model.catalogue import NO_CATALOGUE, Catalogue
from labelkit.sheets.jobview import JobView
from labelkit.sheets.picklist import Pick, picks


@dataclass(frozen=True, slots=True)
class NewParts:
    """What must be new, what of it is missing, where each piece goes, how far each number is, and what came besides."""

    needs: Needs
    short: Shortage
    picks: tuple[Pick, ...]
    progress: tuple[Progress, ...]
    besides: Mapping[str, Arrivals]

    def picks_of(self, view: JobView, bins: Collection[Bin]) -> tuple[Pick, ...]:
        """Return the picks for some bins of the job, and for what stays inside these; all of them for all bins."""
        if len(bins) == len(view.teardown.bins):
            return self.picks
        steps = {each.step for each in bins}
        return tuple(pick for pick in self.picks if pick.step in steps)


def new_parts(
    view: JobView,
    verdicts: Mapping[str, Verdict | Finding],
    catalogue: Catalogue = NO_CATALOGUE,
    record: Record | None = None,
) -> NewParts:
    """Return what of a job must be new.

    Args:
        view: the job.
        verdicts: of the inspection, as for `calc.needs.findings`, besides what the record holds; for a place that is
            judged in both, these count.
        catalogue: of the parts counter; without one nothing is on the shelf.
        record: of the job: what was condemned, lost, chosen, ordered, received and staged; None: nothing was.

    Raises:
        UsageError: no such place, more pieces than are there, or too many options are open.
    """
    known = record or view.record(())
    at = supply(known, catalogue, findings(view.profile, view.teardown, verdicts))
    return NewParts(at.needs, at.now, picks(view, at), at.progress, at.besides)
