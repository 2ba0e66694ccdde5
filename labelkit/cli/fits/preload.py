"""`labelkit fit preload`: rolling torque of tapered bearings, and the spacer that sets it."""

from __future__ import annotations

from typing import Any

import click

from labelkit.calc.typedpreload import USUAL
from labelkit.calc.typedpreload import preload as work_out
from labelkit.cli.fits.asked import tell


@click.command()
@click.option(
    "--reading", multiple=True, metavar="FIGURE", help="The rolling torque; with --radius the pull on a wire."
)
@click.option("--radius", metavar="LENGTH", help="On which the wire lies that is pulled.")
@click.option("--drag", metavar="TORQUE", help="Of the seal alone: it is taken away.")
@click.option("--spread", metavar="TORQUE", help="What the readings may differ by.")
@click.option("--target", metavar="LOW:HIGH", help="Limits of the rolling torque; as lengths, of the squeeze.")
@click.option("--new", metavar="LOW:HIGH", help="Limits of new bearings, where they differ from used ones.")
@click.option("--used", metavar="LOW:HIGH", help="Limits of used bearings.")
@click.option("--bearings", type=click.Choice(["new", "used"]), help="Which these are.")
@click.option("--trial", multiple=True, metavar="SIZE=TORQUE", help="A spacer and its rolling torque; two of them.")
@click.option("--aim", default=USUAL["aim"], show_default=True, metavar="middle|low|high|TORQUE")
@click.option("--series", metavar="SIZES", help="The spacers there are: 5.20,5.25 or FROM:TO:STEP.")
@click.option("--fitted", metavar="LENGTH", help="The spacer that was in.")
@click.option("--play", metavar="LENGTH", help="The play with that spacer.")
@click.option("--squeeze", metavar="LENGTH", help="The preload that is wanted, as a length.")
@click.option(
    "--thicker",
    type=click.Choice(["reduces", "increases"]),
    help="The preload: two trials must show it; by play, without it, it reduces it.",
)
@click.option(
    "--unit",
    metavar="UNIT",
    default=USUAL["unit"],
    show_default=True,
    help="Of bare torques, or mm or in for a preload as a length.",
)
@click.option(
    "--lengths", type=click.Choice(["mm", "in"]), default=USUAL["lengths"], show_default=True, help="Of bare lengths."
)
@click.option("--json", "as_json", is_flag=True, help="Print as JSON.")
def preload(as_json: bool, **given: Any) -> None:
    """Judge the rolling torque of tapered bearings, or tell the spacer that sets it.

    \b
    Example: labelkit fit preload --reading "12 lbf" --radius "1.75 in" --target "10:30 lbf in"
             labelkit fit preload --trial 5.30=1.1 --trial 5.25=3.4 --target 2.5:4.0 --series 5.20:5.40:0.05
             labelkit fit preload --fitted 5.40 --play 0.12 --squeeze 0.05
    """
    tell(work_out(given), as_json=as_json)
