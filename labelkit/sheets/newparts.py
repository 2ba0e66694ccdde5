"""Everything of a job that is new, worked out once for its stickers and its pick list."""

from __future__ import annotations

from collections.abc import Collection, Mapping
from dataclasses import dataclass

from labelkit.calc.needs import Needs, Shortage, findings, roll_up, shortage
from labelkit.calc.renewal import Finding, Verdict
from labelkit.calc.steps import Bin
from labelkit.model.catalogue import NO_CATALOGUE, Catalogue
from labelkit.sheets.jobview import JobView
from labelkit.sheets.picklist import Pick, picks


@dataclass(frozen=True, slots=True)
class NewParts:
    """What must be new, what of it is missing, and where each piece goes."""

    needs: Needs
    short: Shortage
    picks: tuple[Pick, ...]

    def picks_of(self, view: JobView, bins: Collection[Bin]) -> tuple[Pick, ...]:
        """Return the picks for some bins of the job, and for what stays inside these; all of them for all bins."""
        if len(bins) == len(view.teardown.bins):
            return self.picks
        steps = {each.step for each in bins}
        return tuple(pick for pick in self.picks if pick.step in steps)


def new_parts(
    view: JobView, verdicts: Mapping[str, Verdict | Finding], catalogue: Catalogue = NO_CATALOGUE
) -> NewParts:
    """Return what of a job must be new.

    Args:
        view: the job.
        verdicts: of the inspection, as for `calc.needs.findings`.
        catalogue: of the parts counter; without one nothing is on the shelf.

    Raises:
        UsageError: no such place, more pieces than are there, or too many options are open.
    """
    found = findings(view.teardown, verdicts)
    needs = roll_up(view.profile, view.teardown, view.order, found=found, catalogue=catalogue)
    short = shortage(needs, view.order, needs.shelf)
    return NewParts(needs, short, picks(view, needs, short))
