"""What a job's own profile says of a fit, and its record, as the options of the fit's kind would be typed."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from labelkit.calc.fitsizes import plate_sizes
from labelkit.calc.profilefit import given_of
from labelkit.errors import NotFoundError, UsageError, allowed_text
from labelkit.sheets.lookup import Lookup
from labelkit.store.jobs import open_store

Defaults = Mapping[str, Any]


def no_fit_named(number: int) -> UsageError:
    """Return the error that no fit of a job was named, with those that there are; `NotFoundError` as `defaults_of`."""
    with open_store(create=False) as store:
        fits = Lookup(store).view(number).profile.fits
    return UsageError(f"fit --job {number}: which fit of this job? {allowed_text('', fits, most=len(fits))}")


def defaults_of(number: int, name: str) -> tuple[str, Defaults]:
    """Return the kind of a fit of a job, and what the job says of it by the names of the kind's options.

    It is what the profile says, and of a stack the plates as they were measured in this job.

    Args:
        number: of the job.
        name: the fit's id in the profile.

    Raises:
        NotFoundError: no store, no such job, or its profile has no such fit.
    """
    with open_store(create=False) as store:
        view = Lookup(store).view(number)
        record = view.record(store.journal.events(number))
    fit = view.profile.fits.get(name)
    if fit is None:
        raise NotFoundError(f"job {number} has no fit {name}; {allowed_text(name, view.profile.fits)}")
    said = given_of(view.profile, fit, dict(view.job.options))
    if fit.kind == "stack":
        said["plate"] = [f"{part}={size}" for part, size in plate_sizes(record, fit).items()]
    return fit.kind, said
