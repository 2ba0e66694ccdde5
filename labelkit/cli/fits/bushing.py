"""`labelkit fit bushing`: the clearance of a shaft in its bushing."""

from __future__ import annotations

import click

from labelkit.calc.bushing import clearance
from labelkit.calc.typed import maybe, several
from labelkit.cli.fits.asked import shown_options, tell
from labelkit.cli.fits.bounds import bounds, bounds_options


@click.command()
@click.option(
    "--bore", metavar="LENGTH", multiple=True, required=True, help="A reading of the bore; several, or a list."
)
@click.option(
    "--journal", metavar="LENGTH", multiple=True, required=True, help="A reading of the journal; several, or a list."
)
@bounds_options
@click.option("--resolution", metavar="LENGTH", help="What the difference of two readings tells.")
@shown_options
def bushing(
    bore: tuple[str, ...],
    journal: tuple[str, ...],
    low: str | None,
    high: str | None,
    target: str | None,
    resolution: str | None,
    unit: str,
    as_json: bool,
) -> None:
    """Judge the clearance between readings of a bore and of its journal.

    \b
    Example: labelkit fit bushing --bore 40.070 --bore 40.062 --journal 39.980 --journal 39.984 --max "0.0035 in"
    """
    bores, journals = (
        [each for text in typed for each in several(option, text, "length", unit)]
        for option, typed in (("--bore", bore), ("--journal", journal))
    )
    step = maybe("--resolution", resolution, "length", unit)
    limits = bounds(low, high, target, "length", unit)
    tell(clearance(bores, journals, limits, resolution=step, unit=unit), as_json=as_json)
