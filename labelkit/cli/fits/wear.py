"""`labelkit fit wear`, `cone`: what is left of a part that wears, and how far a plate is dished."""

from __future__ import annotations

import click

from labelkit.calc import wear as sums
from labelkit.calc.typed import maybe, quantity
from labelkit.cli.fits.asked import shown_options, tell


@click.command()
@click.option("--new", metavar="LENGTH", required=True, help="What it measured new.")
@click.option("--reading", metavar="LENGTH", required=True, help="What it measures now.")
@click.option("--allowance", metavar="LENGTH", help="How much it may wear.")
@click.option("--limit", metavar="LENGTH", help="The last size that is allowed, instead of an allowance.")
@click.option("--grows", is_flag=True, help="It grows with wear, as a bore or a clearance does.")
@click.option("--resolution", metavar="LENGTH", help="The step of the gauge; by default the last digit of the reading.")
@shown_options
def wear(
    new: str,
    reading: str,
    allowance: str | None,
    limit: str | None,
    grows: bool,
    resolution: str | None,
    unit: str,
    as_json: bool,
) -> None:
    """Judge a worn size, and tell how much of its allowance is left.

    \b
    Example: labelkit fit wear --new 2.10 --allowance 0.20 --reading 1.97
    """
    start, found = (quantity(*each, "length", unit) for each in (("--new", new), ("--reading", reading)))
    room = maybe("--allowance", allowance, "length", unit)
    last = maybe("--limit", limit, "length", unit)
    step = maybe("--resolution", resolution, "length", unit)
    way: sums.Way | None = "grows" if grows else None
    answer = sums.wear(found, start, allowance=room, limit=last, way=way, resolution=step, unit=unit)
    tell(answer, as_json=as_json)


@click.command()
@click.option("--height", metavar="LENGTH", required=True, help="Of its highest point over a flat table.")
@click.option("--thickness", metavar="LENGTH", required=True, help="Of the plate itself.")
@click.option("--max", "high", metavar="LENGTH", help="The most cone that is allowed.")
@shown_options
def cone(height: str, thickness: str, high: str | None, unit: str, as_json: bool) -> None:
    """Judge the cone of a plate: its height on a flat table, less its thickness.

    \b
    Example: labelkit fit cone --height 2.23 --thickness 2.01 --max 0.25
    """
    stands, thick = (quantity(*each, "length", unit) for each in (("--height", height), ("--thickness", thickness)))
    most = maybe("--max", high, "length", unit)
    tell(sums.cone(stands, thick, most, unit=unit), as_json=as_json)
