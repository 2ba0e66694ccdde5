"""`labelkit fit readings`: what several readings of one thing come to."""

from __future__ import annotations

from typing import Any

import click

from labelkit.calc.readings import USUAL_SPREAD
from labelkit.calc.readings import readings as come_to
from labelkit.calc.showing import LengthUnit
from labelkit.calc.typedplay import Typed
from labelkit.cli.fits.asked import shown_options, tell
from labelkit.cli.fits.play import reading_options


@click.command()
@reading_options
@shown_options
def readings(unit: LengthUnit, as_json: bool, **given: Any) -> None:
    """Show mean, spread and standard uncertainty of readings; refuse those that lie too far apart.

    \b
    Example: labelkit fit readings --reading 0.48 --reading 0.62 --reading 0.50 --spread 0.04
             labelkit fit readings --reading 0.55 --gauge lever --angle 15
    """
    typed = Typed(given, unit)
    read, how = typed.lengths("reading"), typed.taking(USUAL_SPREAD)
    tell(come_to(read, how, typed.show), as_json=as_json)
