"""The limits of a reading as they are typed: --min, --max or --target."""

from __future__ import annotations

import click

from labelkit import units
from labelkit.calc.limits import Limits
from labelkit.calc.typed import band, maybe
from labelkit.cli.fits.asked import Command
from labelkit.errors import UsageError


def bounds_options(command: Command) -> Command:
    """Add --min, --max and --target; they come as `low`, `high` and `target`."""
    command = click.option("--target", metavar="LOW:HIGH", help="Both limits, instead of --min and --max.")(command)
    command = click.option("--max", "high", metavar="FIGURE", help="The most that is allowed.")(command)
    return click.option("--min", "low", metavar="FIGURE", help="The least that is allowed.")(command)


def bounds(low: str | None, high: str | None, target: str | None, kind: units.Kind, unit: str) -> Limits:
    """Return the limits that were typed; none where nothing was.

    Raises:
        UsageError: both ways at once, or not such figures.
    """
    if target is not None:
        if low is not None or high is not None:
            raise UsageError("--target and --min or --max; allowed: either --target LOW:HIGH, or the two others")
        return Limits(*band("--target", target, kind, unit))
    return Limits(
        maybe("--min", low, kind, unit),
        maybe("--max", high, kind, unit),
    )
