"""`labelkit fit series`: whether a series of sizes always has an answer."""

from __future__ import annotations

from typing import Any

import click

from labelkit.calc.selecting import series as answerable
from labelkit.calc.showing import LengthUnit
from labelkit.calc.typedplay import Typed
from labelkit.cli.fits.asked import shown_options, tell
from labelkit.cli.fits.play import shelf_options, target_option
from labelkit.errors import UsageError


@click.command()
@target_option
@shelf_options
@shown_options
def series(unit: LengthUnit, as_json: bool, **given: Any) -> None:
    """Say whether a series has a size for every play: always, only if each piece is measured, or not.

    \b
    Example: labelkit fit series --series 0.059,0.075,0.091,0.107,0.123 --tol 0.002 --target 0.004:0.022 --unit in
    """
    typed = Typed(given, unit)
    pieces = typed.pieces()
    if pieces is None:
        raise UsageError("--series is missing; write it as --series 2.45,2.60,2.75 or --series 2.00:3.50:0.15")
    tell(answerable(typed.target().width, pieces, typed.show), as_json=as_json)
