"""`labelkit fit stack`: the selective plate of a pack, by the height of its stack."""

from __future__ import annotations

from typing import Any

import click
from click.core import ParameterSource

from labelkit.calc import fitsums
from labelkit.calc.showing import LengthUnit
from labelkit.cli.fits.asked import shown_options, tell
from labelkit.cli.fits.play import picking_options, wave_options


@click.command()
@click.option("--depth", multiple=True, metavar="LENGTH", help="From the ring face or stop to the piston face.")
@click.option(
    "--plate", multiple=True, metavar="NAME=[COUNTx]LENGTH", help="Equal plates, measured; not the selective."
)
@click.option("--nominal", multiple=True, metavar="NAME=[COUNTx]LENGTH", help="The same as a profile has them.")
@picking_options
@wave_options
@shown_options
def stack(unit: LengthUnit, as_json: bool, **given: Any) -> None:
    """Choose the selective plate of a pack from the depth of its housing and the thickness of its plates.

    Without --series the stack is complete and its clearance is judged. A wave or cushion plate is a plate of its own,
    as thick as it is in the state that --state names.

    \b
    Example: labelkit fit stack --depth 34.22 --plate friction=5x2.52 --plate steel=5x2.01 --plate pressure=7.95
               --target 1.40:1.80 --series 1.60:2.60:0.20 --state none
    """
    context = click.get_current_context()
    given["depth_by_profile"] = context.get_parameter_source("depth") is ParameterSource.DEFAULT_MAP
    if context.get_parameter_source("plate") is ParameterSource.COMMANDLINE:
        # What is typed is taken before what was measured in the job, plate by plate.
        given["plate"] = (*(context.lookup_default("plate") or ()), *given["plate"])
    given["called"] = context.lookup_default("called")
    tell(fitsums.stack(given, unit), as_json=as_json)
