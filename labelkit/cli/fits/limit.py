"""`labelkit fit limit`, `backlash`: is a reading inside its limits, at one place or at each?"""

from __future__ import annotations

from typing import Final, cast

import click

from labelkit import units
from labelkit.calc import limits
from labelkit.calc.typed import maybe, quantity, several
from labelkit.cli.fits.asked import shown_options, tell
from labelkit.cli.fits.bounds import bounds, bounds_options

_KINDS: Final = ("length", "torque", "force", "pressure", "mass", "angle")


@click.command()
@click.option(
    "--reading", metavar="FIGURE", multiple=True, required=True, help="What was read; more than one: at each place."
)
@bounds_options
@click.option("--of", "kind", type=click.Choice(_KINDS), default="length", show_default=True, help="What was read.")
@click.option("--resolution", metavar="FIGURE", help="The step of the gauge; by default the last digit of the reading.")
@click.option("--places", type=int, metavar="N", help="How many places there are: fewer readings are asked for.")
@click.option(
    "--place", metavar="NAME", default="place", show_default=True, help="What a place is called: planet, tooth ..."
)
@shown_options
def limit(
    reading: tuple[str, ...],
    low: str | None,
    high: str | None,
    target: str | None,
    kind: str,
    resolution: str | None,
    places: int | None,
    place: str,
    unit: str,
    as_json: bool,
) -> None:
    """Judge a reading against its limits, unrounded; what the gauge cannot tell is borderline.

    \b
    Example: labelkit fit limit --reading 0.56 --max "0.022 in"
             labelkit fit limit --reading 0.31,0.44,0.58 --target 0.20:0.60 --places 3 --place planet
    """
    what = cast(units.Kind, kind)
    bare = unit if what == "length" else units.units_of(what)[0]
    read = [each for text in reading for each in several("--reading", text, what, bare)]
    asked = bounds(low, high, target, what, bare)
    step = maybe("--resolution", resolution, what, bare)
    shown = unit if what == "length" else None
    if len(read) == 1 and places is None:
        tell(limits.judge(read[0], asked, resolution=step, unit=shown), as_json=as_json)
        return
    answer = limits.judge_each(read, asked, wanted=places, places=place, resolution=step, unit=shown)
    tell(answer, as_json=as_json)


@click.command()
@click.option("--reading", metavar="LENGTH", required=True, help="What the dial on the lever read.")
@click.option("--pitch-radius", metavar="LENGTH", required=True, help="Half the pitch diameter of the gear.")
@click.option("--lever-radius", metavar="LENGTH", required=True, help="From the axis to the dial.")
@click.option("--max", "high", metavar="LENGTH", help="The most that is allowed between the teeth.")
@click.option("--target", metavar="LOW:HIGH", help="Both limits.")
@shown_options
def backlash(
    reading: str,
    pitch_radius: str,
    lever_radius: str,
    high: str | None,
    target: str | None,
    unit: str,
    as_json: bool,
) -> None:
    """Tell the play between teeth from a dial on a lever.

    \b
    Example: labelkit fit backlash --reading 0.60 --pitch-radius 40 --lever-radius 80 --max 0.38
    """
    read, pitch, lever = (
        quantity(option, text, "length", unit)
        for option, text in (("--reading", reading), ("--pitch-radius", pitch_radius), ("--lever-radius", lever_radius))
    )
    tell(limits.backlash(read, pitch, lever, bounds(None, high, target, "length", unit), unit=unit), as_json=as_json)
