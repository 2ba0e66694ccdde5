"""`labelkit fit spring`, `spring_load`, `cover`, `release`: springs, their test, and their force under a cover."""

from __future__ import annotations

import click

from labelkit.calc import springs
from labelkit.calc.typed import length, maybe, number, quantity, several
from labelkit.cli.fits.asked import shown_options, tell
from labelkit.cli.fits.bounds import bounds, bounds_options


@click.command()
@click.option("--wire", metavar="LENGTH", required=True, help="Diameter of the wire.")
@click.option("--mean", metavar="LENGTH", required=True, help="Diameter of the coil, from wire middle to wire middle.")
@click.option("--coils", metavar="FIGURE", required=True, help="Active coils.")
@click.option("--free", metavar="LENGTH", help="Free length.")
@click.option("--length", "lengths", metavar="LENGTH", multiple=True, help="With --free: a length it is pressed to.")
@click.option(
    "--squeezed", metavar="LENGTH", multiple=True, help="By how much it is shortened, where --free is not given."
)
@shown_options
def spring(
    wire: str,
    mean: str,
    coils: str,
    free: str | None,
    lengths: tuple[str, ...],
    squeezed: tuple[str, ...],
    unit: str,
    as_json: bool,
) -> None:
    """Tell the rate of a coil spring, and its force at a length.

    \b
    Example: labelkit fit spring --wire 4.0 --mean 18 --coils 5.5 --free 46 --length 38
    """
    coil = springs.Coil(length("--wire", wire, unit), length("--mean", mean, unit), number("--coils", coils))
    at = maybe("--free", free, "length", unit)
    option, typed = ("--length", lengths) if free else ("--squeezed", squeezed)
    if (unused := squeezed if free else lengths) and unused:
        raise click.UsageError("--length goes with --free, --squeezed goes without it")
    ways = tuple(each for text in typed for each in several(option, text, "length", unit))
    tell(springs.spring(coil, ways, free=at), as_json=as_json)


@click.command()
@click.option("--load", metavar="FORCE", required=True, help="What the tester reads: a force, bare numbers in N.")
@click.option("--at", metavar="LENGTH", required=True, help="The length it is pressed to.")
@bounds_options
@click.option("--resolution", metavar="FORCE", help="The step of the tester; by default the last digit of the load.")
@shown_options
def spring_load(
    load: str,
    at: str,
    low: str | None,
    high: str | None,
    target: str | None,
    resolution: str | None,
    unit: str,
    as_json: bool,
) -> None:
    """Judge a spring by its load at a length.

    \b
    Example: labelkit fit spring_load --load "44.0 lbf" --at "4.80 in" --target "45.1:49.9 lbf"
    """
    step = maybe("--resolution", resolution, "force", "N")
    answer = springs.spring_load(
        quantity("--load", load, "force", "N"),
        bounds(low, high, target, "force", "N"),
        at=quantity("--at", at, "length", unit),
        resolution=step,
    )
    tell(answer, as_json=as_json)


@click.command()
@click.option("--springs", "count", metavar="N", type=int, required=True, help="How many there are.")
@click.option("--rate", metavar="RATE", required=True, help="Of each, N/mm.")
@click.option("--squeezed", metavar="LENGTH", required=True, help="How far each is shortened while the cover is on.")
@click.option("--pitch", metavar="LENGTH", help="Of the screws of the cover.")
@click.option("--screws", metavar="N", type=int, help="How many screws hold the cover.")
@shown_options
def cover(
    count: int, rate: str, squeezed: str, pitch: str | None, screws: int | None, unit: str, as_json: bool
) -> None:
    """Tell with what force springs push a cover off, and after how many turns of its screws they are free.

    \b
    Example: labelkit fit cover --springs 12 --rate 79.1 --squeezed 8.0 --pitch 1.75 --screws 8
    """
    way = quantity("--squeezed", squeezed, "length", unit)
    thread = maybe("--pitch", pitch, "length", unit)
    tell(springs.under_cover(count, number("--rate", rate), way, pitch=thread, screws=screws), as_json=as_json)


@click.command()
@click.option("--force", metavar="FORCE", required=True, help="Of all springs together, bare numbers in N.")
@click.option("--area", metavar="AREA", required=True, help="Of the piston, mm2.")
@click.option("--json", "as_json", is_flag=True, help="Print as JSON.")
def release(force: str, area: str, as_json: bool) -> None:
    """Tell the pressure that lifts springs under a piston.

    \b
    Example: labelkit fit release --force "7.6 kN" --area 5710
    """
    tell(springs.release_pressure(quantity("--force", force, "force", "N"), number("--area", area)), as_json=as_json)
