"""`labelkit fit end_play`: which shim sets an end play."""

from __future__ import annotations

from typing import Any

import click

from labelkit.calc import fitsums
from labelkit.calc.showing import LengthUnit
from labelkit.cli.fits.asked import shown_options, tell
from labelkit.cli.fits.play import fitted_options, picking_options, reading_options


@click.command()
@reading_options
@picking_options
@fitted_options
@shown_options
def end_play(unit: LengthUnit, as_json: bool, **given: Any) -> None:
    """Choose the shim that sets an end play.

    Seat the part anew before each of three readings. Without --fitted the play is only judged against its target. With
    --predicted it is the check after fitting: a difference is compared with the thin parts of the --chain.

    \b
    Example: labelkit fit end_play --reading 1.08 --reading 1.10 --reading 1.12 --fitted 2.60
               --target 0.40:0.60 --series 2.45,2.60,2.75,2.90,3.05,3.20,3.35 --thicker reduces
             labelkit fit end_play --reading 1.41 --target 0.30:0.60 --predicted 0.41 --chain "thrust race=1.0"
    """
    tell(fitsums.end_play(given, unit), as_json=as_json)
