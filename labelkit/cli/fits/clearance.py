"""`labelkit fit clearance`, `step_gauge`, `swap`: a plate pack that is measured from outside."""

from __future__ import annotations

from typing import Any

import click

from labelkit.calc import clutchplay, fitsums
from labelkit.calc.showing import LengthUnit
from labelkit.calc.typedplay import Typed
from labelkit.cli.fits.asked import shown_options, tell
from labelkit.cli.fits.play import fitted_options, picking_options, place_options, wave_options
from labelkit.errors import UsageError


@click.command()
@place_options
@picking_options
@fitted_options
@wave_options
@shown_options
def clearance(unit: LengthUnit, as_json: bool, **given: Any) -> None:
    """Choose the ring or plate that sets the clearance of a plate pack, read by feeler at four places.

    The mean chooses; the least and the most must be inside, too. Say how the wave plate was: it is never assumed.

    \b
    Example: labelkit fit clearance --reading 2.83 --reading 2.88 --reading 2.85 --reading 2.84 --state none
               --target 2.0:2.6 --fitted 3.0 --series 3.0,3.2,3.4,3.6,3.8 --thicker reduces
    """
    tell(fitsums.clearance(given, unit), as_json=as_json)


@click.command()
@click.option("--first", required=True, metavar="LENGTH", help="The thin step.")
@click.option("--second", required=True, metavar="LENGTH", help="The thick step.")
@click.option("--goes", type=click.Choice(["none", "first", "both"]), required=True, help="Which of them goes in.")
@shown_options
def step_gauge(first: str, second: str, goes: str, unit: LengthUnit, as_json: bool) -> None:
    """Say whether a clearance is inside, by a step gauge: the thin step goes, the thick one does not.

    \b
    Example: labelkit fit step_gauge --first "0.074 in" --second "0.147 in" --goes first
    """
    typed = Typed({"first": first, "second": second}, unit)
    thin, thick = typed.needed("first"), typed.needed("second")
    tell(clutchplay.step_gauge(thin, thick, (goes != "none", goes == "both"), typed.show), as_json=as_json)


@click.command()
@click.option("--reading", required=True, metavar="LENGTH", help="The clearance as it is.")
@click.option("--target", required=True, metavar="LOW:HIGH", help="Where it must lie.")
@click.option(
    "--steels", type=click.IntRange(0, 50), metavar="N", default=0, show_default=True, help="How many may be swapped."
)
@click.option("--old", metavar="LENGTH", help="Thickness of those that are in.")
@click.option("--new", metavar="LENGTH", help="Thickness of those that there are.")
@click.option("--add", metavar="LENGTH", help="Thickness of one more plate, where the manual allows it.")
@shown_options
def swap(steels: int, unit: LengthUnit, as_json: bool, **given: Any) -> None:
    """Show what each number of steels swapped for others gives, and what one more plate would.

    \b
    Example: labelkit fit swap --reading 1.45 --target 0.80:1.10 --steels 4 --old 1.80 --new 2.00
    """
    typed = Typed(given, unit)
    if steels and (given["old"] is None or given["new"] is None):
        raise UsageError(f"--steels {steels}: how thick are they? --old and --new are missing")
    play, target, added = typed.needed("reading"), typed.target(), typed.length("add")
    change = typed.needed("new") - typed.needed("old") if steels else typed.needed("reading") * 0
    tell(clutchplay.swaps(play, steels, change, target, typed.show, added=added), as_json=as_json)
